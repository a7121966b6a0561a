"""A process of its own for everything that opens what strangers sent: pictures, spreadsheets.

It has a limit on memory, each task has a limit on time, and when it dies only its task is lost: the next one gets a new
process. So a picture made to break its decoder costs one sentence, not the server.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
import sys
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any, TypeVar

from screener.errors import InputUnreadable, ScreenerError

T = TypeVar("T")


class Stopped(ScreenerError):
    """The process did not finish its task: it died, or took too long."""


class Child:
    """One such process, started when it is first needed. One task at a time; usable from several threads.

    Parameters
    ----------
    memory_bytes
        Of its data; more ends the task.
    prepare
        Called once in the new process; has to be a function of a module.
    """

    def __init__(self, memory_bytes: int, prepare: Callable[[], None] | None = None) -> None:
        self._memory_bytes = memory_bytes
        self._prepare = prepare
        self._turn = threading.Lock()
        self._life = threading.Lock()
        """Held while the process is started or ended, so that nothing is ended half started."""
        self._closed = False
        self._process: Any = None
        self._line: Connection | None = None

    def do(self, task: Callable[..., T], *given: Any, seconds: float) -> T:
        """Run ``task(*given)`` in the process and return what it gives.

        Raises
        ------
        InputUnreadable
            The task said so.
        Stopped
            It took too long, used too much memory, or its process died.
        """
        with self._turn:
            line = self._line or self._start()
            try:
                line.send((task, given))
                if not line.poll(seconds):
                    self._end()
                    raise Stopped("this took too long and was given up.", code="too_slow")
                kind, answer = line.recv()
            except (EOFError, OSError) as error:
                self._end()
                raise Stopped("the reader stopped on this file.", code="reader_stopped") from error
        if kind == "told":
            raise InputUnreadable(answer[0], where=answer[1], next_step=answer[2], code=answer[3])
        if kind == "fault":
            raise Stopped(f"the reader stopped on this file ({answer}).", code="reader_stopped")
        result: T = answer
        return result

    def warm(self) -> None:
        """Start the process, so that the first task finds it ready."""
        with self._turn:
            if self._line is None:
                self._start()

    def close(self) -> None:
        """End the process at once, whatever it does: nothing half done is kept."""
        self._closed = True
        self._end()

    def _start(self) -> Connection:
        with self._life:
            if self._closed:
                raise Stopped("the server is being stopped.", code="closed")
            return self._started()

    def _started(self) -> Connection:
        # spawn: forking a process that already runs threads can hang.
        context = multiprocessing.get_context("spawn")
        mine, its = context.Pipe()
        self._process = context.Process(
            target=_work, args=(its, self._memory_bytes, self._prepare), daemon=True, name="screener-reader"
        )
        self._process.start()
        # Ours must be the only other end: so each side notices when the other is gone.
        its.close()
        self._line = mine
        return mine

    def _end(self) -> None:
        with self._life:
            process, line = self._process, self._line
            self._process = self._line = None
        if process is not None:
            process.kill()
            process.join(5)
        if line is not None:
            line.close()


def _work(line: Connection, memory_bytes: int, prepare: Callable[[], None] | None) -> None:
    # Ctrl-C reaches every process of the terminal; the server alone decides what it means.
    # The same for a service manager that stops all processes of the server at once; when the server is gone, so are we.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    if prepare is not None:
        prepare()
    _limit_memory(memory_bytes)
    with contextlib.suppress(EOFError, OSError):
        while True:
            task, given = line.recv()
            line.send(_done(task, given))


def _done(task: Callable[..., Any], given: tuple[Any, ...]) -> tuple[str, Any]:
    try:
        return "done", task(*given)
    except ScreenerError as error:
        return "told", (error.says, error.where, error.next_step, error.code)
    except Exception as error:  # noqa: BLE001 decoders raise anything; the server goes on
        return "fault", type(error).__name__


def _limit_memory(memory_bytes: int) -> None:
    """Limit what this process may ask for. Windows has no such call; there the limits on pixels and bytes remain."""
    if sys.platform == "win32":
        return
    import resource

    # Linux counts private memory under RLIMIT_DATA; what libraries only map and never use does not count there.
    kind = resource.RLIMIT_DATA if sys.platform == "linux" else resource.RLIMIT_AS
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(kind, (memory_bytes, memory_bytes))
