"""What happens at a bench beside the straight way: scanning, correcting, deciding, reloading, losing the connection."""

from __future__ import annotations

from playwright.sync_api import expect

from .conftest import ANSWER_MS, open_delivery, photos, ready, take

KEY_MS = 2
"""A keyboard-wedge scanner types a letter every few milliseconds."""
NO_CODE = "7781 00 4411"


def scan(page, code: str) -> None:
    """Type as the scanner does: fast, the separator as Ctrl+], Enter at the end."""
    for number, piece in enumerate(code.split("\x1d")):
        if number:
            page.keyboard.press("Control+]")
        page.keyboard.type(piece, delay=KEY_MS)
    page.keyboard.press("Enter")


def live(page) -> None:
    expect(page.locator("html[data-live=yes]")).to_have_count(1)


def again(page, address: str) -> None:
    page.goto(address)
    ready(page)


def measure(page, od: str) -> None:
    page.get_by_text("Caliper, micrometer or scale").click()
    page.get_by_label("Outside diameter, mm").fill(od)
    page.locator("#who-reading").fill("R. Quill")
    page.get_by_role("button", name="Add what was measured").click()
    # The answer comes as a page of its own: what follows may not meet the old one on its way out.
    expect(page.locator("#done")).to_be_visible()


def test_a_scan_finds_its_line_and_is_kept(line3):
    page = line3
    again(page, page.url.rsplit("/lines", 1)[0])
    expect(page.locator("#scan")).to_be_focused()
    scan(page, "]d201095200410080212406001-2Z\x1d10L2512A")
    page.wait_for_url("**/lines/14")
    expect(page.locator("#given")).to_contain_text("Scanned: ]d201095200410080212406001-2Z␝10L2512A")
    expect(page.locator("#read")).to_contain_text("6001-2Z")
    expect(page.locator("#read")).to_contain_text("L2512A")


def test_a_scan_while_typing_elsewhere_is_not_lost(line3):
    page = line3
    page.get_by_text("Seen by eye").click()
    page.get_by_label("Marked on the ring").press_sequentially("620", delay=120)
    page.wait_for_timeout(300)
    scan(page, "6203-2Z 6 pcs")
    expect(page.locator("#given")).to_contain_text("Scanned: 6203-2Z 6 pcs")
    assert page.url.endswith("/lines/3")


def test_what_the_scanner_typed_is_taken_out_of_the_other_field(line3):
    page = line3
    page.get_by_text("Seen by eye").click()
    field = page.get_by_label("Marked on the ring")
    field.press_sequentially("620", delay=120)
    page.wait_for_timeout(300)
    page.locator("#scanbar form").evaluate("form => form.addEventListener('submit', event => event.preventDefault())")
    scan(page, "6203-2Z 6 pcs")
    expect(field).to_have_value("620")
    expect(page.locator("#scan")).to_have_value("6203-2Z 6 pcs")


def test_slow_typing_with_enter_stays_where_it_is(line3):
    page = line3
    page.get_by_text("Seen by eye").click()
    page.get_by_label("Marked on the ring").press_sequentially("6203-2Z", delay=110)
    page.locator("#who-eye").fill("R. Quill")
    page.locator("#who-eye").press("Enter")
    expect(page.locator("#given")).to_contain_text("Designation: 6203-2Z, seen by eye (R. Quill)")


def test_a_code_on_a_button_presses_nothing(line3):
    page = line3
    page.get_by_role("button", name="Sounds").focus()
    scan(page, "6203-2Z 6 pcs")
    expect(page.locator("#given")).to_contain_text("Scanned: 6203-2Z 6 pcs")
    expect(page.get_by_role("button", name="Sounds")).to_have_text("Sounds: off")


def test_a_part_number_typed_by_hand_finds_the_line_and_is_no_code_of_the_box(line3):
    page = line3
    again(page, page.url.rsplit("/lines", 1)[0])
    page.keyboard.type("6203-2Z", delay=150)
    page.keyboard.press("Enter")
    page.wait_for_url("**/lines/3")
    expect(page.locator("#given li")).to_have_count(0)


def test_a_code_that_no_line_asks_for_says_so(line3, album):
    page = line3
    again(page, page.url.rsplit("/lines", 1)[0])
    scan(page, NO_CODE)
    expect(page.get_by_role("heading", name="Which line is it?")).to_be_visible()
    album(page, "clerk-scan-nothing")


def test_a_line_number_typed_opens_the_line(line3):
    page = line3
    page.locator("#scan").fill("14")
    page.locator("#scan").press("Enter")
    page.wait_for_url("**/lines/14")


def test_a_misread_value_is_corrected_with_a_name(line3, album):
    page = line3
    scan(page, "6208-2Z")
    page.locator("#read summary", has_text="Designation").click()
    page.get_by_label("It really says").fill("6203-2Z")
    page.locator("#read [data-who]").first.fill("R. Quill")
    album(page, "clerk-correct")
    page.get_by_role("button", name="Correct it").click()
    expect(page.locator("#read")).to_contain_text("read as 6208-2Z, is 6203-2Z – R. Quill")
    expect(page.locator("#answer")).to_contain_text("Answer 2 for this line")


