"""Reports of an audit: page, paper and tables say the same, stand alone, and no text of a label does anything.

The workbook is read back by openpyxl, the page by Python's own HTML parser, the paper's text by its own streams.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import zlib
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from audit.batch.making import batch, mixed_batch, unit
from audit.measure_audit import fill
from PIL import Image
from reports.making import photo as picture
from reports.making import screened
from typer.testing import CliRunner

from screener.audit.as_json import audit_as_json
from screener.audit.batch.clusters import Cluster
from screener.audit.batch.compare import BatchComparison, compare_batch
from screener.audit.batch.unit import Number, Unit
from screener.audit.lots import Delivery, judge_delivery
from screener.cli.main import app
from screener.errors import ScreenerError, WrongUsage
from screener.records.model import ItemRecord, PhotoRef
from screener.records.record import Record
from screener.records.result_json import item_as_json, item_from_json
from screener.reports.audit_files import check_form, write_audit
from screener.reports.audit_report import AuditReport, audit_report
from screener.reports.whole_file import write_whole

EVIL = '=HYPERLINK("http://x","y")<script>alert(1)</script>'


def made(units: list[Unit], **more: Any) -> tuple[BatchComparison, Delivery, AuditReport]:
    compared = compare_batch(units)
    judged = judge_delivery(compared)
    report = audit_report(compared, judged, scope=[("runs", "1")], created_at="today", version="0", **more)
    return compared, judged, report


def mixed_units() -> list[Unit]:
    return [
        *batch(40, 8, np.random.default_rng(2)),
        unit(100, {"mass_g": Number(128.0, 0.5)}, disposition="reject", exit="send back", reason=EVIL, need=EVIL,
             key=EVIL, words={"maker on the box": EVIL}),
        unit(101, disposition="hold", exit="keep and ask", suspicion="strong", reason="Serial seen before.",
             not_checked=("Clearance was not checked.",)),
    ]  # fmt: skip


class Page(HTMLParser):
    """What a page would load or run, and its text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.loads: list[str] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.loads += [value or "" for name, value in attrs if name in {"src", "href", "action"}]

    def handle_data(self, data: str) -> None:
        self.text += data


def pdf_text(content: bytes) -> str:
    """The words of a PDF written with the built-in fonts: its streams inflated, the shown strings joined.

    Its last byte may be a line's end, which the pattern takes for its own: then the checksum is short.
    """
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL)
    shown = []
    for stream in streams:
        try:
            plain = zlib.decompressobj().decompress(stream)
        except zlib.error:
            continue
        shown += [text.decode("latin-1") for text in re.findall(rb"\(((?:[^()\\]|\\.)*)\) Tj", plain)]
    return " ".join(shown).replace("\\(", "(").replace("\\)", ")")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("audit")
    compared, _, report = made(mixed_units())
    for ending in ("html", "pdf", "xlsx", "csv", "json"):
        write_audit(folder / f"audit.{ending}", compared, report)
    return folder


def test_the_page_stands_alone_and_runs_nothing(written: Path) -> None:
    page = Page((written / "audit.html").read_text())
    assert "script" not in page.tags
    assert "link" not in page.tags
    assert [each for each in page.loads if not each.startswith(("data:", "#"))] == []
    assert EVIL in page.text, "shown as text"


def test_page_and_paper_say_the_same_and_accuse_nobody(written: Path) -> None:
    page = Page((written / "audit.html").read_text()).text
    paper = re.sub(r"\s+", " ", pdf_text((written / "audit.pdf").read_bytes()))
    for text in (re.sub(r"\s+", " ", page), paper):
        assert "HOLD" in text
        assert "One such unit holds the lot" in text
        assert "Is anything suspect?" in text
        assert re.search(r"\b[789] of 40 units differ in marks", text)
        assert "Clearance was not checked." in text
        assert "nobody is accused" in text
        assert not re.search(r"counterfeit|genuine|\bfake\b|fraud", text, re.IGNORECASE)


