from __future__ import annotations

import json
import math

import pytest

from screener.errors import WrongUsage
from screener.metrology.fits.as_json import fit_as_json
from screener.metrology.fits.case import SealCaseGiven, SeatGiven
from screener.metrology.fits.seal_fit import SealFit, fit_seal
from screener.metrology.reading import Reading


def fit(designation: str = "35x52x7 NBR", **more: object) -> SealFit:
    told: dict[str, object] = {
        "shaft": SeatGiven(((Reading(34.95, "micrometer"),),)),
        "housing": SeatGiven(((Reading(52.02, "bore gauge"),),)),
        "rpm": 1450.0,
        "keep": "in",
        "hardness_hrc": 58.0,
        "roughness_ra_um": 0.4,
        **more,
    }
    return fit_seal(SealCaseGiven(designation, **told))  # type: ignore[arg-type]


def test_seats_within_h11_and_h8() -> None:
    """h11 at 35 mm: 34.840 to 35.000; H8 at 52 mm: 52.000 to 52.046 (ISO 286; both asked for by ISO 6194-1)."""
    found = fit()
    assert found.outcome == "fits"
    h11, h8 = found.shaft.decisions[0], found.housing.decisions[0]
    assert (h11.zone, h8.zone) == ("h11", "H8")
    assert (h11.limits.lower_mm, h11.limits.upper_mm) == pytest.approx((34.84, 35.0))
    assert (h8.limits.lower_mm, h8.limits.upper_mm) == pytest.approx((52.0, 52.046))
    assert "h11" in found.shaft.says
    assert "H11" not in found.shaft.says


def test_a_worn_track_is_outside() -> None:
    found = fit(shaft=SeatGiven(((Reading(34.70, "micrometer"),),)))
    assert found.outcome == "do_not"
    assert "outside" in found.shaft.says


def test_surface_speed() -> None:
    """v = pi d n: 35 mm at 1450 rpm is 2.657 m/s (computed)."""
    speed = fit(shaft=SeatGiven()).speed_m_per_s
    assert speed is not None
    assert speed.low == pytest.approx(math.pi * 0.035 * 1450 / 60)
    assert speed.low == pytest.approx(2.657, abs=1e-3)


@pytest.mark.parametrize(
    ("rpm", "material", "outcome"),
    [
        (3000, "NBR", "fits"),
        (6500, "NBR", "review"),
        (9000, "NBR", "do_not"),
        (9000, "FKM", "fits"),
        (10, "XX", "review"),
    ],
)
def test_speed_by_material(rpm: float, material: str, outcome: str) -> None:
    """NBR 10 to 14, FKM 30 to 38 m/s (lists differ; from memory): 5.5, 11.9 and 16.5 m/s at these speeds."""
    advice = next(each for each in fit(rpm=rpm, material=material).advice if each.about == "speed")
    assert advice.outcome == outcome


def test_hardness_and_surface() -> None:
    """45 HRC, 55 from about 4 m/s; Ra 0.2 to 0.8 µm (pages of seal makers that agree)."""
    by_name = {each.about: each for each in fit(rpm=3000, hardness_hrc=50, roughness_ra_um=0.1).advice}
    assert by_name["hardness"].outcome == "review"
    assert "55 HRC" in by_name["hardness"].says
    assert by_name["surface"].outcome == "review"
    assert {e.about: e for e in fit(rpm=500, hardness_hrc=50).advice}["hardness"].outcome == "fits"


def test_the_lip_asks_what_it_is_for() -> None:
    asked = next(each for each in fit(keep=None).advice if each.about == "lip")
    assert asked.outcome == "review"
    assert "keep the medium in, or dirt out" in asked.says
    kept_in = " ".join(line.says for line in fit(keep="in").steps)
    kept_out = " ".join(line.says for line in fit(keep="out").steps)
    assert "toward the medium" in kept_in
    assert "away from the grease" not in kept_in
    assert "away from the grease" in kept_out


@pytest.mark.parametrize("designation", ["6205", "AS568-214", "", "52x35x7x9x1"])
def test_what_is_no_seal_is_refused(designation: str) -> None:
    with pytest.raises(WrongUsage):
        fit(designation)


@pytest.mark.parametrize("rpm", [-1.0, float("nan")])
def test_a_speed_that_cannot_be(rpm: float) -> None:
    with pytest.raises(WrongUsage, match="speed"):
        fit(rpm=rpm)


def test_json_is_whole() -> None:
    document = json.loads(json.dumps(fit_as_json(fit()), allow_nan=False))
    assert document["schema"] == "screener.fit/1"
    assert document["kind"] == "shaft_seal"
    assert {each["about"] for each in document["advice"]} == {"surface", "hardness", "speed", "lip"}
    assert document["companions"]


@pytest.mark.parametrize(
    "more",
    [
        {"hardness_hrc": -4.0},
        {"hardness_hrc": 580.0},  # Vickers told for Rockwell
        {"roughness_ra_um": -1.0},
        {"roughness_ra_um": float("nan")},
        {"rpm": 1e9},
        {"shaft": SeatGiven(zone="H8")},
        {"housing": SeatGiven(zone="h11")},
    ],
)
def test_slips_are_told_in_words(more: dict[str, object]) -> None:
    with pytest.raises(WrongUsage) as caught:
        fit(**more)
    assert caught.value.next_step


def test_what_speaks_against_is_said_in_a_few_words() -> None:
    assert fit().against == ()
    assert fit().brief[0].endswith("within h11 and h10.")
    worn = fit(shaft=SeatGiven(((Reading(34.70, "micrometer"),),)))
    assert worn.against == ("shaft outside h11 and h10",)
    assert "which way the lip faces was not told" in fit(keep=None).against


def test_a_lip_not_told_says_where_to_tell_it_and_that_nothing_else_is_open() -> None:
    """Flag, card field and page label are those of this product; the seats lie within h11 and H8 (ISO 286-2)."""
    asked = fit(keep=None)
    assert any("only open point" in each and "within limits" in each for each in asked.against)
    assert all(word in asked.says for word in ("--keep", "keep =", "“It keeps”"))
    worn = fit(keep=None, shaft=SeatGiven(((Reading(34.70, "micrometer"),),)))
    assert not any("only open point" in each for each in worn.against)