def test_hold_and_release_keep_name_and_reason(line3, album):
    page = line3
    measure(page, "39.99 39.98")
    expect(page.locator("#given")).to_contain_text("Outside diameter: 39.98 mm, by caliper (R. Quill)")
    expect(page.locator("#answer .stamp b")).to_have_text("HOLD")
    page.get_by_text("Release this item").click()
    expect(page.locator("#who-release")).to_have_value("R. Quill")
    page.locator("#release").get_by_label("Looked at both faces by eye").check()
    album(page, "clerk-release")
    page.get_by_role("button", name="Release it").click()
    expect(page.locator("#answer .stamp")).to_contain_text("USE")
    expect(page.locator("#answer")).to_contain_text("Released by R. Quill")
    # The name is filled in by script: before that the browser rightly keeps the form back.
    ready(page)
    expect(page.locator("#who-hold")).to_have_value("R. Quill")
    page.get_by_text("Hold this item").click()
    page.locator("#hold").get_by_label("Or in your own words").fill("Box is wet")
    page.get_by_role("button", name="Hold it").click()
    expect(page.locator("#answer .stamp")).to_contain_text("held by R. Quill")
    expect(page.locator("#answer")).to_contain_text("Box is wet")


def test_a_decision_without_a_reason_is_refused_in_words(line3):
    page = line3
    measure(page, "39.99")
    page.get_by_text("Hold this item").click()
    page.locator("#who-hold").fill("R. Quill")
    page.get_by_role("button", name="Hold it").click()
    expect(page.get_by_role("alert")).to_contain_text("reason is missing")


def test_another_tablet_shows_the_change_by_itself(line3, tablet):
    second = tablet()
    second.goto(line3.url)
    live(second)
    second.evaluate("window.same = true")
    measure(line3, "39.99")
    expect(second.locator("#answer .stamp b")).to_have_text("HOLD")
    expect(second.locator("#said")).to_contain_text("Line 3: HOLD")
    assert second.evaluate("window.same"), "the page was not loaded anew"


def test_what_somebody_is_typing_is_left_alone(line3, tablet):
    measure(line3, "39.99")
    second = tablet()
    second.goto(line3.url)
    live(second)
    second.get_by_text("Hold this item").click()
    second.locator("#why-hold").fill("Box is w")
    measure(line3, "39.97")
    expect(second.locator("#answer")).to_contain_text("Answer 2 for this line")
    expect(second.locator("#why-hold")).to_have_value("Box is w")


def test_a_photo_taken_without_connection_is_sent_when_it_is_back(line3, album):
    page = line3
    live(page)
    page.context.set_offline(True)
    take(page, "03", "box")
    expect(page.locator("#queue")).to_contain_text("kept on this device")
    expect(page.locator("#lost")).to_contain_text("No connection")
    album(page, "clerk-offline")
    page.context.set_offline(False)
    expect(page.locator("#taken")).to_contain_text("Box", timeout=30_000)
    expect(page.locator("#queue")).to_be_hidden()
    expect(page.locator("#lost")).to_be_empty()


def test_a_photo_waiting_survives_a_reload(line3):
    page = line3
    page.route("**/api/v1/deliveries/*/photos/*", lambda route: route.abort())
    take(page, "03", "face1")
    expect(page.locator("#queue")).to_contain_text("kept on this device")
    page.unroute("**/api/v1/deliveries/*/photos/*")
    page.reload()
    expect(page.locator("#taken")).to_contain_text("Face 1", timeout=30_000)


def test_a_reload_while_a_photo_is_read_loses_nothing(line3):
    page = line3
    take(page, "03")
    expect(page.locator("#taken li")).to_have_count(3, timeout=30_000)
    page.reload()
    expect(page.locator("#taken li")).to_have_count(3)
    expect(page.locator("#answer .stamp b")).to_have_text("USE", timeout=ANSWER_MS)
    expect(page.locator("#answer .sofar")).to_have_count(0, timeout=ANSWER_MS)


def test_everything_works_without_script(tablet, dock):
    page = tablet(java_script_enabled=False)
    open_delivery(page, dock.order("3", mark="plain"))
    page.get_by_role("link", name="6203-2Z").first.click()
    page.set_input_files("#photo-box", photos("03")["box"])
    page.get_by_role("button", name="Send it").first.click()
    expect(page.locator("#taken")).to_contain_text("Box")
    measure(page, "39.99")
    expect(page.locator("#given")).to_contain_text("39.99 mm")
    page.locator("#scan").fill("6203-2Z")
    page.get_by_role("button", name="Find").click()
    expect(page.locator("#given")).to_contain_text("Scanned: 6203-2Z")


def test_a_page_s_own_hash_is_sha_256(page):
    # FIPS 180-4, appendix B (as published by NIST: "abc", and the two-block message), and one million times "a".
    page.goto("/")
    cases = {
        "abc": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
        "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq": (
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
        ),
        "a" * 1_000_000: "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
    }
    for text, wanted in cases.items():
        found = page.evaluate(
            "text => import('/static/sha256.js').then(m => m.plainSha256(new TextEncoder().encode(text)))", text
        )
        assert found == wanted


def test_letters_that_came_while_the_page_changed_are_handed_on(line3):
    page = line3
    page.keyboard.type("620", delay=KEY_MS)
    page.evaluate("location.reload()")
    page.wait_for_load_state()
    ready(page)
    page.keyboard.type("3-2Z 6 pcs", delay=KEY_MS)
    page.keyboard.press("Enter")
    expect(page.locator("#given")).to_contain_text("Scanned: 6203-2Z 6 pcs")
