"""The order of work and the cautions that hold for a job. The machine's manual comes first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screener.specs.fit_texts import STEPS_FILE, Sentence, caution_lines, step_lines

DEFER = "The machine's manual, the shop's rules and local law come first."

StepsHold = Literal["now", "once_settled", "not"]
"""Whether the order of work may be followed: ``now``, ``once_settled`` what speaks against pressing, or ``not``, since
the answer is not to press."""
ORDER_SAYS: dict[StepsHold, str] = {
    "now": "",
    "once_settled": "Only once what stands at the top is settled; new readings can change the steps.",
    "not": "Left out: the answer is not to press. New readings decide how it is pressed.",
}
"""What is said before the steps, or in their place."""


@dataclass(frozen=True, slots=True)
class Line:
    """One step or caution and what it rests on."""

    says: str
    rests_on: str
    stage: str = "fit"
    """``before``, ``fit`` or ``after``; see `screener.specs.fit_texts.Sentence`."""


def bearing_sequence(words: frozenset[str]) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """Return steps and cautions for a bearing; ``words`` are those of fit_steps.toml that hold."""
    return _chosen(step_lines(), "bearing", words), _chosen(caution_lines(), "bearing", words)


def seal_sequence(words: frozenset[str]) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """Return steps and cautions for a shaft seal."""
    return _chosen(step_lines(), "shaft_seal", words), _chosen(caution_lines(), "shaft_seal", words)


def steps_hold(outcome: Literal["fits", "review", "do_not"], *, ruled_out: bool = False) -> StepsHold:
    """Return whether the order of work may be followed.

    Parameters
    ----------
    outcome
        The answer for the part.
    ruled_out
        The readings show that it is not to be pressed like this, whatever else is still open.
    """
    if outcome == "fits":
        return "now"
    return "not" if ruled_out or outcome == "do_not" else "once_settled"


def setting_steps(kind: str) -> tuple[Line, ...]:
    """Return how a part that is neither bearing nor seal is set: retaining ring, spacer, O-ring or other."""
    return _chosen(step_lines(), kind, frozenset())


def _chosen(lines: tuple[Sentence, ...], kind: str, words: frozenset[str]) -> tuple[Line, ...]:
    return tuple(
        Line(line.says, f"{STEPS_FILE} ({line.source})", line.stage)
        for line in lines
        if line.kind in {kind, "any"} and words.issuperset(line.when)
    )
