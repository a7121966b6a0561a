"""Several photos of one part as evidence. Expected answers follow from the rules as written (design.md's domain facts:
one face seen is one face known; two sources that disagree are both named), not from the program.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from screener.looking.reading import PhotoReading
from screener.receiving.observe import Notebook, observe_photos
from screener.screening.model import Observation
from screener.vision.model import (
    ClosureSeen,
    DesignationRead,
    Ellipse,
    GrooveSeen,
    Mark,
    MarkVote,
    Measured,
    PartSeen,
    Problem,
)

RING = Ellipse(600, 450, 300, 290, 0)


def photo(name: str, part: PartSeen, *problems: Problem) -> PhotoReading:
    return PhotoReading(name, f"{hash(name):x}", 1280, 960, problems, parts=(part,))


def part(*votes: tuple[str, float], place: str = "ring", **seen: object) -> PartSeen:
    best = max(votes, key=lambda vote: vote[1], default=("", 0.0))
    read = DesignationRead(*best) if best[1] > 0.2 else None
    marks = (Mark(best[0], place, best[1]),) if read else ()  # type: ignore[arg-type]
    cast = tuple(MarkVote(text, place, p) for text, p in votes)  # type: ignore[arg-type]
    ratio = Measured(0.43, 0.004)
    given = {"kind_p": 0.95, "bore_to_od": ratio, "marks": marks, "designation": read, "mark_votes": cast} | seen
    return PartSeen("bearing", RING, RING, **given)  # type: ignore[arg-type]


def noted(attribute: str, *photos: PhotoReading, faces: dict[str, str] | None = None) -> list[Observation]:
    notebook = Notebook()
    observe_photos(photos, notebook, faces)  # type: ignore[arg-type]
    return [o for o in notebook.observations if o.attribute == attribute]


def test_two_photos_too_poor_alone_give_one_reading_that_names_both():
    (read,) = noted("designation", photo("a.jpg", part(("6202/C3", 0.42))), photo("b.jpg", part(("6202C3", 0.45))))
    assert read.p is not None
    assert read.p > 0.5
    assert {read.source.where, *read.source.also} == {"a.jpg", "b.jpg"}
    assert noted("designation", photo("a.jpg", part(("6202/C3", 0.42)))) == []


def test_a_wrong_photo_is_outvoted_and_named():
    photos = [
        photo(f"{i}.jpg", part((text, p))) for i, (text, p) in enumerate([("606", 0.7), ("608", 0.8), ("608", 0.75)])
    ]
    (read,) = noted("designation", *photos)
    assert read.value == "608"
    assert "0.jpg" not in {read.source.where, *read.source.also}
    (told,) = noted("problem", *photos)
    assert told.source.where == "0.jpg"
    assert "606" in str(told.value)


def test_one_against_one_both_stay():
    photos = photo("a.jpg", part(("606", 0.7))), photo("b.jpg", part(("608", 0.8)))
    assert {o.value for o in noted("designation", *photos)} == {"606", "608"}


def test_a_sure_reading_is_never_set_aside():
    """Mixed parts must not hide behind a majority."""
    photos = [photo(f"{i}.jpg", part((text, 0.95))) for i, text in enumerate(["6205", "6204", "6204"])]
    assert {o.value for o in noted("designation", *photos)} == {"6205", "6204"}


def test_ring_and_closure_are_two_texts():
    photos = [
        photo("a.jpg", part(("6202", 0.8))),
        photo("b.jpg", part(("6202", 0.8))),
        photo("c.jpg", part(("6302", 0.8), place="closure")),
        photo("d.jpg", part(("6302", 0.7), place="closure")),
    ]
    assert {(o.value, o.source.reader) for o in noted("designation", *photos)} == {
        ("6202", "mark"),
        ("6302", "text on the closure"),
    }


def test_measures_are_one_with_less_uncertainty_but_not_half():
    alone, photos = Measured(35.0, 0.3), [photo(f"{i}.jpg", part(od_mm=Measured(35.0, 0.3))) for i in range(4)]
    (od,) = noted("od_mm", *photos)
    assert od.u is not None
    assert alone.u / 2 < od.u < alone.u
    assert len(od.source.also) == 3
    (size,) = noted("size", *photos)
    assert size.alternatives[0][0] == "6202"


def test_parts_of_two_sizes_are_not_mixed():
    photos = photo("a.jpg", part(od_mm=Measured(35.0, 0.2))), photo("b.jpg", part(od_mm=Measured(47.0, 0.3)))
    assert [o.value for o in noted("od_mm", *photos)] == [35.0, 47.0]


@pytest.mark.parametrize(("faces", "answers"), [({}, 2), ({"a.jpg": "first", "b.jpg": "first"}, 1)])
def test_faces_that_differ_are_one_face_only_if_said_so(faces, answers):
    photos = (
        photo("a.jpg", part(closure=ClosureSeen("shield", 0.9))),
        photo("b.jpg", part(closure=ClosureSeen("open", 0.6))),
    )
    assert len(noted("closure", *photos, faces=faces)) == answers


def test_two_looks_at_one_closure_are_surer_than_one():
    photos = [photo(f"{i}.jpg", part(closure=ClosureSeen("shield", 0.75))) for i in range(2)]
    (closure,) = noted("closure", *photos)
    assert closure.p is not None
    assert 0.8 < closure.p <= 0.985


def test_a_spoilt_photo_takes_no_part():
    sound, spoilt = part(("6202", 0.6)), part(("6302", 0.95))
    photos = photo("a.jpg", sound), photo("b.jpg", spoilt, Problem("blurred", "Blurred."))
    assert [o.value for o in noted("designation", *photos)] == ["6202"]


def test_the_same_picture_twice_counts_once():
    one = photo("a.jpg", part(("6202", 0.42)))
    assert noted("designation", one, replace(one, photo="b.jpg")) == []


def test_a_groove_is_noted_from_each_photo_that_shows_the_wall():
    """Seen from straight above a wall shows nothing, which says nothing (one face seen is one face known)."""
    tilted = part(snap_ring_groove=GrooveSeen("absent", 0.9))
    above = part(snap_ring_groove=GrooveSeen("not_seen", 1.0))
    seen = noted("snap_ring_groove", photo("a.jpg", tilted), photo("b.jpg", above), faces={"a.jpg": "first"})
    assert [(o.value, o.source.where, o.face, o.p) for o in seen] == [("absent", "a.jpg", "first", 0.9)]
