"""What to do with a lot: by number, by suspicion and by comparison. The three stand side by side, never blended.

In this order of strength: one strongly suspect unit holds the lot; a count at the plan's reject number sends it back;
what is open or unusual holds it for a named step; otherwise it is accepted, without the units that are not.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, Self

from screener.audit.batch.compare import BatchComparison, Group
from screener.audit.batch.unit import Unit
from screener.audit.plans.single import SinglePlan
from screener.specs.sampling import Severity

LotWord = Literal["accept", "hold", "reject"]

_KEEP = "Keep {what} apart, with the packaging; return none and use none of them before this is settled."
_CLAIM = "Keep the lot together and claim it as a whole, with the non-conformance report; or sort it unit by unit."
_CLAIM_LATER = "By count the lot would go back; claim nothing before the suspect units are settled."
_ASK = "Ask the maker or an authorised dealer about the units named, with the photos and without conclusions."


@dataclass(frozen=True, slots=True)
class LotPlan:
    """A sampling plan as far as a lot's disposition needs it."""

    lot: int
    sample: int
    accept: int
    """Up to so many nonconforming units the lot is accepted."""
    reject: int
    """From so many on it is not accepted."""
    severity: Severity
    name: str
    """The plan in words, for the report: ``the plan for AQL 1.0, level II, normal (code letter J)``."""
    stopped: bool = False
    """The supplier's earlier lots say that nothing is accepted by sample any more."""

    @classmethod
    def of(cls, plan: SinglePlan, *, stopped: bool = False) -> Self:
        """Return a single sampling plan with its name."""
        name = f"the plan for AQL {plan.aql}, level {plan.level}, {plan.severity} (code letter {plan.letter})"
        return cls(plan.lot_units, plan.sample_units, plan.accept, plan.reject, plan.severity, name, stopped)


@dataclass(frozen=True, slots=True)
class LotReason:
    """One reason, with what would settle it."""

    code: str
    question: Literal["number", "suspicion", "comparison", "identity"]
    word: LotWord
    says: str
    next_step: str
    records: tuple[int, ...] = ()
    """The units concerned, by their numbers in the record."""


@dataclass(frozen=True, slots=True)
class LotDisposition:
    """The answer for a lot."""

    word: LotWord
    says: str
    inspected: int
    nonconforming: tuple[int, ...]
    """Records of the units to be sent back."""
    open: tuple[int, ...]
    """Records of the units that wait for a step."""
    suspect: tuple[int, ...]
    """Records of the units that are kept for suspicion."""
    reasons: tuple[LotReason, ...]
    plan: LotPlan | None = None
    not_looked_at: tuple[int, ...] = ()
    """Records of the units of which there is neither a photo nor a reading; they count for nothing."""

    @property
    def missing(self) -> int:
        """How many units the plan asks for beyond those looked at."""
        return 0 if self.plan is None else max(0, self.plan.sample - self.inspected)


def judge_lot(batch: BatchComparison, plan: LotPlan | None = None) -> LotDisposition:
    """Return what to do with the lot that the batch was drawn from."""
    units = [unit for unit in batch.units if unit.looked_at]
    blind = [unit for unit in batch.units if not unit.looked_at]
    by_number = [*_stopped(plan), *_by_number(units, plan), *_released(units), *_not_looked_at(blind, plan)]
    reasons = [*_by_suspicion(batch.units), *by_number, *_by_comparison(batch)]
    word = _strongest(reasons)
    return LotDisposition(
        word=word,
        says=f"{_short(units, plan)}{_says(word, reasons, len(units))}",
        inspected=len(units),
        nonconforming=_records(units, _is_nonconforming),
        open=_records(units, _is_open),
        suspect=_records(batch.units, is_suspect),
        reasons=tuple(reasons),
        plan=plan,
        not_looked_at=tuple(unit.record for unit in blind),
    )


