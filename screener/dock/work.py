"""The queue of photos to be read, and the answers made from them.

A photo given is an event of the record before its sender hears "got it"; the queue only remembers what this server
still wants to do about it. A server that was killed finds its work in the record when it starts again, and takes over
what another server on the same record has left undone for a minute.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Self, TypeVar

from starlette.concurrency import run_in_threadpool

from screener.dock.child import Child, Stopped
from screener.dock.faults import Busy
from screener.errors import InputUnreadable, ScreenerError
from screener.looking.look import use_one_thread
from screener.looking.reading import PhotoReading
from screener.records.archive import Archive
from screener.vision.model import Problem

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from screener.dock.settings import DockSettings
    from screener.receiving.bench import Bench
    from screener.receiving.bench_model import PhotoJob
    from screener.receiving.compare_references import ReferenceComparison
    from screener.records.references import ReferencePhoto

T = TypeVar("T")
log = logging.getLogger("screener.dock")
SWEEP_SECONDS = 60.0
SIDE_SECONDS = 30.0
SIDE_MEMORY_BYTES = 2_000_000_000
_GIVEN_UP = "Reading this photo was given up: {why} Take it again, or save it as a plain JPEG."


class Beside:
    """Lays photos beside references in a process of its own, and remembers what came of it.

    Usable as the ``compare`` of a `Bench`.
    """

    def __init__(self, memory_bytes: int, seconds: float) -> None:
        self._child = Child(memory_bytes, use_one_thread)
        self._seconds = seconds
        self._compared = lru_cache(maxsize=256)(self._compare)

    def __call__(self, photo: Path, references: tuple[ReferencePhoto, ...], archive: Archive) -> ReferenceComparison:
        """As `screener.receiving.compare_references.compare_photo`; the archive is always the same."""
        return self._compared(photo, references, archive.folder)

    def close(self) -> None:
        """End the process."""
        self._child.close()

    def _compare(self, photo: Path, references: tuple[ReferencePhoto, ...], folder: Path) -> ReferenceComparison:
        from screener.receiving.compare_references import compare_photo

        try:
            return self._child.do(compare_photo, photo, references, Archive(folder), seconds=self._seconds)
        except Stopped as error:
            raise InputUnreadable(error.says, where=photo.name, code=error.code) from error


class Work:
    """Reads photos in processes, as many as there are cores, and answers lines. Runs between enter and exit."""

    def __init__(self, bench: Bench, settings: DockSettings, beside: Beside) -> None:
        self._bench = bench
        self._beside = beside
        self._settings = settings
        prepare = use_one_thread if settings.prepare_readers else None
        self._readers = [Child(settings.reader_memory_bytes, prepare) for _ in range(settings.workers)]
        self._side = Child(SIDE_MEMORY_BYTES)
        self._queue: asyncio.Queue[PhotoJob] = asyncio.Queue()
        self._at_work: set[PhotoJob] = set()
        self._turns: defaultdict[int, asyncio.Lock] = defaultdict(asyncio.Lock)
        self._side_turn = asyncio.Lock()
        self._due_soon: set[tuple[int, str]] = set()
        self._answering: set[asyncio.Task[None]] = set()
        self._left: set[object] = set()
        self._tasks: list[asyncio.Task[None]] = []

    async def __aenter__(self) -> Self:
        self._tasks = [asyncio.create_task(self._read(reader)) for reader in self._readers]
        self._tasks.append(asyncio.create_task(self._sweep()))
        self._tasks.append(asyncio.create_task(self._know_photos()))
        return self

    async def __aexit__(self, *_: object) -> None:
        tasks = [*self._tasks, *self._answering]
        for task in tasks:
            task.cancel()
        self._beside.close()
        for child in (*self._readers, self._side):
            child.close()
        await asyncio.gather(*tasks, return_exceptions=True)

    @property
    def waiting(self) -> int:
        """Photos that are being read or wait for it."""
        return len(self._at_work)

    def check_room(self) -> None:
        """Refuse more than can be read soon.

        Raises
        ------
        Busy
            The queue is full.
        """
        if self.waiting >= self._settings.queue_limit:
            raise Busy

    def read_soon(self, job: PhotoJob) -> None:
        """Put a photo into the queue, once."""
        if job not in self._at_work:
            self._at_work.add(job)
            self._queue.put_nowait(job)

    async def changed(self, run_id: int, line: str) -> None:
        """Answer a line anew; if photos of it are unread, they are read first and the answer follows."""
        missing = await run_in_threadpool(self._bench.missing, run_id, line)
        for job in missing:
            self.read_soon(job)
        if not missing:
            async with self._turns[run_id]:
                await run_in_threadpool(self._bench.screen_line, run_id, line)

    def answer_soon(self, run_id: int, line: str) -> None:
        """Answer a line anew without waiting for it: whoever sent a photo has only to hear that it is kept."""
        if (run_id, line) not in self._due_soon:
            self._due_soon.add((run_id, line))
            task = asyncio.create_task(self._answer_soon(run_id, line))
            self._answering.add(task)
            task.add_done_callback(self._answering.discard)

    async def _answer_soon(self, run_id: int, line: str) -> None:
        try:
            async with self._turns[run_id]:
                # What is given from here on needs an answer of its own.
                self._due_soon.discard((run_id, line))
            await self.changed(run_id, line)
        except ScreenerError as error:
            # What was given stands in the record; the sweep takes it up again.
            log.warning("line %s of run %s: %s", line, run_id, error)
        except Exception:
            log.exception("a fault of ours on line %s of run %s", line, run_id)

    async def aside(self, task: Callable[..., T], *given: Any) -> T:
        """Do something short with what a stranger sent (a spreadsheet, a small picture) in the process for it.

        Raises
        ------
        ScreenerError
            It could not be read, or the process stopped on it.
        """
        # Waiting here, not in a thread: twenty tablets asking for small pictures would hold all threads there are.
        async with self._side_turn:
            return await run_in_threadpool(self._side.do, task, *given, seconds=SIDE_SECONDS)

    async def _read(self, reader: Child) -> None:
        if self._settings.prepare_readers:
            await asyncio.to_thread(reader.warm)
        while True:
            job = await self._queue.get()
            try:
                await self._read_one(job, reader)
            except ScreenerError as error:
                # The record is away or busy; the photo stands in it, the sweep takes it up again.
                log.warning("photo %s of run %s: %s", job.sha256[:12], job.run_id, error)
            except Exception:
                log.exception("a fault of ours on photo %s", job.sha256[:12])
            finally:
                self._at_work.discard(job)

    async def _read_one(self, job: PhotoJob, reader: Child) -> None:
        reading = await run_in_threadpool(self._bench.remembered, job.sha256)
        if reading is None:
            reading = await asyncio.to_thread(self._reading, job, reader)
        await run_in_threadpool(self._bench.photo_was_read, job, reading)
        self._at_work.discard(job)
        await self.changed(job.run_id, job.line)

    def _reading(self, job: PhotoJob, reader: Child) -> PhotoReading:
        path = self._bench.record.archive.find(job.sha256)
        if path is None:
            return _given_up(job, "it is not in the archive.")
        try:
            return reader.do(self._settings.reader, path, seconds=self._settings.read_seconds)
        except Stopped as error:
            if error.code == "closed":
                # Not the photo's fault: it is read when the server runs again.
                raise
            return _given_up(job, error.says)

    async def _know_photos(self) -> None:
        """Take in the record's photos beforehand: of a large record the first answer would wait for it."""
        try:
            await run_in_threadpool(self._bench.photos_before.catch_up)
        except ScreenerError as error:
            log.warning("%s", error)
        except Exception:
            log.exception("a fault of ours while taking in the record's photos")

    async def _sweep(self) -> None:
        """Take up what was left: at once what stood there when this server started, later what another leaves."""
        age = 0
        while True:
            try:
                await self._take_up(at_once=age == 0)
            except ScreenerError as error:
                log.warning("%s", error)
            except Exception:
                log.exception("a fault of ours while looking for work")
            age += 1
            await asyncio.sleep(SWEEP_SECONDS)

    async def _take_up(self, *, at_once: bool) -> None:
        jobs = [job for job in await run_in_threadpool(self._bench.unread) if job not in self._at_work]
        lines = await run_in_threadpool(self._bench.due)
        before, self._left = self._left, {*jobs, *lines}
        for job in jobs:
            if at_once or job in before:
                self.read_soon(job)
        for run_id, line in lines:
            if at_once or (run_id, line) in before:
                with contextlib.suppress(ScreenerError):
                    await self.changed(run_id, line)


def _given_up(job: PhotoJob, why: str) -> PhotoReading:
    problem = Problem("reader_stopped", _GIVEN_UP.format(why=why))
    return PhotoReading(job.sha256, job.sha256, problems=(problem,), readable=False)
