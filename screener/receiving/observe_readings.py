"""Readings with instruments, as a person types them, to observations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.metrology.reading import check_values, instrument_row
from screener.screening.model import Source

if TYPE_CHECKING:
    from screener.receiving.observe import Notebook
    from screener.screening.model import Attribute


@dataclass(frozen=True, slots=True)
class HandReadings:
    """What was read off instruments on one part; several readings of one dimension are welcome."""

    bore_mm: tuple[float, ...] = ()
    od_mm: tuple[float, ...] = ()
    width_mm: tuple[float, ...] = ()
    instrument: str = "caliper"
    """Name in reference_specs/instruments.csv."""
    temperature_c: float | None = None
    mass_g: float | None = None
    scale: str = "scale"


def observe_readings(readings: HandReadings, notebook: Notebook) -> None:
    """Note each reading.

    Raises
    ------
    WrongUsage
        A number cannot be a reading, or the instrument is not known.
    """
    lengths: tuple[tuple[Attribute, tuple[float, ...]], ...] = (
        ("bore_mm", readings.bore_mm),
        ("od_mm", readings.od_mm),
        ("width_mm", readings.width_mm),
    )
    for attribute, values in lengths:
        if not values:
            continue
        check_values(values, attribute.removesuffix("_mm"))
        row = instrument_row(readings.instrument, "inside" if attribute == "bore_mm" else "outside")
        source = Source("instrument", readings.instrument)
        for value in values:
            u_mm = row.standard_uncertainty(value)
            notebook.note(attribute, value, source, u=u_mm, temperature_c=readings.temperature_c)
    if readings.mass_g is not None:
        check_values([readings.mass_g], "mass")
        u_g = 1000 * instrument_row(readings.scale, "mass").standard_uncertainty(readings.mass_g / 1000)
        notebook.note("mass_g", readings.mass_g, Source("instrument", readings.scale), u=u_g)
