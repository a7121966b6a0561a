"""Path-traced bearings with and without a snap-ring groove, as a folder of labelled photos.

    python tests/training/grooves.py --out DIR --seed 910001 --count 150
    python tests/vision/measure_groove.py DIR

Shapes, light and benches are those of traced.py, with benches of other numbers; every other part is polished as there.
Of four bearings one has no groove, one has it beside the face that is seen, one beside the face that lies on the bench,
and one carries its snap ring. A groove is that of a row of reference_specs/snap_ring_grooves.csv of about the same
outside diameter. From memory: grooves are turned before hardening and not ground, so they are often darker than the
ground wall, and their edges are broken. On two cores about six seconds a picture.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

import traced
from drawing.profiles import Piece, Profile
from held_out import OTHER_BENCHES, QUALITY

from screener.specs.snap_ring_grooves import snap_ring_grooves

FRAME = traced.Frame(640, (80, 300))
WHERE = ("none", "near", "far", "ring")
"""No groove; beside the face seen; beside the other face; beside the face seen, with its snap ring in it."""
OUTSIDE_MM = (24.0, 130.0)


@dataclass(frozen=True, slots=True)
class Groove:
    """Where and how large, mm."""

    where: str
    land: float
    """From the side face to the groove."""
    wide: float
    deep: float
    broken: float
    """Bevel of its edges."""
    ring_thick: float
    ring_out: float
    """By how much the snap ring stands out of the wall."""


@dataclass(frozen=True, slots=True)
class GroovedBearing(traced.TracedBearing):
    """A made-up bearing whose outside wall has a groove."""

    groove: Groove | None = None

    def pieces(self) -> list[Piece]:
        """The half section, its wall cut in two by the groove."""
        whole = traced.TracedBearing.pieces(self)
        if self.groove is None:
            return whole
        at = next(i for i, p in enumerate(whole) if p.material == "od_wall")
        return whole[:at] + _wall(self.groove, self.shape.outer, whole[at], self.shape.width_mm) + whole[at + 1 :]


def _wall(g: Groove, outer: float, plain: Piece, width: float) -> list[Piece]:
    """The outside wall from the bottom up."""
    low = g.land if g.where == "far" else width - g.land - g.wide
    high = low + g.wide
    wall = Profile((outer, plain.start[1]), "od_wall")
    wall.to(outer, low - g.broken)
    wall.to(outer - g.broken, low, material="ring_wall")
    wall.to(outer - g.deep, low)
    if g.where == "ring":
        wall.to(outer - g.deep, high - g.ring_thick)
        wall.to(outer + g.ring_out, high - g.ring_thick, material="recess")
        wall.to(outer + g.ring_out, high)
        wall.to(outer - g.broken, high)
    else:
        wall.to(outer - g.deep, high)
        wall.to(outer - g.broken, high)
    wall.to(outer, high + g.broken, material="ring_wall")
    wall.to(*plain.end, material="od_wall")
    return wall.pieces


def made_up_groove(where: str, od_mm: float, rng: np.random.Generator) -> Groove:
    """A groove for an outside diameter, within the tolerances of the table."""
    rows = snap_ring_grooves()
    row = rows[int(np.argmin([abs(r.od_mm - od_mm) + rng.uniform(0, 3) for r in rows]))]
    return Groove(
        where, row.land_max_mm - rng.uniform(0, 0.16), row.width_min_mm + rng.uniform(0, 0.3),
        (row.od_mm - row.groove_diameter_mm) / 2 + rng.uniform(0, 0.12), float(rng.uniform(0.04, 0.2)),
        0.83 * row.width_min_mm, (row.snap_ring_diameter_mm - row.od_mm) / 2,
    )  # fmt: skip


def made_up(rng: np.random.Generator, *, polished: bool = False) -> GroovedBearing:
    """A bearing wide enough for a groove on one side."""
    where = str(rng.choice(WHERE))
    while True:
        part = _plain_bearing(rng, polished=polished)
        groove = made_up_groove(where, part.shape.od_mm, rng)
        edge = max(part.outer.axial, part.outer.radial)
        room = 0.55 * part.shape.width_mm > groove.land + groove.wide and groove.land > edge + groove.broken + 0.1
        if OUTSIDE_MM[0] <= part.shape.od_mm <= OUTSIDE_MM[1] and room and groove.deep < 0.2 * part.shape.section:
            break
    names = traced.TracedBearing.__dataclass_fields__
    return GroovedBearing(*(getattr(part, n) for n in names), groove=None if where == "none" else groove)


_plain_bearing = traced.made_up_bearing


def made_up_scene(rng: np.random.Generator, *, polished: bool, frame: traced.Frame) -> tuple[np.ndarray, dict]:
    """One scene () of `traced.SCENE` and its label."""
    made: list[GroovedBearing] = []

    def keep(rng: np.random.Generator, *, polished: bool = False) -> GroovedBearing:
        made.append(made_up(rng, polished=polished))
        return made[-1]

    with mock.patch.multiple(traced, made_up_bearing=keep, SEAL_SHARE=-1.0):
        scene, circles = traced.made_up_scene(rng, polished=polished, frame=frame)
    unground = scene["material"][traced.MATERIALS.index("ring_wall")]
    unground[:3] *= rng.uniform(0.25, 1.0) if rng.random() < 0.5 else 1.0
    return scene, _label(scene, circles, made[-1])


def _label(scene: np.ndarray, circles: np.ndarray, part: GroovedBearing) -> dict[str, object]:
    keys = ("cx", "cy", "a", "b", "angle_deg")
    g = part.groove
    return {
        "kind": "bearing",
        "closure": part.closure,
        "bore_mm": part.shape.bore_mm,
        "od_mm": part.shape.od_mm,
        "width_mm": part.shape.width_mm,
        "chamfer_mm": part.outer.radial,
        "groove": g.where if g else "none",
        "groove_mm": [g.land, g.wide, g.deep] if g else None,
        "tilt_deg": math.degrees(math.acos(min(1.0, -float(scene["forward"][2])))),
        "focal_px": float(scene["focal_px"]),
        "ellipses_px": {
            name: dict(zip(keys, map(float, circle), strict=True))
            for name, circle in zip(traced.CIRCLES, circles, strict=True)
        },
    }


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, required=True)
    ask.add_argument("--seed", type=int, default=910001)
    ask.add_argument("--count", type=int, default=150)
    ask.add_argument("--samples", type=int, default=24)
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    tracer = traced.Tracer(first_bench=OTHER_BENCHES)
    for number in range(given.count):
        rng = np.random.default_rng([given.seed, number])
        scene, label = made_up_scene(rng, polished=number % 2 == 1, frame=FRAME)
        light = np.zeros((1, FRAME.side_px, FRAME.side_px, 3), np.float32)
        tracer.render(np.array([scene]), light, given.samples, given.seed * 7 + number)
        picture = traced.developed(np.nan_to_num(light[0]), np.random.default_rng([given.seed, number, 1]))
        name = given.out / f"g{number:04d}"
        cv2.imwrite(f"{name}.jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
        name.with_suffix(".json").write_text(json.dumps(label), encoding="utf-8")


if __name__ == "__main__":
    main()
