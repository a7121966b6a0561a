"""One photo read whole: bad files, only-codes, the JSON contract. Photos are drawn by samples/drawing."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from screener.looking.look import look
from screener.looking.many import look_at_all
from screener.looking.reading import as_json, from_json

SAMPLES = Path(__file__).parents[2] / "samples" / "photos"

CONTRACT = {"schema", "photo", "sha256", "width_px", "height_px", "problems", "scale", "codes", "parts", "label"}
PART = {
    "kind",
    "outer_ellipse_px",
    "bore_ellipse_px",
    "bore_to_od",
    "od_mm",
    "bore_mm",
    "closure",
    "lip_face",
    "marks",
    "designation",
    "sizes",
}
"""Keys of screener.look/1; the design's contract says that fields may be added, never renamed."""


@pytest.fixture(scope="module")
def face():
    return look(SAMPLES / "01" / "face_1.jpg")


@pytest.fixture(scope="module")
def box():
    return look(SAMPLES / "02" / "box.jpg")


def test_a_face_is_found_measured_and_read(face):
    part = face.parts[0]
    # ISO 15: a 6205 is 25 x 52 x 15; the drawn part is one. Three standard uncertainties, as the checks allow.
    assert part.kind == "bearing"
    assert abs(part.od_mm.value - 52) < 3 * part.od_mm.u + 0.1
    assert abs(part.bore_to_od.value - 25 / 52) < 3 * part.bore_to_od.u
    assert part.closure.value == "rubber_seal"
    assert part.sizes[0].bore_mm == 25


def test_a_box_gives_codes_and_label_and_no_part(box):
    assert box.label.fields.designation == "6306-2RS C3"
    assert any(code.fields.serial for code in box.codes)
    assert box.parts == ()


@pytest.mark.parametrize("name", ["face", "box"])
def test_the_json_is_the_contract_and_comes_back(name, request):
    reading = request.getfixturevalue(name)
    document = json.loads(json.dumps(as_json(reading)))
    assert document.keys() >= CONTRACT
    assert document["schema"] == "screener.look/1"
    assert all(part.keys() >= PART for part in document["parts"])
    assert from_json(document) == reading


def test_codes_alone_load_no_text_engine():
    script = (
        "import sys; from pathlib import Path; from screener.looking.look import look;"
        f"r = look(Path({str(SAMPLES / '02' / 'box.jpg')!r}), frozenset({{'codes'}}));"
        "assert r.codes and not r.parts and r.label is None;"
        "assert 'onnxruntime' not in sys.modules and 'rapidocr' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", script], check=True)


@pytest.fixture
def troubled(tmp_path):
    (tmp_path / "text.jpg").write_text("This is no photo.\n" * 50)
    whole = (SAMPLES / "01" / "box.jpg").read_bytes()
    (tmp_path / "half.jpg").write_bytes(whole[: len(whole) // 2])
    (tmp_path / "empty.jpg").write_bytes(b"")
    rng = np.random.default_rng(1)
    noise = rng.integers(0, 255, (300, 400, 4), dtype=np.uint8)
    Image.fromarray(noise, "CMYK").save(tmp_path / "cmyk.jpg")
    Image.fromarray(rng.integers(0, 65535, (300, 400), dtype=np.uint16)).save(tmp_path / "deep.png")
    return tmp_path


def test_bad_files_give_a_sentence_and_the_rest_goes_on(troubled):
    names = ["text.jpg", "half.jpg", "empty.jpg", "cmyk.jpg", "deep.png", "missing.jpg"]
    readings = list(look_at_all([troubled / n for n in names], workers=1))
    readable = {Path(r.photo).name: r.readable for r in readings}
    assert readable == dict(zip(names, [False, False, False, True, True, False], strict=True))
    assert all(r.problems[0].says.endswith(".") for r in readings if not r.readable)


def test_a_pixel_bomb_is_refused_by_its_header(tmp_path):
    # 20,000 x 20,000 white pixels: a few hundred kB of PNG, 1.2 GB once decoded.
    Image.new("1", (20_000, 20_000), 1).save(tmp_path / "bomb.png")
    reading = look(tmp_path / "bomb.png")
    assert not reading.readable
    assert "pixels" in reading.problems[0].says


@pytest.mark.slow
def test_several_processes_read_the_same_in_the_same_order(troubled):
    photos = [
        SAMPLES / "01" / "face_1.jpg",
        troubled / "text.jpg",
        SAMPLES / "02" / "box.jpg",
        troubled / "deep.png",
        SAMPLES / "03" / "face_1.jpg",
    ]
    alone = list(look_at_all(photos, frozenset({"codes"}), workers=1))
    together = list(look_at_all(photos, frozenset({"codes"}), workers=2))
    assert together == alone
