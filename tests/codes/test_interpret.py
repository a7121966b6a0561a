"""What codes mean: GS1, Digital Link, ISO/IEC 15434, MH10.8.2 and bare text."""

import datetime as dt
import os
import random
import string

import pytest
from biip import ParseError
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from biip.gs1_messages import GS1Message
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.codes.identifier_tables import application_identifiers, data_identifiers
from screener.codes.interpret import interpret
from screener.codes.model import CodeFields
from screener.codes.scan import interpret_scan

TODAY = dt.date(2026, 3, 2)
GS, RS, EOT = "\x1d", "\x1e", "\x04"


def fields(text: str, symbology: str = "Code 128", identifier: str = "]C0") -> CodeFields:
    return interpret(text, symbology, identifier, today=TODAY)[0]


def gs1(text: str) -> tuple[CodeFields, str, tuple[str, ...]]:
    return interpret(text, "GS1-128", "]C1", today=TODAY)


# --- GS1 element strings ---------------------------------------------------------------------------------------------


def test_an_article_with_batch_serial_and_date() -> None:
    # 09506000134352 is the example article of the GS1 General Specifications.
    said, check, remarks = gs1(f"0109506000134352112601151{'0AB-1'}{GS}2177{GS}3010{GS}2406205-2RS C3")
    assert check == "ok"
    assert said.gtin == "09506000134352"
    assert (said.date, said.date_kind) == ("2026-01-15", "production")
    assert (said.batch, said.serial, said.quantity, said.designation) == ("AB-1", "77", 10, None)
    assert remarks != ()  # a blank is not in the character set of AI 240


def test_every_application_identifier_of_the_dictionary_is_known_to_biip_too() -> None:
    # Outside: biip's table, made from GS1's web page rather than from the syntax dictionary.
    for ai in application_identifiers():
        assert GS1ApplicationIdentifier.extract(ai + "0").ai == ai


def _sample(form: str, shortest: bool) -> str:
    kind, size = form.strip("[]")[0], form.strip("[]")[1:]
    length = 1 if (shortest and size.startswith("..")) else int(size.lstrip("."))
    return ("1" if kind == "N" else "A") * length


@pytest.mark.parametrize("shortest", [True, False])
def test_each_element_is_cut_where_biip_cuts_it(shortest: bool) -> None:
    # Oracle: biip's patterns. Where biip rejects a value (dates, countries) only our not raising is asked for.
    compared = 0
    for ai, rule in application_identifiers().items():
        if ai == "99":
            continue
        value = "".join(_sample(part.form, shortest) for part in rule.components)
        said, _, _ = gs1(f"{ai}{value}{GS}99X")
        try:
            theirs = [(e.ai.ai, e.value) for e in GS1Message.parse(f"{ai}{value}{GS}99X").element_strings]
        except ParseError:
            continue
        ours = dict(said.other) | {key: value for key in (ai,) if value in said.unknown}
        filled = {rule.field} if rule.field else set()
        if theirs == [(ai, value), ("99", "X")]:
            compared += 1
            assert ours.get("99") == "X", ai
            assert ours.get(ai) == value or filled or any(value in text for text in said.unknown), ai
    assert compared > 350


@pytest.mark.parametrize(
    "text",
    [
        "0109506000134353",  # GTIN
        "00106141412345678909",  # SSCC, GS1 example with the last digit changed
        "4109506000134353",  # GLN
        "2539506000134353XYZ",  # GDTI: biip lets this pass
        "2559506000134353123",  # GCN: biip lets this pass
        "80030950600013435312",  # GRAI: biip lets this pass
        "40295060001343521110",  # GSIN
        "8017950600013435211128",  # GSRN
        "8006095060001343530102",  # ITIP
        "80131987654Ad4X4bL5ttr2310c2L",  # GMN check pair, GS1 General Specifications 7.9.5
        "8007DE89370400440532013001",  # IBAN, the usual example with one digit changed
    ],
)
def test_wrong_check_digits_are_a_finding(text: str) -> None:
    _, check, remarks = gs1(text)
    assert check == "bad"
    assert any("check" in remark for remark in remarks)


@pytest.mark.parametrize(
    "text",
    ["0109506000134352", "00106141412345678908", "80131987654Ad4X4bL5ttr2310c2K", "8007DE89370400440532013000"],
)
def test_right_check_digits_hold(text: str) -> None:
    assert gs1(text)[1] == "ok"


def test_an_impossible_date_fills_no_field_and_loses_nothing_else() -> None:
    said, _, remarks = gs1(f"010950600013435211261340{'10AB1'}")
    assert said.gtin == "09506000134352"
    assert said.batch == "AB1"
    assert said.date is None
    assert any("261340" in remark for remark in remarks)


def test_day_zero_is_the_last_of_the_month() -> None:
    assert gs1("010950600013435217280200")[0].date == "2028-02-29"  # GS1 General Specifications 3.4


