"""One item judged: checks, weighing, rules. The only place where they meet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.screening.checks import (
    agreement,
    cage,
    codes,
    commercial,
    coverage,
    face,
    identity,
    label_data,
    lot_marks,
    maker_claims,
    makers,
    marking_quality,
    named_part,
    person_signs,
    photo_size,
    readings,
    reference,
    snap_ring,
)
from screener.screening.checks.commercial import supplier_class
from screener.screening.checks.outcome import together
from screener.screening.learning import learned_indicators
from screener.screening.looked_for import looked_for
from screener.screening.model import ScreenedItem
from screener.screening.next_steps import Standing, next_steps
from screener.screening.observed import of_this_piece
from screener.screening.rules import decide, most_important_first
from screener.screening.summary import what_agrees
from screener.screening.weighing import absence, weigh
from screener.specs.screening_rules import (
    disposition_rules,
    finding_kinds,
    indicator_groups,
    indicators,
    supplier_classes,
    suspicion_settings,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from screener.screening.checks.outcome import Checked
    from screener.screening.model import Finding, Item, Surroundings, Suspicion

ALL_CHECKS: tuple[Callable[[Item, Surroundings], Checked], ...] = (
    named_part.check,
    readings.check,
    face.check,
    cage.check,
    snap_ring.check,
    photo_size.check,
    agreement.check,
    makers.check,
    maker_claims.check,
    marking_quality.check,
    identity.check,
    codes.check,
    commercial.check,
    label_data.check,
    lot_marks.check,
    reference.check,
    person_signs.check,
    coverage.check,
)


def screen(item: Item, surroundings: Surroundings) -> ScreenedItem:
    """Judge one item by every check, the weights and the rules of reference_specs/."""
    checked = together(check(item, surroundings) for check in ALL_CHECKS)
    piece = of_this_piece(item)
    if piece is not item:
        # A picture of an earlier item may raise a question, but nothing that it shows was seen of this piece.
        seen = together(check(piece, surroundings) for check in ALL_CHECKS)
        checked = replace(checked, gaps=seen.gaps, agreed=seen.agreed)
    kinds = finding_kinds()
    findings = tuple(most_important_first(checked.findings, kinds))
    suspicion = suspicion_of(item, findings, surroundings)
    disposition = decide(
        findings, suspicion, checked.gaps, what_agrees(piece, checked.gaps), rules=disposition_rules(), kinds=kinds
    )
    used = learned_indicators(indicators(), surroundings.tallies, suspicion_settings())
    standing = Standing(item, findings, checked.gaps, suspicion, disposition, used)
    return ScreenedItem(item, disposition, suspicion, findings, checked.gaps, checked.agreed, next_steps(standing))


def suspicion_of(item: Item, findings: tuple[Finding, ...], surroundings: Surroundings) -> Suspicion:
    """Weigh the findings with the ratios as outcomes have moved them, and say what was looked for and expected."""
    settings = suspicion_settings()
    used = learned_indicators(indicators(), surroundings.tallies, settings)
    weighed = weigh(findings, {name: each.indicator for name, each in used.items()}, settings)
    looked = looked_for(of_this_piece(item), indicators())
    unseen = absence(looked, weighed, used, indicator_groups(), settings)
    supplier = supplier_classes().get(supplier_class(item, surroundings))
    return replace(
        weighed,
        indicators=tuple(replace(w, learned_from=used[w.indicator].items) for w in weighed.indicators),
        absence_db=unseen.db,
        absence_half_db=unseen.half_db,
        groups_without=unseen.groups,
        prior_percent=supplier.prior_percent if supplier else settings.prior_percent,
        supplier_class=supplier.words if supplier else "",
        looked_for=looked,
    )
