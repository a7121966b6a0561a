"""What differs from the shop's reference of the same maker and product: weak signs with ordinary causes, once each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked, suspicious
from screener.screening.model import NotChecked
from screener.screening.observed import observed

if TYPE_CHECKING:
    from screener.screening.model import Finding, Item, Observation, Surroundings

NOT_COMPARED = "not compared"
ALIKE = "alike"
"""`Source.reader` of a `reference` observation that nothing could be concluded, or that nothing differs; else the kind
of difference."""
_CODES = {
    "element_moved": "package_differs",
    "element_added": "package_differs",
    "element_differs": "package_differs",
    "code_moved": "package_differs",
    "text_differs": "package_differs",
    "letter_shapes_differ": "package_differs",
    "maker_word_differs": "maker_word_differs",
    "text_misspelt": "package_misspelt",
    "element_missing": "element_missing",
    "code_missing": "code_missing",
    "colour_differs": "colour_off",
    "print_poor": "print_poor",
    "mark_shapes_differ": "mark_shapes_differ",
}
_MOST_SENTENCES = 3


def check(item: Item, surroundings: Surroundings) -> Checked:
    """One finding for each kind of sign, however many places show it; what could not be compared is a gap."""
    del surroundings
    seen = observed(item, "reference")
    by_code: dict[str, list[Observation]] = {}
    for o in seen:
        if o.source.reader in _CODES:
            by_code.setdefault(_CODES[o.source.reader], []).append(o)
    return Checked(
        findings=tuple(_finding(code, group) for code, group in by_code.items()),
        gaps=tuple(_gap(o) for o in seen if o.source.reader == NOT_COMPARED),
        agreed=tuple(f"{o.source.where} looks {o.value}." for o in seen if o.source.reader == ALIKE),
    )


def _finding(code: str, group: list[Observation]) -> Finding:
    sentences = [str(o.value) for o in group[:_MOST_SENTENCES]]
    more = len(group) - len(sentences)
    says = " ".join([*sentences, *([f"And {more} more."] if more else [])])
    return suspicious(code, says, "the shop's own reference photo", *group)


def _gap(o: Observation) -> NotChecked:
    return NotChecked(
        "reference",
        f"{o.source.where} beside its reference: {o.value}",
        word="comparison with the reference",
        next_step="Photograph the panel square on, filling the frame, in even light.",
    )
