"""Differences from the shop's reference are weak signs, once for each cause; a poor photo is a gap, never a sign."""

from __future__ import annotations

from screener.parts import explain
from screener.screening.checks.reference import ALIKE, NOT_COMPARED, check
from screener.screening.model import Item, Observation, Requirement, Source, Surroundings
from screener.specs.screening_rules import finding_kinds, indicators


def item(*seen: tuple[str, str]) -> Item:
    observations = tuple(
        Observation(f"o{i}", "reference", says, Source("label", "box.jpg", "f" * 64, reader=reader))
        for i, (reader, says) in enumerate(seen, 1)
    )
    return Item("1", Requirement("1", "6205-2RS", explain("6205-2RS")), observations)


def test_each_cause_is_one_finding_with_its_indicator():
    # common practice: package, label and marking signs as indicators.toml lists them; their ratios are judgement
    checked = check(
        item(
            ("element_moved", "The code stands 3 mm off."),
            ("element_added", "There is print here."),
            ("text_misspelt", "A word is spelt otherwise."),
            ("colour_differs", "Another blue."),
            ("code_missing", "The code is not there."),
            ("mark_shapes_differ", "Other letters."),
        ),
        Surroundings("2026-11-25"),
    )
    assert {f.code: f.indicator for f in checked.findings} == {
        "package_differs": "PK4",
        "package_misspelt": "PK1",
        "colour_off": "PK3",
        "code_missing": "LB6",
        "mark_shapes_differ": "MK6",
    }
    assert all(f.weight != "contradiction" and f.question == "suspicion" for f in checked.findings)
    assert all(finding_kinds()[f.code].effect != "reject" for f in checked.findings)
    assert {f.indicator for f in checked.findings} <= set(indicators())


def test_a_photo_too_poor_is_a_gap_and_no_sign():
    checked = check(item((NOT_COMPARED, "the photo is too blurred to be compared.")), Surroundings("2026-11-25"))
    assert checked.findings == ()
    assert len(checked.gaps) == 1
    assert not checked.gaps[0].required


def test_alike_is_said_and_claims_nothing_about_the_part():
    checked = check(item((ALIKE, "as reference 3 (BRENVOK 6205-2RS, 2026-03-12)")), Surroundings("2026-11-25"))
    assert checked.findings == ()
    assert checked.agreed == ("box.jpg looks as reference 3 (BRENVOK 6205-2RS, 2026-03-12).",)
