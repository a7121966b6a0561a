"""A snap-ring groove seen in photos against the designation that names one. Expected answers: N is the groove, NR the
groove with its ring (suffix guides, see reference_specs/suffixes.csv); a groove is cut beside one face only (ISO 464),
and one that nobody asked for does no harm in a plain housing (common practice).
"""

from __future__ import annotations

import pytest

from screener.parts import explain
from screener.screening.checks import photo_size, snap_ring
from screener.screening.model import Item, Observation, Requirement, Source, Surroundings
from screener.specs.screening_rules import finding_kinds

NOTHING = Surroundings(today="2026-05-01")


def item(need: str, *observations: Observation) -> Item:
    return Item("1", Requirement("1", need, explain(need)), observations)


def seen(value: str, face: str = "first", p: float = 0.9) -> Observation:
    where = Source("face", f"{face}.jpg")
    return Observation(f"{face}{value}", "snap_ring_groove", value, where, p=p, face=face)  # type: ignore[arg-type]


def mark(text: str) -> Observation:
    return Observation("m", "designation", text, Source("marking", "a.jpg", reader="mark"), p=0.95)


def label(text: str) -> Observation:
    return Observation("l", "designation", text, Source("label", "box.jpg"), p=0.95)


BOTH_ABSENT = (seen("absent"), seen("absent", "second"))


@pytest.mark.parametrize(("need", "gaps"), [("6205N", ["snap_ring"]), ("6205NR", ["snap_ring"]), ("6205", [])])
def test_a_snap_ring_groove_is_listed_as_not_seen(need, gaps):
    assert [gap.code for gap in snap_ring.check(item(need), NOTHING).gaps] == gaps


@pytest.mark.parametrize("need", ["6205N", "6205-2ZN"])
def test_a_groove_seen_beside_one_face_agrees(need):
    checked = snap_ring.check(item(need, seen("present"), seen("absent", "second")), NOTHING)
    assert checked.agreed
    assert not checked.findings
    assert not checked.gaps


def test_one_face_without_a_groove_is_one_face_known():
    checked = snap_ring.check(item("6205N", seen("absent")), NOTHING)
    assert not checked.findings
    assert [gap.code for gap in checked.gaps] == ["snap_ring"]


def test_no_groove_beside_either_face_is_a_question():
    (finding,) = snap_ring.check(item("6205N", *BOTH_ABSENT), NOTHING).findings
    assert (finding.code, finding.weight) == ("groove_not_seen", "question")
    assert finding_kinds()[finding.code].effect == "hold"


def test_the_mark_or_the_label_may_name_the_groove_as_well():
    for read in (mark("6205 N"), label("6205N")):
        (finding,) = snap_ring.check(item("6205", read, *BOTH_ABSENT), NOTHING).findings
        assert read.key in finding.observations
        assert snap_ring.check(item("6205", read, seen("present")), NOTHING).agreed


def test_a_ring_fills_its_groove_so_that_none_seen_says_nothing():
    checked = snap_ring.check(item("6205NR", *BOTH_ABSENT), NOTHING)
    assert not checked.findings
    assert [gap.code for gap in checked.gaps] == ["snap_ring"]


def test_a_groove_seen_leaves_open_whether_the_ring_came_with_it():
    checked = snap_ring.check(item("6205NR", seen("present")), NOTHING)
    assert checked.agreed
    assert [gap.code for gap in checked.gaps] == ["snap_ring"]


def test_a_groove_that_nobody_names_is_told_and_holds_nothing():
    (finding,) = snap_ring.check(item("6205", mark("6205"), seen("present")), NOTHING).findings
    assert (finding.code, finding.weight) == ("groove_not_named", "question")
    assert finding_kinds()[finding.code].effect == "none"


def test_an_unsure_look_says_nothing():
    unsure = (seen("absent", p=0.7), seen("absent", "second", p=0.7))
    assert not snap_ring.check(item("6205N", *unsure), NOTHING).findings
    assert not snap_ring.check(item("6205", seen("present", p=0.7)), NOTHING).findings


def measured(attribute: str, value: float, u: float) -> Observation:
    return Observation(attribute, attribute, value, Source("geometry", "a.jpg"), u=u)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("need", "measures", "fits"),
    [
        # 6205: 25 x 52 mm; its ring stands out to about 57.9 mm (reference_specs/snap_ring_grooves.csv, from memory).
        ("6205NR", (("od_mm", 57.5, 0.2), ("bore_to_od", 25 / 57.5, 0.002)), True),
        ("6205NR", (("od_mm", 52.1, 0.2), ("bore_to_od", 25 / 52.1, 0.002)), True),
        ("6205NR", (("od_mm", 61.8, 0.2),), False),
        ("6205NR", (("od_mm", 47.0, 0.2),), False),
        ("6205N", (("od_mm", 57.5, 0.2),), False),
        ("6205", (("bore_to_od", 25 / 57.5, 0.002),), False),
    ],
)
def test_the_edge_of_a_snap_ring_is_no_wrong_size(need, measures, fits):
    found = photo_size.check(item(need, *(measured(*each) for each in measures)), NOTHING)
    assert ("size_in_photo_differs" not in {finding.code for finding in found.findings}) is fits
