"""A bearing before it is pressed: both seats, clearance left, force, heat, order of work, one answer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from screener.errors import InputUnreadable, WrongUsage
from screener.metrology.bearing import accuracy_class
from screener.metrology.fits.case import BearingCase, Temperatures, Turning
from screener.metrology.fits.checking import check_case
from screener.metrology.fits.clearance_left import (
    GROUPS,
    GroupLeft,
    SeatJoint,
    by_group,
    clearance_words,
    clearance_words_as_it_is,
    first_suitable,
    other_groups_words,
    steps_too_loose,
)
from screener.metrology.fits.companions import Companion, bearing_companions
from screener.metrology.fits.creep import Creep, creep
from screener.metrology.fits.heating import Heating, heating
from screener.metrology.fits.raceway import Raceways, raceways
from screener.metrology.fits.reasons import lost_reason, seat_reason
from screener.metrology.fits.recommended import load_classes
from screener.metrology.fits.running_fit import RunningFit, running_fit
from screener.metrology.fits.seat_fit import Outcome, SeatFit, fit_seat
from screener.metrology.fits.seat_wording import out_of_class, seat_brief
from screener.metrology.fits.sequence import Line, StepsHold, bearing_sequence, steps_hold
from screener.metrology.slips import refuse_slips
from screener.parts.explaining import explain
from screener.parts.model import Explained
from screener.specs.boundary import BoundaryRow, boundary
from screener.specs.fit_materials import material
from screener.specs.fit_tables import Seat

_SET_ON_ASSEMBLY = {"tapered roller", "angular contact ball", "thrust ball"}
_USUAL_WARMER_K = 10.0
"""The inner ring usually runs 5 to 10 K warmer than the outer one (common practice)."""


@dataclass(frozen=True, slots=True)
class ClearanceAnswer:
    """Clearance of the bearing's own group and of the others, cold and running."""

    group: str
    cold: tuple[GroupLeft, ...]
    running: tuple[GroupLeft, ...]
    """At the temperatures told; empty without them."""
    needed: str | None
    """The tightest group that leaves enough (running where known, else cold); None if none does, or if a seat is
    not as recommended."""
    says: str
    usual_warm_says: str
    """What the usual 10 K warmer inner ring would leave; empty where temperatures were told."""
    usual_warm_short: bool = False
    """The usual warmer inner ring would leave too little, on seats that are right."""
    usual_warm_preloaded: bool = False
    """The usual warmer inner ring would preload it in every likely pairing, whatever the seats."""
    others_says: str = ""
    """What the other groups are for this job; empty before the seats are right."""
    seats_right: bool = True
    """Both seats are as recommended. If not, no group is: a wider one would only hide the wrong seat."""

    @property
    def mine(self) -> GroupLeft:
        """The bearing's own group, running where known."""
        return next(each for each in self.groups if each.group == self.group)

    @property
    def groups(self) -> tuple[GroupLeft, ...]:
        """All groups, running where known."""
        return self.running or self.cold


@dataclass(frozen=True, slots=True)
class BearingFit:
    """The whole answer."""

    case: BearingCase
    part: Explained
    row: BoundaryRow
    load_says: str
    shaft: SeatFit
    housing: SeatFit
    clearance: ClearanceAnswer | None
    clearance_says: str
    running: tuple[RunningFit, ...]
    """The seats when warm, where temperatures were told."""
    heating: Heating | None
    creep: Creep | None
    steps: tuple[Line, ...]
    cautions: tuple[Line, ...]
    companions: tuple[Companion, ...]
    not_checked: tuple[str, ...]
    outcome: Outcome
    steps_hold: StepsHold
    """Whether the steps may be followed."""
    headline: str
    """The answer in a few words: what the readings rule out goes before what they leave open."""
    says: str
    against: tuple[str, ...] = ()
    """What speaks against pressing, each in a few words."""
    look_again: tuple[str, ...] = ()
    """Seats out of their class, fits lost and clearance gone when warm, each with what to do."""
    brief: tuple[str, ...] = ()
    """A line for each seat and one for the clearance."""


