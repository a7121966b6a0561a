"""Know a picture again after it was cut, turned, made smaller, brightened or saved again – and only then.

A fingerprint holds a small gray picture and corners with their descriptors (ORB: Rublee et al., ICCV 2011), spread over
the picture so that a cut-out keeps some. Corners propose one turn, scale and shift; the small pictures, laid on each
other and refined (enhanced correlation coefficient: Evangelidis and Psarakis, PAMI 2008), decide block by block: in a
copy every block agrees, in another shot those of a part that lies otherwise, of another mark or serial do not. Two
shots of one frame, as a camera that nothing moved makes them, are looked at once more where the part is
(`screener.vision.unmoved`); where that shows nothing, a like part in exactly the same place is taken for a copy.
"""

from __future__ import annotations

import base64
import struct
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np

from screener.vision.model import Ellipse
from screener.vision.unmoved import Shot, shows_another_part

if TYPE_CHECKING:
    from numpy.typing import NDArray

Outline = tuple[tuple[float, float], ...]

LONG_SIDE_PX = 512
"""Side of the reduced picture in which corners are found."""
SMALL_SIDE_PX = 176
"""Side of the gray picture that is kept, as JPEG."""
_SMALL_JPEG = 70
CORNERS = 180
_CELLS, _FIRST_OF_CELL = 6, 5
"""The strongest of each of 6 × 6 cells come first: a cut-out of a quarter still has some 40 of them."""
_HEAD = struct.Struct("<BHHHB")
_PART = struct.Struct("<5H")
_VERSION, _WITHOUT_PART = 3, 2
_LIKE_BITS = 52
"""Descriptors of one corner differ in fewer of their 256 bits; unrelated ones differ in about 128 +- 8."""
_WITHIN_PX = 3.0
MIN_LAID = 6
"""Pairs of corners that must lie on each other to propose a position; a similarity is fixed by two."""
_FILLED_LEVELS = 4
"""Saving again brings what was filled no farther from black or white; white paper and shadows mostly lie farther."""
_FILLED_EDGE_PX = 9
"""Both sides of a pixel together that are left out around it: there a filled edge rings."""
_BLOCK_PX = 12
_MIN_BLOCKS = 6
_MIN_SPREAD, _MIN_SPREAD_LAID = 4.0, 6.0
"""Gray levels: in a flatter block there is nothing to agree in. More in the picture that is laid on the other one, for
it may be the brighter one."""
MIN_MIDDLE = 0.94
MIN_FIFTH = 0.9
"""Correlation of blocks, the middle one and the lowest fifth. Copies reach 0.97 and 0.94, the nearest of other photos
0.83 and 0.55 (`tests/vision/measure_fingerprint.py`)."""
MIN_LOWEST = 0.75
"""Correlation of the second lowest block: another serial or another mark changes a few blocks only."""
_INSIDE = 0.8
MIN_FIFTH_APART, MIN_LOWEST_APART = 0.945, 0.85
"""The same where neither picture lies in the other for the most part: then it may be the scale card alone that both
show. Of a copy, whole, cut or turned, 0.94 and more lies in the first picture; of two photos that share a card 0.69."""
MAX_BEND_PX = 0.35
"""What a camera that moved a little bends, in the small picture, where nearly all of both pictures is compared: a copy
0.15, another shot at half a degree more tilt 0.4 and more."""
_WHOLE = 0.85
MIN_OVERLAP = 0.1
_SURE_LAID = 12
_MIN_LAID_ON, _MIN_LAID_ON_BY_FEW = 0.72, 0.3
"""Correlation, smoothed, before refining: below it refining is not tried. Twelve corners or more lay a copy on itself
to a pixel or two (lowest of 281 copies 0.81); fewer leave it askew (0.40). Photos of different parts that share
the scale card mostly stay between 0.4 and 0.7 (`tests/vision/measure_fingerprint.py`)."""
_SCALES = (0.3, 3.3)
_UNMOVED_PX = 1.0
"""In the small picture: a camera that stands on its own moves less, a cut more."""


