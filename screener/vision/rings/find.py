"""Find the round parts in a photo: nests of rings, each with its outer edge and its bore."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from screener.vision.model import Ellipse
from screener.vision.rings.band import blur_of, chamfer_band
from screener.vision.rings.chamfer import RELATIVE_WIDTH, to_full_diameter
from screener.vision.rings.choose import Chosen, choose
from screener.vision.rings.conics import in_other_pixels, scaled
from screener.vision.rings.edges import EdgeMap, edge_map
from screener.vision.rings.frames import Frame, find_frames
from screener.vision.rings.nest import Ring, nest_of
from screener.vision.rings.refine import RefinedRing, refine_ring

Pixels = NDArray[np.uint8]

SEARCH_SIDE_PX = 1000
"""Long side of the copy in which nests are looked for; a part of a twentieth of it is still 25 px in radius."""
DETAIL_RADIUS_PX = 400
"""Outer radius to which a part is reduced before its rings are told apart: enough for a chamfer to be 8 px wide."""
MOST_NESTS = 4
USUAL_FOCAL = 1.1
"""Focal length over the photo's longer side: 24 mm equivalent is 0.67, 50 mm is 1.4; only a start."""

EDGE_BIAS_PX = 0.25
"""Sharpening and compression in the phone move an edge by up to a quarter of a pixel, the same way all round."""


@dataclass(frozen=True, slots=True)
class RingFit:
    """One ring of a part, in the photo's pixels."""

    ellipse: Ellipse
    outward: int
    """+1: brighter outside it; -1: darker."""
    coverage: float
    scatter_px: float
    u_rel: float
    """Relative standard uncertainty of its radius from the scatter of its edge points alone."""
    contrast: float
    bias_px: float = EDGE_BIAS_PX
    """By how much the radius may be off all round, as a standard uncertainty: it does not show in the scatter."""


@dataclass(frozen=True, slots=True)
class RingPair:
    """A round part: the circles of its full OD and bore as they look in the photo.

    Both lie just under the chamfers of the top face. Their relative uncertainties carry what the chamfer leaves open.
    """

    outer: RingFit
    bore: RingFit | None
    outer_edge: RingFit
    """The edge that was seen, somewhere on the chamfer."""
    bore_edge: RingFit | None
    rings: tuple[RingFit, ...]
    """All rings of the nest from the outside in (not refined)."""
    score: float
    """For ranking within one photo only."""


@dataclass(frozen=True, slots=True)
class _Patch:
    """A reduced part of the photo: photo = (patch + 0.5) / scale - 0.5 + origin."""

    pixels: Pixels
    scale: float
    origin: tuple[int, int]

    def to_photo(self, ellipse: Ellipse) -> Ellipse:
        big = in_other_pixels(ellipse, 1.0 / self.scale)
        return Ellipse(big.cx + self.origin[0], big.cy + self.origin[1], big.a, big.b, big.angle_deg)


def find_parts(image: Pixels, *, most: int = 6) -> tuple[RingPair, ...]:
    """Round parts of a photo, the most convincing first.

    Parameters
    ----------
    image : (h, w, 3) RGB or (h, w) grey, uint8, upright, any size
    most : how many to give at most
    """
    whole = _patch(image, (0, 0, image.shape[1], image.shape[0]), SEARCH_SIDE_PX / max(image.shape[:2]))
    edges = edge_map(whole.pixels)
    size = float(max(whole.pixels.shape[:2]))
    frames = find_frames(edges.arcs, size, USUAL_FOCAL * size)
    frames = sorted(frames, key=lambda frame: -frame.votes_rad * frame.reach_px)[:MOST_NESTS]
    found: list[RingPair] = []
    for frame in frames:
        pair = _part(image, whole, edges, frame)
        if pair is not None and not _inside_another(pair, found):
            found.append(pair)
    return tuple(sorted(found, key=lambda pair: -pair.score)[:most])


