"""The tables and sentences behind the fits: mistakes are told by place, sources are known, nothing is left dangling."""

from __future__ import annotations

import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from screener.errors import InputUnreadable
from screener.metrology.fits import companions, sequence
from screener.parts import explain
from screener.specs import fit_texts
from screener.specs.boundary import boundary
from screener.specs.fit_tables import fit_rows
from screener.specs.fit_texts import caution_lines, companion_lines, step_lines
from screener.specs.sources import explain_source


def words_of_code() -> set[str]:
    """The words a step may wait for, as the code sets them."""
    folder = Path(sequence.__file__).parent
    text = (folder / "bearing_fit.py").read_text(encoding="utf-8")
    facts = text[text.index("facts = {") : text.index("return frozenset")]
    return set(re.findall(r'^\s+"([a-z ]+)":', facts, re.MULTILINE)) | {"keep in", "keep out"}


def test_every_step_waits_for_words_that_exist() -> None:
    known = words_of_code()
    for line in (*step_lines(), *caution_lines()):
        assert known.issuperset(line.when), line


def test_every_sentence_names_known_sources() -> None:
    for line in (*step_lines(), *caution_lines(), *companion_lines()):
        for word in line.source.split("+"):
            assert explain_source(word) is not None, line


def test_companion_lines_wait_for_words_that_exist() -> None:
    row = boundary("6205")
    assert row is not None
    every = {line.id for line in companion_lines() if line.kind == "bearing"}
    shown = {each.id for each in companions.bearing_companions(explain("6205"), row)}
    assert shown == every  # 6205 is open, has rings in both tables and a chamfer
    said = " ".join(each.says for each in companions.bearing_companions(explain("6205"), row))
    assert "{" not in said


def test_fit_rows_of_a_case_join_without_holes_or_overlap() -> None:
    """Within one list and case, ranges of unconditional rows follow each other: a size has one class, not two."""
    cases: dict[tuple[object, ...], list[tuple[float, float, str]]] = {}
    for row in fit_rows():
        if row.when or row.seat == "housing":
            continue
        for source in row.source.split("+"):
            for load in row.loads:
                key = (row.seat, row.bearing, row.turning, load, source)
                cases.setdefault(key, []).append((row.over_mm, row.up_to_mm, row.zone))
    for key, ranges in cases.items():
        spans = sorted({(low, high) for low, high, _ in ranges})
        for (_, end), (start, _) in pairwise(spans):
            assert end == start, key


@pytest.mark.parametrize(
    "text",
    [
        "[[step]]\nkind = 'bearing'\nsays = 'x'\n",  # no source
        "[[step]]\nkind = 'bearing'\nsays = 'x'\nsource = 'y'\nwhen = 3\n",
        "[[step]]\ncolour = 'red'\n",
        "[[step]",
    ],
)
def test_a_mistake_in_the_sentences_is_told_by_place(
    text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fit_steps.toml").write_text(text, encoding="utf-8")
    monkeypatch.setattr(fit_texts, "specs_folder", lambda: tmp_path)
    with pytest.raises(InputUnreadable, match=r"fit_steps\.toml"):
        step_lines.__wrapped__()


def test_fits_start_without_photo_libraries() -> None:
    code = (
        "import sys; from screener.cli.fit import fit_command; from screener.metrology.fits.bearing_fit import "
        "fit_bearing; print([m for m in ('cv2', 'numpy', 'sqlalchemy', 'rapidocr', 'jinja2') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
