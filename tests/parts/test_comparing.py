"""Interchange as a careful mechanic judges it.

Sources: printed bearing catalogues on closures (against water a shield and a non-contact seal are "not suitable"); the
rest is `common practice` of repair shops.
"""

from __future__ import annotations

import itertools
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.errors import InputUnreadable
from screener.parts import compare, comparison_as_json, explain
from screener.parts.compare_rules import _rule, compare_rules
from screener.specs.location import specs_folder

_CASES = [
    ("6205-2RS", "6205 LLU", "", "same"),
    ("6205-2RS", "6205DDU", "wet", "same"),
    ("6205-2RS", "6205-2Z", "wet", "wrong"),
    ("6205-2RS", "6205ZZ", "dry", "review"),
    ("6205-2RS", "6205ZZ", "", "review"),
    ("6205-2RS", "6205-2RZ", "wet", "wrong"),
    ("6205-2RS", "6205-2RZ", "dirty", "review"),
    ("6205-2RS", "6205 LLH", "", "review"),
    ("6205ZZ", "6205-2RS", "", "review"),
    ("6205ZZ", "6205 VV", "", "suits"),
    ("6205-2RS", "6205", "", "wrong"),
    ("6205", "6205-2RS", "oil", "wrong"),
    ("6205", "6205-2RS", "", "review"),
    ("6205 Z", "6205 ZZ", "", "review"),
    ("6205", "6205 C3", "", "review"),
    ("6205 C3", "6205", "", "review"),
    ("6205 C3", "6205", "hot", "wrong"),
    ("6205 C3", "6205 C4", "", "review"),
    ("6205", "6205 P6", "", "suits"),
    ("6205 P5", "6205", "spindle", "wrong"),
    ("6205 P5", "6205", "", "review"),
    ("NU205 ECJ", "NU205 ECP", "", "review"),
    ("NU205 ECP", "NU205 ECJ", "", "review"),
    ("22218 M", "22218 TVP", "vibration", "wrong"),
    ("6205 N", "6205", "", "wrong"),
    ("6205 NR", "6205 N", "", "review"),
    ("1206K", "1206", "", "wrong"),
    ("62205-2RS", "6205-2RS", "", "wrong"),
    ("6202-5/8", "6202", "", "wrong"),
    ("S6205", "6205", "wet", "wrong"),
    ("S6205", "6205", "dry", "review"),
    ("6205", "S6205", "", "review"),
    ("NU205E", "NU205", "", "review"),
    ("6205 S1", "6205", "hot", "wrong"),
    ("6205/VL0241", "6205", "inverter", "wrong"),
    ("6205/VL0241", "6205", "", "review"),
    ("61804", "6804", "", "same"),
    ("3206", "5206", "", "same"),
    ("6205-2RS", "6205 DD", "", "unknown"),
    ("6205-2RS", "6205-2RX", "", "unknown"),
    ("6205", "1205", "", "wrong"),
    ("6205", "7205", "", "wrong"),
    ("NU205", "NJ205", "", "review"),
    ("7205 B", "7205 AC", "", "wrong"),
    ("7205 B DB", "7205 B", "", "wrong"),
    ("7205B", "7205 BE", "", "suits"),
    ("6205-2RS", "6206-2RS", "", "wrong"),
    ("TC 35x52x7 NBR", "SC 35x52x7 NBR", "dirty", "wrong"),
    ("SC 35x52x7 NBR", "TC 35x52x7 NBR", "", "suits"),
    ("TC 35x52x7 NBR", "AS 35 52 7 NBR", "", "same"),
    ("16x28x7", "TC 16x28x7 NBR", "", "suits"),
    ("35x52x7 NBR", "35x52x7 FKM", "", "suits"),
    ("35x52x7 FKM", "35x52x7 NBR", "hot", "wrong"),
    ("35x52x7 NBR", "35x52x7 EPDM", "", "wrong"),
    ("35x52x7", "35x50x7", "", "wrong"),
    ("TC 35x52x7 NBR", "TB 35x52x7 NBR", "", "review"),
    ("6205", "35x52x7", "", "wrong"),
    ("blah", "6205", "", "unknown"),
    ("6205-2RS", "6205 ZZ2RS", "", "unknown"),
    ("6205 CM", "6205 CM", "", "same"),
    ("6205", "6205 CM", "", "review"),
    ("6205-2RS", "6205-2RS TN9", "", "suits"),
    ("6205-2RS", "6205-2RS/GJN", "", "review"),
    ("DIN 471 25", "DIN 472 25", "", "wrong"),
    ("20x2 NBR", "20x2 FKM", "", "suits"),
    ("30205", "30205 J", "", "review"),
    ("6205-2RS/C3", "6205LLUC3/5K", "", "suits"),
    ("608ZZ", "608-2Z", "", "same"),
    ("6205 2RS C3", "6205-2RS1/C3", "wet", "same"),
    ("UC205", "UC205-16", "", "wrong"),
    ("LM11749/10", "LM11749/LM11710", "", "same"),
    ("6205-RS", "6205-2RS", "", "review"),
    ("6205-2RS", "6205-RS", "wet", "wrong"),
    ("35x52x7 NBR", "35x52x7", "", "unknown"),
    ("HK1612", "BK1612", "", "wrong"),
    ("BK1612", "HK1612", "", "review"),
    ("NJ205", "NU205", "", "wrong"),
    ("22210 E", "22210 EK", "", "wrong"),
    ("NA4905", "RNA4905", "", "wrong"),
    ("608-2RS", "608-2Z", "wet", "wrong"),
    ("F688ZZ", "688ZZ", "", "wrong"),
    ("30206", "32206", "", "wrong"),
    ("6205-2Z", "6205-2RS", "hot", "review"),
    ("AS568-214", "24.99x3.53", "", "same"),
]


