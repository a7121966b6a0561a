"""The clerk's job in a real browser: from the order to what to do with the box, and what may go wrong on the way."""

from __future__ import annotations

from playwright.sync_api import expect

from .conftest import ANSWER_MS, open_delivery, take


def test_from_order_to_answer(page, dock, album):
    open_delivery(page, dock.order("1", "5", mark="first"))
    album(page, "clerk-delivery")
    page.get_by_role("link", name="Next: line 1").click()
    album(page, "clerk-line-waiting")
    take(page, "01")
    album(page, "clerk-line-reading")
    expect(page.locator("#answer .stamp b")).to_have_text("USE", timeout=ANSWER_MS)
    album(page, "clerk-line-use")
    expect(page.locator("#answer")).to_contain_text("Not checked:")
    page.locator("#next-line").click()
    take(page, "05")
    expect(page.locator("#answer .stamp b")).to_have_text("SEND BACK", timeout=ANSWER_MS)
    album(page, "clerk-line-send-back")
    page.locator("#next-line").click()
    album(page, "clerk-delivery-done")
