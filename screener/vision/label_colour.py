"""Colours of a printed label in CIELAB (D65), balanced on white in the same photo.

White is the label's own paper where it shows enough of it, so that colour and fall-off of the light drop out; else the
scale card, which lies elsewhere under the lamp and counts as less sure. Without either no colour is told: a lamp
changes it more than another print does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.label_crop import strip_of
from screener.vision.model import ColourSeen, LabelColours
from screener.vision.reference.colour import PAPER_REFLECTANCE, linear_light, solid_areas

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from screener.vision.card import Card
    from screener.vision.model import Point

_FRAME_PX = 640
_MARGIN_PX = 3
"""Areas are taken this far inside their edges: print and JPEG blur colours over a few pixels."""
_LEAST_PAPER, _LEAST_PRINT = 0.06, 0.012
_BLOWN, _DARK = 250, 50
_MOST_BLOWN = 0.3
_U = 1.5
"""What one camera makes of one print twice, once balanced (judgement, from drawn photographs)."""
_U_INK, _U_CARD, _U_OF_CHROMA = 2.5, 4.0, 0.03
"""Strokes are thin; the card lies under other light than the label; strong colours vary with the tone curve."""
_LAB_OF_SHARE = 50.0
"""Units of CIELAB that an error of the light, as a share, is worth (derivative of L* at mid tones)."""
_STRIP_PX, _LEAST_TEXT_PX, _LEAST_CORE_PX = 64, 28, 40
_WHITE_OF_CARD_MM = ((9.0, 51.0), ((-4.0, 11.0), (29.0, 44.0)))
"""Across and down, in the card's frame: white on both sides of its words, clear of the markers."""


def white_of_card(rgb: NDArray[np.uint8], card: Card) -> NDArray[np.float64] | None:
    """Return the linear light of the scale card's white paper, (3,); None where it is burnt out, dark or cut off."""
    across, bands = _WHITE_OF_CARD_MM
    grid = [(x, y) for x in np.linspace(*across, 22) for low, high in bands for y in np.linspace(low, high, 8)]
    places = np.rint(card.photo_px(np.array(grid))).astype(int)
    inside = (places >= 0).all(axis=1) & (places[:, 0] < rgb.shape[1]) & (places[:, 1] < rgb.shape[0])
    seen = rgb[places[inside, 1], places[inside, 0]]
    if inside.mean() < 0.5 or _trouble(seen):
        return None
    return np.asarray(np.median(linear_light(seen), axis=0), np.float64)


def label_colours(
    rgb: NDArray[np.uint8],
    lines: Sequence[Sequence[Point]],
    designation: Sequence[Point] | None,
    card_white: NDArray[np.float64] | None = None,
) -> LabelColours:
    """Return the colours of a label's printed areas, of its ink and of its paper.

    Parameters
    ----------
    rgb
        The photo, (H, W, 3) uint8.
    lines
        Corners of its lines of text; only what lies between them is taken for the label.
    designation
        Corners of the line that gives the ink, clockwise from the text's own top left.
    card_white
        Linear light of the scale card's paper (`white_of_card`), where a card lies beside the label.
    """
    frame, label = _frame(rgb, lines)
    areas, paper = solid_areas(frame, label, _MARGIN_PX)
    own = paper.sum() >= _LEAST_PAPER * label.sum()
    trouble = _trouble(frame[paper]) if own else ""
    ink = _ink(rgb, designation) if own and not trouble and designation is not None else None
    linear = linear_light(frame)
    printed = np.logical_or.reduce([mask for _, mask in areas]) if areas else np.zeros(paper.shape, np.bool_)
    enough = printed.sum() >= _LEAST_PRINT * label.sum()
    of_paper = _seen(linear[paper].mean(axis=0) / card_white, _U_CARD) if own and card_white is not None else None
    if own and not trouble:
        light, left = _light(linear, paper)
        shares = linear[printed] / light[printed]
        return LabelColours("label", _seen(shares.mean(axis=0), left) if enough else None, ink, of_paper)
    if card_white is not None and not trouble:
        return LabelColours("card", _seen(linear[printed].mean(axis=0) / card_white, _U_CARD) if enough else None)
    return LabelColours(None, problem=trouble or "no white paper on the label and no scale card beside it")


def _trouble(white: NDArray[np.uint8]) -> str:
    """Say why a white does not serve; (n, 3) uint8."""
    if float((white.max(axis=1) >= _BLOWN).mean()) > _MOST_BLOWN:
        return "the white is burnt out in the photo"
    return "the photo is too dark" if float(np.median(white)) < _DARK else ""