def test_groups_are_told_apart_by_shape_and_letter_not_by_shade(tmp_path: Path) -> None:
    """WCAG 2.2, success criterion 1.4.1: colour is not the only means; the paper may come from a grey printer."""
    units = mixed_batch(11, [], np.random.default_rng(3))
    (group,) = compare_batch(units).groups
    found = [Cluster("marks", places, 4, 11, 0.01, 5.0, ()) for places in ((0, 1, 2), (3, 4, 5, 6))]
    compared = replace(compare_batch(units), groups=(replace(group, clusters=tuple(found)),))
    judged = judge_delivery(compared)
    report = audit_report(compared, judged, scope=[], created_at="today", version="0")
    (plot, *_) = report.groups[0].plots
    shapes = {key.says.partition(":")[0]: key.shape for key in plot.keys}
    assert len(set(shapes.values())) == len(shapes) >= 3, shapes
    by_unit = {re.sub(r" .*", "", dot.says): dot.shape for dot in plot.rows[0].dots}
    for letter, cluster in zip("AB", found, strict=True):
        assert {by_unit[units[place].key] for place in cluster.units} == {shapes[f"group {letter}"]}
        assert f"Group {letter}: {len(cluster.units)} of 11 units differ" in " ".join(report.groups[0].findings)
    write_audit(tmp_path / "a.pdf", compared, report)
    write_audit(tmp_path / "a.html", compared, report)
    for text in (pdf_text((tmp_path / "a.pdf").read_bytes()), Page((tmp_path / "a.html").read_text()).text):
        assert "group A: 3 of 11 units, by marks" in text
        assert "group B: 4 of 11 units, by marks" in text


def test_sentences_beside_the_photos_are_wrapped(written: Path) -> None:
    """CSS Text 3, 3: white-space nowrap lets a line run off the paper; only a unit's number in a plan has it."""
    style = (written / "audit.html").read_text().partition("<style>")[2].partition("</style>")[0]
    rules = [rule.partition("{") for rule in style.split("}")]
    unwrapped = [selector.strip() for selector, _, body in rules if "nowrap" in body]
    assert unwrapped, "else this shows nothing"
    assert not {".unit", "article", "article.unit"} & {each.strip() for one in unwrapped for each in one.split(",")}


def test_the_summary_comes_first(written: Path) -> None:
    content = (written / "audit.pdf").read_bytes()
    first = next(text for text in pdf_pages(content) if text)
    assert "What to do now" in first
    assert "Evidence" not in first
    assert "page 1 of" in first


def pdf_pages(content: bytes) -> Iterator[str]:
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL):
        try:
            plain = zlib.decompressobj().decompress(stream)
        except zlib.error:
            continue
        yield " ".join(text.decode("latin-1") for text in re.findall(rb"\(((?:[^()\\]|\\.)*)\) Tj", plain))


def test_a_workbook_holds_texts_as_texts_and_numbers_as_numbers(written: Path) -> None:
    book = openpyxl.load_workbook(written / "audit.xlsx")
    assert book.sheetnames[:3] == ["Summary", "Units", "Units in full"]
    short = list(book["Units"].iter_rows(values_only=True))
    assert (len(short), len(short[0])) == (1 + 42, 12)
    assert book["Tolerances"]["A2"].value == "nothing found"
    rows = list(book["Units in full"].iter_rows())
    heads = [cell.value for cell in rows[0]]
    assert len(rows) == 1 + 42
    evil = next(row for row in rows if row[0].value == 100)
    assert all(cell.data_type != "f" for row in rows for cell in row), "no formula anywhere"
    assert evil[heads.index("reason")].value == EVIL
    assert evil[heads.index("mass, g")].value == 128.0
    assert book["Groups found"].max_row == 2


