"""How an item stands: a person's hold, release or confirmed outcome first, the answer's own word second.

The order is common practice in receiving inspection: a tag stays until somebody takes it off, and a part that was found
not to conform stays one whatever is photographed later (ISO 9001:2015, 8.7).
"""

from __future__ import annotations

from itertools import count

import pytest

from screener.records.model import Event, StoredItem
from screener.records.standing import disposition_now, standing_of

OLD, NOW = 1, 2


def item(way_out: str = "look again", disposition: str = "hold") -> StoredItem:
    return StoredItem(NOW, 1, "1~2", "", "", {"exit": way_out}, disposition, "none", "6205", "AB", "1")


def said(*told: str) -> list[Event]:
    """``hold``, ``release``, ``good`` or ``bad`` on the answer that counts; on the one before it: ``hold-``."""
    numbers = count(1)
    confirmed = {"good": "conforming", "bad": "nonconforming"}
    events: list[Event] = []
    for word in told:
        kind, number = word.rstrip("-"), next(numbers)
        data = {"confirmed": confirmed[kind]} if kind in confirmed else {}
        if kind == "withdraw":
            data = {"withdrawn": max(each.id for each in events if each.kind == "outcome")}
        named = kind if kind in {"hold", "release"} else "outcome"
        on = OLD if word.endswith("-") else NOW
        events.append(Event(number, named, f"2026-03-{number:02}T08:00:00Z", "Kim", "seen", 1, on, data))
    return events


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ([], None),
        (["hold"], "HOLD"),
        (["hold-"], "HOLD"),
        (["release"], "USE"),
        (["release-"], None),
        (["hold-", "release"], "USE"),
        (["good"], "USE"),
        (["good-"], None),
        (["bad"], "SEND BACK"),
        (["bad-"], "SEND BACK"),
        (["hold", "good"], "HOLD"),
        (["hold", "good", "release"], "USE"),
        (["hold", "bad"], "SEND BACK"),
        (["bad", "hold"], "HOLD"),
        (["release", "bad"], "SEND BACK"),
        (["bad", "release"], "USE"),
        (["bad-", "release-"], "SEND BACK"),
        (["bad", "good"], "USE"),
        (["good", "bad", "withdraw"], "USE"),
        (["bad", "withdraw"], None),
        (["hold", "bad", "withdraw"], "HOLD"),
    ],
)
def test_what_people_said_last_and_still_counts_goes_first(told: list[str], word: str | None) -> None:
    standing = standing_of(said(*told), item())
    assert (standing.word if standing else None) == word


def test_a_suspect_part_that_did_not_conform_is_kept() -> None:
    """reference_specs/steps.toml: nothing suspect goes back into trade before maker or authority have agreed."""
    kept, plain = (standing_of(said("bad"), item(way)) for way in ("keep and ask", "look again"))
    assert kept is not None
    assert plain is not None
    assert (kept.word, plain.word) == ("HOLD", "SEND BACK")
    assert "do not return it" in kept.next_step
    assert "it goes back with a claim" in plain.next_step


def test_both_words_are_told_oldest_first() -> None:
    standing = standing_of(said("release", "bad"), item())
    assert standing is not None
    assert standing.says == "released by Kim: seen; confirmed as nonconforming by Kim: seen"
    assert (standing.outcome, standing.released) == ("nonconforming", True)


def test_without_a_word_of_people_the_answer_s_own_counts() -> None:
    assert disposition_now(item(disposition="reject"), standing_of([], item())) == "reject"
