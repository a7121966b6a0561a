"""The sentence about one seat, in a mechanic's words."""

from __future__ import annotations

from typing import Literal

from screener.metrology.decision import Limits
from screener.metrology.fits.interference import FitKind, Interference
from screener.metrology.fits.measured_seat import MeasuredSeat, farthest_outside
from screener.metrology.fits.recommended import Recommended
from screener.metrology.fits.span import Span
from screener.metrology.wording import limits_words
from screener.specs.fit_tables import Seat

KIND_WORDS: dict[FitKind, str] = {
    "press": "press fit",
    "transition": "between press and slide",
    "slide": "slide fit",
    "loose": "loose",
}


def seat_says(
    seat: Seat,
    measured: MeasuredSeat | None,
    recommended: tuple[Recommended, ...],
    found: Interference | None,
    kind: FitKind | None,
    wanted: Literal["tight", "loose"] | None,
    why_none: str,
) -> str:
    """Return one or two sentences: what was measured, what fit that makes, how it stands to the classes."""
    parts = [_measured_words(seat, measured, recommended)]
    if found is not None and kind is not None:
        parts.append(f"{KIND_WORDS[kind]}, {gap_words(found.probable_um)}")
    if wanted is not None:
        parts.append(_wanted_words(kind, wanted))
    ending = _class_words(measured, recommended, why_none)
    return f"{'; '.join(part for part in parts if part)}. {ending}".strip()


def seat_brief(
    seat: Seat, found: Interference | None, kind: FitKind | None, wanted: Literal["tight", "loose"] | None
) -> str:
    """Return the seat in a few words: the fit, and what speaks against it."""
    if found is None or kind is None:
        return f"{seat.capitalize()}: fit not known."
    against = ""
    if wanted == "tight" and kind in {"slide", "loose"}:
        against = "; it must be tight and is not"
    elif wanted == "loose" and kind == "press":
        against = "; it is allowed to slide here, but it is tight"
    return f"{seat.capitalize()}: {KIND_WORDS[kind]}, {gap_words(found.probable_um)}{against}."


def missed_words(seat: Seat, measured: MeasuredSeat | None, recommended: tuple[Recommended, ...]) -> str:
    """Return by how much a seat misses the classes usually recommended (``housing 14 to 26 µm below H7``); or ""."""
    nearest = _nearest_missed(measured, recommended)
    if measured is None or nearest is None:
        return ""
    missed = _missed_um(measured, nearest)
    side = "below" if _is_below(measured, nearest.limits) else "above"
    return f"{seat} {missed.low:.0f} to {missed.high:.0f} µm {side} {nearest.zone}"


def _nearest_missed(measured: MeasuredSeat | None, recommended: tuple[Recommended, ...]) -> Recommended | None:
    usual = _usual(recommended)
    outside = all(each.verdict == "does_not_conform" for each in usual)
    if measured is None or not usual or not outside or any(each.verdict == "conforms" for each in recommended):
        return None
    return min(usual, key=lambda each: _missed_um(measured, each).low)


def out_of_class(seat: Seat, measured: MeasuredSeat | None, recommended: tuple[Recommended, ...]) -> str:
    """Return by how much a seat misses the classes usually recommended, and what to do; empty where it does not."""
    nearest = _nearest_missed(measured, recommended)
    if measured is None or nearest is None:
        return ""
    said = missed_words(seat, measured, recommended)
    below = _is_below(measured, nearest.limits)
    # A small shaft and a large bore have lost material, the other way round there is too much of it.
    rework = "have the seat built up or sleeved" if below == (seat == "shaft") else "have the seat reworked to size"
    return (
        f"{said[0].upper()}{said[1:]} ({limits_words(nearest.limits)}{_perhaps(measured, recommended)}): "
        f"measure it again; if it stays so, {rework}, or ask by the machine's drawing."
    )


def _perhaps(measured: MeasuredSeat, recommended: tuple[Recommended, ...]) -> str:
    """Name the classes for special cases that the seat reads within, though it can't be told for sure."""
    reads = [each for each in recommended if _reads_within(measured, each.limits)]
    return "".join(f"; reads within {each.zone}, {each.when}" for each in reads if each.when)


