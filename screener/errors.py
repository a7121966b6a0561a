"""Errors a person will read: what happened, where, and what to do next.

    ScreenerError
    ├── InputUnreadable     a file, photo or table that could not be read         (exit code 3)
    └── WrongUsage          a request that makes no sense as it stands            (exit code 2)

Anything else that escapes is a fault of ours. Bad input never raises outside this tree.
"""

from __future__ import annotations


class ScreenerError(Exception):
    """Base of all errors meant for people.

    Parameters
    ----------
    says
        One sentence: what happened.
    where
        The file, row or field concerned, as the user named it.
    next_step
        What the user can do about it.
    code
        Stable word for programs.
    """

    exit_code = 1

    def __init__(self, says: str, *, where: str = "", next_step: str = "", code: str = "error") -> None:
        super().__init__(says, where, next_step, code)
        self.says = says
        self.where = where
        self.next_step = next_step
        self.code = code

    def __str__(self) -> str:
        head = f"{self.where}: {self.says}" if self.where else self.says
        return f"{head} {self.next_step}".strip()


class InputUnreadable(ScreenerError):
    """A file, photo or table that could not be read."""

    exit_code = 3


class WrongUsage(ScreenerError):
    """A request that makes no sense as it stands."""

    exit_code = 2
