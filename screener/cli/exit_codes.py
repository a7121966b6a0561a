"""Exit codes, stable: programs drive the tool by them.

== ====================================================================================================
0  all accepted (receive, verify); every photo read (look); understood (explain); same or suits (compare); fits (fit,
   job); conforms or agrees (measure)
2  wrong usage: an option or a request that makes no sense
3  input unreadable: a photo, an order or a designation that could not be read or understood
10 something is on hold (receive, verify); to be reviewed, or not known (compare, fit, job); cannot be told (measure)
20 something is rejected (receive, verify); wrong part (compare); do not press (fit, job); does not conform (measure)
130 interrupted; what was finished is kept
== ====================================================================================================
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

FINE = 0
FAULT = 1
WRONG_USAGE = 2
UNREADABLE = 3
ON_HOLD = 10
REJECTED = 20
INTERRUPTED = 130

_OF_DISPOSITION = {"accept": FINE, "hold": ON_HOLD, "reject": REJECTED}
_OF_OUTCOME = {"same": FINE, "suits": FINE, "review": ON_HOLD, "unknown": ON_HOLD, "wrong": REJECTED}


def of_dispositions(words: Iterable[str]) -> int:
    """The code of the most serious disposition; fine for none."""
    return max((_OF_DISPOSITION[w] for w in words), default=FINE)


def of_outcome(outcome: str) -> int:
    """The code of a comparison's outcome."""
    return _OF_OUTCOME[outcome]
