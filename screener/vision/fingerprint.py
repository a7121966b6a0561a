"""Know a picture again after it was made smaller, brightened or saved again – and only then.

A fingerprint holds a small gray picture and the strongest corners with their descriptors (ORB: Rublee et al., ICCV
2011). Two fingerprints are of one picture when one turn, scale and shift lays the corners of both on each other to a
quarter of a pixel and the small pictures then agree in structure. Two shots from an unmoved tripod are not told apart
from a copy. Crops and turned copies are refused: their corners are found no more exactly than those of a second shot.
"""

from __future__ import annotations

import base64
import struct
import zlib
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

LONG_SIDE_PX = 512
"""Side of the reduced picture in which corners are found."""
SMALL_SIDE_PX = 56
"""Side of the gray picture that is kept."""
CORNERS = 88
"""With 36 bytes each and the small picture, at most 6 kB."""
_HEAD = struct.Struct("<BBBHHB")
_VERSION = 1
_LIKE_BITS = 64
"""Descriptors of one corner differ in fewer of their 256 bits; unrelated ones differ in about 128 +- 8."""
_WITHIN_PX = 2.0
MIN_LAID = 8
"""Pairs of corners that must lie on each other; a similarity is fixed by two."""
MIN_SHARE = 0.6
"""Share of the paired corners that must lie on each other."""
MAX_RESIDUAL_PX = 0.25
"""Root mean square distance of those pairs, in the reduced picture. Corners of a copy are found on the same pixels; in
a second shot, after a crop or a turn, they are found 0.3 to 1 pixel off, and these cannot be told apart."""
MIN_STRUCTURE = 0.9
"""Correlation of the small pictures' structure, laid on each other."""
MIN_OVERLAP = 0.3
_SCALES = (0.5, 2.0)


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


@dataclass(frozen=True, slots=True)
class Likeness:
    """How well one picture lies on another."""

    paired: int
    """Corners that look alike in both."""
    laid: int
    """How many of those lie on each other after one turn, scale and shift."""
    residual_px: float
    """Root mean square distance of those, in a picture of 512 pixels."""
    structure: float
    """Correlation of the small pictures where they overlap, -1 to 1."""

    @property
    def same_picture(self) -> bool:
        """Whether both come from one exposure."""
        return (
            self.laid >= max(MIN_LAID, MIN_SHARE * self.paired)
            and self.residual_px <= MAX_RESIDUAL_PX
            and self.structure >= MIN_STRUCTURE
        )


NOT_ALIKE = Likeness(0, 0, 0.0, 0.0)


def fingerprint(gray: NDArray[np.uint8]) -> str:
    """Return a picture's fingerprint as text; empty for a picture without structure.

    Parameters
    ----------
    gray
        Height × width, upright.
    """
    thinned = _thinned(gray)
    reduced = _at_most(thinned, LONG_SIDE_PX)
    smooth = cv2.GaussianBlur(reduced, (0, 0), 0.8)
    corners, bits = _orb().detectAndCompute(smooth, None)
    if bits is None or len(corners) < MIN_LAID:
        return ""
    height, width = reduced.shape
    small = _at_most(reduced, SMALL_SIDE_PX)
    kept = sorted(range(len(corners)), key=lambda i: -corners[i].response)[:CORNERS]
    # Both axes in one unit: the reduced picture's sides are rounded, the first picture's are not.
    unrounded = np.array(thinned.shape[::-1]) * (LONG_SIDE_PX / max(thinned.shape)) / (width, height)
    places = np.rint(np.array([corners[i].pt for i in kept]) * unrounded * 64).clip(0, 65535).astype("<u2")
    head = _HEAD.pack(_VERSION, small.shape[1], small.shape[0], width, height, len(kept))
    packed = head + small.tobytes() + places.tobytes() + bits[kept].tobytes()
    return base64.b64encode(zlib.compress(packed)).decode()


def likeness(one: str, other: str) -> Likeness:
    """Compare two fingerprints; nothing is alike where one is empty or of another version."""
    first, second = _unpack(one), _unpack(other)
    if first is None or second is None:
        return NOT_ALIKE
    return max(_lay(first, second), _lay(second, first), key=lambda found: (found.same_picture, found.structure))