def fit_bearing(case: BearingCase) -> BearingFit:
    """Judge a bearing and its seats.

    Raises
    ------
    InputUnreadable
        A designation that is not understood.
    WrongUsage
        One that is no bearing of the tables, or a reading, material … that cannot be.
    """
    check_case(case)
    part, row = _bearing(case.designation)
    where = raceways(row)
    accuracy = accuracy_class(part.accuracy or "")
    refuse_slips({"shaft": (case.shaft.values_mm, row.bore_mm), "housing": (case.housing.values_mm, row.od_mm)})
    shaft = fit_seat("shaft", row, accuracy, where, case, no_seat=_no_shaft_seat(part, row))
    housing = fit_seat("housing", row, accuracy, where, case)
    answer, clearance_says = _clearance(part, row, where, (shaft, housing), case.running)
    warm = _heating(part, shaft, case)
    running = _running((shaft, housing), case.running)
    set_on_assembly = row.family in _SET_ON_ASSEMBLY
    outcome = _outcome((shaft, housing), answer, running, set_on_assembly=set_on_assembly)
    hold = steps_hold(outcome, ruled_out=_ruled_out((shaft, housing), answer))
    headline = _headline(outcome, hold, answer)
    other = _other_ring(case, lambda seat, told: fit_seat(seat, row, accuracy, where, told), (shaft, housing))
    look_again = (*other, *_look_again((shaft, housing), running, answer))
    brief = _brief((shaft, housing), clearance_says)
    words = _state_words(case, part, row, shaft, housing, warm)
    steps, cautions = bearing_sequence(words)
    return BearingFit(
        case=case,
        part=part,
        row=row,
        load_says=load_classes(case).says,
        shaft=shaft,
        housing=housing,
        clearance=answer,
        clearance_says=clearance_says,
        running=running,
        heating=warm,
        creep=_creep(row, shaft, case),
        steps=steps,
        cautions=cautions,
        companions=bearing_companions(part, row),
        not_checked=_not_checked(case),
        outcome=outcome,
        steps_hold=hold,
        headline=headline,
        says=f"{headline}. {' '.join((*look_again, *brief))}",
        against=_against(case, (shaft, housing), answer, running, set_on_assembly=set_on_assembly),
        look_again=look_again,
        brief=brief,
    )


def _bearing(designation: str) -> tuple[Explained, BoundaryRow]:
    part = explain(designation)
    row = boundary(part.basic) if part.kind == "bearing" and part.basic else None
    if row is None and not part.understood:
        raise _not_understood(part)
    if row is None:
        raise WrongUsage(
            f"“{designation}” is no bearing of the tables.",
            where="designation",
            next_step="Write the whole designation (6205-2RS C3), or a seal's size (35x52x7).",
            code="designation",
        )
    return part, row


def _not_understood(part: Explained) -> InputUnreadable:
    named = ", ".join(part.not_understood) or part.input.strip() or "an empty designation"
    meant = f"Did you mean {' or '.join(part.suggestions)}? " if part.suggestions else ""
    return InputUnreadable(
        f"{'; '.join(part.ambiguous)}." if part.ambiguous else f"Not understood: {named}.",
        where="designation",
        next_step=f"{meant}Write the whole designation (6205-2RS C3), or a seal's size (35x52x7).",
        code="designation",
    )


def _no_shaft_seat(part: Explained, row: BoundaryRow) -> str:
    if part.tapered_bore:
        return "Tapered bore: how far the ring is driven up makes the fit; not calculated here."
    return "" if row.has_inner_ring else "No inner ring: the shaft is the raceway; its fit is not in these tables."


def _joints(seats: tuple[SeatFit, ...]) -> tuple[SeatJoint, ...]:
    return tuple(
        SeatJoint(each.seat, each.joint, each.interference, each.made_of)
        for each in seats
        if each.interference is not None
    )


