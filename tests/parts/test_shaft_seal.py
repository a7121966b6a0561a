"""Seal sizes, types and materials.

Types: DIN 3760 / ISO 6194-1 and trade letters (common practice); materials: ISO 1629.
"""

from __future__ import annotations

import itertools

import pytest

from screener.parts import explain
from screener.specs.seals import seal_sizes


@pytest.mark.parametrize(
    "text",
    [
        "16 x 28 x 7",
        "16*28*7",
        "16/28/7",
        "16-28-7",
        "16X28X7",
        "16×28×7",
        "16 28 7",
        "16,28,7",
        "16.0x28.0x7.0",
        "16x28x7mm",
        "16 - 28 - 7",
        "16 mm x 28 mm x 7 mm",
        "oil seal 16x28x7",
        "DIN 3760 16x28x7",
        "16 by 28 by 7",
    ],
)
def test_every_separator(text: str) -> None:
    found = explain(text)
    assert found.understood, found
    assert (found.kind, found.bore_mm, found.od_mm, found.width_mm) == ("shaft_seal", 16, 28, 7)
    assert found.standard_size


@pytest.mark.parametrize(
    ("text", "seal_type", "material"),
    [
        ("TC 16 28 7 NBR", "AS", "NBR"),
        ("35x52x7 AS FKM", "AS", "FKM"),
        ("SC 35x52x7", "A", None),
        ("TB 35-52-7 FPM", "BS", "FKM"),
        ("SB35x52x7", "B", None),
        ("TA 50x72x10 HNBR", "CS", "HNBR"),
        ("SA 50x72x10", "C", None),
        ("DIN 3760-A-16x28x7-NBR 70", "A", "NBR"),
        ("35x52x7 TC 75 FKM", "AS", "FKM"),
        ("35x52x7 vmq", None, "VMQ"),
        ("35x52x7 MVQ", None, "VMQ"),
    ],
)
def test_type_letters_and_materials(text: str, seal_type: str | None, material: str | None) -> None:
    found = explain(text)
    assert (found.understood, found.seal_type, found.material) == (True, seal_type, material)


@pytest.mark.parametrize("numbers", list(itertools.permutations((35, 52, 7)))[1:])
def test_swapped_numbers_are_caught(numbers: tuple[int, int, int]) -> None:
    found = explain("x".join(map(str, numbers)))
    assert not found.understood
    assert found.suggestions == ("35x52x7",)
    assert found.bore_mm is None


def test_single_material_letters_are_not_guessed() -> None:
    found = explain("50x65x8 N")
    assert found.material is None
    assert found.ambiguous


def test_unlisted_size_suggests_the_same_shaft_only() -> None:
    found = explain("35x53x7")
    assert found.standard_size is False
    assert all(text.startswith("35x") for text in found.suggestions)


def test_inches_are_not_taken_for_millimetres() -> None:
    assert not explain("1.375x2x0.375").understood


def test_all_standard_sizes_are_read() -> None:
    for row in seal_sizes():
        found = explain(row.size)
        assert (found.kind, found.bore_mm, found.od_mm, found.width_mm) == (
            "shaft_seal",
            row.shaft_mm,
            row.housing_mm,
            row.width_mm,
        )


def test_a_bearing_size_is_remarked() -> None:
    """25 x 52 x 15 is a 6205 (ISO 15), not a seal size."""
    found = explain("25x52x15")
    assert found.standard_size is False
    assert any("6205" in note for note in found.notes)


@pytest.mark.parametrize("text", ["11/25/26", "13x8x1250", "8x7x40"])
def test_suggested_sizes_exist(text: str) -> None:
    standard = {row.size for row in seal_sizes()}
    assert set(explain(text).suggestions) <= standard
