"""What a person reads off an instrument."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from screener.errors import WrongUsage
from screener.specs.instruments import InstrumentRow, Use, instrument, instrument_names


@dataclass(frozen=True, slots=True)
class Reading:
    """One length read off an instrument."""

    value_mm: float
    instrument: str
    """Name in `instruments.csv`, ``caliper``."""
    temperature_c: float | None = None
    """Of the part; None: not known, taken as that of the room."""


@dataclass(frozen=True, slots=True)
class MassReading:
    """One mass read off a scale."""

    value_kg: float
    instrument: str = "scale"


def instrument_row(name: str, use: Use) -> InstrumentRow:
    """Return the instrument's row for a use.

    Raises
    ------
    WrongUsage
        If no such instrument is known, or it does not serve for this use.
    """
    found = instrument(name, use)
    if found is None:
        raise WrongUsage(
            f"“{name}” is not known as an instrument for this ({use}).",
            where="instrument",
            next_step=f"Known: {', '.join(instrument_names())}. A new one is a row in instruments.csv.",
            code="instrument",
        )
    return found


def check_values(values: Sequence[float], what: str) -> None:
    """Refuse what cannot be a reading: nothing at all, no number, zero or less.

    Raises
    ------
    WrongUsage
        Naming the reading.
    """
    if not values:
        raise WrongUsage("There is no reading.", where=what, next_step="Give at least one.", code="reading")
    for value in values:
        if not math.isfinite(value) or value <= 0:
            raise WrongUsage(
                f"{value:g} cannot be a reading.", where=what, next_step="Give a number above zero.", code="reading"
            )
