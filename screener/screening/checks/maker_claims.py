"""What a box or part claims by naming a maker, against what the shop knows of that maker (makers.toml).

Only a maker that stands in the file is asked about: an unknown one is not known here, never suspect.
"""

from __future__ import annotations

import re
from statistics import median
from typing import TYPE_CHECKING

from screener.parts import explain
from screener.screening.checks.outcome import Checked, suspicious
from screener.screening.model import BOX_CHANNELS
from screener.screening.observed import CERTAIN_FROM_P, certain, named, observed
from screener.specs.makers import makers, match_maker

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from screener.screening.model import Attribute, Channel, Finding, Item, Observation, Surroundings, Weight
    from screener.specs.makers import Maker

FILE = "reference_specs/makers.toml"
_HANDHELD = "handheld scanner"
_FIELDS: tuple[Attribute, ...] = ("designation", "quantity", "batch", "serial", "country", "date")
# A field counts as missing only on a label that was read as a whole (judgement).
_LEAST_LINES = 5
_READ_WELL = 0.88
# Spellings that every house's parts are ordered by (common practice): none of them is another house's code.
_EVERYBODYS = frozenset({"RS", "2RS", "Z", "ZZ", "2Z", "RZ", "2RZ"})
# Clearance and class that stand glued to the closure's code: 2RSC3.
_GLUED = re.compile(r"(?:C[1-5N]|CM|P[0-6])+$")
_DATE_PLACES = {"YYYY": r"\d{4}", "YY": r"\d{2}", "MM": r"\d{2}", "DD": r"\d{2}", "WW": r"\d{2}", "Q": "[1-4]"}


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Compare numbers, fields, patterns and suffixes with the habits of the maker that is named."""
    del surroundings
    on_box, on_part = _maker(item, BOX_CHANNELS), _maker(item, frozenset({"marking"}))
    findings: list[Finding] = []
    if on_box is not None:
        findings += [*_numbers(item, on_box), *_missing(item, on_box), *_patterns(item, on_box)]
        findings += _suffixes(item, on_box, "label")
    if on_part is not None:
        findings += _suffixes(item, on_part, "marking")
    return Checked(findings=tuple(findings))


def _maker(item: Item, channels: frozenset[Channel]) -> Maker | None:
    """The one known maker that is named there exactly and for sure."""
    words = [o for o in observed(item, "maker", channels) if certain(o, item)]
    matches = [match for o in words if (match := match_maker(str(o.value))) is not None]
    names = {match.name for match in matches}
    return matches[0].maker if len(names) == 1 and all(match.exact for match in matches) else None


def _numbers(item: Item, maker: Maker) -> Iterator[Finding]:
    """A GTIN tells who had the number issued: another known maker speaks against the box, an unknown one is a note."""
    for gtin, o in {str(o.value): o for o in observed(item, "gtin", ("barcode",))}.items():
        if maker.issued(gtin) is not False:
            continue
        owner = next((other for other in makers() if other.issued(gtin)), None)
        belongs = f"one of {owner.word}'s numbers" if owner else "not among the numbers known here"
        sure = o.confirmed or o.source.reader == _HANDHELD
        says = f"The box names {maker.word}; the number {gtin} in the {named(o)} is {belongs}."
        once = "" if sure or not owner else " Only one reader read it."
        code = "gtin_of_another" if owner else "gtin_not_known"
        weight: Weight = "question" if owner is not None and sure else "note"
        yield suspicious(code, says + once, f"{FILE}, gtin_prefixes", o, weight=weight)


def _missing(item: Item, maker: Maker) -> Iterator[Finding]:
    wanted = [name for name in _FIELDS if name in maker.label_always]
    gone = [name for name in wanted if not observed(item, name, BOX_CHANNELS)]
    lines = [o for o in observed(item, "text", ("label",)) if o.p is not None]
    if gone and _read_well(item, lines):
        says = f"{maker.word}'s labels always state {_listed(wanted)}; here no {_listed(gone, 'or')} was read."
        yield suspicious("label_field_missing", says, f"{FILE}, label_always", *lines[:1])


def _read_well(item: Item, lines: list[Observation]) -> bool:
    photos = {o.source.where for o in lines}
    spoilt = {o.source.where for o in observed(item, "problem", ("photo",))}
    return len(lines) >= _LEAST_LINES and not photos & spoilt and median(o.p or 0.0 for o in lines) >= _READ_WELL


def _listed(names: Sequence[str], last: str = "and") -> str:
    return f" {last} ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]


def _patterns(item: Item, maker: Maker) -> Iterator[Finding]:
    ways: tuple[tuple[Attribute, str], ...] = (("serial", maker.serial_pattern), ("batch", maker.batch_pattern))
    for attribute, pattern in ways:
        for o in _once(observed(item, attribute, BOX_CHANNELS)):
            if pattern and not re.fullmatch(pattern, str(o.value).strip(), re.IGNORECASE):
                yield _unlike(maker, attribute, str(o.value), f"{attribute}_pattern", o)
    for o in _once(observed(item, "country", BOX_CHANNELS)):
        if maker.countries and str(o.value).upper() not in maker.countries and certain(o, item):
            yield _unlike(maker, "country", str(o.value), "countries", o)
    for o in observed(item, "date", ("label",)) if maker.date_pattern else ():
        printed = _printed(item, o)
        if printed and not re.search(_date_pattern(maker.date_pattern), printed):
            yield _unlike(maker, "date", printed, "date_pattern", o)


def _unlike(maker: Maker, what: str, value: str, row: str, o: Observation) -> Finding:
    says = f"The {what} “{value}” in the {named(o)} is not as {maker.word} usually states it."
    return suspicious("unlike_the_maker", says, f"{FILE}, {row}", o, weight="note")


def _once(observations: tuple[Observation, ...]) -> list[Observation]:
    return list({str(o.value).upper(): o for o in observations}.values())


def _printed(item: Item, date: Observation) -> str:
    """The line that a date was read from, as printed; empty when it is not known or was not read for sure."""
    region = date.source.region_px
    lines = [o for o in observed(item, "text", ("label",)) if region and o.source.region_px == region]
    return next((str(o.value) for o in lines if (o.p or 0.0) >= CERTAIN_FROM_P), "")


def _date_pattern(form: str) -> str:
    places = "|".join(_DATE_PLACES)
    parts = re.split(f"({places})", form)
    return r"(?<!\d)" + "".join(_DATE_PLACES.get(part) or re.escape(part) for part in parts) + r"(?![\d\-/.])"


def _suffixes(item: Item, maker: Maker, channel: Channel) -> Iterator[Finding]:
    """Another house's code for what the maker marks in its own way."""
    for o in observed(item, "designation", (channel,)):
        code, own = _foreign_suffix(str(o.value), maker) if certain(o, item) else ("", "")
        if code:
            says = f"The {named(o)} reads {o.value}; {maker.word} marks {own}, not {code}."
            yield suspicious("suffix_unlike_the_maker", says, f"{FILE}, suffix_habits", o)


def _foreign_suffix(text: str, maker: Maker) -> tuple[str, str]:
    """Return the closure's code in a designation and the maker's own for the same closure, where they differ."""
    said = explain(text)
    if said.basic is None or said.closure is None or said.closure.kind == "open":
        return "", ""
    pieces = (_GLUED.sub("", piece) for piece in re.split(r"[-/ .]", text.upper()))
    codes = [code for code in pieces if code and explain(f"{said.basic}-{code}").closure == said.closure]
    own = [habit for habit in maker.suffix_habits if explain(f"{said.basic}-{habit}").closure == said.closure]
    if not codes or not own or codes[0] in _EVERYBODYS or codes[0] in maker.suffix_habits:
        return "", ""
    return codes[0], own[0]
