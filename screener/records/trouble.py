"""What databases complain about, said so that a person at the bench knows what to do."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from screener.errors import ScreenerError

BUSY_SECONDS = 60
"""How long one writer waits for another before giving up."""

_SAYINGS: tuple[tuple[tuple[str, ...], str, str, str], ...] = (
    (
        ("database is locked", "database table is locked", "lock timeout", "deadlock detected"),
        "record_busy",
        f"another program has kept the record busy for more than {BUSY_SECONDS} seconds.",
        "Try again; if it stays so, close the other program.",
    ),
    (
        ("file is not a database", "malformed", "file is encrypted"),
        "record_damaged",
        "this file is not a record of this tool, or it is damaged.",
        "Name another file with --record, or put back a copy of this one.",
    ),
    (
        ("readonly database", "read-only", "permission denied", "attempt to write"),
        "record_not_writable",
        "the record cannot be written to.",
        "Check who may write to the file and to its folder, or name another place with --record.",
    ),
    (
        ("unable to open database file",),
        "record_not_opened",
        "the record cannot be opened or made there.",
        "Check that the folder exists and may be written to, or name another place with --record.",
    ),
    (
        ("disk is full", "no space left", "disk i/o error"),
        "record_disk",
        "the disk that holds the record is full or failing.",
        "Make room or name another place with --record. What was recorded before is kept.",
    ),
    (
        ("append-only",),
        "record_append_only",
        "the record only ever grows; what is in it cannot be changed or removed.",
        "Add a correction instead.",
    ),
    (
        ("connection refused", "could not translate host", "failed to resolve", "connection failed", "server closed"),
        "record_unreachable",
        "the database server that keeps the record does not answer.",
        "Check the address and that the server runs.",
    ),
    (
        ("password authentication failed", "no password supplied", "does not exist"),
        "record_refused",
        "the database server does not let us in.",
        "Check the user, the password and the name of the database.",
    ),
)


def as_screener_error(error: Exception, where: str) -> ScreenerError:
    """Return the sentence for a database's complaint; unknown ones keep the database's own words."""
    words = str(getattr(error, "orig", None) or error)
    for needles, code, says, next_step in _SAYINGS:
        if any(needle in words.lower() for needle in needles):
            return ScreenerError(says, where=where, next_step=next_step, code=code)
    first_line = words.strip().splitlines()[0] if words.strip() else type(error).__name__
    return ScreenerError(f"the record could not be used: {first_line}.", where=where, code="record_error")


@contextmanager
def speaking_plainly(where: str) -> Iterator[None]:
    """Turn any database error inside the block into a `ScreenerError` that names ``where``.

    `IntegrityError` passes unless it comes from the append-only triggers: the callers know what a conflict means.
    """
    try:
        yield
    except IntegrityError as error:
        if "append-only" not in str(error.orig):
            raise
        raise as_screener_error(error, where) from error
    except (DBAPIError, PoolTimeout) as error:
        raise as_screener_error(error, where) from error
