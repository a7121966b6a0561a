"""The sheet of a job as PDF: the same words, the drawing to scale on the paper itself."""

from __future__ import annotations

from screener.metrology.fits.sequence import DEFER
from screener.reports.job_sheet import (
    WORDS,
    JobSheet,
    gathered_lines,
    order_notes,
    part_numbers,
    seat_rows,
    unchecked,
    warm_rows,
    whole_outcome,
    whole_says,
)
from screener.reports.job_sheet_drawing import LETTER_MM, scale_for, scale_words
from screener.reports.job_sheet_shapes import Box, Disc, Drawing, Shape, Stroke, draw_stack
from screener.reports.pdf_page import LEFT_MM, PdfPages

_POINTS_PER_MM = 72 / 25.4
_GREYS = {"shaft": 236, "housing": 214, "part": 255, "ring": 0, "soft": 110, "axis": 255, "note": 255}


def job_sheet_pdf(sheet: JobSheet) -> bytes:
    """Return the sheet as a PDF file."""
    job = sheet.job
    page = _SheetPages(job.card.title, f"{job.card.title}, {sheet.created_at}")
    page.head(job.card.title, 16)
    manual = f" - Manual: {job.card.manual}" if job.card.manual else ""
    page.text(f"{sheet.created_at}{manual} - screener {sheet.version}")
    page.text(f"{WORDS[whole_outcome(job, sheet.verdicts)]}. {whole_says(job, sheet.verdicts)} {DEFER}", bold=True)
    page.drawing(draw_stack(tuple(each.piece for each in job.parts)))
    for each in job.parts:
        seen = sheet.verdicts.get(each.card.name)
        photo = f"by photo: {seen.word}. {seen.says} {seen.next_step}" if seen else "not verified by photo"
        page.text(f"{each.piece.number}  {each.card.name}  {each.card.designation}  ({each.piece.size} mm), {photo}")
    _parts(page, sheet)
    page.head("Belongs to the job")
    for tick in job.ticks:
        part = f"{tick.part}: " if tick.part else ""
        page.text(f"[{'x' if tick.done else '  '}] {part}{tick.says}")
    page.head("Order of work")
    for note in order_notes(sheet):
        page.text(note, bold=True)
    for number, (line, parts) in enumerate(gathered_lines(job, "steps"), start=1):
        page.text(f"{number}. {line.says}" + (f" (part {', '.join(parts)})" if parts else ""))
    page.head("Cautions")
    for line, _ in gathered_lines(job, "cautions"):
        page.text(f"! {line.says}")
    page.text(DEFER, bold=True)
    page.head("Not checked")
    for name, says in unchecked(sheet):
        page.text(f"{name}: {says}")
    return page.finished()


def _parts(page: _SheetPages, sheet: JobSheet) -> None:
    for each in sheet.job.parts:
        if each.fit is None:
            continue
        page.head(f"{each.piece.number}  {each.card.name}: {each.card.designation}")
        page.text(each.fit.says, bold=True)
        for says, notes in seat_rows(each):
            page.text(says)
            for note in notes:
                page.text(f"- {note}")
        for says in warm_rows(each):
            page.text(says)
        for name, value in part_numbers(each):
            page.text(f"{name}: {value}", bold=True)


class _SheetPages(PdfPages):
    """Pages that can also hold the drawing of the stack."""

    def drawing(self, drawing: Drawing) -> None:
        """Draw the stack at the scale the words below it name."""
        scale = scale_for(drawing)
        height = 2 * drawing.half_height * scale
        if self._pdf.will_page_break(height + 8):
            self._pdf.add_page()
        axis = self._pdf.get_y() + height / 2 + 2
        for shape in drawing.shapes:
            self._shape(shape, drawing.left, axis, scale)
        self._pdf.set_xy(LEFT_MM, axis + height / 2 + 1)
        self.text(f"Section along the shaft, scale {scale_words(scale)} when printed at 100 %.")

    def _shape(self, shape: Shape, left: float, axis: float, scale: float) -> None:
        def x(value: float) -> float:
            return LEFT_MM + (value - left) * scale

        def y(value: float) -> float:
            return axis + value * scale

        if isinstance(shape, Box):
            self._pdf.set_fill_color(_GREYS[shape.look])
            self._pdf.rect(x(shape.x), y(shape.y), shape.width * scale, shape.height * scale, style="DF")
        elif isinstance(shape, Disc):
            self._pdf.set_fill_color(_GREYS[shape.look])
            self._pdf.circle(x(shape.x), y(shape.y), shape.radius * scale, style="DF")
        elif isinstance(shape, Stroke):
            self._pdf.line(x(shape.x1), y(shape.y1), x(shape.x2), y(shape.y2))
        else:
            self._pdf.set_font("Helvetica", style="B", size=LETTER_MM * _POINTS_PER_MM)
            self._pdf.text(x(shape.x) - self._pdf.get_string_width(shape.text) / 2, y(shape.y), shape.text)
