"""A snap-ring groove in the outside wall, in drawn scenes. Where a groove lies and how large it is: ISO 464 as printed
tables give it (reference_specs/snap_ring_grooves.csv); chamfers from ISO 582.
"""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "samples"))

from drawing.camera import circle_points
from drawing.scene import build_camera, draw_scene
from drawing.scene_spec import BearingPart, CameraSpec, FinishSpec, SceneSpec
from drawing.sizes import BEARINGS

from screener.specs.snap_ring_grooves import snap_ring_grooves
from screener.vision import groove
from screener.vision.groove import WallSigns, judge, see_groove
from screener.vision.model import Ellipse
from screener.vision.photo import Photo
from screener.vision.wall import wall_of

NOT_MEASURED = WallSigns(groove_px=8.0, whole=True, light=0.2)


def groove_of(base: str) -> tuple[float, float, float]:
    """Land, width and depth for a bearing of diameter series 2 or 3, mm."""
    od_mm = BEARINGS[base][1]
    row = next(r for r in snap_ring_grooves() if r.series == "2 3 4" and r.od_mm == od_mm)
    return row.land_max_mm, row.width_min_mm, (row.od_mm - row.groove_diameter_mm) / 2


def scene(
    base: str, *, cut: bool, tilt_deg: float, seed: int = 3, far: float = 1.0, exposure: float = 2.8
) -> SceneSpec:
    part = BearingPart(base, "rubber_seal", groove_mm=groove_of(base) if cut else None)
    camera = CameraSpec(distance_mm=230 * far, tilt_deg=tilt_deg, azimuth_deg=40.0 * seed, focal_eq_mm=75)
    bench = ("wood", "grey", "cardboard", "steel")[seed % 4]
    return SceneSpec(
        part, camera, FinishSpec(exposure=exposure), bench, ("window", "lamp"), width_px=960, height_px=720
    )


@cache
def drawn(spec: SceneSpec, seed: int = 3) -> tuple[Photo, Ellipse, Ellipse]:
    picture, label = draw_scene(spec, np.random.default_rng(seed))
    rings = (Ellipse(**{k: label["ellipses_px"][n][k] for k in ("cx", "cy", "a", "b", "angle_deg")}) for n in RINGS)
    return Photo("drawn", "0" * 64, np.ascontiguousarray(picture[..., ::-1])), *rings


RINGS = ("od_full", "bore_full")


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("base", ["6205", "6304"])
def test_a_groove_is_seen_in_a_tilted_photo_and_none_where_there_is_none(base, seed):
    assert see_groove(*drawn(scene(base, cut=True, tilt_deg=32, seed=seed), seed)).value == "present"
    assert see_groove(*drawn(scene(base, cut=False, tilt_deg=32, seed=seed), seed)).value == "absent"


@pytest.mark.parametrize("cut", [True, False])
@pytest.mark.parametrize(
    "hidden", [{"tilt_deg": 4}, {"tilt_deg": 32, "far": 6.0}], ids=["from straight above", "too small"]
)
def test_what_cannot_be_seen_is_not_judged(cut, hidden):
    assert see_groove(*drawn(scene("6205", cut=cut, **hidden))).value == "not_seen"


def test_in_a_wall_too_dark_to_show_a_line_none_is_missed():
    assert see_groove(*drawn(scene("6205", cut=False, tilt_deg=32, exposure=1.0))).value == "not_seen"


def test_rings_a_per_cent_off_do_no_harm():
    photo, outer, bore = drawn(scene("6205", cut=True, tilt_deg=32))
    for grow in (0.99, 1.01):
        off = replace(outer, a=outer.a * grow, b=outer.b * grow)
        assert see_groove(photo, off, bore).value == "present"


@pytest.mark.parametrize("tilt_deg", [18, 32, 40])
def test_the_wall_lies_where_the_camera_sees_it(tilt_deg):
    """Outside reference: the projection of the drawn scene's own camera."""
    spec = scene("6205", cut=False, tilt_deg=tilt_deg)
    _, outer, bore = drawn(spec)
    camera, (_, od_mm, width_mm, chamfer_mm) = build_camera(spec, 15.0), BEARINGS["6205"]
    wall = wall_of(outer, bore)
    for depth in (0.1, 0.3):
        height_mm = width_mm - chamfer_mm - depth * od_mm / 2
        circle = camera.project(circle_points(od_mm / 2, height_mm))
        seen = wall.points(np.array([[depth]]), np.radians([[-30.0, 0.0, 30.0]]))[0]
        off_px = np.linalg.norm(circle[None] - seen[:, None], axis=2).min(axis=1)
        assert off_px.max() < 0.012 * outer.a


def test_the_search_covers_the_table():
    """ISO 464 with its tolerances: the land up to 0.16 mm less, the groove up to 0.3 mm wider (printed tables)."""
    for row in snap_ring_grooves():
        radius = row.od_mm / 2
        least_chamfer_mm = 0.3  # ISO 582; 0.5 beside most grooves
        assert max(groove.STARTS) >= (row.land_max_mm - least_chamfer_mm) / radius - groove.STEP
        assert row.width_min_mm / radius > 0.8 * min(groove.WIDTHS)
        assert (row.width_min_mm + 0.3) / radius < 1.25 * max(groove.WIDTHS)


def test_a_faint_line_is_neither():
    assert judge(replace(NOT_MEASURED, line=0.5, line_somewhere=0.6)).value == "present"
    assert judge(NOT_MEASURED).value == "absent"
    assert judge(replace(NOT_MEASURED, line=0.09, line_somewhere=0.2)).value == "not_seen"
    assert judge(replace(NOT_MEASURED, line_somewhere=0.2)).value == "not_seen"
    assert judge(replace(NOT_MEASURED, light=0.01)).value == "not_seen"
    assert judge(replace(NOT_MEASURED, whole=False, line=0.5)).value == "not_seen"


def test_no_line_is_a_weaker_sign_than_a_line():
    absent = judge(NOT_MEASURED)
    assert absent.p <= 0.9
    assert judge(replace(NOT_MEASURED, line=1.5, line_somewhere=1.5)).p > absent.p
    assert math.isclose(judge(replace(NOT_MEASURED, line=9.0)).p, groove.SUREST)
