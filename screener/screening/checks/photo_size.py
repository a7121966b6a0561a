"""Does the part in the photo have the size that was ordered, and that its own mark claims."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.screening.checks.named_part import as_far_as_it_says
from screener.screening.checks.outcome import Checked, together
from screener.screening.model import Finding
from screener.screening.observed import certain, named, observed
from screener.specs.boundary import boundary
from screener.specs.snap_ring_grooves import widest_snap_ring_mm

if TYPE_CHECKING:
    from screener.parts.model import Explained
    from screener.screening.model import Attribute, Item, Observation, Surroundings

LIKELY_FROM_P = 0.05
"""A size that the picture gives this much is not contradicted by it."""
SIGMAS = 3.0
"""How far a photo measurement may lie off before it speaks: 3 standard uncertainties, one false alarm in 370."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """How much a part may differ from its nominal size in a photo, apart from the measurement: mm or ratio."""

    below: float
    above: float


# A bearing's own tolerance is micrometres. A seal's free outside diameter is larger than the housing bore and its free
# lip opening smaller than the shaft, by design (reference_specs/seal_press_fit.csv). The photo sees the free sizes;
# its outside diameter has the middle of that press fit, 0.2 mm, taken off already.
_BEARING = Allowance(0.0, 0.0)
_SEAL_OD_MM = Allowance(0.3, 0.4)
_SEAL_LIP_MM = Allowance(2.5, 4.0)
# Seen from the back, the opening is that of the case, wider than the lip behind it.
_SEAL_RATIO = Allowance(0.08, 0.07)
_MEASURES: tuple[tuple[Attribute, str], ...] = (
    ("bore_to_od", "bore-to-outside ratio"),
    ("od_mm", "outside diameter"),
    ("bore_mm", "bore"),
)


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare each photo measurement with the ordered size, and with the size that the mark claims."""
    del surroundings
    need = item.requirement.explained
    if not _has_size(need):
        return Checked()
    return together([_kind(item), *_against(item, need), _mark_against_photo(item)])


def _has_size(part: Explained) -> bool:
    return part.understood and part.bore_mm is not None and part.od_mm is not None


def _kind(item: Item) -> Checked:
    need = item.requirement.explained
    others = [o for o in observed(item, "kind", ("geometry",)) if o.value != need.kind and certain(o, item)]
    if not others or need.kind not in {"bearing", "shaft_seal"}:
        return Checked()
    word = str(others[0].value).replace("_", " ")
    finding = Finding(
        code="face_unsure",
        weight="question",
        question="asked_for",
        says=f"The part in {others[0].source.where} looks like a {word}; {item.requirement.need} is needed.",
        rests_on="face of the part in the photo",
        observations=(others[0].key,),
    )
    return Checked(findings=(finding,))


def _against(item: Item, need: Explained) -> list[Checked]:
    return [
        _one_measure(item, o, need, word)
        for attribute, word in _MEASURES
        for o in observed(item, attribute, ("geometry",))
    ]


def _one_measure(item: Item, observation: Observation, need: Explained, word: str) -> Checked:
    nominal = _nominal(observation.attribute, need)
    off = None if _among_the_likely(item, observation, need) else _off_by(observation, need)
    unit = "" if observation.attribute == "bore_to_od" else " mm"
    seen = f"{float(observation.value):.3g}" if not unit else f"{float(observation.value):.1f}"
    if off is None:
        # A seal's lip opens as its maker likes: that it lies within so wide a band is no agreement worth telling.
        silent = observation.attribute == "bore_mm" or (need.kind != "bearing" and observation.attribute != "od_mm")
        agreed = f"The {word} in {observation.source.where} ({seen}{unit}) fits {need.basic}."
        return Checked(agreed=() if silent else (agreed,))
    finding = Finding(
        code="size_in_photo_differs",
        weight="question",
        question="asked_for",
        says=f"The {word} in {observation.source.where} measures {seen}{unit} (±{SIGMAS * (observation.u or 0):.2g}); "
        f"{need.basic} has {nominal:.3g}{unit}.{_looks_like(item, observation)}",
        rests_on=f"reference_specs/boundary_dimensions.csv, {need.basic}"
        if need.kind == "bearing"
        else f"nominal size {need.basic}",
        observations=(observation.key,),
    )
    return Checked(findings=(finding,))


