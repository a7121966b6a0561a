"""One supplier in the terminal and as JSON: its history, what of it is open, and what to do next."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING, Any

from rich.table import Table

from screener.cli.output import print_plain, results
from screener.cli.what_now import letter_command, release_command_of
from screener.errors import InputUnreadable
from screener.reports.table import plain_cell

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screener.audit.suppliers import Part, SupplierHistory, Suppliers
    from screener.records.supplier_items import OpenItem

_MOST_NAMED = 12


def chosen_history(suppliers: Suppliers, name: str, where: str) -> SupplierHistory:
    """Return the history of the supplier named.

    Raises
    ------
    InputUnreadable
        Nothing was received from it; those known are named.
    """
    from screener.audit.suppliers import history_of

    found = history_of(suppliers, name)
    if found is not None:
        return found
    names = [each.name for each in suppliers.histories]
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    known = (
        f"Suppliers in the record: {', '.join(names[:_MOST_NAMED])}{more}."
        if names
        else "No supplier is recorded, or none since that day."
    )
    raise InputUnreadable(f"nothing was received from “{name}”.", where=where, next_step=known, code="no_such_supplier")


def print_one(history: SupplierHistory, suppliers: Suppliers, found: Sequence[OpenItem], record: str | None) -> None:
    """Print everything known of one supplier, then what is open and what to do next."""
    from screener.audit import supplier_words as words

    print_plain(words.INTERNAL)
    days = history.first_on if history.first_on == history.last_on else f"{history.first_on} to {history.last_on}"
    print_plain(f"\n{history.name}: {words.came_says(history)}, {days}", style="bold")
    for measure, rate in history.rates.items():
        print_plain(f"  {words.rate_says(measure, rate)}")
        if words.alike_known(suppliers):
            print_plain(f"    {words.shared_says(rate, suppliers)}")
    print_plain(f"  {words.outcomes_says(history.outcomes)}")
    print_plain("Over time", style="bold")
    for measure, trend in history.trends.items():
        print_plain(f"  {words.trend_says(measure, trend)}")
    for title, parts in (("quarter", history.quarters), ("family", history.families), ("maker", history.makers)):
        _print_parts(title, parts)
    print_plain("Beside the others", style="bold")
    for line in words.beside_others_says(history, suppliers):
        print_plain(f"  {line}")
    _print_open(found)
    print_plain("Next", style="bold")
    for line in next_steps(history, found, record):
        print_plain(f"  {line}")


def _print_parts(title: str, parts: Sequence[Part]) -> None:
    if not parts:
        return
    print_plain(f"By {title}", style="bold")
    for each in parts:
        counts = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in each.counts.items())
        print_plain(f"  {each.name}: {each.items} part{'' if each.items == 1 else 's'}; {counts}")


def _print_open(found: Sequence[OpenItem]) -> None:
    print_plain(f"Open: {len(found)} item{'' if len(found) == 1 else 's'}", style="bold")
    if not found:
        return
    table = Table("record", "order, line", "ordered", "do", "why", box=None, padding=(0, 1))
    for each in found:
        stored = each.stored
        place = f"{each.order_name}, {stored.line or stored.item_key}"
        row = (str(stored.id), place, stored.requirement, each.word, each.reason)
        table.add_row(*(plain_cell(cell) for cell in row))
    results.print(table)


def next_steps(history: SupplierHistory, found: Sequence[OpenItem], record: str | None) -> list[str]:
    """Return what to do about a supplier's open items, the gravest first."""
    asked = [each for each in found if each.is_asked_about]
    claims = [each for each in found if each.is_claim]
    waiting = [each for each in found if each not in asked and each not in claims]
    where = f" --record {shlex.quote(record)}" if record else ""
    lines = []
    if asked:
        lines.append(f"Keep and ask about {_records(asked)}; use and return nothing of it before that is settled.")
        lines.append(f"What is kept with it: screener audit --supplier {shlex.quote(history.name)}{where}")
    if claims:
        lines.append(f"Claim {_records(claims)}, a letter each: {letter_command('N', record)}")
    if waiting:
        lines.append(f"Settle {_records(waiting)}: look again, or {release_command_of('N', record)}")
    if not lines:
        return ["Nothing of this supplier is open."]
    return [*lines, "N is the number in the first column."]


def _records(found: Sequence[OpenItem]) -> str:
    shown = ", ".join(str(each.stored.id) for each in found[:_MOST_NAMED])
    more = f" and {len(found) - _MOST_NAMED} more" if len(found) > _MOST_NAMED else ""
    return f"record{'' if len(found) == 1 else 's'} {shown}{more}"


def open_as_json(found: Sequence[OpenItem]) -> list[dict[str, Any]]:
    """Return what is open, for other programs."""
    return [
        {
            "record": each.stored.id,
            "run": each.stored.run_id,
            "order": each.order_name,
            "item": each.stored.item_key,
            "requirement": each.stored.requirement,
            "what_to_do": each.word,
            "reason": each.reason,
        }
        for each in found
    ]
