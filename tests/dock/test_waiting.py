"""Nobody waits for what others do: a photo is taken at once, and pictures being made small hold up nothing else."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from dock.conftest import line_when, open_delivery, photo, put_photo
from starlette.concurrency import run_in_threadpool
from starlette.testclient import TestClient


def test_a_photo_known_already_is_taken_while_answers_are_being_made(program: TestClient, monkeypatch: Any) -> None:
    run = open_delivery(program)
    put_photo(program, run, "1", photo(1))
    line_when(program, run, "1")
    bench, go_on = program.app.state.bench, threading.Event()
    answers = bench.screen_line

    def slowly(*given: Any) -> Any:
        go_on.wait(30)
        return answers(*given)

    monkeypatch.setattr(bench, "screen_line", slowly)
    try:
        with ThreadPoolExecutor(1) as pool:
            answer = pool.submit(put_photo, program, run, "2", photo(1)).result(timeout=10)
            assert (answer.status_code, answer.json()["read"]) == (202, True)
            go_on.set()
    finally:
        go_on.set()
    assert line_when(program, run, "2")["answer"]["word"] == "hold", "the answer follows by itself"


def test_many_small_pictures_at_once_hold_up_nothing_else(dock: Callable[..., TestClient]) -> None:
    client = dock()
    work = client.app.state.work

    async def asked_meanwhile() -> float:
        await work.aside(time.sleep, 0.0)
        pictures = [asyncio.create_task(work.aside(time.sleep, 0.05)) for _ in range(60)]
        await asyncio.sleep(0.1)
        began = time.monotonic()
        await run_in_threadpool(time.sleep, 0.0)
        took = time.monotonic() - began
        await asyncio.gather(*pictures)
        return took

    # Sixty pictures take three seconds one after the other; Starlette has forty threads for everything.
    assert client.portal.call(asked_meanwhile) < 0.6
