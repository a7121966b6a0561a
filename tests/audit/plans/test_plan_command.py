"""``screener plan`` as a user or a program meets it."""

from __future__ import annotations

import json
import re

import pytest
from typer.testing import CliRunner

from screener.audit.plans.plan_words import do_says, telling_says, where_says
from screener.audit.plans.planning import Planned, PlanRequest, plan_lot
from screener.cli.main import app
from screener.errors import ScreenerError, WrongUsage
from screener.reports.plan_report import PageFacts, plan_html


def _told(*arguments: str) -> dict:
    done = CliRunner().invoke(app, ["plan", *arguments, "--json"], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_the_example_of_the_manual() -> None:
    told = _told("--lot", "1200", "--aql", "1.0", "--level", "II", "--boxes", "12", "--per-box", "100", "--seed", "3")
    # MIL-STD-105E: table I, 501 to 1200, level II: J; table II-A, J, 1.0: 80 units, 2/3. Table X-J-1: 10 % at 6.52.
    assert told["schema"] == "screener.plan/1"
    assert (told["code_letter"], told["sample_units"], told["accept"], told["reject"]) == ("J", 80, 2, 3)
    assert told["accepted_10"]["share"] == pytest.approx(0.0652, abs=5e-5)
    boxes = told["draw"]["boxes"]
    assert sum(len(box["units"]) for box in boxes) == 80
    assert {len(box["units"]) for box in boxes} <= {6, 7}
    assert any("strong sign" in text for text in told["cannot"])


def test_accept_on_zero_by_limit_and_by_aql() -> None:
    by_limit = _told("--lot", "300", "--accept-zero", "--ltpd", "5")
    assert (by_limit["scheme"], by_limit["accept"], by_limit["reject"]) == ("accept_on_zero", 0, 1)
    assert by_limit["consumers_risk"]["chance"] <= 0.10
    by_aql = _told("--lot", "300", "--accept-zero", "--aql", "1.0")
    assert by_aql["producers_risk"]["units"] == 3


def test_the_history_sets_the_severity() -> None:
    told = _told("--lot", "1200", "--history", "3,3")
    assert told["severity"] == "tightened"
    assert told["switching"]["next"] == "tightened"
    assert told["accept"] == 1


def test_a_stop_ends_with_ten() -> None:
    done = CliRunner().invoke(app, ["plan", "--lot", "1200", "--history", "r,r,r,r,r,r,r"])
    assert done.exit_code == 10
    assert "Accept nothing by sample" in done.output
    assert "Which units" not in done.output


@pytest.mark.parametrize(
    "arguments",
    [
        ["--lot", "1"],
        ["--lot", "1200", "--aql", "3"],
        ["--lot", "1200", "--level", "IV"],
        ["--lot", "1200", "--severity", "lax"],
        ["--lot", "1200", "--ltpd", "0"],
        ["--lot", "1200", "--boxes", "3", "--per-box", "3"],
        ["--lot", "1200", "--history", "q"],
        ["--lot", "1200", "--history", "a", "--severity", "normal"],
        ["--lot", "1200", "--history", "a", "--accept-zero"],
        ["--lot", "1200", "--kind", "gear"],
        ["--lot", "1200", "--oc", "guess"],
        ["--lot", "99999999999"],
        ["--lot", "5000000", "--accept-zero", "--ltpd", "0.00001"],
    ],
)
def test_what_makes_no_sense_is_said(arguments) -> None:
    with pytest.raises(WrongUsage):
        CliRunner().invoke(app, ["plan", *arguments], catch_exceptions=False)


def test_words_for_a_clerk() -> None:
    planned = plan_lot(PlanRequest(1200))
    assert do_says(planned) == (
        "Draw 80 of 1200 units and look at each. Accept with up to 2 nonconforming units; with 3 or more the lot is "
        "not accepted."
    )
    whole = plan_lot(PlanRequest(20, aql="0.25"))
    assert do_says(whole).startswith("Look at all 20 units")
    assert "AOQL" not in " ".join(telling_says(whole))
    counted = plan_lot(PlanRequest(300, aql="65"))
    assert "21 nonconformities" in do_says(counted)
    assert "Poisson" in telling_says(counted)[0]


def test_a_reduced_lot_between_the_numbers_is_accepted() -> None:
    # MIL-STD-105E, 4.10.1.2 with 4.7.4 b (from memory): accepted, normal inspection again from the next lot on.
    planned = plan_lot(PlanRequest(1200, severity="reduced"))
    assert (planned.plan.accept, planned.plan.reject) == (1, 3)
    assert planned.operating[-1].chance <= 0.0011
    assert "go back to normal" in do_says(planned)
    assert where_says(planned).startswith("Single sampling of MIL-STD-105E, reduced")
    assert "ISO 2859-1 single sampling" in where_says(plan_lot(PlanRequest(1200)))


@pytest.mark.parametrize(
    "request_",
    [
        PlanRequest(1200, boxes=12, per_box=100, limit_percent=5.0),
        PlanRequest(300, accept_zero=True),
        PlanRequest(300, aql="65"),
        PlanRequest(5),
        PlanRequest(2),
        PlanRequest(600_000, aql="0.010", level="III"),
        PlanRequest(300, history=("r",) * 7),
        PlanRequest(100, kind="shaft_seal", severity="reduced", aql="10"),
    ],
)
def test_the_page_stands_alone(request_) -> None:
    page = plan_html(plan_lot(request_), PageFacts("Plan for <lot> & co", "25 November 2026", "0"))
    assert "<script" not in page
    assert not re.search(r"(?:src|href)\s*=\s*[\"'](?!data:|#)", page)
    assert "Plan for &lt;lot&gt; &amp; co" in page
    assert page.count('<svg class="plot"') == _plots(plan_lot(request_))
    assert "nan" not in re.findall(r"points=\"[^\"]*\"", page).__str__()


def _plots(planned: Planned) -> int:
    return 0 if planned.stopped else 1 if planned.plan.whole_lot else 2


def test_the_page_is_written(tmp_path) -> None:
    out = tmp_path / "plan.html"
    done = CliRunner().invoke(app, ["plan", "--lot", "50", "--html", str(out)])
    assert done.exit_code == 0
    assert out.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_a_place_that_cannot_be_written_is_said(tmp_path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(ScreenerError, match="could not be written"):
        CliRunner().invoke(
            app, ["plan", "--lot", "50", "--html", str(tmp_path / "file" / "plan.html")], catch_exceptions=False
        )


def _shown(*arguments: str) -> str:
    return CliRunner().invoke(app, ["plan", *arguments], catch_exceptions=False).output


def test_a_single_lot_is_not_said_to_be_many() -> None:
    assert "over many lots" not in _shown("--lot", "300", "--accept-zero", "--ltpd", "5")
    assert "over many lots" in _shown("--lot", "300")


def test_a_stop_gives_no_chances() -> None:
    planned = plan_lot(PlanRequest(1200, history=("r",) * 7))
    assert planned.stopped
    assert telling_says(planned) == []
    page = plan_html(planned, PageFacts("Plan", "25 November 2026", "0"))
    assert "chance" not in _shown("--lot", "1200", "--history", "r,r,r,r,r,r,r").lower()
    assert "Operating characteristic" not in page
    assert "Chance of seeing" not in page


def test_units_are_counted_from_a_box_only_where_there_are_boxes() -> None:
    assert "top of" not in _shown("--lot", "300")
    assert "12 boxes; count from the top of each" in _shown("--lot", "1200", "--per-box", "100")


def test_the_same_point_is_told_once() -> None:
    assert _shown("--lot", "50", "--aql", "0.01").count("at 1 of 50") == 1


def test_every_unit_drawn_has_its_tick_box() -> None:
    planned = plan_lot(PlanRequest(1200, boxes=12, per_box=100))
    page = plan_html(planned, PageFacts("Plan", "25 November 2026", "0"))
    assert page.count('<span class="unit">☐') == planned.plan.sample_units


def test_what_is_remembered_is_no_text_for_a_customer() -> None:
    assert "memory" not in where_says(plan_lot(PlanRequest(1200, severity="reduced")))
