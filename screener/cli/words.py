"""Words of the command line that have to be one of a few."""

from __future__ import annotations

from collections.abc import Sequence

from screener.errors import WrongUsage


def word_of(text: str, allowed: Sequence[str], where: str) -> str:
    """Return the word.

    Raises
    ------
    WrongUsage
        It is none of those allowed, which are named.
    """
    if text not in allowed:
        raise WrongUsage(f"“{text}” is not one of the words here.", where=where, next_step=f"Use {', '.join(allowed)}.")
    return text
