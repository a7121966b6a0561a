"""Nothing is lost or taken for something else: a photo whose field was put anew, a refused one, a number typed."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from .conftest import open_delivery, photos
from .test_ways import live, ready


def test_a_photo_whose_field_was_put_anew_meanwhile_is_still_taken(line3):
    page = line3
    live(page)
    # The tablet's camera is open: the page holds the old field while another tablet changes the line.
    field = page.query_selector("#photo-box")
    page.evaluate(
        """() => {
          const part = document.getElementById("shots");
          const fresh = part.cloneNode(true);
          part.replaceWith(fresh);
          document.dispatchEvent(new CustomEvent("put", { detail: fresh }));
        }"""
    )
    assert not field.evaluate("field => field.isConnected")
    field.set_input_files(photos("03")["box"])
    expect(page.locator("#taken li")).to_have_count(1)
    page.set_input_files("#photo-face1", photos("03")["face1"])
    expect(page.locator("#taken li")).to_have_count(2)


@pytest.mark.parametrize("script", [True, False], ids=["script", "plain"])
def test_a_refused_photo_is_named(tablet, dock, script, tmp_path, request):
    page = tablet(java_script_enabled=script)
    open_delivery(page, dock.order("3", "13", mark=request.node.name))
    page.get_by_role("link", name="6203-2Z").first.click()
    wrong = tmp_path / "delivery note 7.jpg"
    wrong.write_bytes(b"%PDF-1.7 no photo at all")
    page.set_input_files("#photo-box", wrong)
    if script:
        told = page.locator("#said")
    else:
        page.get_by_role("button", name="Send it").first.click()
        told = page.get_by_role("alert")
        expect(page.get_by_role("heading", level=1)).to_contain_text("Line 3")
    expect(told).to_contain_text("delivery note 7.jpg")
    expect(told).to_contain_text("this is no photo")


def test_a_line_number_on_the_start_page_opens_the_line_of_the_only_delivery(page, dock):
    """With several deliveries open a bare number could be a line of each: then it is asked, not guessed."""
    open_delivery(page, dock.order("3", "14", mark="number"))
    mine = page.url.rsplit("/", 1)[1]
    others = [each["run_id"] for each in page.request.get("/api/v1/deliveries").json()["deliveries"]]
    token = page.locator("body").get_attribute("data-token")
    for run in others:
        if str(run) != mine:
            where = f"/api/v1/deliveries/{run}/finish"
            page.request.post(where, data={"who": "R. Quill"}, headers={"X-CSRF-Token": token})
    page.goto("/")
    ready(page)
    page.keyboard.type("14", delay=120)
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/deliveries/{mine}/lines/14")
    expect(page.locator("#given li")).to_have_count(0)
    open_delivery(page, dock.order("3", "14", mark="number-two"))
    page.goto("/")
    ready(page)
    page.keyboard.type("14", delay=120)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Which line is it?")).to_be_visible()
