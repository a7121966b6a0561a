"""Fields from lines of a label, without any picture. The layouts and words are common practice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.vision.label_fields import designation_in, read_fields
from screener.vision.label_layout import PlacedLine, place, runs_against, share_along, text_axis_deg
from screener.vision.label_values import bare_quantity_of, code_of, country_of, date_of, quantity_of
from screener.vision.label_words import label_words, plain
from screener.vision.model import LabelFields


def column(*texts: str) -> list[PlacedLine]:
    return [PlacedLine(text, 0.0, 50.0 * row, 12.0 * len(text), 50.0 * row + 30.0) for row, text in enumerate(texts)]


def fields(*texts: str) -> LabelFields:
    return read_fields(column(*texts)).fields


@pytest.mark.parametrize(
    ("line", "quantity"),
    [
        ("Qty: 10", 10),
        ("QTY 10 PCS", 10),
        ("Menge: 5 Stück", 5),
        ("Quantité : 20", 20),
        ("Quantitø: 20 pz", 20),
        ("Ilość: 2 szt.", 2),
        ("10 PCS", 10),
        ("Quantity: 0.128 kg", None),
        ("Qty: 1O", None),
        ("10", None),
        ("Qty: 2026-05-01", None),
    ],
)
def test_quantity(line: str, quantity: int | None) -> None:
    assert fields(line, "Lot: A1").quantity == quantity


@pytest.mark.parametrize(
    "line", ["Batch: A4711", "LOT NO. A4711", "Lot A4711", "Charge: A4711", "Chargen-Nr.: A4711", "Lotto:A4711"]
)
def test_batch(line: str) -> None:
    assert fields(line).batch == "A4711"


def test_several_fields_in_one_line() -> None:
    said = fields("QTY: 10 PCS LOT: A4711 DATE: 2025-10-14")
    assert (said.quantity, said.batch, said.date) == (10, "A4711", "2025-10-14")


def test_value_right_of_its_key_word_before_one_below() -> None:
    lines = [
        PlacedLine("Batch", 0, 0, 60, 30),
        PlacedLine("A4711", 200, 2, 300, 32),
        PlacedLine("Serial", 0, 50, 60, 80),
        PlacedLine("B99", 200, 52, 280, 82),
    ]
    read = read_fields(lines)
    assert (read.fields.batch, read.fields.serial) == ("A4711", "B99")
    assert dict(read.lines) == {"batch": 1, "serial": 3}


def test_value_below_its_key_word() -> None:
    lines = [
        PlacedLine("Quantity", 0, 0, 80, 20),
        PlacedLine("Batch", 400, 0, 450, 20),
        PlacedLine("10", 0, 28, 30, 68),
        PlacedLine("A4711", 400, 28, 520, 68),
    ]
    said = read_fields(lines).fields
    assert (said.quantity, said.batch) == (10, "A4711")


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("2025-10-14", "2025-10-14"),
        ("14.10.2025", "2025-10-14"),
        ("14/10/2025", "2025-10-14"),
        ("10/14/2025", "2025-10-14"),
        ("05/06/2025", None),  # day or month first: not said
        ("05/2025", "2025-05"),
        ("2025/05", "2025-05"),
        ("MAY 2025", "2025-05"),
        ("3 Mai 2025", "2025-05-03"),
        ("W14/2025", "2025-W14"),
        ("KW 14 2025", "2025-W14"),
        ("20251014", "2025-10-14"),
        ("31.02.2025", None),
        ("2025-13", None),
        ("A4711", None),
    ],
)
def test_dates(text: str, iso: str | None) -> None:
    assert date_of(text) == iso


@pytest.mark.parametrize(
    ("line", "country"),
    [
        ("Made in Germany", "DE"),
        ("Hergestellt in Deutschland", "DE"),
        ("Fabriqué en Italie", "IT"),
        ("Country of origin: PL", "PL"),
        ("Made in P.R. China", "CN"),
        ("Made in Atlantis", None),
        ("Germany", None),
    ],
)
def test_country(line: str, country: str | None) -> None:
    assert fields(line, "Lot: A1").country == country


def test_designation_by_key_by_size_and_by_look_alikes() -> None:
    assert fields("Type: 6205-2RS C3").designation == "6205-2RS C3"
    lines = [PlacedLine("Ref: 6004-2Z", 0, 0, 100, 20), PlacedLine("6205-2RS", 0, 40, 200, 120)]
    assert read_fields(lines).fields.designation == "6004-2Z"
    assert fields("BRENVOK", "62O5-2RS", "Qty: 10").designation == "6205-2RS"
    assert designation_in("35x52x7") == "35x52x7"


@pytest.mark.parametrize(
    "line", ["Tel. 0621 6205", "EAN 4012345 62053", "0.128 kg", "ISO 15", "www.example.org/6205-2", "DIN 625"]
)
def test_no_designation_is_made_up(line: str) -> None:
    assert fields(line).designation is None


def test_order_code_and_designation_are_told_apart() -> None:
    said = fields("Part no.: 6205-2RS", "Order code: 123-4567")
    assert (said.designation, said.order_code) == ("6205-2RS", "123-4567")


def test_maker_known_and_unknown() -> None:
    assert fields("BRENVOK", "6205-2RS").maker == "BRENVOK"
    assert fields("BRENV0K", "6205-2RS").maker == "BRENV0K"  # as printed: the misspelling is what must be seen
    assert fields("QUORVEX BEARINGS", "6205-2RS", "Qty: 1").maker == "QUORVEX"
    assert fields("Manufacturer: Quorvex", "6205-2RS").maker == "QUORVEX"
    assert fields("DEEP GROOVE BALL BEARING", "6205-2RS", "MADE IN ITALY").maker is None


def test_other_numbers_stay_out() -> None:
    said = fields("EAN: 9521101000012", "Weight: 120", "Tel: 12345", "PO: 4500012345")
    assert said == LabelFields()


@given(st.lists(st.text(max_size=25), max_size=6))
def test_no_lines_raise(texts: list[str]) -> None:
    read = read_fields(column(*texts))
    assert len(read.lines) == sum(getattr(read.fields, name) is not None for name in LabelFields.__dataclass_fields__)


@given(st.text(max_size=30))
def test_readers_never_raise(text: str) -> None:
    for reader in (quantity_of, bare_quantity_of, code_of, country_of, date_of, plain, designation_in):
        reader(text)
    label_words().misread(plain(text))


@given(st.floats(-180, 180), st.floats(0, 2000), st.floats(0, 2000))
def test_the_frame_turns_with_the_text(angle_deg: float, x: float, y: float) -> None:
    # Law: turning the photo changes nothing in the label's own frame.
    import math

    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    quad = tuple((x + u * c - v * s, y + u * s + v * c) for u, v in ((0, 0), (100, 0), (100, 20), (0, 20)))
    axis = text_axis_deg([quad])
    assert share_along([quad], axis) == 1.0
    way = axis + 180.0 if runs_against(quad, axis) else axis
    line = place("a", quad, way)
    assert line.right - line.left == pytest.approx(100, abs=1e-3)
    assert line.height == pytest.approx(20, abs=1e-3)
