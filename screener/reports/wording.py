"""The words of a result, the same on screen, paper and export."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from screener.records.standing import Standing
from screener.screening.model import (
    Disposition,
    Finding,
    NextStep,
    Observation,
    ScreenedItem,
    Suspicion,
    WeighedIndicator,
)
from screener.screening.odds import odds_say
from screener.screening.strength import ratio_says
from screener.screening.summary import joined
from screener.specs.screening_rules import finding_kinds
from screener.specs.steps import hold_procedure

Shape = Literal["ring", "tag", "arrow"]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What to do with the part, in words and as a shape that needs no colour."""

    word: Literal["USE", "HOLD", "SEND BACK"]
    detail: str
    shape: Shape
    sign: str
    """One character for a terminal, different in form for each word."""


USE = Verdict("USE", "", "ring", "○")
LOOK_AGAIN = Verdict("HOLD", "look again", "tag", "■")
KEEP_AND_ASK = Verdict("HOLD", "keep and ask", "tag", "■")
SEND_BACK = Verdict("SEND BACK", "not to order", "arrow", "◄")
VERDICTS = (USE, LOOK_AGAIN, KEEP_AND_ASK, SEND_BACK)
_BY_WORD = {each.word: each for each in (USE, LOOK_AGAIN, SEND_BACK)}

KEEP_EVERYTHING = (
    "Do not return this part and do not use it. Keep all packaging, tape and labels as they are; clean and test-fit "
    "nothing before it is photographed."
)
CAUTION = "The machine's manual, the shop's rules and local law come first."
ATTRIBUTE_WORDS = {
    "bore_to_od": "bore to outside diameter",
    "bore_mm": "bore",
    "od_mm": "outside diameter",
    "width_mm": "width",
    "mass_g": "mass",
    "lip_face": "lip side",
    "snap_ring_groove": "snap-ring groove",
    "gtin": "article number (GTIN)",
    "reference": "beside the reference",
    "seen_before": "received before",
    "mark_spacing": "spread of the gaps between letters",
    "mark_baseline": "spread of the letters about their line",
    "mark_stroke": "spread of the stroke width",
    "mark_contrast": "spread of the letters' contrast",
}
CLASSES = frozenset({"closure", "lip_face", "kind", "cage", "garter_spring", "snap_ring_groove"})
UNITS = {"bore_mm": "mm", "od_mm": "mm", "width_mm": "mm", "mass_g": "g"}
CHANNEL_WORDS = {
    "order": "order",
    "barcode": "code on the box",
    "label": "label text",
    "marking": "mark on the part",
    "geometry": "shape in the photo",
    "face": "visible face",
    "instrument": "instrument",
    "person": "person",
    "photo": "photo",
}


def verdict_of(disposition: Disposition) -> Verdict:
    """Return what to print first. A part that is to be kept is never shown as one to send back."""
    if disposition.exit == "keep and ask":
        return KEEP_AND_ASK
    if disposition.word == "reject":
        return SEND_BACK
    return USE if disposition.word == "accept" else LOOK_AGAIN


def verdict_now(screened: ScreenedItem, standing: Standing | None) -> Verdict:
    """Return what to print first: a person's word goes before the answer."""
    return verdict_of(screened.disposition) if standing is None else verdict_of_person(standing)


def verdict_of_person(standing: Standing) -> Verdict:
    """Return the words for what a person decided or confirmed."""
    return replace(_BY_WORD[standing.word], detail=standing.by)


def headline(finding: Finding) -> str:
    """Return what kind of finding it is, in a few words."""
    kind = finding_kinds().get(finding.code)
    return kind.headline if kind is not None else ""


def suspicion_means(suspicion: Suspicion) -> str:
    """Return what the level means at the prior of the settings; nothing where nothing speaks for it."""
    return "" if suspicion.level == "none" else odds_say(suspicion)


def absence_says(suspicion: Suspicion) -> str:
    """Return which groups of signs were looked at and showed none, and how little that says."""
    if not suspicion.groups_without:
        return ""
    groups = ", ".join(suspicion.groups_without)
    return (
        f"Looked at, at least in part, and no sign seen: {groups}. That is never counted into the level, for a good "
        f"copy shows no sign either; counted, it would move the level by {suspicion.absence_db:+.1f} dB."
    )


def hold_steps() -> tuple[str, ...]:
    """Return what is done with an item that is kept because something is suspect."""
    return hold_procedure().procedure


def suspicion_says(suspicion: Suspicion) -> str:
    """Return the level in words, with the range of the ratio where something spoke for it; never a percentage."""
    if suspicion.level == "none":
        return "Suspicion level: none. Nothing seen speaks for it; that alone proves nothing."
    return (
        f"Suspicion level: {suspicion.level} (likelihood ratio {suspicion.ratio_db:+.0f} dB, range "
        f"{suspicion.low_db:+.0f} to {suspicion.high_db:+.0f} dB). This can have an ordinary cause."
    )


