"""Which of many fingerprints may be of the same picture, without comparing all of them.

A part of every corner's descriptor, 64 bits, stands in one sorted list beside the number of its photo. What starts as
the asked corner does, or with one bit of the start another, and differs in few of all 64 bits, votes for its photo (bit
sampling: Indyk and Motwani, STOC 1998; several buckets asked: Lv et al., VLDB 2007), more for the closer it is. A
corner that many photos have, as those of the scale card, counts little: the logarithm of all photos to those that have
it (Sivic and Zisserman, ICCV 2003). The index only proposes: `screener.vision.fingerprint.likeness` decides.

About 2.2 kB a photo, 216 MB for 100,000.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

from screener.vision.fingerprint import descriptors

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    T = TypeVar("T", np.uint64, np.uint32)
    Codes = NDArray[np.uint64]
    Numbers = NDArray[np.uint32]

START_BITS = 24
"""Entries that agree in so many first bits lie together."""
LIKE_BITS = 15
"""Of 64: the share of the 52 of 256 under which two corners are paired, and two more for the smaller sample."""
MOST_IN_A_START = 4096
"""A start that more corners have tells no photo from another."""
LEAST_VOTES = 2
_CLOSE_BITS = 7.7
"""A vote weighs exp(-(bits that differ / this)²): corners of copies differ in 12 % of their bits at most, mostly."""
_MERGED_FROM = 8
"""A sorted list is merged with the one before it once it is an eighth as long: adding one by one stays cheap."""
_STARTS = np.array([0, *(1 << bit for bit in range(START_BITS))], np.uint64)
_REST = np.uint64(64 - START_BITS)


class PrintIndex:
    """Fingerprints by number, in the order added. Not for several threads at once."""

    def __init__(self) -> None:
        self._lists: list[tuple[Codes, Numbers]] = []
        self._count = 0

    def __len__(self) -> int:
        return self._count

    @property
    def size_bytes(self) -> int:
        """What the lists hold."""
        return sum(codes.nbytes + numbers.nbytes for codes, numbers in self._lists)

    def add(self, fingerprints: Iterable[str]) -> None:
        """Add fingerprints; their numbers go on from ``len(index)``. One that cannot be read has a number, too."""
        codes, numbers = [], []
        for text in fingerprints:
            mine = _codes(text)
            codes.append(mine)
            numbers.append(np.full(len(mine), self._count, np.uint32))
            self._count += 1
        if any(map(len, codes)):
            self._lists.append(_sorted(np.concatenate(codes), np.concatenate(numbers)))
        while len(self._lists) > 1 and _MERGED_FROM * len(self._lists[-1][0]) >= len(self._lists[-2][0]):
            self._merge_last()

    def _merge_last(self) -> None:
        """Merge the last two lists, one column after the other, so that little is held twice."""
        (codes, numbers), (more_codes, more_numbers) = self._lists[-2:]
        del self._lists[-2:]
        at = np.searchsorted(codes, more_codes, side="right") + np.arange(len(more_codes))
        old = np.ones(len(codes) + len(more_codes), np.bool_)
        old[at] = False
        codes = _merged(codes, more_codes, at, old)
        self._lists.append((codes, _merged(numbers, more_numbers, at, old)))

    def proposed(self, fingerprint: str) -> list[int]:
        """Numbers of the photos that may show the same picture, the likeliest first: mostly a true copy."""
        asked = _codes(fingerprint)
        if not (len(asked) and self._lists):
            return []
        found = [_votes(asked, codes, numbers) for codes, numbers in self._lists]
        corners, photos, apart = (np.concatenate(each) for each in zip(*found, strict=True))
        votes, nearest = _best_of_each(corners * self._count + photos, apart)
        corners, photos = votes // self._count, votes % self._count
        weights = np.exp(-((nearest / _CLOSE_BITS) ** 2))
        having = np.bincount(corners, weights, minlength=len(asked))
        weights *= np.log((self._count + 1) / np.maximum(having, 1))[corners]
        weight = np.bincount(photos, weights, minlength=self._count)
        enough = np.flatnonzero(np.bincount(photos, minlength=self._count) >= LEAST_VOTES)
        return [int(number) for number in enough[np.argsort(-weight[enough], kind="stable")]]


def _best_of_each(keys: NDArray[np.int64], apart: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Each key once, with the least of its distances."""
    order = np.lexsort((apart, keys))
    keys = keys[order]
    first = np.flatnonzero(np.r_[True, keys[1:] != keys[:-1]][: len(keys)])
    return keys[first], apart[order][first]


def _codes(fingerprint: str) -> Codes:
    """The first 64 bits of each descriptor: ORB's pattern puts the tests first that vary most from corner to corner."""
    bits = descriptors(fingerprint)
    return np.ascontiguousarray(bits[:, :8]).view(">u8").ravel().astype(np.uint64)


def _sorted(codes: Codes, numbers: Numbers) -> tuple[Codes, Numbers]:
    order = np.argsort(codes, kind="stable")
    return codes[order], numbers[order]


def _merged(first: NDArray[T], second: NDArray[T], at: NDArray[np.int64], old: NDArray[np.bool_]) -> NDArray[T]:
    """One column with the second's entries in their places, the first's around them."""
    both = np.empty(len(old), first.dtype)
    both[at] = second
    both[old] = first
    return both


def _votes(asked: Codes, codes: Codes, numbers: Numbers) -> tuple[NDArray[np.int64], ...]:
    """For each entry that is like a corner asked: the corner, the entry's photo, the bits in which they differ."""
    starts = ((asked >> _REST)[:, None] ^ _STARTS).ravel() << _REST
    first = np.searchsorted(codes, starts)
    # Up to the last code of the start: the start after the last one would be 2^64.
    count = np.searchsorted(codes, starts | np.uint64((1 << (64 - START_BITS)) - 1), side="right") - first
    count[count > MOST_IN_A_START] = 0
    at = np.repeat(first - (np.cumsum(count) - count), count) + np.arange(count.sum())
    corner = np.repeat(np.repeat(np.arange(len(asked)), len(_STARTS)), count)
    apart = _ones(codes[at] ^ asked[corner]).astype(np.int64)
    like = apart <= LIKE_BITS
    return corner[like], numbers[at[like]].astype(np.int64), apart[like]


def _ones(codes: Codes) -> Codes:
    """Bits that are set (Warren, Hacker's Delight, 2nd ed., 5-1): numpy counts them itself from version 2 on only."""
    pairs = codes - ((codes >> np.uint64(1)) & np.uint64(0x5555555555555555))
    fours = (pairs & np.uint64(0x3333333333333333)) + ((pairs >> np.uint64(2)) & np.uint64(0x3333333333333333))
    eights = (fours + (fours >> np.uint64(4))) & np.uint64(0x0F0F0F0F0F0F0F0F)
    return np.asarray((eights * np.uint64(0x0101010101010101)) >> np.uint64(56), np.uint64)
