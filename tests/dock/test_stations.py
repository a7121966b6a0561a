"""Many stations at once on real servers: nothing lost, nothing doubled, no other trouble than a clear "busy".

Readers are stood in for where only HTTP, the queue and the record are in question; the first test is the whole thing.
"""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from dock.conftest import line_when, photo
from dock.servers import BUSY, Server, drawn_ring, fake_server, real_server, send_until_taken
from records.test_two_writers import postgres  # noqa: F401 a fixture

from screener.records.record import Record

STATIONS = 20
ORDER = b"line,quantity,designation\n" + b"".join(b"%d,1,6205-2RS\n" % n for n in range(1, STATIONS + 1))


def opened(server: Server) -> int:
    with server.client() as client:
        answer = client.post("/api/v1/deliveries", params={"name": "twenty.csv"}, content=ORDER)
        assert answer.status_code == 201, answer.text
        return int(answer.json()["run_id"])


def all_at_once(servers: list[Server], run: int, photos: dict[str, list[bytes]]) -> Counter[int]:
    """Every line is a station that sends its photos, each of them twice; return how often which status came."""

    def station(line: str) -> list[int]:
        with servers[int(line) % len(servers)].client() as client:
            return [
                status
                for content in photos[line]
                for _ in range(2)
                for status in send_until_taken(client, run, line, content)
            ]

    with ThreadPoolExecutor(STATIONS) as pool:
        return Counter(status for statuses in pool.map(station, photos) for status in statuses)


def tell_counts(record: Record, run: int, statuses: Counter[int]) -> None:
    """Print what came of it all; pytest shows it with -s or -rP, and beside a failure."""
    stored = sum(event.kind == "photo" for event in record.events(run_id=run))
    items = len(list(record.items(run=run)))
    print(  # noqa: T201 asked for: the counts belong to the test's output
        f"posted {statuses.total()} = accepted {statuses[202]} + busy, tried again {statuses[BUSY]}; "
        f"photos stored {stored}, items {items}"
    )
    assert statuses.total() == statuses[202] + statuses[BUSY], f"only 'taken' and 'busy' may come: {statuses}"
    assert statuses[202] == 2 * stored, "every photo was sent twice, taken twice and stored once"
    assert items == STATIONS


def wait_for_answers(server: Server, run: int, photos: dict[str, list[bytes]], seconds: float) -> None:
    with server.client() as client:
        for line in photos:
            line_when(client, run, line, seconds=seconds)


def check_nothing_lost_or_doubled(record: Record, run: int, photos: dict[str, list[bytes]]) -> None:
    given = [event for event in record.events(run_id=run) if event.kind == "photo"]
    assert Counter(event.data["line"] for event in given) == {line: len(sent) for line, sent in photos.items()}
    kept = {path.stem for path in record.archive.folder.rglob("*") if path.is_file()}
    assert kept == {event.data["sha256"] for event in given}
    answers = list(record.items(run=run))
    assert sorted(item.line for item in answers) == sorted(photos)
    assert all(len(item.photos) == len(photos[item.line]) for item in answers), "the newest answer knows every photo"
    assert not list((record.archive.folder / "incoming").glob("*")), "nothing half written"


def test_twenty_stations_with_the_real_reader(tmp_path: Path) -> None:
    photos = {str(n): [drawn_ring(n)] for n in range(1, STATIONS + 1)}
    with real_server(tmp_path) as server:
        run = opened(server)
        statuses = all_at_once([server], run, photos)
        assert set(statuses) <= {202, BUSY}
        assert statuses[202] == 2 * STATIONS
        wait_for_answers(server, run, photos, seconds=120)
    with Record.open(tmp_path / "record.sqlite") as record:
        check_nothing_lost_or_doubled(record, run, photos)
        tell_counts(record, run, statuses)


def test_a_full_queue_says_busy_and_loses_nothing(tmp_path: Path) -> None:
    target = tmp_path / "record.sqlite"
    photos = {str(n): [photo(n), photo(n + 1000)] for n in range(1, STATIONS + 1)}
    with fake_server(str(target), tmp_path / "photos", "slow") as server:
        run = opened(server)
        statuses = all_at_once([server], run, photos)
        assert set(statuses) == {202, BUSY}
        wait_for_answers(server, run, photos, seconds=60)
    with Record.open(target) as record:
        check_nothing_lost_or_doubled(record, run, photos)
        tell_counts(record, run, statuses)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_two_servers_on_one_record(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    target = str(tmp_path / "record.sqlite") if kind == "sqlite" else request.getfixturevalue("postgres")
    folder = tmp_path / "photos"
    photos = {str(n): [photo(n), photo(n + 1000)] for n in range(1, STATIONS + 1)}
    with fake_server(target, folder) as one, fake_server(target, folder) as other:
        run = opened(one)
        assert opened(other) == run, "the same order opened at both is one delivery"
        statuses = all_at_once([one, other], run, photos)
        assert set(statuses) <= {202, BUSY}
        wait_for_answers(other, run, photos, seconds=60)
        with other.client() as client:
            changes = client.get("/api/v1/changes", params={"after": 0, "wait": 5}).json()["changes"]
            assert {change["line"] for change in changes if change["kind"] == "screened"} == set(photos)
    with Record.open(target, photos=folder) as record:
        check_nothing_lost_or_doubled(record, run, photos)
        tell_counts(record, run, statuses)


def test_a_killed_server_goes_on_where_it_was(tmp_path: Path) -> None:
    target, folder = str(tmp_path / "record.sqlite"), tmp_path / "photos"
    photos = {str(n): [photo(n)] for n in range(1, 5)}
    with fake_server(target, folder, "slow") as server, server.client() as client:
        run = opened(server)
        for line, (content,) in photos.items():
            assert send_until_taken(client, run, line, content)[-1] == 202
        server.kill()
    with Record.open(target, photos=folder) as record:
        assert sum(event.kind == "photo" for event in record.events(run_id=run)) == 4, "what was said to be got is kept"
        assert len(list(record.items())) < 4
    with fake_server(target, folder) as server:
        wait_for_answers(server, run, photos, seconds=30)
    with Record.open(target, photos=folder) as record:
        check_nothing_lost_or_doubled(record, run, photos)
