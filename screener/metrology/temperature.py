"""Referring lengths to 20 °C. Steel on steel, only a difference of temperature between part and instrument matters."""

from __future__ import annotations

import math

from screener.metrology.budget import Component

REFERENCE_C = 20.0
ALPHA_STEEL = 12e-6
"""Expansion of bearing steel per kelvin (common practice; handbooks give 11.5 to 12.5e-6)."""

_U_ALPHA = 0.6e-6
"""Half-width 1e-6 per kelvin, rectangular (judgement)."""
_KNOWN_WITHIN_K = 2.0
"""A temperature that was told is good to about 2 K (judgement)."""
_ROOM_WITHIN_K = 5.0
"""Part and instrument lying in one room differ by no more than this (judgement)."""


def correction_mm(length_mm: float, temperature_c: float | None, alpha: float = ALPHA_STEEL) -> float:
    """Return what to add to a length measured at ``temperature_c`` to have it at 20 °C.

    The instrument is taken to be at 20 °C. Without a temperature nothing is corrected.
    """
    if temperature_c is None:
        return 0.0
    return -alpha * (temperature_c - REFERENCE_C) * length_mm


def temperature_component(length_mm: float, temperature_c: float | None, alpha: float = ALPHA_STEEL) -> Component:
    """Return the budget line for temperature, in mm."""
    if temperature_c is None:
        u = alpha * length_mm * _ROOM_WITHIN_K / math.sqrt(3)
        return Component("temperature", u, f"not told: within ±{_ROOM_WITHIN_K:g} K of the instrument, 12e-6 per K")
    from_temperature = alpha * length_mm * _KNOWN_WITHIN_K / math.sqrt(3)
    from_alpha = _U_ALPHA * abs(temperature_c - REFERENCE_C) * length_mm
    u = math.hypot(from_temperature, from_alpha)
    return Component("temperature", u, f"{temperature_c:g} °C told, good to ±{_KNOWN_WITHIN_K:g} K, 12e-6 per K")
