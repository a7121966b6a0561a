from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screener.specs.boundary import BoundaryRow, boundary, boundary_rows
from screener.specs.sources import explain_source

Rows = list[dict[str, str]]

# One well-known member of each family, from the published worked examples and tables named.
KNOWN = [
    ("6205", 25, 52, 15),  # published example 6205-2RS-C3: 25x52x15
    ("6202", 15, 35, 11),  # common practice: a common size
    ("608", 8, 22, 7),  # GOST 3478-79
    ("61804", 20, 32, 7),  # GOST 3478-79
    ("6804", 20, 32, 7),  # the trade's name of 61804
    ("62/22", 22, 50, 14),  # GOST 3478-79
    ("623", 3, 10, 4),  # GOST 3478-79
    ("62205", 25, 52, 18),  # dimension series 22: wide
    ("16003", 17, 35, 8),  # GOST 3478-79
    ("1206", 30, 62, 16),  # published example 1206 K: bore 30
    ("7220", 100, 180, 34),  # published example 7220 A: bore 100
    ("3205", 25, 52, 20.6),  # GOST 3478-79, series 32
    ("QJ208", 40, 80, 18),  # as 208
    ("NU318", 90, 190, 43),  # published example NU318: bore 90
    ("NN3017", 85, 130, 34),  # published example NN3017 K: bore 85
    ("30207", 35, 72, 18.25),  # published example 30207: bore 35
    ("22218", 90, 160, 40),  # GOST 3478-79
    ("51215", 75, 110, 27),  # published example 51215: bore 75
    ("NA4904", 20, 37, 17),  # GOST 3478-79, series 49
    ("HK1612", 16, 22, 12),  # printed list
    ("UC205", 25, 52, 34.1),  # from memory
    ("R8", 12.7, 28.575, 6.35),  # inch series, two printed lists
    ("MR105", 5, 10, 3),  # from memory
    ("618/500", 500, 620, 56),  # from memory
    ("618/8", 8, 16, 4),  # GOST 3478-79
]


@pytest.mark.parametrize(("designation", "bore_mm", "od_mm", "width_mm"), KNOWN)
def test_known_sizes(designation: str, bore_mm: float, od_mm: float, width_mm: float) -> None:
    row = boundary(designation)
    assert row is not None
    assert (row.bore_mm, row.od_mm, row.width_mm) == pytest.approx((bore_mm, od_mm, width_mm), abs=0.001)


def test_printed_lists_agree(reference: Callable[[str], Rows]) -> None:
    """Every designation that three independent printed lists and the plan give alike."""
    wrong = []
    for outside in reference("bearing_dimensions.csv"):
        row = boundary(outside["designation"])
        want = tuple(float(outside[name]) for name in ("bore_mm", "od_mm", "width_mm"))
        if row is None or (row.bore_mm, row.od_mm, row.width_mm) != pytest.approx(want, abs=0.051):
            wrong.append((outside["designation"], want, row))
    assert not wrong


def test_the_table_is_large_and_without_doubles() -> None:
    names = [row.designation for row in boundary_rows()]
    assert len(names) > 1500
    assert [name for name, count in Counter(names).items() if count > 1] == []


def test_every_family_of_the_trade_is_there() -> None:
    families = {row.family for row in boundary_rows()}
    assert families >= {
        "deep groove ball",
        "double row deep groove ball",
        "inch deep groove ball",
        "self-aligning ball",
        "angular contact ball",
        "double row angular contact ball",
        "four-point contact ball",
        "cylindrical roller",
        "spherical roller",
        "tapered roller",
        "inch tapered roller",
        "thrust ball",
        "needle roller",
        "drawn cup needle roller",
        "insert",
    }


def test_designations_are_canonical() -> None:
    for row in boundary_rows():
        assert re.fullmatch(r"[A-Z0-9]+(?:[/.-][A-Z0-9]+)*", row.designation), row.designation


