"""Two stations on one record see each other, and one that was away catches up.

Server-sent events as the HTML standard defines them (WHATWG, section 9.2): ``id``, ``event``, ``data``, ``retry``.
"""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from dock.conftest import ORDER, line_when, open_delivery, photo, put_photo
from dock.servers import Server, fake_server
from starlette.testclient import TestClient


def events(
    server: Server, headers: dict[str, str], until: Callable[[list[dict[str, Any]]], bool]
) -> list[dict[str, Any]]:
    """Listen like a browser, until enough was heard."""
    heard: list[dict[str, Any]] = []
    with server.client() as client, client.stream("GET", "/live", headers=headers) as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        event: dict[str, Any] = {}
        for line in stream.iter_lines():
            name, _, value = line.partition(": ")
            if line:
                event[name] = value
                continue
            heard.append(event)
            event = {}
            if until(heard):
                return heard
    raise AssertionError(heard)


def test_a_station_hears_what_another_does_and_goes_on_after_a_lost_connection(tmp_path: Path) -> None:
    with fake_server(str(tmp_path / "record.sqlite"), tmp_path / "photos") as server, server.client() as other:
        run = other.post("/api/v1/deliveries", params={"name": "o.csv"}, content=ORDER).json()["run_id"]

        def give() -> None:
            time.sleep(0.5)
            put_photo(other, run, "1", photo(1))

        giving = threading.Thread(target=give)
        giving.start()
        kinds = lambda heard: [json.loads(e["data"]).get("kind") for e in heard]  # noqa: E731
        heard = events(server, {}, lambda heard: "screened" in kinds(heard))
        giving.join()
        assert heard[0]["event"] == "hello"
        assert kinds(heard)[-3:] == ["photo", "photo_read", "screened"]
        assert json.loads(heard[-1]["data"])["line"] == "1"
        # The connection is lost, the other station works on, the browser says what it has seen.
        put_photo(other, run, "2", photo(2))
        line_when(other, run, "2")
        seen = heard[-3]["id"]
        again = events(server, {"Last-Event-ID": seen}, lambda heard: kinds(heard).count("screened") == 2)
        numbers = [int(e["id"]) for e in again[1:]]
        assert numbers == list(range(int(seen) + 1, int(seen) + 1 + len(numbers))), "nothing missed, nothing twice"


def test_polling_gives_the_same(program: TestClient) -> None:
    run = open_delivery(program)
    last = program.app.state.bench.record.last_event()
    assert program.get("/api/v1/changes", params={"after": last}).json() == {"changes": [], "last": last}
    program.post(f"/api/v1/deliveries/{run}/scans", json={"line": "1", "text": "6205-2RS C3"})
    answer = program.get("/api/v1/changes", params={"after": last, "wait": 10}).json()
    assert [change["kind"] for change in answer["changes"]] == ["scan", "screened"]
    assert answer["last"] == answer["changes"][-1]["id"]
