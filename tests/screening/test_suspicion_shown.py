"""What paper shows about suspicion: facts with ordinary causes, ratios with their range, no verdict on who made it."""

from __future__ import annotations

import html
import json
import re
from dataclasses import replace

import pytest
from screening.items import GOOD_6205, TODAY, item, label, need

from screener.records.result_json import item_as_json, item_from_json
from screener.reports import wording
from screener.reports.html_report import html_report
from screener.reports.report_data import ReportData
from screener.screening.model import Source, Trade
from screener.screening.screen import screen

PART = need("6205-2RS C3", duty=["dry"])
# Words never used for a result; "%" beside them would be read as truth (practice of suspect-item guidance).
_VERDICTS = re.compile(r"\b(genuine|authentic|verified|counterfeit|fake|fraud\w*|forged|illegal|guilty)\b", re.I)


def screened(*signs):
    by_eye = [replace(label("sign", s), source=Source("person", "Ann"), p=None) for s in signs]
    return screen(item(PART, *GOOD_6205, *by_eye), TODAY)


def written(*items):
    return html_report(ReportData("Delivery", "12 March 2026", "order.csv", items, "0"))


@pytest.fixture(scope="module")
def page():
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", written(screened("PK1", "CO9", "CO5")))))


def test_each_sign_stands_with_its_ordinary_causes_and_its_range(page):
    assert "Ordinary causes: stiff new grease; cold part" in page
    assert (
        "strong: seen about 20 times as often on bad items as on good ones (10 to 50; 10 to 17 dB); a judgement" in page
    )
    assert "counts 25% here" in page
    assert "the range of the weights leaves open" in page


def test_what_settles_it_and_how_it_is_held(page):
    assert "What may settle it, least cost first" in page
    assert "While it is held" in page
    assert "Keep everything that came with it" in page


def test_no_verdict(page):
    assert not _VERDICTS.search(page)


def test_nothing_suspect_shows_no_hold():
    assert "While it is held" not in written(screened())
    assert wording.suspicion_means(screened().suspicion) == ""


def test_the_record_gives_back_what_was_shown():
    done = screened("PK1", "CO9")
    again = item_from_json(item_as_json(done))
    assert again.next_steps == done.next_steps
    assert [w.ordinary_causes for w in again.suspicion.indicators] == [
        w.ordinary_causes for w in done.suspicion.indicators
    ]
    assert wording.absence_says(again.suspicion) == wording.absence_says(done.suspicion)


def test_the_record_gives_back_what_the_order_said_about_the_trade():
    asked = replace(PART, trade=Trade(unit_price=3.5, currency="EUR", chain_of_sale=False), signs=("PA4",))
    done = screen(item(asked, *GOOD_6205), TODAY)
    again = item_from_json(json.loads(json.dumps(item_as_json(done))))
    assert again.item.requirement == done.item.requirement
    assert item_as_json(again) == item_as_json(done)