def _clearance(
    part: Explained, row: BoundaryRow, where: Raceways, seats: tuple[SeatFit, ...], running: Temperatures
) -> tuple[ClearanceAnswer | None, str]:
    joints = _joints(seats)
    if part.clearance_code:
        return None, f"Clearance {part.clearance_code} is no group of ISO 5753-1: not calculated."
    if part.tapered_bore:
        return None, "Tapered bore: clearance is set by how far the ring is driven up; not calculated here."
    if row.family in _SET_ON_ASSEMBLY:
        return None, f"Clearance of {row.family} bearings is set when they are adjusted: follow the machine's manual."
    group = part.clearance or "CN"
    cold = by_group(row, where, joints, None)
    if group not in {each.group for each in cold}:
        return None, f"The tables hold no clearance {group} for {row.family} bearings of bore {row.bore_mm:g} mm."
    coarse = " and ".join(each.seat for each in seats if each.too_coarse)
    if coarse:
        return None, f"Clearance left not calculated: the readings of the {coarse} are too coarse."
    if len(joints) < len(seats):
        return None, "Clearance left not calculated: the fit of a seat is not known."
    told = running.inner_c is not None and running.outer_c is not None
    warm = by_group(row, where, joints, running) if told else ()
    groups = warm or cold
    mine = next(each for each in groups if each.group == group)
    right = all(each.as_recommended for each in seats)
    suitable = first_suitable(groups) if right else None
    usual = () if told else by_group(row, where, joints, _usual_running())
    when_warm = _of(group, usual)
    short_when_warm = right and when_warm in {"preloaded", "wider_group_needed"}
    says = _clearance_says(mine, groups, seats, warm=told)
    answer = ClearanceAnswer(
        group=group,
        cold=cold,
        running=warm,
        needed=None if suitable is None else suitable.group,
        # What holds cold is not said as if it held for the job.
        says=f"Cold only, before it runs: {says}" if short_when_warm else says,
        usual_warm_says=_usual_warm(group, usual, right=right) if usual else "",
        usual_warm_short=short_when_warm,
        usual_warm_preloaded=when_warm == "preloaded",
        others_says=other_groups_words(mine, groups, warm=told) if right else "",
        seats_right=right,
    )
    return answer, answer.says


def _of(group: str, groups: tuple[GroupLeft, ...]) -> str | None:
    return next((each.outcome for each in groups if each.group == group), None)


def _clearance_says(mine: GroupLeft, groups: tuple[GroupLeft, ...], seats: tuple[SeatFit, ...], *, warm: bool) -> str:
    wrong = [each for each in seats if not each.as_recommended]
    if not wrong:
        return clearance_words(mine, groups, warm=warm)
    left = clearance_words_as_it_is(mine, warm=warm)
    named = " and ".join(each.seat for each in wrong)
    if not any(each.recommended for each in wrong):
        return (
            f"{left} No class is known for the {named}: with the class on the machine's drawing a group can be named."
        )
    return f"{left} No clearance group is recommended before the {named} {_are(wrong)} known to be right."


def _are(seats: list[SeatFit]) -> str:
    return "is" if len(seats) == 1 else "are"


def _usual_running() -> Temperatures:
    # Only the difference matters for the raceways; a common rise would say something about the housing's material.
    return Temperatures(inner_c=20 + _USUAL_WARMER_K, outer_c=20)


def _usual_warm(group: str, groups: tuple[GroupLeft, ...], *, right: bool) -> str:
    mine = next(each for each in groups if each.group == group)
    said = clearance_words(mine, groups, warm=True) if right else clearance_words_as_it_is(mine, warm=True)
    return f"With the inner ring {_USUAL_WARMER_K:.0f} K warmer than the outer (5 to 10 K are usual): {said}"


def _heating(part: Explained, shaft: SeatFit, case: BearingCase) -> Heating | None:
    if shaft.interference is None or part.tapered_bore:
        return None
    return heating(part, shaft.nominal_mm, shaft.interference, case.room_c, shaft.made_of)


def _creep(row: BoundaryRow, shaft: SeatFit, case: BearingCase) -> Creep | None:
    if case.radial_load_n is None or shaft.wants != "tight" or shaft.interference is None:
        return None
    warmer_k = None if case.running.inner_c is None else case.running.inner_c - case.room_c
    return creep(row, shaft.interference.effective_um, case.radial_load_n, warmer_k)


def _running(seats: tuple[SeatFit, ...], running: Temperatures) -> tuple[RunningFit, ...]:
    tight = {each.seat: each.wants == "tight" for each in seats}
    found = (running_fit(each, running, must_be_tight=tight[each.seat]) for each in _joints(seats))
    return tuple(each for each in found if each is not None)


