"""A maker's word in another case than its logo is a question, by letters whose two forms differ in shape."""

from __future__ import annotations

import pytest
from screening.items import TODAY, item, label, need

from screener.screening.checks import makers as check_of_makers
from screener.screening.model import Observation
from screener.specs.makers import Maker
from screener.specs.screening_rules import finding_kinds, indicators

NEED = need("6205-2RS C3")
KNOWN = (Maker("QUORVEX", printed="QUORVEX"), Maker("ZELTIMAR", printed="Zeltimar"), Maker("ULPENDO"))


@pytest.fixture(autouse=True)
def _invented_file(monkeypatch: pytest.MonkeyPatch) -> None:
    from screener.specs import makers

    monkeypatch.setattr(makers, "_shipped", lambda: KNOWN)


def found(*observations: Observation) -> list[str]:
    checked = check_of_makers.check(item(NEED, *observations), TODAY)
    return [f.says for f in checked.findings if f.code == "maker_word_case"]


# common practice: a logo keeps its case; text in a sentence or an address does not
@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("Quorvex", True),
        ("QUORVEX", False),
        ("ZELTIMAR", True),
        ("Zeltimar", False),
        ("Quorvex rolling bearings, 7 Quay Road", False),
        ("Ulpendo", False),  # the file does not say how it is printed
        ("QUoRvEX", False),  # o and v look the same in both sizes
        ("QUORVeX", False),  # one letter is rather misread
        ("Quarvex", False),  # other letters are a question of spelling
    ],
)
def test_another_case_is_asked_about(line: str, asked: bool) -> None:
    assert bool(found(label("text", line))) is asked


def test_the_word_as_the_maker_prints_it_elsewhere_on_the_box_settles_it() -> None:
    assert not found(label("text", "Quorvex"), label("text", "QUORVEX"))


def test_an_unsure_reading_asks_nothing() -> None:
    assert not found(label("text", "Quorvex", p=0.6))


def test_it_weighs_little_and_names_ordinary_causes() -> None:
    (says,) = found(label("text", "Quorvex"))
    assert "Quorvex" in says
    assert "QUORVEX" in says
    assert finding_kinds()["maker_word_case"].effect == "none"
    sign = indicators()["PK11"]
    assert sign.ratio <= 3
    assert any("redesign" in cause for cause in sign.ordinary_causes)
    assert any("another plant" in cause for cause in sign.ordinary_causes)
