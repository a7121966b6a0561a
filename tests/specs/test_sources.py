from __future__ import annotations

import csv
import re

import pytest

from screener.errors import InputUnreadable
from screener.specs import sources as module
from screener.specs.location import specs_folder
from screener.specs.sources import explain_source, sources

ALL_TABLES = sorted(path.name for path in specs_folder().glob("*.csv") if path.name != "settled.csv")


@pytest.mark.parametrize("name", ALL_TABLES)
def test_every_row_of_every_table_names_an_explained_source(name: str) -> None:
    with (specs_folder() / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    for row in rows:
        for word in row["source"].split("+"):
            assert explain_source(word) is not None, row


def test_every_source_has_all_four_lines() -> None:
    for source in sources().values():
        assert source.key
        assert source.what
        assert source.obtained
        assert source.trust


def test_every_file_stands_in_the_readme() -> None:
    text = (specs_folder() / "README.md").read_text(encoding="utf-8")
    for path in specs_folder().iterdir():
        if path.name == "README.md":
            continue
        family = re.sub(r"^gs1_.*", "gs1_*.csv", path.name)
        assert path.name in text or family in text, path.name


def test_a_broken_list_is_reported(tmp_path: object, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = specs_folder().__class__(str(tmp_path))
    (broken / "sources.toml").write_text("[x]\nkey = 'x'\n", encoding="utf-8")
    monkeypatch.setattr(module, "specs_folder", lambda: broken)
    with pytest.raises(InputUnreadable, match=r"sources\.toml"):
        sources.__wrapped__()


def test_settled_rows_say_why() -> None:
    with (specs_folder() / "settled.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            assert row["item"]
            assert row["values"]
            assert row["taken"]
            assert row["because"], row