def is_suspect(unit: Unit) -> bool:
    """Whether a unit is kept for suspicion: it is neither used nor returned before that is settled."""
    return unit.exit == "keep and ask" or unit.suspicion == "strong"


def _is_nonconforming(unit: Unit) -> bool:
    return unit.disposition == "reject" and not is_suspect(unit)


def _is_open(unit: Unit) -> bool:
    return unit.disposition == "hold" and not is_suspect(unit)


def _records(units: Sequence[Unit], wanted: Callable[[Unit], bool]) -> tuple[int, ...]:
    return tuple(unit.record for unit in units if wanted(unit))


def _strongest(reasons: Sequence[LotReason]) -> LotWord:
    if any(each.question == "suspicion" for each in reasons):
        return "hold"
    if any(each.word == "reject" for each in reasons):
        return "reject"
    return "hold" if any(each.word == "hold" for each in reasons) else "accept"


def _short(units: Sequence[Unit], plan: LotPlan | None) -> str:
    """Say first where the sample is smaller than the plan's."""
    if plan is None or len(units) >= plan.sample:
        return ""
    were = "was" if len(units) == 1 else "were"
    return f"The plan asks for {plan.sample}, {len(units)} {were} looked at: {plan.sample - len(units)} more. "


def _says(word: LotWord, reasons: Sequence[LotReason], inspected: int) -> str:
    head = {"accept": "Accept the lot.", "hold": "Hold the lot.", "reject": "Do not accept the lot."}[word]
    first = next((each for each in reasons if each.word == word), None)
    return (
        f"{head} {first.says}"
        if first
        else f"{head} {inspected} unit{' was' if inspected == 1 else 's were'} inspected and nothing speaks against it."
    )


def _by_suspicion(units: Sequence[Unit]) -> list[LotReason]:
    suspect = [unit for unit in units if is_suspect(unit)]
    if not suspect:
        return []
    shown = ", ".join(unit.key for unit in suspect[:12])
    more = f" and {len(suspect) - 12} more" if len(suspect) > 12 else ""
    one = len(suspect) == 1
    return [
        LotReason(
            "suspect_unit",
            "suspicion",
            "hold",
            f"{len(suspect)} unit{'' if one else 's'} of the sample must be kept and asked about "
            f"(item{'' if one else 's'} {shown}{more}). One such unit holds the lot, whatever the count.",
            f"{_KEEP.format(what=_reach(suspect))} {_ASK}",
            tuple(unit.record for unit in suspect),
        )
    ]


def _reach(suspect: Sequence[Unit]) -> str:
    """Name what a suspect unit holds: everything of its product from its supplier."""
    reached = dict.fromkeys((unit.group, unit.supplier) for unit in suspect)
    named = [f"{kind} from {supplier}" if supplier else kind for kind, supplier in reached]
    return f"every unit of {' and of '.join(named)}"


def _by_number(units: Sequence[Unit], plan: LotPlan | None) -> list[LotReason]:
    # A suspect unit that is also not what was ordered counts here too: the count asks only what conforms.
    bad = [unit for unit in units if _counts_as_bad(unit)]
    waiting = [unit for unit in units if unit.disposition == "hold" and unit not in bad]
    if plan is None:
        return _without_plan(units, bad, [unit for unit in waiting if not is_suspect(unit)])
    records = tuple(unit.record for unit in bad)
    if len(bad) >= plan.reject:
        says = f"{len(bad)} of {len(units)} units do not conform; {plan.name} does not accept from {plan.reject} on."
        step = _CLAIM_LATER if any(is_suspect(unit) for unit in units) else _CLAIM
        return [LotReason("reject_number", "number", "reject", says, step, records)]
    if len(units) < plan.sample:
        says = (
            f"{len(units)} unit{'' if len(units) == 1 else 's'} inspected; {plan.name} asks for {plan.sample} "
            f"of {plan.lot}."
        )
        step = f"Draw {plan.sample - len(units)} more units at random over all boxes and screen them."
        return [LotReason("sample_too_small", "number", "hold", says, step)]
    if len(bad) + len(waiting) >= plan.reject:
        says = (
            f"{len(bad)} of {len(units)} units do not conform and {len(waiting)} are open; with those it may be "
            f"{plan.reject} or more, from where on {plan.name} does not accept."
        )
        step = f"Settle the open units first. {_steps(waiting)}".strip()
        return [LotReason("open_units", "number", "hold", says, step, tuple(unit.record for unit in waiting))]
    if len(bad) > plan.accept:
        says = (
            f"{len(bad)} of {len(units)} units do not conform, between the plan's {plan.accept} and {plan.reject}: "
            f"{plan.name} accepts this lot, and reduced inspection ends with it."
        )
        step = "Use the lot without the units that do not conform; inspect the supplier's next lot normal."
        return [LotReason("accept_number", "number", "accept", says, step, records)]
    says = f"{len(bad)} of {len(units)} units do not conform; {plan.name} accepts up to {plan.accept}."
    step = "Use the lot without the units that do not conform." if bad else ""
    return [LotReason("accept_number", "number", "accept", says, step, records)]


