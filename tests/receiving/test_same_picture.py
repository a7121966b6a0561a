"""One picture given for two items, saved again. The truth is made here: the copy is made from the first photo."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import cv2
import numpy as np
import pytest

from screener.parts import explain
from screener.receiving.same_pictures import SamePictures
from screener.receiving.surroundings import surroundings_of
from screener.records.record import Record
from screener.screening.model import Item, Observation, Requirement, Source
from screener.screening.screen import screen
from screener.vision.fingerprint import fingerprint

PHOTOS = Path(__file__).parents[2] / "samples" / "photos"


def item(key: str, sha: str, name: str) -> Item:
    seen = Observation("o1", "maker", "BRENVOK", Source("label", name, sha), p=0.99)
    return Item(key, Requirement(line=key, need="6205", explained=explain("6205")), (seen,), (name,))


def findings(first: np.ndarray, second: np.ndarray, tmp_path: Path) -> list[str]:
    items = [item("1", "a" * 64, "box.jpg"), item("2", "b" * 64, "copy.jpg")]
    pictures = SamePictures.among({"a" * 64: fingerprint(first), "b" * 64: fingerprint(second)})
    with Record.open(tmp_path / "record.sqlite") as record:
        run = record.start_run("receive", order_name="o", photos_fingerprint="", settings={})
        around = surroundings_of(items[0], items, record, run, dt.date(2026, 11, 25), pictures)
    return [f.says for f in screen(items[0], around).findings if f.code == "photo_used_twice"]


def test_a_photo_saved_again_for_another_item_is_told(tmp_path: Path) -> None:
    picture = cv2.imread(str(PHOTOS / "01" / "box.jpg"), cv2.IMREAD_GRAYSCALE)
    _, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 40])
    (says,) = findings(picture, cv2.imdecode(data, cv2.IMREAD_GRAYSCALE), tmp_path)
    assert "box.jpg" in says
    assert "item 2, as copy.jpg" in says
    assert "saved again, cut or turned" in says


def test_a_part_of_a_photo_turned_for_another_item_is_told(tmp_path: Path) -> None:
    picture = cv2.imread(str(PHOTOS / "01" / "box.jpg"), cv2.IMREAD_GRAYSCALE)
    height, width = picture.shape
    part = np.ascontiguousarray(np.rot90(picture[height // 10 : height * 8 // 10, width // 5 :]))
    assert len(findings(picture, part, tmp_path)) == 1


@pytest.mark.parametrize("other", ["02/box.jpg", "01/face_1.jpg"])
def test_another_photo_is_not(other: str, tmp_path: Path) -> None:
    first, second = (cv2.imread(str(PHOTOS / p), cv2.IMREAD_GRAYSCALE) for p in ("01/box.jpg", other))
    assert findings(first, second, tmp_path) == []
