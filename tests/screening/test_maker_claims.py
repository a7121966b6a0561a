"""What a maker's box claims, against an invented makers' file; each check is seen firing and staying quiet."""

from __future__ import annotations

from dataclasses import replace

import pytest
from screening.items import GOOD_6205, TODAY, barcode, item, label, mark, need

from screener.screening.checks import maker_claims
from screener.screening.model import Observation, Source
from screener.screening.screen import screen
from screener.specs.makers import Maker

KNOWN = (
    Maker(
        "QUORVEX",
        gtin_prefixes=("9529901",),
        label_always=("designation", "quantity", "batch"),
        serial_pattern="QX[0-9]{6}",
        batch_pattern="[0-9]{4}[A-F]",
        date_pattern="MM/YYYY",
        countries=("PT", "SK"),
        suffix_habits={"2RSR": "contact seals", "2ZR": "shields"},
    ),
    Maker("ZELTIMAR", gtin_prefixes=("9529902",)),
)
NEED = need("6205-2RS C3")
QUORVEX = label("maker", "QUORVEX")
LINES = tuple(label("text", text) for text in ("QUORVEX", "6205-2RS C3", "QTY: 4", "BATCH: 2605B", "MADE FOR SALE"))


@pytest.fixture(autouse=True)
def _invented_file(monkeypatch: pytest.MonkeyPatch) -> None:
    from screener.specs import makers

    monkeypatch.setattr(makers, "_shipped", lambda: KNOWN)


def found(*observations: Observation) -> dict[str, tuple[str, str | None]]:
    checked = maker_claims.check(item(NEED, *observations), TODAY)
    return {f.code: (f.weight, f.indicator) for f in checked.findings}


def test_a_number_of_another_known_maker() -> None:
    assert found(QUORVEX, barcode("gtin", "09529902000017")) == {"gtin_of_another": ("question", "LB4")}
    # Read by one reader only, it is told but not weighed.
    once = barcode("gtin", "09529902000017", confirmed=False)
    assert found(QUORVEX, once) == {"gtin_of_another": ("note", None)}
    by_hand = replace(once, source=Source("barcode", "counter", reader="handheld scanner"))
    assert found(QUORVEX, by_hand) == {"gtin_of_another": ("question", "LB4")}


def test_a_number_that_no_known_maker_has_is_a_note() -> None:
    assert found(QUORVEX, barcode("gtin", "09525555000017")) == {"gtin_not_known": ("note", None)}


@pytest.mark.parametrize(
    "observations",
    [
        (QUORVEX, barcode("gtin", "09529901000014")),
        (label("maker", "OBERWALT"), barcode("gtin", "09529901000014")),
        (label("maker", "QUORVEX", p=0.5), barcode("gtin", "09529902000017")),
        (label("maker", "QU0RVEX"), barcode("gtin", "09529902000017")),
        (QUORVEX, label("maker", "ZELTIMAR"), barcode("gtin", "09529902000017")),
        (barcode("gtin", "09529901000014"),),
    ],
)
def test_own_numbers_and_makers_not_known_or_not_sure_are_quiet(observations: tuple[Observation, ...]) -> None:
    assert found(*observations) == {}


def test_a_field_that_the_maker_always_prints_is_missing() -> None:
    fields = (QUORVEX, label("designation", "6205-2RS C3"), label("quantity", 4))
    assert found(*fields, *LINES) == {"label_field_missing": ("question", "LB1")}
    assert found(*fields, label("batch", "2605B"), *LINES) == {}
    # The code carries it, the label was read poorly, or only a corner of it: no finding.
    assert found(*fields, barcode("batch", "2605B"), *LINES) == {}
    assert found(*fields, *(replace(line, p=0.7) for line in LINES)) == {}
    assert found(*fields, *LINES[:3]) == {}
    blurred = Observation("", "problem", "The photo is blurred.", Source("photo", "box.jpg", reader="blurred"))
    assert found(*fields, *LINES, blurred) == {}


def test_serial_batch_and_date_unlike_the_makers_are_notes() -> None:
    assert found(QUORVEX, label("serial", "77001")) == {"unlike_the_maker": ("note", None)}
    assert found(QUORVEX, barcode("batch", "L2605B")) == {"unlike_the_maker": ("note", None)}
    assert found(QUORVEX, label("serial", "QX770012"), label("batch", "2605B")) == {}
    assert found(QUORVEX, label("country", "IT")) == {"unlike_the_maker": ("note", None)}
    assert found(QUORVEX, label("country", "SK")) == found(label("maker", "ZELTIMAR"), label("country", "IT")) == {}
    place = ((0.0, 0.0), (9.0, 0.0), (9.0, 3.0), (0.0, 3.0))
    for printed, told in (("Date: 05/2026", False), ("Date: 2026-05", True), ("Date 14.05.2026", True)):
        source = Source("label", "box.jpg", "b" * 64, region_px=place)
        date = replace(label("date", "2026-05"), source=source)
        line = replace(label("text", printed), source=source)
        assert (found(QUORVEX, date, line) == {"unlike_the_maker": ("note", None)}) is told


def test_another_houses_suffix() -> None:
    steel = mark("QUORVEX", attribute="maker")
    foreign = {"suffix_unlike_the_maker": ("question", "MK7")}
    assert found(steel, mark("6205-2RS1/C3")) == found(steel, mark("6205-2RS1C3")) == foreign
    assert found(QUORVEX, label("designation", "6205-DDU")) == foreign
    assert found(steel, mark("6205-DDU", p=0.6)) == {}
    # Its own code, everybody's code, an open bearing, a maker without habits: quiet.
    for quiet in ("6205-2RSR/C3", "6205-2RS/C3", "6205-2RSC3", "6205-2RSRC3P6", "6205", "6205-2ZR"):
        assert found(steel, mark(quiet)) == {}
    assert found(mark("ZELTIMAR", attribute="maker"), mark("6205-2RS1")) == {}


def test_one_weak_sign_does_not_hold_a_good_part() -> None:
    # A judgement of the shop: signs from the makers' file are weighed low unless the number is another maker's.
    fields = (QUORVEX, label("quantity", 4), *LINES)
    assert screen(item(NEED, *GOOD_6205, *fields), TODAY).disposition.word == "accept"
    other = screen(item(NEED, *GOOD_6205, *fields, barcode("gtin", "09529902000017")), TODAY)
    assert (other.disposition.word, other.disposition.exit) == ("hold", "keep and ask")