def _patch(image: Pixels, box: tuple[int, int, int, int], scale: float) -> _Patch:
    """Cut out and reduce, never enlarge."""
    x0, y0, x1, y1 = box
    cut = image[y0:y1, x0:x1]
    if scale >= 1.0:
        return _Patch(np.ascontiguousarray(cut), 1.0, (x0, y0))
    size = (max(round((x1 - x0) * scale), 8), max(round((y1 - y0) * scale), 8))
    small = np.asarray(cv2.resize(cut, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    return _Patch(small, scale, (x0, y0))


def _part(image: Pixels, whole: _Patch, edges: EdgeMap, frame: Frame) -> RingPair | None:
    """Look closer at one nest and choose among its rings."""
    patch, frame, edges = _closer(image, whole, edges, frame)
    rings, frame = nest_of(edges, frame)
    chosen = choose(rings, frame)
    if chosen is None:
        return None
    return _pair(image, patch, rings, chosen, frame)


def _closer(image: Pixels, whole: _Patch, edges: EdgeMap, frame: Frame) -> tuple[_Patch, Frame, EdgeMap]:
    """The nest in a cut-out at the best scale, with its frame found again there."""
    ring = frame.ring(frame.reach_px)
    scale = min(1.0, DETAIL_RADIUS_PX / (frame.reach_px / whole.scale))
    if ring is None or scale < 1.2 * whole.scale:
        return whole, frame, edges
    outline = scaled(whole.to_photo(ring), 1.4)
    height, width = image.shape[:2]
    box = (
        int(max(outline.cx - outline.a, 0)), int(max(outline.cy - outline.a, 0)),
        int(min(outline.cx + outline.a, width)), int(min(outline.cy + outline.a, height)),
    )  # fmt: skip
    if box[2] - box[0] < 20 or box[3] - box[1] < 20:
        return whole, frame, edges
    patch = _patch(image, box, scale)
    near = edge_map(patch.pixels)
    middle = np.array([outline.cx - box[0], outline.cy - box[1]]) * scale
    focal_px = USUAL_FOCAL * max(image.shape[:2]) * scale
    again = find_frames(near.arcs, float(max(patch.pixels.shape[:2])), focal_px, 3)
    same = [f for f in again if np.hypot(*(f.centre - middle)) < 0.2 * outline.a * scale]
    if not same:
        return whole, frame, edges
    return patch, max(same, key=lambda f: f.votes_rad * f.reach_px), near


def _pair(image: Pixels, patch: _Patch, rings: list[Ring], chosen: Chosen, frame: Frame) -> RingPair | None:
    outer = _refined(image, patch, chosen.outer)
    if outer is None:
        return None
    bore = _not_too_flat(_refined(image, patch, chosen.bore), chosen.bore, frame)
    size_px = outer.ellipse.a
    crisp = sorted(rings, key=lambda ring: -ring.contrast * ring.coverage)[:4]
    blur_px = blur_of(image, [patch.to_photo(ring.ellipse) for ring in crisp])
    return RingPair(
        outer=_full(image, outer, 1, size_px, blur_px),
        bore=_full(image, bore, -1, size_px, blur_px) if bore is not None else None,
        outer_edge=outer,
        bore_edge=bore,
        rings=tuple(_as_fit(patch, ring) for ring in rings),
        score=chosen.score,
    )


def _not_too_flat(fit: RingFit | None, ring: Ring | None, frame: Frame) -> RingFit | None:
    """A bore edge that runs along the chamfer on one side and along the wall on the other comes out too flat.

    Its length is right; the flatness is then better taken from all rings of the nest together.
    """
    own = frame.ring(ring.radius_px) if ring is not None else None
    if fit is None or own is None or fit.ellipse.b / fit.ellipse.a > own.b / own.a - 0.015:
        return fit
    e = fit.ellipse
    return replace(fit, ellipse=Ellipse(e.cx, e.cy, e.a, e.a * own.b / own.a, own.angle_deg))


def _full(image: Pixels, edge: RingFit, away: int, outer_radius_px: float, blur_px: float) -> RingFit:
    """The full diameter behind an edge."""
    band = chamfer_band(image, edge.ellipse, away, RELATIVE_WIDTH.value * outer_radius_px, blur_px)
    ellipse, u_rel = to_full_diameter(edge.ellipse, edge.outward, band, away=away, outer_radius_px=outer_radius_px)
    return replace(edge, ellipse=ellipse, u_rel=float(np.hypot(edge.u_rel, u_rel)))


def _as_fit(patch: _Patch, ring: Ring) -> RingFit:
    scatter = ring.scatter_px / patch.scale
    ellipse = patch.to_photo(ring.ellipse)
    return RingFit(ellipse, ring.outward, ring.coverage, scatter, scatter / ellipse.a / 3.0, ring.contrast)


def _refined(image: Pixels, patch: _Patch, ring: Ring | None) -> RingFit | None:
    """Sub-pixel in the photo; the edge map's own fit stays where the finer one strays from it."""
    if ring is None:
        return None
    rough = _as_fit(patch, ring)
    fine: RefinedRing | None = refine_ring(image, rough.ellipse, ring.outward, 2.5 / patch.scale)
    if fine is None or abs(fine.ellipse.a - rough.ellipse.a) > 3.0 / patch.scale or fine.coverage < 0.4:
        return rough
    return RingFit(
        fine.ellipse, ring.outward, max(fine.coverage, ring.coverage), fine.scatter_px, fine.u_rel, ring.contrast
    )


def _inside_another(pair: RingPair, found: list[RingPair]) -> bool:
    """A nest within a part already found is a ball, a letter or a screw head of that part."""
    e = pair.outer.ellipse
    return any(np.hypot(e.cx - f.outer.ellipse.cx, e.cy - f.outer.ellipse.cy) < f.outer.ellipse.a for f in found)
