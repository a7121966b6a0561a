"""What to do next: the step that would settle the doubt at least cost.

Each step of reference_specs/steps.toml that was not made yet is tried in thought. Its possible results are put
through the same weighing and rules as the item itself, so "settles" means that the disposition would really change. A
result that finds an ordinary cause can only come where there is one: its chance is that of the step times that of an
ordinary cause, at the odds of the item (`screener.screening.odds`).

Steps are ranked by cost over the chance that they change the disposition: for independent tests made one after the
other until one settles, that order has the least expected cost (Mitten 1960, least-cost testing sequence).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

from screener.screening.model import Finding, NextStep, StepResult
from screener.screening.observed import observed
from screener.screening.odds import odds_db
from screener.screening.rules import decide
from screener.screening.weighing import decibels, weigh
from screener.specs.screening_rules import disposition_rules, finding_kinds, suspicion_settings
from screener.specs.steps import step_settings, steps

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from screener.screening.learning import Learned
    from screener.screening.model import Disposition, Item, NotChecked, Suspicion
    from screener.specs.steps import Step

_NOT_ORDERED = "size_not_as_ordered"
_LEAST_CHANCE = 0.05
"""A step that changes anything in fewer cases is not worth anybody's hands."""


@dataclass(frozen=True, slots=True)
class Standing:
    """An item as it stands: what a step can change."""

    item: Item
    findings: tuple[Finding, ...]
    gaps: tuple[NotChecked, ...]
    suspicion: Suspicion
    disposition: Disposition
    used: Mapping[str, Learned]
    """Every indicator with the ratio in use, and how often it is seen on bad and good items."""


def next_steps(standing: Standing) -> tuple[NextStep, ...]:
    """Rank the steps not yet made; none for a part that may be used and about which nothing is suspect."""
    if standing.disposition.word == "accept" and standing.suspicion.level == "none":
        return ()
    tried = [step for each in steps() if (step := _try(each, standing)) is not None]
    settings = step_settings()
    return tuple(sorted(tried, key=lambda s: s.cost_s / s.chance))[: settings.offered]


def _try(step: Step, standing: Standing) -> NextStep | None:
    """The step's possible results, or None where it was made, has nothing to begin with, or can change nothing."""
    told = {o.source.channel for o in standing.item.observations}
    if (step.after and not step.after & told) or step.not_after & told:
        return None
    if step.done_when and all(observed(standing.item, a, ("instrument",)) for a in step.done_when):  # type: ignore[arg-type]
        return None
    chances: dict[tuple[str, str, str], float] = defaultdict(float)
    for chance, disposition, level in _results(step, standing):
        chances[disposition.word, disposition.exit, level] += chance
    now = (standing.disposition.word, standing.disposition.exit)
    changed = sum(chance for (word, way, _), chance in chances.items() if (word, way) != now)
    if any(f.code in step.explains and f.indicator for f in standing.findings):
        changed = min(1.0, changed + step.confirms_bad * _chance_bad(standing.suspicion))
    if changed < _LEAST_CHANCE:
        return None
    return NextStep(
        step=step.id,
        says=step.says,
        hands_on_s=step.hands_on_s,
        wait_days=step.wait_days,
        cost_s=step.hands_on_s + step.wait_days * step_settings().waiting_day_counts_s,
        chance=round(changed, 3),
        results=tuple(
            StepResult(word, way, level, round(chance, 3))  # type: ignore[arg-type]
            for (word, way, level), chance in sorted(chances.items(), key=lambda c: -c[1])
        ),
        has_to_show=tuple(gap.word for gap in _closed(step, standing)),
    )


def _results(step: Step, standing: Standing) -> list[tuple[float, Disposition, str]]:
    """Each combination of "explained or not" and "a sign shows or not", with its chance and what would follow."""
    explained, shown = _chance_explained(step, standing), _chance_shown(step, standing)
    if explained is None and shown is None:
        return []
    cases = []
    for clear, sign in product((True, False), repeat=2):
        p = (explained or 0.0) if clear else 1 - (explained or 0.0)
        p *= (shown[1] if shown else 0.0) if sign else 1 - (shown[1] if shown else 0.0)
        if p > 0:
            cases.append((p, *_after(step, standing, clear=clear, sign=shown[0] if shown and sign else None)))
    return cases


def _closed(step: Step, standing: Standing) -> list[NotChecked]:
    """The missing checks that acceptance waits for and that the step makes; both faces seen are one face seen."""
    found = [g for g in standing.gaps if g.required and g.code in step.closes]
    both = any(g.code == "faces" for g in found)
    return [g for g in found if not (both and g.code == "face")]


def _chance_explained(step: Step, standing: Standing) -> float | None:
    """How likely the step explains what it is about, or makes a missing check; None where it is about nothing here."""
    about = [f for f in standing.findings if f.code in step.explains and f.weight != "note"]
    closes = [step.closes[g.code] for g in _closed(step, standing)]
    if not about and not closes:
        return None
    ordinary = 1 - _chance_bad(standing.suspicion)
    chances = [step.explains[f.code] * (ordinary if f.indicator else 1.0) for f in about]
    # Several findings about one misread or one odd label stand or fall together: the least likely one decides. So do
    # the missing checks: all of them have to come out of the same photos.
    return min(chances, default=1.0) * min(closes, default=1.0)


def _chance_shown(step: Step, standing: Standing) -> tuple[str, float] | None:
    """The weightiest sign that the step would show and nobody has looked for, and how likely it shows."""
    known = {*standing.suspicion.looked_for, *(w.indicator for w in standing.suspicion.indicators)}
    new = [standing.used[name] for name in step.looks_for if name not in known]
    if not new:
        return None
    best = max(new, key=lambda each: each.indicator.ratio)
    bad = _chance_bad(standing.suspicion)
    return best.indicator.id, bad * best.share_of_bad + (1 - bad) * best.share_of_good


def _after(step: Step, standing: Standing, *, clear: bool, sign: str | None) -> tuple[Disposition, str]:
    findings = [f for f in standing.findings if not (clear and f.code in step.explains)]
    if not clear:
        findings = [_confirmed(f) if f.code in step.confirms else f for f in findings]
    if sign is not None:
        findings.append(
            Finding("sign_seen", "question", "suspicion", standing.used[sign].indicator.says, "", (), "", sign)
        )
    weighed = weigh(findings, {n: each.indicator for n, each in standing.used.items()}, suspicion_settings())
    if not clear:
        weighed = _harder(weighed, step, findings)
    gaps = [g for g in standing.gaps if not (clear and g.code in step.closes)]
    decided = decide(findings, weighed, gaps, "", rules=disposition_rules(), kinds=finding_kinds())
    return decided, weighed.level


def _confirmed(finding: Finding) -> Finding:
    return replace(finding, code=_NOT_ORDERED, weight="contradiction")


def _harder(weighed: Suspicion, step: Step, findings: Sequence[Finding]) -> Suspicion:
    """A sign that a step could not explain says a little more: 1/(1 - chance of explaining it)."""
    unexplained = [step.explains[f.code] for f in findings if f.indicator and f.code in step.explains]
    if not unexplained:
        return weighed
    total = weighed.ratio_db + decibels(1 / (1 - max(unexplained)))
    settings = suspicion_settings()
    if weighed.level in {"none", "weak"} and total >= settings.moderate_from_db:
        return replace(weighed, ratio_db=total, level="moderate")
    return replace(weighed, ratio_db=total)


def _chance_bad(suspicion: Suspicion) -> float:
    odds: float = 10 ** (odds_db(suspicion) / 10)
    return odds / (1 + odds)
