"""A delivery is several lots: ISO 2859-1:1999, 6.2 (from memory), a lot is of a single type, grade, class and size."""

from __future__ import annotations

from dataclasses import replace

from audit.batch.making import unit

from screener.audit.batch.compare import compare_batch
from screener.audit.batch.duplicates import Repeated
from screener.audit.batch.unit import Unit
from screener.audit.lot import LotPlan
from screener.audit.lots import Delivery, judge_delivery
from screener.audit.plans.single import single_plan


def of(supplier: str, kind: str, record: int, leave: str = "use", serial: str = "") -> Unit:
    word = {"use": "accept", "send back": "reject"}.get(leave, "hold")
    serials = ((serial, ""),) if serial else ()
    made = unit(record, disposition=word, exit=leave, serials=serials)
    return replace(made, supplier=supplier, group=kind, need=kind)


def delivery() -> Delivery:
    units = [
        of("Lund", "6205", 1),
        of("Lund", "6205", 2),
        of("Moss", "6205", 3),
        of("Moss", "6004", 4, "keep and ask", "S1"),
        of("Moss", "6004", 5, "keep and ask", "S1"),
        of("Moss", "6204", 6, "send back"),
    ]
    return judge_delivery(compare_batch(units))


def test_each_supplier_and_kind_is_a_lot_with_its_own_answer() -> None:
    found = {lot.name: lot.judged.word for lot in delivery().lots}
    assert found == {
        "6205 from Lund": "accept",
        "6205 from Moss": "accept",
        "6004 from Moss": "hold",
        "6204 from Moss": "reject",
    }
    assert "not one batch" in delivery().says
    assert "3 kinds from 2 suppliers" in delivery().says


def test_a_suspect_unit_holds_its_own_lot_and_asks_for_a_look_at_its_suppliers_others() -> None:
    notes = {lot.name: bool(lot.note) for lot in delivery().lots}
    assert notes == {"6205 from Lund": False, "6205 from Moss": True, "6004 from Moss": False, "6204 from Moss": True}
    (step,) = [each.next_step for each in delivery().judged.reasons if each.code == "suspect_unit"]
    assert "every unit of 6004 from Moss" in step
    assert "6205" not in step


def test_a_repeated_serial_is_said_by_the_units_and_is_no_answer_to_whether_it_is_one_batch() -> None:
    (twice,) = [each for each in delivery().judged.reasons if each.code == "repeated_serial"]
    assert (twice.question, twice.records) == ("identity", Repeated("S1", (4, 5)).records)
    assert "item 4, item 5" in twice.says


def test_a_short_sample_is_said_first_and_never_accepts() -> None:
    """ISO 2859-1, tables I and II-A: a lot of 400, level II, letter H: 50 units."""
    plan = LotPlan.of(single_plan(400, "1.0"))
    judged = judge_delivery(compare_batch([of("Lund", "6205", at) for at in range(18)]), plan).judged
    assert judged.says.startswith("The plan asks for 50, 18 were looked at: 32 more.")
    assert judged.word == "hold"
    bad = judge_delivery(compare_batch([of("Lund", "6205", at, "send back") for at in range(2)]), plan).judged
    assert (bad.word, bad.missing) == ("reject", 48), "a rejection already reached stands"


def test_what_nobody_looked_at_counts_for_no_sample() -> None:
    """ISO 2859-1, tables I and II-A: a lot of 400, level II, letter H: 50 units."""
    blind = [replace(of("Lund", "6205", at, "look again"), looked_at=False) for at in range(100, 110)]
    seen = [of("Lund", "6205", at) for at in range(45)]
    judged = judge_delivery(compare_batch([*seen, *blind]), LotPlan.of(single_plan(400, "1.0"))).judged
    assert (judged.inspected, judged.missing, len(judged.not_looked_at)) == (45, 5, 10)
    assert judged.word == "hold"
    without_plan = judge_delivery(compare_batch([*seen, *blind])).judged
    assert [each.code for each in without_plan.reasons] == ["not_looked_at"]
    assert without_plan.open == ()


def confirmed(made: Unit, outcome: str) -> Unit:
    """As `screener.records.audit_units` gives a unit that somebody confirmed; what is suspect is kept either way."""
    word, way = ("accept", "use") if outcome == "conforming" else ("hold", "keep and ask")
    return replace(
        made, disposition=word, exit=way, outcome=outcome, decided=f"confirmed as {outcome} by Kim", own_answer="HOLD"
    )


def test_what_a_person_settled_asks_for_nothing_more() -> None:
    """A serial read twice is settled when both units are; nobody is asked to look again at what was confirmed."""
    pair = [confirmed(of("Moss", "6004", at, "keep and ask", "S1"), "conforming") for at in (4, 5)]
    other = [of("Moss", "6203", 6, "keep and ask")]
    lots = {lot.name: lot for lot in judge_delivery(compare_batch([*pair, *other])).lots}
    assert (lots["6004 from Moss"].judged.word, lots["6004 from Moss"].note) == ("accept", "")
    assert lots["6203 from Moss"].judged.word == "hold"


def test_a_lot_that_is_sent_back_is_not_told_about_its_use() -> None:
    notes = {lot.name: lot.note for lot in delivery().lots}
    assert notes["6204 from Moss"].endswith("before they are sent back.")
    assert notes["6205 from Moss"].endswith("before they are used.")


def test_a_rejection_already_reached_asks_for_no_more_units() -> None:
    plan = LotPlan.of(single_plan(400, "1.0"))
    judged = judge_delivery(compare_batch([of("Lund", "6205", at, "send back") for at in range(2)]), plan).judged
    assert judged.says.startswith("Do not accept the lot.")


def test_units_are_named_by_the_record_where_the_order_s_number_is_another() -> None:
    """A second delivery's line 3 is not record 3: who types a number has to know which."""
    made = replace(of("Moss", "6004", 21, "keep and ask"), key="3")
    assert "(item 3 (record 21))" in judge_delivery(compare_batch([made])).judged.says