@dataclass(frozen=True, slots=True, eq=False)
class _Print:
    size: tuple[int, int]
    """Width, height of the reduced picture, pixels."""
    small: NDArray[np.uint8]
    """(h, w) gray."""
    points: NDArray[np.float32]
    """(n, 2) corners in the reduced picture, pixels."""
    bits: NDArray[np.uint8]
    """(n, 32) descriptors."""
    shown: NDArray[np.float32]
    """(h, w) 1 where the small picture shows something, 0 where it was filled."""
    part: Ellipse | None = None
    """Outline of the part, in shares of the longer side."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """How well one picture lies on another."""

    laid: int
    """Corners that lie on each other after one turn, scale and shift."""
    blocks: int = 0
    """Blocks with structure that both pictures show."""
    middle: float = 0.0
    """Correlation of the middle one of them."""
    fifth: float = 0.0
    """Correlation that a fifth of them stays below."""
    second_lowest: float = 0.0
    """Correlation of the second lowest, for one may be burnt out."""
    bend_px: float = 0.0
    """How far one is bent beside the other, in the small picture; 0 where a part only is compared."""
    inside: float = 1.0
    """Share of the one picture that the other shows too, or of the other, whichever is more."""
    another_part: bool = False
    """Whether one frame shows two parts, one after the other."""
    shared: tuple[Outline, Outline] = ((), ())
    """Outline of what both show, in the one picture and in the other: shares of its width and height, upright."""

    @property
    def same_picture(self) -> bool:
        """Whether both come from one exposure."""
        apart = self.inside < _INSIDE
        fifth, lowest = (MIN_FIFTH_APART, MIN_LOWEST_APART) if apart else (MIN_FIFTH, MIN_LOWEST)
        alike = self.middle >= MIN_MIDDLE and self.fifth >= fifth and self.second_lowest >= lowest
        return alike and self.bend_px <= MAX_BEND_PX and not self.another_part


NOT_ALIKE = Likeness(0)


def fingerprint(gray: NDArray[np.uint8], part: Ellipse | None = None) -> str:
    """Return a picture's fingerprint as text; empty for a picture without structure.

    Parameters
    ----------
    gray
        Height × width, upright.
    part
        Outline of the part in it, pixels; None where none was found.
    """
    thinned = _thinned(gray)
    reduced = _at_most(thinned, LONG_SIDE_PX)
    smooth = cv2.GaussianBlur(reduced, (0, 0), 0.8)
    corners, bits = _orb().detectAndCompute(smooth, None)
    if bits is None or len(corners) < MIN_LAID:
        return ""
    height, width = reduced.shape
    _, small = cv2.imencode(".jpg", _at_most(reduced, SMALL_SIDE_PX), [cv2.IMWRITE_JPEG_QUALITY, _SMALL_JPEG])
    points = np.array([c.pt for c in corners])
    kept = _spread(points / (width, height), np.array([c.response for c in corners]))
    # Both axes in one unit: the reduced picture's sides are rounded, the first picture's are not.
    unrounded = np.array(thinned.shape[::-1]) * (LONG_SIDE_PX / max(thinned.shape)) / (width, height)
    places = np.rint(points[kept] * unrounded * 64).clip(0, 65535).astype("<u2")
    head = _HEAD.pack(_VERSION, len(small), width, height, len(kept))
    outline = _packed_outline(part, max(gray.shape))
    return base64.b64encode(head + outline + small.tobytes() + places.tobytes() + bits[kept].tobytes()).decode()


def _packed_outline(part: Ellipse | None, side_px: int) -> bytes:
    """Lengths as shares of the longer side, the angle as one of a half turn; noughts where there is no part."""
    if part is None:
        return _PART.pack(0, 0, 0, 0, 0)
    lengths = (length / side_px for length in (part.cx + 0.5, part.cy + 0.5, part.a, part.b))
    return _PART.pack(*(round(65535 * min(max(share, 0.0), 1.0)) for share in (*lengths, part.angle_deg / 180)))


def _unpacked_outline(packed: bytes) -> Ellipse | None:
    x, y, a, b, turn = (number / 65535 for number in _PART.unpack(packed))
    return Ellipse(x, y, a, b, 180 * turn) if a and b else None


def _spread(places: NDArray[np.float64], strength: NDArray[np.float64]) -> NDArray[np.intp]:
    """Indices of the corners to keep: the first of each cell, then the strongest of all."""
    cells = (places * _CELLS).astype(int) @ (1, _CELLS)
    rank = np.zeros(len(cells), int)
    for cell in np.unique(cells):
        mine = np.flatnonzero(cells == cell)
        rank[mine[np.argsort(-strength[mine])]] = np.arange(len(mine))
    return np.asarray(np.lexsort((-strength, rank >= _FIRST_OF_CELL))[:CORNERS], np.intp)


def descriptors(text: str) -> NDArray[np.uint8]:
    """The descriptors (n, 32) of a fingerprint's corners; none where it cannot be read."""
    packed = _packed(text)
    return np.zeros((0, 32), np.uint8) if packed is None else packed.bits


