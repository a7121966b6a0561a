"""Which photos show one picture: an index proposes, the fingerprints themselves decide.

pictures = SamePictures()
pictures.know(prints_of_earlier_photos)
pictures.ask(prints_of_this_delivery)
pictures.twins(sha256)
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.vision.fingerprint import likeness
from screener.vision.print_index import PrintIndex

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping

    from screener.vision.fingerprint import Outline

    Prints = Mapping[str, str]

MOST_COMPARED = 64
"""Photos compared with one photo, of those of its delivery, and again of all others: nearly as many copies are found
as by comparing all (`tests/vision/measure_print_index.py`)."""
MOST_REMEMBERED = 1 << 16
"""Pairs that were compared and differ; beyond it they are forgotten and compared anew."""


@dataclass(frozen=True, slots=True)
class Twin:
    """Another photo that shows the same picture."""

    sha256: str
    mine: Outline
    """What both show, as shares of the width and height of the photo asked about."""
    theirs: Outline
    """The same in the other photo."""


class SamePictures:
    """Photos by the hash of their content. Usable from several threads.

    Parameters
    ----------
    prints_of
        Gives the fingerprints of photos that were made known, by hash, so that they need not be held here.
    """

    def __init__(self, prints_of: Callable[[Collection[str]], Prints] = lambda _: {}) -> None:
        self._prints_of = prints_of
        self._index = PrintIndex()
        self._hashes: list[str] = []
        self._numbers: dict[str, int] = {}
        self._twins: dict[str, dict[str, Twin]] = {}
        self._apart: set[tuple[str, str]] = set()
        self._lock = threading.RLock()

    @classmethod
    def among(cls, prints: Prints) -> SamePictures:
        """Photos of one delivery, each asked beside all others."""
        pictures = cls()
        pictures.ask(prints)
        return pictures

    def __len__(self) -> int:
        return len(self._hashes)

    def __contains__(self, sha256: object) -> bool:
        return sha256 in self._numbers

    def know(self, prints: Iterable[tuple[str, str]]) -> None:
        """Take photos (hash, fingerprint) into the index without asking about them."""
        with self._lock:
            fresh = {sha: text for sha, text in prints if text and sha not in self._numbers}
            self._numbers |= {sha: len(self._hashes) + k for k, sha in enumerate(fresh)}
            self._hashes += fresh
            self._index.add(fresh.values())

    def ask(self, prints: Prints, beside: Collection[str] = ()) -> None:
        """Compare photos with all that are known, and with each other; `twins` then tells what was found.

        ``beside`` are the known photos of the same delivery: however many photos the record has, none of the delivery's
        own likely ones is left out for them.
        """
        with self._lock:
            self.know(prints.items())
            near = {*prints, *beside}
            pairs = [
                (sha, other)
                for sha, text in prints.items()
                for other in self._proposed(sha, text, near)
                if other not in self._twins.get(sha, {}) and (min(sha, other), max(sha, other)) not in self._apart
            ]
            wanted = {other for _, other in pairs if other not in prints}
            texts = {**(self._prints_of(wanted) if wanted else {}), **prints}
            for sha, other in pairs:
                self._compare(min(sha, other), max(sha, other), texts)

    def twins(self, sha256: str) -> tuple[Twin, ...]:
        """Return the photos that show the same picture as one that was asked about, by hash."""
        return tuple(twin for _, twin in sorted(self._twins.get(sha256, {}).items()))

    def _proposed(self, sha: str, text: str, near: Collection[str]) -> list[str]:
        found = [self._hashes[number] for number in self._index.proposed(text)]
        others = [other for other in found if other != sha]
        own = [other for other in others if other in near][:MOST_COMPARED]
        return own + [other for other in others if other not in near][:MOST_COMPARED]

    def _compare(self, one: str, other: str, texts: Prints) -> None:
        if (one, other) in self._apart or other in self._twins.get(one, {}):
            return
        found = likeness(texts.get(one, ""), texts.get(other, ""))
        if not found.same_picture:
            if len(self._apart) >= MOST_REMEMBERED:
                self._apart.clear()
            self._apart.add((one, other))
            return
        mine, theirs = found.shared
        self._twins.setdefault(one, {})[other] = Twin(other, mine, theirs)
        self._twins.setdefault(other, {})[one] = Twin(one, theirs, mine)
