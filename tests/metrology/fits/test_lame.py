"""Lamé's formulas against a finite-difference solution of the elastic equations, and against published forms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import lil_matrix
from scipy.sparse.linalg import spsolve

from screener.errors import WrongUsage
from screener.metrology.fits.case import SeatGiven
from screener.metrology.fits.joints import joint
from screener.metrology.fits.lame import (
    Joint,
    Stiffness,
    growth_um,
    hoop_stress_mpa,
    pressure_mpa,
    shrinkage_um,
)
from screener.metrology.fits.raceway import raceways
from screener.specs.boundary import boundary
from screener.specs.fit_tables import Seat

STEEL = Stiffness(208, 0.30)
IRON = Stiffness(110, 0.26)
ALLOY = Stiffness(71, 0.33)

JOINTS = [
    Joint(0, 25, 30.4, STEEL, STEEL),  # 6205 on a solid shaft
    Joint(15, 25, 30.4, STEEL, STEEL),  # the same on a hollow shaft
    Joint(0, 40, 48, ALLOY, STEEL),  # light alloy shaft
    Joint(46.6, 52, 70, STEEL, ALLOY),  # 6205 in a thin light alloy housing
    Joint(46.6, 52, 5000, STEEL, IRON),  # in a thick iron housing
    Joint(66, 80, 81.5, STEEL, IRON),  # a shell of a housing
]


def numerical(joint: Joint, interference_um: float, steps: int = 1500) -> tuple[float, float, float, float]:
    """Pressure, growth of the outside, shrinkage of the bore, hoop stress, by finite differences (plane stress).

    Displacement u(r) in each body obeys u'' + u'/r - u/r² = 0 (equilibrium in polar coordinates, any textbook of
    elasticity). At free surfaces the radial stress is zero; at the joint it is the same on both sides and the
    displacements differ by half of the interference. Grids are even in ln r, so u'' + u'/r becomes d²u/d(ln r)² / r².
    """
    a, b, c = joint.bore_mm / 2, joint.joint_mm / 2, joint.outside_mm / 2
    solid = a == 0
    inner_r = np.exp(np.linspace(np.log(b * 1e-3 if solid else a), np.log(b), steps))
    outer_r = np.exp(np.linspace(np.log(b), np.log(c), steps))
    system, right = lil_matrix((2 * steps, 2 * steps)), np.zeros(2 * steps)
    for offset, radii in ((0, inner_r), (steps, outer_r)):
        h = np.log(radii[1] / radii[0])
        for i in range(1, steps - 1):
            k = offset + i
            system[k, k - 1], system[k, k], system[k, k + 1] = 1 / h**2, -2 / h**2 - 1, 1 / h**2

    def radial_stress(radii: np.ndarray, offset: int, at: int, made_of: Stiffness) -> dict[int, float]:
        """Coefficients of sigma_r = E/(1-nu²) (u' + nu u/r), one-sided second order."""
        h, r = np.log(radii[1] / radii[0]), radii[at]
        sign = 1 if at == 0 else -1
        k = offset + at
        scale = made_of.youngs_gpa * 1e3 / (1 - made_of.poisson**2) / r
        return {
            k: scale * (-1.5 * sign / h + made_of.poisson),
            k + sign: scale * 2 * sign / h,
            k + 2 * sign: scale * -0.5 * sign / h,
        }

    if solid:
        # u is proportional to r near the axis.
        system[0, 0], system[0, 1] = 1.0, -inner_r[0] / inner_r[1]
    else:
        for k, value in radial_stress(inner_r, 0, 0, joint.inner).items():
            system[0, k] = value
    for k, value in radial_stress(outer_r, steps, steps - 1, joint.outer).items():
        system[2 * steps - 1, k] = value
    for k, value in radial_stress(inner_r, 0, steps - 1, joint.inner).items():
        system[steps - 1, k] += value
    for k, value in radial_stress(outer_r, steps, 0, joint.outer).items():
        system[steps - 1, k] -= value
    system[steps, steps], system[steps, steps - 1] = 1.0, -1.0
    right[steps] = interference_um / 2000
    u = spsolve(system.tocsr(), right)
    stress = sum(value * u[k] for k, value in radial_stress(outer_r, steps, 0, joint.outer).items())
    hoop = joint.outer.youngs_gpa * 1e3 * u[steps] / b + joint.outer.poisson * stress
    return -stress, 2000 * u[-1], -2000 * u[0] if not solid else 0.0, hoop


@pytest.mark.parametrize("joint", JOINTS)
def test_against_finite_differences(joint: Joint) -> None:
    pressure, growth, shrinkage, hoop = numerical(joint, 20)
    assert pressure_mpa(joint, 20) == pytest.approx(pressure, rel=5e-3)
    assert growth_um(joint, 20) == pytest.approx(growth, rel=5e-3)
    assert shrinkage_um(joint, 20) == pytest.approx(shrinkage, rel=5e-3, abs=1e-6)
    assert hoop_stress_mpa(joint, 20) == pytest.approx(hoop, rel=5e-3)


@pytest.mark.parametrize("designation", ["608", "6205", "6310", "6330", "NU210", "NU2228", "22218", "30210"])
@pytest.mark.parametrize(
    ("seat", "given"),
    [
        ("shaft", SeatGiven()),
        ("shaft", SeatGiven(material="titanium")),
        ("shaft", SeatGiven(wall_mm=-0.9)),  # a share of the bore: a tube
        ("housing", SeatGiven(material="aluminium", wall_mm=-1.08)),  # a share of the outside: a shell
        ("housing", SeatGiven(material="grey cast iron", wall_mm=-2.5)),
    ],
)
def test_joints_as_the_program_makes_them_against_finite_differences(
    designation: str, seat: Seat, given: SeatGiven
) -> None:
    row = boundary(designation)
    assert row is not None
    nominal_mm = row.bore_mm if seat == "shaft" else row.od_mm
    wall_mm = None if given.wall_mm is None else round(-given.wall_mm * nominal_mm, 2)
    made = joint(seat, row, raceways(row), replace(given, wall_mm=wall_mm))
    interference_um = nominal_mm * 0.5  # 0.5 in 1000 of the diameter
    pressure, growth, shrinkage, hoop = numerical(made, interference_um)
    assert pressure_mpa(made, interference_um) == pytest.approx(pressure, rel=5e-3)
    assert growth_um(made, interference_um) == pytest.approx(growth, rel=5e-3)
    assert shrinkage_um(made, interference_um) == pytest.approx(shrinkage, rel=5e-3, abs=1e-6)
    assert hoop_stress_mpa(made, interference_um) == pytest.approx(hoop, rel=5e-3)


def test_published_forms_for_equal_materials() -> None:
    """Formulas of bearing handbooks for steel on steel.

    A supplier's page "Fitting surface pressure" and the technical data pages of a catalogue print, with k = d/Di,
    k0 = d0/d: p = E/2 * delta/d * (1 - k²)(1 - k0²)/(1 - k²k0²); for a housing h = D/DH:
    p = E/2 * delta/D * (1 - h0²)(1 - h²)/(1 - h²h0²), h0 = Do/D; groove growth = delta * k (1 - k0²)/(1 - k²k0²).
    """
    d, groove, hollow, delta_um = 60.0, 72.0, 30.0, 25.0
    k, k0 = d / groove, hollow / d
    joint = Joint(hollow, d, groove, STEEL, STEEL)
    p = 208e3 / 2 * delta_um / 1000 / d * (1 - k**2) * (1 - k0**2) / (1 - k**2 * k0**2)
    assert pressure_mpa(joint, delta_um) == pytest.approx(p, rel=1e-9)
    assert growth_um(joint, delta_um) == pytest.approx(delta_um * k * (1 - k0**2) / (1 - k**2 * k0**2), rel=1e-9)
    # Largest hoop stress at the bore of the inner ring: p (1 + k²)/(1 - k²).
    assert hoop_stress_mpa(joint, delta_um) == pytest.approx(p * (1 + k**2) / (1 - k**2), rel=1e-9)


def test_a_textbook_example_of_a_hub_on_a_solid_shaft() -> None:
    """Press fit as machine-design textbooks pose it (from memory): steel, 207 GPa, solid 50 mm shaft, hub 100 mm.

    For a solid shaft p = E delta / (2 d) * (1 - d²/D²) = 77.6 MPa; hoop stress at the hub's bore
    p (D² + d²)/(D² - d²) = 129.4 MPa.
    """
    steel = Stiffness(207, 0.29)
    joint = Joint(0, 50, 100, steel, steel)
    assert pressure_mpa(joint, 50) == pytest.approx(77.6, rel=1e-3)
    assert hoop_stress_mpa(joint, 50) == pytest.approx(129.4, rel=1e-3)


def test_a_solid_shaft_of_the_same_steel_passes_on_d_over_the_groove() -> None:
    assert growth_um(JOINTS[0], 10) == pytest.approx(10 * 25 / 30.4, rel=1e-12)


interferences = st.floats(0, 200)


@given(st.sampled_from(JOINTS), interferences, interferences)
def test_more_interference_never_means_less_pressure_or_change(joint: Joint, a: float, b: float) -> None:
    less, more = sorted((a, b))
    for law in (pressure_mpa, growth_um, shrinkage_um, hoop_stress_mpa):
        assert law(joint, less) <= law(joint, more)
    assert growth_um(joint, more) <= more  # nothing grows by more than it was forced
    assert shrinkage_um(joint, more) <= more


@given(st.floats(0, 24), st.floats(0, 24))
def test_a_more_hollow_shaft_presses_less(a: float, b: float) -> None:
    less, more = sorted((a, b))
    stiff, soft = (Joint(hollow, 25, 30.4, STEEL, STEEL) for hollow in (less, more))
    assert pressure_mpa(soft, 10) <= pressure_mpa(stiff, 10) + 1e-9


@given(st.floats(53, 500), st.floats(53, 500))
def test_a_thicker_housing_presses_more(a: float, b: float) -> None:
    thin, thick = sorted((a, b))
    soft, stiff = (Joint(46.6, 52, outside, STEEL, IRON) for outside in (thin, thick))
    assert pressure_mpa(soft, 10) <= pressure_mpa(stiff, 10) + 1e-9


def test_a_gap_presses_nothing() -> None:
    assert pressure_mpa(JOINTS[0], -5) == growth_um(JOINTS[0], -5) == hoop_stress_mpa(JOINTS[0], 0) == 0


@pytest.mark.parametrize("diameters", [(25, 25, 30), (30, 25, 30), (0, 30, 25), (-1, 25, 30)])
def test_diameters_that_do_not_lie_inside_each_other(diameters: tuple[float, float, float]) -> None:
    with pytest.raises(WrongUsage, match="inside each other"):
        Joint(*diameters, STEEL, STEEL)
