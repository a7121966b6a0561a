"""Whether a letter to the supplier is due for an item as it stands, and if not, what to do instead."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.errors import WrongUsage
from screener.records.model import day_says

if TYPE_CHECKING:
    from screener.records.model import StoredItem
    from screener.records.standing import Standing


def check_due(stored: StoredItem, standing: Standing | None, *, is_found: bool) -> None:
    """Refuse a letter that says nothing a supplier could answer.

    Raises
    ------
    WrongUsage
        The item may be used, by a person's word or its own answer, or nothing was found on it.
    """
    confirm = f"`screener outcome {stored.id} --confirmed nonconforming --by NAME --why …`"
    if standing is not None and standing.word == "USE":
        back = f"`screener outcome {stored.id} --withdraw --by NAME --why …`"
        slip = f"if the outcome was a slip: {back}" if standing.kind == "conforming" else f"if it is wrong: {confirm}"
        raise _not_due(
            stored,
            f"this item was {standing.by} on {day_says(standing.at)} ({standing.why or 'no reason was given'}): there "
            "is no nonconformity to report.",
            f"{standing.next_step} No letter is needed; {slip}.",
        )
    if standing is None and stored.disposition == "accept":
        raise _not_due(
            stored,
            "this item may be used: there is no nonconformity to report.",
            f"`screener log items` shows which are not; if it turned out to be wrong: {confirm}.",
        )
    if not is_found:
        raise _not_due(
            stored,
            "nothing was found on this item that a supplier could answer: it was not seen well enough.",
            "Take the photos it asks for and screen it again; if a person has found out that it does not conform: "
            f"{confirm}.",
        )


def _not_due(stored: StoredItem, says: str, step: str) -> WrongUsage:
    return WrongUsage(says, where=f"item {stored.id}", next_step=step, code="nothing_to_report")
