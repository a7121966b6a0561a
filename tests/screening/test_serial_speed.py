"""100 000 recorded serials: a duplicate is found in under 5 ms an item."""

from __future__ import annotations

from time import perf_counter

import pytest
from sqlalchemy import insert

from screener.records.model import ItemRecord, SerialRef
from screener.records.record import Record
from screener.records.tables import serials

RECORDED = 100_000
ASKED = 200
BOUND_S = 0.005


@pytest.fixture(scope="module")
def full(tmp_path_factory):
    with Record.open(tmp_path_factory.mktemp("record") / "r.db") as record:
        run = record.start_run("receive", order_name="order.csv")
        kept = ItemRecord("1", "f", {}, "accept", "none", serials=(SerialRef("FIRST"),))
        item = record.add_item(run.id, kept)
        rows = [{"serial": f"S{n:07}", "scope": "", "item_id": item, "run_id": run.id} for n in range(RECORDED - 1)]
        with record._engine.begin() as connection:
            connection.execute(insert(serials), rows)
        yield record


def test_duplicates_among_many_serials(full):
    wanted = [f"S{n * 457 % RECORDED:07}" for n in range(ASKED // 2)] + [f"NEW{n}" for n in range(ASKED // 2)]
    best_s = min(asked(full, wanted) for _ in range(3))  # the machine may be busy with something else
    assert best_s / ASKED < BOUND_S


def asked(record, wanted):
    started = perf_counter()
    found = [len(record.serials_seen([serial])) for serial in wanted]
    taken_s = perf_counter() - started
    assert found == [1] * (ASKED // 2) + [0] * (ASKED // 2)
    return taken_s
