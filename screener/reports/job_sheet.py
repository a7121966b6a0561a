"""The sheet of a job: one HTML file a mechanic prints and takes to the press. No network, no script."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from markupsafe import Markup

from screener.metrology.fits.bearing_fit import BearingFit
from screener.metrology.fits.heating import Heating
from screener.metrology.fits.job import JobWalked, PartWalked
from screener.metrology.fits.seal_fit import SealFit
from screener.metrology.fits.seat_fit import Outcome, SeatFit
from screener.metrology.fits.sequence import DEFER, ORDER_SAYS, Line, setting_steps, steps_hold
from screener.metrology.fits.span import Span
from screener.reports.job_sheet_drawing import scale_for, scale_words, svg
from screener.reports.job_sheet_shapes import draw_stack
from screener.reports.pages import page_templates


@dataclass(frozen=True, slots=True)
class PhotoVerdict:
    """What verifying a part by its photos said."""

    word: str
    """USE, HOLD or SEND BACK, as in every report."""
    says: str
    next_step: str
    outcome: Outcome
    """What that means for pressing: a part on hold is looked at again, one that is not to order is not pressed."""


@dataclass(frozen=True, slots=True)
class JobSheet:
    """What the sheet shows."""

    job: JobWalked
    created_at: str
    """As shown, ``25 November 2026``."""
    version: str
    verdicts: Mapping[str, PhotoVerdict] = field(default_factory=dict)
    """By part name; parts without photos are not in it."""


_RANK: dict[Outcome, int] = {"fits": 0, "review": 1, "do_not": 2}


def whole_outcome(job: JobWalked, verdicts: Mapping[str, PhotoVerdict]) -> Outcome:
    """Return the worse of what the seats and what the photos say."""
    return max((job.outcome, *(each.outcome for each in verdicts.values())), key=_RANK.__getitem__)


def whole_says(job: JobWalked, verdicts: Mapping[str, PhotoVerdict]) -> str:
    """Return the answer in one line; a part that is not to be used comes before how well it would fit."""
    against = [f"By photo, {name}: {each.word}." for name, each in verdicts.items() if each.outcome != "fits"]
    return " ".join([*against, job.says])


WORDS = {"fits": "FITS AS MEASURED", "review": "LOOK AGAIN", "do_not": "DO NOT PRESS"}


def job_sheet_html(sheet: JobSheet) -> str:
    """Return the whole page as one string."""
    drawing = draw_stack(tuple(each.piece for each in sheet.job.parts))
    return (
        page_templates()
        .get_template("job_sheet.html.j2")
        .render(
            sheet=sheet,
            job=sheet.job,
            words=WORDS,
            outcome=whole_outcome(sheet.job, sheet.verdicts),
            says=whole_says(sheet.job, sheet.verdicts),
            drawing=Markup(svg(drawing, f"Section of {sheet.job.card.title}")),  # noqa: S704 - made of numbers and escaped
            scale=scale_words(scale_for(drawing)),
            seats=seat_rows,
            warm=warm_rows,
            numbers=part_numbers,
            order_notes=order_notes(sheet),
            steps=gathered_lines(sheet.job, "steps"),
            cautions=gathered_lines(sheet.job, "cautions"),
            not_checked=unchecked(sheet),
            defer=DEFER,
        )
    )


def seat_rows(part: PartWalked) -> list[tuple[str, list[str]]]:
    """Return the sentences of a part, each with further ones that belong under it."""
    fit = part.fit
    if isinstance(fit, BearingFit):
        return [(seat.says, _seat_notes(seat)) for seat in (fit.shaft, fit.housing)]
    if isinstance(fit, SealFit):
        texts = [fit.shaft.says, fit.housing.says, *(each.says for each in fit.advice)]
        return [(text, []) for text in texts]
    return []


def _seat_notes(seat: SeatFit) -> list[str]:
    notes = [*seat.form, *(seat.pressing.warnings if seat.pressing else ())]
    if seat.loose is not None:
        notes += [seat.loose.says, *seat.loose.cautions]
    return [*notes, *(seat.measured.notes if seat.measured else ())]


def warm_rows(part: PartWalked) -> list[str]:
    """Return what heat does: in the machine, and for fitting; bearings only."""
    fit = part.fit
    if not isinstance(fit, BearingFit):
        return []
    usual = fit.clearance.usual_warm_says if fit.clearance is not None else ""
    rows = [usual, *(each.says for each in fit.running), fit.heating.says if fit.heating else ""]
    return [text for text in (*rows, fit.creep.says if fit.creep else "") if text]


def part_numbers(part: PartWalked) -> list[tuple[str, str]]:
    """Return the numbers at the press by name, each as a range."""
    fit = part.fit
    if isinstance(fit, SealFit):
        return [("surface speed", _span(fit.speed_m_per_s, "m/s", 1))] if fit.speed_m_per_s else []
    if fit is None:
        return []
    rows = [
        (f"press force, {seat.seat}", _span(seat.pressing.force_n.scaled(1e-3), "kN", 1))
        for seat in (fit.shaft, fit.housing)
        if seat.pressing is not None
    ]
    if fit.clearance is not None:
        rows.append((f"clearance left ({fit.clearance.group})", _span(fit.clearance.mine.left.probable_um, "µm", 0)))
    if fit.heating is not None:
        rows.append(("ceiling for heat", f"{fit.heating.ceiling_c.low:.0f} °C"))
        rows.append(("heat to drop on", _heat_words(fit.heating)))
    return rows


def _span(found: Span, unit: str, digits: int) -> str:
    # Adding nought takes the sign off a nought below zero.
    low, high = (f"{round(value, digits) + 0.0:.{digits}f}" for value in (found.low, found.high))
    return f"{low} to {high} {unit}"


def _heat_words(heat: Heating) -> str:
    """Never a temperature above the ceiling, as if one could go there."""
    top = heat.ceiling_c.low
    if heat.drops_on == "no":
        return f"the {top:.0f} °C allowed are not enough: press"
    if heat.drops_on == "perhaps":
        return f"{_span(Span(min(heat.needed_c.low, top), top), '°C', 0)}, may need light pressing"
    return _span(Span(min(heat.needed_c.low, top), min(heat.needed_c.high, top)), "°C", 0)


def gathered_lines(job: JobWalked, what: str) -> list[tuple[Line, list[str]]]:
    """Return steps or cautions, each once, with the numbers of the parts it is for (none: all parts that have any)."""
    found: dict[Line, list[str]] = {}
    judged = [each for each in job.parts if each.fit is not None]
    for each in judged:
        if what == "steps" and each.fit is not None and each.fit.steps_hold == "not":
            continue
        lines: tuple[Line, ...] = getattr(each.fit, what)
        for line in lines:
            found.setdefault(line, []).append(str(each.piece.number))
    ordered = list(found.items()) if what != "steps" else _in_order(found, job)
    everybody = len(judged) if what != "steps" else len(job.parts)
    return [(line, [] if len(numbers) == everybody else numbers) for line, numbers in ordered]


def order_notes(sheet: JobSheet) -> list[str]:
    """Return what is said before the order of work where not every part may be pressed; empty where all may."""
    whole = steps_hold(whole_outcome(sheet.job, sheet.verdicts))
    left_out = [each for each in sheet.job.parts if each.fit is not None and each.fit.steps_hold == "not"]
    notes = [] if whole == "now" else [ORDER_SAYS["once_settled"]]
    return notes + [f"Part {each.piece.number}, {each.card.name}: {ORDER_SAYS['not']}" for each in left_out]


def _in_order(found: Mapping[Line, list[str]], job: JobWalked) -> list[tuple[Line, list[str]]]:
    """What comes before any part is fitted, then part by part along the shaft, then what is done when all are in."""
    others = [each for each in job.parts if each.fit is None]
    set_in = [(line, [str(each.piece.number)]) for each in others for line in setting_steps(each.card.kind)]
    lines = [*found.items(), *set_in]
    first = [each for each in lines if each[0].stage == "before"]
    middle = [each for each in lines if each[0].stage == "fit"]
    last = [each for each in lines if each[0].stage == "after"]
    return [*first, *sorted(middle, key=lambda each: min(map(int, each[1]))), *last]


def unchecked(sheet: JobSheet) -> list[tuple[str, str]]:
    """Return what was not checked, by part."""
    rows = [(each.card.name, "; ".join(each.fit.not_checked)) for each in sheet.job.parts if each.fit is not None]
    without = [each.card.name for each in sheet.job.parts if each.card.name not in sheet.verdicts]
    if without:
        rows.append(("By photo", f"not verified: {', '.join(without)}"))
    return rows