def test_the_csv_holds_no_formula_and_every_number(written: Path) -> None:
    text = (written / "audit.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 42
    assert not any(value.startswith(("=", "+", "-", "@")) for row in rows for value in row.values())
    assert float(rows[0]["mass, g"]) == pytest.approx(128, abs=5)


def test_the_json_is_the_contract(written: Path) -> None:
    document = json.loads((written / "audit.json").read_text())
    assert document["schema"] == "screener.audit/1"
    assert set(document) == {
        "schema", "lot", "says", "lots", "groups", "repeated_serials", "repeated_photos", "serial_runs", "units",
    }  # fmt: skip
    (cluster,) = document["groups"][0]["clusters"]
    assert len(set(cluster["units"]) ^ set(range(8))) <= 1, "units are named by their record"
    compared, judged, _ = made(mixed_units())
    assert json.loads(json.dumps(audit_as_json(compared, judged))) == document


def test_evidence_shows_photos_with_the_regions_pointed_at() -> None:
    document = item_as_json(screened())
    _, _, report = made(
        [
            unit(1, disposition="hold", exit="keep and ask", suspicion="strong"),
            unit(2, disposition="accept", exit="use"),
        ],
        stored=lambda _: document,
        photo=lambda _: picture(),
    )
    (evidence,) = report.evidence_of()
    assert [len(figure.regions) for figure in evidence.figures] == [1], "only what a finding points at is outlined"
    assert evidence.figures[0].regions[0].line == "contradiction"


def test_an_answer_comes_back_from_the_record_as_it_went_in() -> None:
    answer = screened()
    again = item_from_json(json.loads(json.dumps(item_as_json(answer))))
    assert item_as_json(again) == item_as_json(answer)


def test_an_unknown_ending_and_an_unwritable_place_are_said(tmp_path: Path) -> None:
    with pytest.raises(WrongUsage, match="no form of a report"):
        check_form(tmp_path / "audit.doc")
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(ScreenerError, match=r"could not be written|nothing was written"):
        write_whole(tmp_path / "file" / "audit.html", ["x"])
    target = tmp_path / "kept.html"
    target.write_text("old")

    def breaks() -> Iterator[str]:
        yield "new"
        raise RuntimeError

    with pytest.raises(RuntimeError):
        write_whole(target, breaks())
    assert target.read_text() == "old", "an older report stays until the new one is whole"
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith("tmp")] == []


# The command


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("record") / "record.sqlite"
    with Record.open(place) as record:
        fill(record, 120, per_designation=60)
    return place


def run(*arguments: object) -> Any:
    return CliRunner().invoke(app, [str(each) for each in arguments])


def test_the_command_reads_the_record_and_exits_by_the_lot(place: Path) -> None:
    done = run("audit", 1, "--record", place, "--lot", 1000, "--json")
    assert done.exit_code == 10, done.output
    document = json.loads(done.stdout)
    assert document["lot"]["plan"]["sample"] == 80
    assert [len(group["units"]) for group in document["groups"]] == [60, 60]
    assert "mark.stroke" in {each["feature"] for each in document["groups"][0]["numbers"]}
    assert document["serial_runs"][0]["seen"] == 120


def test_the_command_says_what_is_wrong(place: Path) -> None:
    assert run("audit", 99, "--record", place).exception.exit_code == 2
    assert run("audit", "--record", place, "--lot", 100, "--level", "IX").exception.exit_code == 2
    assert run("audit", "--record", place, "--out", place.parent / "a.doc").exception.exit_code == 2
    assert run("audit", "--record", place, "--item", 1).exception.exit_code == 2
    assert run("audit", "--record", place, "--lot", 5).exception.exit_code == 2, "more were looked at than it holds"
    assert run("audit", "--record", place, "--aql", "1.1").exception.exit_code == 2, "checked without --lot too"


def test_a_person_who_releases_an_item_decides_it(tmp_path: Path) -> None:
    with Record.open(tmp_path / "record.sqlite") as record:
        held = item_as_json(screened())
        run_id = record.start_run("receive").id
        item = record.add_item(run_id, ItemRecord("1", "f", held, "hold", "none", requirement="6205-2RS", line="1"))
        record.add_event("release", item_id=item, who="A. Moss", why="measured, fits")
    document = json.loads(run("audit", "--record", tmp_path / "record.sqlite", "--json").stdout)
    assert document["lot"]["word"] == "accept"
    assert document["units"][0]["reason"] == "Released by A. Moss."


# The non-conformance report


