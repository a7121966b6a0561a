"""How a mark is made and what a cage is made of, as evidence. Expected answers follow from trade practice: one process
makes all letters alike (common practice), an unmarked cage is the maker's choice, suffixes TN9, M and J name cages of
polyamide, brass and pressed steel (suffix guides, see reference_specs/suffixes.csv).
"""

from __future__ import annotations

import pytest

from screener.parts import explain
from screener.screening.checks import cage, marking_quality
from screener.screening.model import Item, Observation, Requirement, Source, Surroundings

NOTHING = Surroundings(today="2026-05-01")


def item(need: str, *observations: Observation) -> Item:
    return Item("1", Requirement("1", need, explain(need)), observations)


def spread(attribute: str, value: float, u: float = 0.02, photo: str = "a.jpg") -> Observation:
    key = f"{attribute}{photo}"
    return Observation(key, attribute, value, Source("marking", photo, reader="6205"), u=u)  # type: ignore[arg-type]


def mark() -> Observation:
    return Observation("m", "designation", "6205", Source("marking", "a.jpg", reader="mark"), p=0.95)


EVEN = (spread("mark_spacing", 0.06), spread("mark_baseline", 0.004, 0.003), spread("mark_stroke", 0.05))


def test_an_even_mark_agrees():
    checked = marking_quality.check(item("6205", mark(), *EVEN, spread("mark_contrast", 0.03)), NOTHING)
    assert not checked.findings
    assert not checked.gaps
    assert checked.agreed


def test_a_wandering_baseline_is_asked_about_with_its_ordinary_causes():
    checked = marking_quality.check(item("6205", mark(), spread("mark_baseline", 0.08, 0.02)), NOTHING)
    (finding,) = checked.findings
    assert (finding.code, finding.weight, finding.indicator) == ("mark_uneven", "question", "MK5")
    assert "stamped" in finding.says
    assert "do not stand on one line" in finding.says


def test_a_little_in_one_way_is_a_note_that_speaks_for_nothing():
    (finding,) = marking_quality.check(item("6205", mark(), spread("mark_contrast", 0.16)), NOTHING).findings
    assert (finding.weight, finding.indicator) == ("note", None)


@pytest.mark.parametrize("second", [spread("mark_stroke", 0.16), spread("mark_contrast", 0.16, photo="b.jpg")])
def test_two_ways_or_two_photos_make_it_a_question(second):
    (finding,) = marking_quality.check(item("6205", mark(), spread("mark_contrast", 0.16), second), NOTHING).findings
    assert finding.weight == "question"


def test_within_its_uncertainty_nothing_is_uneven():
    assert not marking_quality.check(item("6205", mark(), spread("mark_contrast", 0.16, 0.06)), NOTHING).findings


def test_a_mark_that_could_not_be_judged_is_not_checked():
    checked = marking_quality.check(item("6205", mark()), NOTHING)
    assert [gap.code for gap in checked.gaps] == ["mark_quality"]
    assert not checked.gaps[0].required
    assert not marking_quality.check(item("6205"), NOTHING).gaps


def cage_seen(value: str, p: float = 0.85) -> Observation:
    return Observation("c", "cage", value, Source("face", "a.jpg"), p=p)


@pytest.mark.parametrize(
    ("need", "seen", "differs"),
    [
        ("6205TN9", "brass", True),
        ("6205M", "polymer", True),
        ("6205M", "brass", False),
        ("6205TN9", "polymer", False),
        ("6205J", "brass", True),
        ("6205TN9", "steel", False),
        ("6205", "brass", False),
        ("6205", "polymer", False),
    ],
)
def test_cage_against_what_the_designation_names(need, seen, differs):
    findings = cage.check(item(need, cage_seen(seen)), NOTHING).findings
    assert [f.code for f in findings] == (["cage_differs"] if differs else [])
    assert all((f.weight, f.indicator) == ("question", "CO5") for f in findings)


def test_an_unsure_cage_says_nothing():
    assert not cage.check(item("6205TN9", cage_seen("brass", 0.7)), NOTHING).findings


def test_the_mark_may_name_the_cage_as_well():
    read = Observation("m", "designation", "6205 M", Source("marking", "a.jpg", reader="mark"), p=0.95)
    (finding,) = cage.check(item("6205", read, cage_seen("steel")), NOTHING).findings
    assert set(finding.observations) == {"c", "m"}
