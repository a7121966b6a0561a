"""The mechanic's job in a real browser: one part, then how it fits, then the sheet for the press."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from screener.metrology.fits.example_card import EXAMPLE

from .conftest import ANSWER_MS, PHONE, take


def test_one_part_to_the_job_sheet(page, album):
    page.goto("/part")
    page.get_by_label("What the job needs").fill("6306-2RS C3")
    page.get_by_label("water or steam").check()
    album(page, "mechanic-part")
    page.get_by_role("button", name="Go on to the photos").click()
    take(page, "02", "face1", "face2")
    expect(page.locator("#answer .stamp b")).to_have_text("USE", timeout=ANSWER_MS)
    # A part out of a drawer has no box; the two faces are enough.
    expect(page.locator("#answer .sofar")).to_have_count(0)
    album(page, "mechanic-answer")
    page.get_by_role("link", name="Will it fit?").click()
    page.get_by_label("Readings at one place, mm").first.fill("30.009 30.008")
    page.get_by_label("Readings at one place, mm").last.fill("72,012")
    page.get_by_label("The shaft turns").check()
    page.get_by_label("normal").check()
    album(page, "mechanic-fit-form")
    page.get_by_role("button", name="Say how it fits").click()
    # ISO 286-1: k5 on 30 mm is +2 to +11 µm, H7 on 72 mm is 0 to +30 µm.
    expect(page.locator("#fit-answer")).to_contain_text("30.0020 to 30.0110")
    expect(page.locator("#fit-answer")).to_contain_text("72.0000 to 72.0300")
    expect(page.locator("#fit-answer .stamp b")).to_have_text("FITS AS MEASURED")
    album(page, "mechanic-fit-answer")
    page.get_by_label("Retaining ring for the shaft").check()
    with page.expect_popup() as popup:
        page.get_by_role("button", name="Job sheet with drawing").click()
    sheet = popup.value
    expect(sheet.locator("svg.stack")).to_be_visible()
    expect(sheet.locator(".ticks li", has_text="Retaining ring for the shaft")).to_contain_text("✓")
    assert sheet.locator("body").evaluate("body => getComputedStyle(body).backgroundColor") == "rgb(255, 255, 255)"
    album(sheet, "mechanic-job-sheet")
    reached = page.request.get(page.url.replace("/fit?", "/fit/sheet.pdf?"))
    assert reached.body().startswith(b"%PDF")


def test_a_name_that_is_none_is_said_kindly(tablet, album):
    page = tablet(viewport=PHONE)
    page.goto("/part")
    page.get_by_label("What the job needs").fill("6295-2RS")
    page.get_by_role("button", name="Go on to the photos").click()
    expect(page.get_by_role("alert")).to_contain_text("is not understood")
    expect(page.get_by_label("What the job needs")).to_have_value("6295-2RS")
    album(page, "mechanic-not-understood")


def test_a_seal_is_judged_too(page, album):
    page.goto("/fit")
    page.get_by_label("Bearing or seal").fill("35x52x7 NBR")
    page.get_by_label("Readings at one place, mm").first.fill("34.95")
    page.get_by_label("Readings at one place, mm").last.fill("52.02")
    page.get_by_label("Speed, rpm").fill("1450")
    page.get_by_text("For a shaft seal").click()
    page.get_by_label("oil or grease in").check()
    page.get_by_role("button", name="Say how it fits").click()
    # ISO 286-1: h11 on 35 mm is -160 to 0 µm, H8 on 52 mm is 0 to +46 µm.
    expect(page.locator("#fit-answer")).to_contain_text("34.8400 to 35.0000")
    expect(page.locator("#fit-answer")).to_contain_text("52.0000 to 52.0460")
    album(page, "mechanic-seal")


def test_a_job_card_is_walked_part_by_part(page, album, tmp_path):
    card = tmp_path / "card.toml"
    card.write_text(re.sub(r"readings_mm = \[\[.*\]\]", "readings_mm = []", EXAMPLE), encoding="utf-8")
    page.goto("/fit")
    page.get_by_role("link", name="a job card").click()
    page.set_input_files("#card-file", card)
    album(page, "job-open")
    page.get_by_role("button", name="Open the card").click()
    page.get_by_role("link", name="Go on with part 1").click()
    page.get_by_label("Readings at one place, mm").first.fill("24.97 24.98")
    page.get_by_label("Readings at one place, mm").last.fill("52.02")
    page.get_by_role("button", name="Keep the readings").click()
    # ISO 286-1: h11 on 25 mm is -130 to 0 µm.
    expect(page.locator("#fit-answer")).to_contain_text("24.8700 to 25.0000")
    page.locator("#next-part").click()
    page.locator("#next-part").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Part 3 of 5: bearing")
    page.get_by_label("Readings at one place, mm").first.fill("25.009 25.011")
    page.get_by_label("Readings at one place, mm").last.fill("51,98")
    page.get_by_role("button", name="Keep the readings").click()
    expect(page.locator("#fit-answer .reason")).to_contain_text("Housing 14 to 26 µm below H7")
    expect(page.locator("#fit-answer .keep").first).to_contain_text("measure it again")
    album(page, "job-bearing-look-again")
    page.get_by_label("Readings at one place, mm").last.fill("52.012 52.014")
    page.get_by_role("button", name="Keep the readings").click()
    expect(page.locator("#fit-answer .stamp b")).to_have_text("FITS AS MEASURED")
    page.get_by_role("button", name="Check this part by photo").click()
    expect(page.locator("h1")).to_contain_text("6205-2RS C3")
    page.get_by_role("link", name="Fit", exact=True).click()
    page.get_by_role("link", name="a job card").click()
    page.get_by_role("link", name="Output shaft").first.click()
    expect(page.locator("#parts")).to_contain_text("no answer yet")
    expect(page.locator("svg.stack")).to_be_visible()
    page.get_by_label("Spacer or shim").check()
    page.get_by_role("button", name="Keep the ticks").click()
    expect(page.get_by_label("Spacer or shim")).to_be_checked()
    album(page, "job-whole")
    with page.expect_popup() as popup:
        page.get_by_role("link", name="Job sheet with drawing").click()
    expect(popup.value.locator("svg.stack")).to_be_visible()
    album(popup.value, "job-sheet")
