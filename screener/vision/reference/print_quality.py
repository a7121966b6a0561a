"""Print sharpness and dots: is the print itself blurred or built of dots, where the reference's is not.

A blurred photo is no blurred print. The photo's own sharpness is taken from the panel's outline against the bench:
only print that is plainly blurrier than that is called so. Dots are looked for in solid areas, against the texture of
the paper in the same photo and of the same area in the reference.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.reference.elements import Rect

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.reference.light import Matched
    from screener.vision.reference.panel import Frame
    from screener.vision.reference.registering import Registration

LEAST_EXTRA = 0.0014
"""Blur of the print beyond the photo's own, of the panel's longest side (0.14 mm on 100 mm)."""
LEAST_DOTS = 2.6
"""Texture of a solid area by the larger of the paper's and the reference's."""
LEAST_PX_PER_DOT = 4.0
_MARGIN = 0.035
_LEAST_SOLID = 0.001
_MEDIAN_OF_SQUARES = 0.455
"""Of squared noise of unit spread (chi-square with one degree of freedom)."""
_HALF = 14


@dataclass(frozen=True, slots=True)
class PrintVerdict:
    """What is poor about the print, or why it cannot be told."""

    extra_blur_px: float | None
    """Blur of the print that is not the photo's, frame px; None if it cannot be told."""
    says_not_judged: str = ""
    own_blur_px: float = 0.0
    """Blur of the photo itself, frame px, by the panel's outline; where that does not show, by the print."""
    dots: float = 0.0
    """Texture of solid areas by what is usual."""
    dotted: tuple[Rect, ...] = ()


def judge_print(
    frame: Frame,
    reference: NDArray[np.uint8],
    photo: NDArray[np.uint8],
    laid: Registration,
    flat: NDArray[np.uint8],
    matched: Matched,
) -> PrintVerdict:
    """Judge the print of a photo laid on a frame.

    Parameters
    ----------
    frame
        The reference's frame.
    reference, photo
        The two photos as they were taken, (H, W, 3) uint8.
    laid
        Where the frame lies in the photo.
    flat
        The photo brought to the frame.
    matched
        Both in one light; its blur is that of print and photo together.
    """
    dots, dotted = _dots(frame.rgb, flat, matched)
    outline_ref = _outline_blur(
        reference, lambda p: cv2.perspectiveTransform(p[None], frame.reference_from_frame)[0], frame.size_px
    )
    outline_new = _outline_blur(photo, laid.photo_points, frame.size_px)
    if outline_ref is None or outline_new is None:
        says = "the panel's outline does not show how sharp the photo itself is."
        return PrintVerdict(None, says, matched.reference_blur_px, dots, dotted)
    own = outline_new**2 - outline_ref**2
    relative = matched.reference_blur_px**2 - matched.photo_blur_px**2
    extra = relative - own
    if outline_new > 0.004 * max(frame.size_px):
        says = "the photo is not sharp enough to judge how sharp the print is."
        return PrintVerdict(None, says, outline_new, dots, dotted)
    return PrintVerdict(float(np.sqrt(max(extra, 0.0))), "", outline_new, dots, dotted)


def _outline_blur(photo: NDArray[np.uint8], to_photo, size_px: tuple[int, int]) -> float | None:  # type: ignore[no-untyped-def]
    """Blur of the panel's outline, frame px, as the standard deviation of a Gaussian: the median of clear places."""
    found: list[float] = []
    width, height = size_px
    gray = cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY)
    across = np.arange(-_HALF, _HALF + 0.01, 0.5)
    for side in range(4):
        values = []
        along = np.linspace(0.06, 0.94, 60) * (width if side in {0, 2} else height)
        lines = np.stack([_across(side, a, across, width, height) for a in along])
        spots = to_photo(lines.reshape(-1, 2).astype(np.float64)).reshape(*lines.shape).astype(np.float32)
        if (
            (spots < 1).any()
            or (spots[..., 0] > photo.shape[1] - 2).any()
            or (spots[..., 1] > photo.shape[0] - 2).any()
        ):
            continue
        profiles = cv2.remap(gray, spots[..., 0], spots[..., 1], cv2.INTER_LINEAR).astype(np.float32)
        for profile in profiles:
            blur = _edge_blur(profile)
            if blur is not None:
                values.append(blur * 0.5)
        if len(values) >= 15:
            found.append(float(np.percentile(values, 35)))
    # Motion spares the edges along it: the blurrier sides are those that say how blurred the print may be.
    return float(np.max(found)) if len(found) >= 2 else None


def _across(side: int, at: float, across: NDArray[np.float64], width: int, height: int) -> NDArray[np.float64]:
    fixed = np.full_like(across, at)
    if side == 0:
        return np.column_stack([fixed, across])
    if side == 1:
        return np.column_stack([width - 1 + across, fixed])
    if side == 2:
        return np.column_stack([fixed, height - 1 + across])
    return np.column_stack([across, fixed])


def _edge_blur(profile: NDArray[np.float32]) -> float | None:
    """Blur of one step (samples), from its steepest slope under two smoothings; None without a clear single step."""
    fine, coarse = 2.0, 4.0
    one = np.abs(np.gradient(cv2.GaussianBlur(profile[None], (0, 0), fine)[0]))
    two = np.abs(np.gradient(cv2.GaussianBlur(profile[None], (0, 0), coarse)[0]))
    peak = int(one.argmax())
    if one[peak] < 3.0 or not 8 <= peak < len(profile) - 8:
        return None
    ratio = float(np.clip(one[peak] / max(float(two[max(0, peak - 3) : peak + 4].max()), 1e-3), 1.01, coarse / fine))
    return float(np.sqrt(max((coarse**2 - ratio**2 * fine**2) / (ratio**2 - 1), 0.0)))


def _dots(reference: NDArray[np.uint8], flat: NDArray[np.uint8], matched: Matched) -> tuple[float, tuple[Rect, ...]]:
    """Largest texture ratio of a solid area, and the areas that are dotted."""
    from screener.vision.reference.colour import solid_areas

    areas, paper = solid_areas(reference, matched.judged, margin=5)
    if paper.sum() < 400:
        return 0.0, ()
    one, two = _texture(reference), _texture(flat)
    usual = _usual(two[paper])
    worst, places = 0.0, []
    for place, mask in areas:
        if mask.sum() < max(400, _LEAST_SOLID * mask.size):
            continue
        new, was = _usual(two[mask]), _usual(one[mask])
        ratio = new / max(usual, was, 1.2)
        worst = max(worst, ratio)
        if ratio >= LEAST_DOTS:
            places.append(place)
    return worst, tuple(places)


def _usual(squares: NDArray[np.float32]) -> float:
    """Typical texture of a place: dots are all over it, a letter that is printed otherwise only in a part."""
    return float(np.sqrt(np.median(squares) / _MEDIAN_OF_SQUARES))


def _texture(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Squared grey of a band of fine structure (about 3 to 12 px)."""
    gray = rgb.max(axis=2).astype(np.float32) * 0.5 + rgb.mean(axis=2).astype(np.float32) * 0.5
    band = cv2.GaussianBlur(gray, (0, 0), 0.8) - cv2.GaussianBlur(gray, (0, 0), 4.0)
    return np.asarray(band * band, np.float32)
