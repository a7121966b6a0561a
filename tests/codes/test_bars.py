"""The bars of retail numbers: drawn as the standard says, told apart in pictures, and the check digit they carry."""

import datetime as dt

import numpy as np
import pytest
import zxingcpp
from codes.scenes import BarcodeFormat, ean13_as_printed, label_scene, scene
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from screener.codes.bars import what_bars_say
from screener.codes.check_digits import expand_upc_e, gs1_check_digit
from screener.codes.decode import read_codes
from screener.codes.model import CodeRead
from screener.codes.retail_bars import drawing, number_of
from screener.codes.second_look import look_again

TODAY = dt.date(2026, 3, 2)


def _modules_of_the_writer(given_text: str, kind: zxingcpp.BarcodeFormat) -> list[int]:
    row = np.array(zxingcpp.create_barcode(given_text, kind).to_image(scale=1))[10]
    dark = np.flatnonzero(row < 128)
    return [int(value < 128) for value in row[dark[0] : dark[-1] + 1]]


@settings(max_examples=40, deadline=None)
@given(st.text("0123456789", min_size=12, max_size=12), st.sampled_from(["EAN-13", "EAN-8", "UPC-A", "UPC-E"]))
def test_drawings_are_those_of_another_writer(digits: str, symbology: str) -> None:
    # The yardstick is the writer inside zxing-cpp; both follow ISO/IEC 15420.
    body = {"EAN-13": digits, "EAN-8": digits[:7], "UPC-A": digits[:11], "UPC-E": "0" + digits[:6]}[symbology]
    kinds = {"EAN-13": "EAN13", "EAN-8": "EAN8", "UPC-A": "UPCA", "UPC-E": "UPCE"}
    if symbology == "UPC-E":
        full = expand_upc_e(body + "0")
        assert full is not None
        number = body + str(gs1_check_digit(full[:-1]))
    else:
        number = body + str(gs1_check_digit(body))
    modules = drawing(number, symbology)
    assert modules is not None
    try:
        written = _modules_of_the_writer(number, getattr(BarcodeFormat, kinds[symbology]))
    except ValueError:
        # Not every six digits are a zero suppression; the writer knows.
        assume(symbology != "UPC-E")
        raise
    assert modules.tolist() == written
    assert number_of(modules, symbology) == number


@pytest.mark.parametrize(
    ("number", "symbology"),
    [("12345", "EAN-13"), ("629104150021X", "EAN-13"), ("6205-2RS", "Code 128"), ("91234567", "UPC-E")],
)
def test_what_is_no_retail_number_has_no_drawing(number: str, symbology: str) -> None:
    assert drawing(number, symbology) is None


def _claimed(text: str, width: int, height: int, middle: tuple[float, float]) -> CodeRead:
    (x, y), w, h = middle, width / 2, height / 2
    corners = ((x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h))
    return CodeRead("EAN-13", text, "zxing-cpp", corners, "]E0")


@pytest.mark.parametrize("claimed", ["6291041500213", "6297041500275", "0291047500213", "6297047500273"])
def test_the_bars_tell_what_was_misread(claimed: str) -> None:
    # 1 and 7, 2 and 8 have the same distances between like edges and are what engines take for each other.
    bars = ean13_as_printed("6291041500213", 3)
    picture = scene([(bars, 450, 350)], seed=11, blur=1.3)
    says = what_bars_say(picture, _claimed(claimed, bars.shape[1], bars.shape[0], (450, 350)))
    assert says is not None
    assert says.number == "6291041500213"
    assert says.likeness > 0.93
    (kept,) = look_again(picture, [_claimed(claimed, bars.shape[1], bars.shape[0], (450, 350))]).kept
    assert kept.text == "6291041500213"


def test_no_number_is_kept_where_no_bars_are() -> None:
    looked = look_again(scene([], seed=12), [_claimed("6291041500213", 285, 180, (450, 350))])
    assert looked.kept == []
    assert looked.doubted


@pytest.mark.parametrize("tilt_deg", [0, 4, -12, 30])
def test_a_wrong_check_digit_is_read_as_it_stands(tilt_deg: float) -> None:
    told = other = 0
    for n, number in enumerate(("9521101000014", "9521102345670", "9521104998877", "9521105000303")):
        bad = number[:-1] + str((gs1_check_digit(number[:-1]) + 1 + n) % 10)
        codes = read_codes(label_scene(bad, None, 40 + n, tilt_deg=tilt_deg, size=(700, 900), scale=3), today=TODAY)
        told += any(code.text == bad and code.check_digit == "bad" and code.remarks for code in codes)
        other += any(code.check_digit == "ok" for code in codes)
    assert told >= 3
    assert other == 0


def test_numbers_on_blurred_photos_are_right_or_not_given() -> None:
    # The bare engine gives several other numbers with right check digits on these.
    right = 0
    for n in range(12):
        body = f"9521101{n:02d}{(7 * n) % 1000:03d}"
        text = body + str(gs1_check_digit(body))
        picture = label_scene(
            body, BarcodeFormat.EAN13, 900 + n, tilt_deg=(0, 15, -30)[n % 3], size=(700, 900), scale=2
        )
        found = [code.text for code in read_codes(picture, today=TODAY)]
        assert found in ([text], [])
        right += found == [text]
    assert right >= 8


@pytest.mark.parametrize("tilt_deg", [10, 12, 20, 30])
def test_half_of_an_ean_13_is_no_upc_e(tilt_deg: float) -> None:
    # A scan line through the left half of a tilted EAN-13 shows guard, six digits and what looks like the end of a
    # UPC-E (ISO/IEC 15420): the bare engine gives such numbers, mostly with a wrong check digit.
    for n in range(4):
        body = f"9107393{n}5222"
        picture = label_scene(body, BarcodeFormat.EAN13, 70 + n, tilt_deg=tilt_deg, size=(700, 900), scale=2)
        assert {code.text for code in read_codes(picture, today=TODAY)} <= {body + str(gs1_check_digit(body))}


def test_a_real_upc_e_is_read() -> None:
    picture = label_scene("01234565", BarcodeFormat.UPCE, 5, tilt_deg=3, size=(700, 900), scale=3)
    (code,) = read_codes(picture, today=TODAY)
    # GS1 General Specifications, zero suppression: 0 123456 5 stands for 0 12345 00006 5.
    assert (code.symbology, code.fields.gtin) == ("UPC-E", "0012345000065")
