"""A backlog of photos read into the record: on all cores or on a cluster, with bounded memory, each content once.

Photos are known by content and version of the reader: what the record holds is not read again, so a run that was
interrupted goes on where it stopped, and two runs over the same folder double nothing. Only this process writes to the
record; a reader that dies takes at most the photo with it that it was reading, and that one is read again.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
from collections import Counter
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from itertools import chain, islice
from pathlib import Path
from typing import Protocol

from screener.errors import InputUnreadable
from screener.looking.look import READER_VERSION, look
from screener.looking.many import look_alone, start_worker
from screener.looking.reading import PhotoReading, as_json
from screener.receiving.photo_files import PhotoFile, ends_like_a_photo, sha256_of
from screener.receiving.progress import Progress, Silent
from screener.records.record import Record

AHEAD = 3
"""Photos handed to each reader at once: enough that none waits, few enough that memory stays small."""
PHOTOS_A_PROCESS = 150
"""After so many a reading process is replaced: what decoders and engines leak stays bounded."""
_ASK_AT_ONCE = 200


class Reader(Protocol):
    """Reads photos, in any order, holding only a few at a time."""

    def __call__(self, photos: Iterable[PhotoFile]) -> Iterator[tuple[PhotoFile, PhotoReading]]:
        """Yield each photo with its reading as soon as it is there."""


@dataclass(slots=True)
class Backlog:
    """What a run over a backlog did."""

    photos: int
    read: int = 0
    remembered: int = 0
    """Read before by this version of the reader."""
    same_content: int = 0
    """Files whose content was met in this run already."""
    unreadable: list[tuple[str, str]] = field(default_factory=list)
    """(name, why) of files that are no readable photo."""


def read_backlog(
    folder: Path, record: Record, *, reader: Reader | None = None, progress: Progress | None = None
) -> Backlog:
    """Read every photo below a folder that the record does not hold yet; return what was done.

    Parameters
    ----------
    folder
        Walked with all folders in it.
    record
        Its reading cache is filled as photos are read.
    reader
        By default all cores of this machine (`on_cores`).
    progress
        Told of each photo.

    Raises
    ------
    InputUnreadable
        There is no such folder.
    """
    if not folder.is_dir():
        raise InputUnreadable("there is no such folder.", where=str(folder), next_step="Give the folder of the photos.")
    progress = progress or Silent()
    paths = sorted(path for path in folder.rglob("*") if path.is_file() and ends_like_a_photo(path))
    done = Backlog(len(paths))
    progress.begin(len(paths), 0)
    fresh = _fresh(_files(paths, folder, done, progress), record, done, progress)
    for photo, reading in (reader or on_cores())(fresh):
        record.cache_reading(photo.sha256, READER_VERSION, as_json(reading.named(photo.name)))
        done.read += 1
        if not reading.readable:
            done.unreadable.append((photo.name, " ".join(problem.says for problem in reading.problems)))
        progress.photo_read(photo.name, remembered=False)
    return done


def _files(paths: Iterable[Path], folder: Path, done: Backlog, progress: Progress) -> Iterator[PhotoFile]:
    """Yield each file with its hash; one that cannot be opened is listed."""
    for path in paths:
        name = path.relative_to(folder).as_posix()
        try:
            yield PhotoFile(name, path, sha256_of(path))
        except OSError as error:
            done.unreadable.append((name, f"the file cannot be opened ({error.strerror})."))
            progress.photo_read(name, remembered=False)


def _fresh(photos: Iterable[PhotoFile], record: Record, done: Backlog, progress: Progress) -> Iterator[PhotoFile]:
    """Yield what has to be read, each content once; the record is asked for many photos at a time."""
    met: set[bytes] = set()
    rest = iter(photos)
    while page := list(islice(rest, _ASK_AT_ONCE)):
        known = record.photos_read([photo.sha256 for photo in page], READER_VERSION)
        for photo in page:
            content = bytes.fromhex(photo.sha256)
            if photo.sha256 not in known and content not in met:
                met.add(content)
                yield photo
                continue
            done.remembered += photo.sha256 in known
            done.same_content += photo.sha256 not in known
            progress.photo_read(photo.name, remembered=True)


def on_cores(workers: int | None = None) -> Reader:
    """Return a reader on this machine: a process a core, one thread each."""
    count = workers or os.cpu_count() or 1

    def read(photos: Iterable[PhotoFile]) -> Iterator[tuple[PhotoFile, PhotoReading]]:
        rest = iter(photos)
        breaks: Counter[str] = Counter()
        while True:
            with _pool(count) as pool:
                broken = yield from _windowed(pool, rest, AHEAD * count)
            if not broken:
                return
            # A process that dies breaks its pool. What was on its way goes first into the next one; a photo that is
            # there again when that breaks too is read alone, so that the culprit is known.
            breaks.update(photo.sha256 for photo in broken)
            yield from ((photo, look_alone(photo.path)) for photo in broken if breaks[photo.sha256] > 1)
            rest = chain([photo for photo in broken if breaks[photo.sha256] == 1], rest)

    return read


@contextlib.contextmanager
def _pool(count: int) -> Iterator[ProcessPoolExecutor]:
    # spawn: forking a process that already runs OpenCV or ONNX threads can hang.
    spawn = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(count, mp_context=spawn, initializer=start_worker, max_tasks_per_child=PHOTOS_A_PROCESS)
    try:
        yield pool
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _windowed(
    pool: ProcessPoolExecutor, rest: Iterator[PhotoFile], window: int
) -> Generator[tuple[PhotoFile, PhotoReading], None, list[PhotoFile]]:
    """Yield readings with at most ``window`` photos on their way; return those that were when the pool broke."""
    on_way: dict[Future[PhotoReading], PhotoFile] = {}
    while True:
        for photo in islice(rest, window - len(on_way)):
            try:
                on_way[pool.submit(look, photo.path)] = photo
            except BrokenProcessPool:
                return [*on_way.values(), photo]
        if not on_way:
            return []
        for future in wait(on_way, return_when=FIRST_COMPLETED).done:
            if isinstance(future.exception(), BrokenProcessPool):
                return list(on_way.values())
            yield on_way.pop(future), future.result()
