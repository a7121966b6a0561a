"""What every screen says of an item after somebody confirmed what it turned out to be."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from cli.telling import told
from reports.making import photo, screened
from typer.testing import CliRunner

from screener.audit.batch.compare import compare_batch
from screener.audit.lot import judge_lot
from screener.cli.main import app
from screener.errors import WrongUsage
from screener.records.audit_units import Chosen, audit_units
from screener.records.model import ItemRecord, PhotoRef
from screener.records.record import Record
from screener.records.result_json import item_as_json
from screener.screening.checks.coverage import NEW_PHOTOS
from screener.screening.model import Disposition, NotChecked

PLAIN, SUSPECT, GOOD = 1, 2, 3


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """Three items of one supplier: one on hold for doubt, one kept for suspicion, one to be used."""
    place = tmp_path / "record.sqlite"
    with Record.open(place) as opened:
        run = opened.start_run("receive", order_name="order.csv").id
        photos = (PhotoRef(opened.archive.keep(photo()), "a.jpg"),)
        ask = Disposition("hold", "keep and ask", "Serial seen before.", "Keep it.", "R4")
        use = Disposition("accept", "use", "Label and mark agree.", "Put it away.", "R7")
        for key, result, word, suspicion in (
            ("1", screened("1"), "hold", "none"),
            ("2", screened("2", disposition=ask), "hold", "strong"),
            ("3", screened("3", disposition=use, findings=()), "accept", "none"),
        ):
            opened.add_item(
                run,
                ItemRecord(key, key, item_as_json(result), word, suspicion, "6205-2RS", "Velmort & Co", key, photos),
            )
    return place


def confirmed(record: Path, item: int, word: str) -> str:
    why = "the maker answered on 3 May"
    return told("outcome", item, "--confirmed", word, "--by", "A. Buyer", "--why", why, "--record", record)


@pytest.mark.parametrize(
    ("item", "word", "do", "step"),
    [
        (PLAIN, "nonconforming", "SEND BACK", "it goes back with a claim"),
        (PLAIN, "conforming", "USE", "It may be used"),
        (SUSPECT, "nonconforming", "HOLD", "do not return it"),
        (SUSPECT, "conforming", "USE", "It may be used"),
        (GOOD, "nonconforming", "SEND BACK", "it goes back with a claim"),
    ],
)
def test_an_outcome_says_what_to_do_now_and_every_list_follows(
    record: Path, item: int, word: str, do: str, step: str
) -> None:
    says = confirmed(record, item, word)
    assert f"Now: {do}. " in says
    assert step in says
    assert ("--nonconformance" in says) == (word == "nonconforming")
    assert f"– {do}" in told("log", "show", item, "--record", record).splitlines()[0]
    held = [line.split()[0] for line in told("log", "items", "--disposition", "hold", "--record", record).splitlines()]
    assert (str(item) in held) == (do == "HOLD")
    (row,) = (each for each in json.loads(told("log", "export", "--record", record)) if each["record"] == item)
    assert (row["what_to_do"], row["decided"]["kind"]) == (do, word)
    history = json.loads(told("suppliers", "--json", "--record", record))["suppliers"][0]
    assert history["outcomes"][word] == 1
    assert history["rates"]["sent_back"]["count"] == (do == "SEND BACK")
    assert history["rates"]["held"]["count"] == len({PLAIN, SUSPECT} - {item}) + (do == "HOLD")
    audited = CliRunner().invoke(app, ["audit", "--json", "--record", str(record)]).stdout
    unit = next(each for each in json.loads(audited)["units"] if each["record"] == item)
    assert unit["disposition"] == {"USE": "accept", "HOLD": "hold", "SEND BACK": "reject"}[do]


def letter(record: Path, item: int) -> str:
    page = record.parent / "letter.html"
    told("audit", "--item", item, "--nonconformance", page, "--record", record)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.read_text()))


@pytest.mark.parametrize("item", [PLAIN, SUSPECT, GOOD])
def test_the_letter_states_a_confirmed_finding_and_asks_for_its_correction(record: Path, item: int) -> None:
    """ISO 9001:2015, 8.7.1 (correction, return), 8.7.2 d (who decided), 10.2.1 b and c (cause, corrective action)."""
    if item != GOOD:
        assert "question open" in letter(record, item)
    confirmed(record, item, "nonconforming")
    text = letter(record, item)
    for part in (
        "nonconforming, confirmed",
        "A. Buyer",
        "the maker answered on 3 May",
        "replace these goods or credit",
    ):
        assert part in text, part
    for part in ("tell us the cause", "does not happen again", "Of these nonconforming (8.7.2 a) 1"):
        assert part in text, part
    assert re.search(r"Confirmed on \d+ \w+ 20\d\d", text)
    assert "question open" not in text.split("Findings")[0].split("Nonconformity")[1]
    assert "statement of origin" not in text
    assert ("These goods stay with us" in text) == (item == SUSPECT)


@pytest.mark.parametrize("item", [PLAIN, SUSPECT])
def test_a_part_that_conforms_gets_no_letter_and_the_refusal_says_what_to_do(record: Path, item: int) -> None:
    confirmed(record, item, "conforming")
    with pytest.raises(WrongUsage, match=r"confirmed as conforming by A\. Buyer") as caught:
        told("audit", "--item", item, "--nonconformance", record.parent / "n.html", "--record", record)
    assert "It may be used" in (caught.value.next_step or "")
    assert f"screener outcome {item} --withdraw" in (caught.value.next_step or "")
    assert not (record.parent / "n.html").exists()


def test_an_outcome_taken_back_leaves_the_answer_s_own_word(record: Path) -> None:
    confirmed(record, PLAIN, "conforming")
    says = told("outcome", PLAIN, "--withdraw", "--by", "A. Buyer", "--why", "a slip", "--record", record)
    assert "no outcome stands" in says
    assert "Now: HOLD. " in says


def audited(record: Path, *more: object) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(told("audit", *more, "--json", "--record", record, code=10))
    return found


def head_counts(record: Path) -> dict[str, int]:
    """The counts at the head of the audit's page."""
    page = record.parent / "audit.html"
    told("audit", "--out", page, "--record", record, code=10)
    text = re.sub(r"<[^>]+>", " ", page.read_text())
    names = "inspected|use|agree with the order|look again|keep and ask|keep and claim|kept with their lot|send back"
    return {name: int(count) for count, name in re.findall(rf"(\d+)\s+({names})\b", text.split("What to do now")[0])}


