"""The committed sample delivery: complete, consistent, readable, and drawn the same way again by its seed."""

from __future__ import annotations

import csv
import re
from collections import Counter

import numpy as np
import pytest
import zxingcpp
from delivery import BLURRED, ORDER, SHOTS, BoxShot, PartShot
from drawing.camera import circle_points
from drawing.labels import LAYOUTS, LabelText, draw_label
from drawing.scene import build_camera, draw_scene, part_height
from drawing.scene_spec import BearingPart, CameraSpec, SceneSpec, SealPart
from drawing.sizes import BEARINGS, SEALS
from drawing.truth import circles_of
from make_samples import scene_of, write_order
from PIL import Image

# Public makers' words must not appear: the words used are the invented ones only.
MAKERS = {"BRENVOK", "TALQUIST", "ORSAMIL", "KEDRUNA", "VELMORT"}


def rows(path):
    with path.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def test_order_csv_is_what_the_script_writes(samples, tmp_path):
    write_order(tmp_path / "order.csv")
    assert (tmp_path / "order.csv").read_text("utf-8") == (samples / "order.csv").read_text("utf-8")
    order = rows(samples / "order.csv")
    assert len(order) >= 12
    assert [int(row["line"]) for row in order] == sorted({line.line for line in ORDER})
    assert {row["duty"] for row in order} == {"dry", "dirty", "wet"}
    assert all(int(row["quantity"]) > 0 and float(row["unit_price"]) > 0 for row in order)
    assert {row["maker"] for row in order} <= MAKERS | {""}


def test_a_conclusion_is_noted_for_every_line(samples):
    assert [row["line"] for row in rows(samples / "expected.csv")] == [str(line.line) for line in ORDER]
    assert {row["line"] for row in rows(samples / "readings.csv")} <= {str(line.line) for line in ORDER}


def test_every_photo_is_committed_and_no_other(samples):
    photos = {path.relative_to(samples / "photos").as_posix(): path for path in (samples / "photos").rglob("*.jpg")}
    assert set(photos) == {shot.path for shot in SHOTS}
    assert sum(path.stat().st_size for path in photos.values()) < 8e6
    for path in photos.values():
        with Image.open(path) as picture:
            assert picture.size == (1600, 1200)


def test_the_file_that_is_no_photo_is_not_one(samples):
    with pytest.raises(OSError, match="cannot identify"):
        Image.open(samples / "troubled" / "not_a_photo.jpg")


def codes_in(path):
    return {item.text for item in zxingcpp.read_barcodes(np.asarray(Image.open(path).convert("L")))}


def test_the_codes_on_the_drawn_boxes_decode(samples):
    wanted = [shot for shot in SHOTS if isinstance(shot, BoxShot) and shot.finish is not BLURRED]
    good = []
    for shot in wanted:
        found = codes_in(samples / "photos" / shot.path)
        matrix = [code for code in shot.text.codes if not code.linear] or list(shot.text.codes)
        good.append(all(visible(code.content) in {visible(text) for text in found} for code in matrix))
    assert all(good), [shot.path for shot, fine in zip(wanted, good, strict=True) if not fine]


def visible(content):
    """Content without control characters, whichever way they are shown."""
    return re.sub(r"[\x00-\x1f\u2400-\u241f]", "", content)


def test_one_serial_is_on_two_boxes_and_no_other_repeats():
    serials = Counter(
        value for shot in SHOTS if isinstance(shot, BoxShot) for name, value in shot.text.rows if name == "S/N"
    )
    assert {serial for serial, count in serials.items() if count > 1} == {"TQ4410213"}


def test_parts_are_in_full_view():
    for number, shot in enumerate(SHOTS):
        if not isinstance(shot, PartShot):
            continue
        spec = scene_of(shot, np.random.default_rng([2026, number]))
        seen = build_camera(spec, part_height(spec)).project(circle_points(*circles_of(shot.part)["od_full"]))
        assert (seen > 4).all(), shot.path
        assert (seen < (1596, 1196)).all(), shot.path


@pytest.mark.parametrize("layout", range(len(LAYOUTS)))
def test_ten_layouts_draw(layout):
    text = LabelText(
        "BRENVOK", "Deep groove ball bearing", "6205-2RS/C3", "25 x 52 x 15 mm", (("Qty", "4 pcs"),), "Made in Portugal"
    )
    width, height = LAYOUTS[layout].size_mm
    assert draw_label(text, LAYOUTS[layout]).shape == (height * 16, width * 16, 3)
    assert len(LAYOUTS) == 10


SMALL = SceneSpec(BearingPart("608", "open"), CameraSpec(90, 20), bench="wood", width_px=200, height_px=150)


def test_the_same_seed_draws_the_same_pixels_and_another_does_not():
    first, _ = draw_scene(SMALL, np.random.default_rng(3))
    again, _ = draw_scene(SMALL, np.random.default_rng(3))
    other, _ = draw_scene(SMALL, np.random.default_rng(4))
    assert (first == again).all()
    assert (first != other).any()


def test_a_scene_label_has_the_keys_that_scoring_needs():
    _, bearing = draw_scene(SMALL, np.random.default_rng(3))
    seal_spec = SceneSpec(SealPart((25, 40, 7), "spring_side"), CameraSpec(110, 5), width_px=200, height_px=150)
    _, seal = draw_scene(seal_spec, np.random.default_rng(3))
    for label in (bearing, seal):
        assert set(label["ellipses_px"]) == {"od_full", "od_top_edge", "bore_top_edge", "bore_full"}
        assert label["fully_in_view"] is True
    assert (bearing["kind"], bearing["closure"], bearing["bore_mm"], bearing["od_mm"]) == ("bearing", "open", 8, 22)
    assert bearing["ball_count"] >= 7
    assert (seal["kind"], seal["lip_face"], seal["size"]) == ("shaft_seal", "spring_side", "25x40x7")


def test_drawn_sizes_are_the_products_own():
    """The product's table is itself tested against outside lists; here only that the drawings use the same sizes."""
    boundary = pytest.importorskip("screener.specs.boundary").boundary
    seal_size = pytest.importorskip("screener.specs.seals").seal_size
    for name, (bore, od, width, chamfer) in BEARINGS.items():
        row = boundary(name)
        assert (row.bore_mm, row.od_mm, row.width_mm, row.r_min_mm) == (bore, od, width, chamfer), name
    for size in SEALS:
        assert seal_size(*size) is not None, size
