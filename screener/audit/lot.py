"""What to do with a lot: by number, by suspicion and by comparison. The three stand side by side, never blended.

In this order of strength: one strongly suspect unit holds the lot; a count at the plan's reject number sends it back;
what is open or unusual holds it for a named step; otherwise it is accepted, without the units that are not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, Self

from screener.audit.batch.compare import BatchComparison, Group
from screener.audit.batch.unit import Unit, is_settled, unit_says
from screener.audit.plans.single import SinglePlan
from screener.audit.reach import excepted_says, is_suspect, items_say, kept_with_lot, reach_says, units_say
from screener.specs.sampling import Severity

LotWord = Literal["accept", "hold", "reject"]

_KEEP = "Keep {what} apart, with the packaging; return none and use none of them before this is settled{but}."
_CLAIM = "Keep the lot together and claim it as a whole, with the non-conformance report; or sort it unit by unit."
_CLAIM_LATER = (
    "By count the lot would go back as a whole: claim nothing as a whole before the suspect units are settled."
)
_LOOK_AT_THE_REST = (
    "Claim and keep {these}; return nothing before the maker or the authority has agreed. Look at each unit of "
    "{what} that nobody has looked at yet before it is used."
)
_ASK = "Ask the maker or an authorised dealer about the units named, with the photos and without conclusions."
_PART_OF_ORDERED = "part_of_ordered"


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
    kept_with_lot: tuple[int, ...] = ()
    """Records of the units that wait only because another one of their product and supplier is suspect."""

    @property
    def missing(self) -> int:
        """How many units the plan asks for beyond those looked at."""
        return 0 if self.plan is None else max(0, self.plan.sample - self.inspected)


def judge_lot(batch: BatchComparison, plan: LotPlan | None = None) -> LotDisposition:
    """Return what to do with the lot that the batch was drawn from."""
    units = [unit for unit in batch.units if unit.looked_at]
    blind = [unit for unit in batch.units if not unit.looked_at]
    by_number = [*_stopped(plan), *_by_number(units, plan), *_released(units), *_not_looked_at(blind, plan)]
    reasons = [*_by_suspicion(batch.units, plan), *by_number, *_by_comparison(batch)]
    word = _strongest(reasons)
    if word == "accept" and plan is None:
        reasons += _of_all_ordered(units)
    # What a rejection already reached asks for no further units.
    short = "" if word == "reject" else _short(units, plan)
    return LotDisposition(
        word=word,
        says=f"{short}{_says(word, reasons, len(units))}",
        inspected=len(units),
        nonconforming=_records(units, _is_nonconforming),
        open=_records(units, _is_open),
        suspect=_records(batch.units, is_suspect),
        reasons=tuple(reasons),
        plan=plan,
        not_looked_at=_numbers(blind),
        kept_with_lot=_numbers(kept_with_lot(batch.units)),
    )


def _is_nonconforming(unit: Unit) -> bool:
    return unit.disposition == "reject" and not is_suspect(unit)


def _is_open(unit: Unit) -> bool:
    return unit.disposition == "hold" and not is_suspect(unit)


def _records(units: Sequence[Unit], wanted: Callable[[Unit], bool]) -> tuple[int, ...]:
    return _numbers(unit for unit in units if wanted(unit))


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
    if first is not None and any(each.code == _PART_OF_ORDERED for each in reasons):
        return f"Accept what was looked at: {first.says}"
    return (
        f"{head} {first.says}"
        if first
        else f"{head} {inspected} unit{' was' if inspected == 1 else 's were'} inspected and nothing speaks against it."
    )


def _by_suspicion(units: Sequence[Unit], plan: LotPlan | None) -> list[LotReason]:
    suspect = [unit for unit in units if is_suspect(unit)]
    asked = [unit for unit in suspect if not is_settled(unit)]
    confirmed = [unit for unit in suspect if is_settled(unit)]
    reasons = []
    if asked:
        sample = " of the sample" if plan is not None else ""
        says = (
            f"{units_say(len(asked))}{sample} must be kept and asked about ({items_say(asked)}). "
            "One such unit holds the lot, whatever the count."
        )
        step = f"{_KEEP.format(what=reach_says(asked), but=excepted_says(units, asked))} {_ASK}"
        reasons.append(LotReason("suspect_unit", "suspicion", "hold", says, step, _numbers(asked)))
    if confirmed:
        was = "was" if len(confirmed) == 1 else "were"
        says = f"{units_say(len(confirmed))} {was} confirmed as nonconforming and kept ({items_say(confirmed)})."
        step = _LOOK_AT_THE_REST.format(these=items_say(confirmed), what=reach_says(confirmed, ""))
        reasons.append(LotReason("confirmed_unit", "suspicion", "hold", says, step, _numbers(confirmed)))
    return reasons


def _numbers(units: Iterable[Unit]) -> tuple[int, ...]:
    return tuple(unit.record for unit in units)


def _by_number(units: Sequence[Unit], plan: LotPlan | None) -> list[LotReason]:
    # A suspect unit that is also not what was ordered counts here too: the count asks only what conforms.
    bad = [unit for unit in units if _counts_as_bad(unit)]
    waiting = [unit for unit in units if unit.disposition == "hold" and unit not in bad]
    if plan is None:
        return _without_plan(units, bad, [unit for unit in waiting if not is_suspect(unit)])
    records = _numbers(bad)
    if len(bad) >= plan.reject:
        says = f"{_do_not_conform(bad, units)}; {plan.name} does not accept from {plan.reject} on."
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
            f"{_do_not_conform(bad, units)}, and {_wait(waiting)} for an answer; with those it may be "
            f"{plan.reject} or more, from where on {plan.name} does not accept."
        )
        step = f"Settle the open units first. {_steps(waiting)}".strip()
        return [LotReason("open_units", "number", "hold", says, step, _numbers(waiting))]
    if len(bad) > plan.accept:
        says = (
            f"{_do_not_conform(bad, units)}, between the plan's {plan.accept} and {plan.reject}: "
            f"{plan.name} accepts this lot, and reduced inspection ends with it."
        )
        step = "Use the lot without the units that do not conform; inspect the supplier's next lot normal."
        return [LotReason("accept_number", "number", "accept", says, step, records)]
    says = f"{_do_not_conform(bad, units)}; {plan.name} accepts up to {plan.accept}."
    step = "Use the lot without the units that do not conform." if bad else ""
    return [LotReason("accept_number", "number", "accept", says, step, records)]


def _do_not_conform(bad: Sequence[Unit], units: Sequence[Unit]) -> str:
    return f"{len(bad)} of {len(units)} units {'does' if len(bad) == 1 else 'do'} not conform"


def _wait(waiting: Sequence[Unit]) -> str:
    return f"{units_say(len(waiting))} wait{'s' if len(waiting) == 1 else ''}"


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
    return [LotReason("not_looked_at", "number", "hold", says, step, _numbers(blind))]


def _released(units: Sequence[Unit]) -> list[LotReason]:
    """Say which units count as conforming only because a person said so: what was found on them is not gone."""
    over = [unit for unit in units if unit.own_answer and unit.disposition == "accept"]
    if not over:
        return []
    one = len(over) == 1
    named = "; ".join(
        f"item {unit_says(unit)}, {unit.decided.rstrip('.')}; its own answer: {unit.own_answer.rstrip('.')}"
        for unit in over[:12]
    )
    more = f"; and {len(over) - 12} more" if len(over) > 12 else ""
    says = (
        f"{_how_many(over, units)} as conforming on a person's word, with what was found still standing "
        f"({named}{more})."
    )
    step = f"Read what was found on {items_say(over)} before {'it is' if one else 'they are'} used."
    return [LotReason("released", "number", "accept", says, step, _numbers(over))]


def _of_all_ordered(units: Sequence[Unit]) -> list[LotReason]:
    """Say that what was looked at is a part of what was ordered: of the rest nothing is known."""
    by_line = {(unit.run, unit.line): unit.ordered_pieces for unit in units}
    if any(pieces is None for pieces in by_line.values()):
        return []
    ordered = sum(pieces or 0 for pieces in by_line.values())
    others = ordered - len(units)
    if others < 1:
        return []
    says = (
        f"{len(units)} of {ordered} pieces ordered {'was' if len(units) == 1 else 'were'} inspected; of the other "
        f"{'one' if others == 1 else others} nothing is known."
    )
    step = (
        f"Compare each of the other pieces with it before they are used; or give --lot {ordered} for a sampling plan."
    )
    return [LotReason(_PART_OF_ORDERED, "number", "accept", says, step)]


def _how_many(over: Sequence[Unit], units: Sequence[Unit]) -> str:
    if len(units) == 1:
        return "The one unit looked at counts"
    return f"{len(over)} of {len(units)} units {'counts' if len(over) == 1 else 'count'}"


def _names_a_contradiction(unit: Unit) -> bool:
    return any(weight == "contradiction" and code.endswith("_not_as_ordered") for code, weight, _ in unit.findings)


def _steps(waiting: Sequence[Unit]) -> str:
    """Say what settles the open units; those with the same step together."""
    keys: dict[str, list[str]] = {}
    for unit in waiting:
        if unit.next_step:
            keys.setdefault(unit.next_step, []).append(unit_says(unit))
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
        says = f"{count} looked at does not conform ({items_say(bad)})."
        ask = "Look at the other pieces of the lot; claim those that do not conform, each with its report."
        return [LotReason("all_nonconforming", "number", "reject", says, ask, _numbers(bad))]
    if bad:
        do = "do" if len(bad) > 1 else "does"
        says = f"{units_say(len(bad))} {do} not conform ({items_say(bad)}). No sampling plan was given."
        found.append(LotReason("nonconforming_units", "number", "hold", says, step, _numbers(bad)))
    if waiting:
        says = f"{_wait(waiting)} for an answer."
        ask = _steps(waiting) or "Look at them again."
        found.append(LotReason("open_units", "number", "hold", says, ask, _numbers(waiting)))
    return found


def _by_comparison(batch: BatchComparison) -> list[LotReason]:
    reasons = []
    settled = {unit.record for unit in batch.units if is_settled(unit)}
    for serial in (each for each in batch.repeated_serials if not settled.issuperset(each.records)):
        says = f"Serial {serial.value} was read on {len(serial.records)} units ({_keys(batch, serial.records)})."
        step = "Scan both again; make sure that it is a serial and not a batch or product code, and no box twice."
        reasons.append(LotReason("repeated_serial", "identity", "hold", says, step, serial.records))
    for photo in (each for each in batch.repeated_photos if not settled.issuperset(each.records)):
        says = f"The photo {photo.value} was given for {len(photo.records)} units: one of them was not looked at."
        step = "Photograph each unit itself."
        reasons.append(LotReason("repeated_photo", "identity", "hold", says, step, photo.records))
    for group in batch.groups:
        reasons.extend(_of_group(group))
    return reasons


def _keys(batch: BatchComparison, records: Sequence[int]) -> str:
    """Name units as a person finds them."""
    by_record = {unit.record: unit_says(unit) for unit in batch.units}
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
