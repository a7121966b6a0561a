"""What was not checked, and which of it acceptance has to wait for."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.screening.checks.face import expected_faces
from screener.screening.checks.makers import maker_read
from screener.screening.checks.named_part import as_far_as_it_says
from screener.screening.checks.outcome import Checked
from screener.screening.model import BOX_CHANNELS, NotChecked
from screener.screening.observed import earlier_photos, observed, photos_of
from screener.specs.screening_rules import never_seen, required_checks

if TYPE_CHECKING:
    from collections.abc import Callable

    from screener.screening.model import Attribute, Item, Surroundings

NEW_PHOTOS = "new_photos"
"""Code of the gap that no photo shows this piece."""
NOT_TOLD = "not told"
"""The duty word for an order that tells neither dry, dirty nor wet (reference_specs/required_checks.toml)."""
_SIZE_ATTRIBUTES: tuple[Attribute, ...] = ("od_mm", "bore_mm", "bore_to_od")


def check(item: Item, surroundings: Surroundings) -> Checked:
    """List the checks required for this part and duty that were not made, then what nobody can see at the dock."""
    only_earlier = _only_earlier_pictures(item, surroundings)
    if only_earlier is not None:
        return Checked(gaps=(only_earlier, *_photo_problems(item), *_never(item)))
    if not item.observations:
        return Checked(gaps=(_nothing(item),))
    kind, duty = item.requirement.explained.kind, duty_to_assume(item.requirement.duty)
    wanted = dict.fromkeys(
        name for r in required_checks() if r.kind == kind and (not r.duty or r.duty & duty) for name in r.checks
    )
    missing = [gap for name in wanted if (gap := _GAPS[name](item)) is not None]
    second = _faces(item) if "faces" not in wanted else None
    unseen = (replace(second, required=False),) if second is not None else ()
    if any(gap.code == "faces" for gap in missing):
        # Photographing both faces is photographing one.
        missing = [replace(gap, next_step="") if gap.code == "face" else gap for gap in missing]
    return Checked(gaps=(*missing, *unseen, *_other_pieces(item), *_photo_problems(item), *_never(item)))


def duty_to_assume(duty: frozenset[str]) -> frozenset[str]:
    """The duty as told, or that it was not told: then the part may end up wet as well as dry."""
    return duty if duty & {"dry", "dirty", "wet"} else duty | {NOT_TOLD}


def _never(item: Item) -> list[NotChecked]:
    kind = item.requirement.explained.kind
    return [NotChecked(n.code, n.says, n.word) for n in never_seen() if n.kind == kind]


def _other_pieces(item: Item) -> list[NotChecked]:
    """The pieces of the line that nobody looked at: what is said of one is not seen on the others."""
    ordered = item.requirement.quantity
    if ordered is None or ordered < 2:
        return []
    others = "other one" if ordered == 2 else f"other {ordered - 1}"
    says = (
        f"{ordered} pieces were ordered and this is one of them: of the {others} nothing was seen here. Compare each "
        "with this one before it is used: box, mark, both faces."
    )
    return [NotChecked("other_pieces", says, word=f"the {others} of {ordered} pieces")]


def _only_earlier_pictures(item: Item, surroundings: Surroundings) -> NotChecked | None:
    """That no photo is of this piece: the pictures came with an earlier delivery, or some with another item of this."""
    earlier = earlier_photos(item)
    known = photos_of(item, earlier | {sha for sha, _ in surroundings.photos_elsewhere})
    if not earlier or known != {*item.photos}:
        return None
    where = "; ".join(dict.fromkeys(str(o.value) for o in observed(item, "seen_before")))
    return NotChecked(
        NEW_PHOTOS,
        f"These are pictures of an earlier item: {where}. Nothing was seen of this piece.",
        word="this piece itself",
        required=True,
        next_step="Take new photos of this piece: its label and both faces, with the scale card beside it. "
        "If the camera stands fixed, lay it a little differently.",
    )


def _nothing(item: Item) -> NotChecked:
    given = "none of its photos shows anything that can be read" if item.photos else "no photo or reading was given"
    return NotChecked(
        "nothing",
        f"{given}.",
        word="everything",
        required=True,
        next_step="Photograph the label and both faces with the scale card beside the part.",
    )


def _named(item: Item) -> NotChecked | None:
    designations = observed(item, "designation", ("barcode", "label", "marking", "person"))
    if any(as_far_as_it_says(o).understood for o in designations):
        return None
    return NotChecked(
        "named",
        "no designation or size could be read on box or part.",
        word="name",
        required=True,
        next_step="Photograph the label square on, and the mark with the lamp from the side.",
    )


def _steel(item: Item) -> NotChecked | None:
    marks = [o for o in observed(item, "designation", ("marking", "person")) if as_far_as_it_says(o).understood]
    measures = [o for a in _SIZE_ATTRIBUTES for o in observed(item, a, ("geometry", "instrument"))]
    if marks or measures:
        return None
    return NotChecked(
        "steel",
        "the part itself was not seen or measured, only its box."
        if observed(item, "text", BOX_CHANNELS) or observed(item, "gtin")
        else "the part itself was not seen well enough to measure or read it.",
        word="the part itself",
        required=True,
        next_step="Photograph the part beside the scale card, or measure it.",
    )


def _face(item: Item) -> NotChecked | None:
    if any(o.value != "not_seen" for o in observed(item, "closure", ("face", "person"))):
        return None
    return NotChecked(
        "face",
        "no face was seen well enough to tell open, shielded or sealed.",
        word="a face",
        required=True,
        next_step="Photograph a face square on.",
    )


def _faces(item: Item) -> NotChecked | None:
    """Both faces matter where the part is the same on both: closed twice, or open."""
    if len(expected_faces(item.requirement.explained)) != 1:
        return None
    if both_faces_seen(item):
        return None
    if _face(item) is not None:
        return NotChecked(
            "faces",
            "both faces are to be seen, and none was.",
            word="both faces",
            required=True,
            next_step="Photograph both faces (photo files: face1 and face2 in their names).",
        )
    return NotChecked(
        "faces",
        "only one face was seen, and one face seen is one face known.",
        word="the second face",
        required=True,
        next_step="Turn it over and photograph the other face (photo files: face1 and face2 in their names, or all "
        "count as one face).",
    )


def both_faces_seen(item: Item) -> bool:
    """Whether the two faces were seen in two different pictures."""
    seen = [o for o in observed(item, "closure", ("face", "person")) if o.value != "not_seen"]
    first = {o.source.photo_sha256 for o in seen if o.face == "first"}
    second = {o.source.photo_sha256 for o in seen if o.face == "second"}
    return any(one != other for one in first for other in second)


def _clearance(item: Item) -> NotChecked | None:
    need = item.requirement.explained
    if need.clearance in {None, "CN"}:
        return None
    read = [as_far_as_it_says(o) for o in observed(item, "designation")]
    if any(r.understood and r.clearance == need.clearance for r in read):
        return None
    return NotChecked(
        "clearance",
        f"clearance {need.clearance} is needed and was read nowhere.",
        word="clearance mark",
        required=True,
        next_step=f"Look for {need.clearance} in the mark on the ring and on the label.",
    )


def _material(item: Item) -> NotChecked | None:
    wanted = item.requirement.explained.material
    if not wanted:
        return None
    read = {as_far_as_it_says(o).material for o in observed(item, "designation")}
    texts = {str(o.value).upper() for o in observed(item, "text")}
    if wanted in read or wanted in texts:
        return None
    return NotChecked(
        "material",
        f"material {wanted} is needed and was read nowhere.",
        word="material mark",
        required=True,
        next_step=f"Look for {wanted} on the label and on the body of the seal.",
    )


def _maker(item: Item) -> NotChecked | None:
    wanted = item.requirement.maker
    if not wanted or maker_read(item, wanted):
        return None
    return NotChecked(
        "maker",
        f"maker {wanted} is asked for, and the maker's word was not read for sure.",
        word="maker",
        required=True,
        next_step=f"Look for {wanted} on the label and on the part.",
    )


_PHOTO_WORDS = {
    "letters_low": "letters too small to read",
    "too_far": "taken from too far",
    "glare_on_mark": "glare on the mark",
    "dark": "too dark",
    "first_page_only": "first of several pictures",
}


def _photo_word(problem: str) -> str:
    return _PHOTO_WORDS.get(problem, problem.replace("_", " "))


def _photo_problems(item: Item) -> list[NotChecked]:
    return [
        NotChecked("photo", f"{o.source.where}: {o.value}", word=f"{o.source.where} ({_photo_word(o.source.reader)})")
        for o in observed(item, "problem", ("photo",))
    ]


_GAPS: dict[str, Callable[[Item], NotChecked | None]] = {
    "named": _named,
    "steel": _steel,
    "face": _face,
    "faces": _faces,
    "clearance": _clearance,
    "material": _material,
    "maker": _maker,
}
