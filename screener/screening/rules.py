"""Findings, suspicion and gaps to one disposition, by the rules in reference_specs/disposition_rules.toml."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.model import Disposition

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from screener.screening.model import Finding, Level, NotChecked, Suspicion
    from screener.specs.screening_rules import DispositionRule, FindingKind

LEVELS: tuple[Level, ...] = ("none", "weak", "moderate", "strong")
_WEIGHT_ORDER = {"contradiction": 0, "question": 1, "note": 2}
_EFFECT_ORDER = {"reject": 0, "hold": 1, "none": 2}


def decide(
    findings: Sequence[Finding],
    suspicion: Suspicion,
    gaps: Sequence[NotChecked],
    summary: str,
    *,
    rules: Sequence[DispositionRule],
    kinds: Mapping[str, FindingKind],
) -> Disposition:
    """Apply the first rule whose conditions hold. The last rule of the file always applies."""
    effects = {effect_of(f, kinds) for f in findings}
    missing = [g for g in gaps if g.required]
    names = frozenset(g.code for g in missing)
    rule = next(r for r in rules if _applies(r, effects, suspicion.level, names))
    return Disposition(
        word=rule.disposition,
        exit=rule.exit,
        reason=_reason(rule, findings, gaps, summary, kinds),
        next_step=_next_step(rule, findings, missing, kinds),
        rule=rule.id,
    )


def effect_of(finding: Finding, kinds: Mapping[str, FindingKind]) -> str:
    """What the finding does to the part: the effect of its kind; a note never does anything."""
    return "none" if finding.weight == "note" else kinds[finding.code].effect


def most_important_first(findings: Sequence[Finding], kinds: Mapping[str, FindingKind]) -> list[Finding]:
    """The finding to show first is the one that decides: by effect, then by weight, then as found."""
    return sorted(findings, key=lambda f: (_EFFECT_ORDER[effect_of(f, kinds)], _WEIGHT_ORDER[f.weight]))


def _applies(rule: DispositionRule, effects: set[str], level: Level, missing: frozenset[str]) -> bool:
    if rule.otherwise:
        return True
    conditions = []
    if rule.when_suspicion is not None:
        conditions.append(LEVELS.index(level) >= LEVELS.index(rule.when_suspicion))
    if rule.when_effect is not None:
        conditions.append(rule.when_effect in effects)
    if rule.when_missing:
        conditions.append(bool(missing))
    if rule.when_gap is not None:
        conditions.append(rule.when_gap in missing)
    return bool(conditions) and all(conditions)


def _reason(
    rule: DispositionRule,
    findings: Sequence[Finding],
    gaps: Sequence[NotChecked],
    summary: str,
    kinds: Mapping[str, FindingKind],
) -> str:
    if rule.when_suspicion is not None:
        suspects = [f for f in findings if f.indicator is not None]
        return most_important_first(suspects, kinds)[0].says
    if rule.when_effect is not None:
        return most_important_first(findings, kinds)[0].says
    if rule.when_gap is not None:
        return next(g.says for g in gaps if g.code == rule.when_gap)
    if rule.when_missing:
        missing = next(g for g in gaps if g.required)
        spoilt = [g.says for g in gaps if g.code == "photo"]
        return " ".join([f"Not enough was seen: {missing.says}", *spoilt[:1]])
    return summary


def _next_step(
    rule: DispositionRule,
    findings: Sequence[Finding],
    missing: Sequence[NotChecked],
    kinds: Mapping[str, FindingKind],
) -> str:
    if rule.exit == "keep and ask":
        suspects = most_important_first([f for f in findings if f.indicator is not None], kinds)
        settle = (suspects[0].next_step or kinds[suspects[0].code].settle) if suspects else ""
        return f"{rule.next_step} {settle}".strip()
    if rule.exit != "look again":
        return rule.next_step
    if rule.when_gap is not None:
        return next(g.next_step for g in missing if g.code == rule.when_gap) or rule.next_step
    if rule.when_effect is not None:
        first = most_important_first(findings, kinds)[0]
        return first.next_step or kinds[first.code].settle
    steps = dict.fromkeys(g.next_step for g in missing if g.next_step)
    return " ".join(steps) or rule.next_step
