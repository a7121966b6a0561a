"""What the rays meet, against outlines from cv2.projectPoints and cv2.fillPoly, and against cv2's marker detector."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from drawing.camera import circle_points, look_at
from drawing.parts import bearing_things
from drawing.profiles import BearingShape, Profile, rubber_closure, shield
from drawing.revolve import hollow_cylinder_blocks
from drawing.scene import draw_scene
from drawing.scene_spec import BearingPart, CameraSpec, FinishSpec, SceneSpec


def filled(camera, circles):
    """Mask of the convex hull of level circles, by OpenCV alone."""
    turn, _ = cv2.Rodrigues(camera.rotation)
    points = np.vstack([circle_points(radius, z, 360) for radius, z in circles])
    seen = cv2.projectPoints(points, turn, camera.shift, camera.matrix, np.array([camera.k1, 0, 0, 0]))[0]
    hull = cv2.convexHull(seen.astype(np.float32))
    mask = np.zeros((camera.height_px, camera.width_px), np.uint8)
    cv2.fillPoly(mask, [np.round(hull * 16).astype(np.int32)], 1, shift=4)
    return mask > 0


def view(tilt, k1=0.0):
    return look_at(
        width_px=480,
        height_px=360,
        focal_px=600,
        target_mm=np.array([0, 0, 15.0]),
        distance_mm=110,
        tilt_deg=tilt,
        azimuth_deg=30,
        roll_deg=70,
        k1=k1,
    )


@pytest.mark.parametrize(("tilt", "k1"), [(0, 0), (15, 0.05), (38, -0.05)])
@pytest.mark.parametrize("closure", ["open", "shield", "rubber_seal"])
def test_the_silhouette_of_a_drawn_bearing_is_that_of_its_circles(tilt, k1, closure):
    camera = view(tilt, k1)
    things, _ = bearing_things(BearingPart("6205", closure), 5.0, np.random.default_rng(0))
    y, x = np.divmod(np.arange(480 * 360), 480)
    rays = camera.rays(x.astype(float), y.astype(float))
    origin = np.broadcast_to(camera.position_mm.astype(np.float32), rays.shape)
    met = np.zeros(len(rays), bool)
    for thing in things:
        met |= np.isfinite(thing.meet(origin, rays)[0])
    expected = filled(camera, [(26, 14), (25, 15), (26, 1)]) & ~(
        filled(camera, [(12.5, 14)]) & filled(camera, [(12.5, 0)])
    )
    met = met.reshape(360, 480)
    # The bottom chamfer is left out of the drawing: under tilt its shadowed gap shows as a thin crescent.
    assert (met & expected).sum() / (met | expected).sum() > 0.985


@pytest.mark.parametrize("tilt", [3, 25])
def test_the_drawn_card_is_found_where_the_label_says(tilt):
    spec = SceneSpec(
        BearingPart("6203", "shield"),
        CameraSpec(210, tilt, 40, 0, 40, 0.03, (32.0, 0.0)),
        FinishSpec(noise=0.004),
        "grey",
        ("window",),
        (64.0, 0.0, 0.5),
        (),
        960,
        720,
    )
    picture, label = draw_scene(spec, np.random.default_rng(4))
    finder = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50))
    corners, names, _ = finder.detectMarkers(picture)
    found = {int(name): quad.reshape(4, 2) for name, quad in zip(names.ravel(), corners, strict=True)}
    assert set(found) == {0, 1, 2, 3}
    for number, quad in found.items():
        middle = crossing_of_diagonals(quad)
        np.testing.assert_allclose(middle, label["card"]["centres_px"][number], atol=1.0)


def crossing_of_diagonals(quad):
    a, b, c, d = quad
    step = np.linalg.solve(np.stack([c - a, b - d], axis=1), b - a)
    return a + step[0] * (c - a)


@pytest.mark.parametrize("make", [shield, rubber_closure])
def test_closures_lie_below_the_face_and_between_the_rings(make):
    shape = BearingShape(25, 52, 15, 1)
    pieces = make(shape).pieces
    radii = [p.end[0] for p in pieces]
    assert max(p.end[1] for p in pieces) < 15
    assert shape.inner_shoulder <= min(radii)
    assert max(radii) <= shape.outer_shoulder(closed=True)


def test_normals_of_a_profile_point_out_of_the_material():
    ring = Profile((10.0, 0.0), "x").to(10, 5).round_to(9, 6, rising_first=True).to(5, 6).to(5, 0)
    wall, *round_pieces, face, bore = ring.pieces
    assert wall.normal_start == pytest.approx((1, 0))
    assert round_pieces[0].normal_start == pytest.approx((1, 0), abs=1e-9)
    assert round_pieces[-1].normal_end == pytest.approx((0, 1), abs=1e-9)
    assert face.normal_start == pytest.approx((0, 1))
    assert bore.normal_start == pytest.approx((-1, 0))


@pytest.mark.parametrize(
    ("start", "toward", "blocked"),
    [
        ((40, 0, 0), (-1, 0, 0.1), True),  # comes over the wall (r = 20) at height 2 of 10
        ((40, 0, 0), (-1, 0, 0.6), False),  # comes over the wall at height 12
        ((0, 0, 0), (1, 0, 0.5), True),  # from the middle of the bore, wall (r = 8) reached at height 4
        ((0, 0, 0), (1, 0, 1.5), False),  # reached at height 12
        ((15, 0, 0), (0, 0, 1), True),  # under the ring
        ((40, 0, 0), (1, 0, 0.1), False),  # away from it
    ],
)
def test_shadow_of_a_hollow_cylinder(start, toward, blocked):
    """Heights computed by hand beside each case."""
    way = np.array([toward], float)
    way /= np.linalg.norm(way)
    assert hollow_cylinder_blocks(np.array([start], float), way, 20, 8, 10)[0] == blocked


def test_circle_points_lie_on_the_circle():
    points = circle_points(7, 3, 12)
    np.testing.assert_allclose(np.hypot(points[:, 0], points[:, 1]), 7)
    assert (points[:, 2] == 3).all()
