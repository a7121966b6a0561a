"""A job card worked at the bench over HTTP: opened, measured part by part, ticked, printed; nothing wrong is kept."""

from __future__ import annotations

import re

import pytest
from dock.conftest import line_when, photo, put_photo

from screener.dock.jobs import JobShelf
from screener.errors import InputUnreadable, WrongUsage
from screener.metrology.fits.example_card import EXAMPLE
from screener.metrology.fits.job_card import card_of_text

OPEN = re.sub(r"readings_mm = \[\[.*\]\]", "readings_mm = []", EXAMPLE)
"""The example card before anybody measured."""


@pytest.fixture
def bench(dock):
    browser = dock()
    page = browser.get("/job")
    browser.headers["x-csrf-token"] = re.search(r'data-token="([^"]+)"', page.text)[1]
    return browser


def begun(bench, text=OPEN):
    answer = bench.post("/job", files={"card": ("card.toml", text.encode(), "text/plain")})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_a_card_is_walked_part_by_part(bench):
    job = begun(bench)
    assert job == "/job/1"
    page = bench.get(job).text
    assert "<h1>Output shaft</h1>" in page
    assert "Go on with part 1: shaft seal" in page
    assert page.count("MEASURE") == 2  # the seal and the bearing; rings and spacer are not measured
    assert 'class="stack"' in page
    seal = {"shaft": "24.97 24.98", "housing": "52.02", "keep": "in", "rpm": "1450"}
    kept = bench.post(f"{job}/part/1", data=seal)
    assert kept.headers["location"] == f"{job}/part/1"
    # h11 of 25 mm is 24.870 to 25.000 and H8 of 52 mm 52.000 to 52.046 (ISO 286-2).
    shown = bench.get(f"{job}/part/1").text
    assert "24.8700 to 25.0000" in shown
    assert "52.0000 to 52.0460" in shown
    assert "Go on with part 3: bearing" in bench.get(job).text
    bearing = {"shaft": "25.009 25.011", "shaft_2": "25,008 25,009", "housing": "52.012 52.014"}
    bearing |= {"turning": "inner", "load": "normal", "inner_c": "60", "outer_c": "52"}
    assert bench.post(f"{job}/part/3", data=bearing).status_code == 303
    page = bench.get(job).text
    assert "All seats fit as measured." in page
    assert "Go on with" not in page
    # What the form does not ask stays as the card has it.
    assert "Light alloy grows" in bench.get(f"{job}/sheet").text


def test_what_was_typed_stands_in_the_fields_again(bench):
    job = begun(bench, EXAMPLE)
    page = bench.get(f"{job}/part/3").text
    assert 'value="25.009 25.011"' in page
    assert 'value="25.008 25.009"' in page
    assert "52.012 52.014" in page


@pytest.mark.parametrize("wrong", ["250", "abc", "-25", "0", "nan", "0.984"])
def test_a_reading_that_cannot_be_is_said_and_not_kept(bench, wrong):
    job = begun(bench)
    answer = bench.post(f"{job}/part/3", data={"shaft": wrong, "housing": "52.012"})
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert f'value="{wrong}"' in answer.text
    assert 'value="52.012"' not in bench.get(f"{job}/part/3").text


@pytest.mark.parametrize(
    "text",
    ["", "[[part]", "title = 3", EXAMPLE.replace('"6205-2RS C3"', '"hello"'), EXAMPLE.replace("outer_mm = 32", "")],
)
def test_a_card_that_is_none_is_refused_in_words(bench, text):
    answer = bench.post("/job", data={"text": text})
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert "Jobs at hand" not in bench.get("/job").text


def test_ticks_are_kept_and_printed(bench):
    job = begun(bench)
    assert bench.post(f"{job}/list", data={"done": ["3/spacer", "card-1"]}).status_code == 303
    assert len(re.findall(r'value="(?:3/spacer|card-1)" checked', bench.get(job).text)) == 2
    assert bench.get(f"{job}/sheet").text.count("✓") == 2
    bench.post(f"{job}/list", data={})
    assert "✓" not in bench.get(f"{job}/sheet").text
    assert bench.get(f"{job}/sheet.pdf").content.startswith(b"%PDF")


def test_a_part_is_checked_by_photo_and_its_word_reaches_the_sheet(bench):
    job = begun(bench, EXAMPLE)
    where = bench.post(f"{job}/part/3/photos").headers["location"]
    run = int(where.split("/")[2])
    assert f'href="{job}">Back to the job' in bench.get(where).text
    assert "Back to the job" not in bench.get(f"{where.partition('?')[0]}?job=../x").text
    # Pressed again, it goes on with the same part.
    assert bench.post(f"{job}/part/3/photos").headers["location"] == where
    assert "no answer yet" in bench.get(job).text
    put_photo(bench, run, "1", photo(1), "face1")
    line_when(bench, run, "1")
    page = bench.get(job).text
    # Nothing was read on that photo: the part is looked at again, whatever the seats say.
    assert "By photo, bearing: HOLD" in page
    assert "LOOK AGAIN" in bench.get(f"{job}/sheet").text.split("<section", 1)[0]


@pytest.mark.parametrize("where", ["/job/7", "/job/x", "/job/1/part/0", "/job/1/part/9", "/job/1/part/x", "/job/-1"])
def test_what_is_not_there_is_said(bench, where):
    begun(bench)
    answer = bench.get(where)
    assert answer.status_code in {400, 404, 422}
    assert "Traceback" not in answer.text


def test_a_change_needs_the_page_s_token(bench):
    job = begun(bench)
    del bench.headers["x-csrf-token"]
    assert bench.post(f"{job}/list", data={"done": "card-1"}).status_code == 403


def test_jobs_outlive_the_server_and_a_spoilt_file_spoils_no_other(tmp_path):
    shelf = JobShelf(tmp_path)
    first, second = (shelf.add(card_of_text(EXAMPLE, "card")) for _ in range(2))
    assert JobShelf(tmp_path).get(first.number) == first
    for spoilt in ("{", "[]", "{}", '{"card": {}, "runs": 3}'):
        (tmp_path / "jobs" / f"job-{second.number}.json").write_text(spoilt, encoding="utf-8")
        assert JobShelf(tmp_path).all() == [first]
        with pytest.raises(InputUnreadable):
            shelf.get(second.number)
    with pytest.raises(WrongUsage):
        shelf.get(99)


def test_a_wrong_seat_leaves_the_order_of_work_out(bench):
    job = begun(bench)
    bearing = {"shaft": "25.009 25.011", "housing": "51.98", "turning": "inner", "load": "normal"}
    assert bench.post(f"{job}/part/3", data=bearing).status_code == 303
    # H7 of 52 mm begins at 52.000 (ISO 286-2).
    shown = bench.get(f"{job}/part/3").text
    assert "Do not press yet. Housing 14 to 26 µm below H7" in shown
    assert re.search(r"<b>LOOK AGAIN</b> <small>do not press yet</small>", shown)
    assert shown.count("CN is normal clearance: nothing is marked for it.") == 1
    assert "LOOK AGAIN – do not press yet" in bench.get(job).text
    assert "the answer is not to press" in shown
    assert "Never through the balls" not in shown
    assert "Eye protection" in shown