def _outcome(
    seats: tuple[SeatFit, SeatFit],
    answer: ClearanceAnswer | None,
    running: tuple[RunningFit, ...],
    *,
    set_on_assembly: bool,
) -> Outcome:
    found: set[Outcome] = {each.outcome for each in seats}
    if any(each.lost for each in running):
        found.add("review")
    if answer is not None and answer.mine.outcome == "preloaded":
        found.add("do_not")
    # The usual warmer inner ring was not told, so what it does is for somebody to look at.
    if answer is not None and (answer.mine.outcome == "wider_group_needed" or answer.usual_warm_preloaded):
        found.add("review")
    if answer is not None and _much_too_loose(answer):
        found.add("review")
    if answer is None and not set_on_assembly:
        found.add("review")
    return "do_not" if "do_not" in found else "review" if "review" in found else "fits"


HEADLINES: dict[Outcome, str] = {
    "fits": "Fits as measured",
    "review": "Look again before pressing",
    "do_not": "Do not press as it is",
}
NOT_YET = "Do not press yet"
"""The headline where somebody is to look again, and the readings already rule out pressing it like this."""


def _ruled_out(seats: tuple[SeatFit, SeatFit], answer: ClearanceAnswer | None) -> bool:
    return any(each.is_wrong for each in seats) or (answer is not None and answer.usual_warm_preloaded)


def _headline(outcome: Outcome, hold: StepsHold, answer: ClearanceAnswer | None) -> str:
    if outcome == "review" and hold == "not":
        return NOT_YET
    if outcome == "fits" and answer is not None and answer.usual_warm_short:
        return f"{HEADLINES[outcome]}, cold. Running warm {answer.group} may leave too little clearance"
    return HEADLINES[outcome]


def _look_again(
    seats: tuple[SeatFit, SeatFit], running: tuple[RunningFit, ...], answer: ClearanceAnswer | None
) -> tuple[str, ...]:
    # A seat out of its class is the cause of what follows, so it stands first.
    wrong = [_coarse_words(each) for each in seats if each.too_coarse]
    outside = [out_of_class(each.seat, each.measured, each.recommended) for each in seats if not each.too_coarse]
    wrong += [each for each in outside if each]
    if any(outside):
        wrong[-1] += " Do not order another clearance group to make up for a wrong seat."
    told = answer is not None and (answer.usual_warm_short or answer.usual_warm_preloaded)
    warm = (answer.usual_warm_says,) if answer is not None and told else ()
    return (*(each for each in wrong if each), *(each.says for each in running if each.lost), *warm)


_OTHER: dict[Turning | None, Turning] = {"inner": "outer", "outer": "inner"}


def _other_ring(
    case: BearingCase, judge: Callable[[Seat, BearingCase], SeatFit], seats: tuple[SeatFit, SeatFit]
) -> tuple[str, ...]:
    """Return that wrong seats would be right if the other ring turned: then nobody has to rework them."""
    other = _OTHER.get(case.turning)
    if other is None or not any(each.is_wrong for each in seats) or not all(each.measured for each in seats):
        return ()
    turned = replace(case, turning=other)
    if not all(judge(each.seat, turned).as_recommended for each in seats):
        return ()
    ring = f"the {other} ring, not the {case.turning} one"
    says = f"As read, both seats are right for a load that turns relative to {ring}: check that before any rework."
    return (says,)


def _coarse_words(seat: SeatFit) -> str:
    if seat.measured is None:
        return ""
    found = seat.measured.sections[0]
    open_um = 1000 * (found.highest_mm - found.lowest_mm)
    finer = "a micrometer" if seat.seat == "shaft" else "a bore gauge or inside micrometer"
    return (
        f"The {found.instrument} cannot decide the {seat.seat}: it leaves {open_um:.0f} µm open, "
        f"the widest class is {1000 * seat.widest_class_mm:.0f} µm. Measure it with {finer} before anything is pressed."
    )


def _brief(seats: tuple[SeatFit, SeatFit], clearance_says: str) -> tuple[str, ...]:
    return (*(seat_brief(seat.seat, seat.interference, seat.kind, seat.wants) for seat in seats), clearance_says)


def _not_told(case: BearingCase) -> str:
    """What the mechanic has not told and without which no class can be named; empty where all is told."""
    if case.shaft.zone is not None and case.housing.zone is not None:
        return ""
    if case.turning is None:
        return "which ring turns relative to the load was not told"
    return "load not told" if case.load is None and case.load_share is None else ""


