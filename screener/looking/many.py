"""Many photos, on all cores, in the order given; one bad photo never costs the others."""

from __future__ import annotations

import multiprocessing
import os
import signal
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import TYPE_CHECKING

from screener.looking.look import ALL, look, use_one_thread
from screener.looking.reading import PhotoReading
from screener.vision.model import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from screener.looking.look import Want

WORTH_A_POOL = 4
"""From this many photos on, starting worker processes (about two seconds each) pays."""


def look_at_all(
    photos: Sequence[Path], want: frozenset[Want] = ALL, *, workers: int | None = None
) -> Iterator[PhotoReading]:
    """Yield one reading per photo, in order.

    Parameters
    ----------
    photos
        Files to read.
    want
        Which readers to run.
    workers
        Processes; by default one per core. One, or few photos, runs in this process.
    """
    count = workers or os.cpu_count() or 1
    if count == 1 or len(photos) < WORTH_A_POOL:
        yield from (look(p, want) for p in photos)
        return
    yield from _in_processes(photos, want, min(count, len(photos)))


def _in_processes(photos: Sequence[Path], want: frozenset[Want], workers: int) -> Iterator[PhotoReading]:
    pool = _pool(workers)
    try:
        futures = {i: pool.submit(look, p, want) for i, p in enumerate(photos)}
        for i, photo in enumerate(photos):
            try:
                yield futures[i].result()
            except BrokenProcessPool:
                # A decoder took its process down. Read this photo alone so that the culprit is known, and go on.
                yield look_alone(photo, want)
                pool.shutdown(wait=False, cancel_futures=True)
                pool = _pool(workers)
                futures = _resubmit(pool, futures, photos, want, after=i)
    finally:
        _stop(pool)


def _stop(pool: ProcessPoolExecutor) -> None:
    """End the pool at once: a photo half read is read again, and nobody waits for it after Ctrl-C."""
    pool.shutdown(wait=False, cancel_futures=True)
    for worker in multiprocessing.active_children():
        worker.terminate()


def _resubmit(
    pool: ProcessPoolExecutor,
    futures: dict[int, Future[PhotoReading]],
    photos: Sequence[Path],
    want: frozenset[Want],
    *,
    after: int,
) -> dict[int, Future[PhotoReading]]:
    """Keep what finished before the break; hand the rest to the new pool."""
    kept = {i: f for i, f in futures.items() if f.done() and not f.cancelled() and f.exception() is None}
    return {i: kept.get(i) or pool.submit(look, photos[i], want) for i in range(after + 1, len(photos))}


def look_alone(photo: Path, want: frozenset[Want] = ALL) -> PhotoReading:
    """Read a photo in a process of its own: if that one stops, the reading says so."""
    with _pool(1) as single:
        try:
            return single.submit(look, photo, want).result()
        except BrokenProcessPool:
            says = "Reading this photo made the reader stop. Take it again or save it as a plain JPEG."
            return PhotoReading(str(photo), problems=(Problem("reader_stopped", says),), readable=False)


def _pool(workers: int) -> ProcessPoolExecutor:
    # spawn: forking a process that already runs OpenCV or ONNX threads can hang.
    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn"), initializer=start_worker)


def start_worker() -> None:
    """Set up a process that reads photos for another."""
    # Ctrl-C reaches every process of the terminal; the parent alone decides what it means.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    use_one_thread()
