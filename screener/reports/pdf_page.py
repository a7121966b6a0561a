"""Pages of a PDF: headings, paragraphs, tables, photos with outlined regions and dot plots, all in black and white."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Sequence
from typing import cast

from fpdf import FPDF

from screener.reports.figures import Figure, Line
from screener.reports.plot_svg import Axis, DotKey, DotRow, DotShape, ticks

LEFT_MM = 15.0
MARGIN_MM = 14.0
_WIDE_MM = 210 - LEFT_MM - MARGIN_MM
_MM_A_POINT = 0.47
"""Height of a line, in mm for each point of the letter."""
_ROW_MM = 6.5
_LABELS_MM = 58.0
_DOT_MM = 0.9
_KEY_MM = 4.0
_GAP_MM = 5.0
_PLAIN = str.maketrans(
    {
        "“": '"',
        "”": '"',
        "„": '"',
        "–": "-",
        "—": "-",
        "…": "...",
        "→": "->",
        "≤": "<=",
        "≥": ">=",
        "’": "'",
        "‘": "'",
        "−": "-",
    }
)
_DASHES: dict[Line, tuple[float, float]] = {"contradiction": (0, 0), "question": (2, 1.2), "note": (0.4, 1.0)}

OUTLINES_SAY = "Full outline: differs; dashes: a question."
_Place = Callable[[float], float]


def plain_text(text: str) -> str:
    """Return text in the letters that the built-in fonts know (Latin-1); another letter becomes a question mark."""
    return text.translate(_PLAIN).encode("latin-1", "replace").decode("latin-1")


class _Numbered(FPDF):
    """A4 with a foot: what the paper is, and which page of how many."""

    def __init__(self, foot: str) -> None:
        super().__init__(format="A4", unit="mm")
        self._foot = foot

    def footer(self) -> None:
        """Write the foot; called by the writer for each page."""
        self.set_y(-12)
        self.set_font("Helvetica", size=7.5)
        self.cell(0, 5, f"{self._foot} - page {self.page_no()} of {{nb}}", align="C")


class PdfPages:
    """A thin hand on the PDF writer. Lengths are millimetres."""

    def __init__(self, title: str, foot: str) -> None:
        self._pdf = _Numbered(plain_text(foot))
        self._pdf.set_title(plain_text(title))
        self._pdf.set_lang("en")
        self._pdf.set_auto_page_break(auto=True, margin=18)
        self._pdf.set_margins(LEFT_MM, MARGIN_MM, MARGIN_MM)
        self._pdf.add_page()

    def head(self, text: str, points: float = 12) -> None:
        """Write a heading; it stays with what follows."""
        if self._pdf.will_page_break(18):
            self._pdf.add_page()
        self._pdf.ln(2.5)
        self._write(text, points, bold=True)
        self._pdf.ln(0.5)

    def text(self, text: str, *, bold: bool = False, points: float = 9.5) -> None:
        """Write a paragraph."""
        self._write(text, points, bold=bold)
        self._pdf.ln(0.8)

    def items(self, texts: Sequence[str], *, numbered: bool = False) -> None:
        """Write a list."""
        for number, text in enumerate(texts, 1):
            self._pdf.set_x(LEFT_MM + 1)
            self._pdf.set_font("Helvetica", size=9.5)
            self._pdf.cell(5.5, 9.5 * _MM_A_POINT, f"{number}." if numbered else "-")
            self._pdf.multi_cell(0, 9.5 * _MM_A_POINT, plain_text(text), new_x="LMARGIN", new_y="NEXT", align="L")
            self._pdf.ln(0.4)

    def stamp(self, word: str, *, dashed: bool = False, filled: bool = False) -> None:
        """Write a word in a box that is told apart by its form: plain, dashed or filled."""
        self._pdf.set_font("Helvetica", style="B", size=20)
        wide = self._pdf.get_string_width(word) + 10
        self._pdf.set_line_width(1.0)
        if dashed:
            self._pdf.set_dash_pattern(dash=3, gap=1.6)
        self._pdf.set_fill_color(20 if filled else 255)
        self._pdf.set_text_color(255 if filled else 0)
        self._pdf.cell(wide, 13, word, border=1, fill=filled, align="C", new_x="LMARGIN", new_y="NEXT")
        self._pdf.set_dash_pattern()
        self._pdf.set_line_width(0.2)
        self._pdf.set_text_color(0)
        self._pdf.ln(2)

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[float] = ()) -> None:
        """Write a table; heads are repeated on each page."""
        self._pdf.set_font("Helvetica", size=8)
        with self._pdf.table(
            col_widths=tuple(widths) or None,
            line_height=8 * _MM_A_POINT,
            text_align="LEFT",
            borders_layout="HORIZONTAL_LINES",
        ) as table:
            for row in (heads, *rows):
                table.row([plain_text(cell) for cell in row])
        self._pdf.ln(2)

    def fields(self, rows: Sequence[tuple[str, str]]) -> None:
        """Write a form: names left, values right; an empty value leaves room to write by hand."""
        self._pdf.set_font("Helvetica", size=9.5)
        with self._pdf.table(
            col_widths=(30, 70), line_height=9.5 * _MM_A_POINT, text_align="LEFT", first_row_as_headings=False
        ) as table:
            for name, value in rows:
                table.row([plain_text(name), plain_text(value) or "\n\n"])
        self._pdf.ln(2)

    def new_page(self) -> None:
        """Begin a page."""
        self._pdf.add_page()

    def together(self, draw: Callable[[], None]) -> None:
        """Draw something on one page: where the rest of this one is too short, on the next."""
        real = self._pdf
        at_top = real.get_y() <= MARGIN_MM
        with real.offset_rendering() as trial:
            # A stand-in of the writer: it draws, tells whether the page was long enough, and takes everything back.
            self._pdf = cast(_Numbered, trial)
            draw()
        self._pdf = real
        if trial.page_break_triggered and not at_top:
            real.add_page()
        draw()

    def photos(self, figures: Sequence[Figure], *, across: int = 2) -> None:
        """Place photos beside each other, with their outlined regions and numbers, and say what the outlines mean."""
        shown = [each for each in figures if each.uri]
        wide = (_WIDE_MM - _GAP_MM * (across - 1)) / across
        for start in range(0, len(shown), across):
            row = shown[start : start + across]
            tall = max(wide * each.height_px / each.width_px for each in row)
            if self._pdf.will_page_break(tall + 8):
                self._pdf.add_page()
            top = self._pdf.get_y() + 1
            for column, figure in enumerate(row):
                self._photo(figure, LEFT_MM + column * (wide + _GAP_MM), top, wide)
            self._pdf.set_xy(LEFT_MM, top + tall + 6)
        if any(each.regions for each in shown):
            self.text(OUTLINES_SAY, points=7.5)

    def _photo(self, figure: Figure, left: float, top: float, wide: float) -> None:
        scale = wide / figure.width_px
        content = io.BytesIO(base64.b64decode(figure.uri.partition(",")[2]))
        self._pdf.image(content, x=left, y=top, w=wide, alt_text=plain_text(f"Photo {figure.name}"))
        for region in figure.regions:
            points = [tuple(float(part) for part in point.split(",")) for point in region.points.split()]
            corners = [(left + x * scale, top + y * scale) for x, y in points]
            self._outline(corners, region.line)
            tag = (left + region.label_x * scale, top + region.label_y * scale, region.label_width * scale)
            self._number(region.label, *tag, figure.letter_px * 1.35 * scale)
        self._pdf.set_font("Helvetica", size=7.5)
        self._pdf.set_xy(left, top + figure.height_px * scale + 0.5)
        self._pdf.cell(wide, 4, plain_text(figure.name[-40:]))

    def _outline(self, corners: Sequence[tuple[float, float]], line: Line) -> None:
        self._pdf.set_draw_color(255)
        self._pdf.set_line_width(1.4)
        self._pdf.polygon(corners, style="D")
        self._pdf.set_draw_color(0)
        self._pdf.set_line_width(0.5)
        dash, gap = _DASHES[line]
        self._pdf.set_dash_pattern(dash=dash, gap=gap)
        self._pdf.polygon(corners, style="D")
        self._pdf.set_dash_pattern()
        self._pdf.set_line_width(0.2)

    def _number(self, text: str, x: float, y: float, wide: float, tall: float) -> None:
        self._pdf.set_fill_color(255)
        self._pdf.rect(x, y, wide, tall, style="DF")
        self._pdf.set_font("Helvetica", style="B", size=max(5.0, tall * 1.9))
        self._pdf.set_xy(x, y)
        self._pdf.cell(wide, tall, plain_text(text), align="C")

    def dots(self, title: str, x: Axis, rows: Sequence[DotRow], keys: Sequence[DotKey] = ()) -> None:
        """Draw a dot plot: a row of values each, with its band behind, and what its shapes stand for below."""
        tall = len(rows) * _ROW_MM
        if self._pdf.will_page_break(tall + 18 + _KEY_MM * len(keys)):
            self._pdf.add_page()
        self.text(title, bold=True)
        left, wide, top = LEFT_MM + _LABELS_MM, _WIDE_MM - _LABELS_MM - 14, self._pdf.get_y() + 1

        def at(value: float) -> float:
            return left + min(max(x.share(value), 0.0), 1.0) * wide

        for number, row in enumerate(rows):
            self._row(row, at, top + (number + 0.5) * _ROW_MM, left + wide)
        self._pdf.rect(left, top, wide, tall)
        self._pdf.set_font("Helvetica", size=7.5)
        for value in ticks(x.low, x.high):
            self._pdf.line(at(value), top + tall, at(value), top + tall + 1)
            self._pdf.text(at(value) - 2, top + tall + 4, f"{value:g}")
        self._pdf.text(left, top + tall + 8, plain_text(x.label))
        for number, key in enumerate(keys):
            y = top + tall + 11 + _KEY_MM * number
            self._dot(key.shape, left + 1.5, y)
            self._pdf.text(left + 5, y + 1, plain_text(key.says))
        self._pdf.set_xy(LEFT_MM, top + tall + 10 + _KEY_MM * len(keys))

    def _row(self, row: DotRow, at: _Place, y: float, right: float) -> None:
        if row.band is not None:
            low, high = (at(end) for end in row.band)
            self._pdf.set_fill_color(232)
            self._pdf.rect(low, y - 2.2, high - low, 4.4, style="F")
        self._pdf.set_font("Helvetica", size=7.5)
        label = row.label if len(row.label) <= 46 else f"{row.label[:43]}..."
        self._pdf.text(LEFT_MM, y + 1, plain_text(label))
        self._pdf.text(right + 1.5, y + 1, plain_text(row.note))
        # What is special lies on top.
        for place, dot in sorted(enumerate(row.dots), key=lambda each: each[1].shape != "point"):
            self._dot(dot.shape, at(dot.value), y + (place % 3 - 1) * 0.7)

    def _dot(self, shape: DotShape, x: float, y: float) -> None:
        r = _DOT_MM
        self._pdf.set_fill_color(0)
        if shape == "square":
            self._pdf.rect(x - r, y - r, 2 * r, 2 * r, style="F")
        elif shape in {"cross", "plus"}:
            across, along = (r, r) if shape == "cross" else (0.0, r * 1.2)
            self._pdf.set_line_width(0.5)
            self._pdf.line(x - along, y - across, x + along, y + across)
            self._pdf.line(x - across, y + along, x + across, y - along)
            self._pdf.set_line_width(0.2)
        elif shape in {"triangle", "diamond"}:
            wide = r * 1.3
            foot = (
                [(x + wide, y + r), (x - wide, y + r)]
                if shape == "triangle"
                else [(x + wide, y), (x, y + wide), (x - wide, y)]
            )
            self._pdf.set_line_width(0.4)
            self._pdf.polygon([(x, y - wide), *foot], style="D" if shape == "triangle" else "DF")
            self._pdf.set_line_width(0.2)
        elif shape == "point":
            self._pdf.set_fill_color(120)
            self._pdf.circle(x, y, r * 0.45, style="F")
            self._pdf.set_fill_color(0)
        else:
            self._pdf.set_line_width(0.4)
            self._pdf.circle(x, y, r, style="D")
            self._pdf.set_line_width(0.2)

    def _write(self, text: str, points: float, *, bold: bool) -> None:
        self._pdf.set_font("Helvetica", style="B" if bold else "", size=points)
        self._pdf.multi_cell(0, points * _MM_A_POINT, plain_text(text), new_x="LMARGIN", new_y="NEXT", align="L")

    def finished(self) -> bytes:
        """Return the file."""
        return bytes(self._pdf.output())
