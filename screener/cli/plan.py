"""``screener plan``: how many units of a delivery to look at, which ones, and what that can tell.

JSON, schema ``screener.plan/1`` (written by `screener.audit.plans.as_json`). Exit code 0; 2 wrong usage; 10 when the
history says that nothing is accepted by sample any more.
"""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from screener.cli.exit_codes import ON_HOLD
from screener.cli.output import print_json, print_plain
from screener.cli.page_file import write_page
from screener.cli.receive import RecordOption
from screener.cli.words import word_of
from screener.errors import WrongUsage
from screener.reports.page_date import today_says

if TYPE_CHECKING:
    from screener.audit.plans.chances import Model
    from screener.audit.plans.planning import Planned
    from screener.specs.sampling import Level, Severity

AQL_HELP = (
    "Acceptance quality limit: up to 10, percent of nonconforming units; larger, faults counted per 100 units "
    "(15, 25 … 1000)."
)
Lot = Annotated[int, typer.Option("--lot", metavar="N", help="Units in the lot.", show_default=False)]
Aql = Annotated[str, typer.Option("--aql", metavar="AQL", help=AQL_HELP)]
LevelOption = Annotated[str, typer.Option("--level", metavar="I|II|III|S-1…S-4", help="Inspection level.")]
SeverityOption = Annotated[str | None, typer.Option("--severity", metavar="WORD", help="normal, tightened or reduced.")]
AcceptZero = Annotated[bool, typer.Option("--accept-zero", help="Accept on none found, sized for this lot.")]
Ltpd = Annotated[float | None, typer.Option("--ltpd", metavar="PERCENT", help="Limiting quality; sizes --accept-zero.")]
Risk = Annotated[float, typer.Option("--risk", metavar="PERCENT", help="Your risk at the limit, percent.")]
Boxes = Annotated[int | None, typer.Option("--boxes", metavar="N", help="Boxes that the lot comes in.")]
PerBox = Annotated[int | None, typer.Option("--per-box", metavar="N", help="Units in a box; the last may hold fewer.")]
Seed = Annotated[int | None, typer.Option("--seed", metavar="N", help="Draws the same units again; else a new one.")]
History = Annotated[
    list[str] | None,
    typer.Option("--history", metavar="LOTS", help="Earlier lots, oldest first: found (0,1,800:2), or a, r, resume."),
]
Supplier = Annotated[
    str | None,
    typer.Option("--supplier", metavar="NAME", help="Without --history: its lots kept in the record (audit --keep)."),
]
Steady = Annotated[
    bool, typer.Option("--allow-reduced", help="Deliveries are steady: from a switching score of 30 on, reduced.")
]
Kind = Annotated[str, typer.Option("--kind", metavar="bearing|seal", help="What to do on each unit.")]
OcModel = Annotated[
    str | None,
    typer.Option("--oc", metavar="WORD", help="hypergeometric, binomial or poisson, else the one that fits."),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.plan/1.")]
Html = Annotated[Path | None, typer.Option("--html", metavar="FILE", help="Write a page to print.")]


def plan_command(
    *,
    lot: Lot,
    aql: Aql = "1.0",
    level: LevelOption = "II",
    severity: SeverityOption = None,
    accept_zero: AcceptZero = False,
    ltpd: Ltpd = None,
    risk: Risk = 10.0,
    boxes: Boxes = None,
    per_box: PerBox = None,
    seed: Seed = None,
    history: History = None,
    supplier: Supplier = None,
    record: RecordOption = None,
    allow_reduced: Steady = False,
    kind: Kind = "bearing",
    oc: OcModel = None,
    as_json: AsJson = False,
    html: Html = None,
) -> None:
    """Say how many units of a lot to look at, which ones, what to do on each, and what that can and cannot tell."""
    from screener.audit.plans.planning import PlanRequest, plan_lot
    from screener.cli.audited_lot import words_of
    from screener.specs.sampling import LEVELS, SEVERITIES

    planned = plan_lot(
        PlanRequest(
            lot_units=lot,
            aql=aql,
            level=cast("Level", word_of(level.upper(), LEVELS, "--level")),
            severity=cast("Severity | None", severity and word_of(severity.lower(), SEVERITIES, "--severity")),
            accept_zero=accept_zero,
            limit_percent=_percent(ltpd, "--ltpd"),
            risk=risk / 100.0,
            history=words_of(history or ()) or _recorded(supplier, aql, level, severity, record),
            reduced_allowed=allow_reduced,
            boxes=boxes,
            per_box=per_box,
            seed=secrets.randbelow(1_000_000) if seed is None else seed,
            kind={"bearing": "bearing", "seal": "shaft_seal"}[word_of(kind.lower(), ("bearing", "seal"), "--kind")],
            model=cast("Model | None", oc and word_of(oc.lower(), ("hypergeometric", "binomial", "poisson"), "--oc")),
        )
    )
    if html is not None:
        _write_page(html, planned)
    _answer(planned, as_json=as_json)
    if planned.stopped:
        raise typer.Exit(ON_HOLD)


def _recorded(supplier: str | None, aql: str, level: str, severity: str | None, record: str | None) -> tuple[str, ...]:
    """Return a supplier's kept lots, unless the severity was typed."""
    from screener.cli.audited_lot import earlier_lots
    from screener.cli.log import existing_record

    if supplier is None or severity is not None:
        return ()
    with existing_record(record) as opened:
        return earlier_lots(opened, supplier, aql, level.upper())


def _percent(value: float | None, where: str) -> float | None:
    if value is not None and not 0.0 < value <= 100.0:
        raise WrongUsage(f"{value:g} is no share of a lot.", where=where, next_step="Write percent, above 0 to 100.")
    return value


def _answer(planned: Planned, *, as_json: bool) -> None:
    from screener.audit.plans.as_json import plan_as_json

    if as_json:
        print_json(plan_as_json(planned))
    else:
        _print_plan(planned)


def _print_plan(planned: Planned) -> None:
    from screener.audit.plans.plan_words import (
        cannot_says,
        count_says,
        do_says,
        switching_says,
        telling_says,
        where_says,
    )

    print_plain(do_says(planned), style="bold")
    print_plain(where_says(planned))
    _print_list("What the earlier lots ask for", switching_says(planned))
    if not planned.stopped:
        _print_list(f"Which units (seed {planned.draw.seed}; {count_says(planned)})", planned.draw.says)
        _print_list("On each of them", [step.does for step in planned.steps])
    _print_list("What it can tell", telling_says(planned))
    _print_list("What it cannot tell", cannot_says(planned))


def _print_list(title: str, lines: tuple[str, ...] | list[str]) -> None:
    if lines:
        print_plain(f"\n{title}", style="bold")
    for line in lines:
        print_plain(f"  {line}")


def _write_page(path: Path, planned: Planned) -> None:
    from screener import __version__
    from screener.reports.plan_report import PageFacts, plan_html

    title = f"Sampling plan for a lot of {planned.plan.lot_units}"
    write_page(path, plan_html(planned, PageFacts(title, today_says(), __version__)))