def _stopped(plan: LotPlan | None) -> list[LotReason]:
    if plan is None or not plan.stopped:
        return []
    says = "Five lots of this supplier were not accepted on tightened inspection: nothing is accepted by sample."
    step = "Ask the supplier to correct first; until then look at every unit that is needed."
    return [LotReason("stopped", "number", "hold", says, step)]


def _not_looked_at(blind: Sequence[Unit], plan: LotPlan | None) -> list[LotReason]:
    # Beside a plan only the count of those looked at matters: it is short, or it is not.
    if not blind or plan is not None:
        return []
    one = len(blind) == 1
    says = (
        f"{len(blind)} item{' has' if one else 's have'} neither a photo nor a reading and "
        f"{'was' if one else 'were'} not looked at."
    )
    step = "Photograph or measure them; they count for nothing until then."
    return [LotReason("not_looked_at", "number", "hold", says, step, tuple(unit.record for unit in blind))]


def _released(units: Sequence[Unit]) -> list[LotReason]:
    """Say which units count as conforming only because a person said so: what was found on them is not gone."""
    over = [unit for unit in units if unit.own_answer and unit.disposition == "accept"]
    if not over:
        return []
    one = len(over) == 1
    named = "; ".join(
        f"item {unit.key}, {unit.decided.rstrip('.')}; its own answer: {unit.own_answer.rstrip('.')}"
        for unit in over[:12]
    )
    more = f"; and {len(over) - 12} more" if len(over) > 12 else ""
    says = (
        f"{len(over)} of {len(units)} units {'counts' if one else 'count'} as conforming on a person's word, with what "
        f"was found still standing ({named}{more})."
    )
    step = "Read what was found on them, with the evidence; whoever said so answers for it."
    return [LotReason("released", "number", "accept", says, step, tuple(unit.record for unit in over))]


def _names_a_contradiction(unit: Unit) -> bool:
    return any(weight == "contradiction" and code.endswith("_not_as_ordered") for code, weight, _ in unit.findings)


def _steps(waiting: Sequence[Unit]) -> str:
    """Say what settles the open units; those with the same step together."""
    keys: dict[str, list[str]] = {}
    for unit in waiting:
        if unit.next_step:
            keys.setdefault(unit.next_step, []).append(unit.key)
    said = [
        f"Item{'' if len(those) == 1 else 's'} {', '.join(those[:12])}{' and more' if len(those) > 12 else ''}: {step}"
        for step, those in keys.items()
    ]
    more = f" {len(said) - 6} more steps stand with the units." if len(said) > 6 else ""
    return " ".join(said[:6]) + more


def _counts_as_bad(unit: Unit) -> bool:
    wrong = is_suspect(unit) and _names_a_contradiction(unit)
    return unit.disposition == "reject" or unit.outcome == "nonconforming" or wrong


