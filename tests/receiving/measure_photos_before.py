"""Measure a large record: ``python tests/receiving/measure_photos_before.py [--photos 100000] [--folder DIR]``.

Not a test. A record is filled with items of two photos each, whose readings are as long as usual. Their fingerprints
are those of the sample photos with three in ten of the descriptors' bits turned by chance. Printed: time and memory to
take them in, then per item of three photos: to catch up with the record, to ask, to say where the pictures were seen.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import resource
import sys
import tempfile
import time
from pathlib import Path

import cv2
import numpy as np
from sqlalchemy import insert

from screener.parts import explain
from screener.receiving.photos_before import PhotosBefore
from screener.records.record import Record
from screener.records.tables import item_photos, items, photos, readings
from screener.screening.model import Item, Requirement
from screener.vision.fingerprint import descriptors, fingerprint

SAMPLES = Path(__file__).parents[2] / "samples" / "photos"
MOMENT = "2026-03-12T08:15:00.000000Z"
AT_ONCE = 2000


def turned(text: str, rng: np.random.Generator) -> str:
    """A fingerprint with other descriptors: each bit is another one with a chance of three in ten."""
    packed, count = bytearray(base64.b64decode(text)), len(descriptors(text))
    flips = np.packbits(rng.random((32 * count, 8)) < 0.3, axis=1).ravel()
    packed[-32 * count :] = (np.frombuffer(packed[-32 * count :], np.uint8) ^ flips).tobytes()
    return base64.b64encode(bytes(packed)).decode()


def fill(record: Record, prints: list[str], how_many: int) -> None:
    """Write items, photos and readings straight into the tables."""
    rng = np.random.default_rng(11)
    run = record.start_run("receive", order_name="filled.csv", order_sha256="f" * 64)
    for first in range(0, how_many, AT_ONCE):
        numbers = range(first, min(how_many, first + AT_ONCE))
        shas = [hashlib.sha256(str(number).encode()).hexdigest() for number in numbers]
        ids = sorted({number // 2 + 1 for number in numbers})
        plain = dict.fromkeys(("disposition", "suspicion", "requirement", "supplier", "fingerprint"), "x")
        rows = [
            {
                "id": i,
                "run_id": run.id,
                "item_key": str(i),
                "line": str(i),
                "recorded_at": MOMENT,
                "result": {},
                **plain,
            }
            for i in ids
        ]
        looks = [
            {
                "fingerprint": turned(prints[number % len(prints)], rng),
                "width_px": 1600,
                "height_px": 1200,
                "label": {"lines": ["x" * 60] * 60},
            }
            for number in numbers
        ]
        with record._engine.begin() as connection:
            connection.execute(insert(items), rows)
            kept = [{"sha256": s, "name": "a.jpg", "bytes": 1, "stored_path": s, "first_seen_at": MOMENT} for s in shas]
            connection.execute(insert(photos), kept)
            placed = [
                {"item_id": number // 2 + 1, "position": number % 2, "photo_sha256": sha, "name": "a.jpg"}
                for number, sha in zip(numbers, shas, strict=True)
            ]
            connection.execute(insert(item_photos), placed)
            read = [
                {"photo_sha256": sha, "reader_version": "1", "look": look, "read_at": MOMENT}
                for sha, look in zip(shas, looks, strict=True)
            ]
            connection.execute(insert(readings), read)


def say(text: str) -> None:
    """Write a line."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def memory_mb() -> float:
    """The most that this process has held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Fill, take in, ask."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=100_000)
    parser.add_argument("--folder", type=Path, help="where the record is kept for another time")
    options = parser.parse_args()
    pictures = [np.asarray(cv2.imread(str(p), 0)) for p in sorted(SAMPLES.rglob("*.jpg"))]
    folder = options.folder or Path(tempfile.mkdtemp())
    with Record.open(folder / f"{options.photos}.sqlite") as record:
        if not record.runs():
            fill(record, [fingerprint(p) for p in pictures], options.photos)
        size = record.place.file.stat().st_size if record.place.file else 0
        say(f"{options.photos} photos recorded, {size / 1e6:.0f} MB; {memory_mb():.0f} MB held")
        before, began = PhotosBefore(record), time.process_time()
        before.catch_up()
        say(f"taken in: {time.process_time() - began:.1f} s; {memory_mb():.0f} MB held at most")
        run = record.start_run("receive", order_name="now.csv", order_sha256="0" * 64)
        spent = np.zeros((0, 3))
        for at in range(0, len(pictures) - 2, 3):
            some = {f"{at + k:064x}": fingerprint(pictures[at + k]) for k in range(3)}
            moments = [time.process_time()]
            before.catch_up()
            moments.append(time.process_time())
            before.pictures.ask(some)
            moments.append(time.process_time())
            item = Item("1", Requirement(line="1", need="6205", explained=explain("6205")), ())
            before.seen(item, tuple(some), run)
            moments.append(time.process_time())
            spent = np.vstack([spent, np.diff(moments)])
        catch_up, ask, seen = 1000 * np.median(spent, axis=0)
        say(f"an item of three photos: catch up {catch_up:.0f} ms, ask {ask:.0f} ms, say where {seen:.0f} ms")


if __name__ == "__main__":
    main()
