"""The buyer's job in a real browser: what is on hold, who sent what, everything about one item, papers to take away."""

from __future__ import annotations

import csv
import io
import json

import pytest
from playwright.sync_api import expect

from .conftest import ANSWER_MS, open_delivery, take


@pytest.fixture
def worked(page, dock):
    """A delivery with one line answered: a misspelt maker's word, so it is kept."""
    open_delivery(page, dock.order("8", mark="buyer"))
    page.locator("#lines a").click()
    if page.locator("#taken li").count() == 0:
        take(page, "08")
    expect(page.locator("#answer .stamp b")).to_have_text("HOLD", timeout=ANSWER_MS)
    expect(page.locator("#answer .sofar")).to_have_count(0, timeout=ANSWER_MS)
    return page


def test_from_hold_to_papers(worked, album):
    page = worked
    album(page, "buyer-line-keep")
    expect(page.locator("#answer")).to_contain_text("Do not return this part")
    page.get_by_role("link", name="On hold").first.click()
    expect(page.locator("#held")).to_contain_text("6202-2RS")
    album(page, "buyer-held")
    page.get_by_role("link", name="Suppliers").first.click()
    row = page.get_by_role("row", name="Ternfield Trade Counter")
    expect(row).to_be_visible()
    album(page, "buyer-suppliers")
    page.get_by_role("link", name="Ternfield Trade Counter").click()
    page.get_by_role("link", name="6202-2RS").first.click()
    expect(page.get_by_role("heading", name="History")).to_be_visible()
    expect(page.get_by_role("columnheader", name="dB").first).to_be_visible()
    album(page, "buyer-item")
    page.get_by_role("link", name="Report with marked photos").click()
    expect(page.locator("figure svg image").first).to_be_visible()
    album(page, "buyer-report")


def test_records_leave_in_both_forms(worked):
    page = worked
    run = page.locator("body").get_attribute("data-run")
    table = page.request.get(f"/deliveries/{run}/records.csv").text()
    assert [row["requirement"] for row in csv.DictReader(io.StringIO(table.lstrip("﻿")))] == ["6202-2RS"]
    items = json.loads(page.request.get(f"/deliveries/{run}/records.json").text())
    assert [item["result"]["disposition"] if "result" in item else item["disposition"] for item in items] == ["hold"]


def test_the_buyer_finds_rates_photos_and_the_report_to_the_supplier(worked, album):
    page = worked
    page.goto("/held")
    page.get_by_role("link", name="Photos and papers for Ternfield Trade Counter").first.click()
    expect(page.locator(".marked svg polygon.outline").first).to_be_visible()
    picture = page.locator(".marked image").first
    size = picture.evaluate("each => fetch(each.href.baseVal).then(answer => answer.status)")
    assert size == 200
    album(page, "buyer-item-marked", full=False)
    with page.expect_download() as taken:
        page.get_by_role("link", name="Report to the supplier (PDF)").click()
    assert taken.value.path().read_bytes().startswith(b"%PDF")
    text = page.request.get(page.get_by_role("link", name="Report to the supplier (HTML)").get_attribute("href")).text()
    # ISO 9001:2015, 8.7.2: the nonconformity and what was done about it are documented.
    assert "8.7.2" in text
    assert "6202-2RS" in text
    page.goto("/suppliers/one?name=ternfield+trade+counter")
    # Jeffreys interval for 1 of 1 (Brown, Cai and DasGupta 2001): from 15 % with its upper end at 100 %.
    expect(page.locator("main")).to_contain_text(
        "1 of 1 held; 1 part is too few to say how often: anything from 15 to 100 in 100 would fit"
    )
    expect(page.locator("main")).to_contain_text("too few deliveries or cases to see a change")
    page.locator("summary", has_text="By kind of part").click()
    expect(page.get_by_role("columnheader", name="Suspect").first).to_be_visible()
    album(page, "buyer-supplier")