def test_future_and_old_production_dates_are_remarked() -> None:
    assert any("future" in remark for remark in gs1("11270101")[2])
    assert any("storage" in remark for remark in gs1("11190101")[2])
    assert gs1("11260101")[2] == ()


def test_elements_that_gs1_forbids_together() -> None:
    # GS1 syntax dictionary: 01 ex=255,37.
    assert any("forbids" in remark for remark in gs1(f"01095060001343523710{GS}")[2])


def test_without_the_identifier_nothing_is_taken_for_gs1() -> None:
    # The trap: an EAN beginning 401 read as AI 401, a 10D date read as a batch.
    assert fields("4012345678901", "EAN-13", "]E0").gtin == "4012345678901"
    assert fields("4012345678901", "Code 128", "]C0") == CodeFields(unknown=("4012345678901",))
    said = fields("10D2534", "Code 39", "]A0")
    assert said.batch is None
    assert said.date == dt.date.fromisocalendar(2025, 34, 1).isoformat()


# --- retail numbers --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "symbology", "check"),
    [
        ("6291041500213", "EAN-13", "ok"),
        ("6291041500214", "EAN-13", "bad"),
        ("12345670", "EAN-8", "ok"),
        ("042100005264", "UPC-A", "ok"),
        ("04252614", "UPC-E", "ok"),
        ("19506000134359", "ITF", "ok"),
        ("19506000134358", "ITF", "bad"),
    ],
)
def test_retail_check_digits(text: str, symbology: str, check: str) -> None:
    assert interpret(text, symbology, "", today=TODAY)[1] == check


# --- Digital Link ----------------------------------------------------------------------------------------------------


def test_digital_link_examples() -> None:
    # GS1 Digital Link URI syntax: the standard's own example articles.
    said = fields("https://id.gs1.org/01/09506000134352/10/ABC1/21/12345?17=280426", "QR Code", "]Q1")
    assert (said.gtin, said.batch, said.serial, said.date) == ("09506000134352", "ABC1", "12345", "2028-04-26")
    said = fields("HTTPS://example.com/some/path/gtin/9506000134352", "QR Code", "]Q1")
    assert said.gtin == "09506000134352"


def test_an_ordinary_address_names_no_article() -> None:
    for text in (
        "https://example.com/01/index.html",
        "https://example.com/?01=5",
        "http://[",
        "https://example.com/6205",
    ):
        assert fields(text, "QR Code", "]Q1").gtin is None


# --- envelopes and data identifiers ----------------------------------------------------------------------------------


def test_format_06() -> None:
    # ISO/IEC 15434 and MH10.8.2 as published pages show them: header, RS, 06, fields after GS, RS, EOT.
    text = (
        f"[)>{RS}06{GS}P6205-2RS{GS}1P6205-2Z{GS}Q10{GS}1TAB12{GS}S77{GS}K4500{GS}V123{GS}4LDE{GS}16D20260115{RS}{EOT}"
    )
    said = fields(text, "Data Matrix", "]d1")
    assert said.designation == "6205-2RS"
    assert ("1P", "6205-2Z") in said.other
    assert (said.quantity, said.batch, said.serial, said.order, said.supplier) == (10, "AB12", "77", "4500", "123")
    assert (said.country, said.date, said.date_kind) == ("DE", "2026-01-15", "production")


def test_formats_05_and_12_and_others() -> None:
    said = fields(f"[)>{RS}05{GS}0109506000134352{GS}10AB{RS}{EOT}", "Data Matrix", "]d1")
    assert (said.gtin, said.batch) == ("09506000134352", "AB")
    said = fields(f"[)>{RS}12{GS}PNR 6205-2RS{GS}SER 77{RS}{EOT}", "Data Matrix", "]d1")
    assert (said.designation, said.serial) == ("6205-2RS", "77")
    _, _, remarks = interpret(f"[)>{RS}07{GS}hello{RS}{EOT}", "Data Matrix", "]d1", today=TODAY)
    assert any("07" in remark for remark in remarks)


def test_every_data_identifier_is_interpreted_or_named() -> None:
    for di in data_identifiers():
        said = fields(f"[)>{RS}06{GS}{di}20260115{GS}{RS}{EOT}", "Data Matrix", "]d1")
        assert not said.unknown, di
    assert fields(f"[)>{RS}06{GS}88P1{RS}{EOT}").unknown == ("88P1",)


@pytest.mark.parametrize(
    ("text", "date"),
    [
        ("D260115", "2026-01-15"),
        ("1D150126", "2026-01-15"),
        ("2D011526", "2026-01-15"),
        ("4D26015", "2026-01-15"),
        ("7D0126", "2026-01-01"),
        ("10D2603", "2026-01-12"),
        ("12D20260115", "2026-01-15"),
        ("17D15012026", "2026-01-15"),
    ],
)
def test_date_forms_of_mh10(text: str, date: str) -> None:
    # Forms as the identifiers' own meanings state them (MH10.8.2 category D); weeks by ISO 8601 (datetime as oracle).
    assert fields(f"[)>{RS}06{GS}{text}{RS}{EOT}").date == date


