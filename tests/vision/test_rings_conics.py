"""Ellipse fits and the two-circle ratio against OpenCV's own projection and fits."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from vision.ring_scenes import PinholeBench

from screener.vision.measure import ratio_of_coplanar_circles
from screener.vision.model import Ellipse
from screener.vision.rings.conics import (
    conic_to_ellipse,
    ellipse_to_conic,
    fit_ellipse,
    in_other_pixels,
    points_on,
    signed_distance,
)

ellipses = st.builds(
    lambda cx, cy, a, flat, angle: Ellipse(cx, cy, a, a * flat, angle),
    st.floats(-500, 500),
    st.floats(-500, 500),
    st.floats(5, 800),
    st.floats(0.4, 0.98),
    st.floats(0, 179.9),
)


@given(ellipses)
def test_conic_and_back(ellipse: Ellipse) -> None:
    again = conic_to_ellipse(ellipse_to_conic(ellipse))
    assert again is not None
    assert again.cx == pytest.approx(ellipse.cx, abs=1e-4 * ellipse.a)
    assert again.a == pytest.approx(ellipse.a, rel=1e-4)
    assert again.b == pytest.approx(ellipse.b, rel=1e-4)


@given(ellipses)
def test_fit_recovers_exact_points(ellipse: Ellipse) -> None:
    points, _ = points_on(ellipse, np.linspace(0, 2 * np.pi, 40, endpoint=False))
    fitted = fit_ellipse(points)
    assert fitted is not None
    assert np.abs(signed_distance(ellipse, points)).max() < 1e-6 * ellipse.a
    assert max(abs(fitted.a - ellipse.a), abs(fitted.b - ellipse.b)) < 1e-4 * ellipse.a


def test_fit_agrees_with_opencv_on_noisy_arc() -> None:
    """Oracle: cv2.fitEllipseDirect on the same points of two thirds of an ellipse."""
    true = Ellipse(400, 300, 200, 150, 25)
    points, normal = points_on(true, np.linspace(0, 4.2, 300))
    noisy = points + normal * np.random.default_rng(3).normal(0, 0.3, (300, 1))
    (cx, cy), axes, _ = cv2.fitEllipseDirect(noisy.astype(np.float32))
    fitted = fit_ellipse(noisy)
    assert fitted is not None
    assert math.hypot(fitted.cx - cx, fitted.cy - cy) < 1.0
    assert fitted.a == pytest.approx(max(axes) / 2, abs=1.0)
    ours = abs(fitted.a - true.a) + abs(fitted.b - true.b)
    theirs = abs(max(axes) / 2 - true.a) + abs(min(axes) / 2 - true.b)
    assert ours < theirs + 0.2


@pytest.mark.parametrize("tilt_deg", [0.0, 12.0, 25.0, 40.0])
@pytest.mark.parametrize("distance_mm", [70.0, 300.0])
def test_ratio_is_exact_under_perspective(tilt_deg: float, distance_mm: float) -> None:
    """Oracle: circles of 25 and 52 mm (6205, ISO 15) projected by cv2.projectPoints."""
    bench = PinholeBench(tilt_deg, distance_mm)
    outer, inner = (fit_ellipse(bench.circle(r)) for r in (26.0, 12.5))
    assert outer is not None
    assert inner is not None
    assert ratio_of_coplanar_circles(inner, outer) == pytest.approx(25 / 52, rel=1e-4)


def test_dividing_axes_is_wrong_where_the_conics_are_right() -> None:
    bench = PinholeBench(35.0, 70.0)
    outer, inner = (fit_ellipse(bench.circle(r)) for r in (26.0, 12.5))
    assert outer is not None
    assert inner is not None
    assert abs(inner.a / outer.a / (25 / 52) - 1) > 0.01


def test_resizing_keeps_pixel_centres() -> None:
    """A pixel's centre is at a whole number: halving maps 0.5 (between two pixels) to 0 (middle of the new one)."""
    half = in_other_pixels(Ellipse(0.5, 0.5, 10, 8, 0), 0.5)
    assert (half.cx, half.cy, half.a) == (0.0, 0.0, 5.0)
