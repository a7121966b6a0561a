"""The duty words of the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.errors import WrongUsage

if TYPE_CHECKING:
    from collections.abc import Iterable

DUTIES = ("dry", "dirty", "wet", "hot", "fast")


def duty_words(words: Iterable[str]) -> frozenset[str]:
    """Return the words in lower case, also those joined by commas.

    Raises
    ------
    WrongUsage
        A word is none of `DUTIES`.
    """
    given = [w.strip().lower() for joined in words for w in joined.split(",") if w.strip()]
    for word in given:
        if word not in DUTIES:
            raise WrongUsage(f"“{word}” is no duty.", where="--duty", next_step=f"Use {', '.join(DUTIES)}.")
    return frozenset(given)
