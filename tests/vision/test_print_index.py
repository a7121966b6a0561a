"""The index must propose what comparing all pairs finds. The truth is made here: copies are made from the pictures."""

from __future__ import annotations

import base64
from itertools import combinations

import cv2
import numpy as np
from vision.test_fingerprint import PHOTOS, gray, saved

from screener.vision import print_index
from screener.vision.fingerprint import descriptors, fingerprint, likeness
from screener.vision.print_index import PrintIndex


def test_a_copy_is_proposed_first_and_in_whatever_order_photos_were_added():
    pictures = [gray(p) for p in PHOTOS]
    prints = [fingerprint(g) for g in pictures]
    copies = [fingerprint(saved(np.rot90(g[g.shape[0] // 5 :, :]), 50)) for g in pictures]
    index = PrintIndex()
    for one in prints:
        index.add([one])
    together = PrintIndex()
    together.add(prints)
    for number, copy in enumerate(copies):
        assert index.proposed(copy)[0] == number
        assert index.proposed(copy) == together.proposed(copy)


def test_it_proposes_every_pair_that_comparing_all_pairs_finds():
    pictures = [gray(p) for p in PHOTOS]
    prints = [fingerprint(g) for g in pictures]
    prints += [fingerprint(saved(cv2.resize(g, None, fx=0.6, fy=0.6), 60)) for g in pictures]
    index = PrintIndex()
    index.add(prints)
    found = {(a, b) for a, b in combinations(range(len(prints)), 2) if likeness(prints[a], prints[b]).same_picture}
    assert len(found) >= len(pictures) - 1
    proposed = {(min(a, b), max(a, b)) for a in range(len(prints)) for b in index.proposed(prints[a])}
    assert found <= proposed


def test_bits_that_are_set_are_counted_as_python_counts_them():
    codes = np.random.default_rng(1).integers(0, 1 << 63, 1000).astype(np.uint64) * np.uint64(2) + np.uint64(1)
    assert print_index._ones(codes).tolist() == [int(code).bit_count() for code in codes]


def test_what_cannot_be_read_has_a_number_and_is_like_nothing():
    index = PrintIndex()
    assert index.proposed(fingerprint(gray(PHOTOS[0]))) == []
    index.add(["", "no base64!", fingerprint(gray(PHOTOS[0]))])
    assert len(index) == 3
    assert index.proposed(fingerprint(gray(PHOTOS[0]))) == [2]
    assert index.proposed("") == []
    assert index.size_bytes == 12 * len(descriptors(fingerprint(gray(PHOTOS[0]))))


def test_the_last_start_of_all_is_found_too():
    """A descriptor of ones only: the start after it would be 2^64."""
    whole = fingerprint(gray(PHOTOS[0]))
    packed = bytearray(base64.b64decode(whole))
    count = len(descriptors(whole))
    packed[-32 * count :] = b"\xff" * 32 * count
    index = PrintIndex()
    index.add([whole, base64.b64encode(bytes(packed)).decode()])
    assert index.proposed(base64.b64encode(bytes(packed)).decode()) == [1]
