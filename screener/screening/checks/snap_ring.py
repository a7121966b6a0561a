"""Does the outside wall seen in tilted photos have the snap-ring groove that a designation names (suffix N, NR)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.checks.named_part import as_far_as_it_says
from screener.screening.checks.outcome import Checked
from screener.screening.model import Finding, NotChecked
from screener.screening.observed import named, observed

if TYPE_CHECKING:
    from screener.screening.model import Item, Observation, Surroundings

SURE_FROM_P = 0.8
"""A groove seen, or seen to be missing, less surely than this is not held against a designation."""
_RESTS_ON = "snap-ring suffix (suffixes.csv)"


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare the groove seen with the order, or with a designation that was read; seen on one side is enough."""
    del surroundings
    sure = [o for o in observed(item, "snap_ring_groove", ("face",)) if (o.p or 0.0) >= SURE_FROM_P]
    present = [o for o in sure if o.value == "present"]
    absent = [o for o in sure if o.value == "absent"]
    wanted = _wanted(item)
    if wanted is None:
        return Checked(findings=_not_named(item, present))
    where, kind, witnesses = wanted
    ring = kind == "groove and ring"
    if present:
        says = f"The {named(present[0])} shows a snap-ring groove on the outside, as {where} says."
        return Checked(agreed=(says,), gaps=_ring_gap(item) if ring else ())
    if not ring and {"first", "second"} <= {o.face for o in absent}:
        # With its ring in place a groove is filled and does not show: only of an empty one is its absence telling.
        return Checked(findings=(_missing(where, absent, witnesses),))
    return Checked(gaps=_groove_gap(item, absent))


def _wanted(item: Item) -> tuple[str, str, tuple[Observation, ...]] | None:
    """Who names a groove, and with or without ring: the order first, then what was read."""
    ordered = item.requirement.explained.snap_ring
    if ordered:
        return f"the order ({item.requirement.need})", ordered, ()
    for o in observed(item, "designation"):
        read = as_far_as_it_says(o).snap_ring
        if read:
            return f"the {named(o)} ({o.value})", read, (o,)
    return None


def _missing(where: str, absent: list[Observation], witnesses: tuple[Observation, ...]) -> Finding:
    photos = " and ".join(dict.fromkeys(o.source.where for o in absent))
    return Finding(
        code="groove_not_seen",
        weight="question",
        question="asked_for",
        says=f"The outside wall shows no snap-ring groove beside either face ({photos}); {where} says there is one.",
        rests_on=_RESTS_ON,
        observations=tuple(o.key for o in (*absent, *witnesses)),
    )


def _not_named(item: Item, present: list[Observation]) -> tuple[Finding, ...]:
    """A groove that nobody asked for does no harm in a plain housing; it may still be another part than thought."""
    if not present or item.requirement.explained.kind != "bearing":
        return ()
    says = (
        f"The {named(present[0])} shows a groove around the outside; neither the order ({item.requirement.need}) nor "
        "what was read on the part names one (N, NR). In a plain housing it does no harm."
    )
    return (
        Finding(
            code="groove_not_named",
            weight="question",
            question="agreement",
            says=says,
            rests_on=_RESTS_ON,
            observations=(present[0].key,),
        ),
    )


def _groove_gap(item: Item, absent: list[Observation]) -> tuple[NotChecked, ...]:
    """The order names a groove and no photo shows it."""
    if not item.requirement.explained.snap_ring:
        return ()
    one_side = "one face shows none beside it, and one face seen is one face known" if absent else ""
    says = one_side or "no photo shows the outside well enough; it takes a tilt of 20 degrees or more"
    return (
        NotChecked(
            "snap_ring",
            f"{item.requirement.need} has a snap-ring groove; {says}.",
            word="snap-ring groove",
            next_step="Feel the outside with a fingernail, or photograph the part tilted, the outside in the light.",
        ),
    )


def _ring_gap(item: Item) -> tuple[NotChecked, ...]:
    if item.requirement.explained.snap_ring != "groove and ring":
        return ()
    return (
        NotChecked(
            "snap_ring",
            f"{item.requirement.need} comes with a snap ring; the photo shows the groove, not the ring.",
            word="snap ring",
            next_step="Look whether the ring lies in the box.",
        ),
    )
