"""The interface for pages and other programs; the list of its addresses stands in `screener.dock.app`."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from screener.dock import bodies
from screener.dock.asked import body_of, number_of, text_of
from screener.dock.openapi import document
from screener.dock.taking import decode, open_delivery, photo_form, take_photo
from screener.receiving.bench_model import HandReading
from screener.records.export import item_as_json
from screener.records.standing import standings

if TYPE_CHECKING:
    from starlette.requests import Request

    from screener.dock.work import Work
    from screener.receiving.bench import Bench
    from screener.records.record import Record

API = "/api/v1"


def routes() -> list[Route]:
    """Return the routes of the interface."""
    return [
        Route(f"{API}/openapi.json", contract),
        Route(f"{API}/deliveries", deliveries, methods=["GET"]),
        Route(f"{API}/deliveries", open_delivery, methods=["POST"]),
        Route(f"{API}/deliveries/{{run}}", delivery, methods=["GET"]),
        Route(f"{API}/deliveries/{{run}}/line", line, methods=["GET"]),
        Route(f"{API}/deliveries/{{run}}/finish", finish, methods=["POST"]),
        Route(f"{API}/deliveries/{{run}}/photos", photo_form, methods=["POST"]),
        Route(f"{API}/deliveries/{{run}}/photos/withdraw", withdraw, methods=["POST"]),
        Route(f"{API}/deliveries/{{run}}/photos/{{sha256}}", take_photo, methods=["PUT"]),
        Route(f"{API}/deliveries/{{run}}/scans", scan, methods=["POST"]),
        Route(f"{API}/deliveries/{{run}}/readings", reading, methods=["POST"]),
        Route(f"{API}/deliveries/{{run}}/corrections", correction, methods=["POST"]),
        Route(f"{API}/parts", part, methods=["POST"]),
        Route(f"{API}/items/{{item}}", item, methods=["GET"]),
        Route(f"{API}/items/{{item}}/hold", hold, methods=["POST"]),
        Route(f"{API}/items/{{item}}/release", release, methods=["POST"]),
        Route(f"{API}/held", held, methods=["GET"]),
        Route(f"{API}/suppliers", suppliers, methods=["GET"]),
        Route(f"{API}/find", find, methods=["POST"]),
        Route(f"{API}/decode", decode, methods=["POST"]),
    ]


def contract(_: Request) -> Response:
    """Return the contract of this interface."""
    return JSONResponse(document())


def deliveries(request: Request) -> Response:
    """Return all deliveries and single parts, newest first."""
    return _listed("deliveries", _bench(request).deliveries())


def delivery(request: Request) -> Response:
    """Return one delivery as it stands."""
    return JSONResponse(asdict(_bench(request).delivery(number_of(request, "run"))))


def line(request: Request) -> Response:
    """Return one line as it stands."""
    return JSONResponse(_line(_bench(request), number_of(request, "run"), text_of(request, "line")))


async def finish(request: Request) -> Response:
    """Say that a delivery is worked through."""
    body = await body_of(request, bodies.Finished)
    run_id = number_of(request, "run")
    await run_in_threadpool(_bench(request).finish, run_id, body.who)
    return JSONResponse({"run_id": run_id})


async def withdraw(request: Request) -> Response:
    """Take a photo away from a line."""
    body = await body_of(request, bodies.Withdrawal)
    run_id = number_of(request, "run")
    await run_in_threadpool(_bench(request).withdraw_photo, run_id, body.line, body.sha256, body.who, body.why)
    return await _answered(request, run_id, body.line)


async def scan(request: Request) -> Response:
    """Add what a handheld scanner typed."""
    body = await body_of(request, bodies.Scan)
    run_id = number_of(request, "run")
    await run_in_threadpool(_bench(request).add_scan, run_id, body.line, body.text)
    return await _answered(request, run_id, body.line)


async def reading(request: Request) -> Response:
    """Add a reading with an instrument or by eye."""
    body = await body_of(request, bodies.Reading)
    run_id = number_of(request, "run")
    read = HandReading(**body.model_dump(exclude={"line"}))
    await run_in_threadpool(_bench(request).add_reading, run_id, body.line, read)
    return await _answered(request, run_id, body.line)


async def correction(request: Request) -> Response:
    """Record that something was misread."""
    body = await body_of(request, bodies.Corrected)
    run_id = number_of(request, "run")
    meant = body.line, body.key, body.value, body.who, body.why, body.item_id
    await run_in_threadpool(_bench(request).correct, run_id, *meant)
    return await _answered(request, run_id, body.line)


async def part(request: Request) -> Response:
    """Begin a single part."""
    body = await body_of(request, bodies.Part)
    run_id = await run_in_threadpool(_bench(request).open_part, body.need, frozenset(body.duty), body.maker)
    return JSONResponse({"run_id": run_id, "line": "1"}, status_code=201)


def item(request: Request) -> Response:
    """Return one recorded answer with everything added to it since."""
    return JSONResponse(_with_events(_bench(request).record, number_of(request, "item")))


async def hold(request: Request) -> Response:
    """Keep an item back."""
    return await _decided(request, "hold")


async def release(request: Request) -> Response:
    """Let an item go."""
    return await _decided(request, "release")


def held(request: Request) -> Response:
    """Return the items kept back now."""
    return _listed("held", _bench(request).held())


def suppliers(request: Request) -> Response:
    """Return what was received from each supplier."""
    return _listed("suppliers", _bench(request).suppliers())


async def find(request: Request) -> Response:
    """Return the lines that a scanned code may belong to."""
    body = await body_of(request, bodies.Text)
    return _listed("lines", await run_in_threadpool(_bench(request).find_line, body.text))


async def _decided(request: Request, kind: str) -> Response:
    body = await body_of(request, bodies.Decision)
    bench, item_id = _bench(request), number_of(request, "item")
    await run_in_threadpool(bench.hold if kind == "hold" else bench.release, item_id, body.who, body.why)
    return JSONResponse(await run_in_threadpool(_with_events, bench.record, item_id))


async def _answered(request: Request, run_id: int, key: str) -> Response:
    work: Work = request.app.state.work
    await work.changed(run_id, key)
    return JSONResponse(await run_in_threadpool(_line, _bench(request), run_id, key))


def _bench(request: Request) -> Bench:
    bench: Bench = request.app.state.bench
    return bench


def _line(bench: Bench, run_id: int, key: str) -> dict[str, Any]:
    return asdict(bench.line(run_id, key))


def _listed(name: str, entries: tuple[Any, ...]) -> Response:
    return JSONResponse({name: [asdict(each) for each in entries]})


def _with_events(record: Record, item_id: int) -> dict[str, Any]:
    stored = record.item(item_id)
    return {**item_as_json(stored, standings(record)(stored)), "events": [asdict(event) for event in stored.events]}
