"""What a person saw and the tool cannot: signs of the catalogue, told by their id."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.screening.checks.outcome import Checked
from screener.screening.model import Finding
from screener.screening.observed import observed
from screener.screening.weighing import INDEPENDENT_FROM_DB, decibels
from screener.specs.screening_rules import indicators

if TYPE_CHECKING:
    from screener.screening.model import Item, Observation, Surroundings


def check(item: Item, surroundings: Surroundings) -> Checked:
    """Take each sign that a person reports as a finding; a weak one holds nothing up by itself."""
    del surroundings
    return Checked(findings=tuple(_finding(o) for o in observed(item, "sign") if str(o.value) in indicators()))


def _finding(observation: Observation) -> Finding:
    sign = indicators()[str(observation.value)]
    weighty = decibels(sign.ratio) >= INDEPENDENT_FROM_DB
    return Finding(
        code="sign_seen" if weighty else "weak_sign_seen",
        weight="question" if weighty else "note",
        question="suspicion",
        says=f"Seen by {observation.source.where}: {sign.says}",
        rests_on=f"indicators.toml, {sign.id}: {sign.source}",
        observations=(observation.key,),
        next_step=sign.settle,
        indicator=sign.id if decibels(sign.ratio) > 0 else None,
    )
