"""The steps that a mechanic edits: they name what there is, and a name left over stops nothing."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from screener.specs import screening_rules, steps
from screener.specs.location import specs_folder


@pytest.fixture
def own_steps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for file in specs_folder().glob("*.toml"):
        shutil.copy(file, tmp_path)
    monkeypatch.setattr(screening_rules, "specs_folder", lambda: tmp_path)
    steps.steps.cache_clear()
    yield tmp_path / "steps.toml"
    steps.steps.cache_clear()


def test_the_shipped_steps_name_only_what_there_is() -> None:
    assert steps.unknown_names() == ()


def test_a_name_that_is_gone_is_passed_over_and_nothing_else_is_lost(own_steps: Path) -> None:
    before = steps.steps()
    text = own_steps.read_text(encoding="utf-8")
    text = text.replace("explains = { mass_unusual = 0.5 }", "explains = { mass_unusual = 0.5, was_renamed = 0.9 }")
    text = text.replace('looks_for = ["GM3"]', 'looks_for = ["GM3", "ZZ9"]')
    own_steps.write_text(text.replace('confirms = ["face_unsure"]', 'confirms = ["face_unsure", "gone"]'), "utf-8")
    steps.steps.cache_clear()
    assert steps.unknown_names() == (("other_face", "gone"), ("weigh", "was_renamed"), ("weigh", "ZZ9"))
    assert steps.steps() == before
