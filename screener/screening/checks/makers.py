"""Whose part is it said to be: the order's maker, the box's, the mark's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked, suspicious
from screener.screening.model import BOX_CHANNELS, Finding
from screener.screening.observed import CERTAIN_FROM_P, named, observed
from screener.specs.letter_case import in_other_case
from screener.specs.makers import makers, match_maker

if TYPE_CHECKING:
    from screener.screening.model import Item, Observation, Surroundings
    from screener.specs.makers import Maker

_FILE = "reference_specs/makers.toml"


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare maker words with the shop's makers file, with the order and with each other."""
    del surroundings
    words = observed(item, "maker", ("label", "barcode", "marking", "person"))
    findings = [*(_spelling(o) for o in words), _case(item), *_against_order(item, words), _box_against_part(words)]
    return Checked(findings=tuple(f for f in findings if f is not None))


def _name_for(word: str) -> str:
    """The maker's word that a word stands for; of a maker not known here, the word itself in capitals."""
    match = match_maker(word)
    return match.name if match is not None else word.upper()


def maker_name(observation: Observation) -> str | None:
    """The known maker that a word stands for, exactly or by likeness; ``None`` for one not known here."""
    match = match_maker(str(observation.value))
    return match.name if match is not None else None


def maker_read(item: Item, wanted: str) -> bool:
    """Whether the wanted maker was read for sure: its word, spelt rightly, or a number issued to it."""
    words = [o for o in observed(item, "maker") if o.p is None or o.p >= CERTAIN_FROM_P]
    if any(_named_exactly(str(o.value), _name_for(wanted)) for o in words):
        return True
    known = match_maker(wanted)
    return known is not None and any(known.maker.issued(str(o.value)) is True for o in observed(item, "gtin"))


def _named_exactly(word: str, wanted_name: str) -> bool:
    match = match_maker(word)
    return word.upper() == wanted_name if match is None else match.exact and match.name == wanted_name


def _spelling(observation: Observation) -> Finding | None:
    match, read = match_maker(str(observation.value)), f"“{observation.value}”"
    if match is None:
        says = f"The {named(observation)} names {read}, a maker not known here."
        return suspicious("maker_unknown", says, _FILE, observation, weight="note")
    # A mark on steel is read letter by letter from a ring: one odd letter there is the reader's far more often.
    if match.exact or observation.source.channel == "marking":
        return None
    if observation.p is not None and observation.p < CERTAIN_FROM_P:
        says = f"The {named(observation)} seems to read {read}; it was not read for sure."
        return suspicious("maker_unread", says, _FILE, observation, weight="note")
    says = f"The {named(observation)} reads {read}, which is close to but not “{match.name}”."
    return suspicious("maker_misspelt", says, _FILE, observation)


def _case(item: Item) -> Finding | None:
    """A known maker's word alone in its line, in another case than its logo; in a sentence either case is usual.

    Nothing is said where the word also stands as the maker prints it: an address repeats a name in small letters.
    """
    alone = [(o, m) for o in observed(item, "text", ("label",)) if (m := _known_alone(o)) is not None and m.printed]
    if any(str(o.value).strip() == m.printed for o, m in alone):
        return None
    odd = [(o, m) for o, m in alone if _sure(o) and in_other_case(m.printed, str(o.value).strip())]
    if not odd:
        return None
    o, maker = odd[0]
    says = f"The {named(o)} reads “{str(o.value).strip()}”; the maker prints its word “{maker.printed}”."
    return suspicious("maker_word_case", says, _FILE, o)


def _known_alone(o: Observation) -> Maker | None:
    return next((m for m in makers() if m.word == str(o.value).strip().upper()), None)


def _sure(o: Observation) -> bool:
    return o.p is not None and o.p >= CERTAIN_FROM_P


def _against_order(item: Item, words: tuple[Observation, ...]) -> list[Finding]:
    wanted = item.requirement.maker
    if not wanted:
        return []
    return [
        Finding(
            code="maker_not_as_ordered",
            weight="contradiction",
            question="asked_for",
            says=f"The {named(o)} names {o.value}; {wanted} is asked for.",
            rests_on="order line",
            observations=(o.key,),
        )
        for o in words
        if o.source.channel in BOX_CHANNELS and _name_for(str(o.value)) != _name_for(wanted)
    ]


def _box_against_part(words: tuple[Observation, ...]) -> Finding | None:
    box = [(o, n) for o in words if o.source.channel in BOX_CHANNELS and (n := maker_name(o))]
    steel = [(o, n) for o in words if o.source.channel == "marking" and (n := maker_name(o))]
    pairs = [(b, s) for b, box_name in box for s, steel_name in steel if box_name != steel_name]
    if not pairs:
        return None
    on_box, on_part = pairs[0]
    says = f"The {named(on_box)} names {on_box.value}, the {named(on_part)} names {on_part.value}."
    return suspicious("makers_disagree", says, "indicators.toml, MK2", on_box, on_part)
