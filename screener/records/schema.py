"""Bring a database to the form this version knows, or say why it cannot be used.

The steps live in ``migrations/`` inside the package, so an installed copy needs no configuration file.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, column, inspect, select, table

from screener.errors import ScreenerError
from screener.records.database import WRITES, take_turns

HEAD = "0005"
"""Number of the newest step; a test holds it against the files."""
VERSION_TABLE = "screener_schema"
_LOCK_NUMBER = 7_318_204_511
"""Any number, the same in every copy: one program at a time upgrades under it."""


def bring_up_to_date(engine: Engine, where: str) -> None:
    """Apply the missing steps; a database that is up to date is only read.

    Raises
    ------
    ScreenerError
        The database was written by a newer version or holds something else.
    """
    with engine.connect() as connection:
        if _standing(connection, where) == HEAD:
            return
    with engine.connect().execution_options(**WRITES) as connection, connection.begin():
        take_turns(connection, _LOCK_NUMBER)
        # Another program may have been quicker while this one waited for the lock.
        if _standing(connection, where) != HEAD:
            _upgrade(connection)


def _standing(connection: Connection, where: str) -> str | None:
    tables = set(inspect(connection).get_table_names())
    if VERSION_TABLE not in tables:
        if tables and connection.dialect.name == "sqlite":
            raise ScreenerError(
                "this database holds something other than a record of this tool.",
                where=where,
                next_step="Name another file with --record.",
                code="record_foreign",
            )
        return None
    version = connection.execute(select(column("version_num")).select_from(table(VERSION_TABLE))).scalar()
    if version is not None and version > HEAD:
        raise ScreenerError(
            f"this record was written by a newer version of the tool (form {version}; this version knows {HEAD}).",
            where=where,
            next_step="Use the newer version, or name another file with --record. Nothing was changed.",
            code="record_newer",
        )
    return None if version is None else str(version)


def _upgrade(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, HEAD)
