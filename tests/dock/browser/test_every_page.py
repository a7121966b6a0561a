"""Every page, for everybody: wide and narrow, light and dark, by keyboard alone, with a screen reader."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from .conftest import PHONE, TABLET, open_delivery

FIT = "/fit?designation=6205-2RS+C3&shaft=25.009+25.011&housing=52.012&turning=inner&load=normal"
SMALLEST_PX = 48
SERIOUS = {"serious", "critical"}
SEAL = "/fit?designation=35x52x7+NBR&shaft=34.95&housing=52.02&rpm=1450&keep=in"


@pytest.fixture(scope="module")
def addresses(browser, dock):
    """A page of every kind."""
    context = browser.new_context(base_url=dock.url, viewport=TABLET)
    page = context.new_page()
    open_delivery(page, dock.order("3", "13", "14", mark="every-page"))
    delivery = page.url.removeprefix(dock.url)
    page.get_by_role("link", name="6203-2Z").first.click()
    page.get_by_text("Caliper, micrometer or scale").click()
    page.get_by_label("Outside diameter, mm").fill("39.99")
    page.locator("#who-reading").fill("R. Quill")
    page.get_by_role("button", name="Add what was measured").click()
    page.set_input_files("#photo-box", dock.folder / "box.png")
    expect(page.locator("#taken li")).to_have_count(1)
    item = page.get_by_role("link", name="everything known about it").get_attribute("href")
    page.goto("/job?example=1")
    page.get_by_role("button", name="Open the card").click()
    page.wait_for_url("**/job/*")
    job = page.url.removeprefix(dock.url)
    context.close()
    return {
        "start": "/",
        "jobs": "/job?example=1",
        "job": job,
        "job-seal": f"{job}/part/1",
        "job-bearing": f"{job}/part/3",
        "job-spacer": f"{job}/part/4",
        "deliveries": "/deliveries",
        "delivery": delivery,
        "line-waiting": f"{delivery}/lines/13",
        "line-answered": f"{delivery}/lines/3",
        "part": "/part",
        "fit": "/fit",
        "fit-answer": FIT,
        "seal-answer": SEAL,
        "fit-refused": "/fit?designation=6295&load=normal",
        "held": "/held",
        "suppliers": "/suppliers",
        "supplier": "/suppliers/one?name=Quillhaven+Parts+Depot",
        "item": item,
        "nowhere": "/nowhere",
        "pair": "/pair",
    }


def opened(page, address: str) -> None:
    page.goto(address)
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")


def test_no_serious_finding_of_axe(tablet, addresses, album):
    Axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe
    axe, found = Axe(), []
    # Order, names and roles are the same in the dark; contrast and what a narrow page cuts off are not.
    dark = {"runOnly": ["color-contrast", "scrollable-region-focusable", "td-headers-attr", "list", "listitem"]}
    for scheme, viewport, options in (("light", TABLET, None), ("dark", PHONE, dark)):
        page = tablet(color_scheme=scheme, viewport=viewport)
        for name, address in addresses.items():
            opened(page, address)
            album(page, f"every-{name}-{scheme}")
            worst = [
                each for each in axe.run(page, options=options).response["violations"] if each["impact"] in SERIOUS
            ]
            found += [f"{name}, {scheme}: {each['id']}: {each['nodes'][0]['html'][:160]}" for each in worst]
    assert found == []


def test_nothing_hangs_over_the_edge_and_every_target_is_large(tablet, addresses):
    found = []
    for viewport in (PHONE, TABLET):
        page = tablet(viewport=viewport)
        for name, address in addresses.items():
            opened(page, address)
            wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            if wide > 0:
                found.append(f"{name} at {viewport['width']}: {wide} px too wide")
            found += [f"{name} at {viewport['width']}: {each}" for each in page.evaluate(_SMALL, SMALLEST_PX)]
    assert found == []


_SMALL = """least => [...document.querySelectorAll('a, button, input, select, summary')]
  .map(each => each.matches('input[type=checkbox], input[type=radio]') ? each.closest('label') ?? each : each)
  .filter(each => each.offsetParent && !each.matches('.skip, .unseen, [type=hidden]'))
  .map(each => [each, each.getBoundingClientRect()])
  .filter(([each, box]) => box.width > 0 && Math.min(box.height, box.width) < least - 0.5)
  .map(([each, box]) => `${each.outerHTML.slice(0, 80)} ${Math.round(box.width)} x ${Math.round(box.height)}`)"""


def test_a_line_is_worked_by_keyboard_alone(page, dock):
    """Tab, Space, Enter and letters; where the cursor stands is always to be seen."""
    open_delivery(page, dock.order("3", "14", mark="keyboard"))
    expect(page.locator("html.scripted")).to_have_count(1)
    page.keyboard.type("3")
    page.keyboard.press("Enter")
    page.wait_for_url("**/lines/3")
    _tab_to(page, "#measured summary")
    page.keyboard.press("Enter")
    _tab_to(page, "#od")
    page.keyboard.type("39.99", delay=80)
    _tab_to(page, "#who-reading")
    page.keyboard.type("R. Quill", delay=80)
    page.keyboard.press("Enter")
    expect(page.locator("#answer .stamp b")).to_have_text("HOLD")
    # Keys pressed before the scripts of the new page run are not theirs.
    expect(page.locator("html.scripted[data-live=yes]")).to_have_count(1)
    _tab_to(page, "#release summary")
    page.keyboard.press("Enter")
    _tab_to(page, "#release input[type=radio]")
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    expect(page.locator("#answer .stamp")).to_contain_text("USE")
    _tab_to(page, "#next-line")
    page.keyboard.press("Enter")
    page.wait_for_url("**/lines/14")


def _tab_to(page, wanted: str) -> None:
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", wanted):
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none", f"nobody sees that {wanted} has the cursor"
            return
    raise AssertionError(f"no way to {wanted} by Tab")


def test_words_and_forms_say_what_colour_may_not(tablet, addresses):
    """In forced colours everything that says something is still there: words, shapes, borders."""
    page = tablet(forced_colors="active")
    page.goto(addresses["line-answered"])
    expect(page.locator("#answer .stamp b")).to_be_visible()
    expect(page.locator("#answer .stamp svg")).to_be_visible()


def test_dark_and_light_differ(tablet):
    seen = set()
    for scheme in ("light", "dark"):
        page = tablet(color_scheme=scheme)
        page.goto("/")
        seen.add(page.evaluate("getComputedStyle(document.body).backgroundColor"))
    assert len(seen) == 2
