"""Marks on a part: straighten the face, find the runs of text, read them both ways round, settle on a designation."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from screener.parts.ranking import rank_readings
from screener.vision.marks.designation import NO_DESIGNATION, Vote, average, key_of, votes
from screener.vision.marks.evenness import CAPITALS_OF_RUN, judge_evenness
from screener.vision.marks.face_strip import FINE_RADIUS_ROWS, FaceStrip, straighten_face
from screener.vision.marks.run_reading import MORE_ROUNDS, WAYS, RunRead, Way, read_again, read_runs
from screener.vision.marks.runs import TextRun, find_runs
from screener.vision.marks.text_finder import TextPlace, find_texts, finder_is_there
from screener.vision.marks.vocabulary import Vocabulary, bearing_vocabulary, seal_vocabulary
from screener.vision.model import DesignationRead, Ellipse, Mark, MarkEvenness, MarkPlace, MarkVote, PartKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.text_engine import TextEngine

_CLEAR_WEIGHT = 0.5
_HAS_A_SAY = 0.2
_LEAST_P = 0.2
_VOTES_KEPT, _LEAST_VOTE, _NEVER_FIRST = 8, 0.01, 0.1
_CLEAR_SCORE = 0.85
_SURE_TEXT = 0.8
_SUFFIX_REACH = 2.5
_BESIDE_GLARE = 0.85
_LEAST_MARK_P = 0.65
_UNKNOWN_TO_PARTS = 0.6
_WAY_WEIGHT = 2.0
_LEAST_RADIUS_PX = 40.0
_FINE_FROM_PX = 620.0
_SEEN_SURELY, _SMALL_PRINT = 0.6, 0.045
"""Capitals are usually 5 to 8 % of the outer radius high."""


@dataclass(frozen=True, slots=True)
class MarksSeen:
    """What is written on one part, as far as it can be read."""

    marks: tuple[Mark, ...]
    designation: DesignationRead | None
    words: tuple[str, ...]
    """Marks that are words of letters only: makers, materials, countries."""
    legible: bool
    """Whether any text was read well enough to be used."""
    capitals_px: float | None
    """Height of the capitals in the photo; under about 14 px nobody reads them."""
    votes: tuple[MarkVote, ...] = ()
    """What the designation may be, the likeliest first, for counting together with other photos of the same face."""
    evenness: tuple[MarkEvenness, ...] = ()
    """How evenly each surely read text is made."""
    burnt: float = 0.0
    """Largest share of a text, with the room for a suffix beside it, that is burnt out."""


_NOTHING = MarksSeen((), None, (), legible=False, capitals_px=None)


@dataclass(frozen=True, slots=True)
class _Candidate:
    text: str
    weight: float
    agreeing: float
    """Share of the readings that put it first."""
    clarity: float
    """Texture read as text reads unsurely, letter by letter: 0-1."""
    read: RunRead


def read_marks(
    gray: NDArray[np.uint8], outer: Ellipse, bore: Ellipse | None, *, kind: PartKind, engine: TextEngine
) -> MarksSeen:
    """Read all text around a part.

    Parameters
    ----------
    gray
        (H, W) uint8, the photo at full resolution.
    outer, bore
        The part's outer and bore ellipse in pixels of the photo.
    kind
        Decides what a designation is: a bearing's number, or a seal's size.
    engine
        From ``text_engine()``.

    Returns
    -------
    MarksSeen
        Marks as they stand on the part. A designation contradicting the part's size is not corrected.
    """
    if outer.b < _LEAST_RADIUS_PX:
        return _NOTHING
    strip = straighten_face(gray, outer, bore)
    places = find_texts(strip.shade)
    coarse = _read_strip(gray, strip, find_runs(strip, seen=places), kind, engine)
    if coarse.designation is not None or outer.a < _FINE_FROM_PX or _is_usual_print(strip, places):
        return coarse
    strip = straighten_face(gray, outer, bore, radius_rows=FINE_RADIUS_ROWS)
    places = find_texts(strip.shade)
    if finder_is_there() and not places:
        return coarse
    fine = _read_strip(gray, strip, find_runs(strip, seen=places), kind, engine)
    better = fine if fine.designation is not None or len(fine.marks) > len(coarse.marks) else coarse
    surest = max((coarse.votes, fine.votes), key=lambda found: found[0].p if found else 0.0)
    return better if better.designation is not None else replace(better, votes=surest)


def _is_usual_print(strip: FaceStrip, places: Sequence[TextPlace]) -> bool:
    """Whether text was seen and none of it is small: a finer strip then shows nothing new, only slower."""
    sure = [place.capitals / strip.radius_rows for place in places if place.p > _SEEN_SURELY]
    return bool(sure) and min(sure) > _SMALL_PRINT


def _read_strip(
    gray: NDArray[np.uint8], strip: FaceStrip, runs: Sequence[TextRun], kind: PartKind, engine: TextEngine
) -> MarksSeen:
    reads = read_runs(gray, strip, runs, engine)
    if not reads:
        return _NOTHING
    ways = _way_weights(reads)
    vocabulary = bearing_vocabulary() if kind == "bearing" else seal_vocabulary()
    candidates = _candidates(gray, strip, reads, ways, vocabulary, engine)
    designation, chosen = _designation(candidates)
    seen = _report(strip, reads, ways, designation, chosen, kind)
    evenness = _evenness(gray, strip, reads, ways, designation, chosen)
    return replace(seen, votes=_votes(strip, candidates, kind), evenness=evenness)


def _way_weights(reads: Sequence[RunRead]) -> dict[Way, float]:
    """How probable each way round is. All text on one face stands the same way; upside down it reads less surely."""
    lean = 0.0
    for read in reads:
        (out_text, out_p), (in_text, in_p) = read.texts["outward"], read.texts["inward"]
        letters = max(len(out_text), len(in_text))
        lean += _WAY_WEIGHT * letters * (out_p**2 - in_p**2) * max(out_p, in_p) ** 4
    outward = 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, lean))))
    return {"outward": outward, "inward": 1.0 - outward}


def _candidates(
    gray: NDArray[np.uint8],
    strip: FaceStrip,
    reads: Sequence[RunRead],
    ways: dict[Way, float],
    vocabulary: Vocabulary,
    engine: TextEngine,
) -> dict[str, _Candidate]:
    """Designations that the runs may spell, by their key, each from the run that speaks most for it."""
    candidates: dict[str, _Candidate] = {}
    for read, way, first in _worth_a_closer_look(reads, ways, vocabulary):
        ballots = _poll(gray, strip, read.run, way, first, vocabulary, engine)
        for key, vote in average(ballots).items():
            weight = ways[way] * vote.weight
            if key not in candidates or weight > candidates[key].weight:
                agreeing = sum(_wins(b, key) for b in ballots) / len(ballots)
                clarity = min(1.0, read.texts[way][1] / _CLEAR_SCORE) ** 2 * _ends_in_sight(strip, read.run)
                candidates[key] = _Candidate(vote.text, weight, agreeing, clarity, read)
    return candidates


def _designation(candidates: dict[str, _Candidate]) -> tuple[DesignationRead | None, RunRead | None]:
    if not candidates:
        return None, None
    best = max(candidates.values(), key=lambda candidate: candidate.weight)
    p = _share(best, candidates) * best.clarity * best.agreeing**0.5
    p *= 1.0 if _stands(best.text) else _UNKNOWN_TO_PARTS
    # The sign between the numbers of a size is written as the trade types it.
    return (DesignationRead(_typed(best.text), p), best.read) if p > _LEAST_P and best.agreeing > 0.3 else (None, None)


def _share(one: _Candidate, candidates: dict[str, _Candidate]) -> float:
    return one.weight / (sum(candidate.weight for candidate in candidates.values()) + NO_DESIGNATION)


def _typed(text: str) -> str:
    return text.replace("×", "x")


def _votes(strip: FaceStrip, candidates: dict[str, _Candidate], kind: PartKind) -> tuple[MarkVote, ...]:
    """The likeliest candidates with their probability by this photo alone.

    Those that no single reading puts first still have their share: another photo may speak for the same.
    """
    likely = sorted(candidates.values(), key=lambda candidate: -candidate.weight)[:_VOTES_KEPT]
    ps = [
        _share(c, candidates)
        * c.clarity
        * max(c.agreeing, _NEVER_FIRST) ** 0.5
        * (1.0 if _stands(c.text) else _UNKNOWN_TO_PARTS)
        for c in likely
    ]
    cast = [MarkVote(_typed(c.text), _place(strip, c.read.run, kind), p) for c, p in zip(likely, ps, strict=True)]
    return tuple(sorted((vote for vote in cast if vote.p >= _LEAST_VOTE), key=lambda vote: -vote.p))


def _worth_a_closer_look(
    reads: Sequence[RunRead], ways: dict[Way, float], vocabulary: Vocabulary
) -> list[tuple[RunRead, Way, list[dict[str, Vote]]]]:
    """Runs (and which way round) that may hold the designation; two at most."""
    scored = []
    for read in reads:
        for way in WAYS:
            ballots = [votes(lattice, vocabulary) for lattice in read.lattices[way] if ways[way] > 0.01]
            weight = ways[way] * max((vote.weight for vote in average(ballots).values()), default=0.0)
            if weight > NO_DESIGNATION / 20:
                scored.append((weight, read, way, ballots))
    scored.sort(key=lambda entry: -entry[0])
    return [(read, way, ballots) for weight, read, way, ballots in scored[:2] if weight > 0.05 * scored[0][0]]


def _poll(
    gray: NDArray[np.uint8],
    strip: FaceStrip,
    run: TextRun,
    way: Way,
    first: list[dict[str, Vote]],
    vocabulary: Vocabulary,
    engine: TextEngine,
) -> list[dict[str, Vote]]:
    """Read one run again in other cuts; few if they agree at once. A reader that makes nothing of it has no say."""
    readers = [[ballot] for ballot in first]
    for round_number in range(MORE_ROUNDS):
        again = read_again(gray, strip, run, way, engine, round_number)
        for ballots, lattices in zip(readers, again, strict=True):
            ballots += [votes(lattice, vocabulary) for lattice in lattices]
        heard = _heard(readers)
        favourite = max(average(heard).items(), key=lambda item: item[1].weight, default=("", Vote("", 0.0)))
        if favourite[1].weight > _CLEAR_WEIGHT and all(_wins(ballot, favourite[0]) for ballot in heard):
            break
    return _heard(readers)


def _heard(readers: Sequence[list[dict[str, Vote]]]) -> list[dict[str, Vote]]:
    """All ballots of the readers that make something of a run, beside the one that makes most of it."""
    best = [max((vote.weight for vote in average(ballots).values()), default=0.0) for ballots in readers]
    return [
        ballot
        for ballots, most in zip(readers, best, strict=True)
        if most >= _HAS_A_SAY * max(best)
        for ballot in ballots
    ]


def _ends_in_sight(strip: FaceStrip, run: TextRun) -> float:
    """Factor on the probability: a suffix may be hidden where the face beside the text is burnt out."""
    reach = _SUFFIX_REACH * run.height
    sides = ((run.x0 - reach, run.x0), (run.x1, run.x1 + reach))
    hidden = max(strip.burnt_share(x0, x1, run.y0, run.y1) for x0, x1 in sides)
    return _BESIDE_GLARE if hidden > 0.5 else 1.0


def _stands(text: str) -> bool:
    """Whether the vocabulary of parts holds what was read as it stands, not only something near it."""
    return any(key_of(ranked.designation) == key_of(text) for ranked in rank_readings(text))


def _wins(ballot: dict[str, Vote], key: str) -> bool:
    return key in ballot and ballot[key].weight >= max(vote.weight for vote in ballot.values())


def _report(
    strip: FaceStrip,
    reads: Sequence[RunRead],
    ways: dict[Way, float],
    designation: DesignationRead | None,
    chosen: RunRead | None,
    kind: PartKind,
) -> MarksSeen:
    way = max(WAYS, key=lambda w: ways[w])
    marks = []
    for read in reads:
        text, score = read.texts[way]
        p = score**2 * ways[way]
        if read is chosen and designation is not None:
            text, p = designation.text, designation.p
        elif len(key_of(text)) < 3 or p < _LEAST_MARK_P:
            continue
        marks.append(Mark(text.strip(), _place(strip, read.run, kind), p, _outline(strip, read.run)))
    words = tuple(mark.text for mark in marks if mark.text.isalpha() and len(mark.text) > 2)
    texts = [read.run for read in reads if read.texts[way][1] > 0.75]
    heights = [CAPITALS_OF_RUN * run.height * strip.photo_px_per_row for run in texts]
    return MarksSeen(
        marks=tuple(marks),
        designation=designation,
        words=words,
        legible=bool(marks),
        capitals_px=float(np.median(heights)) if heights else None,
        burnt=max((_burnt(strip, run) for run in texts), default=0.0),
    )


def _burnt(strip: FaceStrip, run: TextRun) -> float:
    """Share of a run that is burnt out, with the room that a suffix takes on either side."""
    reach = run.height
    return strip.burnt_share(run.x0 - reach, run.x1 + reach, run.y0, run.y1)


def _evenness(
    gray: NDArray[np.uint8],
    strip: FaceStrip,
    reads: Sequence[RunRead],
    ways: dict[Way, float],
    designation: DesignationRead | None,
    chosen: RunRead | None,
) -> tuple[MarkEvenness, ...]:
    """Judge the texts that are read surely: whether a letter is odd can be told only where each is known."""
    way = max(WAYS, key=lambda w: ways[w])
    judged = []
    for read in reads:
        text, score = read.texts[way]
        if read is chosen and designation is not None and key_of(designation.text) == key_of(text):
            score = max(score, designation.p)
        if score >= _SURE_TEXT and ways[way] > _SURE_TEXT:
            judged.append(judge_evenness(gray, strip, read.run, text.strip(), outward=way == "outward"))
    return tuple(each for each in judged if each is not None)


def _place(strip: FaceStrip, run: TextRun, kind: PartKind) -> MarkPlace:
    if kind == "shaft_seal":
        return "body"
    radius = strip.relative_radius((run.y0 + run.y1) / 2)
    return "closure" if 0.55 < radius < 0.84 else "ring"


def _outline(strip: FaceStrip, run: TextRun) -> tuple[tuple[float, float], ...]:
    pad = 0.3 * run.height
    return strip.photo_region(run.x0 - pad, run.y0 - pad, run.x1 + pad, run.y1 + pad)
