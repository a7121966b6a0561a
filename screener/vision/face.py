"""See a face: bearing or shaft seal, what closes it, which side of a seal, how many balls, what colour of rubber.

Evidence is added up in log odds from a table that people can read (``face_clues.toml``); each clue is capped, and a
probability above 0.9 needs clues that agree.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, cast

import numpy as np

from screener.vision.face_cage import see_cage
from screener.vision.face_features import FaceFeatures, measure_face
from screener.vision.model import CageSeen, ClosureSeen, ClosureWord, DetailSeen, LipFaceSeen, LipFaceWord, PartKind

if TYPE_CHECKING:
    from screener.vision.model import Ellipse
    from screener.vision.photo import Photo

NEVER_SURER = 0.985
"""One look at one photo is never surer than this: lamps, dirt and parts exist that nobody has tested."""

DISPUTED = 0.85
"""Ceiling for a probability when a clue of weight speaks against the answer."""

DISPUTE_WEIGHT = 1.2
"""Log odds against that count as a dispute."""

NARROW_PX = 10.0
"""Between bore and outside: fewer pixels show no closure."""

MIN_P = 0.5
"""Below this the answer is ``not_seen``."""

BALLS_REPEAT = 0.45
"""How well a ring must repeat before its balls are counted."""

CAGE_CLOSURE_P = 0.8
"""A cage is judged only where the face is this surely open."""

SPRING_P = 0.9
"""How sure seen coils make of a garter spring."""

SPRING_FINE, SPRING_LINE = 0.25, 0.8
"""Contrast of the coils, and brightness of the spring above the face, from which a garter spring counts as seen."""


@dataclass(frozen=True, slots=True)
class FaceSeen:
    """What one face shows. One face seen is one face known."""

    kind: PartKind
    kind_p: float
    kind_scores: dict[str, float]
    """Log odds that each clue gave for a bearing (against a shaft seal)."""
    closure: ClosureSeen
    """As if the part were a bearing."""
    closure_p: dict[str, float]
    """Probability of each closure."""
    lip_face: LipFaceSeen
    """As if the part were a shaft seal."""
    rubber_colour: str | None = None
    """``black``, ``blue``, ``red``, ``brown``, ``green``, ``gray`` or ``light``; None where no rubber is seen."""
    ball_count: int | None = None
    cage: CageSeen | None = None
    """Of open bearings; None where no open face is seen."""
    garter_spring: DetailSeen | None = None
    """Of shaft seals: seen by its coils, or not seen. A spring under grease or out of focus is not a missing one."""


@dataclass(frozen=True, slots=True)
class _Clue:
    number: str
    middle: float
    per_unit: float
    at_most: float
    floor: float
    ceiling: float

    def weigh(self, features: FaceFeatures) -> float:
        """Log odds of one clue."""
        raw = self.per_unit * (features[self.number] - self.middle)
        return max(self.floor, -self.at_most, min(self.ceiling, self.at_most, raw))


@cache
def _clues() -> dict[str, tuple[float, tuple[_Clue, ...]]]:
    """The table: answer to its starting log odds and its clues."""
    text = resources.files("screener.vision").joinpath("face_clues.toml").read_text(encoding="utf-8")
    return {
        answer: (
            float(entry["start"]),
            tuple(
                _Clue(
                    number=c["number"],
                    middle=c["middle"],
                    per_unit=c["per_unit"],
                    at_most=c["at_most"],
                    floor=c.get("floor", -math.inf),
                    ceiling=c.get("ceiling", math.inf),
                )
                for c in entry["clue"]
            ),
        )
        for answer, entry in tomllib.loads(text).items()
    }


def see_face(photo: Photo, outer: Ellipse, bore: Ellipse) -> FaceSeen:
    """Judge one face.

    Parameters
    ----------
    photo
        The photo.
    outer, bore
        Outer edge and bore edge of the part, in pixels of the photo; a per cent or two off does no harm.
    """
    return judge(measure_face(photo, outer, bore), width_px=outer.b - bore.b)


def judge(features: FaceFeatures, *, width_px: float) -> FaceSeen:
    """Judge measured features; ``width_px`` is the photo's distance between bore and outside at its narrowest."""
    bearing = _weights("bearing", features)
    p_bearing = _logistic(_total("bearing", bearing))
    kind: PartKind = "bearing" if p_bearing >= 0.5 else "shaft_seal"
    sign = 1.0 if kind == "bearing" else -1.0
    kind_p = _admit(max(p_bearing, 1 - p_bearing), [sign * w for w in bearing.values()])
    chances = _closure_chances(features)
    closure, lip = _closure(features, chances, width_px), _lip_face(features, width_px)
    return FaceSeen(
        kind=kind,
        kind_p=kind_p,
        kind_scores=bearing,
        closure=closure,
        closure_p=chances,
        lip_face=lip,
        rubber_colour=_rubber_colour(features, kind, closure),
        ball_count=_balls(features, kind, closure),
        cage=_cage(features, kind, closure),
        garter_spring=_garter_spring(features, kind, lip),
    )


