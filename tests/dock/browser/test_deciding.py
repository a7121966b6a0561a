"""Deciding at the bench: it stands at the top, says what it did, and a form that was not taken keeps what was typed."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from .conftest import PHONE, TABLET, open_delivery
from .test_ways import live, measure, scan


def top_of(page, selector: str) -> float:
    return page.locator(selector).bounding_box()["y"]


@pytest.mark.parametrize("size", [TABLET, PHONE], ids=["tablet", "phone"])
def test_what_to_do_and_deciding_stand_before_the_photos(line3, size):
    page = line3
    measure(page, "39.99")
    page.set_viewport_size(size)
    page.reload()
    assert top_of(page, "#answer") < top_of(page, "#decide") < top_of(page, "#shots")
    assert top_of(page, "#answer .stamp") < size["height"] / 2


def test_a_hold_says_what_was_recorded_and_takes_the_cursor_there(line3, album):
    page = line3
    measure(page, "39.99")
    expect(page.locator("#done")).to_contain_text("Outside diameter: 39.99 mm, by caliper (R. Quill)")
    page.get_by_text("Hold this item").click()
    page.locator("#hold").get_by_label("Packaging is damaged").check()
    page.get_by_role("button", name="Hold it").click()
    done = page.get_by_role("status").filter(has_text="Recorded")
    expect(done).to_contain_text("held by R. Quill")
    expect(done).to_contain_text("Packaging is damaged")
    expect(done).to_be_focused()
    album(page, "clerk-held")
    scan(page, "6203-2Z 6 pcs")
    expect(page.locator("#given")).to_contain_text("Scanned: 6203-2Z 6 pcs")
    expect(page.locator("#done")).to_have_count(0)


def test_only_what_makes_sense_is_offered(line3):
    page = line3
    expect(page.locator("#decide details")).to_have_count(0)
    scan(page, "6203-2Z 6 pcs")
    expect(page.locator("#answer .stamp b")).to_have_text("BEGUN")
    expect(page.locator("#release")).to_have_count(0)
    measure(page, "39.99")
    expect(page.locator("#done")).to_be_visible()
    expect(page.locator("#answer .stamp b")).to_have_text("HOLD")
    expect(page.locator("#hold")).to_have_count(1)
    page.get_by_text("Release this item").click()
    page.locator("#release").get_by_label("Looked at both faces by eye").check()
    page.get_by_role("button", name="Release it").click()
    expect(page.locator("#done")).to_contain_text("released by R. Quill")
    expect(page.locator("#answer .stamp b")).to_have_text("USE")
    expect(page.locator("#release")).to_have_count(0)
    page.get_by_text("Hold this item").click()
    page.locator("#why-hold").fill("Box is wet")
    page.get_by_role("button", name="Hold it").click()
    expect(page.locator("#done")).to_contain_text("held by R. Quill")
    expect(page.locator("#answer .stamp b")).to_have_text("HOLD")
    expect(page.locator("#hold")).to_have_count(0)


def test_a_begun_line_says_so_on_the_list_and_is_no_hold(line3, album):
    page = line3
    scan(page, "6203-2Z 6 pcs")
    page.get_by_role("link", name="← ").click()
    row = page.locator("#lines li").filter(has_text="6203-2Z")
    expect(row).to_contain_text("BEGUN")
    expect(row).to_contain_text("photos still to take")
    expect(page.locator("#count")).to_contain_text("0 of 3 lines answered")
    expect(page.locator("#count")).to_contain_text("Next: line 3")
    album(page, "clerk-begun")


def test_the_way_through_the_shop_is_one_row_on_a_phone(tablet):
    page = tablet(viewport=PHONE)
    page.goto("/")
    assert page.locator("nav.top").bounding_box()["height"] <= 60
    assert page.locator("#scanbar").bounding_box()["height"] <= 80


@pytest.mark.parametrize("script", [True, False], ids=["script", "plain"])
def test_a_refused_form_is_shown_again_with_what_was_typed(tablet, dock, script, album, request):
    page = tablet(java_script_enabled=script)
    open_delivery(page, dock.order("3", "13", mark=request.node.name))
    page.get_by_role("link", name="6203-2Z").first.click()
    page.get_by_text("Caliper, micrometer or scale").click()
    page.get_by_label("Outside diameter, mm").fill("39.99")
    page.get_by_label("Width, mm").fill("twelve")
    page.locator("#who-reading").fill("R. Quill")
    page.get_by_role("button", name="Add what was measured").click()
    expect(page.get_by_role("alert")).to_contain_text("“twelve” is no")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Line 3")
    expect(page.get_by_label("Outside diameter, mm")).to_have_value("39.99")
    field = page.get_by_label("Width, mm")
    expect(field).to_have_value("twelve")
    assert field.get_attribute("aria-invalid") == "true"
    words = page.locator(f"#{field.get_attribute('aria-describedby')}")
    expect(words).to_be_visible()
    above = words.bounding_box()["y"]
    assert 0 < field.bounding_box()["y"] - above < 150, "the reason stands by its field"
    album(page, f"clerk-refused-{'script' if script else 'plain'}")
    if script:
        expect(field).to_be_focused()
        live(page)
        page.wait_for_timeout(500)
        expect(field).to_have_value("twelve")
    field.fill("12")
    page.get_by_role("button", name="Add what was measured").click()
    expect(page.locator("#given li")).to_have_count(2)


def test_a_missing_name_is_said_beside_its_field(line3):
    page = line3
    measure(page, "39.99")
    expect(page.locator("#done")).to_be_visible()
    page.get_by_text("Release this item").click()
    page.locator("#release").get_by_label("Measured again").check()
    name = page.locator("#who-release")
    name.evaluate("field => { field.removeAttribute('required'); field.value = ''; }")
    page.get_by_role("button", name="Release it").click()
    expect(page.get_by_role("alert")).to_contain_text("your name is missing")
    expect(page.locator("#release").get_by_label("Measured again")).to_be_checked()


def test_a_name_is_marked_as_needed_and_remembered_on_the_device(line3):
    page = line3
    page.get_by_text("Seen by eye").click()
    field = page.locator("#who-eye")
    expect(page.locator("label[for=who-eye]")).to_contain_text("needed")
    assert field.get_attribute("required") is not None
    measure(page, "39.99")
    page.get_by_text("Seen by eye").last.click()
    expect(page.locator("#who-eye")).to_have_value("R. Quill")


def test_the_same_form_sent_twice_gives_one_reading(line3):
    page = line3
    page.get_by_text("Caliper, micrometer or scale").click()
    page.get_by_label("Outside diameter, mm").fill("39.99")
    page.locator("#who-reading").fill("R. Quill")
    sent = page.locator("#measured form").evaluate(
        "form => ({ where: form.action, body: new URLSearchParams(new FormData(form)).toString() })"
    )
    for _ in range(2):
        answer = page.request.post(
            sent["where"],
            data=sent["body"],
            headers={"Content-Type": "application/x-www-form-urlencoded"},
            max_redirects=0,
        )
        assert answer.status == 303
    page.reload()
    expect(page.locator("#given li")).to_have_count(1)
