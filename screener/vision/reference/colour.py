"""Colour of printed areas: CIEDE2000 between photo and reference after both are balanced on white board or the card.

Each picture is divided by its own light: a smooth surface fitted to its white board in linear light, so that colour and
gradient of the light drop out of both. Tone curves of cameras differ, and stray light pales what is dark: of the
plausible curves the one that makes all areas together most alike is taken. Without white board nothing is judged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.reference.elements import Rect

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAST_DELTA_E = 4.6
"""Differences below are within what another camera makes of the same print (drawn cameras; judgement)."""
PAPER_REFLECTANCE = 0.86
"""White board; only ratios to it are compared."""
_LEAST_PAPER = 0.06
_PAPER_CHROMA = 16.0
_PAPER_LIGHTNESS = 62.0
_LEAST_AREA = 0.0016
_BLOWN, _DARK = 250, 6
_EXPONENTS = (0.93, 0.965, 1.0, 1.035, 1.07)
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
    areas, paper = solid_areas(reference, judged, margin=3 + round(2 * blur_px))
    if paper.mean() < _LEAST_PAPER:
        return Colours(problem="there is no white board in the panel to balance the colours on.")
    if float((photo[paper].max(axis=1) >= _BLOWN).mean()) > 0.3:
        return Colours(problem="the white board is burnt out in the photo: colours cannot be balanced.")
    if float(np.median(photo[paper])) < 50:
        return Colours(problem="the photo is too dark to judge colours.")
    one, two = _reflectance(reference, paper), _reflectance(photo, paper)
    samples = [s for place, mask in areas if (s := _sample(place, mask, one, two, photo)) is not None]
    if not samples:
        return Colours()
    curve = _curve(samples, _black_ink(one, two, reference, judged, blur_px))
    return Colours(tuple(_verdict(s, curve) for s in samples))


def _linear(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Linear light of sRGB (IEC 61966-2-1), 0 to 1."""
    level = np.arange(256) / 255
    table = np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4).astype(np.float32)
    return np.asarray(table[rgb], np.float32)


def solid_areas(
    frame: NDArray[np.uint8], judged: NDArray[np.bool_], margin: int
) -> tuple[list[tuple[Rect, NDArray[np.bool_]]], NDArray[np.bool_]]:
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


def _reflectance(rgb: NDArray[np.uint8], paper: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Reflectance by that of the paper: the light fitted to the paper as a quadratic in logarithms is divided out."""
    linear = _linear(rgb)
    height, width = paper.shape
    y, x = np.nonzero(paper)
    pick = np.random.default_rng(0).choice(len(y), min(6000, len(y)), replace=False)
    y, x = y[pick], x[pick]
    terms = _terms(x, y, width, height)
    grid_y, grid_x = np.mgrid[0:height:8, 0:width:8]
    out = np.empty_like(linear)
    for channel in range(3):
        target = np.log(np.maximum(linear[y, x, channel], 1e-3))
        weight = np.ones(len(target))
        for _ in range(6):
            normal = terms.T @ (terms * weight[:, None]) + 1e-4 * len(target) * np.diag([0, 0, 0, 1, 1, 1])
            found = np.linalg.solve(normal, terms.T @ (target * weight))
            left = np.abs(target - terms @ found)
            weight = 1 / (1 + (left / max(0.01, 2.5 * float(np.median(left)))) ** 2)
        light = (_terms(grid_x.ravel(), grid_y.ravel(), width, height) @ found).reshape(grid_x.shape)
        full = cv2.resize(np.exp(light).astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
        out[..., channel] = PAPER_REFLECTANCE * linear[..., channel] / full
    return out


def _terms(x: NDArray[np.intp], y: NDArray[np.intp], width: int, height: int) -> NDArray[np.float64]:
    u, v = x / width - 0.5, y / height - 0.5
    return np.column_stack([np.ones(len(u)), u, v, u * u, u * v, v * v])


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
    best, least = (1.0, 0.0), np.inf
    for exponent in _EXPONENTS:
        for stray in _STRAY:
            # What is unusual has to earn it.
            doubt = 0.4 * len(all_samples) * (abs(exponent - 1) / 0.07 + stray / 0.03) / 2
            total = sum(_apart(s, exponent, stray)[0] for s in all_samples) + doubt
            if total < least:
                best, least = (exponent, stray), total
    return best


def _verdict(sample: _Sample, curve: tuple[float, float]) -> ColourVerdict:
    apart, was, now = _apart(sample, *curve)
    return ColourVerdict(sample.place, apart, was, now)


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
