"""Append-only: the database itself refuses to change or remove what was recorded, whichever program asks.

Other databases than SQLite and PostgreSQL get no trigger; there only this program's restraint protects the rows.
"""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision: str | None = "0001"

TABLES = ("runs", "items", "photos", "item_photos", "readings", "serials", "events")
SQLITE = """
CREATE TRIGGER {table}_refuses_{verb} BEFORE {verb} ON {table}
BEGIN SELECT RAISE(ABORT, '{table}: the record is append-only'); END
"""
POSTGRES_FUNCTION = """
CREATE FUNCTION screener_refuse() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '%: the record is append-only', TG_TABLE_NAME; END $$
"""
POSTGRES_CHANGE = """
CREATE TRIGGER {table}_refuses_change BEFORE UPDATE OR DELETE ON {table}
FOR EACH ROW EXECUTE FUNCTION screener_refuse()
"""
POSTGRES_TRUNCATE = """
CREATE TRIGGER {table}_refuses_truncate BEFORE TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION screener_refuse()
"""


def upgrade() -> None:
    """Add the triggers that this kind of database can have."""
    dialect = op.get_bind().dialect.name
    if dialect == "sqlite":
        for table in TABLES:
            for verb in ("UPDATE", "DELETE"):
                op.execute(SQLITE.format(table=table, verb=verb))
    elif dialect == "postgresql":
        op.execute(POSTGRES_FUNCTION)
        for table in TABLES:
            for trigger in (POSTGRES_CHANGE, POSTGRES_TRUNCATE):
                op.execute(trigger.format(table=table))