@pytest.fixture
def with_photo(tmp_path: Path) -> Path:
    place = tmp_path / "record.sqlite"
    with Record.open(place) as record:
        out = io.BytesIO()
        Image.new("RGB", (120, 90), (120, 130, 140)).save(out, "JPEG")
        sha = record.archive.keep(out.getvalue())
        run_id = record.start_run("receive", order_name="order-77.csv").id
        photos = (PhotoRef(sha, "a.jpg"),)
        result = item_as_json(screened())
        result["observations"][1]["source"]["photo_sha256"] = sha
        item = ItemRecord(
            "1", "f", result, "hold", "none", requirement=EVIL, supplier="Velmort & Co", line="3", photos=photos
        )
        number = record.add_item(run_id, item)
        record.add_event("hold", item_id=number, who="A. Moss", why="marks differ")
    return place


def test_an_accepted_item_has_no_nonconformance_report(tmp_path: Path) -> None:
    with Record.open(tmp_path / "record.sqlite") as record:
        run_id = record.start_run("receive").id
        record.add_item(run_id, ItemRecord("1", "f", item_as_json(screened()), "accept", "none", requirement="6205"))
    done = run("audit", "--record", tmp_path / "record.sqlite", "--nonconformance", tmp_path / "n.html", "--item", 1)
    assert done.exception.exit_code == 2
    assert not (tmp_path / "n.html").exists()


def test_the_sender_stands_in_the_report(with_photo: Path) -> None:
    shop, target = with_photo.parent / "shop.toml", with_photo.parent / "nc.html"
    shop.write_text('name = "Wash & Turn"\naddress = ["3 Mill Lane", "Northby"]\ncontact = "a@example.org"\n')
    run("audit", "--record", with_photo, "--nonconformance", target, "--item", 1, "--shop", shop)
    text = Page(target.read_text()).text
    assert "Wash & Turn" in text
    assert "3 Mill Lane, Northby" in text
    shop.write_text('nam = "x"')
    done = run("audit", "--record", with_photo, "--nonconformance", target, "--item", 1, "--shop", shop)
    assert done.exception.exit_code == 3


FIELDS_OF_ISO_9001 = (
    "Description", "Containment", "Disposition", "Concession", "Authority who decided", "Supplier informed on",
    "Purchase order no.", "To be filled in by us",
    "Root cause, when known", "Correction", "Corrective action", "Effectiveness", "Do similar nonconformities exist",
    "Conformity verified after correction", "Units of this line looked at", "Of these nonconforming",
    "Quantity received",
)  # fmt: skip
"""ISO 9001:2015, 8.7.1 (containment, informing, verification after correction), 8.7.2 a to d, 10.2.1 a to d, 10.2.2."""


@pytest.mark.parametrize("ending", ["html", "pdf"])
def test_the_nonconformance_report_has_the_fields_of_the_standard(with_photo: Path, ending: str) -> None:
    target = with_photo.parent / f"nc.{ending}"
    done = run("audit", "--record", with_photo, "--nonconformance", target, "--item", 1)
    assert done.exit_code == 0, done.output
    text = Page(target.read_text()).text if ending == "html" else pdf_text(target.read_bytes())
    text = re.sub(r"\s+", " ", text)
    for field in FIELDS_OF_ISO_9001:
        assert field in text, field
    for value in ("NC-1-1", "Velmort & Co", "order-77.csv line 3", "A. Moss", "The ring reads 6205-2Z."):
        assert value in text, value
    assert "No wrongdoing by anybody is alleged" in text
    assert not re.search(r"\.toml|\.csv[:,]|reference_specs|suspect part|[Aa]sk the (seller|supplier)", text), (
        "nothing internal"
    )
    assert not re.search(r"counterfeit|genuine|\bfake\b|fraud|culprit|cheat", text, re.IGNORECASE)
    if ending == "html":
        assert "data:image/jpeg" in target.read_text(), "the photo travels with it"


def told(path: Path, field: str) -> str:
    """The value of a field of the page's forms."""
    row = re.search(rf"<th[^>]*>{re.escape(field)}.*?</th><td>(.*?)</td>", path.read_text(), re.DOTALL)
    assert row, field
    return row[1]


