"""Whose part is it said to be: the order's maker, the box's, the mark's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked
from screener.screening.model import BOX_CHANNELS, Finding
from screener.screening.observed import CERTAIN_FROM_P, named, observed
from screener.specs.makers import match_maker

if TYPE_CHECKING:
    from screener.screening.model import Item, Observation, Surroundings


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare maker words with the shop's makers file, with the order and with each other."""
    del surroundings
    words = observed(item, "maker", ("label", "barcode", "marking", "person"))
    findings = [*(_spelling(o) for o in words), *_against_order(item, words), _box_against_part(words)]
    return Checked(findings=tuple(f for f in findings if f is not None))


def maker_name(observation: Observation) -> str | None:
    """The known maker that a word stands for, exactly or by likeness; ``None`` for one not known here."""
    match = match_maker(str(observation.value))
    return match.name if match is not None else None


def maker_read(item: Item, wanted: str) -> bool:
    """Whether the wanted maker was read for sure: its word, spelt rightly, or a number issued to it."""
    known = match_maker(wanted)
    wanted_name = known.name if known is not None else wanted.upper()
    words = [o for o in observed(item, "maker") if o.p is None or o.p >= CERTAIN_FROM_P]
    if any(_named_exactly(str(o.value), wanted_name) for o in words):
        return True
    if known is None:
        return False
    return any(known.maker.issued(str(o.value)) is True for o in observed(item, "gtin"))


def _named_exactly(word: str, wanted_name: str) -> bool:
    match = match_maker(word)
    return word.upper() == wanted_name if match is None else match.exact and match.name == wanted_name


def _spelling(observation: Observation) -> Finding | None:
    match = match_maker(str(observation.value))
    if match is None:
        return Finding(
            code="maker_unknown",
            weight="note",
            question="suspicion",
            says=f"The {named(observation)} names “{observation.value}”, a maker not known here.",
            rests_on="reference_specs/makers.toml",
            observations=(observation.key,),
        )
    # A mark on steel is read letter by letter from a ring: one odd letter there is the reader's far more often.
    if match.exact or observation.source.channel == "marking":
        return None
    if observation.p is not None and observation.p < CERTAIN_FROM_P:
        return Finding(
            code="maker_unread",
            weight="note",
            question="suspicion",
            says=f"The {named(observation)} seems to read “{observation.value}”; it was not read for sure.",
            rests_on="reference_specs/makers.toml",
            observations=(observation.key,),
        )
    return Finding(
        code="maker_misspelt",
        weight="question",
        question="suspicion",
        says=f"The {named(observation)} reads “{observation.value}”, which is close to but not “{match.name}”.",
        rests_on="reference_specs/makers.toml",
        observations=(observation.key,),
        indicator="PK1",
    )


def _against_order(item: Item, words: tuple[Observation, ...]) -> list[Finding]:
    wanted = item.requirement.maker
    if not wanted:
        return []
    wanted_match = match_maker(wanted)
    wanted_name = wanted_match.name if wanted_match is not None else wanted.upper()
    return [
        Finding(
            code="maker_not_as_ordered",
            weight="contradiction",
            question="asked_for",
            says=f"The {named(o)} names {o.value}; the order asks for {wanted}.",
            rests_on="order line",
            observations=(o.key,),
        )
        for o in words
        if o.source.channel in BOX_CHANNELS and (maker_name(o) or str(o.value).upper()) != wanted_name
    ]


def _box_against_part(words: tuple[Observation, ...]) -> Finding | None:
    box = [(o, n) for o in words if o.source.channel in BOX_CHANNELS and (n := maker_name(o))]
    steel = [(o, n) for o in words if o.source.channel == "marking" and (n := maker_name(o))]
    pairs = [(b, s) for b, box_name in box for s, steel_name in steel if box_name != steel_name]
    if not pairs:
        return None
    on_box, on_part = pairs[0]
    return Finding(
        code="makers_disagree",
        weight="question",
        question="suspicion",
        says=f"The {named(on_box)} names {on_box.value}, the {named(on_part)} names {on_part.value}.",
        rests_on="indicators.toml, MK2",
        observations=(on_box.key, on_part.key),
        indicator="MK2",
    )