def _weights(answer: str, features: FaceFeatures) -> dict[str, float]:
    return {clue.number: clue.weigh(features) for clue in _clues()[answer][1]}


def _total(answer: str, weights: dict[str, float]) -> float:
    return _clues()[answer][0] + sum(weights.values())


def _logistic(odds: float) -> float:
    return 1.0 / (1.0 + math.exp(-max(-40.0, min(40.0, odds))))


def _admit(p: float, weights: list[float]) -> float:
    """Hold a probability under its ceilings; ``weights`` are the clues' log odds, positive for the answer."""
    ceiling = DISPUTED if min(weights, default=0.0) < -DISPUTE_WEIGHT else NEVER_SURER
    return min(p, ceiling)


def _closure_chances(features: FaceFeatures) -> dict[str, float]:
    """Open or closed first (balls repeat, whatever their cage's colour), then steel or rubber."""
    p_open = _logistic(_total("open", _weights("open", features)))
    steel = _total("shield", _weights("shield", features))
    rubber = _total("rubber_seal", _weights("rubber_seal", features))
    p_steel = _logistic(steel - rubber)
    return {"open": p_open, "shield": (1 - p_open) * p_steel, "rubber_seal": (1 - p_open) * (1 - p_steel)}


def _closure(features: FaceFeatures, chances: dict[str, float], width_px: float) -> ClosureSeen:
    best = max(chances, key=lambda word: chances[word])
    if width_px < NARROW_PX or chances[best] < MIN_P:
        return ClosureSeen("not_seen", round(1 - chances[best], 3))
    balls = list(_weights("open", features).values())
    weights = balls if best == "open" else [-w for w in balls] + list(_weights(best, features).values())
    return ClosureSeen(cast("ClosureWord", best), round(_admit(chances[best], weights), 3))


def _lip_face(features: FaceFeatures, width_px: float) -> LipFaceSeen:
    weights = _weights("spring_side", features)
    p_spring = _logistic(_total("spring_side", weights))
    word: LipFaceWord = "spring_side" if p_spring >= 0.5 else "back"
    sign = 1.0 if p_spring >= 0.5 else -1.0
    if width_px < NARROW_PX:
        return LipFaceSeen("not_seen", 0.5)
    return LipFaceSeen(word, round(_admit(max(p_spring, 1 - p_spring), [sign * w for w in weights.values()]), 3))


def _balls(features: FaceFeatures, kind: PartKind, closure: ClosureSeen) -> int | None:
    seen = kind == "bearing" and closure.value == "open" and features["repeat"] >= BALLS_REPEAT
    return features.ball_count if seen else None


def _cage(features: FaceFeatures, kind: PartKind, closure: ClosureSeen) -> CageSeen | None:
    if kind != "bearing" or closure.value != "open":
        return None
    return see_cage(features) if closure.p >= CAGE_CLOSURE_P else CageSeen("not_seen", 1.0)


def _garter_spring(features: FaceFeatures, kind: PartKind, lip: LipFaceSeen) -> DetailSeen | None:
    if kind != "shaft_seal":
        return None
    coils = features["fine"] >= SPRING_FINE and features["line"] >= SPRING_LINE
    return DetailSeen("seen", SPRING_P) if lip.value == "spring_side" and coils else DetailSeen("not_seen", 1.0)


def _rubber_colour(features: FaceFeatures, kind: PartKind, closure: ClosureSeen) -> str | None:
    """Word for the rubber's colour: of the closure against steel, or of the whole seal against gray light."""
    if kind == "shaft_seal":
        bright = features["part_to_white"]
        return _colour_word(features.part_log_rgb, dark=bright < -1.2, clear=0.45)
    if closure.value == "rubber_seal":
        return _colour_word(features.band_log_rgb, dark=features["band_ratio"] < -0.9, clear=0.35)
    return None


def _colour_word(log_rgb: np.ndarray, *, dark: bool, clear: float) -> str:
    """Name a colour from log ratios; ``clear`` is the difference that a lamp's tint does not reach."""
    red, blue = float(log_rgb[0] - log_rgb[1]), float(log_rgb[2] - log_rgb[1])
    if red < clear and blue < clear and red > -clear and blue > -clear:
        return "black" if dark else "gray"
    if blue >= clear and blue > red:
        return "blue"
    if red >= 1.2 * clear:
        return "brown" if red < 1.1 and blue < 0 else "red"
    return "green" if red < 0 else "brown"