def test_a_lot_that_is_held_counts_none_of_its_units_as_used(record: Path) -> None:
    """All three are of one product and supplier: the suspect one keeps the others, until it or they are settled."""
    assert head_counts(record) == {
        "inspected": 3, "agree with the order": 0, "look again": 0, "keep and ask": 1, "send back": 0,
        "kept with their lot": 2
    }  # fmt: skip
    confirmed(record, PLAIN, "conforming")
    lot = audited(record)["lot"]
    assert "return none and use none of them before this is settled; item 1 excepted" in lot["reasons"][0]["next_step"]
    assert head_counts(record)["agree with the order"] == 1
    assert lot["kept_with_lot"] == [GOOD]


def test_a_suspect_unit_that_was_confirmed_is_no_longer_asked_about(record: Path) -> None:
    confirmed(record, SUSPECT, "nonconforming")
    lot = audited(record)["lot"]
    assert "asked about" not in lot["says"]
    assert "1 unit was confirmed as nonconforming and kept (item 2)." in lot["says"]
    counts = head_counts(record)
    assert (counts["keep and claim"], counts["keep and ask"], counts["agree with the order"]) == (1, 0, 1)
    assert "(record 2, keep and claim)" in (record.parent / "audit.html").read_text()


def test_an_item_that_a_person_held_is_not_told_to_be_put_away(record: Path) -> None:
    told("hold", GOOD, "--by", "Kim", "--reason", "wet carton", "--record", record)
    unit = next(each for each in audited(record)["units"] if each["record"] == GOOD)
    assert unit["decided"] == "held by Kim: wet carton"
    with Record.open(record) as opened:
        lot = judge_lot(compare_batch([each for each in audit_units(opened, Chosen()) if each.record == GOOD]))
    assert [each.next_step for each in lot.reasons] == ["Item 3: It stays back until somebody releases it."]


def test_pictures_of_an_earlier_item_are_no_finding_on_this_one(record: Path) -> None:
    """The answer itself says that nothing was seen of this piece: a supplier cannot answer for another one's photos."""
    with Record.open(record) as opened:
        gap = NotChecked(NEW_PHOTOS, "These are pictures of an earlier item.", "this piece itself", required=True)
        result = item_as_json(screened("4", not_checked=(gap,)))
        run = opened.runs()[0].id
        item = opened.add_item(run, ItemRecord("4", "4", result, "hold", "none", "6205-2RS", "Velmort & Co", "4"))
    with pytest.raises(WrongUsage, match="it was not seen well enough"):
        letter(record, item)
    confirmed(record, item, "nonconforming")
    text = letter(record, item)
    assert "Confirmed as nonconforming: the maker answered on 3 May" in text
    assert "The ring reads 6205-2Z" not in text
