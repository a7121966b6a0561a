"""``screener explain``: what a designation says."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.exit_codes import UNREADABLE
from screener.cli.output import print_json, print_plain
from screener.cli.rests_on import rests_on_says
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from screener.parts.model import Explained


def explain_command(
    designation: Annotated[
        list[str] | None, typer.Argument(help="As it is marked or written; quotes are not needed.")
    ] = None,
    *,
    file: Annotated[
        Path | None, typer.Option("--file", metavar="FILE", help="A price list (CSV) to explain row by row.")
    ] = None,
    column: Annotated[
        str | None, typer.Option("--column", metavar="HEADER", help="Header of its column of designations.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="The CSV to write; by default the terminal.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.explain/1.")] = False,
) -> None:
    """Say what a designation means: kind, size, closure, clearance and the rest, with the source of each value."""
    if file is not None and as_json:
        raise WrongUsage("a list is explained as CSV.", where="--json", next_step="Leave --json out.")
    if file is not None:
        _explain_file(file, column, out)
        return
    if not designation:
        raise WrongUsage("there is nothing to explain.", next_step="Give a designation, or a list with --file.")
    from screener.parts import explain, explained_as_json

    told = explain(" ".join(designation))
    if as_json:
        print_json(explained_as_json(told))
    else:
        _print_explained(told)
    if not told.understood:
        raise typer.Exit(UNREADABLE)


def _explain_file(file: Path, column: str | None, out: Path | None) -> None:
    from screener.cli.explain_list import explain_list
    from screener.reports.whole_file import need_folder

    if out is None:
        explain_list(file, sys.stdout, column=column)
        return
    if out.resolve() == file.resolve():
        raise WrongUsage("the list would be overwritten.", where=str(out), next_step="Choose another name.")
    need_folder(out)
    with out.open("w", encoding="utf-8-sig", newline="") as target:
        done = explain_list(file, target, column=column)
    print_plain(f"{out}: {done.understood} of {done.rows} designations understood.")


def _print_explained(told: Explained) -> None:
    from screener.parts import companions

    if not told.understood:
        print_plain(f"Not understood: {', '.join(told.not_understood) or told.input}", style="bold")
    else:
        print_plain(f"{told.basic}  {told.family or (told.kind or '').replace('_', ' ')}", style="bold")
    for word, value in _attributes(told):
        print_plain(f"  {word:<18} {value}")
    rings = companions(told)
    rows = (
        ("ring for shaft", (rings.shaft_ring.name,) if rings.shaft_ring else ()),
        ("ring for housing", (rings.bore_ring.name,) if rings.bore_ring else ()),
        ("more than one meaning", told.ambiguous),
        ("not understood", told.not_understood),
        ("did you mean", told.suggestions),
        ("note", told.notes),
        ("rests on", tuple(rests_on_says(each) for each in told.sources)),
    )
    for word, values in rows:
        for value in values:
            print_plain(f"  {word:<18} {value}")


def _attributes(told: Explained) -> list[tuple[str, str]]:
    size = [v for v in (told.bore_mm, told.od_mm, told.width_mm) if v is not None]
    closure = told.closure
    sides = {0: "", 1: ", one side", 2: ", both sides"}
    values = [
        ("size", " × ".join(f"{v:g}" for v in size) + " mm" if size else None),
        ("closure", closure.kind.replace("_", " ") + sides[closure.sides] if closure else None),
        ("clearance", told.clearance),
        ("accuracy", told.accuracy),
        ("cage", told.cage),
        ("snap ring", told.snap_ring),
        ("tapered bore", told.tapered_bore),
        ("material", told.material),
        ("contact angle", f"{told.contact_angle_deg:g}°" if told.contact_angle_deg is not None else None),
        ("heat stabilised", told.heat_stabilisation),
        ("grease", told.grease),
        ("inner design", told.inner_design),
        ("arrangement", told.arrangement),
        ("coating", told.coating),
        ("seal type", told.seal_type),
        ("mass", f"{told.mass_kg:g} kg" if told.mass_kg is not None else None),
    ]
    return [(word, value) for word, value in values if value]
