"""The trained ring edges, on drawn scenes whose circles are known exactly, and what happens without the network.

The network was trained on close-ups of tests/training/scenes.py; these scenes are drawn by another script, with other
seeds. The circles of the labels are checked against OpenCV's projection in tests/samples.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from drawing.random_scenes import random_spec
from drawing.scene import draw_scene

from screener.vision import networks
from screener.vision.model import Ellipse
from screener.vision.rings import learned, sharpen
from screener.vision.rings.close_up import close_up
from screener.vision.rings.find import find_parts
from screener.vision.rings.learned import learned_rings
from screener.vision.rings.learned_fit import mirrored
from screener.vision.rings.sharpen import sharpened

SEEDS = (90, 91, 93, 94)


def truth(label, name: str) -> Ellipse:
    circle = label["ellipses_px"][name]
    return Ellipse(*(circle[key] for key in ("cx", "cy", "a", "b", "angle_deg")))


def error(found: Ellipse, true: Ellipse) -> float:
    """Largest of centre, major and minor axis error, relative to the true major semi-axis."""
    return (
        max(math.hypot(found.cx - true.cx, found.cy - true.cy), abs(found.a - true.a), abs(found.b - true.b)) / true.a
    )


@pytest.fixture(scope="module")
def scenes():
    drawn = []
    for seed in SEEDS:
        rng = np.random.default_rng(seed)
        picture, label = draw_scene(random_spec(rng), rng)
        drawn.append((np.ascontiguousarray(picture[..., ::-1]), label))
    return drawn


def moved(ring: Ellipse, share: float) -> Ellipse:
    return dataclasses.replace(ring, cx=ring.cx + share * ring.a, a=ring.a * (1 + share), b=ring.b * (1 + share))


@pytest.mark.slow
@pytest.mark.parametrize("share", [-0.04, 0.04])
def test_a_rough_outline_is_enough(scenes, share):
    errors = []
    for picture, label in scenes:
        found = learned_rings(picture, moved(truth(label, "od_full"), share))
        assert found is not None
        errors.append(error(found.od_full.ellipse, truth(label, "od_full")))
    assert np.median(errors) < 0.01
    assert max(errors) < 0.04


@pytest.mark.slow
def test_both_circles_together_are_no_worse_than_geometry(scenes):
    before, after = [], []
    for picture, label in scenes:
        pairs = [p for p in find_parts(picture) if p.bore is not None]
        if not pairs:
            continue
        both = sharpened(picture, pairs[0])
        before.append(error(pairs[0].outer.ellipse, truth(label, "od_full")))
        after.append(error(both.outer.ellipse, truth(label, "od_full")))
    assert len(after) >= 3
    assert np.median(after) <= np.median(before) + 0.002


def test_without_the_network_geometry_stands_alone(scenes, monkeypatch):
    monkeypatch.setattr(networks, "network_if_there", lambda _model, _threads: None)
    picture, _ = scenes[0]
    pair = find_parts(picture)[0]
    assert sharpened(picture, pair) is pair


def test_an_answer_that_has_not_settled_is_not_taken(scenes, monkeypatch):
    picture, _ = scenes[0]
    pair = find_parts(picture)[0]
    answer = learned_rings(picture, pair.outer.ellipse)
    monkeypatch.setattr(learned, "learned_rings", lambda *_: dataclasses.replace(answer, moved_rel=0.5))
    assert sharpened(picture, pair) is pair


def test_a_close_look_that_has_not_settled_leaves_the_first(scenes, monkeypatch):
    picture, _ = scenes[0]
    pair = find_parts(picture)[0]
    usual = sharpened(picture, pair)
    first = learned_rings(picture, pair.outer.ellipse)
    answer = close_up(picture, first.od_full.ellipse, first.bore_full.ellipse)
    monkeypatch.setattr(sharpen.close_up, "close_up", lambda *_: dataclasses.replace(answer, moved_rel=0.5))
    left = sharpened(picture, pair)
    monkeypatch.setattr(sharpen.close_up, "close_up", lambda *_: None)
    assert left == sharpened(picture, pair)
    assert left != usual


@pytest.mark.parametrize("share", [-0.015, 0.015])
def test_a_close_look_sets_right_what_the_first_left(scenes, share):
    """Circles 1.5 % too small or too large: the label's, exact by projection, are found again."""
    off = []
    for picture, label in scenes[:3]:
        outer, bore = truth(label, "od_full"), truth(label, "bore_full")
        found = close_up(picture, moved(outer, share), moved(bore, share))
        assert found is not None
        off.append(error(found.od_full.ellipse, outer))
        off.append(error(found.bore_full.ellipse, bore))
    assert np.median(off) < 0.006
    assert max(off) < 0.02


def test_the_networks_are_small():
    assert learned.MODEL.stat().st_size + sharpen.close_up.MODEL.stat().st_size < 6_000_000


def test_a_strip_mirrored_twice_is_itself_and_keeps_its_first_column():
    strip = np.random.default_rng(3).normal(size=(1, 3, 5, 8)).astype(np.float32)
    once = mirrored(strip)
    np.testing.assert_array_equal(once[..., 0], strip[..., 0])
    np.testing.assert_array_equal(once[..., 1], strip[..., -1])  # the angle t of column 1 becomes -t
    np.testing.assert_array_equal(mirrored(once), strip)


def test_a_mirrored_photo_has_mirrored_rings(scenes):
    """The picture turned left for right: the same axes, the centre on the other side (plane geometry)."""
    picture, label = scenes[0]
    ring, across = truth(label, "od_full"), picture.shape[1] - 1
    mirror = dataclasses.replace(ring, cx=across - ring.cx, angle_deg=(180 - ring.angle_deg) % 180)
    there = learned_rings(picture, ring)
    back = learned_rings(np.ascontiguousarray(picture[:, ::-1]), mirror)
    assert there is not None
    assert back is not None
    assert abs(there.bore_full.ellipse.a / back.bore_full.ellipse.a - 1) < 0.003
    assert abs(there.od_full.ellipse.cx + back.od_full.ellipse.cx - across) < 0.004 * ring.a
