"""``screener reference``: kept, listed, compared, retired; nothing is ever removed."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest
import vision.reference.packages as drawn
from typer.testing import CliRunner

from screener.cli.main import app
from screener.errors import WrongUsage
from screener.records.record import Record
from screener.records.references import References, product_key

SEED = 7003


@pytest.fixture(scope="module")
def photos(tmp_path_factory):
    folder = tmp_path_factory.mktemp("photos")
    moved = drawn.plant(drawn.package(SEED, batch_seed=2), "code_moved", 3).package
    for name, pack, easy in (
        ("good", drawn.package(SEED), True),
        ("again", drawn.package(SEED, batch_seed=1), True),
        ("moved", moved, True),
    ):
        seed = {"good": 1, "again": 2, "moved": 4}[name]
        (folder / f"{name}.jpg").write_bytes(drawn.photograph(pack, seed, easy=easy).jpeg)
    return folder


def run(*words: object):
    return CliRunner().invoke(app, ["reference", *map(str, words)])


def added(photos, product="6205-2RS C3"):
    done = run(
        "add",
        photos / "good.jpg",
        "--maker",
        "BRENVOK",
        "--product",
        product,
        "--date",
        "2026-03-12",
        "--by",
        "Ana",
        "--width-mm",
        90,
    )
    assert done.exit_code == 0, done.output
    return done


def test_a_reference_is_kept_listed_compared_and_retired(photos, tmp_path):
    added(photos)
    listed = [json.loads(line) for line in run("list", "--json").output.splitlines()]
    assert [(r["id"], r["maker"], r["product"], r["dated"], r["who"]) for r in listed] == [
        (1, "BRENVOK", "6205-2RS C3", "2026-03-12", "Ana")
    ]
    same = run("compare", photos / "again.jpg", "--maker", "brenvok", "--product", "6205 2rs/C3", "--json")
    assert same.exit_code == 0, same.output
    assert json.loads(same.output)["differences"] == []
    page = tmp_path / "side.html"
    other = run("compare", photos / "moved.jpg", "--json", "--out", page)
    assert other.exit_code == 10
    document = json.loads(next(line for line in other.output.splitlines() if line.startswith("{")))
    assert document["schema"] == "screener.reference/1"
    assert {d["kind"] for d in document["differences"]} == {"code_moved"}
    assert document["reference"]["id"] == 1
    text = page.read_text(encoding="utf-8")
    assert "redesign" in text
    assert "<script" not in text
    assert run("retire", 1, "--by", "Ana", "--why", "new design").exit_code == 0
    assert run("list", "--json").output.strip() == ""
    kept = json.loads(run("list", "--retired", "--json").output)
    assert (kept["retired_by"], kept["retired_why"]) == ("Ana", "new design")
    assert run("retire", 1, "--by", "Ana", "--why", "again").exit_code != 0


def test_a_box_whose_batch_is_a_line_of_its_own_is_compared():
    """A line that differs from box to box has nothing that stays: the sample delivery's boxes have such lines."""
    box = Path(__file__).parents[2] / "samples" / "photos" / "01" / "box.jpg"
    kept = run("add", box, "--maker", "BRENVOK", "--product", "6205-2RS", "--kind", "package", "--by", "Ana")
    assert kept.exit_code == 0, kept.output
    same = run("compare", box)
    assert same.exit_code == 0, same.output


def test_the_database_refuses_to_change_a_reference(photos, tmp_path):
    added(photos)
    outside = sqlite3.connect(tmp_path / "record.sqlite")
    for statement in ("UPDATE reference_photos SET maker = 'X'", "DELETE FROM reference_photos"):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            outside.execute(statement)
    outside.close()


def test_nonsense_is_refused_with_a_sentence(photos, tmp_path):
    common = ("--maker", "BRENVOK", "--product", "6205", "--by", "Ana")
    assert run("add", photos / "good.jpg", *common, "--date", "12.3.26").exit_code != 0
    assert run("add", photos / "good.jpg", *common, "--kind", "tube").exit_code != 0
    assert run("add", photos / "good.jpg", *common, "--corners", "1,2 3").exit_code != 0
    (tmp_path / "no.jpg").write_text("words")
    assert run("add", tmp_path / "no.jpg", *common).exit_code != 0
    assert run("compare", photos / "good.jpg", "--product", "none").exit_code != 0
    with Record.open() as record, References(record) as references:
        assert references.all(retired=True) == ()


def test_one_photo_is_one_reference_of_a_product(photos):
    added(photos)
    again = run(
        "add",
        photos / "good.jpg",
        "--maker",
        "BRENVOK",
        "--product",
        "6205-2RS/C3",
        "--date",
        "2026-03-13",
        "--by",
        "Ana",
    )
    assert again.exit_code != 0
    assert product_key("6205-2RS C3") == product_key("6205 2rs/C3")


def test_a_box_of_which_no_reference_is_held_says_so_with_those_held_and_shows_the_photo(tmp_path):
    """The boxes of the sample delivery name their makers and products."""
    boxes = Path(__file__).parents[2] / "samples" / "photos"
    kept = run("add", boxes / "01" / "box.jpg", "--maker", "BRENVOK", "--product", "6205-2RS", "--by", "Ana")
    assert kept.exit_code == 0, kept.output
    page = tmp_path / "page.html"
    other = run("compare", boxes / "02" / "box.jpg", "--out", page)
    assert other.exit_code == 10, other.output
    says = " ".join(other.output.split())
    assert "no reference for" in says
    assert "Held are: BRENVOK 6205-2RS." in says
    assert "screener reference add" in says
    text = page.read_text(encoding="utf-8")
    assert text.count("<img") == 1
    assert "without a reference" in text
    assert "Held are: BRENVOK 6205-2RS." in text
    named = run("compare", boxes / "02" / "box.jpg", "--maker", "TALQUIST", "--product", "6203-2Z", "--out", page)
    assert isinstance(named.exception, WrongUsage)
    assert named.exception.exit_code == 2, "whoever names what is not held gets the usage code, as before"
    assert "no reference for TALQUIST 6203-2Z" in named.exception.says
