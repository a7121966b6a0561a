"""Reading codes in pictures. The symbols come from a writer that is not ours; the bare engine is the yardstick."""

import datetime as dt

import numpy as np
import pytest
import zxingcpp
from codes.scenes import BarcodeFormat, label_scene, scene, symbol

from screener.codes import decode, second_reader
from screener.codes.decode import read_codes, readers_present
from screener.codes.model import CodeRead
from screener.codes.second_reader import with_second_reader
from screener.codes.witness import DISAGREE, printed_digits_agree, with_disagreement, with_witness

TODAY = dt.date(2026, 3, 2)
ZBAR = readers_present()["zbar"]


@pytest.mark.parametrize(
    ("kind", "text", "read", "name", "identifier"),
    [
        (BarcodeFormat.EAN13, "629104150021", "6291041500213", "EAN-13", "]E0"),
        (BarcodeFormat.EAN8, "1234567", "12345670", "EAN-8", "]E4"),
        (BarcodeFormat.Code128, "6205-2RS C3", "6205-2RS C3", "Code 128", "]C0"),
        (BarcodeFormat.Code39, "P6205", "P6205", "Code 39", "]A0"),
        (BarcodeFormat.Code93, "6205ZZ", "6205ZZ", "Code 93", "]G0"),
        (BarcodeFormat.ITF, "14012345678908", "14012345678908", "ITF", "]I1"),
        (BarcodeFormat.Codabar, "A123456B", "A123456B", "Codabar", "]F0"),
        (BarcodeFormat.DataBarOmni, "0401234567890", "0104012345678901", "DataBar Omni", "]e0"),
        (BarcodeFormat.QRCode, "6205-2RS", "6205-2RS", "QR Code", "]Q1"),
        (BarcodeFormat.MicroQRCode, "6205", "6205", "Micro QR Code", "]Q1"),
        (BarcodeFormat.DataMatrix, "6205-2RS", "6205-2RS", "Data Matrix", "]d1"),
        (BarcodeFormat.PDF417, "6205-2RS", "6205-2RS", "PDF417", "]L2"),
        (BarcodeFormat.Aztec, "6205-2RS", "6205-2RS", "Aztec", "]z0"),
    ],
)
def test_each_symbology(kind: zxingcpp.BarcodeFormat, text: str, read: str, name: str, identifier: str) -> None:
    picture = scene([(symbol(text, kind, 4), 450, 350)], seed=1, tilt_deg=2)
    (code,) = read_codes(picture, today=TODAY)
    assert (code.text, code.symbology, code.symbology_identifier) == (read, name, identifier)
    assert len(code.corners_px) == 4
    middle = np.mean(code.corners_px, axis=0)
    assert np.hypot(*(middle - (450, 350))) < 60


@pytest.mark.parametrize("kind", [BarcodeFormat.Code128, BarcodeFormat.DataMatrix, BarcodeFormat.QRCode])
def test_gs1_symbols_carry_their_promise(kind: zxingcpp.BarcodeFormat) -> None:
    content = "(01)09506000134352(10)AB1(21)77"
    (code,) = read_codes(scene([(symbol(content, kind, 3, gs1=True), 450, 350)], seed=2), today=TODAY)
    assert code.symbology_identifier in ("]C1", "]d2", "]Q3")
    assert (code.fields.gtin, code.fields.batch, code.fields.serial) == ("09506000134352", "AB1", "77")
    assert code.check_digit == "ok"


def test_several_codes_in_one_photo() -> None:
    picture = scene(
        [
            (symbol("629104150021", BarcodeFormat.EAN13), 300, 180),
            (symbol("LOT77", BarcodeFormat.DataMatrix, 5), 700, 180),
            (symbol("6205-2RS", BarcodeFormat.Code128), 400, 500),
        ],
        seed=3,
    )
    assert {code.text for code in read_codes(picture, today=TODAY)} == {"6291041500213", "LOT77", "6205-2RS"}


def test_small_light_on_dark_data_matrix() -> None:
    texts = [f"PL{n}" for n in range(100, 106)]
    pictures = [
        scene([(symbol(text, BarcodeFormat.DataMatrix, 4), 450, 350)], n, tilt_deg=7 * n, contrast=0.6, inverted=True)
        for n, text in enumerate(texts)
    ]
    read = [[code.text for code in read_codes(picture, today=TODAY)] for picture in pictures]
    assert sum(found == [text] for found, text in zip(read, texts, strict=True)) >= 5