def likeness(one: str, other: str) -> Likeness:
    """Compare two fingerprints; nothing is alike where one is empty or of another version."""
    first, second = _unpack(one), _unpack(other)
    if first is None or second is None:
        return NOT_ALIKE
    pairs = _paired(first.bits, second.bits)
    if len(pairs) < MIN_LAID:
        return NOT_ALIKE
    cv2.setRNGSeed(1)
    there, here = first.points[pairs[:, 0]], second.points[pairs[:, 1]]
    matrix, inside = cv2.estimateAffinePartial2D(here, there, ransacReprojThreshold=_WITHIN_PX, maxIters=1000)
    laid = 0 if matrix is None else int(inside.sum())
    if laid < MIN_LAID or not _SCALES[0] <= np.hypot(matrix[0, 0], matrix[1, 0]) <= _SCALES[1]:
        return Likeness(laid)
    onto = np.vstack([matrix, [0, 0, 1.0]])
    # The picture with the finer raster is laid on the other: what only it shows is smoothed away first.
    if np.hypot(matrix[0, 0], matrix[1, 0]) > 1:
        turned = _agreement(second, first, np.linalg.inv(onto), laid)
        return replace(turned, shared=turned.shared[::-1])
    return _agreement(first, second, onto, laid)


def _paired(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Corners (n, 2 indices) that are each other's likest."""
    found = cv2.BFMatcher(cv2.NORM_HAMMING, crossCheck=True).match(one, other)
    return np.array([(m.queryIdx, m.trainIdx) for m in found if m.distance < _LIKE_BITS], np.int64).reshape(-1, 2)


def _agreement(first: _Print, second: _Print, onto: NDArray[np.float64], laid: int) -> Likeness:
    """Lay the second small picture on the first, refine, and correlate block by block."""
    moved = _to_small(first) @ onto @ np.linalg.inv(_to_small(second))
    size = (first.small.shape[1], first.small.shape[0])
    fine: NDArray[Any] = second.small.astype(np.float32)
    scale = float(np.hypot(moved[0, 0], moved[1, 0]))
    if scale < 0.9:
        fine = cv2.GaussianBlur(fine, (0, 0), 0.45 * float(np.sqrt(1 / scale**2 - 1)))
    laid_on = cv2.warpAffine(fine, moved[:2], size, borderMode=cv2.BORDER_REPLICATE)
    covered = cv2.warpAffine(np.ones(second.small.shape, np.float32), moved[:2], size) > 0.99
    shown = cv2.warpAffine(second.shown, moved[:2], size, borderMode=cv2.BORDER_REPLICATE)
    both = covered & (shown > 0.99) & (first.shown > 0)
    mask = cv2.erode(both.astype(np.uint8), np.ones((5, 5), np.uint8))
    if mask.mean() < MIN_OVERLAP:
        return Likeness(laid)
    known = _evenly_lit(cv2.GaussianBlur(first.small.astype(np.float32), (0, 0), 0.7), first.shown)
    even = _evenly_lit(laid_on, shown)
    if not _worth_refining(known, even, mask > 0, laid):
        return Likeness(laid)
    try:
        shift = _refined(known, even, mask, cv2.MOTION_AFFINE, np.eye(2, 3))
        bend = _bend(known, even, mask, shift) if covered.mean() > _WHOLE else 0.0
    except cv2.error:  # the two do not lie on each other at all
        return Likeness(laid)
    way = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    seen = cv2.warpAffine(laid_on, shift, size, flags=way, borderMode=cv2.BORDER_REPLICATE)
    shown = cv2.warpAffine(shown, shift, size, flags=way, borderMode=cv2.BORDER_REPLICATE)
    details = (_detail(first.small, _MIN_SPREAD), _detail(seen, _MIN_SPREAD_LAID))
    found = _blocks(details, known, _evenly_lit(cv2.GaussianBlur(seen, (0, 0), 0.5), shown), mask)
    if len(found) < _MIN_BLOCKS:
        return Likeness(laid)
    middle, fifth, second_lowest = float(np.median(found)), float(np.percentile(found, 20)), sorted(found)[1]
    onto = np.linalg.inv(np.vstack([shift, [0, 0, 1]])) @ moved
    shared = _shared(first, second, onto)
    inside = max(abs(float(cv2.contourArea(np.array(each, np.float32)))) if each else 0.0 for each in shared)
    agreed = Likeness(laid, len(found), middle, fifth, second_lowest, bend, inside)
    if not agreed.same_picture:
        return agreed
    if inside < _INSIDE and not all(map(_part_within, (first, second), shared)):
        # The scale card, or the bench, is all that both show.
        return Likeness(laid, inside=inside)
    another = _one_frame(first, second, onto) and _other_part(first, second)
    return replace(agreed, shared=shared, another_part=another)


def _one_frame(first: _Print, second: _Print, onto: NDArray[np.float64]) -> bool:
    """Whether nothing is cut, turned or shifted: only then both may be exposures of a camera that did not move."""
    (height, width), (rows, columns) = first.small.shape, second.small.shape
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], float)
    laid = cv2.perspectiveTransform((corners * (columns, rows) - 0.5)[None], onto)[0]
    return bool(np.abs(laid - (corners * (width, height) - 0.5)).max() < _UNMOVED_PX)