def test_dimensions_are_possible() -> None:
    for row in boundary_rows():
        assert 0 < row.bore_mm < row.od_mm
        if "needle" not in row.family:  # needle bearings may be longer than thick
            assert 0 < row.width_mm < row.od_mm
        if row.r_min_mm is not None:
            assert 2 * row.r_min_mm < row.width_mm
            assert row.r_min_mm < (row.od_mm - row.bore_mm) / 2
        if row.closed_width_mm is not None:
            assert row.width_mm < row.closed_width_mm <= 2.3 * row.width_mm


def test_every_source_is_explained() -> None:
    for row in boundary_rows():
        for word in row.source.split("+"):
            assert explain_source(word) is not None, (row.designation, word)
        assert not set(row.source.split("+")) <= {"collection-a", "collection-b"}, row.designation


def _series() -> dict[str, list[tuple[int, BoundaryRow]]]:
    """Rows whose name ends in a two-digit bore code, by what stands before it."""
    found: dict[str, list[tuple[int, BoundaryRow]]] = {}
    for row in boundary_rows():
        match = re.fullmatch(r"((?:[A-Z]+)?\d{1,3})(\d\d)", row.designation)
        if match and row.family not in {"drawn cup needle roller", "insert", "inch tapered roller"}:
            if re.fullmatch(r"(F|FL|NA)?\d|M[RF]\d|RI?F?\d+|NK.*|RNU.*", match[1]):
                continue  # 608, NA495, MR105, R188: what ends the name is not a two-digit bore code
            found.setdefault(match[1], []).append((int(match[2]), row))
    return found


def test_the_bore_code_gives_the_bore() -> None:
    """ISO 15: 00 = 10, 01 = 12, 02 = 15, 03 = 17, 04 and up times five."""
    special = {0: 10, 1: 12, 2: 15, 3: 17}
    checked = 0
    for series, rows in _series().items():
        if series.startswith(("RNA", "RLS", "RMS")) or series in {"522", "523"}:
            continue  # no inner ring, inch sizes, the centre washer of double thrust bearings
        for code, row in rows:
            assert row.bore_mm == special.get(code, 5 * code), row.designation
            checked += 1
    assert checked > 2000


def test_sizes_rise_within_a_series() -> None:
    """The boundary plans rise steadily: a larger bore never goes with a smaller bearing."""
    for rows in _series().values():
        ordered = [row for _, row in sorted(rows, key=lambda pair: pair[1].bore_mm)]
        for smaller, larger in pairwise(ordered):
            assert smaller.od_mm <= larger.od_mm, (smaller, larger)
            assert smaller.width_mm <= larger.width_mm + 1e-9, (smaller, larger)


def test_the_next_diameter_series_is_larger() -> None:
    """ISO 15: at one bore the outside diameter rises 618, 619, 60, 62, 63, 64."""
    order = ("618", "619", "60", "62", "63", "64")
    for code in range(4, 20):
        rows = [boundary(f"{series}{code:02d}") for series in order]
        diameters = [row.od_mm for row in rows if row is not None]
        assert diameters == sorted(set(diameters))


def test_twin_names_are_the_same_bearing() -> None:
    """Common practice: 68xx and 69xx are the trade's names of 618xx and 619xx."""
    for row in boundary_rows():
        match = re.fullmatch(r"6([89])(\d\d)", row.designation)
        if match:
            twin = boundary(f"61{match[1]}{match[2]}")
            assert twin is not None
            assert (twin.bore_mm, twin.od_mm, twin.width_mm) == (row.bore_mm, row.od_mm, row.width_mm)


def test_a_closed_miniature_is_wider() -> None:
    """GOST 3478-79 618/8: 4 mm open; printed lists: 5 mm shielded."""
    row = boundary("688")
    assert row is not None
    assert row.width_for(closed=False) == 4
    assert row.width_for(closed=True) == 5
    plain = boundary("6205")
    assert plain is not None
    assert plain.width_for(closed=True) == 15


@given(st.text(max_size=12))
def test_unknown_names_give_none(name: str) -> None:
    row = boundary(name)
    assert row is None or row.designation == name
