"""The catalogue of signs: complete in form, honest in words."""

from __future__ import annotations

import re

from screener.screening.strength import ratio_says, seen_by_tool, strength
from screener.specs.screening_rules import finding_kinds, indicator_groups, indicators, supplier_classes

# Words never used for a result (common practice in suspect-item guidance: an item is "suspect" until confirmed).
_NEVER_SAID = re.compile(
    r"\b(genuine|authentic|original|verified|certified|counterfeit|fake|fraud|forged|illegal|pirate|guilty)\b", re.I
)


def test_every_sign_says_how_to_see_it_what_else_explains_it_and_what_settles_it():
    for each in indicators().values():
        assert each.group in indicator_groups(), each.id
        assert 1 <= each.ratio_low <= each.ratio <= each.ratio_high, each.id
        assert each.how, each.id
        assert each.ordinary_causes, each.id
        assert each.settle, each.id
        assert "judgement" in each.source, each.id


def test_nine_groups_and_about_sixty_signs():
    # The guidance read for the catalogue gives about sixty in nine groups.
    assert len(indicator_groups()) == 9
    assert {each.group for each in indicators().values()} == set(indicator_groups())
    assert len(indicators()) >= 60


def test_no_sign_accuses():
    for each in indicators().values():
        assert not _NEVER_SAID.search(f"{each.says} {each.settle} {' '.join(each.ordinary_causes)}"), each.id


def test_only_a_repeated_serial_and_a_removed_mark_stand_alone():
    # Judgement behind it: at 1 % prior, 10 dB reaches 9 %, so no single ordinary sign may say "strong" (Bayes).
    assert {each.id for each in indicators().values() if each.alone_enough_for_strong} == {"SN1", "MK3"}


def test_absence_is_weak_evidence():
    for group in indicator_groups().values():
        assert 0.8 <= group.absence_ratio <= 0.95


def test_every_finding_points_at_a_sign_there_is():
    assert {k.indicator for k in finding_kinds().values() if k.indicator} <= set(indicators())
    assert "PK1" in seen_by_tool()
    assert "CO1" not in seen_by_tool()


def test_supplier_classes_stand_on_both_sides_of_the_ordinary_one():
    assert supplier_classes()["authorised"].prior_percent < 1 < supplier_classes()["new"].prior_percent


def test_words_for_one_sign():
    assert [strength(db) for db in (0, 3, 7, 13)] == ["says nothing", "weak", "moderate", "strong"]
    assert ratio_says(20, 10, 50) == (
        "strong: seen about 20 times as often on bad items as on good ones (10 to 50; 10 to 17 dB)"
    )
    assert "nothing" in ratio_says(1, 1, 1)
