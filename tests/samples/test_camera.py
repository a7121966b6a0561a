"""The drawings' projection against OpenCV's own (cv2.projectPoints, cv2.Rodrigues) as an independent oracle."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from drawing.camera import circle_points, ellipse_of_circle, look_at
from drawing.surface import unit
from hypothesis import given, settings
from hypothesis import strategies as st

cameras = st.builds(
    look_at,
    width_px=st.just(1280),
    height_px=st.just(960),
    focal_px=st.floats(900, 2200),
    target_mm=st.tuples(st.floats(-10, 10), st.floats(-10, 10), st.floats(0, 20)).map(np.array),
    distance_mm=st.floats(80, 400),
    tilt_deg=st.floats(0, 40),
    azimuth_deg=st.floats(0, 360),
    roll_deg=st.floats(0, 360),
    k1=st.floats(-0.06, 0.06),
)


def opencv_projection(camera, points):
    turn, _ = cv2.Rodrigues(camera.rotation)
    lens = np.array([camera.k1, 0, 0, 0])
    return cv2.projectPoints(points, turn, camera.shift, camera.matrix, lens)[0].reshape(-1, 2)


@given(cameras)
@settings(max_examples=25, deadline=None)
def test_projection_is_opencvs(camera):
    points = np.random.default_rng(0).uniform(-40, 40, (50, 3)) * (1, 1, 0.3)
    np.testing.assert_allclose(
        camera.project(points), opencv_projection(camera, points), atol=1e-3
    )  # pixels; Rodrigues near half a turn costs 2e-5


@given(cameras)
@settings(max_examples=25, deadline=None)
def test_rays_go_back_to_the_points_they_came_from(camera):
    points = np.random.default_rng(1).uniform(-30, 30, (50, 3)) * (1, 1, 0.3)
    seen = opencv_projection(camera, points)
    inside = ((seen > 0) & (seen < (1280, 960))).all(axis=1)
    rays = camera.rays(seen[inside, 0], seen[inside, 1])
    straight = unit(points[inside] - camera.position_mm)
    np.testing.assert_allclose(rays, straight, atol=2e-6)


@given(cameras)
@settings(max_examples=25, deadline=None)
def test_the_camera_is_not_mirrored(camera):
    assert np.linalg.det(camera.rotation) == pytest.approx(1)


@given(cameras, st.floats(5, 25), st.floats(0, 20))
@settings(max_examples=25, deadline=None)
def test_ellipse_label_runs_through_the_projected_circle(camera, radius, z):
    label = ellipse_of_circle(camera, radius, z)
    points = opencv_projection(camera, circle_points(radius, z, 90)) - (label["cx"], label["cy"])
    turn = np.radians(label["angle_deg"])
    along = points @ (np.cos(turn), np.sin(turn)) / label["a"]
    across = points @ (-np.sin(turn), np.cos(turn)) / label["b"]
    # A distorted circle is not quite an ellipse; half a percent is far inside the 2 % that the label is used for.
    np.testing.assert_allclose(np.hypot(along, across), 1, atol=0.005)
    assert label["a"] >= label["b"]
    assert 0 <= label["angle_deg"] < 180


def test_the_label_matrix_looks_along_minus_z():
    camera = look_at(
        width_px=100,
        height_px=100,
        focal_px=100,
        target_mm=np.zeros(3),
        distance_mm=200,
        tilt_deg=0,
        azimuth_deg=0,
        roll_deg=0,
    )
    matrix = np.array(camera.label_matrix())
    np.testing.assert_allclose(matrix @ (0, 0, 0, 1), (0, 0, -200, 1), atol=1e-9)
