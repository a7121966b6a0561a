"""What the bench shows: deliveries, lines, photos, answers. Values only; made by `screener.receiving.bench`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from screener.errors import WrongUsage
from screener.records.standing import Standing

Shows = Literal["box", "face1", "face2", "other"]
SHOWS: tuple[Shows, ...] = ("box", "face1", "face2", "other")
LineState = Literal["waiting", "reading", "answered"]
"""``waiting``: nothing was given yet. ``reading``: something given is not in an answer yet. ``answered``: all is."""
PhotoState = Literal["reading", "read", "unreadable"]


@dataclass(frozen=True, slots=True)
class BenchPhoto:
    """A photo given for a line."""

    sha256: str
    name: str
    """Unique within its line; the name an answer's observations use."""
    shows: Shows
    state: PhotoState
    says: str = ""
    """What is wrong with it, if anything, and what to do."""
    card: bool | None = None
    """Whether the scale card was found in it; None until it is read."""


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A photo that was taken away from a line, and by whom."""

    photo: BenchPhoto
    who: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """A photo that is asked for."""

    shows: Literal["box", "face1", "face2", "card"]
    says: str
    had: bool


@dataclass(frozen=True, slots=True)
class Observed:
    """One observation, as much of it as a page needs to offer a correction."""

    key: str
    attribute: str
    value: str | float
    channel: str
    where: str
    photo_sha256: str = ""
    face: str = "unknown"
    p: float | None = None
    u: float | None = None


_WAYS: dict[str, Literal["use", "hold", "send back"]] = {"accept": "use", "hold": "hold", "reject": "send back"}


@dataclass(frozen=True, slots=True)
class Answer:
    """The newest answer for a line."""

    item_id: int
    version: int
    """1 for the first answer, counting on with each renewal."""
    recorded_at: str
    word: str
    """``accept``, ``hold`` or ``reject``."""
    exit: str
    """``use``, ``keep and ask``, ``look again`` or ``send back``."""
    reason: str
    next_step: str
    suspicion: str
    findings: tuple[str, ...]
    agreed: tuple[str, ...]
    not_checked: tuple[str, ...]
    observed: tuple[Observed, ...]
    standing: Standing | None = None
    result: Mapping[str, Any] = field(default_factory=dict)
    """The whole answer, `screener.records.result_json`."""

    @property
    def effective(self) -> Literal["use", "hold", "send back"]:
        """What holds now: a person's word goes before the answer."""
        if self.standing is not None:
            return _WAYS[self.standing.disposition]
        return _WAYS.get(self.word, "hold")


@dataclass(frozen=True, slots=True)
class HandReading:
    """A number read off an instrument, or what a person saw by eye."""

    what: str
    value: str | float
    instrument: str
    """``eye`` for what was seen."""
    who: str = ""
    temperature_c: float | None = None
    face: Literal["first", "second", "unknown"] = "unknown"
    once: str = ""
    """Given by whoever sends it: sent twice under one such word, the same reading counts once."""


@dataclass(frozen=True, slots=True)
class Correction:
    """A person says that something was misread. What was read before stays in the record."""

    attribute: str
    was: str | float | None
    value: str | float | None
    """None: nothing of the kind is there."""
    channel: str
    photo_sha256: str
    who: str
    why: str
    at: str


@dataclass(frozen=True, slots=True)
class BenchLine:
    """One line of a delivery; with several boxes, one box of it (``3/2``)."""

    run_id: int
    line: str
    need: str
    quantity: int | None
    maker: str | None
    duty: tuple[str, ...]
    supplier: str | None
    note: str | None
    state: LineState
    answer: Answer | None
    photos: tuple[BenchPhoto, ...] = ()
    withdrawn: tuple[Withdrawn, ...] = ()
    wanted: tuple[Wanted, ...] = ()
    scans: tuple[str, ...] = ()
    readings: tuple[HandReading, ...] = ()
    corrections: tuple[Correction, ...] = ()
    begun: bool = False
    """Only a code was scanned or typed: the answer is not judged yet and counts nowhere, photos are still to take."""

    @property
    def judged(self) -> bool:
        """Whether the line has an answer that counts."""
        return self.state == "answered" and self.answer is not None and not self.begun

    @property
    def still_wanted(self) -> tuple[Wanted, ...]:
        """The photos that are asked for and not there yet."""
        return tuple(each for each in self.wanted if not each.had)


@dataclass(frozen=True, slots=True)
class BenchDelivery:
    """A delivery, or a single part (``kind`` is ``verify``), as it stands now."""

    run_id: int
    kind: str
    order_name: str
    started_at: str
    finished_at: str | None
    lines: tuple[BenchLine, ...]
    order_problems: tuple[str, ...] = ()
    last_event: int = 0
    """Newest event of the record known here; ask for changes after it."""


@dataclass(frozen=True, slots=True)
class DeliverySummary:
    """A delivery in a list."""

    run_id: int
    kind: str
    order_name: str
    started_at: str
    finished_at: str | None
    lines: int
    answered: int


@dataclass(frozen=True, slots=True)
class PhotoReceipt:
    """What happened to a photo that was given."""

    sha256: str
    new: bool
    """False when this line had this very photo already: nothing was added."""
    read: bool
    """Whether it is read already (the same picture was given before)."""


@dataclass(frozen=True, slots=True)
class PhotoJob:
    """A photo that is still to be read."""

    run_id: int
    line: str
    sha256: str


@dataclass(frozen=True, slots=True)
class FoundLine:
    """A line that a scanned code may belong to."""

    run_id: int
    order_name: str
    line: str
    need: str
    because: str


@dataclass(frozen=True, slots=True)
class HeldItem:
    """An item that is kept back, by the answer or by a person."""

    item_id: int
    run_id: int
    order_name: str
    line: str
    need: str
    supplier: str
    recorded_at: str
    reason: str
    next_step: str
    exit: str
    suspicion: str
    standing: Standing | None
    found: str = ""
    """The answer's own reason, also where a person's stands in ``reason``."""


@dataclass(frozen=True, slots=True)
class SupplierSummary:
    """What was received from one supplier; only the newest answer of each line counts."""

    supplier: str
    deliveries: int
    items: int
    use: int
    hold: int
    send_back: int
    last_received: str


def known_shows(word: str) -> Shows:
    """Return what a photo is said to show.

    Raises
    ------
    WrongUsage
        The word is none of `SHOWS`.
    """
    for known in SHOWS:
        if word == known:
            return known
    raise WrongUsage(
        f"“{word}” is nothing a photo is asked to show.", where="shows", next_step=f"Use {', '.join(SHOWS)}."
    )
