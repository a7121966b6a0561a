"""``screener verify`` as the README shows it: what photos add to readings, and which photos are the faces."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from cli.telling import told

from screener.errors import WrongUsage

SAMPLE = Path(__file__).parents[2] / "samples" / "photos" / "01"
"""Both faces and the box of a 6205-2RS/C3, drawn with labels by samples/delivery.py."""
RIGHT = ("--od", 51.99, "--od", 51.98, "--bore", 25.0, "--width", 15.0, "--mass", 132)
"""6205 is 25 x 52 x 15 mm (ISO 15); lists give it about 0.13 kg."""
NEED = ("verify", "--need", "6205-2RS C3", "--duty", "wet")


def test_right_readings_alone_accept_nothing_and_wrong_ones_refuse(tmp_path: Path) -> None:
    # common practice: a caliper sees neither seal nor clearance, so that readings alone can only refuse.
    where = ("--record", tmp_path / "r.sqlite")
    assert told(*NEED, *RIGHT, *where, code=10).startswith("HOLD")
    assert told(*NEED, "--od", 47.0, *where, code=20).startswith("DO NOT USE")


@pytest.mark.slow
def test_the_two_faces_are_known_by_their_names_or_by_both_faces(tmp_path: Path) -> None:
    where = ("--record", tmp_path / "r.sqlite")
    named = [SAMPLE / "face_1.jpg", SAMPLE / "face_2.jpg", SAMPLE / "box.jpg"]
    assert told(*NEED, *named, *RIGHT, *where).startswith("USE")
    other = [tmp_path / name for name in ("IMG_1.jpg", "IMG_2.jpg")]
    for photo, copy in zip(named, other, strict=False):
        shutil.copy(photo, copy)
    unsaid = told(*NEED, *other, *where, code=10)
    assert "face1 and face2 in their names" in unsaid
    assert "both faces show" in told(*NEED, "--both-faces", *other, *where)


def test_the_help_says_the_unit_of_mass_and_which_photos_both_faces_means() -> None:
    said = " ".join(told("verify", "--help").split())
    assert "Mass in grams (g)" in said
    assert "first two photos of the part" in said


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        (("--od", "2.0469"), "write 2.0469in"),
        (("--od", 25, "--bore", 52), "bore and outside diameter look exchanged"),
        (("--mass", 0.132), "looks like kilograms"),
    ],
)
def test_a_slip_is_no_ground_for_a_claim(reading: tuple[object, ...], says: str, tmp_path: Path) -> None:
    """An inch is 25.4 mm; 6205 is 25 x 52 x 15 mm (ISO 15), about 0.13 kg in lists."""
    with pytest.raises(WrongUsage) as caught:
        told(*NEED, *reading, "--record", tmp_path / "r.sqlite", code=2)
    assert says in str(caught.value)
    with pytest.raises(WrongUsage):
        told("measure", "6205", *reading, code=2)
    assert "No item is recorded" in told("log", "items", "--record", tmp_path / "r.sqlite")