def times_say(suspicion: Suspicion) -> str:
    """Return how much oftener such signs are seen on bad items than on good ones, as a range of times."""
    low, high = (10 ** (level / 10) for level in (suspicion.low_db, suspicion.high_db))
    return f"such signs are seen {_whole(low)} to {_whole(high)} times as often on bad items as on good ones"


def _whole(times: float) -> str:
    """Two digits, never written with an exponent."""
    digits = max(len(str(int(times))) - 2, 0)
    return f"{round(times, -digits):.0f}" if times >= 10 else f"{times:.2g}"


def indicator_says(weighed: WeighedIndicator) -> str:
    """Return how much a sign says, in words and dB with its range; what moved the weight stands beside it."""
    says = ratio_says(weighed.ratio, weighed.ratio_low, weighed.ratio_high)
    if weighed.share < 1:
        says += f"; counts {weighed.share:.0%} here, for another sign of the same cause counts fully"
    if weighed.learned_from:
        return f"{says}; moved by {weighed.learned_from} confirmed items"
    return f"{says}; a judgement"


def step_says(step: NextStep) -> str:
    """Return a step with its cost and how often it decides: ``Weigh it. (15 s; decides it in about 2 of 10 cases)``.

    Where it would have to make several missing checks at once, they are named: one of them alone decides nothing.
    """
    cost = f"{step.hands_on_s:.0f} s" if step.hands_on_s < 120 else f"{step.hands_on_s / 60:.0f} min"
    if step.wait_days:
        cost += f", {step.wait_days:g} day{'' if step.wait_days == 1 else 's'} until the answer"
    tenths = 10 * step.chance
    often = "in fewer than 1 of 10 cases" if tenths < 1 else f"in about {tenths:.0f} of 10 cases"
    shows = f", if it shows {joined(step.has_to_show)}" if len(step.has_to_show) > 1 else ""
    return f"{step.says} ({cost}; decides it {often}{shows})"


def value_says(observation: Observation) -> str:
    """Return the value with its unit and uncertainty: ``51.98 ± 0.04 mm (k = 2)``."""
    if isinstance(observation.value, str):
        return observation.value.replace("_", " ") if observation.attribute in CLASSES else observation.value
    unit = UNITS.get(observation.attribute, "")
    warm = "" if observation.temperature_c is None else f", part at {observation.temperature_c:g} °C"
    if observation.u is None:
        return f"{observation.value:g} {unit}".strip() + warm
    places = _places(2 * observation.u)
    return f"{observation.value:.{places}f} ± {2 * observation.u:.{places}f} {unit}".strip() + f" (k = 2){warm}"


def sureness_says(observation: Observation) -> str:
    """Return how sure a reading is, in words; the number stays in the JSON."""
    confirmed = "seen by a second reader" if observation.confirmed else ""
    if observation.p is None:
        return confirmed
    word = "sure" if observation.p >= 0.95 else "fairly sure" if observation.p >= 0.8 else "unsure"
    return ", ".join(filter(None, (word, confirmed)))


def attribute_says(observation: Observation) -> str:
    """Return the name of an attribute as people say it."""
    return ATTRIBUTE_WORDS.get(observation.attribute, observation.attribute)


def differing(screened: ScreenedItem) -> tuple[Finding, ...]:
    """Return the findings on what differs from the order, the sources or the fit."""
    return tuple(each for each in _weightiest_first(screened.findings) if each.question != "suspicion")


def suspect(screened: ScreenedItem) -> tuple[Finding, ...]:
    """Return the findings that speak for suspicion."""
    return tuple(each for each in _weightiest_first(screened.findings) if each.question == "suspicion")


def not_checked_says(screened: ScreenedItem) -> str:
    """Return in a few words what was not checked; the sentences stand with the item.

    Who reads "use" must read in the same breath what it leaves out.
    """
    return ", ".join(dict.fromkeys(each.word or each.code.replace("_", " ") for each in screened.not_checked)) + "."


def counted(verdicts: Iterable[Verdict]) -> dict[str, int]:
    """Return how many items are to be used, held and sent back, in that order."""
    counts = {"USE": 0, "HOLD": 0, "SEND BACK": 0}
    for each in verdicts:
        counts[each.word] += 1
    return counts


def _weightiest_first(findings: Iterable[Finding]) -> list[Finding]:
    order = {"contradiction": 0, "question": 1, "note": 2}
    return sorted(findings, key=lambda each: order[each.weight])


def _places(uncertainty: float) -> int:
    """Return the decimals that show an uncertainty with two digits, at most four."""
    for places in range(5):
        if uncertainty >= 10 ** (1 - places):
            return places
    return 4
