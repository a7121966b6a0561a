"""Normal, tightened, reduced inspection or stop, by the history of a supplier's lots. A pure state machine.

Rules: MIL-STD-105E, 4.7.1 to 4.8 (the same in ISO 2859-1, 9.3 and 9.4): from normal to tightened when 2 of 5 or fewer
consecutive lots were not accepted; back after 5 accepted in a row; stop when 5 lots were not accepted on tightened;
from reduced to normal on a lot not accepted, or on a count between Ac and Re. From normal to reduced by the switching
score of ISO 2859-1:1999, 9.3.3.2 (from memory): 30 points, and a person who allows it because deliveries are steady.
That permission lasts: a lot that was inspected reduced had it, and one that was inspected normal after it ends it
(9.3.3.3). The limit numbers of MIL-STD-105E, table VIII, which the score has replaced, are not used. Lots presented
again after sorting do not count.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import Literal, cast

from screener.audit.plans.single import SinglePlan, one_step_tighter, single_plan
from screener.errors import WrongUsage
from screener.specs.sampling import SEVERITIES, Level, Severity

Stage = Literal["normal", "tightened", "reduced", "stopped"]
ENOUGH_SCORE = 30
_WINDOW, _TOO_MANY = 5, 2
_BACK_AFTER, _STOP_AT = 5, 5


@dataclass(frozen=True, slots=True)
class State:
    """Where a supplier stands; `START` at the beginning."""

    stage: Stage = "normal"
    recent: tuple[bool, ...] = ()
    """The last five lots on normal inspection at most: accepted or not."""
    score: int = 0
    """Switching score, on normal inspection only."""
    accepted_in_row: int = 0
    not_accepted: int = 0
    """Both on tightened inspection only."""

    @property
    def severity(self) -> Severity:
        """The inspection for the next lot; after a stop it goes on with tightened."""
        return "tightened" if self.stage == "stopped" else self.stage


START = State()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a lot did to the state.

    ``tighter_accepts``: whether it would have been accepted with the AQL one step tighter; None if not known.
    ``between``: a reduced plan's count between Ac and Re.
    """

    accepted: bool
    accept_number: int
    tighter_accepts: bool | None = None
    between: bool = False


@dataclass(frozen=True, slots=True)
class PastLot:
    """A lot in the history: how many were found nonconforming, or only whether it was accepted."""

    lot_units: int
    found: int | None = None
    accepted: bool | None = None
    severity: Severity | None = None
    """How it was inspected, where that is known; it tells whether reduced inspection had been allowed."""
    resumes: bool = False
    """Not a lot: the supplier has corrected, inspection begins again (tightened)."""


@dataclass(frozen=True, slots=True)
class Step:
    """One lot of the history with the state before and after it."""

    number: int
    before: State
    after: State
    plan: SinglePlan | None
    says: str


def next_state(state: State, outcome: Outcome, *, reduced_allowed: bool = False) -> State:
    """Return the state after one more lot."""
    if state.stage == "normal":
        return _after_normal(state, outcome, reduced_allowed)
    if state.stage == "tightened":
        return _after_tightened(state, outcome)
    if state.stage == "reduced":
        return state if outcome.accepted and not outcome.between else START
    return state


def _after_normal(state: State, outcome: Outcome, reduced_allowed: bool) -> State:
    recent = (*state.recent, outcome.accepted)[-_WINDOW:]
    if recent.count(False) >= _TOO_MANY:
        return State("tightened")
    score = _score(state.score, outcome)
    if score >= ENOUGH_SCORE and reduced_allowed:
        return State("reduced")
    return replace(state, recent=recent, score=score)


def _score(score: int, outcome: Outcome) -> int:
    if outcome.accept_number >= 2:
        return score + 3 if outcome.tighter_accepts else 0
    return score + 2 if outcome.accepted else 0


def _after_tightened(state: State, outcome: Outcome) -> State:
    if outcome.accepted:
        row = state.accepted_in_row + 1
        return START if row >= _BACK_AFTER else replace(state, accepted_in_row=row)
    count = state.not_accepted + 1
    return State("stopped" if count >= _STOP_AT else "tightened", not_accepted=count)


