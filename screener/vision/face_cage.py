"""What the cage of an open bearing is made of, by its colour and brightness between the balls beside the steel faces.

Grease, shade and a warm room change both, so most answers stay below 0.9, and "not seen" is an ordinary one. Pressed
and machined cages of one metal look alike from the face: only the material is told.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from screener.vision.model import CageSeen, CageWord

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.vision.face_features import FaceFeatures

LEAST_P = 0.6
"""Below this the answer is ``not_seen``."""
CEILINGS: Mapping[CageWord, float] = {"brass": 0.9, "polymer": 0.85, "steel": 0.85}
"""Most that one photo gives: yellow grease looks like brass, steel in deep shade like black plastic (judgement)."""
_NOTHING_FITS = 0.0
"""Log odds of "none of these looks like it": a material must do better."""


def see_cage(features: FaceFeatures) -> CageSeen:
    """Judge the cage of a face that is seen to be open."""
    red, blue, light = features["cage_red"], features["cage_blue"], features["cage_light"]
    odds: dict[CageWord, float] = {
        "brass": _clip(14 * (-0.46 - blue), 3) + _clip(12 * (red - 0.2), 2),
        "steel": _steel(red, blue, light),
        "polymer": max(_black(red, blue, light), _natural(red, blue), _coloured(red, blue)),
    }
    weights = {word: math.exp(o) for word, o in odds.items()}
    best = max(odds, key=lambda word: odds[word])
    p = min(CEILINGS[best], weights[best] / (sum(weights.values()) + math.exp(_NOTHING_FITS)))
    return CageSeen(best, round(p, 3)) if p >= LEAST_P else CageSeen("not_seen", round(1 - p, 3))


def _steel(red: float, blue: float, light: float) -> float:
    """As colourless as the faces, and not dark. Black plastic between shining balls can look so too."""
    return _clip(20 * (0.17 - abs(blue)), 2) + _clip(14 * (0.14 - abs(red)), 2) + _clip(5 * (light + 2.1), 2)


def _black(red: float, blue: float, light: float) -> float:
    """Black plastic sends back a tenth of what steel does, also where a steel cage would shine."""
    return _clip(6 * (-2.25 - light), 3) + _clip(14 * (0.16 - max(abs(red), abs(blue))), 1)


def _natural(red: float, blue: float) -> float:
    """Undyed polyamide is ivory: a little yellow, far less than brass."""
    return _clip(24 * (-0.2 - blue), 2.5) - max(0.0, 14 * (-0.42 - blue)) + _clip(12 * (0.22 - red), 1)


def _coloured(red: float, blue: float) -> float:
    """Blue, green or plain red are no metal's colours."""
    return _clip(9 * max(blue - 0.35, -red - 0.3, min(red - 0.5, blue + 0.4)), 3)


def _clip(odds: float, at_most: float) -> float:
    return max(-at_most, min(at_most, odds))
