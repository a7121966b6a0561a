"""Colour of printed areas: CIEDE2000 between photo and reference after both are balanced on the same board.

Each picture is divided by its own light: a smooth surface fitted in linear light to all plain areas at once, each with
a level of its own, so that colour and gradient of the light drop out of both. What is balanced on is white board, or
where there is none the plain coloured board: then colours are told beside it, and its own is not. Tone curves of
cameras differ, and stray light pales what is dark: of the plausible curves the one that makes all areas together most
alike is taken. On a dark panel without white nothing is judged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.reference.elements import Rect

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

Area = tuple[Rect, "NDArray[np.bool_]"]
"""Place and mask of a plain area."""
LEAST_DELTA_E = 4.6
"""Differences below are within what another camera makes of the same print (drawn cameras; judgement)."""
PAPER_REFLECTANCE = 0.86
"""White board; only ratios to it are compared."""
_LEAST_PAPER = 0.012
_LEAST_BOARD, _BOARD_LIGHTNESS = 0.15, 45.0
"""Share of the panel and lightness (L*) of a plain coloured board that colours can be balanced on."""
_PAPER_CHROMA = 16.0
_PAPER_LIGHTNESS = 62.0
_LEAST_AREA = 0.0005
_BLOWN, _DARK = 250, 6
_LIGHT_AREAS = 10
_LEAST_LIT = 0.04
_EXPONENTS = (0.93, 0.965, 1.0, 1.035, 1.07)
_ONE_COLOUR = 4.0
_UNEVEN_STRAY = 0.01
_BLACK, _ON_BLACK = 0.04, 0.022
_STEPS = (0.0, -0.25, 0.25, -0.5, 0.5, -0.75, 0.75, -1.0, 1.0)
"""Stray light is not the same all over a picture (judgement): it decides how dark dark ink looks, and little else."""
_STRAY = (0.0, 0.008, 0.016, 0.024, 0.034, 0.046)


@dataclass(frozen=True, slots=True)
class ColourVerdict:
    """One printed area in both pictures."""

    place: Rect
    delta_e: float
    reference_lab: tuple[float, float, float]
    photo_lab: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Colours:
    """All areas compared, or why none was."""

    areas: tuple[ColourVerdict, ...] = ()
    problem: str = ""
    beside_board: bool = False
    """Balanced on coloured board: areas are told beside it, the board itself is not judged."""


def delta_e_2000(one: NDArray[np.float64], two: NDArray[np.float64]) -> NDArray[np.float64]:
    """CIEDE2000 colour difference (CIE 142-2001, ISO/CIE 11664-6), kL = kC = kH = 1, of Lab arrays (..., 3)."""
    from skimage.color import deltaE_ciede2000

    return np.asarray(deltaE_ciede2000(one, two), np.float64)  # type: ignore[no-untyped-call]


def compare_colours(
    reference: NDArray[np.uint8], photo: NDArray[np.uint8], judged: NDArray[np.bool_], blur_px: float
) -> Colours:
    """Compare the solid printed areas of a frame with the photo laid on it.

    Parameters
    ----------
    reference, photo
        (H, W, 3) uint8.
    judged
        (H, W): where the two can be compared.
    blur_px
        Blur of the photo in frame px: areas are taken this much inside their outlines.
    """
    areas, paper = solid_areas(reference, judged, margin=2 + round(1.5 * blur_px))
    base, white = paper, True
    if paper.mean() < _LEAST_PAPER:
        board = _board(reference, areas)
        if board is None:
            return Colours(problem="there is no white board in the panel to balance the colours on.")
        base, areas, white = board, [a for a in areas if a[1] is not board], False
    if float((photo[base].max(axis=1) >= _BLOWN).mean()) > 0.3:
        return Colours(problem="the white board is burnt out in the photo: colours cannot be balanced.")
    if float(np.median(photo[base])) < 50:
        return Colours(problem="the photo is too dark to judge colours.")
    one, two = (_Balanced.on(base, areas, rgb) for rgb in (reference, photo))
    level = np.full(3, PAPER_REFLECTANCE) if white else np.median(linear_light(reference)[base], axis=0)
    was, seen = one.by_base * level, two.by_base * level
    samples = [s for place, mask in areas if (s := _sample(place, mask, was, seen, photo)) is not None]
    if not samples:
        return Colours(beside_board=not white)
    curve = _curve(samples, _black_ink(was, seen, reference, judged, blur_px))
    return Colours(tuple(_verdict(s, curve) for s in samples), beside_board=not white)


def _board(reference: NDArray[np.uint8], areas: Sequence[Area]) -> NDArray[np.bool_] | None:
    """The plain board of a panel without white: its largest area, if it is large and light enough."""
    if not areas:
        return None
    _, largest = max(areas, key=lambda a: int(a[1].sum()))
    colour = np.median(reference[largest], axis=0).astype(np.float32) / 255
    lightness = float(cv2.cvtColor(colour[None, None], cv2.COLOR_RGB2LAB)[0, 0, 0])
    return largest if largest.mean() >= _LEAST_BOARD and lightness >= _BOARD_LIGHTNESS else None


def linear_light(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Linear light of sRGB (IEC 61966-2-1), 0 to 1."""
    level = np.arange(256) / 255
    table = np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4).astype(np.float32)
    return np.asarray(table[rgb], np.float32)