def _reads_within(measured: MeasuredSeat, limits: Limits) -> bool:
    return all(limits.lower_mm <= section.mean_mm <= limits.upper_mm for section in measured.sections)


def _missed_um(measured: MeasuredSeat, each: Recommended) -> Span:
    section, limits = farthest_outside(measured, each.limits), each.limits
    if section.mean_mm < limits.lower_mm:
        return Span((limits.lower_mm - section.highest_mm) * 1000, (limits.lower_mm - section.lowest_mm) * 1000)
    return Span((section.lowest_mm - limits.upper_mm) * 1000, (section.highest_mm - limits.upper_mm) * 1000)


def _is_below(measured: MeasuredSeat, limits: Limits) -> bool:
    return farthest_outside(measured, limits).mean_mm < limits.lower_mm


def _usual(recommended: tuple[Recommended, ...]) -> list[Recommended]:
    return [each for each in recommended if not each.when] or list(recommended)


def _measured_words(seat: Seat, measured: MeasuredSeat | None, recommended: tuple[Recommended, ...]) -> str:
    name = seat.capitalize()
    if measured is None and not recommended:
        return f"{name} not measured"
    if measured is None:
        return f"{name} not measured, taken as {recommended[0].zone}"
    count = "1 reading" if measured.readings == 1 else f"{measured.readings} readings"
    return f"{name} {measured.size_mm.low:.3f} to {measured.size_mm.high:.3f} mm ({count}, {measured.read_with})"


def readings_words(shaft: MeasuredSeat | None, housing: MeasuredSeat | None) -> str:
    """Return what the readings are taken to be worth, and how it is added up; empty where nothing was measured."""
    named = [f"{name} {found.read_with}" for name, found in (("shaft", shaft), ("housing", housing)) if found]
    if not named:
        return ""
    return f"Readings taken as: {', '.join(named)} (about 95 %); uncertainties are combined by root sum of squares."


def gap_words(interference_um: Span) -> str:
    """Return interference or gap on diameter."""
    # Adding nought turns a nought below zero ("-0 µm") into a plain one.
    low, high = round(interference_um.low) + 0.0, round(interference_um.high) + 0.0
    if low >= 0:
        return f"interference {low:.0f} to {high:.0f} µm"
    if high <= 0:
        return f"gap {-high + 0.0:.0f} to {-low + 0.0:.0f} µm on diameter"
    return f"from {high:.0f} µm interference to {-low:.0f} µm gap on diameter"


def _wanted_words(kind: FitKind | None, wanted: Literal["tight", "loose"]) -> str:
    asked = "the load turns relative to this ring: it must be tight" if wanted == "tight" else "this ring may slide"
    if wanted == "tight" and kind in {"slide", "loose"}:
        return f"{asked}, and it is not"
    if wanted == "tight" and kind == "transition":
        return f"{asked}; with these readings that can't be told"
    if wanted == "loose" and kind == "press":
        return f"{asked}, but it is tight: mind the clearance, and that the other end can move"
    return asked


def _class_words(measured: MeasuredSeat | None, recommended: tuple[Recommended, ...], why_none: str) -> str:
    if not recommended:
        return why_none
    usual = _usual(recommended)
    said = [_one_class(each, measured) for each in usual]
    differ = " (published fit tables differ, all are shown)" if len(usual) > 1 else ""
    return f"Recommended{differ}: {'; '.join(said)}."


def _one_class(each: Recommended, measured: MeasuredSeat | None) -> str:
    condition = f", {each.when}" if each.when else ""
    said = f"{each.zone} {limits_words(each.limits)}{condition}"
    if measured is None or each.verdict is None:
        return said
    side = "smaller" if _is_below(measured, each.limits) else "larger"
    if each.verdict == "does_not_conform":
        return f"{said}: outside, {side}"
    if each.verdict == "conforms":
        return f"{said}: within"
    inside = _reads_within(measured, each.limits)
    return f"{said}: reads {'within' if inside else side}, but this instrument can't tell for sure"
