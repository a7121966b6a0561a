"""A picture that came with an earlier delivery. The truth is made here: copies are made from the first photo."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest

from screener.looking.reading import PhotoReading
from screener.receiving.bench import Bench
from screener.receiving.photo_files import sha256_of
from screener.records.record import Record
from screener.records.references import NewReference, References
from screener.screening.model import EARLIER
from screener.vision.fingerprint import fingerprint
from screener.vision.model import Problem

PHOTOS = Path(__file__).parents[2] / "samples" / "photos"
HEAD = b"line,quantity,designation,maker,duty,supplier\n"
ORDER = HEAD + b"1,1,6205-2RS,,dry,Quillhaven\n2,1,6203-2Z,,dry,Mossbank\n"
LATER = HEAD + b"1,2,6205-2RS,,dry,Mossbank\n2,1,6203-2Z,,dry,Mossbank\n"
TODAY = dt.date(2026, 11, 25)


def only_the_picture(path: Path) -> PhotoReading:
    """A reader that sees no part, only what the picture is known again by."""
    gray = np.asarray(cv2.imread(str(path), cv2.IMREAD_GRAYSCALE))
    problem = Problem("no_part", "no part was seen.")
    size = gray.shape[1], gray.shape[0]
    return PhotoReading(str(path), sha256_of(path), *size, problems=(problem,), fingerprint=fingerprint(gray))


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    with Record.open(tmp_path / "record.sqlite") as opened:
        yield opened


def jpeg(picture: np.ndarray, quality: int = 85) -> bytes:
    return cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])[1].tobytes()


def photo(name: str) -> np.ndarray:
    return np.asarray(cv2.imread(str(PHOTOS / name)))


def screened(bench: Bench, run: int, line: str, content: bytes, name: str) -> dict:
    bench.add_photo(run, line, name, content, "box")
    for job in bench.unread(run):
        bench.read_photo(job, only_the_picture)
    answer = bench.screen_line(run, line, TODAY)
    assert answer is not None
    return dict(answer.result)


def seen_before(result: dict) -> list[dict]:
    return [each for each in result["findings"] if each["code"] == "photo_seen_before"]


def first_delivery(bench: Bench, content: bytes) -> int:
    run = bench.open_delivery("may.csv", ORDER)
    assert seen_before(screened(bench, run, "1", content, "box.jpg")) == []
    bench.finish(run, "Kim")
    return run


def test_the_picture_of_an_earlier_delivery_is_a_question_with_both_photos(record: Record) -> None:
    picture = photo("01/box.jpg")
    bench = Bench(record)
    run = first_delivery(bench, jpeg(picture))
    (item,) = record.items(run=run)
    part = np.ascontiguousarray(np.rot90(picture[: picture.shape[0] * 8 // 10, picture.shape[1] // 5 :]))
    later = bench.open_delivery("june.csv", LATER)
    result = screened(bench, later, "2", jpeg(part, 60), "label.jpg")
    (finding,) = seen_before(result)
    assert finding["weight"] == "question"
    assert f"item 1 of may.csv (record {item.id}), as box.jpg of record {item.id}" in finding["says"]
    assert str(dt.datetime.now(dt.UTC).year) in finding["says"]
    mine, theirs = (each["source"] for each in finding["observations"])
    assert (mine["where"], theirs["reader"]) == ("label.jpg", EARLIER)
    assert theirs["photo_sha256"] == item.photos[0].sha256
    # The new photo shows the right four fifths and the upper four fifths of the first one, turned: all of it is shared.
    height, width = part.shape[:2]
    assert np.ptp(mine["region_px"], axis=0) == pytest.approx([width, height], rel=0.03)
    box = np.array(theirs["region_px"])
    whole = picture.shape[1], picture.shape[0]
    assert box.min(axis=0) == pytest.approx([whole[0] / 5, 0], abs=0.02 * max(whole))
    assert box.max(axis=0) == pytest.approx([whole[0], 0.8 * whole[1]], abs=0.02 * max(whole))
    weighed = {each["indicator"]: each for each in result["suspicion"]["indicators"]}
    assert weighed["SN7"]["ordinary_causes"]
    assert result["suspicion"]["level"] == "none"
    assert not [each for each in result["findings"] if each["code"] == "photo_used_twice"]


def test_two_items_of_one_delivery_stay_a_hold_of_their_own(record: Record) -> None:
    bench = Bench(record)
    picture = photo("01/box.jpg")
    run = bench.open_delivery("may.csv", ORDER)
    screened(bench, run, "1", jpeg(picture), "box.jpg")
    result = screened(bench, run, "2", jpeg(picture, 40), "copy.jpg")
    assert [each["code"] for each in result["findings"]].count("photo_used_twice") == 1
    assert seen_before(result) == []


def test_the_same_file_again_is_told_once(record: Record) -> None:
    bench = Bench(record)
    content = jpeg(photo("01/box.jpg"))
    first_delivery(bench, content)
    (finding,) = seen_before(screened(bench, bench.open_delivery("june.csv", LATER), "2", content, "again.jpg"))
    assert "the same file" in finding["says"]
    assert len(finding["observations"]) == 1


def test_the_same_order_and_line_read_again_is_no_news(record: Record) -> None:
    bench = Bench(record)
    content = jpeg(photo("01/box.jpg"))
    first_delivery(bench, content)
    assert seen_before(screened(bench, bench.open_delivery("may.csv", ORDER), "1", content, "box.jpg")) == []
    # The order list was corrected and saved anew: its line still asks for the same.
    corrected = ORDER.replace(b"6203-2Z", b"6204-2Z")
    assert seen_before(screened(bench, bench.open_delivery("may.csv", corrected), "1", content, "box.jpg")) == []
    # Another line of it is another item.
    assert seen_before(screened(bench, bench.open_delivery("may.csv", corrected), "2", content, "box.jpg")) != []


def test_what_no_longer_counts_is_no_news(record: Record) -> None:
    bench = Bench(record)
    content = jpeg(photo("01/box.jpg"))
    run = bench.open_delivery("may.csv", ORDER)
    screened(bench, run, "1", content, "box.jpg")
    (item,) = record.items(run=run)
    bench.withdraw_photo(run, "1", item.photos[0].sha256, "Kim", "not of this item")
    screened(bench, run, "1", jpeg(photo("02/box.jpg")), "right.jpg")
    assert seen_before(screened(bench, bench.open_delivery("june.csv", LATER), "1", content, "box.jpg")) == []


def test_a_part_verified_is_asked_nothing_and_says_nothing_later(record: Record) -> None:
    bench = Bench(record)
    content, other = jpeg(photo("01/box.jpg")), jpeg(photo("02/box.jpg"))
    first_delivery(bench, content)
    part = bench.open_part("6205-2RS")
    assert seen_before(screened(bench, part, "1", content, "box.jpg")) == []
    screened(bench, bench.open_part("6205-2RS"), "1", other, "box.jpg")
    assert seen_before(screened(bench, bench.open_delivery("june.csv", LATER), "1", other, "box.jpg")) == []


def test_a_reference_photo_is_no_news(record: Record, tmp_path: Path) -> None:
    bench = Bench(record)
    content = jpeg(photo("01/box.jpg"))
    first_delivery(bench, content)
    kept = tmp_path / "known good.jpg"
    kept.write_bytes(content)
    with References(record) as references:
        references.add(kept, NewReference("BRENVOK", "6205-2RS", "package", "2026-05-01", "Kim"))
    assert seen_before(screened(bench, bench.open_delivery("june.csv", LATER), "2", content, "box.jpg")) == []


def test_another_picture_is_no_news_and_two_benches_see_each_other(record: Record) -> None:
    mine, theirs = Bench(record), Bench(record)
    run = theirs.open_delivery("may.csv", ORDER)
    assert seen_before(screened(mine, mine.open_delivery("june.csv", LATER), "1", jpeg(photo("02/box.jpg")), "a")) == []
    screened(theirs, run, "1", jpeg(photo("01/box.jpg")), "box.jpg")
    later = mine.open_delivery("june.csv", LATER)
    assert len(seen_before(screened(mine, later, "2", jpeg(photo("01/box.jpg"), 50), "box.jpg"))) == 1


def test_several_photos_of_one_earlier_item_are_one_question(record: Record) -> None:
    bench = Bench(record)
    run = bench.open_delivery("may.csv", ORDER)
    screened(bench, run, "1", jpeg(photo("01/box.jpg")), "box.jpg")
    screened(bench, run, "1", jpeg(photo("01/face_1.jpg")), "face.jpg")
    later = bench.open_delivery("june.csv", LATER)
    screened(bench, later, "2", jpeg(photo("01/box.jpg"), 40), "a.jpg")
    (finding,) = seen_before(screened(bench, later, "2", jpeg(photo("01/face_1.jpg")), "b.jpg"))
    assert all(name in finding["says"] for name in ("a.jpg", "b.jpg", "box.jpg of record", "face.jpg of record"))
    assert len(finding["observations"]) == 3, "two photos of ours and the one that is another file"


def test_the_newest_is_named_and_the_others_are_counted_once(record: Record) -> None:
    bench = Bench(record)
    content = jpeg(photo("01/box.jpg"))
    first_delivery(bench, content)
    first_delivery(bench, content)
    screened(bench, bench.open_delivery("june.csv", LATER), "1", content, "box.jpg")
    third = bench.open_delivery("july.csv", LATER.replace(b"1,2,", b"1,3,"))
    (finding,) = seen_before(screened(bench, third, "2", content, "box.jpg"))
    assert "of june.csv" in finding["says"]
    assert "and with 1 other item," in finding["says"]


def test_a_line_without_a_new_photo_is_looked_at_again(record: Record) -> None:
    bench = Bench(record)
    content = jpeg(photo("01/box.jpg"))
    first_delivery(bench, content)
    later = bench.open_delivery("june.csv", LATER)
    result = screened(bench, later, "1", content, "again.jpg")
    assert (result["disposition"], result["exit"]) == ("hold", "look again")
    assert "pictures of an earlier item" in result["reason"]
    assert "item 1 of may.csv" in result["reason"]
    assert "new photos of this piece" in result["next_step"]
    fresh = screened(bench, later, "1", jpeg(photo("02/box.jpg")), "new.jpg")
    assert "pictures of an earlier item" not in fresh["reason"]