def _other_part(first: _Print, second: _Print) -> bool:
    part = first.part or second.part
    one, other = (Shot(each.small, each.points / LONG_SIDE_PX, each.bits) for each in (first, second))
    return part is not None and shows_another_part(one, other, part)


def _shared(first: _Print, second: _Print, onto: NDArray[np.float64]) -> tuple[Outline, Outline]:
    """Outline of what both pictures show, in each; ``onto`` lays the second small picture on the first."""
    sides = [np.array(each.small.shape[::-1], float) for each in (first, second)]
    corners = [np.array([(0, 0), (x, 0), (x, y), (0, y)]) - 0.5 for x, y in sides]
    laid = cv2.perspectiveTransform(corners[1][None], onto)[0]
    _, both = cv2.intersectConvexConvex(corners[0].astype(np.float32), laid.astype(np.float32))
    if both is None or len(both) < 3:
        return (), ()
    there = cv2.perspectiveTransform(both.reshape(1, -1, 2).astype(np.float64), np.linalg.inv(onto))[0]
    shares = [((each + 0.5) / side).clip(0, 1) for each, side in zip((both.reshape(-1, 2), there), sides, strict=True)]
    one, other = (tuple((float(x), float(y)) for x, y in each) for each in shares)
    return one, other


def _part_within(of: _Print, outline: Outline) -> bool:
    """Whether the middle of the part, where one was found, lies in what is shared."""
    if of.part is None or not outline:
        return of.part is None
    side, sides = max(of.size), np.array(of.size, float)
    middle = np.array([of.part.cx, of.part.cy]) * side / sides
    return cv2.pointPolygonTest(np.array(outline, np.float32), (float(middle[0]), float(middle[1])), False) >= 0


