"""What has just been recorded, in a sentence with the person's name, read back from the record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.dock.pages import words

if TYPE_CHECKING:
    from screener.receiving.bench_model import BenchLine

_DECISIONS = frozenset({"hold", "release"})


def done_says(line: BenchLine, done: str) -> str:
    """Return the sentence for what a form has just done; empty where the record does not have it.

    Parameters
    ----------
    line
        As it stands now.
    done
        ``hold``, ``release``, ``correct``, ``withdraw-`` with the photo's hash, or ``reading`` with how many:
        ``reading2``.
    """
    if done in _DECISIONS:
        return _decided(line, done)
    if done == "correct" and line.corrections:
        return f"Recorded: {words.correction_says(line.corrections[-1])}."
    if done.startswith("withdraw-"):
        return _withdrawn(line, done.removeprefix("withdraw-"))
    count = done.removeprefix("reading")
    if done.startswith("reading") and count.isdecimal() and len(count) < 3 and line.readings:
        newest = line.readings[-max(int(count), 1) :]
        return f"Recorded: {'; '.join(words.reading_says(each) for each in newest)}."
    return ""


def _withdrawn(line: BenchLine, sha256: str) -> str:
    gone = next((each for each in reversed(line.withdrawn) if each.photo.sha256 == sha256), None)
    if gone is None:
        return ""
    photo = gone.photo
    return (
        f"Recorded: {words.tile_name(photo)} ({photo.name}) taken away by {gone.who}. "
        "It no longer belongs to this line; it stays in the record."
    )


def _decided(line: BenchLine, done: str) -> str:
    standing = line.answer.standing if line.answer is not None else None
    if standing is None or standing.kind != done:
        return ""
    return (
        f"Recorded: {standing.by}, {words.moment(standing.at)}. "
        f"Reason: {standing.why.rstrip('.')}. {standing.next_step}"
    )
