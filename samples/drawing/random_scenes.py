"""Draw random labelled scenes: ``python samples/drawing/random_scenes.py --n 60 --seed 7 --out DIR``.

Writes NAME.jpg with NAME.json beside it, in the format of the labelled-photos folder, as a test set that no reader was
tuned on. Scene number i of a seed is the same whatever ``--n`` is.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import numpy as np
from PIL import Image

if __package__ in {None, ""}:
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from drawing.lettering import FACES
from drawing.marking import Marking
from drawing.scene import draw_scene
from drawing.scene_spec import BearingPart, CameraSpec, FinishSpec, SceneSpec, SealPart
from drawing.sizes import BEARINGS, SEALS

MAKERS = ("BRENVOK", "TALQUIST", "ORSAMIL", "KEDRUNA", "VELMORT")
RUBBERS = (
    (0.012, 0.012, 0.013),
    (0.012, 0.012, 0.013),
    (0.02, 0.02, 0.022),
    (0.28, 0.05, 0.03),
    (0.09, 0.035, 0.015),
    (0.02, 0.06, 0.2),
    (0.03, 0.16, 0.08),
)
SUFFIXES = {
    "open": ("",),
    "shield": ("-2Z", "ZZ", "-ZZ", "-Z"),
    "rubber_seal": ("-2RS", "2RS", "-2RSR", "-2RS1", "-RS", "DDU"),
}
CLEARANCES = ("", "", "", "/C3", " C3", "C3", "/C4")


def random_spec(rng: np.random.Generator) -> SceneSpec:
    """Make up one scene."""
    part = _seal(rng) if rng.random() < 0.25 else _bearing(rng)
    outer = part.size[1] if isinstance(part, SealPart) else BEARINGS[part.base][1]
    card, clutter = _card_place(rng, outer), _clutter(rng, outer)
    lights = tuple(str(v) for v in rng.choice(["window", "tube", "lamp", "flash"], size=rng.integers(1, 4)))
    return SceneSpec(
        part,
        _camera(rng, outer, card),
        _finish(rng),
        str(rng.choice(["wood", "grey", "cardboard", "steel"])),
        lights,
        card,
        clutter,
        *((1280, 960) if rng.random() < 0.5 else (1440, 1080)),
    )


def _bearing(rng: np.random.Generator) -> BearingPart:
    base = str(rng.choice(sorted(BEARINGS)))
    closure = str(rng.choice(["open", "shield", "rubber_seal"]))
    true = base + str(rng.choice(SUFFIXES[closure])) + str(rng.choice(CLEARANCES))
    maker, claim, marked, defect = str(rng.choice(MAKERS)), "true", true, None
    if rng.random() < 0.1:
        claim, marked = _false_claim(rng, base, closure)
    if rng.random() < 0.15:
        defect = str(rng.choice(["uneven", "smeared", "misspelt"]))
    lot = "" if rng.random() < 0.6 else f"{rng.integers(10, 36)}{rng.choice(list('ABCDEFGH'))}{rng.integers(100, 999)}"
    marked_maker = _misspelt(maker, rng) if defect == "misspelt" else maker
    marking = (
        None
        if rng.random() < 0.12
        else Marking(
            tuple(word for word in (marked_maker, marked, lot) if word),
            place="closure" if closure != "open" and rng.random() < 0.25 else "ring",
            style="dark" if rng.random() < 0.7 else "light",
            strength=float(rng.uniform(0.35, 1.0)),
            inward=bool(rng.random() < 0.3),
            face=str(rng.choice(FACES)),
            defect=defect if defect in {"uneven", "smeared"} else None,
            start_rad=float(rng.uniform(0, 6.28)),
        )
    )
    return BearingPart(
        base,
        closure,
        true,
        marking,
        RUBBERS[rng.integers(len(RUBBERS))],
        str(rng.choice(["steel", "steel", "brass", "polyamide", "black"])),
        float(rng.uniform(0, 1)),
        claim,
        marked_maker,
        marked if marking else "",
        lot,
        defect if marking else None,
    )


def _false_claim(rng: np.random.Generator, base: str, closure: str) -> tuple[str, str]:
    if rng.random() < 0.5:
        return "closure_mismatch", base + ("-2RS" if closure != "rubber_seal" else "-2Z")
    other = str(rng.choice([name for name in sorted(BEARINGS) if name != base]))
    return "size_mismatch", other + SUFFIXES[closure][0]


def _misspelt(word: str, rng: np.random.Generator) -> str:
    at = int(rng.integers(1, len(word) - 1))
    return (
        word[:at] + word[at + 1] + word[at] + word[at + 2 :] if word[at] != word[at + 1] else word[:at] + word[at + 1 :]
    )


def _seal(rng: np.random.Generator) -> SealPart:
    size = SEALS[rng.integers(len(SEALS))]
    face, maker, material = (
        str(rng.choice(["spring_side", "back"])),
        str(rng.choice(MAKERS)),
        str(rng.choice(["NBR", "FKM"])),
    )
    words = (maker, f"{size[0]:g}x{size[1]:g}x{size[2]:g}", material)
    moulded = Marking(
        words,
        "body",
        str(rng.choice(["relief", "relief", "light"])),
        float(rng.uniform(0.4, 1.0)),
        bool(rng.random() < 0.3),
        str(rng.choice(FACES[:4])),
        None,
        float(rng.uniform(0, 6.28)),
    )
    return SealPart(
        size,
        face,
        moulded if face == "back" and rng.random() < 0.85 else None,
        RUBBERS[rng.integers(len(RUBBERS))],
        maker,
        material,
    )


def _card_place(rng: np.random.Generator, outer: float) -> tuple[float, float, float] | None:
    if rng.random() < 0.45:
        return None
    turn, way = rng.uniform(0, 2 * np.pi, 2)
    far = outer / 2 + 44 + rng.uniform(0, 12)
    return float(far * np.cos(way)), float(far * np.sin(way)), float(turn)


def _clutter(rng: np.random.Generator, outer: float) -> tuple[tuple[str, float, float], ...]:
    things = []
    for _ in range(int(rng.choice([0, 0, 1, 2, 3]))):
        kind, way = str(rng.choice(["washer", "nut", "pen", "disc"])), rng.uniform(0, 2 * np.pi)
        far = outer / 2 + (80 if kind == "pen" else rng.uniform(12, 60))
        things.append((kind, float(far * np.cos(way)), float(far * np.sin(way))))
    return tuple(things)


def _camera(rng: np.random.Generator, outer: float, card: tuple[float, float, float] | None) -> CameraSpec:
    focal = float(rng.uniform(28, 58))
    tilt = float(rng.uniform(0, 14) if rng.random() < 0.6 else rng.uniform(10, 40))
    if card:
        aim = np.array(card[:2]) * rng.uniform(0.25, 0.5)
        span = (np.hypot(card[0], card[1]) + outer / 2 + 46) * rng.uniform(0.85, 1.25)
    else:
        aim, span = rng.normal(0, outer * 0.06, 2), outer * rng.uniform(1.1, 2.0)
    distance = float(max(60.0, span * focal / 36 / 0.75))
    side = float(rng.choice([0, 0, 90, 180, 180, 270])) + float(rng.normal(0, 14))
    roll = np.degrees(np.arctan2(card[1], card[0])) + side if card else float(rng.uniform(0, 360))
    return CameraSpec(
        distance,
        tilt,
        float(rng.uniform(0, 360)),
        float(roll),
        focal,
        float(rng.uniform(-0.06, 0.06)) if rng.random() < 0.4 else 0.0,
        (float(aim[0]), float(aim[1])),
    )


def _finish(rng: np.random.Generator) -> FinishSpec:
    return FinishSpec(
        exposure=float(rng.uniform(0.75, 1.3)),
        blur_px=float(rng.uniform(0.6, 1.8)) if rng.random() < 0.25 else 0.0,
        motion_px=float(rng.uniform(2, 6)) if rng.random() < 0.06 else 0.0,
        motion_deg=float(rng.uniform(0, 180)),
        noise=float(rng.uniform(0.002, 0.018)),
        vignette=float(rng.uniform(0, 0.35)),
        jpeg_quality=int(rng.integers(62, 95)),
    )


def write_scene(folder: Path, name: str, spec: SceneSpec, rng: np.random.Generator) -> None:
    """Draw a scene into ``folder``."""
    picture, label = draw_scene(spec, rng)
    Image.fromarray(picture[..., ::-1]).save(folder / f"{name}.jpg", quality=spec.finish.jpeg_quality)
    (folder / f"{name}.json").write_text(
        json.dumps({"id": name, "split": "drawn", **label}, indent=1), encoding="utf-8"
    )


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--n", type=int, default=60)
    ask.add_argument("--seed", type=int, default=7)
    ask.add_argument("--out", type=Path, required=True)
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    for number in range(given.n):
        rng = np.random.default_rng([given.seed, number])
        write_scene(given.out, f"drawn_{given.seed:03d}_{number:03d}", random_spec(rng), rng)
        print(f"{number + 1} of {given.n}", end="\r", flush=True)
    print()


if __name__ == "__main__":
    main()
