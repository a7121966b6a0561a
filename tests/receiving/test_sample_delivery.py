"""The sample delivery, received whole through the command line, against what a careful person would conclude.

The expectations (samples/expected.csv) were written with the drawings, not with the program, which never reads them.
"""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture(scope="module")
def delivery(tmp_path_factory):
    folder = tmp_path_factory.mktemp("delivery")
    command = [sys.executable, "-c", "from screener.cli.main import run; run()", "receive", "--json"]
    command += ["--order", str(SAMPLES / "order.csv"), "--photos", str(SAMPLES / "photos")]
    command += ["--record", str(folder / "r.sqlite"), "--report", str(folder / "report.html")]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 20, done.stderr
    return json.loads(done.stdout), (folder / "report.html").read_text(encoding="utf-8")


@pytest.mark.slow
def test_every_line_ends_where_a_careful_person_would_put_it(delivery):
    with (SAMPLES / "expected.csv").open(newline="", encoding="utf-8") as file:
        expected = {row["line"]: row["careful_person_concludes"].split(" or ") for row in csv.DictReader(file)}
    result, _ = delivery
    found = {item["item"]: item["disposition"] for item in result["items"]}
    assert found.keys() == expected.keys()
    assert {line: word for line, word in found.items() if word not in expected[line]} == {}


@pytest.mark.slow
def test_every_answer_says_why_what_next_and_what_was_not_checked(delivery):
    result, report = delivery
    for item in result["items"]:
        assert item["reason"]
        assert item["next_step"]
        assert item["not_checked"]
        assert item["requirement"] in report
    # Words never used for a result.
    for word in ("genuine", "counterfeit", "fake", "forged", "authentic"):
        assert word not in json.dumps(result).lower()
