"""Mass against what printed lists say. It finds a wrong size, never a wrong closure or a maker."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screener.metrology.budget import COVERAGE
from screener.metrology.reading import MassReading, check_values, instrument_row
from screener.metrology.size_agreement import SizeVerdict
from screener.specs.masses import MassRange, mass_range


@dataclass(frozen=True, slots=True)
class MassAgreement:
    """A weighing beside the expected range, in kg."""

    designation: str
    verdict: SizeVerdict
    mass_kg: float
    """Mean of the weighings."""
    expanded_kg: float
    expected: MassRange | None
    says: str
    rests_on: str


def mass_agreement(
    designation: str, readings: MassReading | Sequence[MassReading], *, closure_kind: str | None = None
) -> MassAgreement:
    """Compare weighings of one bearing with the masses that are no surprise for its designation.

    Parameters
    ----------
    designation
        Canonical basic designation.
    readings
        One weighing or several of the same piece, without wrap and oil.
    closure_kind
        ``open``, ``shield``, ``contact_seal`` … or None if not known.

    Raises
    ------
    WrongUsage
        If a weighing is no positive number or the scale is not known.
    """
    sequence = (readings,) if isinstance(readings, MassReading) else tuple(readings)
    check_values([reading.value_kg for reading in sequence], "mass")
    rows = [instrument_row(reading.instrument, "mass") for reading in sequence]
    mass_kg = sum(reading.value_kg for reading in sequence) / len(sequence)
    expanded_kg = COVERAGE * max(row.standard_uncertainty(mass_kg) for row in rows)
    expected = mass_range(designation, closure_kind)
    if expected is None:
        says = f"no list gives a mass for {designation}; weigh a known good piece"
        return MassAgreement(designation, "cannot_tell", mass_kg, expanded_kg, None, says, rows[0].row_name)
    verdict = _verdict(mass_kg, expanded_kg, expected)
    says = f"{_words(verdict, mass_kg, expected)} for {designation}: {expected.origin}"
    return MassAgreement(designation, verdict, mass_kg, expanded_kg, expected, says, expected.rests_on)


def _verdict(mass_kg: float, expanded_kg: float, expected: MassRange) -> SizeVerdict:
    if mass_kg + expanded_kg < expected.low_kg or mass_kg - expanded_kg > expected.high_kg:
        return "differs"
    # A scale that is coarse beside the range would agree with anything.
    if expanded_kg > expected.high_kg - expected.low_kg:
        return "cannot_tell"
    return "agrees"


def _words(verdict: SizeVerdict, mass_kg: float, expected: MassRange) -> str:
    weighed = f"{mass_kg:.4g} kg"
    if verdict == "agrees":
        return f"{weighed} is no surprise"
    if verdict == "cannot_tell":
        return f"this scale is too coarse: {weighed} says little"
    side = "lighter" if mass_kg < expected.low_kg else "heavier"
    return f"{weighed} is {side} than expected"