def walk(
    history: Iterable[PastLot], aql: str | float, level: Level = "II", *, reduced_allowed: bool = False
) -> tuple[Step, ...]:
    """Return what each lot of a history did, oldest first; the last step's ``after`` is for the next lot.

    ``reduced_allowed`` is said now, for the next lot, and for lots of which it is not known how they were inspected.

    Raises
    ------
    WrongUsage
        No such AQL, or a lot below two units.
    """
    steps: list[Step] = []
    state = START
    lots = tuple(history)
    for number, (lot, following) in enumerate(zip_longest(lots, lots[1:]), 1):
        known = following is not None and following.severity is not None
        allowed = following.severity == "reduced" if known else reduced_allowed
        step = _one(number, _as_inspected(state, lot), lot, aql, level, allowed)
        steps.append(step)
        state = step.after
    return tuple(steps)


def _as_inspected(state: State, lot: PastLot) -> State:
    """Reduced inspection ends where somebody went back to normal without being made to."""
    return START if state.stage == "reduced" and lot.severity == "normal" else state


def _one(number: int, state: State, lot: PastLot, aql: str | float, level: Level, reduced_allowed: bool) -> Step:
    if lot.resumes:
        after = State("tightened") if state.stage == "stopped" else state
        return Step(number, state, after, None, "Corrected by the supplier: inspection goes on tightened.")
    if state.stage == "stopped":
        return Step(number, state, state, None, "Stopped: nothing is accepted by sample before the supplier corrects.")
    plan = single_plan(lot.lot_units, aql, level, state.severity)
    outcome = judge(plan, lot)
    after = next_state(state, outcome, reduced_allowed=reduced_allowed)
    return Step(number, state, after, plan, _says(lot, plan, outcome, state, after))


def judge(plan: SinglePlan, lot: PastLot) -> Outcome:
    """Return what the plan says of a lot. A lot told only as accepted earns no points where the plan has Ac above 1."""
    if lot.found is None:
        return Outcome(bool(lot.accepted), plan.accept)
    tighter = one_step_tighter(plan)
    return Outcome(
        accepted=lot.found < plan.reject,
        accept_number=plan.accept,
        tighter_accepts=tighter is not None and lot.found <= tighter,
        between=plan.accept < lot.found < plan.reject,
    )


_BECAUSE = {
    ("normal", "tightened"): "two of five or fewer lots in a row were not accepted: TIGHTENED from the next lot on",
    ("tightened", "normal"): "five lots in a row were accepted: back to NORMAL",
    ("tightened", "stopped"): "five lots were not accepted on tightened inspection: STOP until the supplier corrects",
    ("normal", "reduced"): "the switching score has reached 30 and deliveries are steady: REDUCED",
    ("reduced", "normal"): "back to NORMAL",
}


def _says(lot: PastLot, plan: SinglePlan, outcome: Outcome, before: State, after: State) -> str:
    found = "" if lot.found is None else f"{lot.found} found, "
    word = "accepted" if outcome.accepted else "not accepted"
    plan_says = f"{before.stage}, n {plan.sample_units}, Ac {plan.accept}, Re {plan.reject}"
    change = _BECAUSE.get((before.stage, after.stage), "")
    if not change and after.score >= ENOUGH_SCORE:
        change = f"switching score {after.score}: reduced inspection may be allowed if deliveries are steady"
    return f"{found}{word} ({plan_says})" + (f"; {change}." if change else ".")


def read_history(texts: Sequence[str], lot_units: int) -> tuple[PastLot, ...]:
    """Return past lots from words: ``0`` or ``800:2`` (lot size: number found), ``a``, ``r``, ``resume``.

    ``/reduced`` (or another severity) behind a lot says how it was inspected.

    Parameters
    ----------
    texts
        Words, oldest first.
    lot_units
        Size of the lots that name none.

    Raises
    ------
    WrongUsage
        A word that is none of these.
    """
    return tuple(_past_lot(text.strip().lower(), lot_units) for text in texts if text.strip())


def _past_lot(word: str, lot_units: int) -> PastLot:
    told, slash, severity = word.partition("/")
    if slash and severity not in SEVERITIES:
        raise _no_word(word)
    inspected = cast("Severity", severity) if slash else None
    size, _, rest = told.rpartition(":")
    if size and not size.isdecimal():
        raise _no_word(word)
    units = int(size) if size else lot_units
    if rest.isdecimal():
        return PastLot(units, found=int(rest), severity=inspected)
    if rest == "resume":
        return PastLot(units, resumes=True)
    if rest in {"a", "accepted", "r", "rejected"}:
        return PastLot(units, accepted=rest.startswith("a"), severity=inspected)
    raise _no_word(word)


def _no_word(word: str) -> WrongUsage:
    return WrongUsage(
        f"“{word}” is no lot.",
        where="--history",
        next_step="Write how many were found in each lot, oldest first: 0,1,800:2 (lot of 800), 0/reduced, or a, r, "
        "resume.",
    )
