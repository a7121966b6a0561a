"""The contract ``screener.result/1``: names that outside programs rely on."""

from __future__ import annotations

import json
from dataclasses import replace

from reports.making import observation, screened

from screener.records.result_json import result_as_json
from screener.screening.model import Suspicion, WeighedIndicator

CONTRACT_ITEM = {"item", "requirement", "disposition", "suspicion", "findings", "not_checked"}
CONTRACT_FINDING = {"code", "weight", "says", "rests_on", "observations"}
"""Names fixed by the design's section on the machine-readable contract."""


def test_the_contract_s_names_and_kinds() -> None:
    result = json.loads(json.dumps(result_as_json([screened()])))
    assert result["schema"] == "screener.result/1"
    item = result["items"][0]
    assert set(item) >= CONTRACT_ITEM
    assert (item["item"], item["requirement"], item["disposition"]) == ("1", "6205-2RS", "hold")
    assert item["suspicion"]["level"] == "none"
    assert item["suspicion"]["ratio_db"] == 0.0
    assert item["not_checked"] == ["Clearance cannot be seen in a photo."]
    finding = item["findings"][0]
    assert set(finding) >= CONTRACT_FINDING
    assert finding["observations"][0]["value"] == "6205-2Z", "a finding carries what it points at"
    assert finding["observations"][0]["source"]["where"] == "a.jpg"


def test_everything_known_is_in_it() -> None:
    indicator = WeighedIndicator("serial_repeated", "serial", 9.0, 5.0, 12.0, 1.0, "seen before")
    made = screened(suspicion=Suspicion("moderate", 9.0, 5.0, 12.0, (indicator,)))
    item = result_as_json([made])["items"][0]
    assert item["exit"] == "look again"
    assert item["rule"] == "R5"
    assert item["agreed"] == ["The size agrees with the order."]
    assert item["photos"] == ["a.jpg"]
    assert item["order_line"]["duty"] == ["wet"]
    assert item["suspicion"]["indicators"][0]["indicator"] == "serial_repeated"
    assert [each["key"] for each in item["observations"]] == ["o1", "o2"]


def test_texts_and_numbers_that_json_or_databases_refuse_are_made_fit() -> None:
    made = screened()
    broken = replace(made.item, observations=(observation("o1", "a\0b\ud800", u=float("nan")),))
    text = json.dumps(result_as_json([replace(made, item=broken)]), allow_nan=False, ensure_ascii=False)
    text.encode("utf-8")
    assert "\\u0000" not in text
    assert "a␀b" in text
