"""What to do with an item now, as the terminal says it: the next step, and the commands that take it."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from screener.records.standing import what_to_do

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from screener.audit.lot import LotDisposition
    from screener.receiving.delivery import Delivery
    from screener.records.model import StoredItem
    from screener.records.standing import Standing


def what_now(stored: StoredItem, standing: Standing | None, record: str | None) -> list[str]:
    """Return the lines: what to do now and why it stands so, then each command that may come next.

    Parameters
    ----------
    stored, standing
        The item, and the word of people that stands on it.
    record
        As given by ``--record``: a command that is copied has to find the same record.
    """
    word = what_to_do(stored, standing)
    step = standing.next_step if standing is not None else str(stored.result.get("next_step", ""))
    return [f"Now: {word}. {step}".rstrip(), *_commands(stored, standing, word, record)]


def letter_command(item: int | str, record: str | None) -> str:
    """Return the command that writes the letter to the supplier."""
    return _command(f"audit --item {item} --nonconformance claim.html", record)


def release_command_of(item: int | str, record: str | None) -> str:
    """Return the command that lets an item go on a person's word."""
    return _command(f"release {item} --by NAME --reason …", record)


def after_delivery(delivery: Delivery, record: str | None) -> list[str]:
    """Return the lines under a delivery's answers: the commands for what goes back and what is on hold."""
    words = {each.item.key: each.disposition.word for each in delivery.items}
    back, held = ([key for key, word in words.items() if word == wanted] for wanted in ("reject", "hold"))
    lines = []
    if back:
        lines.append(f"To send back, with a letter to the supplier: {letter_command('N', record)}")
    if held:
        lines.append(f"To release by name what is settled: {release_command_of('N', record)}")
    if lines:
        lines.append(f"N is the item's number in the record: {_numbers_say([*back, *held], delivery.record_ids)}.")
    return lines


def after_audit(lot: LotDisposition, record: str | None) -> list[str]:
    """Return the lines under an audit: the commands for what does not conform and what is on hold."""
    lines = []
    if lot.nonconforming or any(each.code == "confirmed_unit" for each in lot.reasons):
        lines.append(f"A letter to the supplier: {letter_command('N', record)}")
    if lot.open or any(each.code == "suspect_unit" for each in lot.reasons):
        lines.append(f"To release by name what is settled: {release_command_of('N', record)}")
    if lines:
        lines.append("N is the item's number in the record: the one after “record”, or the item's own where none is.")
    return lines


def _numbers_say(keys: Sequence[str], ids: Mapping[str, int]) -> str:
    if all(key == str(ids[key]) for key in keys):
        return "here the same as above"
    shown = ", ".join(f"{ids[key]} for item {key}" for key in keys[:12])
    return f"{shown}{' and so on (`screener log items`)' if len(keys) > 12 else ''}"


def _commands(stored: StoredItem, standing: Standing | None, word: str, record: str | None) -> list[str]:
    lines = []
    if standing is not None and standing.kind == "hold" and standing.outcome == "conforming":
        lines.append("It was held before, and a hold stays until somebody releases it.")
    if word == "SEND BACK" or (standing is not None and standing.kept):
        lines.append(f"The letter to the supplier: {letter_command(stored.id, record)}")
    elif word == "HOLD":
        lines.append(f"When it is settled and may be used: {release_command_of(stored.id, record)}")
        turned_out = _command(f"outcome {stored.id} --confirmed nonconforming --by NAME --why …", record)
        lines.append(f"When it turned out not to conform: {turned_out}")
    elif word == "USE":
        lines.append(
            f"If something else is wrong with it: {_command(f'hold {stored.id} --by NAME --reason …', record)}"
        )
    return lines


def _command(words: str, record: str | None) -> str:
    where = f" --record {shlex.quote(record)}" if record else ""
    return f"screener {words}{where}"
