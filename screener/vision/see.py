"""The parts of one photo, seen whole: rings, face, measures, sizes and marks brought together."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.vision.face import see_face
from screener.vision.groove import see_groove
from screener.vision.marks import read_marks
from screener.vision.measure import measure
from screener.vision.model import PartSeen
from screener.vision.rings.find import find_parts
from screener.vision.rings.sharpen import sharpened
from screener.vision.sizes import rank_sizes

if TYPE_CHECKING:
    from screener.vision.card import Card
    from screener.vision.face import FaceSeen
    from screener.vision.marks import MarksSeen
    from screener.vision.model import GrooveSeen
    from screener.vision.photo import Photo
    from screener.vision.rings.find import RingPair
    from screener.vision.text_engine import TextEngine

LEAST_COVERAGE = 0.5
"""Share of the outer edge and of the bore that must be seen: half hidden is still measurable, less is a guess."""
SCORE_OF_BEST = 0.5
"""Another nest is reported beside the best one from this share of its score on."""


def see_parts(photo: Photo, card: Card | None, engine: TextEngine) -> tuple[PartSeen, ...]:
    """Find, measure and read the round parts of a photo, the most convincing first.

    Only the most convincing part is read: reading costs as much as all the rest.
    """
    pairs = [sharpened(photo.rgb, pair) for pair in _worth_reporting(find_parts(photo.rgb))]
    faces = [(pair, see_face(photo, pair.outer.ellipse, pair.bore.ellipse)) for pair in pairs if pair.bore]
    return tuple(
        replace(
            _part(pair, face, card, _marks(photo, pair, face, engine) if place == 0 else None),
            snap_ring_groove=_groove(photo, pair, face),
        )
        for place, (pair, face) in enumerate(faces)
    )


def _worth_reporting(pairs: tuple[RingPair, ...]) -> list[RingPair]:
    """Nests with a bore whose edges are seen most of the way round, and not much weaker than the best."""
    whole = [p for p in pairs if p.bore and min(p.outer.coverage, p.bore.coverage) >= LEAST_COVERAGE]
    return [p for p in whole if p.score >= SCORE_OF_BEST * whole[0].score]


def _marks(photo: Photo, pair: RingPair, face: FaceSeen, engine: TextEngine) -> MarksSeen:
    bore = pair.bore.ellipse if pair.bore else None
    return read_marks(photo.gray, pair.outer.ellipse, bore, kind=face.kind, engine=engine)


def _groove(photo: Photo, pair: RingPair, face: FaceSeen) -> GrooveSeen | None:
    """Of bearings, as shaft seals have none."""
    if face.kind != "bearing" or pair.bore is None:
        return None
    return see_groove(photo, pair.outer.ellipse, pair.bore.ellipse)


def _part(pair: RingPair, face: FaceSeen, card: Card | None, marks: MarksSeen | None) -> PartSeen:
    measures = measure(pair, card, kind=face.kind)
    bearing = face.kind == "bearing"
    return PartSeen(
        kind=face.kind,
        kind_p=face.kind_p,
        outer_ellipse_px=pair.outer.ellipse,
        bore_ellipse_px=pair.bore.ellipse if pair.bore else None,
        bore_to_od=measures.bore_to_od,
        od_mm=measures.od_mm,
        bore_mm=measures.bore_mm,
        closure=face.closure if bearing else None,
        lip_face=None if bearing else face.lip_face,
        marks=marks.marks if marks else (),
        designation=marks.designation if marks else None,
        sizes=rank_sizes(measures, kind=face.kind),
        rubber_colour=face.rubber_colour,
        ball_count=face.ball_count,
        cage=face.cage if bearing else None,
        garter_spring=None if bearing else face.garter_spring,
        mark_votes=marks.votes if marks else (),
        capitals_px=marks.capitals_px if marks else None,
        mark_burnt=marks.burnt if marks else 0.0,
        evenness=marks.evenness if marks else (),
    )