def _lay(first: _Print, second: _Print) -> Likeness:
    """Lay the second picture on the first."""
    pairs = _paired(first.bits, second.bits)
    if len(pairs) < MIN_LAID:
        return NOT_ALIKE
    there, here = first.points[pairs[:, 0]], second.points[pairs[:, 1]]
    cv2.setRNGSeed(1)
    matrix, _ = cv2.estimateAffinePartial2D(here, there, ransacReprojThreshold=_WITHIN_PX, maxIters=500)
    if matrix is None or not _SCALES[0] <= np.hypot(matrix[0, 0], matrix[1, 0]) <= _SCALES[1]:
        return NOT_ALIKE
    off = np.hypot(*(here @ matrix[:, :2].T + matrix[:, 2] - there).T)
    laid = off <= _WITHIN_PX
    if laid.sum() < MIN_LAID:
        return Likeness(len(pairs), int(laid.sum()), 0.0, 0.0)
    residual = float(np.sqrt((off[laid] ** 2).mean()))
    structure = _structure(first, second, np.asarray(matrix, float))
    return Likeness(len(pairs), int(laid.sum()), residual, structure)


def _paired(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Corners (n, 2 indices) that are each other's likest."""
    found = cv2.BFMatcher(cv2.NORM_HAMMING, crossCheck=True).match(one, other)
    return np.array([(m.queryIdx, m.trainIdx) for m in found if m.distance < _LIKE_BITS], np.int64).reshape(-1, 2)


def _structure(first: _Print, second: _Print, matrix: NDArray[np.float64]) -> float:
    """Correlate the small pictures, the second moved onto the first; 0 where too little overlaps."""
    moved = _to_small(first) @ np.vstack([matrix, [0, 0, 1]]) @ np.linalg.inv(_to_small(second))
    size = (first.small.shape[1], first.small.shape[0])
    onto = cv2.warpAffine(_detail(second.small), moved[:2], size)
    inside = cv2.warpAffine(np.ones(second.small.shape, np.float32), moved[:2], size) > 0.99
    if inside.mean() < MIN_OVERLAP:
        return 0.0
    a, b = _detail(first.small)[inside], onto[inside]
    spread = float(a.std() * b.std())
    return float(((a - a.mean()) * (b - b.mean())).mean()) / spread if spread > 0 else 0.0


def _detail(small: NDArray[np.uint8]) -> NDArray[np.float32]:
    """What is left without slow changes of brightness, and without what only the finer of two rasters shows."""
    values = cv2.GaussianBlur(small.astype(np.float32), (0, 0), 0.8)
    return values - cv2.GaussianBlur(values, (0, 0), 5.0)


def _to_small(of: _Print) -> NDArray[np.float64]:
    """Reduced picture to small picture, pixel centres on whole numbers."""
    x, y = of.small.shape[1] / of.size[0], of.small.shape[0] / of.size[1]
    return np.array([[x, 0, (x - 1) / 2], [0, y, (y - 1) / 2], [0, 0, 1.0]])


@lru_cache(maxsize=4096)
def _unpack(text: str) -> _Print | None:
    """Read a fingerprint; None where it is empty, damaged or of another version."""
    try:
        packed = zlib.decompress(base64.b64decode(text))
        version, small_w, small_h, width, height, count = _HEAD.unpack_from(packed)
        if version != _VERSION:
            return None
        pixels, rest = np.frombuffer(packed, np.uint8, small_w * small_h, _HEAD.size), _HEAD.size + small_w * small_h
        places = np.frombuffer(packed, "<u2", 2 * count, rest).reshape(count, 2)
        bits = np.frombuffer(packed, np.uint8, 32 * count, rest + 4 * count).reshape(count, 32)
    except (ValueError, zlib.error, struct.error):
        return None
    return _Print((width, height), pixels.reshape(small_h, small_w), np.asarray(places / 64, np.float32), bits)


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


@lru_cache(maxsize=1)
def _orb() -> cv2.ORB:
    return cv2.ORB.create(nfeatures=CORNERS, scaleFactor=1.2, nlevels=6, edgeThreshold=20, patchSize=25)
