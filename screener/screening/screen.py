"""One item judged: checks, weighing, rules. The only place where they meet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.checks import (
    agreement,
    codes,
    coverage,
    face,
    identity,
    label_data,
    maker_claims,
    makers,
    named_part,
    photo_size,
    readings,
)
from screener.screening.checks.outcome import together
from screener.screening.model import ScreenedItem
from screener.screening.rules import decide, most_important_first
from screener.screening.summary import what_agrees
from screener.screening.weighing import weigh
from screener.specs.screening_rules import disposition_rules, finding_kinds, indicators, suspicion_settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from screener.screening.checks.outcome import Checked
    from screener.screening.model import Item, Surroundings

ALL_CHECKS: tuple[Callable[[Item, Surroundings], Checked], ...] = (
    named_part.check,
    readings.check,
    face.check,
    photo_size.check,
    agreement.check,
    makers.check,
    maker_claims.check,
    identity.check,
    codes.check,
    label_data.check,
    coverage.check,
)


def screen(item: Item, surroundings: Surroundings) -> ScreenedItem:
    """Judge one item by every check, the weights and the rules of reference_specs/."""
    checked = together(check(item, surroundings) for check in ALL_CHECKS)
    kinds = finding_kinds()
    findings = tuple(most_important_first(checked.findings, kinds))
    suspicion = weigh(findings, indicators(), suspicion_settings())
    disposition = decide(findings, suspicion, checked.gaps, what_agrees(item), rules=disposition_rules(), kinds=kinds)
    return ScreenedItem(item, disposition, suspicion, findings, checked.gaps, checked.agreed)
