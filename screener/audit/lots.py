"""The lots of what is audited: the items of one supplier and one kind; each is judged by itself.

ISO 2859-1:1999, 3.1.13 and 6.2 (from memory): a lot holds items of a single type, grade, class, size and
composition. Where its size is given (``--lot``), the items chosen are one lot, since a person says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from screener.audit.batch.compare import BatchComparison, Group
from screener.audit.batch.unit import Unit, is_settled
from screener.audit.lot import LotDisposition, LotPlan, judge_lot

WHICH_WINS = (
    "Each item's own answer stands, or a person's word on it; where its lot is held for suspicion, it is kept with the "
    "lot until settled."
)
_LOOK_AGAIN = "Another lot of this supplier is held for suspicion: look at these again before they are {done}."
_WORDS = {"accept": "accept", "hold": "hold", "reject": "do not accept"}


@dataclass(frozen=True, slots=True)
class Lot:
    """One lot with its answer."""

    name: str
    supplier: str
    units: tuple[Unit, ...]
    judged: LotDisposition
    note: str = ""
    """What an answer elsewhere in the delivery asks for here; it changes no answer."""


@dataclass(frozen=True, slots=True)
class Delivery:
    """Everything chosen: its lots, and one answer over all of them for an exit code and a first line."""

    lots: tuple[Lot, ...]
    judged: LotDisposition
    says: str
    """What was chosen, where it is more than one lot; empty for a single one."""


def judge_delivery(batch: BatchComparison, plan: LotPlan | None = None) -> Delivery:
    """Return the answer for each lot: for each supplier and kind, or for all as one where a plan names a lot."""
    if plan is not None or len(batch.groups) == 1:
        judged = judge_lot(batch, plan)
        return Delivery((_lot(_name_all(batch), batch, judged),), judged, _declared(batch) if plan else "")
    parts = [_part(batch, group) for group in batch.groups]
    lots = _with_notes(
        [_lot(_name(group), part, judge_lot(part)) for group, part in zip(batch.groups, parts, strict=True)]
    )
    return Delivery(tuple(lots), _together(lots, batch.units), _mixed(batch))


def _part(batch: BatchComparison, group: Group) -> BatchComparison:
    mine = {unit.record for unit in group.units}
    return BatchComparison(
        groups=(group,),
        repeated_serials=tuple(each for each in batch.repeated_serials if mine & set(each.records)),
        repeated_photos=tuple(each for each in batch.repeated_photos if mine & set(each.records)),
        serial_runs=(),
    )


def _lot(name: str, part: BatchComparison, judged: LotDisposition) -> Lot:
    suppliers = {unit.supplier for unit in part.units}
    return Lot(name, suppliers.pop() if len(suppliers) == 1 else "", part.units, judged)


def _with_notes(lots: Sequence[Lot]) -> list[Lot]:
    held = {lot.supplier for lot in lots if lot.judged.suspect and lot.supplier}
    done = {True: "sent back", False: "used"}
    return [
        replace(lot, note=_LOOK_AGAIN.format(done=done[lot.judged.word == "reject"]))
        if lot.supplier in held and not lot.judged.suspect and not all(is_settled(unit) for unit in lot.units)
        else lot
        for lot in lots
    ]


def _together(lots: Sequence[Lot], units: Sequence[Unit]) -> LotDisposition:
    """Return the lots' answers side by side; the word is the one that leaves most to do."""
    words = [lot.judged.word for lot in lots]
    counts = ", ".join(f"{words.count(word)} {says}" for word, says in _WORDS.items() if word in words)
    # A lot of one item needs no name in front of each reason: its items are named in it.
    reasons = tuple(
        replace(each, says=f"{lot.name}: {each.says}" if not each.says.startswith(lot.name) else each.says)
        for lot in lots
        for each in lot.judged.reasons
    )
    return LotDisposition(
        word="hold" if "hold" in words else "reject" if "reject" in words else "accept",
        says=f"Each lot has its own answer: {counts}.",
        inspected=sum(unit.looked_at for unit in units),
        nonconforming=tuple(record for lot in lots for record in lot.judged.nonconforming),
        open=tuple(record for lot in lots for record in lot.judged.open),
        suspect=tuple(record for lot in lots for record in lot.judged.suspect),
        reasons=reasons,
        not_looked_at=tuple(record for lot in lots for record in lot.judged.not_looked_at),
        kept_with_lot=tuple(record for lot in lots for record in lot.judged.kept_with_lot),
    )


def _suppliers(batch: BatchComparison) -> int:
    return len({unit.supplier for unit in batch.units if unit.supplier})


def _span(batch: BatchComparison) -> str:
    kinds = len({group.kind for group in batch.groups})
    named = _suppliers(batch)
    says = f"{kinds} kind{'' if kinds == 1 else 's'}"
    return f"{says} from {named} supplier{'' if named == 1 else 's'}" if named else says


def _mixed(batch: BatchComparison) -> str:
    return (
        f"This is a delivery of {_span(batch)}, not one batch: {len(batch.units)} items, taken as "
        f"{len(batch.groups)} lots, one for each supplier and kind. {WHICH_WINS}"
    )


def _declared(batch: BatchComparison) -> str:
    if len(batch.groups) == 1:
        return ""
    return (
        f"These are {_span(batch)}, taken as one lot because --lot says so; a sampling plan holds for one kind of one "
        "supplier (ISO 2859-1). Choose one with --kind; without --lot each kind gets its own answer."
    )


def _name(group: Group) -> str:
    supplier = group.units[0].supplier
    return group.name if not supplier or group.name.endswith(supplier) else f"{group.name} from {supplier}"


def _name_all(batch: BatchComparison) -> str:
    return _name(batch.groups[0]) if len(batch.groups) == 1 else _span(batch)
