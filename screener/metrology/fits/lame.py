"""Two cylinders pushed into each other (Lamé): pressure between them, growth, shrinkage and stress.

Elastic, long cylinders, plane stress, as handbooks of bearings calculate. Diameters in mm, interference in micrometres
on diameter, moduli in GPa, pressures and stresses in MPa.
"""

from __future__ import annotations

from dataclasses import dataclass

from screener.errors import WrongUsage


@dataclass(frozen=True, slots=True)
class Stiffness:
    """What a cylinder is made of, as far as pressing goes."""

    youngs_gpa: float
    poisson: float


@dataclass(frozen=True, slots=True)
class Joint:
    """An inner body of ``bore_mm`` (0 when solid) to ``joint_mm`` in an outer one of ``joint_mm`` to ``outside_mm``."""

    bore_mm: float
    joint_mm: float
    outside_mm: float
    inner: Stiffness
    outer: Stiffness

    def __post_init__(self) -> None:
        if not 0 <= self.bore_mm < self.joint_mm < self.outside_mm:
            raise WrongUsage(
                f"The diameters {self.bore_mm:g}, {self.joint_mm:g} and {self.outside_mm:g} mm do not lie inside each "
                "other.",
                next_step="Give hollow shaft bore < shaft, housing bore < housing outside diameter.",
                code="diameters",
            )


def pressure_mpa(joint: Joint, interference_um: float) -> float:
    """Return the contact pressure in MPa; zero without interference."""
    if interference_um <= 0:
        return 0.0
    inner_share = (_ratio(joint.bore_mm, joint.joint_mm) - joint.inner.poisson) / joint.inner.youngs_gpa
    outer_share = (_ratio(joint.joint_mm, joint.outside_mm) + joint.outer.poisson) / joint.outer.youngs_gpa
    # µm over mm is 1e-3; GPa is 1e3 MPa: the two cancel.
    return interference_um / (joint.joint_mm * (inner_share + outer_share))


def _ratio(inside_mm: float, outside_mm: float) -> float:
    """(D² + d²) / (D² - d²) of a cylinder."""
    squares = outside_mm**2, inside_mm**2
    return (squares[0] + squares[1]) / (squares[0] - squares[1])


def growth_um(joint: Joint, interference_um: float) -> float:
    """Return by how much the OUTSIDE diameter of the outer body grows, in micrometres."""
    pressure = pressure_mpa(joint, interference_um)
    d, big = joint.joint_mm, joint.outside_mm
    return 2 * pressure * d**2 * big / ((big**2 - d**2) * joint.outer.youngs_gpa)


def shrinkage_um(joint: Joint, interference_um: float) -> float:
    """Return by how much the BORE of the inner body shrinks, in micrometres; zero when it is solid."""
    pressure = pressure_mpa(joint, interference_um)
    d, small = joint.joint_mm, joint.bore_mm
    return 2 * pressure * d**2 * small / ((d**2 - small**2) * joint.inner.youngs_gpa)


def hoop_stress_mpa(joint: Joint, interference_um: float) -> float:
    """Return the largest tensile stress: around the bore of the outer body."""
    return pressure_mpa(joint, interference_um) * _ratio(joint.joint_mm, joint.outside_mm)
