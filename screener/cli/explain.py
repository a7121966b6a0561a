"""``screener explain``: what a designation says."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from screener.cli.exit_codes import UNREADABLE
from screener.cli.output import print_json, print_plain

if TYPE_CHECKING:
    from screener.parts.model import Explained


def explain_command(
    designation: Annotated[list[str], typer.Argument(help="As it is marked or written; quotes are not needed.")],
    *,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.explain/1.")] = False,
) -> None:
    """Say what a designation means: kind, size, closure, clearance and the rest, with the source of each value."""
    from screener.parts import explain, explained_as_json

    told = explain(" ".join(designation))
    if as_json:
        print_json(explained_as_json(told))
    else:
        _print_explained(told)
    if not told.understood:
        raise typer.Exit(UNREADABLE)


def _print_explained(told: Explained) -> None:
    if not told.understood:
        print_plain(f"Not understood: {', '.join(told.not_understood) or told.input}", style="bold")
    else:
        print_plain(f"{told.basic}  {told.family or (told.kind or '').replace('_', ' ')}", style="bold")
    for word, value in _attributes(told):
        print_plain(f"  {word:<18} {value}")
    rows = (
        ("more than one meaning", told.ambiguous),
        ("not understood", told.not_understood),
        ("did you mean", told.suggestions),
        ("note", told.notes),
        ("rests on", told.sources),
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
