"""The live camera: a code held before it finds its line. The browser plays a drawn picture as its camera."""

from __future__ import annotations

import numpy as np
import pytest
import zxingcpp
from playwright.sync_api import expect

from .conftest import TABLET, open_delivery

SIZE = (640, 480)


def camera_file(path, text: str):
    """A film of two pictures with a code in them, as Y4M (the plain form that Chromium plays as a camera)."""
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode)
    drawn = np.asarray(zxingcpp.write_barcode_to_image(code, scale=8))
    grey = np.full((SIZE[1], SIZE[0]), 200, np.uint8)
    top, left = (SIZE[1] - drawn.shape[0]) // 2, (SIZE[0] - drawn.shape[1]) // 2
    grey[top : top + drawn.shape[0], left : left + drawn.shape[1]] = np.clip(drawn, 16, 235)
    colour = np.full((SIZE[1] // 2, SIZE[0] // 2), 128, np.uint8).tobytes()
    picture = b"FRAME\n" + grey.tobytes() + colour + colour
    path.write_bytes(b"YUV4MPEG2 W%d H%d F10:1 Ip A1:1 C420jpeg\n" % SIZE + picture * 2)
    return path


@pytest.fixture
def filmed(browser, dock, tmp_path):
    """A browser whose camera sees the code of a part."""
    from conftest import CHROMIUM, FLAGS

    film = camera_file(tmp_path / "code.y4m", "6203-2Z")
    running = browser.browser_type.launch(
        executable_path=str(CHROMIUM),
        args=[
            *FLAGS,
            "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-video-capture={film}",
        ],
    )
    context = running.new_context(base_url=dock.url, viewport=TABLET, permissions=["camera"])
    yield context.new_page()
    running.close()


def test_a_code_before_the_camera_finds_its_line(filmed, dock, album):
    page = filmed
    open_delivery(page, dock.order("3", "14", mark="camera"))
    page.get_by_role("button", name="Read with camera").click()
    page.wait_for_url("**/lines/3", timeout=30_000)
    expect(page.locator("#given")).to_contain_text("Scanned: 6203-2Z")
    expect(page.locator("dialog")).to_have_count(0)
    expect(page.locator("#answer .stamp b")).to_have_text("BEGUN")


def test_where_the_page_is_not_secure_no_camera_is_offered(tablet):
    page = tablet()
    page.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false })")
    page.goto("/")
    expect(page.locator("html.scripted")).to_have_count(1)
    expect(page.locator("#read-code")).to_be_hidden()


def test_a_camera_that_cannot_be_opened_is_said(tablet):
    page = tablet()
    page.add_init_script("navigator.mediaDevices.getUserMedia = () => Promise.reject(new Error('none'))")
    page.goto("/")
    page.get_by_role("button", name="Read with camera").click()
    expect(page.locator("#said")).to_contain_text("The camera cannot be opened here")