@pytest.mark.parametrize(("tilt_deg", "least"), [(15, 9), (30, 8), (-30, 8), (90, 10)])
def test_tilted_linear_codes(tilt_deg: float, least: int) -> None:
    right = wrong = bare = 0
    for n in range(10):
        text = f"62{n:02d}-2RS C3"
        picture = scene([(symbol(text, BarcodeFormat.Code128, 2), 450, 350)], seed=n, tilt_deg=tilt_deg)
        found = {code.text for code in read_codes(picture, today=TODAY)}
        right += text in found
        wrong += bool(found - {text})
        bare += any(barcode.text == text for barcode in zxingcpp.read_barcodes(picture))
    assert right >= max(least, bare)
    assert wrong == 0


def test_a_large_photo() -> None:
    picture = scene(
        [
            (symbol("629104150021", BarcodeFormat.EAN13, 5), 2600, 900),
            (symbol("LOT77", BarcodeFormat.DataMatrix, 7), 900, 2000),
        ],
        seed=5,
        size=(3000, 4000),
    )
    found = read_codes(picture, today=TODAY)
    assert [code.text for code in found] == ["6291041500213", "LOT77"]
    assert np.hypot(*(np.mean(found[0].corners_px, axis=0) - (2600, 900))) < 100


def test_nothing_is_found_where_nothing_is() -> None:
    rng = np.random.default_rng(8)
    assert read_codes(scene([], seed=6), today=TODAY) == ()
    assert read_codes(rng.integers(0, 255, (300, 400)).astype(np.uint8), today=TODAY) == ()
    assert read_codes(np.zeros((4, 4), np.uint8), today=TODAY) == ()
    assert read_codes(np.full((200, 200), 255, np.uint8), thorough=False, today=TODAY) == ()


@pytest.mark.skipif(not ZBAR, reason="libzbar is not installed")
def test_the_second_reader_confirms_and_doubts() -> None:
    picture = scene([(symbol("629104150021", BarcodeFormat.EAN13, 4), 450, 350)], seed=7)
    (code,) = read_codes(picture, today=TODAY)
    assert code.confirmed_by == ("second reader",)
    # The same place with another number claimed for it: the engines disagree.
    claimed = CodeRead("EAN-13", "4006381333931", "zxing-cpp", code.corners_px, "]E0")
    doubted = with_second_reader(picture, claimed)
    assert doubted.confirmed_by == ()
    assert doubted.remarks == (DISAGREE,)


def test_without_the_second_reader_all_is_read_and_nothing_confirmed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(second_reader, "zbar", lambda: None)
    picture = scene([(symbol("629104150021", BarcodeFormat.EAN13, 4), 450, 350)], seed=7)
    (code,) = decode.read_codes(picture, today=TODAY)
    assert code.text == "6291041500213"
    assert code.confirmed_by == ()


def test_witnesses() -> None:
    code = CodeRead("EAN-13", "6291041500213", "zxing-cpp")
    once = with_witness(code, "printed digits")
    assert with_witness(once, "printed digits").confirmed_by == ("printed digits",)
    assert with_witness(once, "known article").confirmed_by == ("printed digits", "known article")
    doubted = with_disagreement(once)
    assert doubted.confirmed_by == ()
    assert with_witness(doubted, "known article").confirmed_by == ()
    assert printed_digits_agree(code, "6 291041 500213") is True
    assert printed_digits_agree(code, "6 291041 500218") is False
    assert printed_digits_agree(code, "291041") is None


@pytest.mark.parametrize("tilt_deg", [5, 8, 12, 15, 20, 30])
def test_a_piece_of_an_interleaved_code_is_not_taken_for_the_whole(tilt_deg: float) -> None:
    # ITF has no check or stop character that a shortened scan line would miss (common practice: a known weakness).
    right = 0
    for n in range(4):
        text = f"{8590361419 + 1313 * n * (int(tilt_deg) + 1):010d}"
        picture = label_scene(text, BarcodeFormat.ITF, 60 + n, tilt_deg=tilt_deg, size=(700, 900), scale=2)
        found = [code.text for code in read_codes(picture, today=TODAY)]
        assert set(found) <= {text}
        right += found == [text]
    assert right >= 3


def test_bars_beside_a_tilted_matrix_code_are_read_too() -> None:
    symbols = [
        (symbol("LOT77", BarcodeFormat.DataMatrix, 5), 250, 350),
        (symbol("1P6206-2RS-C3", BarcodeFormat.Code39, 2), 620, 350),
    ]
    texts = [{code.text for code in read_codes(scene(symbols, n, tilt_deg=tilt), today=TODAY)} for n, tilt in
             ((1, 14), (2, -17), (3, 25))]  # fmt: skip
    assert texts == [{"LOT77", "1P6206-2RS-C3"}] * 3
    bare = {barcode.text for barcode in zxingcpp.read_barcodes(scene(symbols, 3, tilt_deg=25))}
    assert bare == {"LOT77"}
