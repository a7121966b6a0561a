"""``screener audit``: the items of one or several runs together."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.exit_codes import of_dispositions
from screener.cli.log import existing_record, iso_date
from screener.cli.nonconformance import Claim, write_nonconformance
from screener.cli.output import messages, print_json, print_plain
from screener.cli.plan import Aql, History, LevelOption, Steady
from screener.cli.receive import RecordOption
from screener.cli.what_now import after_audit

if TYPE_CHECKING:
    from screener.audit.batch.compare import BatchComparison, Group
    from screener.audit.lot import LotDisposition
    from screener.audit.lots import Delivery, Lot
    from screener.records.audit_units import Chosen
    from screener.records.record import Record


Runs = Annotated[list[int] | None, typer.Argument(metavar="[RUN]...", help="Runs; by default all.")]
SupplierOption = Annotated[str | None, typer.Option("--supplier", metavar="NAME", help="Only this supplier.")]
KindOption = Annotated[
    str | None,
    typer.Option("--kind", metavar="DESIGNATION", help="Only what was ordered as this: a lot is of one kind."),
]
Since = Annotated[str | None, typer.Option("--since", metavar="DATE", help="Only items recorded since (UTC).")]
LotOption = Annotated[
    int | None, typer.Option("--lot", metavar="N", help="Units in the lot the sample was drawn from.", min=2)
]
SeverityOption = Annotated[
    str | None,
    typer.Option("--severity", metavar="WORD", help="normal, tightened or reduced; else by the earlier lots."),
]
Keep = Annotated[
    bool, typer.Option("--keep", help="Keep this lot's answer for the inspection of the supplier's next lots.")
]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who decides; with --keep.")]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="Report: .html .pdf .xlsx .csv .json", show_default=False)
]
ClaimFile = Annotated[
    Path | None,
    typer.Option(
        "--nonconformance", metavar="FILE", help="Report of one item for its supplier: .html .pdf", show_default=False
    ),
]
ItemOption = Annotated[
    int | None, typer.Option("--item", metavar="N", help="Number in the record of that item; --lot: units that came.")
]
ShopFile = Annotated[
    Path | None,
    typer.Option("--shop", metavar="FILE", help="Sender, TOML: name, address, contact, signature.", show_default=False),
]
OrderFile = Annotated[
    Path | None,
    typer.Option(
        "--order", metavar="FILE", help="Order list of that item: order number, supplier's address.", show_default=False
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.audit/1.")]


def audit_command(
    runs: Runs = None,
    *,
    supplier: SupplierOption = None,
    kind: KindOption = None,
    since: Since = None,
    lot: LotOption = None,
    aql: Aql = "1.0",
    level: LevelOption = "II",
    severity: SeverityOption = None,
    history: History = None,
    allow_reduced: Steady = False,
    keep_it: Keep = False,
    by: By = "",
    record: RecordOption = None,
    out: Out = None,
    nonconformance: ClaimFile = None,
    item: ItemOption = None,
    shop: ShopFile = None,
    order: OrderFile = None,
    as_json: AsJson = False,
) -> None:
    """Compare the items of a batch with each other and say what to do with the lot."""
    from screener.audit.batch.compare import compare_batch
    from screener.audit.lots import judge_delivery
    from screener.cli.audited_lot import Inspection, check_lot, keep, plan_of
    from screener.records.audit_units import Chosen, audit_units

    if nonconformance is not None or item is not None:
        write_nonconformance(Claim(nonconformance, item, shop, order, lot), record)
        return
    asked = Inspection(lot, aql, level, severity, tuple(history or ()), allow_reduced)
    asked.check()
    chosen = Chosen(tuple(runs or ()), supplier, iso_date(since), kind)
    if out is not None:
        _check_form(out)
    with existing_record(record) as opened:
        for run in chosen.runs:
            opened.run(run)  # the number of no run is told as such
        messages.print("Reading the record …")
        units = audit_units(opened, chosen)
        messages.print(f"Comparing {len(units)} units …")
        batch = compare_batch(units)
        check_lot(lot, units)
        plan = plan_of(asked, units, opened)
        delivery = judge_delivery(batch, plan)
        if keep_it:
            keep(opened, delivery, asked, who=by)
        if out is not None:
            _write(out, batch, delivery, chosen, opened)
    if as_json:
        from screener.audit.as_json import audit_as_json

        print_json(audit_as_json(batch, delivery))
    else:
        _print_delivery(delivery)
        if out is None:
            _print_groups(batch)
        for line in after_audit(delivery.judged, record):
            print_plain(line)
    raise typer.Exit(of_dispositions([delivery.judged.word]))


def _check_form(out: Path) -> None:
    from screener.reports.audit_files import check_form
    from screener.reports.whole_file import need_folder

    check_form(out)
    need_folder(out)


def _write(out: Path, batch: BatchComparison, delivery: Delivery, chosen: Chosen, record: Record) -> None:
    from screener import __version__
    from screener.reports.audit_files import write_audit
    from screener.reports.audit_report import audit_report
    from screener.reports.delivery_report import now_in_words
    from screener.reports.record_photos import answers_in, photos_in

    scope = [("runs", ", ".join(str(run) for run in chosen.runs) or "all")]
    scope += [("supplier", chosen.supplier)] if chosen.supplier else []
    scope += [("kind", chosen.kind)] if chosen.kind else []
    scope += [("since", chosen.since)] if chosen.since else []
    report = audit_report(
        batch,
        delivery,
        scope=scope,
        created_at=now_in_words(),
        version=__version__,
        stored=answers_in(record),
        photo=photos_in(record),
    )
    written = write_audit(out, batch, report)
    messages.print(f"Report: {written}", markup=False, soft_wrap=True)


def _print_delivery(delivery: Delivery) -> None:
    if delivery.says:
        print_plain(delivery.says)
    if len(delivery.lots) == 1:
        _print_lot(delivery.judged)
        return
    print_plain(delivery.judged.says, style="bold")
    # Those with something to do first.
    for lot in sorted(delivery.lots, key=lambda each: each.judged.word == "accept" and not each.note):
        _print_one_of(lot)


def _print_one_of(lot: Lot) -> None:
    count = len(lot.units)
    print_plain(f"{lot.name}, {count} unit{'' if count == 1 else 's'}: {lot.judged.says}")
    steps = dict.fromkeys(each.next_step for each in lot.judged.reasons if each.next_step)
    for step in (*steps, *([lot.note] if lot.note else [])):
        print_plain(f"    Next: {step}")


def _print_lot(lot: LotDisposition) -> None:
    print_plain(lot.says, style="bold")
    for reason in lot.reasons:
        print_plain(f"  {reason.question}: {reason.says}")
        if reason.next_step:
            print_plain(f"    Next: {reason.next_step}")


def _print_groups(batch: BatchComparison) -> None:
    from screener.audit.batch.outliers import FEWEST_UNITS

    few = [group for group in batch.groups if len(group.units) < FEWEST_UNITS]
    for group in batch.groups:
        if group not in few or group.mixed or group.tolerances or group.clusters:
            _print_group(group)
    if few:
        names = "; ".join(f"{group.name} ({len(group.units)})" for group in few)
        print_plain(f"Too few of a kind to say which stands apart ({FEWEST_UNITS} are needed): {names}.")
    for run in batch.serial_runs:
        print_plain(f"  note: {run.says}")


def _print_group(group: Group) -> None:
    from screener.audit.batch.unit import feature_says, number_says
    from screener.reports.audit_plots import letter

    count = len(group.units)
    print_plain(f"{group.name}: {count} unit{'' if count == 1 else 's'}", style="bold")
    clustered = {place for cluster in group.clusters for place in cluster.units}
    for each in group.outliers:
        if each.unit in clustered:
            continue
        unit = group.units[each.unit]
        print_plain(
            f"  stands apart: {unit.key} (record {unit.record}), {feature_says(each.feature)} "
            f"{number_says(each.feature, each.value)}, usual {number_says(each.feature, each.middle)}"
        )
    for at, cluster in enumerate(group.clusters):
        print_plain(f"  group {letter(at)}: {cluster.says}")
    for mixed in group.mixed:
        print_plain(f"  {'differs' if mixed.kind == 'question' else 'note'}: {mixed.says}")
    for judged in group.tolerances:
        print_plain(f"  tolerance: {judged.says}")
    for says in group.not_compared:
        print_plain(f"  not compared: {says}")
