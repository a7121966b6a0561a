"""Reading lattices, against the definition of CTC summed over every path by brute force, and the standard tables."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.vision.marks.designation import average, key_of, votes
from screener.vision.marks.lattice_reading import likely_strings, places_of
from screener.vision.marks.vocabulary import bearing_vocabulary, seal_vocabulary
from screener.vision.text_engine import MARK_ALPHABET, Lattice

ABC = "AB"


def spelled(path: tuple[int, ...]) -> str:
    """Collapse repeats, drop blanks: Graves et al. 2006, the map called B."""
    kept = [k for k, _ in itertools.groupby(path)]
    return "".join(ABC[k - 1] for k in kept if k)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.floats(0.05, 1.0), min_size=3, max_size=3), min_size=1, max_size=5))
def test_string_probabilities_are_sums_over_all_paths(rows: list[list[float]]) -> None:
    p = np.array(rows)
    p /= p.sum(axis=1, keepdims=True)
    sums: dict[str, float] = {}
    for path in itertools.product(range(3), repeat=len(p)):
        text = spelled(path)
        sums[text] = sums.get(text, 0.0) + float(np.prod([p[t, k] for t, k in enumerate(path)]))
    found = likely_strings(Lattice(ABC, np.log(p).astype(np.float32), 1.0), width=200, at_most=200)
    assert {text: pytest.approx(total, rel=1e-3) for text, total in sums.items()} == {
        text: np.exp(log_p) for text, log_p in found if log_p > -100
    }


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.lists(st.floats(0.05, 1.0), min_size=3, max_size=3), min_size=1, max_size=6),
    st.sampled_from(["A", "AA", "AB", "BAB"]),
)
def test_signs_stand_where_the_likeliest_path_has_them(rows: list[list[float]], text: str) -> None:
    """Every path that spells the text, by brute force: Graves et al. 2006."""
    p = np.array(rows)
    lattice = Lattice(ABC, np.log(p / p.sum(axis=1, keepdims=True)).astype(np.float32), 1.0)
    paths = [path for path in itertools.product(range(3), repeat=len(rows)) if spelled(path) == text]
    found = places_of(lattice, text)
    if not paths:
        assert found is None
        return
    likely = {path: float(sum(lattice.log_p[t, k] for t, k in enumerate(path))) for path in paths}
    best = [path for path in paths if likely[path] > max(likely.values()) - 1e-5]
    assert found is not None
    assert any(found == pytest.approx(middles(path)) for path in best)


def middles(path: tuple[int, ...]) -> list[float]:
    """Middle step of each sign of a path."""
    steps = itertools.groupby(range(len(path)), key=lambda t: path[t])
    runs = [(k, list(at)) for k, at in steps]
    return [float(np.mean(at)) for k, at in runs if k]


@pytest.mark.parametrize("mark", ["6008ZZ", "6205-2Z", "62052RS", "6204/C3"])
def test_digits_that_only_lengthen_a_number_are_not_followed(mark: str) -> None:
    """Suffixes of the bearing code begin with a digit only as 2RS, 2Z and the like (common practice)."""
    words = bearing_vocabulary()
    assert all(mark[n] in (words.may_follow(mark[:n]) or "") for n in range(len(mark)))
    assert "7" not in (words.may_follow("6205") or "")
    assert "7" not in (words.may_follow("62052") or "")


def test_a_number_with_a_hole_in_it_is_doubted() -> None:
    """Between 0 and 7 a sign is too faint to be made out, as its room says: 60?7 is no 607 (common practice)."""
    even = lattice_of(*sure("607ZZ"))
    faint = dict.fromkeys("0123456789", 0.02) | {"-": 0.01}
    rows = lattice_of(*sure("60"), faint, *sure("7ZZ")).log_p.copy()
    rows[4, 0] = np.log(0.9)
    holed = Lattice(MARK_ALPHABET, rows, 8.0)
    plain, doubted = (votes(each, bearing_vocabulary())["607ZZ"].weight for each in (even, holed))
    assert doubted < 0.1 * plain
    assert votes(lattice_of(*sure("6204"), *sure(" C3")), bearing_vocabulary())["6204C3"].weight > 0.5 * plain


def lattice_of(*columns: dict[str, float]) -> Lattice:
    """One step for each column of alternatives, a blank step between."""
    rows = []
    for column in columns:
        row = np.full(1 + len(MARK_ALPHABET), 1e-5)
        for character, p in column.items():
            row[1 + MARK_ALPHABET.index(character)] = p
        blank = np.full(1 + len(MARK_ALPHABET), 1e-5)
        blank[0] = 1.0
        rows += [row / row.sum(), blank / blank.sum()]
    return Lattice(MARK_ALPHABET, np.log(np.array(rows)).astype(np.float32), 8.0)


def sure(text: str) -> list[dict[str, float]]:
    return [{c: 1.0} for c in text]


def favourite(lattice: Lattice) -> str:
    return max(votes(lattice, bearing_vocabulary()).items(), key=lambda item: item[1].weight)[0]


def test_table_decides_where_the_reading_hesitates() -> None:
    # 6205 is in the table (ISO 15); 5205 is a double row number, rarer; 6285 is none at all.
    assert favourite(lattice_of({"6": 0.5, "5": 0.5}, {"2": 1.0}, {"0": 0.45, "8": 0.55}, {"5": 1.0})) == "6205"


def test_a_clear_reading_is_taken_as_it_stands() -> None:
    ballot = votes(lattice_of(*sure("608-2RSR C3")), bearing_vocabulary())
    assert ballot["6082RSRC3"].text == "608-2RSR C3"
    assert ballot["6082RSRC3"].weight > 10 * max(v.weight for k, v in ballot.items() if k != "6082RSRC3")


@pytest.mark.parametrize("text", ["TILBRIX", "24K071", "NBR", "C3", "9"])
def test_other_marks_get_no_vote_that_counts(text: str) -> None:
    ballot = votes(lattice_of(*sure(text)), bearing_vocabulary())
    assert max((vote.weight for vote in ballot.values()), default=0.0) < 0.02


def test_letters_in_the_number_are_forgiven() -> None:
    assert favourite(lattice_of(*sure("62OS"))) == "6205"


def test_a_designation_after_a_word_is_found() -> None:
    assert favourite(lattice_of(*sure("TILBRIX 6205-2RS"))) == "62052RS"


def test_seal_sizes_from_the_table() -> None:
    ballot = votes(lattice_of(*sure("35×52×7")), seal_vocabulary())
    assert ballot["35527"].text == "35×52×7"


def test_known_suffixes_cost_less_than_unknown_signs() -> None:
    costs = bearing_vocabulary()
    assert costs.cost("6205-2RS/C3") < costs.cost("6205-2RQ/W3")  # type: ignore[operator]
    assert costs.cost("HAVRIM") is None


def test_two_separators_in_a_row_are_a_letter_not_made_out() -> None:
    """Suffixes are parted by one sign, spaces or none about it (common practice); a stamped VV is seen as "//"."""
    costs = bearing_vocabulary()
    assert costs.cost("6902//C3") > costs.cost("6902/C3") + 1  # type: ignore[operator]
    assert costs.cost("6902-/C3") > costs.cost("6902/C3") + 1  # type: ignore[operator]
    assert costs.cost("6902 / C3") == costs.cost("6902/C3")
    assert costs.cost("6902-2RS/C3") == costs.cost("6902-2RS C3")


def test_a_vote_missing_from_one_reading_halves_the_mean() -> None:
    ballots = [votes(lattice_of(*sure("6205")), bearing_vocabulary()), {}]
    assert average(ballots)["6205"].weight == pytest.approx(ballots[0]["6205"].weight / 2)


@given(st.text(max_size=12))
def test_keys_hold_letters_and_digits_only(text: str) -> None:
    assert all(c.isascii() and (c.isupper() or c.isdigit()) for c in key_of(text))
