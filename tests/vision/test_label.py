"""Labels read from drawn photos: ten layouts, turned and tilted; and photos that show no label."""

import cv2
import numpy as np
import pytest
from vision.label_scenes import LAYOUTS, draw_label, photograph

from screener.vision.label import read_label
from screener.vision.text_engine import TextEngine, text_engine

TILTS_DEG = (0, 6, -12, 20, 90, 180, -7, 3, -20, -90)


@pytest.fixture(scope="module")
def engine() -> TextEngine:
    return text_engine()


def _said(value: object) -> str:
    return "".join(str(value).split()).replace("×", "x").upper()


@pytest.mark.slow
def test_ten_layouts(engine: TextEngine) -> None:
    # What the labels state is the drawing's own list; the reader sees only the picture.
    right, asked, invented = 0, 0, []
    for layout in range(len(LAYOUTS)):
        drawn = draw_label(layout, seed=0)
        seen = read_label(photograph(drawn.picture, layout, tilt_deg=TILTS_DEG[layout]), engine)
        fields = {} if seen is None else {name: getattr(seen.fields, name) for name, _ in seen.field_lines}
        asked += len(drawn.truth)
        right += sum(_said(fields.get(name)) == _said(value) for name, value in drawn.truth.items())
        invented += [(layout, name) for name in fields if name not in drawn.truth]
    assert right / asked >= 0.93, f"{right} of {asked}"
    assert invented == []


def test_each_field_names_its_line(engine: TextEngine) -> None:
    seen = read_label(photograph(draw_label(1, seed=3).picture, 5), engine)
    assert seen is not None
    for name, line in seen.field_lines:
        assert len(seen.lines[line].region_px) == 4
        if name in ("batch", "date", "maker"):
            assert _said(getattr(seen.fields, name)) in _said(seen.lines[line].text)


def test_ring_text_and_scales_are_no_label(engine: TextEngine) -> None:
    picture = np.full((700, 900, 3), 170, np.uint8)
    cv2.circle(picture, (450, 350), 300, (90, 90, 90), 60)
    for place, letter in enumerate("QUORVEX 6205-2RS "):
        angle = np.radians(-150 + 14 * place)
        x, y = int(450 + 300 * np.cos(angle)) - 12, int(350 + 300 * np.sin(angle)) + 12
        cv2.putText(picture, letter, (x, y), cv2.FONT_HERSHEY_SIMPLEX, 1.0, (240, 240, 240), 2, cv2.LINE_AA)
    assert read_label(picture, engine) is None
    ruler = np.full((400, 900, 3), 240, np.uint8)
    for tick in range(0, 90, 10):
        cv2.putText(ruler, str(tick), (20 + 9 * tick, 200), cv2.FONT_HERSHEY_SIMPLEX, 0.8, (20, 20, 20), 2, cv2.LINE_AA)
    cv2.putText(ruler, "6205-2RS", (300, 320), cv2.FONT_HERSHEY_SIMPLEX, 1.2, (20, 20, 20), 2, cv2.LINE_AA)
    assert read_label(ruler, engine) is None


def test_nothing_to_read(engine: TextEngine) -> None:
    assert read_label(np.full((300, 300), 128, np.uint8), engine) is None
