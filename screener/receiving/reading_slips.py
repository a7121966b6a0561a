"""Readings beside what was asked for: those that are plainly a slip are sent back to whoever gave them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.metrology.slips import refuse_kilograms, refuse_slips

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from screener.parts import Explained


def refuse_slips_beside(asked: Explained, readings: Mapping[str, Sequence[float]]) -> None:
    """Refuse readings in another unit, with the point slipped, or under each other's name.

    Parameters
    ----------
    asked
        What the job needs, as `screener.parts.explain` understands it.
    readings
        By attribute: ``bore_mm``, ``od_mm``, ``width_mm``, ``mass_g``; others are not looked at.

    Raises
    ------
    WrongUsage
        Naming the reading and what it looks like.
    """
    bore_mm = asked.bore_mm if asked.kind == "bearing" else None  # a seal's lip is smaller than its shaft by design
    refuse_slips(
        {
            "bore": (readings.get("bore_mm", ()), bore_mm),
            "outside diameter": (readings.get("od_mm", ()), asked.od_mm),
            "width": (readings.get("width_mm", ()), asked.width_mm),
        }
    )
    if asked.kind == "bearing" and asked.basic:
        refuse_kilograms(asked.basic, readings.get("mass_g", ()), asked.closure.kind if asked.closure else None)
