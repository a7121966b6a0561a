"""What was observed, one row a fact: the same value from several sources is one row with several witnesses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from screener.reports.wording import CHANNEL_WORDS, attribute_says, sureness_says, value_says
from screener.screening.model import Observation, ScreenedItem

QUIET = frozenset({"mark_spacing", "mark_baseline", "mark_stroke", "mark_contrast"})
"""Numbers that only a finding makes worth a row."""


@dataclass(frozen=True, slots=True)
class ObservedRow:
    """One fact with its number on the page and who says so."""

    number: int
    what: str
    value: str
    by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Observed:
    """The rows, the number of each observation by key, and text that was read but says nothing further."""

    rows: tuple[ObservedRow, ...]
    numbers: Mapping[str, int]
    also_read: tuple[str, ...]


def observed_rows(screened: ScreenedItem) -> Observed:
    """Return the facts of an item in the order first seen.

    Lines of text that no finding points at get no number: the designation, batch and so on read from them have one.
    """
    pointed_at = {key for finding in screened.findings for key in finding.observations}
    facts: dict[tuple[str, str], list[Observation]] = {}
    also_read: dict[str, None] = {}
    for each in screened.item.observations:
        if each.attribute == "text" and each.key not in pointed_at:
            also_read[str(each.value)] = None
        elif each.attribute not in QUIET or each.key in pointed_at:
            facts.setdefault((_what(each), value_says(each)), []).append(each)
    rows = tuple(
        ObservedRow(number, what, value, tuple(dict.fromkeys(_by(each) for each in witnesses)))
        for number, ((what, value), witnesses) in enumerate(facts.items(), 1)
    )
    numbers = {each.key: number for number, witnesses in enumerate(facts.values(), 1) for each in witnesses}
    return Observed(rows, numbers, tuple(also_read))


def _what(observation: Observation) -> str:
    face = "" if observation.face == "unknown" else f", {observation.face} face"
    return attribute_says(observation) + face


def _by(observation: Observation) -> str:
    source = observation.source
    sure = sureness_says(observation)
    reader = f" ({source.reader})" if source.reader else ""
    where = ", ".join((source.where, *source.also))
    return f"{CHANNEL_WORDS[source.channel]}, {where}" + (f": {sure}" if sure else "") + reader


def numbers_say(numbers: Sequence[int]) -> str:
    """Return numbers short: ``1–5, 8``."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(str(number) for number in run) for run in runs
    )
