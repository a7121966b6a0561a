"""Finding parts in pictures whose circles are projected by OpenCV, and in labelled photos where those are at hand."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from vision.ring_scenes import BEARING_6205, Disc, PinholeBench, draw, ellipse_error

from screener.vision.rings import find_parts
from screener.vision.rings.edges import noise_of
from screener.vision.rings.nest import _strongest_radius

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"


@pytest.mark.parametrize(("tilt_deg", "distance_mm"), [(0.0, 150.0), (15.0, 150.0), (30.0, 120.0)])
def test_outer_edge_and_bore_of_a_tilted_part(tilt_deg: float, distance_mm: float) -> None:
    bench = PinholeBench(tilt_deg, distance_mm)
    parts = find_parts(draw(bench, BEARING_6205))
    assert parts
    assert parts[0].bore is not None
    assert ellipse_error(parts[0].outer.ellipse, bench.circle(26.0)) < 0.02
    assert ellipse_error(parts[0].bore.ellipse, bench.circle(12.5)) < 0.03


def test_large_photo_is_measured_in_its_own_pixels() -> None:
    bench = PinholeBench(10.0, 150.0, focal_px=4500.0, size_px=(3600, 2700))
    small = PinholeBench(10.0, 150.0)
    picture = cv2.resize(draw(small, BEARING_6205), (3600, 2700), interpolation=cv2.INTER_CUBIC)
    parts = find_parts(picture)
    assert ellipse_error(parts[0].outer.ellipse, bench.circle(26.0)) < 0.02


def test_part_ranks_before_a_coin() -> None:
    bench = PinholeBench(8.0, 260.0)
    coin = Disc(11.6, 170, centre_mm=(58.0, 10.0))
    parts = find_parts(draw(bench, [coin, *BEARING_6205]))
    assert ellipse_error(parts[0].outer.ellipse, bench.circle(26.0)) < 0.02


def test_two_parts_are_both_found() -> None:
    bench = PinholeBench(8.0, 300.0)
    second = [Disc(d.radius_mm * 0.6, d.grey, centre_mm=(60.0, -20.0)) for d in BEARING_6205]
    parts = find_parts(draw(bench, [*BEARING_6205, *second]))
    small = bench.circle(26.0 * 0.6, centre_mm=(60.0, -20.0))
    assert min(ellipse_error(p.outer.ellipse, bench.circle(26.0)) for p in parts) < 0.03
    assert min(ellipse_error(p.outer.ellipse, small) for p in parts) < 0.03


def test_pen_across_the_part_does_not_matter() -> None:
    bench = PinholeBench(12.0, 160.0)
    picture = draw(bench, BEARING_6205)
    cv2.line(picture, (100, 200), (1100, 620), (90, 40, 130), 26, cv2.LINE_AA)
    parts = find_parts(picture)
    assert ellipse_error(parts[0].outer.ellipse, bench.circle(26.0)) < 0.02


@pytest.mark.parametrize(("tilt_deg", "noise", "contrast"), [(30.0, 14.0, 0.25), (0.0, 20.0, 0.35), (15.0, 20.0, 0.35)])
def test_faint_part_in_strong_noise(tilt_deg: float, noise: float, contrast: float) -> None:
    bench = PinholeBench(tilt_deg, 150.0)
    faint = [Disc(d.radius_mm, round(120 + contrast * (d.grey - 120))) for d in BEARING_6205]
    parts = find_parts(draw(bench, faint, noise=noise))
    assert ellipse_error(parts[0].outer.ellipse, bench.circle(26.0)) < 0.02


@pytest.mark.parametrize("sigma", [3.0, 8.0, 20.0])
def test_noise_is_told_from_edges(sigma: float) -> None:
    picture = draw(PinholeBench(15.0, 150.0), BEARING_6205, noise=sigma)  # numpy's normal deviates of this sigma
    assert noise_of(picture) == pytest.approx(sigma, rel=0.06)


@pytest.mark.parametrize("kind", ["even", "noise", "stripes"])
def test_nothing_round_gives_nothing(kind: str) -> None:
    rng = np.random.default_rng(5)
    grey = np.full((600, 800), 128.0)
    if kind == "noise":
        grey += rng.normal(0, 25, grey.shape)
    if kind == "stripes":
        grey += 40 * np.sin(np.arange(800) / 7.0) + rng.normal(0, 4, grey.shape)
    assert find_parts(np.clip(grey, 0, 255).astype(np.uint8)) == ()


def test_grey_picture_is_accepted() -> None:
    bench = PinholeBench(5.0, 160.0)
    parts = find_parts(draw(bench, BEARING_6205)[..., 0].copy())
    assert ellipse_error(parts[0].outer.ellipse, bench.circle(26.0)) < 0.02


def _label_error(found: object, truth: dict[str, float]) -> float:
    e = found
    off = np.hypot(e.cx - truth["cx"], e.cy - truth["cy"])  # type: ignore[attr-defined]
    return float(max(off, abs(e.a - truth["a"]), abs(e.b - truth["b"])) / truth["a"])  # type: ignore[attr-defined]


@pytest.mark.slow
@pytest.mark.skipif(not PHOTOS.is_dir(), reason="the labelled photos are not part of the product")
def test_labelled_photos() -> None:
    """Path-traced scenes made by others, exact labels beside them: outer edge within 3 % on at least 85 %."""
    hits = []
    for path in sorted(PHOTOS.glob("*.json"))[::3]:
        label = json.loads(path.read_text())
        if label["fully_in_view"]:
            parts = find_parts(cv2.imread(str(path.with_suffix(".jpg")))[..., ::-1].copy())
            circles = (label["ellipses_px"]["od_full"], label["ellipses_px"]["od_top_edge"])
            errors = [_label_error(p.outer.ellipse, c) for p in parts for c in circles]
            hits.append(min(errors, default=9.0) < 0.03)
    assert np.mean(hits) >= 0.85


def test_a_ring_of_a_few_pixels_stops_nothing() -> None:
    """All points lie at one radius, smaller than the smoothing is long: it is that radius, and no error."""
    assert _strongest_radius(np.full(60, 7.75), []) == pytest.approx(7.75, abs=0.5)
