"""A batch as the record holds it: units from results, what stands apart, what is twice, tolerances."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from audit.batch.making import batch, unit

from screener.audit.batch.capability import tolerance_limits
from screener.audit.batch.columns import columns_of
from screener.audit.batch.compare import compare_batch
from screener.audit.batch.duplicates import repeated_photos, repeated_serials, serial_runs
from screener.audit.batch.features import unit_of
from screener.audit.batch.joining import joined
from screener.audit.batch.mark_shape import mark_numbers
from screener.audit.batch.outliers import find_outliers
from screener.audit.batch.unit import Number, Photo, Unit


def observed(attribute: str, value: object, channel: str, **more: object) -> dict[str, Any]:
    return {"attribute": attribute, "value": value, "source": {"channel": channel}, **more}


def stored(*observations: dict[str, Any]) -> dict[str, Any]:
    return {"record": 7, "run": 2, "item": "3", "requirement": "6205-2RS", "result": {"observations": observations}}


def test_a_unit_holds_what_is_there_and_nothing_else() -> None:
    empty = unit_of(stored())
    assert (empty.record, empty.run, empty.key, empty.group) == (7, 2, "3", "6205, contact seal")
    assert (empty.numbers, empty.words, empty.serials) == ({}, {}, ())


def test_readings_of_one_dimension_are_joined_and_photos_kept_apart() -> None:
    found = unit_of(
        stored(
            observed("od_mm", 51.99, "instrument", u=0.02),
            observed("od_mm", 51.97, "instrument", u=0.02),
            observed("od_mm", 52.3, "geometry", u=0.2),
            observed("serial", "7F1", "barcode"),
            observed("gtin", "09520041001053", "barcode"),
            observed("batch", "L1", "label", p=0.5),
            observed("closure", "rubber_seal", "face", p=0.97),
        )
    )
    assert found.numbers == {"od_mm": Number(pytest.approx(51.98), 0.02), "photo.od_mm": Number(52.3, 0.2)}
    assert found.serials == (("7F1", "09520041001053"),)
    assert set(found.words) == {"closure", "article number (GTIN)"}, "a batch read with half a chance is no word"


def test_a_warm_reading_is_brought_to_20_degrees() -> None:
    # 12e-6 per kelvin (common practice for bearing steel): 52 mm at 40 °C is 12.5 µm too long.
    warm = unit_of(stored(observed("od_mm", 52.0125, "instrument", u=0.001, temperature_c=40.0)))
    assert warm.numbers["od_mm"].value == pytest.approx(52.0, abs=1e-4)


def test_joined_numbers_weigh_by_uncertainty_and_never_pretend() -> None:
    # Hand: weights 1/0.01 and 1/0.04 -> (10 * 100 + 11 * 25) / 125 = 10.2.
    assert joined([Number(10, 0.1), Number(11, 0.2)]) == Number(pytest.approx(10.2), 0.1)
    assert joined([Number(1.0), Number(3.0)]) == Number(2.0, None)


def test_marks_are_measured_on_the_part_not_in_the_photo() -> None:
    """The same ring of text, seen straight and under 30 degrees (an ellipse), gives the same numbers."""
    angles = np.linspace(0.2, 0.8, 8)

    def look(squash: float) -> dict[str, Any]:
        places = [*((0.9, a) for a in angles), *((0.8, a) for a in angles[::-1])]
        outline = [(100 * r * np.cos(a) + 300, 100 * r * np.sin(a) * squash + 200) for r, a in places]
        ellipse = {"cx": 300, "cy": 200, "a": 100, "b": 100 * squash, "angle_deg": 0}
        quality = {"stroke": 0.01, "depth": {"value": 2.0, "u": 0.1}, "word": "even", "flag": True}
        mark = {"text": "6205", "place": "ring", "region_px": outline, "quality": quality}
        return {"parts": [{"outer_ellipse_px": ellipse, "marks": [mark]}]}

    straight, tilted = mark_numbers([look(1.0)]), mark_numbers([look(0.87)])
    assert straight == {name: Number(pytest.approx(each.value)) for name, each in tilted.items()}
    assert straight["mark.height"].value == pytest.approx(0.1)
    assert straight["mark.pitch"].value == pytest.approx(0.6 * 0.85 / 4)
    assert (straight["mark.stroke"].value, straight["mark.depth"].value) == (0.01, 2.0)
    assert set(straight) == {"mark.radius", "mark.height", "mark.pitch", "mark.stroke", "mark.depth"}


def test_one_light_unit_stands_apart_and_its_uncertainty_counts() -> None:
    rng = np.random.default_rng(1)

    def weighed(u: float) -> list[Unit]:
        masses = [*rng.normal(128, 0.5, 29), 121.0]
        return [unit(n, {"mass_g": Number(float(m), u if n == 29 else 0.2)}) for n, m in enumerate(masses)]

    apart, tests = find_outliers(columns_of(weighed(0.2), 3))
    assert tests == 30
    assert apart[0].unit == 29
    assert apart[0].middle == pytest.approx(128, abs=0.5)
    unsure = find_outliers(columns_of(weighed(4.0), 3))[0]
    assert 29 not in {each.unit for each in unsure}, "what is hardly known does not stand apart"


def test_clean_batches_rarely_alarm() -> None:
    """Benjamini-Hochberg at 5 %: of batches without an odd unit at most one in twenty alarms (normal spreads)."""
    rng = np.random.default_rng(3)

    def alarms() -> bool:
        units = [unit(n, {f"x{k}": Number(float(rng.normal())) for k in range(5)}) for n in range(40)]
        return bool(find_outliers(columns_of(units, 3))[0])

    assert sum(alarms() for _ in range(200)) <= 16


def test_serials_and_photos_that_occur_twice() -> None:
    photo = Photo("a" * 64, "face.jpg")
    units = [
        unit(1, serials=(("S1", "G1"),), photos=(photo,)),
        unit(2, serials=(("S1", "G2"),), photos=(Photo("b" * 64, "face.jpg"),)),
        unit(3, serials=(("S1", ""),), photos=(photo,)),
        unit(4, serials=(("S9", "G1"),)),
    ]
    assert [each.records for each in repeated_serials(units)] == [(1, 3), (2, 3)], "a serial counts within one product"
    assert [(each.value, each.records) for each in repeated_photos(units)] == [("face.jpg", (1, 3))]
    assert repeated_serials(units[:2]) == []


def test_a_run_of_serials_is_estimated_as_in_the_textbook() -> None:
    # Largest minus lowest stretched by its mean gap (Goodman, "Serial number analysis", J. Amer. Statist. Assoc. 47,
    # 1952, unknown start): (k + 1) / (k - 1) * range - 1 for the number made; here range 19, k 5 gives 27.5.
    units = [unit(n, serials=((f"A{number:04d}", "G"),)) for n, number in enumerate((101, 104, 110, 111, 120))]
    (run,) = serial_runs(units)
    assert (run.lowest, run.highest, run.missing, run.longest_gap) == (101, 120, 15, 8)
    assert run.made == pytest.approx(27.5)


def test_limits_are_those_of_the_standard() -> None:
    # ISO 492 Normal for 6205: bore 25 mm 0/-10 µm, outside diameter 52 mm 0/-13 µm, width 15 mm 0/-120 µm.
    limits = tolerance_limits("6205-2RS C3")
    assert {name: (round(each.lower_mm, 3), round(each.upper_mm, 3)) for name, each in limits.items()} == {
        "bore_mm": (24.99, 25.0),
        "od_mm": (51.987, 52.0),
        "width_mm": (14.88, 15.0),
    }
    assert tolerance_limits("nothing known") == {}


def test_capability_only_where_numbers_and_instrument_allow() -> None:
    rng = np.random.default_rng(4)

    def widths(count: int, u: float) -> Any:
        units = [unit(n, {"width_mm": Number(float(rng.normal(14.94, 0.01)), u)}) for n in range(count)]
        (judged,) = compare_batch(units).groups[0].tolerances
        return judged

    assert widths(40, 0.002).capability is not None
    assert "needs 25" in widths(20, 0.002).why_none
    assert "too coarse" in widths(40, 0.02).why_none
    assert len(widths(40, 0.002).conforms) == 40
    assert len(widths(40, 0.05).open) == 40, "a coarse instrument decides nothing"


def test_words_that_differ_are_questions_or_usual() -> None:
    closures = ["rubber_seal"] * 9 + ["shield"]
    units = [unit(n, words={"closure": each, "batch on the box": f"L{n % 2}"}) for n, each in enumerate(closures)]
    first, second = compare_batch(units).groups[0].mixed
    assert (first.name, first.kind, first.values[-1].units) == ("closure", "question", (9,))
    assert (second.name, second.kind) == ("batch on the box", "usual")


def test_a_batch_that_is_off_as_a_whole_is_seen_though_its_units_agree() -> None:
    # ISO 15: 6205 is 25 x 52 x 15 mm, so bore to outside diameter is 0.4808.
    rng = np.random.default_rng(6)

    def summary(ratio: float) -> Any:
        units = [unit(n, {"photo.bore_to_od": Number(float(rng.normal(ratio, 0.001)), 0.003)}) for n in range(10)]
        return compare_batch(units).groups[0].numbers[0]

    assert summary(0.4808).ordered == pytest.approx(25 / 52)
    assert not summary(0.4808).differs
    assert summary(0.50).differs


def test_unlike_units_are_not_compared_with_each_other() -> None:
    units = [*batch(12, 0, np.random.default_rng(1)), unit(99, {"mass_g": Number(500.0)}, group="6308", need="6308")]
    compared = compare_batch(units)
    assert [group.name for group in compared.groups] == ["6205", "6308"]
    assert any("1 of a kind" in says for says in compared.groups[1].not_compared)
