"""Say at once what spoils a photo and what to do about it, before anybody trusts what was read from it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.model import Problem
from screener.vision.unwrap import ring_points

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Ellipse, PartSeen
    from screener.vision.photo import Photo

TEXT_SHARE = 0.08
"""Height of the capitals on a bearing by its outside radius: 0.04 to 0.1 (0.7 mm on 22 mm parts, 1.5 mm on 52 mm)."""

READABLE_PX = 14.0
"""Capitals lower than this are read by nobody."""

BLUR_SHARE = 0.1
"""Blur (standard deviation) by height of the capitals: strokes are a seventh of the height and run into each other."""

SHARP_PX = 1.6
"""Every camera blurs about one pixel; less than this is never called blurred."""

DARK_LEVEL, DARK_TOP = 38.0, 90.0
"""Median and brightest twentieth of the part and the bench beside it, of 255 (black rubber alone is no dark photo)."""

BLOWN_LEVEL = 251
"""All three colours at or above this hold no detail."""

BLOWN_SHARE = 0.3
"""Share of the face without detail from which a mark is likely to be lost in it."""

LEAST_OF_USUAL = 0.45
"""What is lower than this share of the usual height of capitals is scratches or grain, no letters."""

BURNT_MARK = 0.2
"""Share of a text without detail from which a letter or a suffix is likely to be lost in it."""

EDGE_SIDE_PX = 900
"""The part is looked at no larger than this when blur is measured."""

_BINS = 8


def part_problems(photo: Photo, part: PartSeen) -> tuple[Problem, ...]:
    """Find what will keep a part from being read, what was seen of its marks counted in.

    Where letters were seen, their own height stands in place of the height that a part of this size usually has.
    """
    outer, letters_px = part.outer_ellipse_px, part.capitals_px
    if letters_px is not None and letters_px < LEAST_OF_USUAL * text_height_px(outer):
        letters_px = None
    found = [p for p in photo_problems(photo, outer) if p.code != "too_far" or letters_px is None]
    if letters_px is not None and letters_px < READABLE_PX:
        found.append(_letters_low(letters_px))
    if part.mark_burnt > BURNT_MARK and not any(p.code == "glare" for p in found):
        found.append(_glare_on_mark(part.mark_burnt))
    return tuple(found)


def photo_problems(photo: Photo, outer: Ellipse | None) -> tuple[Problem, ...]:
    """Find what will keep a part from being read.

    Parameters
    ----------
    photo
        The photo.
    outer
        Outer edge of the part concerned; without it only blur and darkness of the whole photo are judged.

    Returns
    -------
    problems
        Worst first; empty for an ordinary photo. Problems of the file itself are in ``photo.problems``.
    """
    if outer is None:
        found = [_dark(photo.gray), _blurred_photo(photo)]
    else:
        face = _face_pixels(photo, outer)
        found = [
            _cut_off(photo, outer),
            _dark(_around(photo, outer)),
            _blurred_part(photo, outer),
            _glare(face),
            _too_far(outer),
        ]
    return tuple(problem for problem in found if problem is not None)


def text_height_px(outer: Ellipse) -> float:
    """Height that capitals on a part of this size usually have."""
    return TEXT_SHARE * math.sqrt(outer.a * outer.b)


def _face_pixels(photo: Photo, outer: Ellipse) -> NDArray[np.uint8]:
    """Pixels (n × 3) of the outer third of the radius, where rings, closures and seals have their faces."""
    core = type(outer)(outer.cx, outer.cy, outer.a * 0.6, outer.b * 0.6, outer.angle_deg)
    x, y = ring_points(core, outer, np.linspace(0.08, 0.95, 16)[:, None], np.linspace(0, 2 * np.pi, 180)[None, :])
    xi, yi = np.rint(x).astype(int).ravel(), np.rint(y).astype(int).ravel()
    inside = (xi >= 0) & (yi >= 0) & (xi < photo.width_px) & (yi < photo.height_px)
    pixels = photo.rgb[yi[inside], xi[inside]]
    return pixels if len(pixels) else photo.rgb[:1, :1].reshape(1, 3)


def _around(photo: Photo, outer: Ellipse, reach: float = 1.4) -> NDArray[np.uint8]:
    """Gray square about the part, ``reach`` times its size, as far as the photo goes."""
    margin = reach * outer.a
    left, top = max(0, int(outer.cx - margin)), max(0, int(outer.cy - margin))
    crop = photo.gray[top : max(0, int(outer.cy + margin) + 1), left : max(0, int(outer.cx + margin) + 1)]
    return crop if crop.size else photo.gray


def _cut_off(photo: Photo, outer: Ellipse) -> Problem | None:
    t = math.radians(outer.angle_deg)
    half_x = math.hypot(outer.a * math.cos(t), outer.b * math.sin(t))
    half_y = math.hypot(outer.a * math.sin(t), outer.b * math.cos(t))
    beyond = max(
        half_x - outer.cx,
        half_y - outer.cy,
        outer.cx + half_x - (photo.width_px - 1),
        outer.cy + half_y - (photo.height_px - 1),
    )
    if beyond < 0.003 * outer.a:
        return None
    return Problem("cut_off", "The part is cut off by the edge of the photo: step back until all of it is in view.")


def _dark(gray: NDArray[np.uint8]) -> Problem | None:
    if float(np.median(gray)) >= DARK_LEVEL or float(np.percentile(gray, 95)) >= DARK_TOP:
        return None
    return Problem("dark", "The photo is too dark: turn on the lamp or go to the window.")


def _glare(face: NDArray[np.uint8]) -> Problem | None:
    blown = float((face.min(axis=1) >= BLOWN_LEVEL).mean())
    if blown < BLOWN_SHARE:
        return None
    return Problem(
        "glare",
        f"Glare covers {100 * blown:.0f} % of the face: tilt the lamp or the part, or switch the flash off.",
    )


def _letters_low(height_px: float) -> Problem:
    return Problem(
        "letters_low",
        f"Closer: the letters on the part are about {math.floor(height_px)} px tall, {READABLE_PX:.0f} are needed.",
    )


def _glare_on_mark(share: float) -> Problem:
    return Problem(
        "glare_on_mark",
        f"Glare lies over the mark ({100 * share:.0f} % of it): tilt the lamp or turn the part until the letters show.",
    )


def _too_far(outer: Ellipse) -> Problem | None:
    height = text_height_px(outer)
    if height >= READABLE_PX:
        return None
    return Problem(
        "too_far",
        f"The part is small in the photo: its letters are about {math.floor(height)} px high, "
        f"{READABLE_PX:.0f} are needed. Go closer or zoom in.",
    )


def _blurred_part(photo: Photo, outer: Ellipse) -> Problem | None:
    crop = _around(photo, outer, 1.05)
    if min(crop.shape) < 24:
        return None
    return _blurred(blur_px(crop), max(SHARP_PX, BLUR_SHARE * text_height_px(outer)))


def _blurred_photo(photo: Photo) -> Problem | None:
    """Without a part: blurred when even in a copy of phone-screen size no edge is sharp."""
    shrink = max(1.0, max(photo.gray.shape) / 1280)
    return _blurred(blur_px(photo.gray) / shrink, 2 * SHARP_PX)


def _blurred(blur: float | None, limit: float) -> Problem | None:
    if blur is None or blur <= limit:
        return None
    return Problem("blurred", "The photo is blurred: tap on the part to focus, rest the phone, and take it again.")


def blur_px(gray: NDArray[np.uint8]) -> float:
    """Blur of the sharpest edges, as the standard deviation of a Gaussian, in pixels of ``gray``.

    A step blurred by s has a gradient that falls with sqrt(s² + f²) when it is smoothed by f: two smoothings give s.
    Taken for each direction by itself, because motion spares the edges that run along with it; the blurrier directions
    count. 0 where the picture has no edges to judge by.
    """
    shrink = max(1.0, max(gray.shape) / EDGE_SIDE_PX)
    if shrink > 1.0:
        gray = np.asarray(cv2.resize(gray, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA), np.uint8)
    blur, direction = _edge_blur(gray.astype(np.float32))
    if blur.size < 60:
        return 0.0
    bins = (direction / np.pi * _BINS).astype(int) % _BINS
    sharpest = [np.percentile(blur[bins == i], 25) for i in range(_BINS) if (bins == i).sum() >= 30]
    return float(np.percentile(sharpest, 75)) * shrink if sharpest else 0.0


def _edge_blur(gray: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Blur and gradient direction (0 to pi) at the strong edges."""
    fine, coarse = 1.0, 2.0
    gx, gy, strength = _gradient(gray, fine)
    _, _, weak = _gradient(gray, coarse)
    strong = strength >= max(float(np.percentile(strength, 97)), 4.0)
    ridge = strong & _is_ridge(gx, gy, strength)
    ratio = np.clip(strength[ridge] / np.maximum(weak[ridge], 1e-3), 1.02, coarse / fine).astype(np.float64)
    blur = np.sqrt(np.maximum((coarse**2 - ratio**2 * fine**2) / (ratio**2 - 1), 0.0))
    return blur, np.arctan2(gy[ridge], gx[ridge]).astype(np.float64) % np.pi


def _gradient(
    gray: NDArray[np.float32], smooth: float
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    soft = cv2.GaussianBlur(gray, (0, 0), smooth)
    gx = np.asarray(cv2.Sobel(soft, cv2.CV_32F, 1, 0, ksize=3), np.float32)
    gy = np.asarray(cv2.Sobel(soft, cv2.CV_32F, 0, 1, ksize=3), np.float32)
    return gx, gy, np.hypot(gx, gy)


def _is_ridge(gx: NDArray[np.float32], gy: NDArray[np.float32], strength: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Keep pixels whose gradient is largest along its own direction (horizontal or vertical neighbours)."""
    left, right = np.roll(strength, 1, axis=1), np.roll(strength, -1, axis=1)
    up, down = np.roll(strength, 1, axis=0), np.roll(strength, -1, axis=0)
    flat = np.abs(gx) >= np.abs(gy)
    ridge = np.where(flat, (strength >= left) & (strength > right), (strength >= up) & (strength > down))
    ridge[:2], ridge[-2:], ridge[:, :2], ridge[:, -2:] = False, False, False, False
    return np.asarray(ridge, dtype=np.bool_)
