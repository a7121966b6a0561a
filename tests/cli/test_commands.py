"""The command line as a user or a program meets it: exit codes, JSON on stdout, sentences on stderr."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"


def run(*arguments: object, **more):
    command = [sys.executable, "-c", "from screener.cli.main import run; run()", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False, **more)


def test_explain_gives_the_contract():
    done = run("explain", "6205-2RS1/C3", "--json")
    told = json.loads(done.stdout)
    assert done.returncode == 0
    assert told["schema"] == "screener.explain/1"
    # ISO 15, dimension series 02: 25 x 52 x 15.
    assert (told["bore_mm"], told["od_mm"], told["width_mm"]) == (25, 52, 15)
    assert told["closure"] == {"kind": "contact_seal", "sides": 2}
    assert told["clearance"] == "C3"


def test_explain_says_what_it_does_not_understand():
    done = run("explain", "6205-QQQ9", "--json")
    assert done.returncode == 3
    assert json.loads(done.stdout)["not_understood"]


@pytest.mark.parametrize(
    ("need", "offered", "duty", "code"),
    [
        ("6204-2RS", "6204DDU", "wet", 0),  # common practice: two codes for contact seals on both sides
        ("6205-2RS", "6205-2Z", "dry", 10),  # common practice: to be judged by the mechanic
        ("6205-2RS", "6205-2Z", "wet", 20),  # two makers' closure tables: a metal shield does not keep water out
        ("6205-2RS", "6206-2RS", "dry", 20),  # ISO 15: another size
    ],
)
def test_compare_exit_codes(need, offered, duty, code):
    done = run("compare", need, offered, "--duty", duty, "--json")
    assert done.returncode == code
    assert json.loads(done.stdout)["schema"] == "screener.compare/1"


def test_measure_without_a_name_ranks_sizes():
    done = run("measure", "--od", 52, "--bore", 25, "--width", 15, "--json")
    # ISO 15, dimension series 02.
    assert json.loads(done.stdout)["sizes"][0]["row"]["designation"] == "6205"


def test_wrong_usage_is_two_and_one_sentence():
    for arguments in (("compare", "6205", "6205", "--duty", "moist"), ("measure", "6205"), ("explain",)):
        done = run(*arguments)
        assert done.returncode == 2, arguments
        assert "Traceback" not in done.stderr


def test_missing_input_is_three():
    done = run("receive", "--order", "nowhere.csv", "--photos", SAMPLES / "photos")
    assert done.returncode == 3
    assert "nowhere.csv" in done.stderr
    assert "Traceback" not in done.stderr


def test_an_empty_folder_is_told(tmp_path):
    done = run("receive", "--order", SAMPLES / "order.csv", "--photos", tmp_path)
    assert done.returncode == 3
    assert "no photo" in done.stderr


def test_look_goes_on_past_a_bad_photo(tmp_path):
    (tmp_path / "bad.jpg").write_text("nothing")
    good = SAMPLES / "02" / "box.jpg" if (SAMPLES / "02").exists() else SAMPLES / "photos" / "02" / "box.jpg"
    done = run("look", tmp_path / "bad.jpg", good, "--json", "--only", "codes")
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert done.returncode == 3
    assert [bool(line["codes"]) for line in lines] == [False, True]
    assert lines[0]["problems"]


@pytest.mark.slow
def test_verify_with_photo_and_readings(tmp_path):
    folder = SAMPLES / "photos" / "05"
    report = tmp_path / "report.html"
    done = run(
        *("verify", "--need", "6204-2RS", "--duty", "wet", folder / "face_1.jpg", "--od", 46.99, "--bore", 20.0),
        *("--report", report, "--json"),
    )
    result = json.loads(done.stdout)
    assert done.returncode == 20
    assert result["schema"] == "screener.result/1"
    item = result["items"][0]
    assert item["disposition"] == "reject"
    assert any(f["code"] == "closure_not_as_ordered" for f in item["findings"])
    assert item["not_checked"]
    assert report.exists()
    shown = run("log", "items", "--disposition", "reject", "--json")
    assert json.loads(shown.stdout.splitlines()[0])["requirement"] == "6204-2RS"
    exported = run("log", "export", "--format", "csv")
    assert "6204-2RS" in exported.stdout


def test_verify_with_readings_alone():
    done = run("verify", "--need", "6205-2RS C3", "--od", 47.0)
    assert done.returncode == 20
    assert "Not checked" in done.stdout


def test_a_price_list_is_explained_row_by_row(tmp_path):
    source, out = tmp_path / "list.csv", tmp_path / "out.csv"
    source.write_text("Artikel;Designation;Price\n1;6205-2RS;3,20\n2;=1+1;1\n3;NU 2205 E;9\n", encoding="cp1252")
    done = run("explain", "--file", source, "--out", out)
    assert done.returncode == 0, done.stderr
    with out.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [r["understood"] for r in rows] == ["yes", "no", "yes"]
    assert rows[0]["bore_mm"] == "25"
    assert rows[1]["Designation"].startswith("'"), "no spreadsheet may take a cell for a formula"


def test_the_card_is_written(tmp_path):
    done = run("card", "--out", tmp_path / "card.pdf")
    assert done.returncode == 0
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")


def test_every_command_is_in_the_readme():
    import typer

    from screener.cli.main import app

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name in typer.main.get_command(app).commands:
        assert f"screener {name}" in readme, name


def test_explain_names_the_retaining_rings():
    told = json.loads(run("explain", "6205-2RS", "--json").stdout)
    # DIN 471: shaft 25, ring 25 x 1.2; DIN 472: bore 52, ring 52 x 2.
    assert told["shaft_retaining_ring"] == "DIN 471 - 25 x 1.2"
    assert told["bore_retaining_ring"] == "DIN 472 - 52 x 2"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("plan", "--lot", "1,200"), "'--lot': this is no whole number"),
        (("outcome", "x"), "'ITEM': this is no whole number"),
        (("watch", ".", "--every", "0"), "'--every': it has to be 0.2 or more"),
    ],
)
def test_a_value_that_cannot_be_taken_is_refused_in_plain_words(arguments, says):
    done = run(*arguments)
    assert done.returncode == 2
    assert says in done.stderr
    assert "parse" not in done.stderr


@pytest.mark.parametrize(
    "command",
    [
        *("receive", "verify", "look", "explain", "compare", "measure", "fit", "job", "card", "dock", "watch"),
        *("audit", "plan", "suppliers", "backlog", "outcome", "indicators", "reference add"),
    ],
)
def test_help_names_values_in_plain_words(command):
    told = run(*command.split(), "--help").stdout
    assert told.startswith("Usage")
    assert not re.findall(r"<\w+|list\[|\b(?:INTEGER|FLOAT)\b", told)


def test_measure_without_a_name_finds_the_seals_of_a_shaft_and_a_bore():
    """ISO 6194-1 (from memory): 35 x 52 seals are 7, 8 and 10 mm wide."""
    done = run("measure", "--shaft", "34,95", "--housing", "52.02", "--json")
    assert done.returncode == 0
    found = json.loads(done.stdout)["seals"]
    assert {(s["row"]["shaft_mm"], s["row"]["housing_mm"]) for s in found} == {(35.0, 52.0)}
    assert {7.0, 8.0} <= {s["row"]["width_mm"] for s in found}
    assert run("measure", "--shaft", "33.3", "--housing", "47.9").returncode == 10
    mixed = run("measure", "--shaft", "35", "--od", "52")
    assert mixed.returncode == 2
    assert "screener fit" in mixed.stderr
