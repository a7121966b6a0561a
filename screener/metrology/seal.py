"""A shaft seal on the bench: free outside diameter and width. Its lip is smaller than the shaft by design."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screener.metrology.characteristic import Decision
from screener.metrology.decision import Limits, Verdict, decide
from screener.metrology.estimate import Estimate, estimate
from screener.metrology.reading import Reading
from screener.metrology.size_agreement import agreement
from screener.metrology.wording import limits_words, reading_words, size_words, verdict_words
from screener.specs.instruments import Use
from screener.specs.seal_tolerances import PressFitRow, SealCase, press_fits, seal_width_tolerance
from screener.specs.seals import SealSizeRow

_USE_OF_CASE: dict[SealCase, Use] = {"metal case": "outside", "rubber covered": "outside rubber"}
_CASES: tuple[SealCase, ...] = ("metal case", "rubber covered")


@dataclass(frozen=True, slots=True)
class SealMeasurement:
    """Everything measured on one seal."""

    size: str
    decisions: tuple[Decision, ...]
    not_checked: tuple[str, ...]


def measure_seal(
    row: SealSizeRow, *, od: Sequence[Reading] = (), width: Sequence[Reading] = (), case: SealCase | None = None
) -> SealMeasurement:
    """Decide the readings of one seal.

    Parameters
    ----------
    row
        The seal's nominal size (a standard row, or one made for a special size).
    od
        Readings of the free outside diameter: larger than the housing bore by design.
    width
        Readings of the width.
    case
        ``metal case`` or ``rubber covered``; None if not known: then only what both allow is decided.

    Raises
    ------
    WrongUsage
        If a reading cannot be one or an instrument is not known.
    """
    decisions = []
    if od:
        found = estimate(od, _USE_OF_CASE[case] if case else "outside rubber", what="free outside diameter")
        decisions.append(_outside(row, found, case))
    if width:
        decisions.append(_width(row, estimate(width, "outside", what="width")))
    missing = [name for name, readings in (("free outside diameter", od), ("width", width)) if not readings]
    return SealMeasurement(row.size, tuple(decisions), (*missing, "lip opening", "material", "spring"))


def _outside(row: SealSizeRow, found: Estimate, case: SealCase | None) -> Decision:
    rows = [fit for kind in ((case,) if case else _CASES) for fit in press_fits(kind, row.housing_mm)]
    if not rows:
        says = f"{reading_words('free outside diameter', found)}: the tables hold no press-fit allowance at this size"
        size = agreement(row.housing_mm, found, above_mm=row.housing_mm * 0.004)
        return Decision("free outside diameter", row.housing_mm, found, None, "cannot_tell", size, says, row.row_name)
    limits, verdict, tables_differ = _by_tables(found, row.housing_mm, rows)
    size = agreement(row.housing_mm, found, below_mm=0.0, above_mm=max(fit.high_mm for fit in rows))
    words = verdict_words(verdict, found, limits)
    if tables_differ:
        words = f"not settled: {limits_words(limits)} by one table, and the tables differ"
    says = (
        f"{reading_words('free outside diameter', found)}: {size_words(size, row.housing_mm)}; {words} "
        f"(a seal for a {row.housing_mm:g} mm bore is made larger by design){_ovality_words(found, rows)}"
    )
    return Decision("free outside diameter", row.housing_mm, found, limits, verdict, size, says, limits.rests_on)


def _by_tables(found: Estimate, housing_mm: float, rows: Sequence[PressFitRow]) -> tuple[Limits, Verdict, bool]:
    """Decide by several tables: conforming or not only where all that apply agree; the last item: they don't."""
    all_limits = [Limits(housing_mm + fit.low_mm, housing_mm + fit.high_mm, fit.row_name) for fit in rows]
    verdicts = {decide(found, limits) for limits in all_limits}
    if len(verdicts) > 1:
        return all_limits[0], "cannot_tell", True
    return all_limits[0], verdicts.pop(), False


def _ovality_words(found: Estimate, rows: Sequence[PressFitRow]) -> str:
    allowed = [fit.ovality_max_mm for fit in rows if fit.ovality_max_mm is not None]
    if found.out_of_round_mm is None or not allowed:
        return ""
    if found.out_of_round_mm <= max(allowed):
        return ""
    return f"; out of round by {found.out_of_round_mm:.2f} mm, {max(allowed):g} mm is usual at most"


def _width(row: SealSizeRow, found: Estimate) -> Decision:
    rules = seal_width_tolerance(row.width_mm)
    if rules is None:
        says = f"{reading_words('width', found)}: the tables hold no width tolerance at this size"
        size = agreement(row.width_mm, found, below_mm=0.3, above_mm=0.3)
        return Decision("width", row.width_mm, found, None, "cannot_tell", size, says, row.row_name)
    limits = Limits(row.width_mm - rules.tolerance_mm, row.width_mm + rules.tolerance_mm, rules.row_name)
    verdict = decide(found, limits)
    size = agreement(row.width_mm, found, below_mm=rules.tolerance_mm, above_mm=rules.tolerance_mm)
    said = f"{size_words(size, row.width_mm)}; {verdict_words(verdict, found, limits)}"
    says = f"{reading_words('width', found)}: {said}"
    return Decision("width", row.width_mm, found, limits, verdict, size, says, limits.rests_on)
