"""What becomes of a lot: by number as ISO 2859-1 says, by suspicion whatever the number, by comparison; not blended."""

from __future__ import annotations

import numpy as np
from audit.batch.making import batch, unit

from screener.audit.batch.compare import compare_batch
from screener.audit.batch.unit import Unit
from screener.audit.lot import LotDisposition, LotPlan, judge_lot
from screener.audit.plans.single import single_plan

# ISO 2859-1 / MIL-STD-105E, tables I and II-A: lot 281 to 500, level II: letter H, sample 50; AQL 1.0: Ac 1, Re 2.
PLAN = LotPlan.of(single_plan(400, "1.0"))


def accepted(number: int) -> Unit:
    return unit(number, disposition="accept", exit="use")


def rejected(number: int) -> Unit:
    return unit(number, disposition="reject", exit="send back", reason="Another size.")


def suspect(number: int) -> Unit:
    return unit(number, disposition="hold", exit="keep and ask", suspicion="strong", reason="Serial seen before.")


def waiting(number: int) -> Unit:
    return unit(number, disposition="hold", exit="look again", reason="One face seen.")


def lot(*makers_and_counts: tuple[object, int], plan: LotPlan | None = PLAN) -> LotDisposition:
    units: list[Unit] = []
    for make, count in makers_and_counts:
        units += [make(len(units) + number) for number in range(count)]  # type: ignore[operator]
    return judge_lot(compare_batch(units), plan)


def codes(judged: LotDisposition) -> list[str]:
    return [reason.code for reason in judged.reasons]


def test_the_plan_is_that_of_the_standard() -> None:
    assert (PLAN.sample, PLAN.accept, PLAN.reject) == (50, 1, 2)


def test_the_count_decides_at_the_plans_numbers() -> None:
    assert lot((accepted, 50)).word == "accept"
    one = lot((accepted, 49), (rejected, 1))
    assert (one.word, codes(one)) == ("accept", ["accept_number"])
    assert "without the units" in one.reasons[0].next_step
    two = lot((accepted, 48), (rejected, 2))
    assert (two.word, codes(two), two.nonconforming) == ("reject", ["reject_number"], (48, 49))


def test_between_the_numbers_of_a_reduced_plan_the_lot_is_accepted_and_reduced_ends() -> None:
    """MIL-STD-105E, 4.7.4 b: lot of 1200, AQL 1.0, reduced (table II-C): 32 units, Ac 1, Re 3."""
    plan = LotPlan.of(single_plan(1200, "1.0", severity="reduced"))
    between = lot((accepted, 30), (rejected, 2), plan=plan)
    assert (between.word, codes(between)) == ("accept", ["accept_number"])
    assert "reduced inspection ends" in between.says
    assert "ends" not in lot((accepted, 31), (rejected, 1), plan=plan).says
    assert lot((accepted, 29), (rejected, 3), plan=plan).word == "reject"


def test_a_lot_of_which_a_part_was_looked_at_is_not_accepted_as_a_whole() -> None:
    """Without a plan two of ten say nothing of the other eight; two boxes of one line are that line's pieces once."""

    def of_ten(number: int, line: str = "4") -> Unit:
        return unit(number, disposition="accept", exit="use", line=line, ordered_pieces=10)

    part = lot((of_ten, 2), plan=None)
    assert (part.word, codes(part)) == ("accept", ["part_of_ordered"])
    assert (
        part.says
        == "Accept what was looked at: 2 of 10 pieces ordered were inspected; of the other 8 nothing is known."
    )
    assert "--lot 10" in part.reasons[0].next_step
    assert lot((of_ten, 10), plan=None).says.startswith("Accept the lot.")
    two_lines = lot((of_ten, 1), (lambda number: of_ten(number, "5"), 1), plan=None)
    assert "2 of 20 pieces" in two_lines.says
    assert lot((accepted, 2), plan=None).says.startswith("Accept the lot.")
    assert "part_of_ordered" not in codes(lot((of_ten, 2), (waiting, 1), plan=None))


def test_enough_found_in_part_of_the_sample_decides_already() -> None:
    assert lot((accepted, 5), (rejected, 2)).word == "reject"
    short = lot((accepted, 30))
    assert (short.word, codes(short)) == ("hold", ["sample_too_small"])
    assert "20 more" in short.reasons[0].next_step


def test_open_units_wait_only_where_they_could_turn_the_answer() -> None:
    assert lot((accepted, 49), (waiting, 1)).word == "accept"
    turn = lot((accepted, 48), (rejected, 1), (waiting, 1))
    assert (turn.word, codes(turn)) == ("hold", ["open_units"])


def test_one_suspect_unit_holds_the_lot_and_nothing_is_sent_back() -> None:
    """One strong item holds the lot (the customer's rule); keep-and-ask and send-back are never mixed."""
    held = lot((accepted, 49), (suspect, 1))
    assert (held.word, held.suspect) == ("hold", (49,))
    both = lot((accepted, 45), (rejected, 4), (suspect, 1))
    assert both.word == "hold", "suspicion stands over the count"
    assert [(reason.question, reason.word) for reason in both.reasons[:2]] == [
        ("suspicion", "hold"),
        ("number", "reject"),
    ]
    assert not any("claim it" in reason.next_step for reason in both.reasons)


def test_what_settles_the_open_units_is_said_with_their_numbers() -> None:
    """ISO 9001:2015, 8.7.1: what is to be done with an output that may not conform is said for each."""
    units = [
        unit(1, disposition="accept", exit="use"),
        unit(2, disposition="hold", exit="look again", next_step="Turn it over."),
        unit(3, disposition="hold", exit="look again", next_step="Weigh it."),
        unit(4, disposition="hold", exit="look again", next_step="Turn it over."),
    ]
    (reason,) = judge_lot(compare_batch(units)).reasons
    assert (reason.code, reason.next_step) == ("open_units", "Items 2, 4: Turn it over. Item 3: Weigh it.")


def test_without_a_plan_the_lot_is_not_decided_by_count() -> None:
    assert lot((accepted, 10), plan=None).word == "accept"
    judged = lot((accepted, 10), (rejected, 1), plan=None)
    assert (judged.word, codes(judged)) == ("hold", ["nonconforming_units"])


def test_another_process_and_repeated_serials_hold_the_lot() -> None:
    grouped = judge_lot(compare_batch(batch(60, 12, np.random.default_rng(5))), PLAN)
    assert (grouped.word, "another_process" in codes(grouped)) == ("hold", True)
    records = set(next(r for r in grouped.reasons if r.code == "another_process").records)
    assert len(records ^ set(range(12))) <= 2
    units = [unit(n, disposition="accept", exit="use", serials=((f"S{n % 49}", "G"),)) for n in range(50)]
    twice = judge_lot(compare_batch(units), PLAN)
    assert (twice.word, codes(twice)) == ("hold", ["accept_number", "repeated_serial"])
    assert twice.reasons[1].records == (0, 49)
