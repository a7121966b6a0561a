"""Batches made by chance with known answers: how units vary is written here, nothing of the program is used for it.

Spreads are what a shop would meet (judgement): a marking process keeps the width of a stroke to about 7 %, the room for
a letter to 3 %; the light of a photo moves width and contrast together; one value in a hundred is misread.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from screener.audit.batch.unit import Number, Photo, Unit

MARKS = {
    "mark.radius": (0.870, 0.010),
    "mark.height": (0.075, 0.050),
    "mark.pitch": (0.060, 0.030),
    "mark.stroke": (0.011, 0.070),
    "mark.contrast": (0.500, 0.120),
}
"""(value, spread as a share)."""
OTHER_PROCESS = {"mark.stroke": 1.35, "mark.pitch": 1.12, "mark.contrast": 0.70, "mark.height": 1.10}
"""What a second marking process changes."""
MILDER_PROCESS = {"mark.stroke": 1.25, "mark.pitch": 1.09, "mark.contrast": 0.80, "mark.height": 1.08}
"""About seven tenths of that."""
THIRD_PROCESS = {"mark.radius": 0.965, "mark.pitch": 0.91, "mark.stroke": 0.80, "mark.height": 0.90}
"""What a third one changes, in another direction."""
SIZES = {"photo.bore_to_od": (0.4808, 0.002, 0.003), "photo.od_mm": (52.0, 0.12, 0.15), "mass_g": (128.0, 0.6, 0.5)}
"""(value, spread, standard uncertainty of one unit)."""
_MISREAD = 0.01
_IN_THE_LIGHT = ("mark.stroke", "mark.contrast")


def unit(number: int, numbers: Mapping[str, Number] | None = None, **more: object) -> Unit:
    values = {"record": number, "run": 1, "key": str(number), "group": "6205", "need": "6205-2RS", **more}
    return Unit(numbers=dict(numbers or {}), **values)  # type: ignore[arg-type]


def batch(size: int, of_other_process: int, rng: np.random.Generator) -> list[Unit]:
    """The first ``of_other_process`` units are marked by another process and come from batch B."""
    return mixed_batch(size, [(of_other_process, OTHER_PROCESS)], rng)


def mixed_batch(
    size: int, minorities: Sequence[tuple[int, Mapping[str, float]]], rng: np.random.Generator
) -> list[Unit]:
    """The first units are marked by other processes, so many by each; they come from the batches B, C and so on."""
    made: list[tuple[Mapping[str, float], str]] = []
    for (count, factors), letter in zip(minorities, "BCDEFG", strict=False):
        made += [(factors, letter)] * count
    made += [({}, "A")] * (size - len(made))
    return [_marked_unit(number, factors, letter, rng) for number, (factors, letter) in enumerate(made)]


def _marked_unit(number: int, factors: Mapping[str, float], letter: str, rng: np.random.Generator) -> Unit:
    light = rng.standard_normal()
    numbers = {}
    for name, (value, share) in MARKS.items():
        chance = 0.8 * rng.standard_t(6) + 0.5 * light * (name in _IN_THE_LIGHT)
        chance += rng.normal(0, 6) * (rng.random() < _MISREAD)
        numbers[name] = Number(float(value * factors.get(name, 1.0) * np.exp(share * chance)))
    for name, (value, spread, u) in SIZES.items():
        numbers[name] = Number(float(value + spread * rng.standard_t(8)), u)
    photo = Photo(f"{number:064x}", f"{number}/face1.jpg")
    return unit(
        number,
        numbers,
        words={"batch on the box": letter, "closure": "rubber_seal"},
        disposition="accept",
        exit="use",
        photos=(photo,),
    )
