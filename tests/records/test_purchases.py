"""What was bought where, and who we are: kept with the delivery, never changed, a line's word before the delivery's."""

from __future__ import annotations

from pathlib import Path

import pytest

from screener.errors import WrongUsage
from screener.records.order_purchases import keep_order_purchases
from screener.records.orders import read_order
from screener.records.purchases import Purchase, Shop
from screener.records.record import Record


def test_of_each_field_the_newest_word_counts_and_a_lines_before_the_deliverys(record: Record) -> None:
    run = record.start_run("receive").id
    assert record.purchase(run, "3") == Purchase()
    record.keep_purchase(run, Purchase("PO 1", "DN 8", "Quay 3"), who="A. Clerk")
    record.keep_purchase(run, Purchase(address="Quay 9", received=40), line="3")
    record.keep_purchase(run, Purchase("PO 2"))
    assert record.purchase(run, "3") == Purchase("PO 2", "DN 8", "Quay 9", "", 40)
    assert record.purchase(run, "4") == Purchase("PO 2", "DN 8", "Quay 3")
    assert record.purchase(record.start_run("receive").id) == Purchase(), "another delivery's is not this one's"


def test_none_that_came_is_known_and_not_empty(record: Record) -> None:
    run = record.start_run("receive").id
    record.keep_purchase(run, Purchase(received=40))
    record.keep_purchase(run, Purchase(received=0), line="1")
    assert record.purchase(run, "1").received == 0


def test_the_shop_is_the_one_named_last(record: Record) -> None:
    assert record.shop() == Shop()
    record.keep_shop(Shop("Harbour Laundry", ("Quay 3", "Port Ellery"), "a@example.org"), who="A. Buyer")
    record.keep_shop(Shop("Harbour Laundry", ("Quay 4", "Port Ellery")))
    assert record.shop() == Shop("Harbour Laundry", ("Quay 4", "Port Ellery"))


def test_what_cannot_be_is_refused(record: Record) -> None:
    run = record.start_run("receive").id
    with pytest.raises(WrongUsage):
        record.keep_purchase(run, Purchase(received=-1))
    with pytest.raises(WrongUsage):
        record.keep_purchase(run, Purchase("x" * 501))
    with pytest.raises(WrongUsage):
        record.keep_purchase(run + 1, Purchase("PO 1"))
    with pytest.raises(WrongUsage):
        record.keep_shop(Shop(" "))


ORDER = (
    "line;qty;designation;supplier;PO no;delivery note;supplier address;contact;received\n"
    "1;40;6205-2RS;Velmort & Co;PO 4711;DN 88;7 Quay Road, Southby;B. Sedge;38\n"
    "2;2;6004;Velmort & Co;;;;;\n"
)


def test_an_order_list_says_the_purchase_of_each_line(record: Record, tmp_path: Path) -> None:
    (tmp_path / "order.csv").write_text(ORDER)
    order, run = read_order(tmp_path / "order.csv"), record.start_run("receive").id
    keep_order_purchases(record, run, order.lines)
    assert record.purchase(run, "1") == Purchase("PO 4711", "DN 88", "7 Quay Road, Southby", "B. Sedge", 38)
    assert record.purchase(run, "2") == Purchase("PO 4711", "DN 88"), "the list names one order"
    record.keep_purchase(run, Purchase("PO 9"), line="1")
    keep_order_purchases(record, run, order.lines[1:])
    assert record.purchase(run, "1").order_number == "PO 9", "what was said since stays"


def test_of_two_order_numbers_none_is_guessed_for_the_other_lines(record: Record, tmp_path: Path) -> None:
    (tmp_path / "order.csv").write_text("line;designation;PO no\n1;6205;PO 1\n2;6004;PO 2\n3;6006;\n")
    order, run = read_order(tmp_path / "order.csv"), record.start_run("receive").id
    keep_order_purchases(record, run, order.lines)
    assert [record.purchase(run, line).order_number for line in ("1", "2", "3")] == ["PO 1", "PO 2", ""]
