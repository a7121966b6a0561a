"""CIEDE2000, how different two colours are to the eye, in plain arithmetic: no image library in this layer."""

from __future__ import annotations

from math import atan2, cos, degrees, exp, hypot, radians, sin, sqrt

Lab = tuple[float, float, float]
"""L*, a*, b* (ISO/CIE 11664-4)."""
_25_TO_7 = 25.0**7


def ciede2000(one: Lab, two: Lab) -> float:
    """Return the colour difference of ISO/CIE 11664-6:2014 with kL = kC = kH = 1.

    Source of the steps: Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21-30, equations 2 to 22.
    """
    pale = (hypot(*one[1:]) + hypot(*two[1:])) / 2
    stretch = 1.5 - 0.5 * sqrt(pale**7 / (pale**7 + _25_TO_7))
    (chroma_1, hue_1), (chroma_2, hue_2) = _polar(one, stretch), _polar(two, stretch)
    grey = chroma_1 * chroma_2 == 0
    turn = 0.0 if grey else hue_2 - hue_1
    turn -= 360 * (turn > 180) - 360 * (turn < -180)
    hue = hue_1 + hue_2 if grey else (hue_1 + turn / 2) % 360
    lightness, chroma = (one[0] + two[0]) / 2, (chroma_1 + chroma_2) / 2
    off = (lightness - 50) ** 2
    light = (two[0] - one[0]) / (1 + 0.015 * off / sqrt(20 + off))
    strong = (chroma_2 - chroma_1) / (1 + 0.045 * chroma)
    turned = 2 * sqrt(chroma_1 * chroma_2) * sin(radians(turn / 2)) / (1 + 0.015 * chroma * _hue_weight(hue))
    tilt = -2 * sqrt(chroma**7 / (chroma**7 + _25_TO_7)) * sin(radians(60 * exp(-(((hue - 275) / 25) ** 2))))
    return sqrt(max(0.0, light**2 + strong**2 + turned**2 + tilt * strong * turned))


def _polar(colour: Lab, stretch: float) -> tuple[float, float]:
    _, a, b = colour
    return hypot(a * stretch, b), degrees(atan2(b, a * stretch)) % 360 if a or b else 0.0


def _hue_weight(hue: float) -> float:
    return (
        1
        - 0.17 * cos(radians(hue - 30))
        + 0.24 * cos(radians(2 * hue))
        + 0.32 * cos(radians(3 * hue + 6))
        - 0.20 * cos(radians(4 * hue - 63))
    )
