"""The answer in a terminal: word, sign and reason. Legible at 80 columns, without colour and in a log file."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from screener.reports.wording import Verdict, counted, not_checked_says, verdict_of
from screener.screening.checks.coverage import NEW_PHOTOS
from screener.screening.checks.identity import EARLIER_PICTURE
from screener.screening.model import Finding, ScreenedItem

_STYLES = {"USE": "bold green", "HOLD": "bold yellow", "SEND BACK": "bold red"}


def print_items(console: Console, items: Sequence[ScreenedItem]) -> None:
    """Print a table of items: line, what was ordered, what to do, why and what next; then the counts.

    Texts from labels and orders are printed as they are, never as markup.
    """
    console.print(items_table(items))
    console.print(Text(counts_say(items)))


def items_table(items: Sequence[ScreenedItem]) -> Table:
    """Return the table that `print_items` prints."""
    table = Table(box=None, pad_edge=False, padding=(0, 1, 1, 0), header_style="bold", expand=False)
    table.add_column("Item", overflow="fold", max_width=10)
    table.add_column("Ordered", overflow="fold", max_width=20)
    table.add_column("Do", no_wrap=True)
    table.add_column("Why, and what next", overflow="fold", ratio=1)
    for screened in items:
        table.add_row(
            plain_cell(screened.item.key),
            plain_cell(screened.item.requirement.need),
            _verdict_cell(verdict_of(screened.disposition)),
            _why_cell(screened),
        )
    return table


def counts_say(items: Sequence[ScreenedItem]) -> str:
    """Return the counts in words: ``12 items: 8 use, 3 hold, 1 send back``."""
    counts = ", ".join(
        f"{number} {word.lower()}" for word, number in counted(verdict_of(each.disposition) for each in items).items()
    )
    return f"{len(items)} item{'' if len(items) == 1 else 's'}: {counts}"


def plain_cell(text: str) -> Text:
    """Return text without control characters: a code must not be able to steer the terminal."""
    return Text("".join(sign if sign.isprintable() else "·" for sign in text))


def _verdict_cell(verdict: Verdict) -> Text:
    cell = Text(f"{verdict.sign} {verdict.word}", style=_STYLES[verdict.word])
    return cell.append(f"\n  {verdict.detail}", style="not bold") if verdict.detail else cell


def _why_cell(screened: ScreenedItem) -> Text:
    disposition = screened.disposition
    why = plain_cell(disposition.reason)
    if disposition.word != "accept" and disposition.next_step:
        why.append("\n→ ").append_text(plain_cell(disposition.next_step))
        for question in _on_pictures(screened):
            why.append("\nA question: ").append_text(plain_cell(question))
        return why
    questions = [_with_step(each) for each in screened.findings if each.weight == "question"]
    if questions:
        more = f" And {len(questions) - 1} more, see the report." if len(questions) > 1 else ""
        why.append("\nA question: ").append_text(plain_cell(questions[0] + more))
    if screened.not_checked:
        why.append("\nNot checked: ").append_text(plain_cell(not_checked_says(screened)))
    return why


def _on_pictures(screened: ScreenedItem) -> list[str]:
    """What is asked about pictures of an earlier item: it stands beside any other reason, for new photos settle it."""
    told = screened.disposition.reason
    asked = [each for each in screened.findings if each.code == EARLIER_PICTURE and each.says != told]
    nothing_seen = any(gap.code == NEW_PHOTOS and gap.says == told for gap in screened.not_checked)
    return [] if nothing_seen else [_with_step(each) for each in asked]


def _with_step(finding: Finding) -> str:
    return f"{finding.says} → {finding.next_step}" if finding.next_step else finding.says
