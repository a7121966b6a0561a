"""Orders as shops write them: any delimiter, encoding, workbook and language; no line dropped, nothing guessed.

Workbooks are written by openpyxl, a library of its own, and read by another.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from screener.errors import InputUnreadable
from screener.records.order_columns import best_header_score
from screener.records.order_grid import cell_text, read_sheets
from screener.records.order_numbers import read_price, read_quantity
from screener.records.order_words import column_meaning, duty_words, order_words
from screener.records.orders import Order, read_order

ROWS = [
    ["Pos", "Menge (Stk)", "Bezeichnung", "Einsatz", "Lieferant", "Preis"],
    ["1", "4", "6205-2RS C3", "nass, heiß", "Hänsel", "12,50 €"],
    ["2", "2 Stk", "Wellendichtring 25x47x7", "staubig", "", "1.234,56"],
]


def written(tmp_path: Path, content: bytes, name: str = "order.csv") -> Order:
    path = tmp_path / name
    path.write_bytes(content)
    return read_order(path)


def as_csv(rows: list[list[str]], delimiter: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter).writerows(rows)
    return out.getvalue()


def workbook(tmp_path: Path, rows: list[list[object]], *, name: str = "order.xlsx") -> Path:
    book = openpyxl.Workbook()
    assert book.active
    for row in rows:
        book.active.append(row)
    book.save(tmp_path / name)
    return tmp_path / name


@pytest.mark.parametrize("delimiter", [";", ",", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_every_delimiter_and_encoding_gives_the_same_order(tmp_path: Path, delimiter: str, encoding: str) -> None:
    order = written(tmp_path, as_csv(ROWS, delimiter).encode(encoding))
    first, second = order.lines
    assert (first.line, first.quantity, first.need_text) == ("1", 4, "6205-2RS C3")
    assert (first.supplier, first.unit_price, first.duty) == ("Hänsel", Decimal("12.50"), {"wet", "hot"})
    assert (second.quantity, second.duty, second.supplier) == (2, {"dirty"}, None)
    assert (second.need_text, second.unit_price) == ("Wellendichtring 25x47x7", Decimal("1234.56"))
    assert order.problems == ()


def test_a_letterhead_empty_rows_and_repeated_headings_are_passed_over(tmp_path: Path) -> None:
    rows = [["Laundry North"], ["Order 77, of 3 May"], [], ROWS[0], ROWS[1], [""] * 6, ROWS[0], ROWS[2]]
    order = written(tmp_path, as_csv(rows, ";").encode())
    assert [line.row_number for line in order.lines] == [5, 8]


def test_numbers_in_a_workbook_are_read_as_typed(tmp_path: Path) -> None:
    # A cell with the number 6202 is handed over as 6202.0 by the reader of workbooks.
    rows: list[list[object]] = [["Line", "Qty", "Part", "Duty"], [1, 4.0, 6202.0, "wet"], [2, 1, "608-2Z", "dry"]]
    order = read_order(workbook(tmp_path, rows))
    assert [(line.line, line.quantity, line.need_text) for line in order.lines] == [
        ("1", 4, "6202"),
        ("2", 1, "608-2Z"),
    ]


def test_a_workbook_keeps_its_row_numbers(tmp_path: Path) -> None:
    order = read_order(workbook(tmp_path, [[], [], ["Part", "Qty"], [None, None], ["6205", 1]]))
    assert [line.row_number for line in order.lines] == [5]


def test_a_designation_turned_into_a_date_is_told_and_kept(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Line", "Part"], [1, dt.date(2026, 5, 12)], [2, "6205"]]
    order = read_order(workbook(tmp_path, rows))
    assert len(order.lines) == 2
    assert "2026-05-12" in order.lines[0].need_text
    assert any("date" in problem and "Row 2" in problem for problem in order.problems)


def test_the_sheet_with_the_order_is_found_and_the_others_named(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    assert book.active
    book.active.title = "Cover"
    book.active.append(["Hello"])
    sheet = book.create_sheet("Lines")
    sheet.append(["Artikelbezeichnung", "Menge"])
    sheet.append(["Rillenkugellager 6004-2RS", 3])
    book.save(tmp_path / "two.xlsx")
    order = read_order(tmp_path / "two.xlsx")
    assert order.lines[0].need_text == "Rillenkugellager 6004-2RS"
    assert any('"Lines"' in problem and "Cover" in problem for problem in order.problems)


def test_a_line_nobody_can_read_is_kept_and_told(tmp_path: Path) -> None:
    order = written(tmp_path, b"line;qty;part\n1;4;6205\n2;;green wheel\n3;1;\nTotal;5;\n")
    assert [line.line for line in order.lines] == ["1", "2", "3"]
    assert order.lines[1].need_text == "green wheel"
    # A total is no line; that it was left out is told with its row.
    assert [f"Row {row}" in " ".join(order.problems) for row in (2, 3, 4, 5)] == [False, True, True, True]


def test_two_lines_never_share_a_name(tmp_path: Path) -> None:
    order = written(tmp_path, b"line;part\n4;6205\n4;6206\n;6207\n3;6208\n")
    names = [line.line for line in order.lines]
    assert len(set(names)) == 4
    assert names[:2] == ["4", "4 (row 3)"]
    assert any("occurs twice" in problem for problem in order.problems)


def test_the_column_with_parts_wins_over_the_shop_s_own_numbers(tmp_path: Path) -> None:
    order = written(tmp_path, b"item number;description;qty\n1234567;Deep groove bearing 6202-2RS;4\n")
    assert order.lines[0].need_text == "Deep groove bearing 6202-2RS"


def test_a_seal_split_in_two_columns_keeps_both_halves(tmp_path: Path) -> None:
    order = written(tmp_path, b"part,size\nTC FKM,25x47x7\n6205,\n")
    assert [line.need_text for line in order.lines] == ["TC FKM 25x47x7", "6205"]


def test_a_bare_list_of_parts_is_an_order(tmp_path: Path) -> None:
    order = written(tmp_path, b"6205-2RS C3\n6004-2Z\n\n25x47x7 NBR\n", "list.txt")
    assert [line.need_text for line in order.lines] == ["6205-2RS C3", "6004-2Z", "25x47x7 NBR"]
    assert any("no headings" in problem for problem in order.problems)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("empty.csv", b"", "empty"),
        ("only-heads.csv", b"part;qty\n", "no lines"),
        ("no-need.csv", b"foo,qty\nhello,4\n", "no column says what is needed"),
        ("picture.csv", b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" * 50, "not a table"),
        ("torn.xlsx", b"PK\x03\x04 torn", "damaged"),
        ("torn.xls", b"\xd0\xcf\x11\xe0 torn", "damaged"),
        ("missing.csv", None, "cannot be opened"),
    ],
)
def test_what_is_no_order_is_said_plainly(tmp_path: Path, name: str, content: bytes | None, says: str) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(InputUnreadable, match=says) as caught:
        read_order(tmp_path / name)
    assert caught.value.exit_code == 3
    assert name in str(caught.value)


def test_a_workbook_that_unpacks_to_a_mountain_is_refused(tmp_path: Path) -> None:
    target = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as packed, packed.open("xl/a.xml", "w") as inside:
        for _ in range(510):
            inside.write(b"\0" * 1_000_000)
    with pytest.raises(InputUnreadable, match="far more"):
        read_order(target)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "any.csv"
    path.write_bytes(b"part;qty\n" + content)
    try:
        order = read_order(path)
    except InputUnreadable:
        return
    assert all(line.need_text for line in order.lines)


SAFE_CELL = st.text(st.characters(categories=["Lu", "Ll", "Nd"]), min_size=1, max_size=8)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(SAFE_CELL, SAFE_CELL), min_size=1, max_size=12), st.sampled_from(";,\t|"))
def test_no_line_is_ever_dropped(tmp_path: Path, cells: list[tuple[str, str]], delimiter: str) -> None:
    rows = [["part", "note"], *([part, note] for part, note in cells)]
    order = written(tmp_path, as_csv(rows, delimiter).encode())
    kept = [row for row in cells if list(row) != ["part", "note"]]
    assert len(order.lines) == len(kept)


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("4", 4),
        ("4 pcs", 4),
        ("4,0", 4),
        ("4.00", 4),
        ("x2", 2),
        ("10 Stk.", 10),
        ("1.000", None),
        ("few", None),
        ("", None),
    ],
)
def test_quantities(text: str, count: int | None) -> None:
    assert read_quantity(text) == count


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("12,50 €", "12.50"), ("EUR 3.20", "3.20"), ("1.234,56", "1234.56"), ("1,234.56", "1234.56"),
        ("1'234.50", "1234.50"),
        ("7", "7"), ("0,125", "0.125"), ("1.234", None), ("free", None), ("-3", None),
    ],
)  # fmt: skip
def test_prices(text: str, amount: str | None) -> None:
    assert read_price(text) == (None if amount is None else Decimal(amount))


@pytest.mark.parametrize("number", [0, 7, 608, 6202, 61805])
def test_whole_numbers_of_a_spreadsheet_have_no_point(number: int) -> None:
    assert cell_text(float(number)) == str(number)


def test_headings_and_duties_of_many_languages() -> None:
    # common practice: words seen on order lists; checked by hand against dictionaries
    assert column_meaning("Stückpreis") == "unit_price"
    assert column_meaning("Qté / Qty") == "quantity"
    assert column_meaning("BEZEICHNUNG") == "designation"
    assert column_meaning("Proveedor") == "supplier"
    assert column_meaning("colour") is None
    assert duty_words("wash-down area, hot") == {"wet", "hot"}
    assert duty_words("Spritzwasser; staubig") == {"wet", "dirty"}
    assert duty_words("sweat") == frozenset(), "a word inside a word is not that word"


def test_no_word_of_the_table_means_two_things() -> None:
    import tomllib

    from screener.records.order_words import TABLE, plain
    from screener.specs.location import specs_folder

    table = tomllib.loads((specs_folder() / TABLE).read_text("utf-8"))
    for group in ("columns", "duty"):
        words = [(plain(word), meaning) for meaning, listed in table[group].items() for word in listed]
        meanings = dict(words)
        assert [word for word, meaning in words if meanings[word] != meaning] == []
    assert set(order_words().duty.values()) == {"wet", "dirty", "hot", "fast", "dry"}


def test_headings_in_unknown_words_are_no_line_and_the_lines_keep_their_numbers(tmp_path: Path) -> None:
    order = written(tmp_path, b"Foo,Bar\n1,6205-2RS\n2,6203-2Z\n3,30x47x7 NBR\n")
    assert [(line.line, line.need_text) for line in order.lines] == [
        ("1", "6205-2RS"),
        ("2", "6203-2Z"),
        ("3", "30x47x7 NBR"),
    ]
    assert any("taken as the headings" in problem for problem in order.problems)
    assert any("line numbers" in problem for problem in order.problems)


def test_a_list_without_numbers_says_that_it_was_numbered(tmp_path: Path) -> None:
    order = written(tmp_path, b"part\n6205-2RS\n6203-2Z\n")
    assert [line.line for line in order.lines] == ["1", "2"]
    assert any("numbers no lines" in problem for problem in order.problems)


@pytest.mark.parametrize("total", ["Total;7;", "Summe;7;", ";12;Gesamt netto", "Subtotal EUR;7;"])
def test_totals_are_left_out_and_told(tmp_path: Path, total: str) -> None:
    order = written(tmp_path, f"line;qty;part\n1;4;6205\n2;3;6203\n{total}\n".encode())
    assert [line.line for line in order.lines] == ["1", "2"]
    assert any("left out" in problem for problem in order.problems)


def test_a_row_that_names_a_part_is_a_line_whatever_else_it_says(tmp_path: Path) -> None:
    order = written(tmp_path, b"line;qty;part\n1;4;6205\nTotal;3;6203-2Z\n")
    assert len(order.lines) == 2


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252"])
def test_an_unknown_duty_is_told_and_german_headings_are_known(tmp_path: Path, encoding: str) -> None:
    text = "Pos;Menge;Bezeichnung;Einsatzbereich\n1;2;6205-2RS;na\xdf\n2;4;6203-2Z;trocken\n3;1;6204;mond\n"
    order = written(tmp_path, text.encode(encoding))
    assert [sorted(line.duty) for line in order.lines] == [["wet"], ["dry"], []]
    assert any('"mond" is not known' in problem for problem in order.problems)


# common practice: words seen on German, French and Spanish order lists; checked by hand against dictionaries
@pytest.mark.parametrize(
    ("meaning", "headings"),
    [
        ("line", ["Lfd. Nr.", "Zeilennummer", "N°", "Numéro de ligne", "Partida"]),
        ("quantity", ["Stückzahl", "Anz.", "Qté commandée", "Cantidad pedida", "Uds."]),
        ("designation", ["Lagertyp", "Wälzlager", "Type de roulement", "Référence", "Referencia", "Tipo"]),
        ("size", ["Maße", "Größe", "Cotes", "Tamaño"]),
        ("article", ["Bestell-Nr.", "Material-Nr.", "Code produit", "N° d'article", "Código artículo"]),
        ("description", ["Artikeltext", "Libellé", "Producto"]),
        ("maker", ["Hersteller", "Constructeur", "Fabricante"]),
        ("duty", ["Einsatzbereich", "Betriebsbedingungen", "Conditions d'utilisation", "Condiciones de trabajo"]),
        ("supplier", ["Händler", "Bezugsquelle", "Fournisseur", "Distribuidor"]),
        ("unit_price", ["Preis pro Stück", "Preis/Stk", "P.U. HT", "Prix unitaire HT", "Precio unidad"]),
        ("note", ["Bemerkungen", "Verwendung", "Observations", "Comentario"]),
        ("both_faces", ["Beide Seiten", "Les deux faces", "Ambos lados"]),
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "cp1252"])
def test_german_french_and_spanish_headings(tmp_path: Path, meaning: str, headings: list[str], encoding: str) -> None:
    for heading in headings:
        content = f"Bearing;{heading}\n6205-2RS;x\n".encode(encoding)
        sheet = read_sheets(tmp_path / "order.csv", content, best_header_score)[0]
        assert column_meaning(sheet.rows[0][1]) == meaning, heading


@pytest.mark.parametrize(
    ("text", "duty"),
    [
        ("feuchte Umgebung", {"wet"}), ("staubige Umgebung", {"dirty"}), ("hohe Temperatur", {"hot"}),
        ("trockener Raum", {"dry"}), ("extérieur, poussiéreux", {"wet", "dirty"}), ("haute température", {"hot"}),
        ("húmeda y polvoriento", {"wet", "dirty"}), ("alta velocidad", {"fast"}), ("nicht nass", set()),
    ],
)  # fmt: skip
def test_duties_as_they_are_inflected(text: str, duty: set[str]) -> None:
    assert duty_words(text) == duty


def test_each_piece_of_a_duty_that_is_not_known_is_told(tmp_path: Path) -> None:
    order = written(tmp_path, b"line;part;duty\n1;6205;wet, zorp\n2;6203;not wet\n3;6204;dry\n")
    assert [set(line.duty) for line in order.lines] == [{"wet"}, set(), {"dry"}]
    told = [problem for problem in order.problems if "duty" in problem]
    assert ['"zorp"' in told[0], '"not wet"' in told[1], len(told)] == [True, True, 2]


def test_a_row_with_a_part_is_never_the_headings(tmp_path: Path) -> None:
    # "Lager" is a heading elsewhere; here it only says that the part is a bearing.
    order = written(tmp_path, b"6205-2RS;4;Lager\n6203;2;Lager\n")
    assert [line.need_text for line in order.lines] == ["6205-2RS", "6203"]


@pytest.mark.parametrize("numbers", [("10", "020", "30"), ("1", "2", "3"), ("1.", "2.", "3.")])
def test_a_column_of_numbers_left_of_the_parts_numbers_the_lines(tmp_path: Path, numbers: tuple[str, ...]) -> None:
    rows = [f"{number};{part}" for number, part in zip(numbers, ("6205-2RS", "green wheel", "6203"), strict=True)]
    order = written(tmp_path, "\n".join(["Foo;Bar", *rows]).encode())
    assert [line.line for line in order.lines] == list(numbers)
    assert not any("numbers no lines" in problem for problem in order.problems)


def test_a_first_row_with_a_number_is_a_line_even_if_its_part_is_unknown(tmp_path: Path) -> None:
    order = written(tmp_path, b"1;green wheel\n2;6205\n3;6203\n")
    assert [(line.line, line.need_text) for line in order.lines] == [("1", "green wheel"), ("2", "6205"), ("3", "6203")]


def test_a_line_without_number_never_takes_the_number_of_another(tmp_path: Path) -> None:
    order = written(tmp_path, b"line;part\n1;6205\n;6206\n2;6207\n")
    assert {line.need_text: line.line for line in order.lines}["6207"] == "2"
