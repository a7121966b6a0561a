"""Photos to lines: by folder, by file name, by what is read; what cannot be assigned is listed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.codes.model import CodeFields, CodeRead
from screener.looking.reading import PhotoReading
from screener.parts import explain
from screener.receiving.assign import LineToFill, assign, line_of_item
from screener.vision.model import DesignationRead, Ellipse, PartSeen, Problem

LINES = [
    LineToFill("1", explain("6205-2RS C3")),
    LineToFill("2", explain("6203-2Z")),
    LineToFill("3", explain("35x52x7 FKM")),
    LineToFill("A-7", explain("6001-2Z")),
]


def read_as(text: str) -> PhotoReading:
    part = PartSeen("bearing", Ellipse(0, 0, 1, 1, 0), designation=DesignationRead(text, 0.9))
    return PhotoReading("x", parts=(part,))


def one(photo: str, reading: PhotoReading | None = None):
    done = assign([photo], LINES, {photo: reading} if reading else {})
    item = next((k for k, photos in done.items.items() if photos), None)
    return item, [u.says for u in done.unassigned]


@pytest.mark.parametrize(
    ("photo", "item"),
    [
        ("1/a.jpg", "1"),
        ("01/a.jpg", "1"),
        ("line 2/face1.jpg", "2"),
        ("Pos.3/x.jpg", "3"),
        ("2/box-b/face1.jpg", "2/box-b"),
        ("delivery/2/face1.jpg", "2"),
        ("A-7/face.jpg", "A-7"),
        ("2_face1.jpg", "2"),
        ("line03-back.png", "3"),
        ("6203-2Z face 1.jpg", "2"),
        ("35x52x7_back.jpg", "3"),
    ],
)
def test_folder_and_file_name(photo, item):
    assert one(photo)[0] == item


@pytest.mark.parametrize("photo", ["IMG_20261120_0912.jpg", "20260101_101010.jpg", "9_face.jpg", "holiday/beach.jpg"])
def test_a_cameras_own_names_say_nothing(photo):
    item, says = one(photo)
    assert item is None
    assert len(says) == 1


def test_what_is_read_assigns_also_the_wrong_variant():
    assert one("IMG_1.jpg", read_as("6205-2RS/C3"))[0] == "1"
    assert one("IMG_1.jpg", read_as("6205-2Z"))[0] == "1"


def test_what_fits_no_line_or_several_is_said():
    assert "fits no line" in one("IMG_1.jpg", read_as("6310"))[1][0]
    twice = [LineToFill("1", explain("6205-2RS")), LineToFill("2", explain("6205-2RS"))]
    done = assign(["IMG_1.jpg"], twice, {"IMG_1.jpg": read_as("6205-2RS")})
    assert "fits lines 1, 2" in done.unassigned[0].says


def test_a_code_assigns():
    code = CodeRead("Code 128", "x", "r", fields=CodeFields(designation="6203-2Z"))
    assert one("IMG_1.jpg", PhotoReading("x", codes=(code,)))[0] == "2"


def test_unreadable_photo_is_listed():
    bad = PhotoReading("x", problems=(Problem("damaged", "…"),), readable=False)
    assert "could not be read" in one("IMG_1.jpg", bad)[1][0]


def test_a_line_without_photos_keeps_an_item():
    assert assign(["1/a.jpg"], LINES, {}).items["3"] == ()


@given(
    st.lists(st.text(st.characters(blacklist_characters="\0", blacklist_categories=["Cs"]), min_size=1), unique=True)
)
def test_no_photo_is_ever_lost_or_doubled(photos):
    done = assign(photos, LINES, {})
    everywhere = [p for group in done.items.values() for p in group] + [u.photo for u in done.unassigned]
    assert sorted(everywhere) == sorted(photos)
    assert {line_of_item(k) for k in done.items} >= {"1", "2", "3"} - {"A-7"}