def _frame(rgb: NDArray[np.uint8], lines: Sequence[Sequence[Point]]) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """Cut out the smallest rectangle, turned as needed, that holds all lines; and mask what lies between them.

    Beside them may be carton or bench.
    """
    points = np.array([point for line in lines for point in line], np.float32)
    left, top = (max(0, int(v) - 3) for v in points.min(axis=0))
    right, bottom = (int(v) + 4 for v in points.max(axis=0))
    rgb, points = rgb[top:bottom, left:right], points - np.array([left, top], np.float32)
    corners = cv2.boxPoints(cv2.minAreaRect(points))
    width, height = (float(np.linalg.norm(corners[at] - corners[0])) for at in (1, 3))
    scale = min(1.0, _FRAME_PX / max(width, height, 1.0))
    size = (max(8, round(width * scale)), max(8, round(height * scale)))
    to = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], np.float32)
    shape = cv2.getPerspectiveTransform(corners.astype(np.float32), to)
    soft = cv2.GaussianBlur(rgb, (0, 0), 0.4 / scale) if scale < 1 else rgb
    cut = cv2.warpPerspective(soft, shape, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    hull = cv2.perspectiveTransform(cv2.convexHull(points), shape)
    label = cv2.fillConvexPoly(np.zeros(cut.shape[:2], np.uint8), np.rint(hull).astype(np.int32), 1)
    return np.asarray(cut, np.uint8), label.astype(np.bool_)


def _light(linear: NDArray[np.float32], paper: NDArray[np.bool_]) -> tuple[NDArray[np.float32], float]:
    """Return the light on every pixel as the paper shows it, and what an error of it is worth in CIELAB.

    A plane in logarithms: print often covers one side, and anything more bent would run away there.
    """
    height, width = paper.shape
    y, x = np.nonzero(paper)
    step = max(1, len(y) // 4000)
    y, x = y[::step], x[::step]
    terms = np.column_stack([np.ones(len(y)), x / width - 0.5, y / height - 0.5])
    target = np.log(np.maximum(linear[y, x], 1e-3)).astype(np.float64)
    found = np.linalg.lstsq(terms, target, rcond=None)[0]
    left = float(np.median(np.abs(target - terms @ found)))
    down, across = np.mgrid[0:height, 0:width]
    planes = [f[0] + f[1] * (across / width - 0.5) + f[2] * (down / height - 0.5) for f in found.T]
    return np.exp(np.stack(planes, axis=2)).astype(np.float32), _LAB_OF_SHARE * left


def _ink(rgb: NDArray[np.uint8], quad: Sequence[Point]) -> ColourSeen | None:
    """Return the colour of thick dark strokes by the paper around them; None where they are too thin to tell."""
    if float(np.linalg.norm(np.subtract(quad[3], quad[0]))) < _LEAST_TEXT_PX:
        return None
    strip = strip_of(rgb, quad, beside=0.1, above=0.2, height_px=_STRIP_PX)
    grey = cv2.cvtColor(strip, cv2.COLOR_RGB2GRAY)
    _, dark = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)
    core = cv2.distanceTransform(dark, cv2.DIST_L2, 5) >= 2.5
    ground = cv2.distanceTransform(255 - dark, cv2.DIST_L2, 5) >= 4
    if dark.mean() > 127 or core.sum() < _LEAST_CORE_PX or not ground.any() or _trouble(strip[ground]):
        return None
    linear = linear_light(strip)
    shares = np.median(linear[core], axis=0) / np.maximum(np.median(linear[ground], axis=0), 1e-3)
    return _seen(shares, _U_INK)


def _seen(shares: NDArray[np.floating], u: float) -> ColourSeen:
    """Return the colour of what reflects these shares of white paper's light."""
    pixel = np.clip(PAPER_REFLECTANCE * np.asarray(shares, np.float32), 0, 1)[None, None]
    lightness, green_red, blue_yellow = (float(v) for v in cv2.cvtColor(pixel, cv2.COLOR_LRGB2LAB)[0, 0])
    total = float(np.sqrt(_U**2 + u**2 + (_U_OF_CHROMA * np.hypot(green_red, blue_yellow)) ** 2))
    return ColourSeen(round(lightness, 2), round(green_red, 2), round(blue_yellow, 2), round(total, 2))
