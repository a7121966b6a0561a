"""The rule files a mechanic edits: each is whole, and a slip is told with its file and entry, never as a traceback."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from screener.errors import InputUnreadable
from screener.screening.checks import coverage
from screener.specs import screening_rules
from screener.specs.location import specs_folder

READERS = (
    screening_rules.finding_kinds,
    screening_rules.indicators,
    screening_rules.suspicion_settings,
    screening_rules.disposition_rules,
    screening_rules.required_checks,
    screening_rules.never_seen,
)


@pytest.fixture
def own_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for file in specs_folder().glob("*.toml"):
        shutil.copy(file, tmp_path)
    monkeypatch.setattr(screening_rules, "specs_folder", lambda: tmp_path)
    for reader in READERS:
        reader.cache_clear()
    yield tmp_path
    for reader in READERS:
        reader.cache_clear()


def changed(folder: Path, name: str, old: str, new: str) -> None:
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")


def test_every_check_that_may_be_required_is_made() -> None:
    assert frozenset(coverage._GAPS) == screening_rules.CHECK_NAMES


@pytest.mark.parametrize(
    ("name", "old", "new", "reader"),
    [
        ("findings.toml", 'effect = "reject"', 'effect = "refuse"', screening_rules.finding_kinds),
        ("findings.toml", 'indicator = "PK1"', 'indicator = "PK99"', screening_rules.finding_kinds),
        ("indicators.toml", "ratio = 20", 'ratio = "much"', screening_rules.indicators),
        ("required_checks.toml", '"named"', '"namd"', screening_rules.required_checks),
        ("disposition_rules.toml", "otherwise = true", "otherwise = false", screening_rules.disposition_rules),
        ("never_seen.toml", "says =", "sayz =", screening_rules.never_seen),
    ],
)
def test_a_slip_is_told_with_its_file(own_files: Path, name: str, old: str, new: str, reader) -> None:
    changed(own_files, name, old, new)
    with pytest.raises(InputUnreadable) as caught:
        reader()
    assert name in caught.value.where
    assert caught.value.next_step


def test_the_indicator_of_a_finding_is_the_files(own_files: Path) -> None:
    from screener.screening.checks.outcome import suspicious

    changed(own_files, "findings.toml", 'indicator = "GM3"', 'indicator = "PK2"')
    assert suspicious("mass_unusual", "…", "…").indicator == "PK2"
    assert suspicious("mass_unusual", "…", "…", weight="note").indicator is None
