"""Pictures that came with an earlier delivery show nothing of the piece in hand (common practice)."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console
from screening.items import GOOD_6205, TODAY, face, item, label, mark, need, photo_size, reading

from screener.reports.table import print_items
from screener.screening.model import EARLIER, Item, Observation, ScreenedItem, Source
from screener.screening.screen import screen

PART = need("6205-2RS C3", duty=["dry"])
EARLIER_ITEM = "12 March 2026, item 4 of may.csv (record 18)"
HASHES = {"box.jpg": "b" * 64, "face1.jpg": "f" * 64, "first.jpg": "f" * 64, "second.jpg": "s" * 64}


def with_earlier(*names: str, observations: tuple[Observation, ...] = GOOD_6205) -> Item:
    """An item of all its photos, some of which were received before."""
    seen = [
        Observation(
            "", "seen_before", EARLIER_ITEM, Source("photo", name, HASHES[name], (), "the same file", ("a.jpg",))
        )
        for name in names
    ]
    theirs = Observation("", "seen_before", EARLIER_ITEM, Source("photo", "a.jpg of record 18", "0" * 64, (), EARLIER))
    mine = item(PART, *observations, *seen, *([theirs] if names else []))
    photos = dict.fromkeys(o.source.where for o in observations if o.source.photo_sha256)
    return replace(mine, photos=tuple(photos))


def judged(*names: str, observations: tuple[Observation, ...] = GOOD_6205, **around: object) -> ScreenedItem:
    return screen(with_earlier(*names, observations=observations), replace(TODAY, **around))


def printed(screened: ScreenedItem) -> str:
    out = io.StringIO()
    print_items(Console(file=out, width=400), [screened])
    return " ".join(out.getvalue().split())


def test_new_photos_that_show_all_are_used() -> None:
    assert judged().disposition.exit == "use"


def test_only_earlier_pictures_are_looked_at_again_and_name_the_earlier_item() -> None:
    found = judged("box.jpg", "face1.jpg", "first.jpg", "second.jpg")
    assert (found.disposition.word, found.disposition.exit) == ("hold", "look again")
    assert EARLIER_ITEM in found.disposition.reason
    assert "new photos of this piece" in found.disposition.next_step
    assert not [line for line in found.agreed if "6205" in line], "nothing of this piece was seen to agree"
    assert "new_photos" in [step.step for step in found.next_steps]


def test_a_reading_does_not_stand_for_a_look_at_the_piece() -> None:
    read = (*GOOD_6205, reading("od_mm", 52.0), reading("bore_mm", 25.0), reading("width_mm", 15.0))
    assert judged("box.jpg", "face1.jpg", "first.jpg", "second.jpg", observations=read).disposition.exit == "look again"


def test_nothing_is_claimed_on_earlier_pictures() -> None:
    wrong = (label("designation", "6203-2Z"), mark("6203-2Z"), face("shield"), photo_size("od_mm", 40.0, 0.1))
    assert judged(observations=wrong).disposition.exit == "send back"
    assert judged("box.jpg", "face1.jpg", "first.jpg", observations=wrong).disposition.exit == "look again"


def test_some_from_the_same_delivery_and_the_rest_from_earlier_is_no_new_photo_either() -> None:
    found = judged("face1.jpg", "first.jpg", "second.jpg", photos_elsewhere=(("b" * 64, "item 2"),))
    assert found.disposition.exit == "look again"
    assert [gap.code for gap in found.not_checked if gap.required] == ["new_photos"]


@pytest.mark.parametrize(("earlier", "missing"), [("first.jpg", {"steel", "face"}), ("box.jpg", set())])
def test_what_only_an_earlier_picture_shows_does_not_count_as_seen(earlier: str, missing: set[str]) -> None:
    observations = tuple(o for o in GOOD_6205 if o.source.where != "second.jpg")
    wanted = {gap.code for gap in judged(observations=observations).not_checked if gap.required}
    found = judged(earlier, observations=observations)
    assert {gap.code for gap in found.not_checked if gap.required} == wanted | missing
    assert any(finding.code == "photo_seen_before" for finding in found.findings)


def test_with_enough_new_photos_it_stays_a_question_with_its_step() -> None:
    found = judged("box.jpg")
    assert found.disposition.exit == "use"
    assert "label" not in found.disposition.reason, "the label was read in an earlier picture only"
    text = printed(found)
    assert "A question: The photo box.jpg was received before" in text
    assert "→ Take new photos of this piece" in text


def test_a_held_line_shows_the_question_too() -> None:
    found = judged("box.jpg", observations=(*GOOD_6205[:4], reading("od_mm", 51.0), photo_size("od_mm", 52.1, 0.2)))
    assert found.disposition.word != "accept"
    assert "received before" not in found.disposition.reason
    assert f"A question: The photo box.jpg was received before: {EARLIER_ITEM}" in printed(found)


def test_the_reason_is_not_said_twice() -> None:
    assert printed(judged("box.jpg", "face1.jpg", "first.jpg", "second.jpg")).count(EARLIER_ITEM) == 1
