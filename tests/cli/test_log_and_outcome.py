"""The record on the command line: outcomes with a reason, numbers that are not there, files that cannot be written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from cli.telling import told

from screener.errors import InputUnreadable, ScreenerError, WrongUsage
from screener.screening.learning import learn
from screener.screening.model import Tally
from screener.screening.strength import decibels
from screener.specs.screening_rules import indicators, suspicion_settings


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """A record with one item: item 1, measured by hand and sent back."""
    place = tmp_path / "record.sqlite"
    told("verify", "--need", "6205-2RS", "--od", 47.0, "--record", place, code=20)
    return place


@pytest.mark.parametrize(("given", "asked"), [(["--by", "Ann"], "--why"), (["--why", "measured"], "--by")])
def test_an_outcome_names_who_and_why(record: Path, given, asked) -> None:
    with pytest.raises(WrongUsage, match=asked):
        told("outcome", 1, "--confirmed", "conforming", *given, "--record", record)


def test_the_log_says_what_an_outcome_was(record: Path) -> None:
    told("outcome", 1, "--confirmed", "nonconforming", "--by", "Ann", "--reason", "ring gauge", "--record", record)
    told("outcome", 1, "--withdraw", "--by", "Bob", "--why", "wrong part", "--record", record)
    shown = told("log", "show", 1, "--record", record)
    assert "outcome: nonconforming, by Ann: ring gauge" in shown
    assert "withdrawn by Bob: wrong part" in shown


@pytest.mark.parametrize("seen", [0, 1])
@pytest.mark.parametrize("good", [True, False])
def test_one_case_moves_no_weight_by_a_decibel(seen: int, good: bool) -> None:
    # reference_specs/indicators.toml says so beside outcome_strength (judgement), for ratios up to 32.
    for each in indicators().values():
        tally = Tally(each.id, 0, 0, seen, 1) if good else Tally(each.id, seen, 1, 0, 0)
        moved = abs(decibels(learn(each, tally, suspicion_settings()).indicator.ratio) - decibels(each.ratio))
        assert moved < 1.0, each.id


def test_a_weaker_prior_is_moved_further_by_one_case_but_by_no_more_than_1_db() -> None:
    mark, tally = indicators()["PK1"], Tally("PK1", 0, 0, 1, 1)
    weak = replace(suspicion_settings(), outcome_strength=20)
    usual, further = (
        decibels(mark.ratio) - decibels(learn(mark, tally, s).indicator.ratio) for s in (suspicion_settings(), weak)
    )
    assert usual < further < 1.0


@pytest.mark.parametrize(
    "arguments",
    [
        ["log", "show", "99"],
        ["log", "items", "--run", "99"],
        ["log", "export", "--run", "99"],
        ["outcome", "99", "--confirmed", "conforming", "--by", "Ann", "--why", "measured"],
        ["audit", "99"],
    ],
)
def test_a_number_of_nothing_is_wrong_usage(record: Path, arguments) -> None:
    with pytest.raises(WrongUsage, match="there is no"):
        told(*arguments, "--record", record)


@pytest.mark.parametrize(
    "arguments", [["log", "runs"], ["reference", "list"], ["reference", "retire", "1", "--by", "A", "--why", "b"]]
)
def test_no_record_is_made_by_asking(tmp_path: Path, arguments) -> None:
    with pytest.raises(InputUnreadable, match="there is no record here"):
        told(*arguments, "--record", tmp_path / "none.sqlite")
    assert not list(tmp_path.iterdir())


def test_an_empty_file_is_no_record(tmp_path: Path) -> None:
    empty = tmp_path / "empty.sqlite"
    empty.touch()
    with pytest.raises(InputUnreadable, match="empty"):
        told("log", "runs", "--record", empty)


def test_a_photo_that_is_not_there_is_told_before_references(record: Path) -> None:
    with pytest.raises(InputUnreadable, match=r"nosuch\.jpg"):
        told("reference", "compare", "nosuch.jpg", "--record", record)


@pytest.mark.parametrize(
    "arguments",
    [
        ["plan", "--lot", "50", "--html"],
        ["suppliers", "--html"],
        ["log", "export", "--out"],
        ["audit", "--nonconformance", "{}/x.html", "--item", "1"],
        ["verify", "--need", "6205-2RS", "--od", "52", "--report"],
    ],
)
def test_a_folder_that_is_not_there_is_not_made(record: Path, tmp_path: Path, arguments) -> None:
    nowhere = tmp_path / "no" / "such"
    filled = [each.format(nowhere) for each in arguments]
    if filled == arguments:
        filled = [*arguments, str(nowhere / "x.html")]
    given = filled if filled[0] == "plan" else [*filled, "--record", str(record)]
    with pytest.raises(ScreenerError, match="no such folder") as caught:
        told(*given)
    assert caught.value.exit_code == 1
    assert not nowhere.parent.exists()