def _without_plan(units: Sequence[Unit], bad: Sequence[Unit], waiting: Sequence[Unit]) -> list[LotReason]:
    step = "Give --lot and --aql for a decision on the lot by a sampling plan; or screen every unit."
    found = []
    if bad and len(bad) == len(units) and not any(is_suspect(unit) for unit in bad):
        count = "The one unit" if len(bad) == 1 else f"Each of the {len(bad)} units"
        says = f"{count} looked at does not conform (item {', '.join(unit.key for unit in bad[:12])})."
        ask = "Look at the other pieces of the lot; claim those that do not conform, each with its report."
        return [LotReason("all_nonconforming", "number", "reject", says, ask, tuple(u.record for u in bad))]
    if bad:
        says = f"{len(bad)} unit{'s do' if len(bad) > 1 else ' does'} not conform. No sampling plan was given."
        found.append(LotReason("nonconforming_units", "number", "hold", says, step, tuple(u.record for u in bad)))
    if waiting:
        says = f"{len(waiting)} unit{'s are' if len(waiting) > 1 else ' is'} open."
        ask = _steps(waiting) or "Look at them again."
        found.append(LotReason("open_units", "number", "hold", says, ask, tuple(u.record for u in waiting)))
    return found


def _by_comparison(batch: BatchComparison) -> list[LotReason]:
    reasons = []
    for serial in batch.repeated_serials:
        says = f"Serial {serial.value} was read on {len(serial.records)} units ({_keys(batch, serial.records)})."
        step = "Scan both again; make sure that it is a serial and not a batch or product code, and no box twice."
        reasons.append(LotReason("repeated_serial", "identity", "hold", says, step, serial.records))
    for photo in batch.repeated_photos:
        says = f"The photo {photo.value} was given for {len(photo.records)} units: one of them was not looked at."
        step = "Photograph each unit itself."
        reasons.append(LotReason("repeated_photo", "identity", "hold", says, step, photo.records))
    for group in batch.groups:
        reasons.extend(_of_group(group))
    return reasons


def _keys(batch: BatchComparison, records: Sequence[int]) -> str:
    """Name units as a person finds them."""
    by_record = {unit.record: unit.key for unit in batch.units}
    named = [f"item {by_record[each]}" if each in by_record else f"record {each}" for each in records]
    return ", ".join(named[:12]) + (" and more" if len(named) > 12 else "")


def one_batch_says(batch: BatchComparison) -> str:
    """Answer whether the units are one batch, as far as the comparison of their numbers and words can."""
    if len(batch.groups) > 1:
        return f"No: {len(batch.groups)} kinds or sources were chosen; each is compared within itself."
    (group,) = batch.groups
    if group.clusters or any(each.kind == "question" for each in group.mixed):
        return "Perhaps not: units differ from each other as named here."
    if not (group.tests or group.tested):
        count = len(group.units)
        return f"It cannot be said: {count} unit{'' if count == 1 else 's'} with too few numbers to compare."
    return "Nothing seen speaks against it: no group of units stands apart from the others."


def _of_group(group: Group) -> list[LotReason]:
    reasons = []
    for cluster in group.clusters:
        records = tuple(group.units[place].record for place in cluster.units)
        says = (
            f"{group.name}: {cluster.counts_say} differ{cluster.from_says or ' from the others'} in {cluster.block} "
            "as if another process had made them."
        )
        step = (
            "Photograph both groups again in one session under one lamp, lay them side by side, and ask the supplier "
            "whether the delivery was put together from several sources."
        )
        reasons.append(LotReason("another_process", "comparison", "hold", says, step, records))
    for mixed in group.mixed:
        if mixed.kind == "question":
            records = tuple(group.units[place].record for value in mixed.values[1:] for place in value.units)
            step = "Look at the units named by eye; sort the lot by this before anything else is decided."
            reasons.append(LotReason("mixed", "comparison", "hold", f"{group.name}: {mixed.says}", step, records))
    return reasons
