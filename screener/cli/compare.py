"""``screener compare``: may this part stand in for that one."""

from __future__ import annotations

from typing import Annotated

import typer

from screener.cli.duty import duty_words
from screener.cli.exit_codes import of_outcome
from screener.cli.output import print_json, print_plain
from screener.cli.rests_on import rests_on_says

_IN_WORDS = {
    "same": "The same part by another name.",
    "suits": "Suits in place of it.",
    "review": "Somebody must judge this.",
    "wrong": "Not in place of it.",
    "unknown": "Cannot be told.",
}


def compare_command(
    need: Annotated[str, typer.Argument(help="What the job needs.")],
    offered: Annotated[str, typer.Argument(help="What is offered.")],
    *,
    duty: Annotated[
        list[str] | None,
        typer.Option("--duty", metavar="WORD", help="dry, dirty, wet, hot or fast; may be given more than once."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, schema screener.compare/1.")] = False,
) -> None:
    """Compare two designations attribute by attribute, as a careful mechanic would for this duty."""
    from screener.parts import compare, comparison_as_json

    comparison = compare(need, offered, duty=duty_words(duty or []))
    if as_json:
        print_json(comparison_as_json(comparison))
    else:
        print_plain(f"{need} → {offered}: {_IN_WORDS[comparison.outcome]}", style="bold")
        for d in comparison.differences:
            print_plain(f"  {d.attribute.replace('_', ' ')}: {d.need} → {d.offered}  [{d.outcome}] {d.because}")
            print_plain(f"      rests on {rests_on_says(d.rests_on)}")
    raise typer.Exit(of_outcome(comparison.outcome))
