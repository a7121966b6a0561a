"""Unwrapping rings. Oracle: circles drawn in a plane and projected by a written-out pinhole camera."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.vision.model import Ellipse
from screener.vision.unwrap import RingStrip, ring_at, ring_points, unwrap_ring

CIRCLES = Ellipse(100, 90, 30, 30, 0), Ellipse(100, 90, 70, 70, 0)


def project(points_mm: np.ndarray, tilt_deg: float, distance_mm: float, focal_px: float = 1500.0) -> np.ndarray:
    """Plane z = 0, turned about x by the tilt, seen from straight ahead at a distance."""
    t = math.radians(tilt_deg)
    x, y = points_mm[:, 0], points_mm[:, 1] * math.cos(t)
    depth = distance_mm + points_mm[:, 1] * math.sin(t)
    return np.stack([640 + focal_px * x / depth, 480 + focal_px * y / depth], 1)


def circle(radius_mm: float, n: int = 360) -> np.ndarray:
    angle = np.linspace(0, 2 * math.pi, n, endpoint=False)
    return radius_mm * np.stack([np.cos(angle), np.sin(angle)], 1)


def seen_circle(radius_mm: float, tilt_deg: float, distance_mm: float) -> Ellipse:
    """Oracle: OpenCV's ellipse fit through projected points."""
    points = project(circle(radius_mm), tilt_deg, distance_mm).astype(np.float32)
    (cx, cy), (w, h), angle = cv2.fitEllipse(points)
    a, b = max(w, h) / 2, min(w, h) / 2
    return Ellipse(cx, cy, a, b, (angle if w >= h else angle + 90) % 180)


@pytest.mark.parametrize("tilt_deg", [0, 15, 35])
def test_circles_between_two_tilted_ones_are_found(tilt_deg):
    outer, inner = seen_circle(26, tilt_deg, 200), seen_circle(12.5, tilt_deg, 200)
    middle = seen_circle(20, tilt_deg, 200)
    ours = ring_at(inner, outer, (26 - 20) / (26 - 12.5))
    assert math.hypot(ours.cx - middle.cx, ours.cy - middle.cy) < 0.004 * middle.a
    assert ours.a == pytest.approx(middle.a, rel=0.004)
    assert ours.b == pytest.approx(middle.b, rel=0.004)


def test_rings_in_the_photo_become_straight_rows():
    outer, inner = seen_circle(26, 30, 220), seen_circle(12, 30, 220)
    photo = np.zeros((960, 1280), np.uint8)
    photo[:] = 40
    line = project(circle(19, 720), 30, 220)
    cv2.polylines(photo, [np.round(line * 16).astype(np.int32)], True, 255, 2, cv2.LINE_AA, 4)
    strip = unwrap_ring(photo, inner, outer, width_px=720, height_px=140)
    rows = strip.argmax(axis=0)
    assert rows.mean() == pytest.approx((26 - 19) / (26 - 12) * 139, abs=1.0)
    assert rows.std() < 1.0


def test_evenly_spaced_balls_stay_evenly_spaced_in_a_close_tilted_shot():
    tilt, near = 35, 80
    outer, inner = seen_circle(14, tilt, near), seen_circle(6, tilt, near)
    angle = np.arange(9) * 2 * math.pi / 9
    x, y = project(10 * np.stack([np.cos(angle), np.sin(angle)], 1), tilt, near).T
    theta = np.linspace(0, 2 * math.pi, 3600, endpoint=False)
    ring_x, ring_y = ring_points(inner, outer, (14 - 10) / (14 - 6), theta)
    at = [int(np.hypot(ring_x - px, ring_y - py).argmin()) / 10 for px, py in zip(x, y, strict=True)]
    steps = np.diff([*at, at[0] + 360]) % 360
    assert np.abs(steps - 40).max() < 1.5


def test_direction_and_start():
    photo = np.zeros((200, 200, 3), np.uint8)
    photo[90:, :, 0] = 200  # red below the centre, y downward
    strip = unwrap_ring(photo, *CIRCLES, width_px=360, height_px=20)
    assert strip.shape == (20, 360, 3)
    assert strip[10, 90, 0] == 200  # 90 degrees is +y
    assert strip[10, 270, 0] == 0
    turned = unwrap_ring(photo, *CIRCLES, width_px=360, height_px=20, start_deg=180)
    assert turned[10, 90, 0] == 0


def test_more_than_one_turn_repeats():
    photo = np.random.default_rng(1).integers(0, 255, (200, 200), np.uint8)
    strip = unwrap_ring(photo, *CIRCLES, width_px=540, height_px=20, turns=1.5)
    np.testing.assert_array_equal(strip[:, :180], strip[:, 360:])


def test_beyond_the_photo_is_black():
    photo = np.full((200, 200), 255, np.uint8)
    strip = unwrap_ring(photo, Ellipse(0, 90, 30, 30, 0), Ellipse(0, 90, 70, 70, 0), width_px=360, height_px=20)
    assert strip[:, 180].max() == 0
    assert strip[:, 0].min() == 255


def test_a_coarse_strip_averages_instead_of_aliasing():
    photo = np.indices((1600, 1600)).sum(0) % 2 * 255
    strip = unwrap_ring(
        photo.astype(np.uint8),
        Ellipse(800, 800, 300, 300, 0),
        Ellipse(800, 800, 700, 700, 0),
        width_px=300,
        height_px=40,
    )
    assert strip.astype(float).std() < 25


ellipses = st.builds(
    lambda cx, cy, a, squash, angle: Ellipse(cx, cy, a, a * squash, angle),
    st.floats(50, 500), st.floats(50, 500), st.floats(20, 400), st.floats(0.5, 1.0), st.floats(0, 179.9),
)  # fmt: skip


@given(ellipses, st.floats(0.2, 0.8), st.floats(0, 1), st.floats(0, 6.28))
def test_points_on_the_outer_edge_satisfy_its_equation(outer, share, inward, theta):
    inner = Ellipse(outer.cx, outer.cy, outer.a * share, outer.b * share, outer.angle_deg)
    x, y = ring_points(inner, outer, inward, theta)
    t = math.radians(outer.angle_deg)
    u = (x - outer.cx) * math.cos(t) + (y - outer.cy) * math.sin(t)
    v = -(x - outer.cx) * math.sin(t) + (y - outer.cy) * math.cos(t)
    radius = 1 + (share - 1) * inward
    assert math.hypot(u / outer.a, v / outer.b) == pytest.approx(radius, rel=1e-6)


@given(ellipses, st.floats(0.2, 0.8))
def test_strip_corners_lie_on_the_ellipses(outer, share):
    inner = Ellipse(outer.cx, outer.cy, outer.a * share, outer.b * share, outer.angle_deg)
    strip = RingStrip(inner, outer, 400, 50)
    x, y = strip.photo_point(0, 0)
    assert math.hypot(x - outer.cx, y - outer.cy) <= outer.a * (1 + 1e-9)
    far, near = strip.photo_point(30, 0), strip.photo_point(30, 49)
    centre = (outer.cx, outer.cy)
    assert math.dist(near, centre) == pytest.approx(share * math.dist(far, centre), rel=1e-6)
    assert len(strip.photo_region(0, 0, 30, 49)) == 16