def solid_areas(
    frame: NDArray[np.uint8], judged: NDArray[np.bool_], margin: int
) -> tuple[list[Area], NDArray[np.bool_]]:
    """Solid areas of the reference: place and mask of each that is not paper; and the paper's mask."""
    lab = cv2.cvtColor(cv2.GaussianBlur(frame, (0, 0), 1.0).astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    edge = sum(np.hypot(cv2.Sobel(c, cv2.CV_32F, 1, 0), cv2.Sobel(c, cv2.CV_32F, 0, 1)) for c in cv2.split(lab))
    solid = ((np.asarray(edge) < 16) & judged).astype(np.uint8)
    solid[:] = cv2.erode(solid, np.ones((2 * margin + 1, 2 * margin + 1), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    paper, areas = np.zeros(judged.shape, np.bool_), []
    for number in range(1, count):
        left, top, width, height, area = (int(v) for v in stats[number])
        if area < _LEAST_AREA * solid.size and min(width, height) < 0.012 * max(solid.shape):
            continue
        mask = labels == number
        lightness, a, b = np.median(lab[mask], axis=0)
        if lightness > _PAPER_LIGHTNESS and np.hypot(a, b) < _PAPER_CHROMA:
            paper |= mask
        elif area >= 60:
            grown = Rect(left, top, left + width, top + height).grown(margin, (frame.shape[1], frame.shape[0]))
            areas.append((grown, mask))
    return areas, paper


@dataclass(frozen=True, eq=False)
class _Balanced:
    """A picture divided by its light: linear levels by those of the base, (H, W, 3)."""

    by_base: NDArray[np.float32]

    @classmethod
    def on(cls, base: NDArray[np.bool_], areas: Sequence[Area], rgb: NDArray[np.uint8]) -> _Balanced:
        """Fit the light of each channel to the base and the largest areas, a level for each and one surface for all."""
        linear = linear_light(rgb)
        largest = sorted((mask for _, mask in areas), key=lambda m: -int(m.sum()))[:_LIGHT_AREAS]
        places = [_some_of(mask, most) for mask, most in [(base, 6000), *((m, 1500) for m in largest)]]
        grid = np.mgrid[0 : base.shape[0] : 8, 0 : base.shape[1] : 8]
        out = np.empty_like(linear)
        for channel in range(3):
            surface, level = _light(linear[..., channel], places)
            coarse = (_terms(grid[1].ravel(), grid[0].ravel(), *base.shape[::-1]) @ surface).reshape(grid[0].shape)
            full = cv2.resize(np.exp(coarse + level).astype(np.float32), base.shape[::-1])
            out[..., channel] = linear[..., channel] / full
        return cls(out)


def _some_of(mask: NDArray[np.bool_], most: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    y, x = np.nonzero(mask)
    pick = np.random.default_rng(0).choice(len(y), min(most, len(y)), replace=False)
    return y[pick], x[pick]


def _light(
    channel: NDArray[np.float32], places: Sequence[tuple[NDArray[np.intp], NDArray[np.intp]]]
) -> tuple[NDArray[np.float64], float]:
    """The surface of the light (logarithms; coefficients of `_terms`) and the level of the first place, the base.

    Dark areas are left out: stray light flattens the gradient on them.
    """
    lit = [(y, x) for n, (y, x) in enumerate(places) if n == 0 or float(np.median(channel[y, x])) > _LEAST_LIT]
    own = np.concatenate([np.full(len(y), n) for n, (y, _) in enumerate(lit)])
    y, x = (np.concatenate(axis) for axis in zip(*lit, strict=True))
    height, width = channel.shape
    terms = np.hstack([_terms(x, y, width, height), np.eye(len(lit))[own]])
    target = np.log(np.maximum(channel[y, x], 1e-3))
    ridge = 1e-4 * len(target) * np.diag([0.02, 0.02, 1, 1, 1, *[0] * len(lit)])
    weight = np.ones(len(target))
    for _ in range(6):
        found = np.linalg.solve(terms.T @ (terms * weight[:, None]) + ridge, terms.T @ (target * weight))
        left = np.abs(target - terms @ found)
        weight = 1 / (1 + (left / max(0.01, 2.5 * float(np.median(left)))) ** 2)
    return found[:5], float(found[5])


def _terms(x: NDArray[np.intp], y: NDArray[np.intp], width: int, height: int) -> NDArray[np.float64]:
    u, v = x / width - 0.5, y / height - 0.5
    return np.column_stack([u, v, u * u, u * v, v * v])


@dataclass(frozen=True, slots=True)
class _Sample:
    """Median reflectance by that of the paper of one area, in both pictures."""

    place: Rect
    was: NDArray[np.float64]
    seen: NDArray[np.float64]


def _sample(
    place: Rect, mask: NDArray[np.bool_], one: NDArray[np.float32], two: NDArray[np.float32], photo: NDArray[np.uint8]
) -> _Sample | None:
    raw = np.median(photo[mask], axis=0)
    if raw.max() < _DARK or raw.min() >= _BLOWN:
        return None
    was, seen = (np.median(r[mask], axis=0).astype(np.float64) for r in (one, two))
    return _Sample(place, was / PAPER_REFLECTANCE, seen / PAPER_REFLECTANCE)


def _black_ink(
    one: NDArray[np.float32],
    two: NDArray[np.float32],
    reference: NDArray[np.uint8],
    judged: NDArray[np.bool_],
    blur_px: float,
) -> _Sample | None:
    """The inside of black strokes thick enough not to be brightened by the blur."""
    dark = ((reference.max(axis=2) < 75) & judged).astype(np.uint8)
    inside = cv2.distanceTransform(dark, cv2.DIST_L2, 5) > 1.8 + 1.2 * blur_px
    if inside.sum() < 40:
        return None
    was, seen = (np.median(r[inside], axis=0).astype(np.float64) for r in (one, two))
    return _Sample(Rect(0, 0, 1, 1), was / PAPER_REFLECTANCE, seen / PAPER_REFLECTANCE)


def _curve(samples: list[_Sample], ink: _Sample | None) -> tuple[float, float]:
    """Exponent and stray light of the photo's camera that make all areas together most alike (least sum of sizes).

    One curve serves the whole photo: an area of another colour is outvoted by the others, and no curve turns one hue
    into another.
    """
    all_samples = [*samples, ink] if ink is not None else samples
    weights = _weights(all_samples)
    best, least = (1.0, 0.0), np.inf
    for exponent in _EXPONENTS:
        for stray in _STRAY:
            # What is unusual has to earn it.
            doubt = 0.4 * sum(weights) * (abs(exponent - 1) / 0.07 + stray / 0.03) / 2
            apart = (_apart(s, exponent, stray)[0] for s in all_samples)
            total = sum(w * d for w, d in zip(weights, apart, strict=True)) + doubt
            if total < least:
                best, least = (exponent, stray), total
    return best


def _weights(samples: list[_Sample]) -> list[float]:
    """Votes: many counters of letters on one board are one colour, and surer than one area, but by their root only."""
    colours = np.array([_lab(s.was * PAPER_REFLECTANCE) for s in samples])
    alike = delta_e_2000(colours[:, None], colours[None, :]) < _ONE_COLOUR
    return [float(n) ** -0.5 for n in alike.sum(axis=1)]


def _verdict(sample: _Sample, curve: tuple[float, float]) -> ColourVerdict:
    exponent, stray = curve
    if float(sample.was.max()) < _BLACK:
        sample = _black_allowed(sample, exponent, stray)
    tried = [_apart(sample, exponent, max(0.0, stray + share * _UNEVEN_STRAY)) for share in _STEPS]
    return ColourVerdict(sample.place, *min(tried, key=lambda t: t[0]))


def _black_allowed(sample: _Sample, exponent: float, stray: float) -> _Sample:
    """Black ink as far from the reference's as coloured stray light cannot explain, channel by channel."""
    meant = sample.was ** (1 / exponent) * (1 - stray) + stray
    return _Sample(sample.place, sample.was, np.clip(meant, sample.seen - _ON_BLACK, sample.seen + _ON_BLACK))


def _apart(
    sample: _Sample, exponent: float, stray: float
) -> tuple[float, tuple[float, float, float], tuple[float, float, float]]:
    level = np.maximum((sample.seen - stray) / (1 - stray), 1e-5) ** exponent
    was, now = _lab(sample.was * PAPER_REFLECTANCE), _lab(level * PAPER_REFLECTANCE)
    return float(delta_e_2000(np.array(was), np.array(now))), was, now


def _lab(linear: NDArray[np.floating]) -> tuple[float, float, float]:
    """CIELAB (D65) of linear sRGB."""
    from skimage.color import rgb2lab

    clipped = np.clip(np.asarray(linear, np.float64), 0, 1)
    coded = np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)
    lightness, a, b = rgb2lab(coded[None, None])[0, 0]
    return float(lightness), float(a), float(b)