@pytest.mark.parametrize(("need", "offered", "duty", "outcome"), _CASES)
def test_outcome(need: str, offered: str, duty: str, outcome: str) -> None:
    found = compare(need, offered, duty=frozenset(duty.split()))
    assert found.outcome == outcome, [one for one in found.differences if one.outcome != "same"]


@pytest.mark.parametrize(
    ("need", "offered", "says"),
    # More clearance is more play and fewer loaded balls, less may vanish when warm: common practice.
    [("C3", "C4", "More"), ("C3", "C5", "More"), ("C4", "C5", "More"), ("C3", "", "Less"), ("C4", "C3", "Less")],
)
def test_more_and_less_clearance_are_told_apart(need: str, offered: str, says: str) -> None:
    (one,) = (each for each in compare(f"6205-2RS {need}", f"6205-2RS {offered}").differences if each.outcome != "same")
    assert one.attribute == "clearance"
    assert one.because.startswith(f"{says} clearance than needed")


@pytest.mark.parametrize(
    "text", ["6205-2RS C3", "NU205 ECP", "TC 35x52x7 NBR", "DIN 471 25", "20x2", "7205 BECBP", "6205 CM"]
)
def test_a_part_replaces_itself(text: str) -> None:
    assert compare(text, text).outcome == "same"


@pytest.mark.parametrize(("need", "offered", "duty", "_outcome"), _CASES)
def test_duty_never_makes_it_better(need: str, offered: str, duty: str, _outcome: str) -> None:
    order = ["same", "suits", "review", "unknown", "wrong"]
    words = duty.split()
    for count in range(len(words) + 1):
        for fewer in itertools.combinations(words, count):
            with_all, with_fewer = (
                compare(need, offered, duty=frozenset(words)),
                compare(need, offered, duty=frozenset(fewer)),
            )
            assert order.index(with_all.outcome) >= order.index(with_fewer.outcome)


def test_what_is_not_understood_is_never_same() -> None:
    found = compare("6205 QX7", "6205 QX7")
    assert found.outcome == "unknown"


def test_every_difference_names_its_rule() -> None:
    found = compare("6205-2RS", "6206-2Z C3 M", duty=frozenset({"wet"}))
    assert all(one.because and one.rests_on for one in found.differences)


def test_explained_parts_may_be_given() -> None:
    assert compare(explain("6205"), explain("6205")).outcome == "same"


def test_json_follows_the_contract() -> None:
    found = comparison_as_json(compare("6205-2RS", "6205-2Z", duty=frozenset({"wet"})))
    assert (found["schema"], found["outcome"]) == ("screener.compare/1", "wrong")
    assert {"attribute", "need", "offered", "outcome", "because"} <= set(found["differences"][0])


def test_rule_names_are_unique_and_read() -> None:
    rows = tomllib.loads((specs_folder() / "compare_rules.toml").read_text("utf-8"))["rule"]
    names = [row["id"] for row in rows]
    assert len(names) == len(set(names))
    read = {rule.id for rules in compare_rules().values() for rule in rules}
    assert read == set(names)


_TEXTS = st.text(max_size=30) | st.sampled_from([need for need, *_ in _CASES])


@settings(max_examples=200, deadline=None)
@given(_TEXTS, _TEXTS, st.frozensets(st.sampled_from(["wet", "hot", "dry", "nonsense"])))
def test_no_pair_of_texts_raises(need: str, offered: str, duty: frozenset[str]) -> None:
    found = compare(need, offered, duty=duty)
    assert found.outcome in {"same", "suits", "review", "wrong", "unknown"}
    if not (found.need.understood and found.offered.understood):
        assert found.outcome in {"unknown", "wrong"}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"outcome": "fine"}, "fine"),
        ({"because": ""}, "because"),
        ({"duty": ["sunny"]}, "sunny"),
        ({"kind": "nut"}, "nut"),
    ],
)
def test_a_broken_rule_is_named(change: dict[str, object], says: str) -> None:
    row = {
        "id": "r1",
        "attribute": "cage",
        "need": "*",
        "offered": "*",
        "outcome": "wrong",
        "because": "b",
        "source": "s",
    }
    with pytest.raises(InputUnreadable) as caught:
        _rule(1, row | change)
    assert "rule r1" in str(caught.value)
    assert says in str(caught.value)
