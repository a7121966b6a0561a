"""A seat on the bench: size from several readings, out of round, taper, with uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

from screener.errors import WrongUsage
from screener.metrology.decision import Limits
from screener.metrology.estimate import Estimate, estimate
from screener.metrology.fits.span import Span
from screener.metrology.length_text import inches_hint
from screener.metrology.reading import Reading
from screener.metrology.temperature import ALPHA_STEEL, REFERENCE_C
from screener.specs.fit_materials import MaterialRow
from screener.specs.fit_tables import FormRow, Seat
from screener.specs.instruments import Use

_USE: dict[Seat, Use] = {"shaft": "outside", "housing": "inside"}
_MOST_OFF = 0.05
"""A reading further than this from the nominal size is another size, or a slip of the pen."""


@dataclass(frozen=True, slots=True)
class MeasuredSeat:
    """What the readings of one seat say, at 20 °C."""

    size_mm: Span
    """Where the diameter may lie, all cross sections and the uncertainty included (about 95 %)."""
    sections: tuple[Estimate, ...]
    out_of_round_um: Span | None
    """Largest in one cross section; the range is the uncertainty of a difference of two readings."""
    taper_um: Span | None
    """Difference of the cross sections; None with only one."""
    notes: tuple[str, ...]

    @property
    def middle_mm(self) -> float:
        """Mean of the cross sections."""
        return sum(found.mean_mm for found in self.sections) / len(self.sections)

    @property
    def read_with(self) -> str:
        """The instrument and what it leaves open at about 95 %: ``micrometer ± 7 µm``."""
        return f"{self.sections[0].instrument} ± {1000 * max(found.below_mm for found in self.sections):.0f} µm"

    @property
    def may_read_short(self) -> bool:
        """The instrument errs downwards on bores of this size."""
        return any(found.may_read_short for found in self.sections)

    @property
    def readings(self) -> int:
        """How many readings."""
        return sum(found.readings for found in self.sections)


def farthest_outside(measured: MeasuredSeat, limits: Limits) -> Estimate:
    """Return the cross section that lies farthest outside of limits, or least inside of them."""
    return max(measured.sections, key=lambda each: max(limits.lower_mm - each.mean_mm, each.mean_mm - limits.upper_mm))


def measure_seat(
    seat: Seat, nominal_mm: float, sections: tuple[tuple[Reading, ...], ...], made_of: MaterialRow
) -> MeasuredSeat | None:
    """Combine the readings of a seat; None without any.

    Raises
    ------
    WrongUsage
        A reading that cannot belong to a seat of this nominal size, an instrument that is not known, …
    """
    given = tuple(section for section in sections if section)
    if not given:
        return None
    _check_size(seat, nominal_mm, given)
    estimates = tuple(estimate(_as_steel(section, made_of), _USE[seat], what=seat) for section in given)
    return MeasuredSeat(
        size_mm=Span(min(e.lowest_mm for e in estimates), max(e.highest_mm for e in estimates)),
        sections=estimates,
        out_of_round_um=_out_of_round(estimates),
        taper_um=_taper(estimates),
        notes=_notes(estimates),
    )


def _check_size(seat: str, nominal_mm: float, sections: tuple[tuple[Reading, ...], ...]) -> None:
    for reading in (each for section in sections for each in section):
        # NaN fails the comparison too.
        if not abs(reading.value_mm - nominal_mm) <= _MOST_OFF * nominal_mm:
            raise WrongUsage(
                f"{reading.value_mm:g} mm cannot be a {seat} for a nominal {nominal_mm:g} mm.",
                where=seat,
                next_step=f"{inches_hint(reading.value_mm, nominal_mm, _MOST_OFF)}"
                "Check the reading, the unit (mm) and the designation.",
                code="reading",
            )


def _as_steel(section: tuple[Reading, ...], made_of: MaterialRow) -> tuple[Reading, ...]:
    """Move each reading by what its material expands more than steel: `estimate` refers steel to 20 °C."""
    alpha = (made_of.alpha_low_1e6_per_k + made_of.alpha_high_1e6_per_k) / 2e6
    return tuple(
        each
        if each.temperature_c is None
        else Reading(
            each.value_mm * (1 - (alpha - ALPHA_STEEL) * (each.temperature_c - REFERENCE_C)),
            each.instrument,
            each.temperature_c,
        )
        for each in section
    )


def _difference(found: Estimate) -> float:
    """Expanded uncertainty of a difference of two readings: what both share falls out, the scatter does not (µm)."""
    own = next(part.u for part in found.budget.components if part.name == "instrument")
    # Half of the instrument's error is taken as common to all readings of one session (judgement).
    return 2 * math.sqrt(2) * own / 2 * 1000


def _out_of_round(estimates: tuple[Estimate, ...]) -> Span | None:
    seen = [found for found in estimates if found.out_of_round_mm is not None]
    if not seen:
        return None
    worst = max(seen, key=lambda found: found.out_of_round_mm or 0.0)
    return _widened((worst.out_of_round_mm or 0.0) * 1000, _difference(worst))


def _taper(estimates: tuple[Estimate, ...]) -> Span | None:
    if len(estimates) < 2:
        return None
    means = [found.mean_mm for found in estimates]
    return _widened((max(means) - min(means)) * 1000, max(_difference(found) for found in estimates))


def _widened(value_um: float, by_um: float) -> Span:
    return Span(max(0.0, value_um - by_um), value_um + by_um)


def _notes(estimates: tuple[Estimate, ...]) -> tuple[str, ...]:
    notes = list(dict.fromkeys(note for found in estimates for note in found.notes))
    if len(estimates) == 1:
        notes.append("one cross section only: taper not seen; two sections with four directions each are usual")
    if any(found.out_of_round_mm is not None for found in estimates):
        notes.append("a two-point instrument does not see a three-lobed seat")
    return tuple(notes)


def form_words(measured: MeasuredSeat, tolerance_um: float, rule: FormRow) -> tuple[str, ...]:
    """Return sentences on roundness and taper against what fit tables allow: a share of the diameter tolerance."""
    allowed = Span(rule.share_low * tolerance_um, rule.share_high * tolerance_um)
    named = (("out of round", measured.out_of_round_um), ("taper", measured.taper_um))
    return tuple(_form_sentence(name, found, allowed) for name, found in named if found is not None)


def form_too_much(measured: MeasuredSeat, tolerance_um: float, rule: FormRow) -> tuple[str, ...]:
    """Return what is surely more than any list allows: ``out of round``, ``tapered``."""
    allowed_um = rule.share_high * tolerance_um
    named = (("out of round", measured.out_of_round_um), ("tapered", measured.taper_um))
    return tuple(name for name, found in named if found is not None and found.low > allowed_um)


def _form_sentence(name: str, found: Span, allowed: Span) -> str:
    said = (
        f"{name} {found.low:.0f} to {found.high:.0f} µm; published fit tables allow at most "
        f"{allowed.low:.1f} to {allowed.high:.1f} µm (strictest to most lenient)"
    )
    if found.high <= allowed.low:
        return f"{said}: within"
    return f"{said}: too much" if found.low > allowed.high else f"{said}: can't be told with this instrument"
