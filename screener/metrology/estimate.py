"""From several readings of one dimension to one value with its uncertainty, below and above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screener.errors import WrongUsage
from screener.metrology.budget import Budget, Component, repeatability
from screener.metrology.flat_jaws import flat_jaw_error_mm
from screener.metrology.reading import Reading, check_values, instrument_row
from screener.metrology.temperature import correction_mm, temperature_component
from screener.specs.instruments import InstrumentRow, Use


@dataclass(frozen=True, slots=True)
class Estimate:
    """A measured dimension at 20 °C.

    The true value lies (at about 95 %) between ``mean_mm - below_mm`` and ``mean_mm + above_mm``. Both are the expanded
    uncertainty, except where the instrument errs to one side only: a caliper in a small bore may read short, so
    ``above_mm`` is larger.
    """

    mean_mm: float
    """Mean of the largest and smallest reading, as bearings are judged (mean diameter)."""
    out_of_round_mm: float | None
    """Largest minus smallest reading; None for a single one."""
    readings: int
    budget: Budget
    below_mm: float
    above_mm: float
    instrument: str
    instrument_row: str
    may_read_short: bool = False
    """The instrument errs on bores of this size, and only downwards."""
    notes: tuple[str, ...] = ()

    @property
    def lowest_mm(self) -> float:
        """Smallest value that the readings leave open."""
        return self.mean_mm - self.below_mm

    @property
    def highest_mm(self) -> float:
        """Largest value that the readings leave open."""
        return self.mean_mm + self.above_mm


def estimate(readings: Sequence[Reading], use: Use, *, what: str = "reading", flat_mm: float | None = None) -> Estimate:
    """Combine readings of one dimension.

    Parameters
    ----------
    readings
        One or more, of one dimension of one part. All with instruments that serve for ``use``.
    use
        ``outside``, ``inside`` or ``outside rubber``.
    what
        Name of the dimension for messages (``bore``).
    flat_mm
        Flat width of this caliper's inside jaws if the shop has determined it; replaces the table's largest value.

    Raises
    ------
    WrongUsage
        If there is no reading, one is no positive number, or the instrument is not known.
    """
    check_values([reading.value_mm for reading in readings], what)
    _check_temperatures(readings, what)
    row = max((instrument_row(reading.instrument, use) for reading in readings), key=lambda found: found.u_absolute)
    at_20 = [reading.value_mm + correction_mm(reading.value_mm, reading.temperature_c) for reading in readings]
    mean_mm = (max(at_20) + min(at_20)) / 2
    budget = _budget(readings, at_20, row)
    short_mm = _reads_short_mm(mean_mm, row, flat_mm)
    return Estimate(
        mean_mm=mean_mm,
        out_of_round_mm=max(at_20) - min(at_20) if len(at_20) > 1 else None,
        readings=len(at_20),
        budget=budget,
        below_mm=budget.expanded,
        above_mm=budget.expanded + short_mm,
        instrument=row.instrument,
        instrument_row=row.row_name,
        may_read_short=row.short_below_mm is not None and mean_mm < row.short_below_mm,
        notes=_notes(readings, row, short_mm, what),
    )


def _check_temperatures(readings: Sequence[Reading], what: str) -> None:
    for reading in readings:
        # Outside this range nobody measures; the number is a slip or in another unit. NaN fails the comparison too.
        if reading.temperature_c is not None and not -40 <= reading.temperature_c <= 150:
            raise WrongUsage(
                f"{reading.temperature_c:g} °C cannot be the temperature of a part on the bench.",
                where=what,
                next_step="Give degrees Celsius.",
                code="temperature",
            )


def _budget(readings: Sequence[Reading], at_20: Sequence[float], row: InstrumentRow) -> Budget:
    length_mm = max(at_20)
    # The instrument's own error is common to all readings: it does not shrink with their number.
    own = Component("instrument", row.standard_uncertainty(length_mm), row.row_name)
    temperature = max(
        (temperature_component(length_mm, reading.temperature_c) for reading in readings), key=lambda part: part.u
    )
    scatter = repeatability(at_20)
    return Budget((own, temperature, scatter) if scatter is not None else (own, temperature))


def _reads_short_mm(mean_mm: float, row: InstrumentRow, flat_mm: float | None) -> float:
    """Largest amount by which this bore may have been read short."""
    flat = flat_mm if flat_mm is not None else row.flat_mm
    return flat_jaw_error_mm(mean_mm, flat) if flat is not None and row.flat_mm is not None else 0.0


def _notes(readings: Sequence[Reading], row: InstrumentRow, short_mm: float, what: str) -> tuple[str, ...]:
    notes = []
    if len(readings) == 1 and what == "width":
        notes.append("one reading only; three places 120° apart, on the ring faces, show more")
    elif len(readings) == 1:
        notes.append("one reading only: out-of-round not seen; take a second one at 90°")
    if row.short_below_mm is not None and readings[0].value_mm < row.short_below_mm:
        notes.append(f"the jaws may read this bore up to {short_mm:.3f} mm short, never long")
    return tuple(notes)
