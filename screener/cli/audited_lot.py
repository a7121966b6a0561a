"""The lot of an audit: its plan, by the supplier's earlier lots, and keeping its answer for the next one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from screener.cli.output import messages
from screener.cli.words import word_of
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.audit.batch.unit import Unit
    from screener.audit.lot import LotPlan
    from screener.audit.lots import Delivery
    from screener.records.record import Record
    from screener.specs.sampling import Level, Severity

_ANY_LOT = 1000
"""Size of a lot to check the words of a plan with, where none is given."""


@dataclass(frozen=True, slots=True)
class Inspection:
    """What the command line says about the plan."""

    lot: int | None
    aql: str
    level_word: str
    severity_word: str | None
    history: tuple[str, ...] = ()
    reduced_allowed: bool = False

    @property
    def level(self) -> Level:
        """The inspection level, whoever writes it small."""
        from screener.specs.sampling import LEVELS

        return cast("Level", word_of(self.level_word.upper(), LEVELS, "--level"))

    @property
    def severity(self) -> Severity | None:
        """The severity that was typed."""
        from screener.specs.sampling import SEVERITIES

        word = self.severity_word
        return None if word is None else cast("Severity", word_of(word.lower(), SEVERITIES, "--severity"))

    def check(self) -> None:
        """Refuse words that are none, also where no lot is given, so that a slip is not passed over."""
        from screener.audit.plans.single import single_plan
        from screener.audit.plans.switching import read_history

        single_plan(_ANY_LOT, self.aql, self.level, self.severity or "normal")
        read_history(words_of(self.history), _ANY_LOT)
        if self.history and self.severity_word is not None:
            raise WrongUsage(
                "the history says how severe to inspect.", where="--severity", next_step="Leave one of the two away."
            )


def words_of(texts: Sequence[str]) -> tuple[str, ...]:
    """Return the lots of a typed history, one by one."""
    return tuple(word for text in texts for word in text.replace(" ", ",").split(",") if word)


def check_lot(lot: int | None, units: Sequence[Unit]) -> None:
    """Refuse a lot that what was chosen cannot be one of.

    Raises
    ------
    WrongUsage
        The units come from several suppliers, or are more than the lot holds.
    """
    if lot is None:
        return
    suppliers = Counter(unit.supplier for unit in units)
    if len(suppliers) > 1:
        named = ", ".join(f"{name or 'no supplier named'} ({count})" for name, count in suppliers.most_common(12))
        raise WrongUsage(
            f"a lot comes from one supplier; these items come from {len(suppliers)}: {named}.",
            where="--lot",
            next_step="Choose one with --supplier, or leave --lot out for an answer for each supplier and kind.",
            code="several_suppliers",
        )
    inspected = sum(unit.looked_at for unit in units)
    if lot < inspected:
        raise WrongUsage(
            f"a lot of {lot} is smaller than the {inspected} units that were looked at.",
            where="--lot",
            next_step="Give the size of the whole lot, or choose its items by runs, --supplier or --since.",
        )


def plan_of(asked: Inspection, units: Sequence[Unit], record: Record) -> LotPlan | None:
    """Return the plan: as severe as was typed, as a typed history asks for, or as the record's earlier lots do."""
    from screener.audit.lot import LotPlan
    from screener.audit.plans.single import single_plan
    from screener.audit.plans.switching import read_history, walk

    if asked.lot is None:
        return None
    severity: Severity = asked.severity or "normal"
    words = words_of(asked.history)
    if asked.severity is None and not words:
        words = earlier_lots(record, units[0].supplier, asked.aql, asked.level, except_runs=_runs(units))
    steps = walk(read_history(words, asked.lot), asked.aql, asked.level, reduced_allowed=asked.reduced_allowed)
    if steps:
        severity = steps[-1].after.severity
        count = f"{len(steps)} earlier lot{'' if len(steps) == 1 else 's'}"
        messages.print(f"Inspection by {count} of this supplier: {steps[-1].after.stage}.", markup=False)
    stopped = bool(steps) and steps[-1].after.stage == "stopped"
    return LotPlan.of(single_plan(asked.lot, asked.aql, asked.level, severity), stopped=stopped)


def earlier_lots(
    record: Record, supplier: str, aql: str, level: str, *, except_runs: Sequence[int] = ()
) -> tuple[str, ...]:
    """Return the kept lots of a supplier as a history is typed, oldest first."""
    from screener.audit.plans.single import known_aql
    from screener.records.kept_lots import kept_lots

    lots = kept_lots(record, supplier, known_aql(aql), level, except_runs=except_runs)
    return tuple(each.word for each in lots)


def _runs(units: Sequence[Unit]) -> tuple[int, ...]:
    return tuple(sorted({unit.run for unit in units}))


def keep(record: Record, delivery: Delivery, asked: Inspection, *, who: str) -> None:
    """Keep the answer by number of a lot that a plan decided.

    Raises
    ------
    WrongUsage
        There is no plan, its sample is not complete, or nobody is named.
    """
    from screener.audit.plans.single import known_aql
    from screener.records.kept_lots import KeptLot, keep_lot

    judged = delivery.judged
    plan = judged.plan
    by_number = [each for each in judged.reasons if each.code in {"reject_number", "accept_number"}]
    if plan is None or not by_number:
        raise WrongUsage(
            "only a lot that a plan has decided by its count can be kept.",
            where="--keep",
            next_step="Give --lot, complete the sample, and settle the open units first.",
        )
    (lot,) = delivery.lots
    kept = KeptLot(
        supplier=lot.supplier,
        runs=_runs(lot.units),
        lot_units=plan.lot,
        found=len(by_number[0].records),
        accepted=by_number[0].code == "accept_number",
        aql=known_aql(asked.aql),
        level=asked.level,
        severity=plan.severity,
    )
    keep_lot(record, kept, who=who)
    messages.print(f"Kept: lot of {plan.lot} from {lot.supplier}, {kept.found} found.", markup=False)
