"""Which letters a reader tells in capitals from small ones (``letter_case.csv``), and where two spellings differ so."""

from __future__ import annotations

from functools import cache

from screener.specs.table import read_rows

FILE = "letter_case.csv"
LEAST_OTHER_CASE = 2
"""One letter in the other case is rather misread; from two on the word is printed in another case (judgement)."""


@cache
def told_apart() -> frozenset[str]:
    """The capitals whose small letter has another shape.

    Raises
    ------
    InputUnreadable
        The table is missing or broken.
    """
    return frozenset(
        row.text("capital") for row in read_rows(FILE, ("capital", "told_apart")) if row.text("told_apart") == "yes"
    )


def in_other_case(printed: str, read: str) -> bool:
    """Whether a word was surely read in another case than it is printed in.

    Parameters
    ----------
    printed, read
        The same letters; only those count whose capital and small letter differ in shape.
    """
    if printed.upper() != read.upper():
        return False
    other = [a for a, b in zip(printed, read, strict=True) if a != b and a.upper() in told_apart()]
    return len(other) >= LEAST_OTHER_CASE
