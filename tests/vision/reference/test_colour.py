"""CIEDE2000 against published pairs, and colours of areas under other light."""

from __future__ import annotations

import csv
from pathlib import Path

import cv2
import numpy as np
import pytest

from screener.vision.reference.colour import LEAST_DELTA_E, compare_colours, delta_e_2000

# G. Sharma, W. Wu, E. N. Dalal: The CIEDE2000 Color-Difference Formula: Implementation Notes, Supplementary Test Data,
# and Mathematical Observations. Color Research and Application 30 (2005) 21-30, table 1, eight of its pairs.
PUBLISHED = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, 2.4900, -0.0010), (50.0, -2.4900, 0.0009), 7.1792),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (50.0, 3.1736, 0.5854), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]
PAIRS = Path(__file__).parents[4] / "shared" / "standards" / "ciede2000_sharma_pairs.csv"


@pytest.mark.parametrize(("one", "two", "published"), PUBLISHED)
def test_ciede2000_gives_the_published_values(one, two, published):
    assert float(delta_e_2000(np.array(one), np.array(two))) == pytest.approx(published, abs=1e-4)


@pytest.mark.skipif(not PAIRS.exists(), reason="the table of pairs does not lie beside the checkout")
def test_ciede2000_gives_all_published_pairs():
    rows = list(csv.DictReader(PAIRS.open(encoding="utf-8")))
    one = np.array([[float(r["L1"]), float(r["a1"]), float(r["b1"])] for r in rows])
    two = np.array([[float(r["L2"]), float(r["a2"]), float(r["b2"])] for r in rows])
    assert np.allclose(delta_e_2000(one, two), [float(r["dE00"]) for r in rows], atol=1e-4)
    assert len(rows) >= 30


def panel(band: tuple[int, int, int]) -> np.ndarray:
    picture = np.full((300, 420, 3), (240, 239, 236), np.uint8)
    picture[20:90, 30:390] = band
    picture[140:220, 60:160] = (150, 40, 40)
    picture[240:280, 40:300] = (24, 24, 26)
    return picture


def under_light(picture: np.ndarray, warm: float, gradient: float) -> np.ndarray:
    """The same print under a light of another colour that falls off to one side (sRGB approximated by a power)."""
    linear = (picture / 255.0) ** 2.2
    fall = np.linspace(1.0, 1.0 - gradient, picture.shape[1])[None, :, None]
    lit = linear * fall * np.array([1 + warm, 1.0, 1 - warm]) * 0.85
    return np.clip(255 * np.clip(lit, 0, 1) ** (1 / 2.2), 0, 255).astype(np.uint8)


def test_another_light_changes_no_colour():
    everywhere = np.ones((300, 420), np.bool_)
    seen = under_light(panel((20, 60, 120)), 0.12, 0.3)
    found = compare_colours(panel((20, 60, 120)), seen, everywhere, 0.0)
    assert len(found.areas) >= 3
    assert max(a.delta_e for a in found.areas) < LEAST_DELTA_E / 2


def test_another_band_is_seen_under_another_light():
    everywhere = np.ones((300, 420), np.bool_)
    other = (20, 85, 120)
    lab = [cv2.cvtColor(np.float32([[c]]) / 255, cv2.COLOR_RGB2LAB)[0, 0].astype(float) for c in ((20, 60, 120), other)]
    assert float(delta_e_2000(*lab)) > 6.0
    found = compare_colours(panel((20, 60, 120)), under_light(panel(other), -0.1, 0.3), everywhere, 0.0)
    off = [a for a in found.areas if a.delta_e >= LEAST_DELTA_E]
    assert len(off) == 1
    assert off[0].place.top < 90


def test_without_white_board_no_colour_is_judged():
    blue = np.full((200, 300, 3), (30, 60, 130), np.uint8)
    blue[60:120, 60:200] = (200, 60, 40)
    found = compare_colours(blue, blue, np.ones((200, 300), np.bool_), 0.0)
    assert not found.areas
    assert "white board" in found.problem
