"""One word for each: the supplier sold the part, the maker is named on it (common practice in letters to suppliers)."""

from __future__ import annotations

import re

from screener.specs.screening_rules import disposition_rules, finding_kinds, indicators, supplier_classes
from screener.specs.steps import steps


def sentences() -> list[str]:
    said = [text for kind in finding_kinds().values() for text in (kind.headline, kind.settle)]
    said += [
        text for each in indicators().values() for text in (each.says, each.how, each.settle, *each.ordinary_causes)
    ]
    said += [rule.next_step for rule in disposition_rules()] + [step.says for step in steps()]
    return said + [each.words for each in supplier_classes().values()]


def test_who_sold_it_is_the_supplier_everywhere() -> None:
    assert [text for text in sentences() if re.search(r"\b[Ss]ellers?\b", text)] == []


def test_a_part_goes_back_once_the_supplier_has_answered() -> None:
    (back,) = {rule.next_step for rule in disposition_rules() if rule.exit == "send back"}
    assert "other pieces" in back
    assert "once the supplier has answered" in back
