"""The report of an audit, set out once for page, paper and table: all is said here, the writers only place it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from screener.audit.batch.compare import BatchComparison, Group
from screener.audit.batch.outliers import Outlier
from screener.audit.batch.unit import Unit, feature_says, number_says
from screener.audit.lot import LotDisposition, LotReason, one_batch_says
from screener.audit.lots import Delivery
from screener.records.result_json import item_from_json
from screener.reports.audit_plots import Plot, letter, plots_of
from screener.reports.figures import Figure, figures_of
from screener.reports.observed_rows import observed_rows
from screener.screening.model import ScreenedItem

MOST_EVIDENCE = 24
"""Units shown with photos; the others are listed. A page that nobody turns over to the end helps nobody."""
MOST_PHOTOS = 3
MOST_PLOTTED_GROUPS = 12
PHOTO_SIDE_PX = 640
_MOST_ROWS = 40

QUESTIONS = {
    "suspicion": "Is anything suspect?",
    "number": "Does enough of it conform?",
    "comparison": "Is it one batch?",
    "identity": "Does a serial or photo occur twice?",
}
NO_REASON = {
    "suspicion": "No unit of the sample is held for suspicion. That alone proves nothing.",
    "number": "No unit of the sample failed to conform.",
    "comparison": "The comparison of the units with each other gives no reason to hold the lot.",
    "identity": "No serial was read on two units and no photo was given for two.",
}
_WORDS = {"accept": "ACCEPT", "hold": "HOLD", "reject": "DO NOT ACCEPT"}
_SHAPES = {"accept": "ring", "hold": "tag", "reject": "arrow"}


@dataclass(frozen=True, slots=True)
class Answer:
    """One of the three questions with its reasons."""

    question: str
    reasons: tuple[LotReason, ...]
    none: str
    """What to say where there is no reason."""
    first: str = ""
    """The plain answer, where reasons do not give it."""


@dataclass(frozen=True, slots=True)
class GroupPage:
    """One kind of part: what was found, its numbers and its plot."""

    name: str
    count: int
    findings: tuple[str, ...]
    notes: tuple[str, ...]
    numbers: tuple[tuple[str, ...], ...]
    plots: tuple[Plot, ...]
    not_compared: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """One unit shown with photos."""

    unit: Unit
    why: tuple[str, ...]
    screened: ScreenedItem | None
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class AuditReport:
    """Everything the report shows."""

    title: str
    created_at: str
    version: str
    scope: tuple[tuple[str, str], ...]
    delivery: Delivery
    lot: LotDisposition
    says: str
    """What was chosen, where it is more than one lot of one kind."""
    lots: tuple[tuple[str, ...], ...]
    """A row a lot, where there are several: (lot, units, answer, why, next)."""
    word: str
    shape: str
    counts: tuple[tuple[str, int], ...]
    steps: tuple[str, ...]
    answers: tuple[Answer, ...]
    groups: tuple[GroupPage, ...]
    alone: tuple[str, ...]
    """Kinds of which there are too few units to compare."""
    evidence_of: Callable[[], Iterator[Evidence]]
    """Gives the units to show, one at a time: photos are large."""
    listed: tuple[tuple[str, ...], ...]
    """Every unit that is not simply used, or only since a person released it: (record, item, ordered as, do, why)."""
    not_checked: tuple[tuple[str, int], ...]
    """(what was not checked, on how many units)."""
    rests_on: tuple[str, ...]


NUMBER_HEADS = ("Number", "Units", "Ordered", "Median", "Spread", "Lowest", "Highest", "u of one")
AGREE = "agree with the order"
"""Units with nothing against them in one lot that is not accepted: they are not said to be used."""
LOT_HEADS = ("Lot", "Units", "Answer", "Why", "Next")
LISTED_HEADS = ("Record", "Item", "Ordered as", "Do", "Why")


def audit_report(
    batch: BatchComparison,
    delivery: Delivery,
    *,
    scope: Sequence[tuple[str, str]],
    created_at: str,
    version: str,
    stored: Callable[[int], Mapping[str, Any]] = lambda _: {},
    photo: Callable[[str], bytes | None] = lambda _: None,
) -> AuditReport:
    """Set an audit out.

    Parameters
    ----------
    batch, delivery
        What was compared and decided.
    scope
        (name, value) of what the audit is about: runs, supplier, dates.
    stored
        Gives a unit's recorded answer (``screener.result/1``) by its number, or an empty one.
    photo
        Gives a photo's bytes by hash or name, or None.
    """
    units, lot = batch.units, delivery.judged
    concerned = _concerned(batch, lot)
    return AuditReport(
        title="Audit of a delivery" if len(delivery.lots) > 1 else "Audit of a batch",
        created_at=created_at,
        version=version,
        scope=tuple(scope),
        delivery=delivery,
        lot=lot,
        says=delivery.says,
        lots=tuple(_lot_rows(delivery)) if len(delivery.lots) > 1 else (),
        # No single word over a delivery: one lot's hold is not another's.
        word="LOT BY LOT" if len(delivery.lots) > 1 else _WORDS[lot.word],
        shape="ring" if len(delivery.lots) > 1 else _SHAPES[lot.word],
        counts=_counts(units, lot, used="use" if len(delivery.lots) > 1 or lot.word == "accept" else AGREE),
        steps=tuple(dict.fromkeys(each.next_step for each in lot.reasons if each.next_step)),
        answers=tuple(_answers(lot, one_batch_says(batch))),
        groups=tuple(_group_page(group, plotted=at < MOST_PLOTTED_GROUPS) for at, group in enumerate(_compared(batch))),
        alone=tuple(f"{group.name}: {len(group.units)}" for group in batch.groups if not _is_compared(group)),
        evidence_of=lambda: _evidence(units, concerned, stored, photo),
        listed=tuple(_listed(units)),
        not_checked=tuple(
            Counter(says for unit in units for says in dict.fromkeys(unit.not_checked)).most_common(_MOST_ROWS)
        ),
        rests_on=tuple(dict.fromkeys(judged.rests_on for group in batch.groups for judged in group.tolerances)),
    )


def _is_compared(group: Group) -> bool:
    return bool(group.tests or group.tested or group.mixed or group.tolerances)


def _compared(batch: BatchComparison) -> list[Group]:
    """Return the groups that have something to show, those with findings first."""
    shown = [group for group in batch.groups if _is_compared(group)]
    return sorted(shown, key=lambda group: not (group.clusters or group.outliers or group.mixed))


def _counts(units: Sequence[Unit], lot: LotDisposition, used: str) -> tuple[tuple[str, int], ...]:
    suspect, with_lot = set(lot.suspect), set(lot.kept_with_lot)
    back, waiting = set(lot.nonconforming) - with_lot, set(lot.open) - with_lot
    blind = set(lot.not_looked_at) - suspect
    confirmed = {unit.record for unit in units if unit.outcome == "nonconforming"} & suspect
    rest = {unit.record for unit in units} - suspect - with_lot - back - waiting - blind
    counts = (
        ("inspected", lot.inspected),
        (used, len(rest)),
        ("look again", len(waiting)),
        ("keep and ask", len(suspect - confirmed)),
        ("send back", len(back)),
    )
    more = (("keep and claim", confirmed), ("kept with their lot", with_lot), ("not looked at", blind))
    return (*counts, *((name, len(those)) for name, those in more if those))


def _answers(lot: LotDisposition, one_batch: str) -> Iterator[Answer]:
    for key, question in QUESTIONS.items():
        reasons = tuple(each for each in lot.reasons if each.question == key)
        none = NO_REASON[key]
        if key == "number" and lot.plan is None:
            none += " No sampling plan was given, so the lot as a whole is not decided by count."
        yield Answer(question, reasons, none, first=one_batch if key == "comparison" else "")


def _lot_rows(delivery: Delivery) -> Iterator[tuple[str, ...]]:
    order = ("hold", "reject", "accept")
    for lot in sorted(delivery.lots, key=lambda each: order.index(each.judged.word)):
        reasons = lot.judged.reasons
        why = " ".join(each.says.removeprefix(f"{lot.name}: ") for each in reasons) or "Nothing speaks against it."
        steps = dict.fromkeys(each.next_step for each in reasons if each.next_step)
        yield lot.name, str(len(lot.units)), _WORDS[lot.judged.word], why, " ".join((*steps, lot.note)).strip()


def _group_page(group: Group, *, plotted: bool) -> GroupPage:
    clustered = {place for cluster in group.clusters for place in cluster.units}
    findings = [
        f"Group {letter(at)}: {cluster.says} By chance alone a split as clear comes in {cluster.p:.1%} of batches. "
        f"Units: {_named(group, cluster.units)}."
        for at, cluster in enumerate(group.clusters)
    ]
    findings += [
        f"The units as a whole differ from what was ordered in {feature_says(each.feature)}: median "
        f"{number_says(each.feature, each.middle)}, ordered {number_says(each.feature, each.ordered)}."
        for each in group.numbers
        if each.differs and each.ordered is not None
    ]
    findings += list(_apart(group, clustered))
    findings += [
        f"{mixed.says} {_minority(group, mixed.values[1:])}" for mixed in group.mixed if mixed.kind == "question"
    ]
    findings += [
        f"Proven outside: {_named(group, each.differs)}. {each.says}" for each in group.tolerances if each.differs
    ]
    notes = [mixed.says for mixed in group.mixed if mixed.kind == "usual"]
    notes += [each.says for each in group.tolerances if not each.differs]
    return GroupPage(
        name=group.name,
        count=len(group.units),
        findings=tuple(findings),
        notes=tuple(notes),
        numbers=tuple(_number_rows(group)),
        plots=tuple(plots_of(group)) if plotted else (),
        not_compared=group.not_compared,
    )


def _named(group: Group, places: Sequence[int], most: int = 30) -> str:
    names = [f"{group.units[place].key} (record {group.units[place].record})" for place in places]
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def _minority(group: Group, values: Sequence[Any]) -> str:
    return " ".join(f"{each.value}: {_named(group, each.units)}." for each in values[:4])


def _apart(group: Group, clustered: set[int]) -> Iterator[str]:
    """Say once a unit what stands apart in it; members of a group found are named there."""
    by_unit: dict[int, list[Outlier]] = {}
    for each in group.outliers:
        if each.unit not in clustered:
            by_unit.setdefault(each.unit, []).append(each)
    for place, those in list(by_unit.items())[:_MOST_ROWS]:
        unit = group.units[place]
        parts = ", ".join(
            f"{feature_says(each.feature)} {number_says(each.feature, each.value)} where "
            f"{number_says(each.feature, each.middle)} is usual"
            for each in those[:4]
        )
        yield f"Item {unit.key} (record {unit.record}) stands apart: {parts}."
    if len(by_unit) > _MOST_ROWS:
        yield f"{len(by_unit) - _MOST_ROWS} more units stand apart; the tables hold all of them."


def _number_rows(group: Group) -> Iterator[tuple[str, ...]]:
    for each in group.numbers:
        values = (each.middle, each.spread, each.lowest, each.highest)
        u = "not known" if each.u is None else number_says(each.feature, each.u)
        shown = (number_says(each.feature, value) for value in values)
        ordered = "" if each.ordered is None else number_says(each.feature, each.ordered)
        yield (feature_says(each.feature), str(each.count), ordered, *shown, u)


def _concerned(batch: BatchComparison, lot: LotDisposition) -> dict[int, list[str]]:
    """Return the records to show with photos and why, the gravest first."""
    why: dict[int, list[str]] = {}
    for reason in lot.reasons:
        # Why a unit is suspect is its own answer, which is shown with it. A release is shown with what it went over.
        if reason.word != "accept" or reason.code == "released":
            for record in reason.records:
                why.setdefault(record, []).extend([reason.says] if reason.question == "comparison" else [])
    for group in batch.groups:
        for says, record in _apart_records(group):
            why.setdefault(record, []).append(says)
    return why


def _apart_records(group: Group) -> Iterator[tuple[str, int]]:
    for each in group.outliers:
        yield f"{feature_says(each.feature)} stands apart in {group.name}.", group.units[each.unit].record


def _evidence(
    units: Sequence[Unit],
    concerned: Mapping[int, Sequence[str]],
    stored: Callable[[int], Mapping[str, Any]],
    photo: Callable[[str], bytes | None],
) -> Iterator[Evidence]:
    by_record = {unit.record: unit for unit in units}
    for record, why in list(concerned.items())[:MOST_EVIDENCE]:
        document = stored(record)
        # A record made by another program may hold less than a whole answer; its sentences are still shown.
        screened = item_from_json(document) if "disposition" in document and document.get("observations") else None
        figures = unit_figures(screened, photo) if screened else ()
        yield Evidence(by_record[record], tuple(dict.fromkeys(why)), screened, figures)


def unit_figures(
    screened: ScreenedItem, photo: Callable[[str], bytes | None], side_px: int = PHOTO_SIDE_PX
) -> tuple[Figure, ...]:
    """Return a unit's photos with the regions its findings point at; of many photos those that are pointed at first."""
    numbers = observed_rows(screened).numbers
    pointed = {key for finding in screened.findings for key in finding.observations}
    figures = figures_of(screened, {key: number for key, number in numbers.items() if key in pointed}, photo, side_px)
    shown = sorted((each for each in figures if each.uri), key=lambda each: not each.regions)
    return tuple(shown[:MOST_PHOTOS])


def _listed(units: Sequence[Unit]) -> Iterator[tuple[str, ...]]:
    for unit in units:
        if unit.disposition != "accept" or unit.own_answer:
            why = f"{unit.reason} Its own answer: {unit.own_answer}" if unit.own_answer else unit.reason
            yield str(unit.record), unit.key, unit.need, unit.way, why