def _against(
    case: BearingCase,
    seats: tuple[SeatFit, SeatFit],
    answer: ClearanceAnswer | None,
    running: tuple[RunningFit, ...],
    *,
    set_on_assembly: bool,
) -> tuple[str, ...]:
    untold = _not_told(case)
    found = [untold, *(f"{seat.seat} measured too coarsely" for seat in seats if seat.too_coarse)]
    found += [seat_reason(seat, untold=bool(untold)) for seat in seats]
    found += [lost_reason(each) for each in running]
    if answer is not None:
        found.append(_clearance_reason(answer))
    elif not set_on_assembly:
        found.append("clearance not known")
    return tuple(each for each in found if each)


def _clearance_reason(answer: ClearanceAnswer) -> str:
    mine, group = answer.mine, answer.group
    if mine.outcome == "preloaded":
        return f"preloaded with {group}"
    if answer.usual_warm_preloaded:
        return f"running warm it would be preloaded with {group}{'' if answer.seats_right else ' on these seats'}"
    if mine.outcome == "wider_group_needed":
        return group_words(answer) if answer.seats_right else f"{group} leaves too little clearance on these seats"
    return f"{group} is looser than needed" if _much_too_loose(answer) else ""


def _much_too_loose(answer: ClearanceAnswer) -> bool:
    """One group more is often taken on purpose; two at temperatures that are known are not."""
    return bool(answer.running) and answer.seats_right and steps_too_loose(answer.mine, answer.running) >= 2


def _state_words(
    case: BearingCase,
    part: Explained,
    row: BoundaryRow,
    shaft: SeatFit,
    housing: SeatFit,
    warm: Heating | None,
) -> frozenset[str]:
    tight = {seat.seat: seat.kind in {"press", "transition"} for seat in (shaft, housing)}
    slides = {seat.seat: seat.kind in {"slide", "loose"} for seat in (shaft, housing)}
    light = {row.material for row in (material("aluminium"), material("magnesium")) if row is not None}
    facts = {
        "press shaft": tight["shaft"],
        "press housing": tight["housing"],
        "slide shaft": slides["shaft"],
        "slide housing": slides["housing"],
        "unknown fit": shaft.kind is None or housing.kind is None,
        "both press": tight["shaft"] and tight["housing"],
        "heat": warm is not None,
        "cool": warm is not None and warm.cool_shaft_to_c is not None,
        "closed": part.closure is not None and part.closure.kind != "open",
        "open": part.closure is None or part.closure.kind == "open",
        "thin housing": case.housing.wall_mm is not None,
        "hollow shaft": bool(case.shaft.wall_mm),
        "light alloy": housing.made_of.material in light,
        "compound": any(seat.loose is not None and seat.loose.compounds for seat in (shaft, housing)),
        "large": row.bore_mm > 80,
    }
    return frozenset(word for word, holds in facts.items() if holds)


def _not_checked(case: BearingCase) -> tuple[str, ...]:
    missing = {
        "shaft seat (not measured)": not case.shaft.sections,
        "housing seat (not measured)": not case.housing.sections,
        "the bearing's own bore (the standard's limits stand in)": not case.bore,
        "the bearing's own outside diameter (the standard's limits stand in)": not case.od,
        "which ring turns relative to the load": case.turning is None,
        "load": case.load is None and case.load_share is None,
        "running temperatures of the rings": case.running.inner_c is None or case.running.outer_c is None,
        "creep under load (radial load not told)": case.radial_load_n is None,
    }
    always = ("the bearing's real clearance before fitting", "shoulders, fillets, squareness, alignment", "hardness")
    return (*(word for word, holds in missing.items() if holds), *always)


def group_words(answer: ClearanceAnswer) -> str:
    """Return which group the job needs, as a short phrase (``CN enough``, ``C3 needed``, ``preloaded: do not``)."""
    if answer.mine.outcome == "preloaded":
        return "preloaded: do not"
    if not answer.seats_right:
        return "seats first"
    if answer.mine.outcome == "wider_group_needed":
        later = [each for each in GROUPS if answer.needed is not None and each == answer.needed]
        return f"{later[0]} needed" if later else "no group is wide enough"
    return f"{answer.group} enough"