def _worth_refining(known: NDArray[Any], seen: NDArray[Any], shown: NDArray[np.bool_], laid: int) -> bool:
    """Whether two pictures, laid on each other by their corners alone, agree enough that refining may make them one."""
    one, two = (cv2.GaussianBlur(each, (0, 0), 1.5)[shown] for each in (known, seen))
    one, two = one - one.mean(), two - two.mean()
    agreement = float((one * two).mean() / (one.std() * two.std() + 1e-6))
    return agreement >= (_MIN_LAID_ON if laid >= _SURE_LAID else _MIN_LAID_ON_BY_FEW)


def _refined(
    known: NDArray[Any], seen: NDArray[Any], mask: NDArray[Any], motion: int, start: NDArray[Any]
) -> NDArray[np.float32]:
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 40, 1e-4)
    _, found = cv2.findTransformECC(known, seen, start.astype(np.float32), motion, stop, mask, 3)
    return np.asarray(found, np.float32)


def _bend(known: NDArray[Any], even: NDArray[Any], mask: NDArray[Any], shift: NDArray[Any]) -> float:
    """How far the best homography departs from the similarity nearest to it, pixels."""
    start = np.vstack([shift, [0, 0, 1]])
    shape = _refined(known, even, mask, cv2.MOTION_HOMOGRAPHY, start)
    height, width = mask.shape
    grid = np.stack(np.meshgrid(np.linspace(0, width, 5), np.linspace(0, height, 5)), axis=-1).reshape(1, -1, 2)
    one, two = (g[0] @ (1, 1j) for g in (grid, cv2.perspectiveTransform(grid, shape.astype(np.float64))))
    one, two = one - one.mean(), two - two.mean()
    turn = (one.conj() @ two) / (one.conj() @ one)
    return float(np.abs(two - turn * one).max() / abs(turn))


def _detail(small: NDArray[Any], least: float) -> NDArray[np.float32]:
    """Structure by the least that counts."""
    return np.asarray((small - cv2.GaussianBlur(small.astype(np.float32), (0, 0), 4.0)) / least, np.float32)


def _blocks(
    details: tuple[NDArray[Any], NDArray[Any]], known: NDArray[Any], seen: NDArray[Any], mask: NDArray[Any]
) -> list[float]:
    """Correlation of each block that is covered and has structure in either picture: both need not be of one part."""
    found = []
    for top in range(0, mask.shape[0] - _BLOCK_PX + 1, _BLOCK_PX):
        for left in range(0, mask.shape[1] - _BLOCK_PX + 1, _BLOCK_PX):
            at = slice(top, top + _BLOCK_PX), slice(left, left + _BLOCK_PX)
            if mask[at].mean() >= 0.95 and max(each[at].std() for each in details) >= 1:
                a, b = known[at] - known[at].mean(), seen[at] - seen[at].mean()
                found.append(float((a * b).mean() / (a.std() * b.std() + 1e-6)))
    return found


def _evenly_lit(small: NDArray[Any], shown: NDArray[Any]) -> NDArray[np.float32]:
    """What is left without slow changes of brightness and contrast, as far as something is shown."""
    apart = (small - _mean_around(small, shown, 4.0)) * shown
    spread = np.sqrt(_mean_around(apart * apart, shown, 6.0)) + 3.0
    return np.asarray(np.clip(apart / spread, -4, 4), np.float32)


def _mean_around(values: NDArray[Any], shown: NDArray[Any], reach_px: float) -> NDArray[np.float32]:
    if shown.all():
        return np.asarray(cv2.GaussianBlur(values, (0, 0), reach_px), np.float32)
    weight = cv2.GaussianBlur(shown, (0, 0), reach_px)
    return np.asarray(cv2.GaussianBlur(values * shown, (0, 0), reach_px) / np.maximum(weight, 1e-3), np.float32)


