"""A SQLAlchemy engine set up so that a crash loses nothing and two programs can write side by side."""

from __future__ import annotations

import sqlite3
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.exc import NoSuchModuleError

from screener.errors import WrongUsage
from screener.records.place import Place, make_folder
from screener.records.trouble import BUSY_SECONDS

WRITES = {"screener_writes": True}
"""Execution option of a connection that is going to write."""


def connect_engine(place: Place) -> Engine:
    """Return an engine for ``place``; a missing folder is made.

    Raises
    ------
    WrongUsage
        The kind of database is unknown or its driver is not installed.
    ScreenerError
        The folder cannot be made.
    """
    if place.file:
        make_folder(place.file.parent)
        engine = create_engine(place.url, connect_args={"timeout": BUSY_SECONDS})
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    try:
        return create_engine(place.url, pool_pre_ping=True)
    except (NoSuchModuleError, ModuleNotFoundError) as error:
        raise WrongUsage(
            f"the driver for this kind of database is missing ({error}).",
            where=place.says,
            next_step='For PostgreSQL: pip install "screener[postgres]".',
            code="driver_missing",
        ) from error


def _set_up_sqlite(raw: sqlite3.Connection, _: Any) -> None:
    # The driver must not begin transactions by itself: it would do so late, after the first read.
    raw.isolation_level = None
    for pragma in (
        "journal_mode=WAL",
        # FULL also outlives a power cut; it costs a few milliseconds an item.
        "synchronous=FULL",
        "foreign_keys=ON",
        # Without it INSERT OR REPLACE would slip past the append-only triggers.
        "recursive_triggers=ON",
        f"busy_timeout={BUSY_SECONDS * 1000}",
    ):
        raw.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection) -> None:
    # A writer takes its lock at once: one that reads first and locks later can fail without waiting.
    writes = connection.get_execution_options().get("screener_writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def take_turns(connection: Connection, number: int) -> None:
    """Let one program at a time past this point until its transaction ends.

    On SQLite a writing transaction is alone anyway; PostgreSQL is told so. ``number`` says what the turn is for and
    must fit 63 bits.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": number})
