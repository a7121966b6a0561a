"""The interface for pages and other programs: what is given over HTTP stands in the record, and answers follow."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from dock import fake_readers
from dock.conftest import ORDER, PROGRAM, line_when, open_delivery, photo, put_photo
from starlette.testclient import TestClient

Dock = Callable[..., TestClient]


def test_an_order_sent_as_a_file_is_a_delivery(program: TestClient) -> None:
    answer = program.post("/api/v1/deliveries", params={"name": "o.csv"}, content=ORDER)
    assert answer.status_code == 201
    again = program.post("/api/v1/deliveries", params={"name": "o.csv"}, content=ORDER)
    assert again.json() == answer.json(), "sent twice, opened once"
    shown = program.get(f"/api/v1/deliveries/{answer.json()['run_id']}").json()
    assert [(line["line"], line["need"], line["state"]) for line in shown["lines"]] == [
        ("1", "6205-2RS C3", "waiting"),
        ("2", "6203-2Z", "waiting"),
    ]
    bad = program.post("/api/v1/deliveries", params={"name": "o.xlsx"}, content=b"PK\x03\x04 nothing")
    assert bad.status_code == 422
    assert bad.json()["where"] == "o.xlsx"


def test_a_photo_is_got_then_read_then_answered(program: TestClient) -> None:
    run = open_delivery(program)
    answer = put_photo(program, run, "1", photo(1), "face1")
    assert (answer.status_code, answer.json()["says"], answer.json()["new"]) == (202, "Got it.", True)
    line = line_when(program, run, "1")
    assert line["answer"]["word"] == "hold"
    assert {w["shows"]: w["had"] for w in line["wanted"]} == {
        "box": False,
        "face1": True,
        "face2": False,
        "card": False,
    }
    assert put_photo(program, run, "1", photo(1), "face1").json()["new"] is False


def test_half_a_photo_is_plainly_refused(program: TestClient) -> None:
    import hashlib

    run, whole = open_delivery(program), photo(1)
    where = f"/api/v1/deliveries/{run}/photos/{hashlib.sha256(whole).hexdigest()}"
    answer = program.put(where, params={"line": "1", "shows": "box"}, content=whole[:-10])
    assert (answer.status_code, answer.json()["code"]) == (400, "cut_short")
    assert program.put(where, params={"line": "1", "shows": "box"}, content=whole).status_code == 202


def test_a_full_queue_is_told_before_the_photo_is_taken(dock: Dock) -> None:
    client = dock(queue_limit=0)
    client.headers.update(PROGRAM)
    answer = put_photo(client, open_delivery(client), "1", photo(1))
    assert (answer.status_code, answer.json()["code"]) == (503, "queue_full")
    assert int(answer.headers["retry-after"]) > 0


@pytest.mark.parametrize(("reader", "content"), [("dies", b"kill"), ("takes_all_memory", b"memory")])
def test_a_photo_that_breaks_its_reader_costs_a_sentence_and_no_more(dock: Dock, reader: str, content: bytes) -> None:
    client = dock(reader=getattr(fake_readers, reader), reader_memory_bytes=1_500_000_000)
    client.headers.update(PROGRAM)
    run = open_delivery(client)
    put_photo(client, run, "1", photo(content))
    put_photo(client, run, "2", photo(b"fine"))
    (broken,) = line_when(client, run, "1")["photos"]
    assert broken["state"] == "unreadable"
    assert "given up" in broken["says"]
    assert line_when(client, run, "2")["photos"][0]["state"] == "read"


def test_readings_and_corrections_are_answered_at_once(program: TestClient) -> None:
    run = open_delivery(program)
    line = program.post(f"/api/v1/deliveries/{run}/scans", json={"line": "1", "text": "6203-2RS"}).json()
    assert line["answer"]["word"] == "reject"
    (seen,) = [o for o in line["answer"]["observed"] if o["attribute"] == "designation"]
    body = {"line": "1", "key": seen["key"], "value": "6205-2RS C3", "who": "Kim", "item_id": line["answer"]["item_id"]}
    line = program.post(f"/api/v1/deliveries/{run}/corrections", json=body).json()
    assert (line["answer"]["word"], line["corrections"][0]["was"]) == ("hold", "6203-2RS")
    late = program.post(f"/api/v1/deliveries/{run}/corrections", json=body)
    assert (late.status_code, late.json()["code"]) == (409, "newer_answer")
    reading = {"line": "1", "what": "od_mm", "value": 47, "instrument": "caliper", "who": "Kim"}
    # ISO 15: a 6205 has 52 mm outside.
    assert program.post(f"/api/v1/deliveries/{run}/readings", json=reading).json()["answer"]["word"] == "reject"


def test_a_person_holds_and_releases(program: TestClient) -> None:
    run = open_delivery(program)
    line = program.post(f"/api/v1/deliveries/{run}/scans", json={"line": "1", "text": "6205-2RS C3"}).json()
    item = line["answer"]["item_id"]
    assert program.post(f"/api/v1/items/{item}/release", json={"who": "Kim", "why": " "}).status_code == 400
    answer = program.post(f"/api/v1/items/{item}/release", json={"who": "Kim", "why": "measured"})
    assert answer.json()["events"][-1]["kind"] == "release"
    assert program.get("/api/v1/held").json()["held"] == []
    program.post(f"/api/v1/items/{item}/hold", json={"who": "Ola", "why": "wet carton"})
    (held,) = program.get("/api/v1/held").json()["held"]
    assert (held["item_id"], held["standing"]["who"]) == (item, "Ola")


def test_a_single_part(program: TestClient) -> None:
    opened = program.post("/api/v1/parts", json={"need": "6205-2RS", "duty": ["wet"]}).json()
    reading = {"line": opened["line"], "what": "bore_mm", "value": 30, "instrument": "caliper"}
    line = program.post(f"/api/v1/deliveries/{opened['run_id']}/readings", json=reading).json()
    assert line["answer"]["word"] == "reject", "ISO 15: the bore of a 6205 is 25 mm"


@pytest.mark.parametrize(
    ("method", "path", "body", "status"),
    [
        ("get", "/api/v1/deliveries/99", None, 404),
        ("get", "/api/v1/deliveries/x", None, 400),
        ("get", "/api/v1/deliveries/99999999999", None, 400),
        ("get", "/api/v1/items/99", None, 404),
        ("get", "/api/v1/nothing", None, 404),
        ("post", "/api/v1/held", {}, 405),
        ("post", "/api/v1/parts", {"need": ""}, 400),
        ("post", "/api/v1/parts", {"need": "6205", "colour": "red"}, 400),
        ("post", "/api/v1/parts", {"need": "x" * 100_000}, 413),
        ("get", "/photos/" + "0" * 64 + "/small.jpg", None, 404),
    ],
)
def test_what_makes_no_sense_is_told_in_a_sentence(
    program: TestClient, method: str, path: str, body: Any, status: int
) -> None:
    answer = program.request(method, path, json=body)
    assert answer.status_code == status
    assert {"code", "says", "where", "next_step"} <= set(answer.json())
    assert answer.json()["says"]


def test_codes_in_a_picture_find_their_lines(program: TestClient) -> None:
    import io

    import zxingcpp
    from PIL import Image

    run = open_delivery(program)
    made = zxingcpp.write_barcode(zxingcpp.BarcodeFormat.QRCode, "6203-2Z", width=300, height=300)
    out = io.BytesIO()
    Image.fromarray(made).convert("RGB").save(out, "PNG")
    answer = program.post("/api/v1/decode", content=out.getvalue()).json()
    assert [(code["text"], [line["line"] for line in code["lines"]]) for code in answer["codes"]] == [
        ("6203-2Z", ["2"])
    ]
    assert program.get(f"/api/v1/deliveries/{run}/line", params={"line": "2"}).json()["state"] == "waiting"


def test_a_form_without_script_gives_a_photo_and_goes_back_to_our_page_only(dock: Dock) -> None:
    browser = dock()
    browser.get("/")
    token = browser.app.state.sessions.session_of(browser.cookies["screener_session"]).csrf_token
    run = open_delivery(browser)
    where = f"/api/v1/deliveries/{run}/photos"
    form = {"data": {"line": "1", "shows": "box"}, "files": {"photo": ("a.jpg", photo(1), "image/jpeg")}}
    assert browser.post(where, **form).status_code == 403
    answer = browser.post(where, params={"csrf_token": token, "back": "/deliveries/1"}, **form)
    assert (answer.status_code, answer.headers["location"]) == (303, "/deliveries/1")
    for outside in ("//evil.example", "https://evil.example", "/\\evil.example"):
        answer = browser.post(where, params={"csrf_token": token, "back": outside}, **form)
        assert answer.status_code == 202