def _nominal(attribute: Attribute, part: Explained) -> float:
    bore_mm, od_mm = float(part.bore_mm or 0.0), float(part.od_mm or 1.0)
    return {"bore_to_od": bore_mm / od_mm, "od_mm": od_mm, "bore_mm": bore_mm}[attribute]


def _allowance(attribute: Attribute, part: Explained) -> Allowance:
    if part.kind == "bearing":
        return _with_snap_ring(attribute, part) if part.snap_ring == "groove and ring" else _BEARING
    return {"bore_to_od": _SEAL_RATIO, "od_mm": _SEAL_OD_MM, "bore_mm": _SEAL_LIP_MM}[attribute]


def _with_snap_ring(attribute: Attribute, part: Explained) -> Allowance:
    """A snap ring stands out over the outside diameter; a photo may show its edge as the part's."""
    od_mm = _nominal("od_mm", part)
    ring_mm = widest_snap_ring_mm(od_mm)
    if ring_mm is None or attribute == "bore_mm":
        return _BEARING
    if attribute == "od_mm":
        return Allowance(0.0, ring_mm - od_mm)
    return Allowance(_nominal(attribute, part) * (1.0 - od_mm / ring_mm), 0.0)


def _off_by(observation: Observation, part: Explained) -> float | None:
    """How far outside the expected band a measurement lies; ``None`` when it fits."""
    allowance, nominal = _allowance(observation.attribute, part), _nominal(observation.attribute, part)
    slack = SIGMAS * (observation.u or 0.0)
    low, high = nominal - allowance.below - slack, nominal + allowance.above + slack
    value = float(observation.value)
    if value < low:
        return value - low
    return value - high if value > high else None


def _among_the_likely(item: Item, observation: Observation, part: Explained) -> bool:
    """Whether the same photo, all its measures weighed over the standard table, leaves this size well possible.

    One measure can lie off (an edge mistaken for its neighbour) where the picture as a whole still says this size.
    """
    same_photo = [o for o in observed(item, "size", ("geometry",)) if o.source.where == observation.source.where]
    names = {name for o in same_photo for name, p in o.alternatives if p >= LIKELY_FROM_P}
    rows = [row for name in names if (row := boundary(name)) is not None]
    return part.basic in names or any((r.bore_mm, r.od_mm) == (part.bore_mm, part.od_mm) for r in rows)


def _looks_like(item: Item, observation: Observation) -> str:
    same_photo = [o for o in observed(item, "size", ("geometry",)) if o.source.where == observation.source.where]
    if not same_photo or same_photo[0].value == item.requirement.explained.basic:
        return ""
    return f" It looks more like {same_photo[0].value}."


def _mark_against_photo(item: Item) -> Checked:
    """The mark claims one size and the steel shows another: the two that disagree are named."""
    marks = [o for o in observed(item, "designation", ("marking",)) if certain(o, item)]
    claims = [(o, e) for o in marks if _has_size(e := as_far_as_it_says(o))]
    measures = [o for attribute, _ in _MEASURES for o in observed(item, attribute, ("geometry",))]
    findings = [
        Finding(
            code="sources_disagree",
            weight="question",
            question="agreement",
            says=f"The {named(mark)} reads {mark.value}, but the {named(m)} does not fit {claim.basic}.",
            rests_on=f"reference_specs/boundary_dimensions.csv, {claim.basic}",
            observations=(mark.key, m.key),
        )
        for mark, claim in claims
        for m in measures
        if _off_by(m, claim) is not None and not _among_the_likely(item, m, claim)
    ]
    return Checked(findings=tuple(findings[:1]))
