"""Drawn symbols read back: by zxing-cpp as a reader, and their GS1 content by biip (an independent parser)."""

from __future__ import annotations

import biip
import numpy as np
import pytest
import zxingcpp
from drawing.barcodes import FORMATS, IDENTIFIERS, Code, bars, check_digit, gs1, gtin14, iso15434

GTIN = gtin14("952004100105")
CONTENT = {
    "gs1-128": gs1(gtin=GTIN, batch="L2607B"),
    "gs1-datamatrix": gs1(gtin=GTIN, batch="L2607B", serial="7F00231", quantity=4, packed="260700"),
    "gs1-qr": gs1(gtin=GTIN, serial="7F00231"),
    "code-128": "1TL2607B",
    "code-39": "1P6205-2RS",
    "ean-13": GTIN[1:],
    "datamatrix": iso15434(P1="6205-2RS/C3", Q="4", T1="L2607B", S="7F00231"),
    "qr": "https://example.invalid/p/7F00231",
}


def read(ink):
    return zxingcpp.read_barcodes(np.pad(ink, 30, constant_values=255), text_mode=zxingcpp.TextMode.Plain)


def test_every_kind_has_content_here():
    assert set(CONTENT) == set(FORMATS) == set(IDENTIFIERS)


@pytest.mark.parametrize("kind", sorted(CONTENT))
def test_symbols_decode_to_what_was_encoded(kind):
    found = read(bars(Code(kind, CONTENT[kind]), 4, 60))
    assert [item.symbology_identifier for item in found] == [IDENTIFIERS[kind]]
    if kind.startswith("gs1"):
        assert found[0].text.replace("\x1d", "") == CONTENT[kind].replace("(", "").replace(")", "")
    else:
        assert found[0].text == CONTENT[kind]


def test_gs1_content_is_understood_by_biip():
    found = read(bars(Code("gs1-datamatrix", CONTENT["gs1-datamatrix"]), 4))
    message = biip.parse(found[0].text).gs1_message
    values = {item.ai.ai: item.value for item in message.element_strings}
    assert values == {"01": GTIN, "13": "260700", "30": "4", "10": "L2607B", "21": "7F00231"}


@pytest.mark.parametrize(
    ("body", "digit"),
    [
        ("629104150021", "3"),  # GS1's own example on its check-digit page (from memory)
        ("400638133393", "1"),  # the usual worked example of EAN-13 in public articles (from memory)
    ],
)
def test_check_digit(body, digit):
    assert check_digit(body) == digit
    assert biip.checksums.gs1_standard_check_digit(body) == int(digit)


def test_example_numbers_have_the_example_prefix_and_a_good_check_digit():
    assert GTIN.startswith("0952")
    assert len(GTIN) == 14
    assert biip.parse(GTIN).gtin is not None
