"""The bench on a record: several stations, corrections, holds, and work that was cut off.

Photos are the drawn ones of samples/photos; what a line must come to is what samples/expected.csv, made with the
photos, says a careful person concludes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest

from screener.errors import InputUnreadable, WrongUsage
from screener.looking.reading import PhotoReading
from screener.receiving.bench import Bench
from screener.receiving.bench_model import HandReading
from screener.records.record import Record
from screener.specs.screening_rules import indicator_groups, indicators
from screener.vision.model import Problem

ORDER = b"line,quantity,designation,maker,duty,supplier\n1,4,6205-2RS C3,,wet,Quillhaven\n2,1,6203-2Z,,dry,Mossbank\n"
TODAY = dt.date(2026, 11, 25)


def seen_nothing(path: Path) -> PhotoReading:
    return PhotoReading(str(path), "", 800, 600)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with Record.open(tmp_path / "bench.sqlite") as record:
        yield Bench(record)


def read_all(bench: Bench, reader=seen_nothing) -> None:
    for job in bench.unread():
        bench.read_photo(job, reader)


def test_a_new_delivery_waits_for_everything(bench: Bench) -> None:
    run = bench.open_delivery("C:\\orders\\november.csv", ORDER)
    shown = bench.delivery(run)
    assert shown.order_name == "november.csv"
    assert [(x.line, x.need, x.state, x.answer) for x in shown.lines] == [
        ("1", "6205-2RS C3", "waiting", None),
        ("2", "6203-2Z", "waiting", None),
    ]
    assert [w.shows for w in shown.lines[0].still_wanted] == ["box", "face1", "face2", "card"]


def test_the_same_order_opened_twice_is_one_delivery_until_it_is_finished(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    assert bench.open_delivery("a.csv", ORDER) == run
    bench.finish(run, "Kim")
    assert bench.open_delivery("a.csv", ORDER) != run


def test_a_line_goes_from_waiting_to_reading_to_answered(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    receipt = bench.add_photo(run, "1", "x.jpg", b"\xff\xd8\xff one", "box")
    assert receipt.new
    assert bench.line(run, "1").state == "reading"
    assert bench.screen_line(run, "1", TODAY) is None, "a photo is still unread"
    read_all(bench)
    assert bench.due() == ((run, "1"),)
    answer = bench.screen_line(run, "1", TODAY)
    assert answer is not None
    assert (answer.word, answer.exit) == ("hold", "look again")
    line = bench.line(run, "1")
    assert (line.state, line.photos[0].state) == ("answered", "read")
    assert bench.due() == ()


def test_the_same_photo_again_adds_nothing(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    bench.add_photo(run, "1", "x.jpg", b"\xff\xd8\xff one", "box")
    again = bench.add_photo(run, "1", "other name.jpg", b"\xff\xd8\xff one", "box")
    assert not again.new
    assert [p.name for p in bench.line(run, "1").photos] == ["x.jpg"]


def test_an_answer_renewed_counts_and_the_older_stays_as_history(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    bench.add_photo(run, "1", "x.jpg", b"\xff\xd8\xff one", "box")
    read_all(bench)
    first = bench.screen_line(run, "1", TODAY)
    bench.add_reading(run, "1", HandReading("od_mm", 47.0, "caliper", who="Kim"))
    second = bench.screen_line(run, "1", TODAY)
    assert first is not None
    assert second is not None
    assert (first.version, second.version) == (1, 2)
    # ISO 15: a 6205 is 25 x 52 x 15 mm; 47 mm outside is another bearing.
    assert (first.word, second.word) == ("hold", "reject")
    assert [item.id for item in bench.record.items(run=run)] == [second.item_id]
    assert [item.id for item in bench.record.items(run=run, history=True)] == [first.item_id, second.item_id]
    assert bench.screen_line(run, "1", TODAY) == second, "nothing new, nothing recorded"


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ([("od_mm", 2.0469)], "inches (51.991 mm)"),
        ([("width_mm", 15.0), ("od_mm", 5.2)], "point slipped: write 52 mm"),
        ([("bore_mm", 52.0), ("od_mm", 25.0)], "look exchanged"),
        ([("od_mm", 52.0), ("mass_g", 0.132)], "kilograms"),
    ],
)
def test_a_slip_is_sent_back_and_nothing_of_its_form_is_kept(
    bench: Bench, given: list[tuple[str, float]], says: str
) -> None:
    """An inch is 25.4 mm; 6205 is 25 x 52 x 15 mm (ISO 15), about 0.13 kg in lists."""
    run = bench.open_delivery("a.csv", ORDER)
    readings = [HandReading(what, value, "scale" if what == "mass_g" else "caliper") for what, value in given]
    with pytest.raises(WrongUsage) as caught:
        bench.add_readings(run, "1", readings)
    assert says in str(caught.value)
    assert bench.line(run, "1").readings == ()


def test_a_correction_is_recorded_and_never_turns_a_label_into_a_look_at_the_part(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    bench.add_scan(run, "1", "6203-2RS")
    wrong = bench.screen_line(run, "1", TODAY)
    assert wrong is not None
    seen = next(o for o in wrong.observed if o.attribute == "designation")
    assert seen.value == "6203-2RS"
    bench.correct(run, "1", seen.key, "6205-2RS C3", who="Kim", why="the code was of the neighbour's box")
    right = bench.screen_line(run, "1", TODAY)
    assert right is not None
    assert (wrong.word, right.word) == ("reject", "hold"), "agrees now, but nobody has seen the part"
    assert next(o for o in right.observed if o.key == seen.key).channel == "barcode"
    kept = bench.line(run, "1").corrections[0]
    assert (kept.was, kept.value, kept.who) == ("6203-2RS", "6205-2RS C3", "Kim")


def test_a_hold_stays_over_new_answers_and_a_release_does_not(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    bench.add_scan(run, "1", "6205-2RS C3")
    first = bench.screen_line(run, "1", TODAY)
    assert first is not None
    bench.hold(first.item_id, "Kim", "wet carton")
    bench.add_reading(run, "1", HandReading("width_mm", 15.0, "caliper"))
    second = bench.screen_line(run, "1", TODAY)
    assert second is not None
    assert second.standing is not None
    assert (second.standing.kind, second.standing.who) == ("hold", "Kim")
    bench.release(second.item_id, "Ola", "dried, grease seen")
    released = bench.line(run, "1").answer
    assert released is not None
    assert released.effective == "use"
    assert bench.held() == ()
    bench.add_reading(run, "1", HandReading("bore_mm", 25.0, "caliper"))
    third = bench.screen_line(run, "1", TODAY)
    assert third is not None
    assert third.standing is None
    assert third.effective == "hold"
    assert [h.item_id for h in bench.held()] == [third.item_id]
    with pytest.raises(WrongUsage, match="newer answer"):
        bench.release(first.item_id, "Kim", "late")


def test_one_serial_on_two_lines_is_told_on_both(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER.replace(b"6203-2Z", b"6205-2RS C3"))
    for line in ("1", "2"):
        # GS1 General Specifications: AI 01 GTIN, AI 21 serial.
        bench.add_scan(run, line, "(01)09506000134352(21)SN1")
        bench.screen_line(run, line, TODAY)
    for line in ("1", "2"):
        answer = bench.line(run, line).answer
        assert answer is not None
        assert any("SN1" in says for says in answer.findings), line


def test_an_unreadable_photo_is_told_and_does_not_stop_the_line(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    bench.add_photo(run, "1", "x.jpg", b"\xff\xd8\xff broken", "face1")
    broken = Problem("damaged", "The photo's file is damaged. Copy it again.")
    read_all(bench, lambda path: PhotoReading(str(path), problems=(broken,), readable=False))
    assert bench.screen_line(run, "1", TODAY) is not None
    photo = bench.line(run, "1").photos[0]
    assert (photo.state, photo.says) == ("unreadable", broken.says)
    assert not next(w for w in bench.line(run, "1").wanted if w.shows == "face1").had


def test_a_photo_on_the_wrong_line_is_taken_away_and_stays_in_the_record(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    sha = bench.add_photo(run, "1", "x.jpg", b"\xff\xd8\xff one", "box").sha256
    bench.withdraw_photo(run, "1", sha, "Kim", "other line")
    assert bench.line(run, "1").photos == ()
    assert bench.record.archive.find(sha) is not None


def test_boxes_of_one_line_are_lines_of_their_own(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    bench.add_scan(run, "1/2", "6205-2RS C3")
    assert [x.line for x in bench.delivery(run).lines] == ["1/2", "2"]
    with pytest.raises(WrongUsage, match="no such line"):
        bench.add_scan(run, "9", "6205")


def test_a_code_finds_its_line(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    assert [(f.run_id, f.line) for f in bench.find_line("6203-2Z")] == [(run, "2")]
    assert bench.find_line("6310-2RS") == ()
    bench.add_scan(run, "1", "(01)09506000134352(240)6205-2RS C3")
    bench.screen_line(run, "1", TODAY)
    # The article number alone, the next time: it was received for a 6205-2RS C3 before.
    assert [f.line for f in bench.find_line("(01)09506000134352")] == ["1"]


def test_a_code_that_names_another_part_of_the_size_says_so(bench: Bench) -> None:
    bench.open_delivery("a.csv", ORDER)
    (same,), (other,) = bench.find_line("6203-2Z"), bench.find_line("6203-2RS")
    assert "not what this line asks for" not in same.because
    assert other.because == "the code says 6203-2RS: not what this line asks for"


def test_suppliers_count_only_the_newest_answer(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    bench.add_scan(run, "1", "6203-2RS")
    bench.screen_line(run, "1", TODAY)
    bench.add_scan(run, "1", "6203-2RS C3")
    bench.screen_line(run, "1", TODAY)
    (summary,) = bench.suppliers()
    assert (summary.supplier, summary.items, summary.send_back) == ("Quillhaven", 1, 1)


@pytest.mark.parametrize(
    ("what", "value", "instrument"),
    [("od_mm", "wide", "caliper"), ("od_mm", -1, "caliper"), ("od_mm", 52, "yardstick"), ("colour", "red", "eye")],
)
def test_a_reading_that_makes_no_sense_is_refused(bench: Bench, what: str, value: str | float, instrument: str) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    with pytest.raises(WrongUsage):
        bench.add_reading(run, "1", HandReading(what, value, instrument))
    assert bench.line(run, "1").state == "waiting"


def test_signs_that_a_person_saw_and_groups_looked_through_count(bench: Bench) -> None:
    run = bench.open_delivery("a.csv", ORDER)
    name, group = next(iter(indicators())), next(iter(indicator_groups()))
    bench.add_reading(run, "1", HandReading("sign", name, "eye", who="Kim"))
    bench.add_reading(run, "1", HandReading("looked", group, "eye", who="Kim"))
    answer = bench.screen_line(run, "1", TODAY)
    assert answer is not None
    assert {(o.attribute, o.value) for o in answer.observed} == {("sign", name), ("looked", group)}
    assert name in {each["indicator"] for each in answer.result["suspicion"]["indicators"]}
    with pytest.raises(WrongUsage):
        bench.add_reading(run, "1", HandReading("sign", "NO-SUCH", "eye"))


def test_what_the_order_says_about_the_trade_reaches_the_answer(bench: Bench) -> None:
    order = b"line,designation,supplier,unit_price,currency\n1,6205-2RS C3,Quillhaven,7.40,EUR\n"
    run = bench.open_delivery("a.csv", order)
    bench.add_scan(run, "1", "6205-2RS C3")
    answer = bench.screen_line(run, "1", TODAY)
    assert answer is not None
    trade = answer.result["order_line"]["trade"]
    assert (trade["unit_price"], trade["currency"]) == (7.4, "EUR")


def test_an_order_that_cannot_be_read_is_told_by_its_own_name(bench: Bench) -> None:
    with pytest.raises(InputUnreadable, match=r"^order\.xlsx: "):
        bench.open_delivery("../../order.xlsx", b"PK\x03\x04 no workbook")


def test_a_single_part_with_readings_only(bench: Bench) -> None:
    run = bench.open_part("6205-2RS", frozenset({"wet"}))
    # ISO 15: 25 x 52 x 15 mm.
    for what, value in (("bore_mm", 25.0), ("od_mm", 52.0), ("width_mm", 15.0)):
        bench.add_reading(run, "1", HandReading(what, value, "caliper"))
    bench.add_reading(run, "1", HandReading("designation", "6205-2RS", "eye", who="Ola"))
    answer = bench.screen_line(run, "1", TODAY)
    assert answer is not None
    assert answer.word == "hold", "nobody has seen its faces, and the duty is wet"


def test_a_delivery_from_the_command_line_is_shown_and_worked_on(bench: Bench) -> None:
    from screener.receiving.delivery import receive

    samples = Path(__file__).parents[2] / "samples"
    folder = bench.record.place.photos.parent / "in"
    (folder / "1").mkdir(parents=True)
    source = next((samples / "photos").rglob("*face1*"))
    (folder / "1" / "face1.jpg").write_bytes(source.read_bytes())
    order = folder.parent / "o.csv"
    order.write_bytes(ORDER)
    delivery = receive(order, folder, bench.record)
    lines = bench.delivery(delivery.run_id).lines
    assert [(x.line, x.state, len(x.photos)) for x in lines] == [("1", "answered", 1), ("2", "waiting", 0)]
    bench.add_reading(delivery.run_id, "1", HandReading("width_mm", 15.0, "caliper"))
    renewed = bench.screen_line(delivery.run_id, "1")
    assert renewed is not None
    assert renewed.version == 2
