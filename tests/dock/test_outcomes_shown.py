"""The buyer's pages after an outcome: what turned out not to conform is not shown as an open question."""

from __future__ import annotations

from collections.abc import Callable

from dock.conftest import open_delivery
from starlette.testclient import TestClient

from screener.receiving.bench_model import HandReading
from screener.records.outcomes import confirm


def answered(client: TestClient) -> tuple[int, int]:
    """A line to be sent back: 47 mm outside is no 6205 (ISO 15: 25 x 52 x 15 mm)."""
    bench, run = client.app.state.bench, open_delivery(client)
    bench.add_reading(run, "1", HandReading("od_mm", 47.0, "caliper", who="Kim"))
    answer = bench.screen_line(run, "1")
    assert answer is not None
    return run, answer.item_id


def test_a_confirmed_item_says_who_confirmed_it_and_what_to_do(dock: Callable[..., TestClient]) -> None:
    client = dock()
    run, item = answered(client)
    record = client.app.state.bench.record
    confirm(record, item, "nonconforming", who="A. Buyer", why="did not fit")
    page = client.get(f"/items/{item}").text
    assert "Confirmed as nonconforming by A. Buyer" in page
    assert "it goes back with a claim" in page
    line = client.get(f"/deliveries/{run}/lines/1").text
    assert "confirmed as nonconforming by A. Buyer" in line
    assert "it goes back with a claim" in line
    confirm(record, item, "conforming", who="A. Buyer", why="it was the shaft")
    assert "It may be used." in client.get(f"/items/{item}").text
    assert client.app.state.bench.held() == ()
    (supplier,) = client.app.state.bench.suppliers()
    assert (supplier.use, supplier.send_back) == (1, 0)
