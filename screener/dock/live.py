"""What changed, as it changes: every station sees what the others do, and catches up after a lost connection.

A change is an event of the record; its number is the id of the server-sent event, so a browser that comes back says
what it has seen and gets the rest. The record is asked twice a second, because another server may write into it, too.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import logging
from typing import TYPE_CHECKING, Any, Self

from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from screener.dock.asked import number_of
from screener.errors import ScreenerError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from starlette.requests import Request

    from screener.receiving.bench import Bench
    from screener.records.model import Event

log = logging.getLogger("screener.dock")
ASK_EVERY_SECONDS = 0.5
KEEP_ALIVE_SECONDS = 15.0
LONGEST_WAIT_SECONDS = 25.0
AT_ONCE = 500


class Changes:
    """Watches the record while the server runs and wakes whoever waits."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._task: asyncio.Task[None] | None = None
        self._news = asyncio.Condition()
        self.last = 0
        self.closing = False

    async def __aenter__(self) -> Self:
        self.last = await run_in_threadpool(self._bench.record.last_event)
        self._task = asyncio.create_task(self._watch())
        return self

    async def __aexit__(self, *_: object) -> None:
        await self.close()

    async def close(self) -> None:
        """Stop watching and let every waiting station go."""
        self.closing = True
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task
        await self._wake()

    async def after(self, event_id: int, wait_seconds: float) -> tuple[dict[str, Any], ...]:
        """Return the changes after an event, waiting for the first one at most so long."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(wait_seconds), self._news:
                await self._news.wait_for(lambda: self.last > event_id or self.closing)
        if self.last <= event_id:
            return ()
        events = await run_in_threadpool(self._bench.record.events_after, event_id, at_most=AT_ONCE)
        return tuple(change_of(event) for event in events)

    async def _watch(self) -> None:
        while True:
            await asyncio.sleep(ASK_EVERY_SECONDS)
            try:
                newest = await run_in_threadpool(self._bench.record.last_event)
            except ScreenerError as error:
                # A database that is busy or away for a moment is asked again; nobody's page ends for that.
                log.warning("%s", error)
                continue
            if newest > self.last:
                self.last = newest
                await self._wake()

    async def _wake(self) -> None:
        async with self._news:
            self._news.notify_all()


def change_of(event: Event) -> dict[str, Any]:
    """Return an event as stations get it: what to look at again, not what it says."""
    return {
        "id": event.id,
        "kind": event.kind,
        "run_id": event.run_id,
        "line": event.data.get("line"),
        "item_id": event.item_id,
        "at": event.at,
    }


def routes() -> list[Route]:
    """Return the routes of live updates."""
    return [Route("/live", stream), Route("/api/v1/changes", poll)]


async def poll(request: Request) -> Response:
    """Return the changes after an event; waits for one if asked to."""
    changes: Changes = request.app.state.changes
    after = number_of(request, "after", usual=changes.last)
    wait = number_of(request, "wait", usual=0, most=int(LONGEST_WAIT_SECONDS))
    found = await changes.after(after, wait)
    return JSONResponse({"changes": list(found), "last": found[-1]["id"] if found else after})


async def stream(request: Request) -> Response:
    """Send changes as they come, from the last one the browser has seen."""
    changes: Changes = request.app.state.changes
    seen = request.headers.get("last-event-id", "")
    after = int(seen) if seen.isdecimal() and len(seen) < 16 else number_of(request, "after", usual=changes.last)
    return StreamingResponse(
        _events(changes, after), media_type="text/event-stream", headers={"X-Accel-Buffering": "no"}
    )


async def _events(changes: Changes, after: int) -> AsyncIterator[str]:
    yield f"retry: 2000\nid: {after}\nevent: hello\ndata: {{}}\n\n"
    while not changes.closing:
        found = await changes.after(after, KEEP_ALIVE_SECONDS)
        if not found:
            yield ": still here\n\n"
        for change in found:
            after = change["id"]
            yield f"id: {after}\nevent: change\ndata: {json.dumps(change)}\n\n"