def test_the_units_of_the_line_are_counted_and_the_order_gives_number_and_address(tmp_path: Path) -> None:
    """Four of a line: one wrong, one held, one released by a person, one that nobody looked at; a fifth of another."""
    order, target = tmp_path / "order.csv", tmp_path / "nc.html"
    order.write_text("line;qty;designation;supplier;PO no;supplier address\n"
                     "3;40;6205-2RS;Velmort & Co;PO 4711;7 Quay Road, Southby\n4;2;6004;Velmort & Co;;\n")  # fmt: skip
    with Record.open(tmp_path / "record.sqlite") as record:
        sha = hashlib.sha256(order.read_bytes()).hexdigest()
        run_id = record.start_run("receive", order_name="order.csv", order_sha256=sha).id
        out = io.BytesIO()
        Image.new("RGB", (120, 90), (120, 130, 140)).save(out, "JPEG")
        photo = (PhotoRef(record.archive.keep(out.getvalue()), "a.jpg"),)
        blind = {**item_as_json(screened()), "observations": []}
        for key, line, word, seen in (
            ("3/a", "3", "reject", True), ("3/b", "3", "hold", True), ("3/c", "3", "hold", True),
            ("3/d", "3", "hold", False), ("4", "4", "reject", True),
        ):  # fmt: skip
            result = item_as_json(screened()) if seen else blind
            item = ItemRecord(key, key, result, word, "none", "6205-2RS", "Velmort & Co", line, photo if seen else ())
            record.add_item(run_id, item)
        record.add_event("release", item_id=3, who="A. Moss", why="measured, fits")
    asked = ("audit", "--record", tmp_path / "record.sqlite", "--nonconformance", target, "--item", 1)
    done = run(*asked, "--order", order, "--lot", 38)
    assert done.exit_code == 0, done.output
    counted = (
        "Quantity received",
        "Units of this line looked at",
        "Of these nonconforming",
        "Of these with a question",
    )
    assert [told(target, field) for field in counted] == ["38", "3", "1", "1"]
    assert told(target, "Purchase order no.") == "PO 4711"
    assert "7 Quay Road, Southby" in target.read_text()
    run(*asked)
    assert 'class="write"' in told(target, "Purchase order no."), "left to be written in"
    order.write_text(order.read_text().replace("4711", "4712"))
    assert run(*asked, "--order", order).exception.exit_code == 2, "another order list than the run's"


def test_what_the_record_knows_of_purchase_and_shop_stands_in_the_report(with_photo: Path) -> None:
    """Order number, delivery note, address, contact and sender, said once at the dock or by the buyer."""
    place, target, shop = with_photo, with_photo.parent / "nc.html", with_photo.parent / "shop.toml"
    shop.write_text('name = "Harbour Laundry"\naddress = ["Quay 3", "Port Ellery"]\n')
    assert run("shop", shop, "--by", "A. Buyer", "--record", place).exit_code == 0
    said = ("--order-number", "PO 4711", "--delivery-note", "DN 88", "--address", "7 Quay Road, Southby")
    assert run("purchase", 1, *said, "--by", "A. Clerk", "--record", place).exit_code == 0
    run("purchase", 1, "--line", "3", "--received", 38, "--contact", "B. Sedge", "--record", place)
    shown = run("purchase", 1, "--line", "3", "--record", place, "--json")
    assert json.loads(shown.stdout)["delivery_note"] == "DN 88"
    assert run("audit", "--record", place, "--nonconformance", target, "--item", 1).exit_code == 0
    for field, value in (("Purchase order no.", "PO 4711"), ("Delivery note", "DN 88"), ("Quantity received", "38")):
        assert told(target, field) == value
    text = Page(target.read_text()).text
    for value in ("Harbour Laundry", "Quay 3, Port Ellery", "7 Quay Road, Southby", "B. Sedge"):
        assert value in text, value
    assert run("purchase", 9, "--record", place).exception.exit_code == 2
