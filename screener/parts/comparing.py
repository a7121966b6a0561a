"""Need and offer side by side, attribute by attribute, as a careful mechanic would."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, NamedTuple

from screener.parts.compare_rules import NOT_STATED, TABLE, decide
from screener.parts.explaining import explain
from screener.parts.model import Comparison, Difference, Explained, Outcome
from screener.parts.shaft_seal import seal_types

COMPARE_SCHEMA = "screener.compare/1"
_SEVERITY: tuple[Outcome, ...] = ("same", "suits", "review", "unknown", "wrong")
_SIZE_TOLERANCE_MM = 0.02
"""Rounding between lists (17.462 and 17.463 mm are one inch size), far below the steps of standard sizes."""
_ACCURACIES = ("Normal", "P6X", "P6", "P5", "P4", "P2")
_DUTY_WORDS = {"dusty": "dirty", "water": "wet", "splash": "wet", "warm": "hot", "clean": "dry", "shock": "heavy"}


class _Pair(NamedTuple):
    """One attribute of both parts in words; ``relation`` replaces the offered value when rules are looked up."""

    attribute: str
    need: str
    offered: str
    relation: str | None = None
    undecided: bool = False


def compare(need: str | Explained, offered: str | Explained, *, duty: frozenset[str] = frozenset()) -> Comparison:
    """Set an offered part beside a needed one.

    Parameters
    ----------
    need, offered
        Designations, or what `explain` returned for them.
    duty
        Words for the place it works in: ``dry``, ``dirty``, ``wet``, ``hot``, ``fast``, ``heavy`` …; see the head of
        ``compare_rules.toml``. Unknown words are passed over.

    Returns
    -------
    Comparison
        One `Difference` per attribute that either part states; the outcome is the worst of them, where unknown
        counts as worse than review and better than wrong. What was not understood is never ``same``.
    """
    wanted = explain(need) if isinstance(need, str) else need
    given = explain(offered) if isinstance(offered, str) else offered
    words = frozenset(_DUTY_WORDS.get(word.lower(), word.lower()) for word in duty)
    differences = tuple(_differences(wanted, given, words))
    worst = max((_SEVERITY.index(difference.outcome) for difference in differences), default=3)
    return Comparison(_SEVERITY[worst], wanted, given, differences)


def comparison_as_json(comparison: Comparison) -> dict[str, Any]:
    """Return a dictionary of plain values as the contract has it (``screener.compare/1``)."""
    return {
        "schema": COMPARE_SCHEMA,
        "outcome": comparison.outcome,
        "need": comparison.need.input,
        "offered": comparison.offered.input,
        "differences": [
            {
                "attribute": one.attribute,
                "need": one.need,
                "offered": one.offered,
                "outcome": one.outcome,
                "because": one.because,
                "rests_on": one.rests_on,
            }
            for one in comparison.differences
        ],
    }


def _differences(need: Explained, offered: Explained, duty: frozenset[str]) -> Iterator[Difference]:
    if need.kind is None or offered.kind is None:
        yield from _not_understood(need, offered)
        return
    if need.kind != offered.kind:
        yield _judge(_Pair("kind", need.kind, offered.kind), need, duty)
        return
    for pair in _pairs(need, offered):
        if pair.need != NOT_STATED or pair.offered != NOT_STATED or pair.undecided:
            yield _judge(pair, need, duty)
    yield from _not_understood(need, offered)


def _judge(pair: _Pair, need: Explained, duty: frozenset[str]) -> Difference:
    if pair.undecided:
        says = "A code that houses use for different things leaves this open: look at the part."
        return Difference(pair.attribute, pair.need, pair.offered, "unknown", says, "suffixes.csv")
    if pair.need == pair.offered:
        return Difference(pair.attribute, pair.need, pair.offered, "same", "Both are alike.", f"{TABLE}: equal")
    found = decide(
        pair.attribute,
        kind=need.kind or "",
        family=need.family or "",
        need=pair.need,
        offered=pair.relation or pair.offered,
        duty=duty,
    )
    if found is None:
        says = f"No rule compares {pair.attribute} {pair.need} with {pair.offered}."
        return Difference(pair.attribute, pair.need, pair.offered, "unknown", says, TABLE)
    return Difference(
        pair.attribute, pair.need, pair.offered, found.outcome, found.because, f"{TABLE}: {found.id} ({found.source})"
    )


def _not_understood(need: Explained, offered: Explained) -> Iterator[Difference]:
    for whose, one in (("need", need), ("offer", offered)):
        if one.understood:
            continue
        text = ", ".join(one.not_understood or one.ambiguous) or one.input
        hint = f" Perhaps {' or '.join(one.suggestions)}?" if one.suggestions else ""
        says = f"Not understood in the {whose}: {text}.{hint}"
        sides = (text, "") if whose == "need" else ("", text)
        yield Difference("not understood", *sides, "unknown", says, "explain")


def _pairs(need: Explained, offered: Explained) -> Iterator[_Pair]:
    match need.kind:
        case "bearing":
            yield from _bearing_pairs(need, offered)
        case "shaft_seal":
            yield from _size_pairs(need, offered, ("shaft", "housing bore", "width"))
            yield from _seal_pairs(need, offered)
        case "o_ring":
            yield from _size_pairs(need, offered, ("inside diameter", None, "section"))
            yield _Pair("elastomer", _said(need.material), _said(offered.material))
        case _:
            yield _Pair("family", _said(need.family), _said(offered.family))
            yield from _size_pairs(need, offered, ("ring size", "ring size", "thickness"))


def _said(value: str | float | None) -> str:
    if value is None:
        return NOT_STATED
    return value if isinstance(value, str) else f"{value:g}"


def _size_pairs(need: Explained, offered: Explained, names: tuple[str | None, ...]) -> Iterator[_Pair]:
    sizes = zip(names, _sizes(need), _sizes(offered), strict=True)
    for name, wanted, given in sizes:
        if name is None or (wanted is None and given is None):
            continue
        alike = wanted is not None and given is not None and abs(wanted - given) <= _SIZE_TOLERANCE_MM
        yield _Pair(name, _mm(wanted), _mm(wanted if alike else given))


def _sizes(part: Explained) -> tuple[float | None, float | None, float | None]:
    return part.bore_mm, part.od_mm, part.width_mm


def _mm(value: float | None) -> str:
    return NOT_STATED if value is None else f"{value:g} mm"


def _bearing_pairs(need: Explained, offered: Explained) -> Iterator[_Pair]:
    yield _Pair("family", _family(need), _family(offered))
    if need.basic == offered.basic and need.bore_mm == offered.bore_mm and need.od_mm is None:
        yield _Pair("basic designation", _said(need.basic), _said(offered.basic))
    else:
        yield from _size_pairs(need, offered, ("bore", "outside diameter", "width"))
        if None in {need.od_mm, offered.od_mm}:
            yield _Pair("basic designation", _said(need.basic), _said(offered.basic))
    yield _Pair("type", _letters(need), _letters(offered))
    if need.flanged or offered.flanged:
        yield _Pair("flange", _yes(need.flanged), _yes(offered.flanged))
    yield from _closure_pairs(need, offered)
    yield _clearance_pair(need, offered)
    yield _accuracy_pair(need, offered)
    for attribute, field in _PLAIN.items():
        undecided = field in need.undecided or field in offered.undecided
        yield _Pair(attribute, _said(getattr(need, field)), _said(getattr(offered, field)), undecided=undecided)


_PLAIN = {
    "cage": "cage",
    "snap ring": "snap_ring",
    "tapered bore": "tapered_bore",
    "material": "material",
    "contact angle": "contact_angle_deg",
    "heat stabilisation": "heat_stabilisation",
    "grease": "grease",
    "inner design": "inner_design",
    "arrangement": "arrangement",
    "coating": "coating",
}


def _family(part: Explained) -> str:
    return _said(part.family).removeprefix("flanged ").removeprefix("inch ")


def _letters(part: Explained) -> str:
    """Return the type letters of a roller bearing or insert: NU and NJ of one size are not the same."""
    hit = re.match(r"[A-Z]+", part.basic or "")
    families = (
        "cylindrical roller",
        "insert",
        "insert bearing in a housing",
        "four-point contact ball",
        "drawn cup needle roller",
    )
    return hit[0] if hit and (part.family or "").endswith(families) else NOT_STATED


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _closure_pairs(need: Explained, offered: Explained) -> Iterator[_Pair]:
    undecided = "closure" in need.undecided or "closure" in offered.undecided
    yield _Pair("closure", _closed_by(need), _closed_by(offered), undecided=undecided)
    if need.closure and offered.closure and not (need.second_closure or offered.second_closure):
        wanted, given = need.closure.sides, offered.closure.sides
        if wanted and given:
            yield _Pair("closed sides", str(wanted), str(given))


def _closed_by(part: Explained) -> str:
    if part.closure is None:
        return NOT_STATED
    kinds = [part.closure.kind, *([part.second_closure.kind] if part.second_closure else [])]
    words = sorted(kind.replace("non_contact", "non-contact").replace("low_friction", "low-friction") for kind in kinds)
    return " and ".join(dict.fromkeys(words)).replace("_", " ")


def _clearance_pair(need: Explained, offered: Explained) -> _Pair:
    wanted, given = need.clearance or need.clearance_code, offered.clearance or offered.clearance_code
    return _Pair("clearance", _said(wanted), _said(given))


def _accuracy_pair(need: Explained, offered: Explained) -> _Pair:
    wanted, given = need.accuracy or "Normal", offered.accuracy or "Normal"
    if need.accuracy is None and offered.accuracy is None:
        return _Pair("accuracy", NOT_STATED, NOT_STATED)
    relation = None
    if wanted != given and wanted in _ACCURACIES and given in _ACCURACIES:
        relation = "finer" if _ACCURACIES.index(given) > _ACCURACIES.index(wanted) else "coarser"
    return _Pair("accuracy", wanted, given, relation)


def _seal_pairs(need: Explained, offered: Explained) -> Iterator[_Pair]:
    wanted, given = _type_row(need), _type_row(offered)
    lips = (wanted[0], given[0])
    relation = None
    if None not in lips and lips[0] != lips[1]:
        relation = "more" if str(lips[1]) > str(lips[0]) else "fewer"
    yield _Pair("lips", _said(lips[0]), _said(lips[1]), relation)
    yield _Pair("outside", _said(wanted[1]), _said(given[1]))
    if wanted[2] is not None and given[2] is not None:
        yield _Pair("spring", wanted[2], given[2])
    undecided = bool(need.ambiguous or offered.ambiguous)
    yield _Pair("elastomer", _said(need.material), _said(offered.material), undecided=undecided)


def _type_row(part: Explained) -> tuple[str | None, str | None, str | None]:
    """Return (number of lips, outside, whether it has a spring) of the type letters."""
    row = seal_types().get(part.seal_type or "")
    if row is None:
        return None, None, None
    return str(row.lips) if row.lips else None, row.outside, "no" if "without spring" in row.says else "yes"