def _shown(small: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Where a small picture shows something: not where a turn or a frame left it black or white from the border on."""
    shown = np.ones(small.shape, np.uint8)
    for level in (small <= _FILLED_LEVELS, small >= 255 - _FILLED_LEVELS):
        _, areas = cv2.connectedComponents(level.astype(np.uint8), connectivity=4)
        border = np.concatenate([areas[0], areas[-1], areas[:, 0], areas[:, -1]])
        shown[np.isin(areas, border[border > 0])] = 0
    if shown.all():
        return np.ones(small.shape, np.float32)
    # Where a wedge begins it is too thin to be seen.
    framed = cv2.copyMakeBorder(shown, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    return np.asarray(cv2.erode(framed, np.ones((_FILLED_EDGE_PX, _FILLED_EDGE_PX)))[1:-1, 1:-1], np.float32)


def _to_small(of: _Print) -> NDArray[np.float64]:
    """Reduced picture to small picture, pixel centres on whole numbers."""
    x, y = of.small.shape[1] / of.size[0], of.small.shape[0] / of.size[1]
    return np.array([[x, 0, (x - 1) / 2], [0, y, (y - 1) / 2], [0, 0, 1.0]])


@lru_cache(maxsize=1)
def _orb() -> Any:
    return cv2.ORB_create(nfeatures=900, fastThreshold=8, nlevels=10, edgeThreshold=19)  # type: ignore[attr-defined]


@lru_cache(maxsize=512)
def _unpack(text: str) -> _Print | None:
    """Read a fingerprint; None where it is empty, damaged or of another version."""
    packed = _packed(text)
    if packed is None:
        return None
    try:
        small = cv2.imdecode(packed.small, cv2.IMREAD_GRAYSCALE)
    except cv2.error:
        return None
    if small is None:
        return None
    places = np.asarray(packed.places / 64, np.float32)
    gray = np.asarray(small, np.uint8)
    return _Print(packed.size, gray, places, packed.bits, _shown(gray), packed.part)


@dataclass(frozen=True, slots=True, eq=False)
class _Packed:
    """A fingerprint's fields as they are written."""

    size: tuple[int, int]
    part: Ellipse | None
    small: NDArray[np.uint8]
    """JPEG."""
    places: NDArray[np.uint16]
    """(n, 2) sixty-fourths of a pixel."""
    bits: NDArray[np.uint8]


def _packed(text: str) -> _Packed | None:
    try:
        packed = base64.b64decode(text)
        version, length, width, height, count = _HEAD.unpack_from(packed)
        if version not in {_VERSION, _WITHOUT_PART}:
            return None
        start = _HEAD.size + (_PART.size if version == _VERSION else 0)
        part = _unpacked_outline(packed[_HEAD.size : start]) if version == _VERSION else None
        rest = start + length
        small = np.frombuffer(packed, np.uint8, length, start)
        places = np.frombuffer(packed, "<u2", 2 * count, rest).reshape(count, 2)
        bits = np.frombuffer(packed, np.uint8, 32 * count, rest + 4 * count).reshape(count, 32)
    except (ValueError, struct.error):
        return None
    return _Packed((width, height), part, small, places, bits)


def _thinned(gray: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Average whole blocks of pixels down to about twice the reduced size: many times faster than a broken ratio."""
    step = max(gray.shape) // (2 * LONG_SIDE_PX)
    if step < 2:
        return gray
    size = (gray.shape[1] // step, gray.shape[0] // step)
    whole = gray[: size[1] * step, : size[0] * step]
    return np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA), np.uint8)


def _at_most(gray: NDArray[np.uint8], side: int) -> NDArray[np.uint8]:
    """Reduce to a longest side; a smaller picture is enlarged, so that a shrunken copy compares at equal scale."""
    scale = side / max(gray.shape)
    size = (max(8, round(gray.shape[1] * scale)), max(8, round(gray.shape[0] * scale)))
    return np.asarray(cv2.resize(gray, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR), np.uint8)