def test_impossible_quantity_and_date_are_remarks() -> None:
    said, _, remarks = interpret(f"[)>{RS}06{GS}Q0{GS}10D2660{GS}4LDEU{RS}{EOT}", "", "", today=TODAY)
    assert said.quantity == 0
    assert said.date is None
    assert said.country is None
    assert len(remarks) == 3


# --- bare text -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["6205-2RS C3", "608ZZ", "NU205", "35x52x7", "S6205"])
def test_bare_designations(text: str) -> None:
    assert fields(text).designation == text


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("P6205-2RS", "designation", "6205-2RS"),
        ("Q25", "quantity", 25),
        ("1TAB123", "batch", "AB123"),
        ("S00123", "serial", "00123"),
        ("K4500012345", "order", "4500012345"),
        ("4LIT", "country", "IT"),
    ],
)
def test_single_industrial_fields(text: str, field: str, value: object) -> None:
    assert getattr(fields(text, "Code 39", "]A0"), field) == value


@pytest.mark.parametrize("text", ["HELLO", "SAMPLE", "4009900123456", "B6205X", "PALLET", "SN4711", "QUALITY"])
def test_bare_text_that_says_nothing_is_unknown(text: str) -> None:
    assert fields(text) == CodeFields(unknown=(text,))


# --- handheld scanners -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("separator", ["\x1d", "^]", "<GS>", "{GS}", "\u241d"])
@pytest.mark.parametrize("end", ["", "\r", "\r\n", "\t"])
def test_separators_as_wedges_write_them(separator: str, end: str) -> None:
    code = interpret_scan(f"]C1010950600013435210AB1{separator}2177{end}", today=TODAY)
    assert (code.fields.batch, code.fields.serial, code.symbology) == ("AB1", "77", "GS1-128")


def test_lost_separators_are_said() -> None:
    code = interpret_scan("]C1010950600013435210AB12177", today=TODAY)
    assert code.fields.gtin == "09506000134352"
    assert any("separator" in remark for remark in code.remarks)
    cut = interpret_scan("]C1010950600013435210ABCDEFGHJKLMNPQRSTUV21XY4711Z", today=TODAY)
    assert cut.fields.gtin == "09506000134352"
    assert cut.remarks


def test_without_symbology_identifier() -> None:
    assert interpret_scan("9506000134352", today=TODAY).fields.gtin == "9506000134352"
    assert interpret_scan("9506000134353", today=TODAY).check_digit == "bad"
    assert interpret_scan("010950600013435210AB1", today=TODAY).fields.batch == "AB1"
    assert interpret_scan("(01)09506000134352(10)AB1", today=TODAY).fields.batch == "AB1"
    assert interpret_scan("10D2534", today=TODAY).fields.batch is None
    assert interpret_scan("6205-2RS", today=TODAY).fields.designation == "6205-2RS"


# --- nothing raises --------------------------------------------------------------------------------------------------

IDENTIFIERS = ["", "]C0", "]C1", "]d1", "]d2", "]Q1", "]Q3", "]e0", "]E0", "]E4", "]A0", "]I0", "]zz"]
SEEDS = [
    f"0109506000134352112601151{'0AB-1'}{GS}2177{GS}3010",
    f"[)>{RS}06{GS}P6205-2RS{GS}Q10{GS}1TAB12{GS}16D20260115{RS}{EOT}",
    f"[)>{RS}05{GS}0109506000134352{GS}10AB{RS}{EOT}",
    "https://id.gs1.org/01/09506000134352/10/ABC1/21/12345?17=280426",
    "6205-2RS C3",
    "]C1010950600013435210AB1<GS>2177",
    "8007DE89370400440532013000",
    "43090000000000000000000043309999999",
]


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=60), st.sampled_from(IDENTIFIERS))
def test_no_text_raises(text: str, identifier: str) -> None:
    interpret(text, "", identifier, today=TODAY)
    interpret_scan(identifier + text, today=TODAY)


def test_no_mutation_raises() -> None:
    # A bounded walk in the gate; SCREENER_FUZZ=1000000 takes the long one.
    rng = random.Random(4)
    letters = string.digits + string.ascii_letters + GS + RS + EOT + "()<>{}^]/?=&%-. é٣"
    for _ in range(int(os.environ.get("SCREENER_FUZZ", "4000"))):
        text = list(rng.choice(SEEDS))
        for _ in range(rng.randint(1, 5)):
            place = rng.randrange(len(text) + 1)
            text[place : place + rng.randint(0, 3)] = rng.choices(letters, k=rng.randint(0, 3))
            text = text or ["0"]
        line = "".join(text)
        said, check, _ = interpret(line, "", rng.choice(IDENTIFIERS), today=TODAY)
        assert check in ("ok", "bad", "none")
        assert isinstance(said, CodeFields)
        interpret_scan(line, today=TODAY)
