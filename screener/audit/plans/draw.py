"""Which units to look at: drawn by chance, spread over the boxes in proportion, the same again from the same seed.

Whoever picks by hand picks what lies on top, and whoever lets the seller pick sees what the seller wants seen
(ISO 2859-1, clause 8: at random, and in proportion where the lot has parts).
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from screener.errors import WrongUsage


@dataclass(frozen=True, slots=True)
class DrawnBox:
    """The units to take from one box, counted from its top, first layer from left to right."""

    box: int
    units_in_box: int
    units: tuple[int, ...]

    @property
    def says(self) -> str:
        """``box 3: units 17, 44``."""
        return f"box {self.box}: {self.units_say}"

    @property
    def units_say(self) -> str:
        """``units 17, 44``."""
        if len(self.units) == self.units_in_box and self.units_in_box > 1:
            return f"all {self.units_in_box} units"
        word = "unit" if len(self.units) == 1 else "units"
        return f"{word} {', '.join(map(str, self.units))}"


@dataclass(frozen=True, slots=True)
class Draw:
    """Everything drawn, by box; boxes of which nothing is drawn are left out."""

    seed: int
    box_count: int
    """Boxes in the lot; 1: the lot is one pile."""
    boxes: tuple[DrawnBox, ...]

    @property
    def unit_count(self) -> int:
        """Number of units drawn."""
        return sum(len(each.units) for each in self.boxes)

    @property
    def says(self) -> tuple[str, ...]:
        """One line a box, or the one line of a pile."""
        return tuple(each.says if self.box_count > 1 else each.units_say for each in self.boxes)


def box_sizes(lot_units: int, boxes: int | None, per_box: int | None) -> tuple[int, ...]:
    """Return how many units each box holds; the last one may hold fewer. No boxes: the lot is one pile.

    Raises
    ------
    WrongUsage
        The boxes do not hold the lot, or some would be empty.
    """
    if boxes is None and per_box is None:
        return (lot_units,)
    count = boxes if boxes is not None else -(-lot_units // max(1, per_box or 1))
    size = per_box if per_box is not None else -(-lot_units // max(1, count))
    if count < 1 or size < 1 or count * size < lot_units:
        raise WrongUsage(
            f"{count} boxes of {size} do not hold {lot_units}.",
            where="--boxes",
            next_step="Count boxes and units again.",
        )
    if boxes is not None and per_box is None:
        return _even(lot_units, count)
    if (count - 1) * size >= lot_units:
        raise WrongUsage(
            f"{lot_units} units fill fewer than {count} boxes of {size}.",
            where="--boxes",
            next_step="Count boxes and units again; an empty box is a question in itself.",
        )
    return (*([size] * (count - 1)), lot_units - size * (count - 1))


def draw_units(sizes: Sequence[int], sample_units: int, seed: int) -> Draw:
    """Return which units to look at. Every unit of the lot has the same chance to be drawn.

    Parameters
    ----------
    sizes
        Units in each box, box 1 first.
    sample_units
        How many to draw in all; at most the whole lot.
    seed
        The same seed gives the same units, on any machine.

    Notes
    -----
    A box gives its share of the sample rounded up or down; which of the two is drawn systematically over boxes in
    random order, so that on average each box gives exactly its share.
    """
    chance = random.Random(seed)  # noqa: S311 - has to be repeatable, not secret
    wanted = min(sample_units, sum(sizes))
    counts = _counts(sizes, wanted, chance)
    drawn = (
        DrawnBox(number, size, tuple(sorted(_choose(size, count, chance))))
        for number, (size, count) in enumerate(zip(sizes, counts, strict=True), 1)
    )
    return Draw(seed, len(sizes), tuple(box for box in drawn if box.units))


def _even(lot_units: int, boxes: int) -> tuple[int, ...]:
    if boxes > lot_units:
        raise WrongUsage(f"{lot_units} units do not fill {boxes} boxes.", where="--boxes")
    return tuple(lot_units // boxes + (number < lot_units % boxes) for number in range(boxes))


def _counts(sizes: Sequence[int], wanted: int, chance: random.Random) -> list[int]:
    lot = sum(sizes)
    order = _choose(len(sizes), len(sizes), chance)
    # Whole numbers all the way: floats would now and then lose a unit at the end.
    start = int(chance.random() * lot)
    counts, before = [0] * len(sizes), 0
    for box in order:
        after = before + wanted * sizes[box - 1]
        counts[box - 1] = (after + start) // lot - (before + start) // lot
        before = after
    return counts


def _choose(size: int, count: int, chance: random.Random) -> list[int]:
    """Choose from 1 to ``size``. Only ``random()`` is used: that one gives the same on every version of Python."""
    pool: dict[int, int] = {}
    chosen = []
    for at in range(count):
        other = at + int(chance.random() * (size - at))
        chosen.append(pool.get(other, other) + 1)
        pool[other] = pool.get(at, at)
    return chosen
