"""Is the face in the photo closed as the job needs it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.parts import compare
from screener.parts.model import Closure
from screener.screening.checks.named_part import as_far_as_it_says
from screener.screening.checks.outcome import Checked, together
from screener.screening.model import BOX_CHANNELS, Finding
from screener.screening.observed import certain, named, observed

if TYPE_CHECKING:
    from screener.parts.model import ClosureKind, Explained
    from screener.screening.model import Item, Observation, Surroundings

_FACE_OF: dict[ClosureKind, str] = {
    "open": "open",
    "shield": "shield",
    "non_contact_seal": "rubber_seal",
    "low_friction_seal": "rubber_seal",
    "contact_seal": "rubber_seal",
}
_IN_WORDS = {"open": "an open face", "shield": "a metal shield", "rubber_seal": "a rubber seal"}


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare each face seen with the closure ordered, and with the closure that the box claims."""
    del surroundings
    need = item.requirement.explained
    faces = [o for o in observed(item, "closure", ("face",)) if o.value in _IN_WORDS]
    if need.kind != "bearing" or need.closure is None:
        return Checked()
    return together([*(_against_need(item, o) for o in faces), _against_box(item, faces)])


def expected_faces(part: Explained) -> frozenset[str]:
    """The faces that a part may show: a part closed on one side shows either."""
    if part.closure is None:
        return frozenset(_IN_WORDS)
    words = {_FACE_OF[part.closure.kind]}
    if part.closure.sides == 1:
        words.add("open")
    return frozenset(words)


def _against_need(item: Item, face: Observation) -> Checked:
    need = item.requirement.explained
    if face.value in expected_faces(need):
        return Checked(agreed=(f"The {named(face)} shows {_IN_WORDS[str(face.value)]}, as it should.",))
    offered = replace(need, closure=_closure_like(str(face.value), need))
    told = [d for d in compare(need, offered, duty=item.requirement.duty).differences if d.attribute == "closure"]
    wrong = bool(told) and told[0].outcome == "wrong" and certain(face, item)
    because = told[0].because if told else "another closure than needed."
    return Checked(
        findings=(
            Finding(
                code="closure_not_as_ordered" if wrong else "face_unsure",
                weight="contradiction" if wrong else "question",
                question="asked_for",
                says=f"The {named(face)} shows {_IN_WORDS[str(face.value)]}; {item.requirement.need} is needed: "
                f"{because}",
                rests_on=told[0].rests_on if told else "order line",
                observations=(face.key,),
            ),
        )
    )


def _closure_like(face: str, need: Explained) -> Closure:
    """The closure that a face shows, on as many sides as the need has: only the face itself is in question."""
    if face == "open":
        return Closure("open", 0)
    sides = need.closure.sides if need.closure is not None and need.closure.sides else 2
    return Closure("shield" if face == "shield" else "contact_seal", sides)


def _against_box(item: Item, faces: list[Observation]) -> Checked:
    claims = [o for o in observed(item, "designation", BOX_CHANNELS) if as_far_as_it_says(o).understood]
    findings = [
        Finding(
            code="box_and_part_disagree",
            weight="question",
            question="agreement",
            says=f"The {named(claim)} reads {claim.value}, the {named(face)} shows {_IN_WORDS[str(face.value)]}.",
            rests_on="the suffix on the box says how the part is closed (suffixes.csv)",
            observations=(claim.key, face.key),
        )
        for claim in claims[:1]
        for face in faces
        if face.value not in expected_faces(as_far_as_it_says(claim)) and certain(face, item)
    ]
    return Checked(findings=tuple(findings[:1]))
