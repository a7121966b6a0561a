"""Prices paid, and an index that finds outcomes; append-only like the rest."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision: str | None = "0003"

TABLES = ("prices",)
WORD = sa.String(32)
SQLITE = """
CREATE TRIGGER {table}_refuses_{verb} BEFORE {verb} ON {table}
BEGIN SELECT RAISE(ABORT, '{table}: the record is append-only'); END
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
    """Create the table, its triggers and the index."""
    _table()
    op.create_index("events_by_kind", "events", ["kind"])
    dialect = op.get_bind().dialect.name
    for table in TABLES:
        if dialect == "sqlite":
            for verb in ("UPDATE", "DELETE"):
                op.execute(SQLITE.format(table=table, verb=verb))
        elif dialect == "postgresql":
            for trigger in (POSTGRES_CHANGE, POSTGRES_TRUNCATE):
                op.execute(trigger.format(table=table))


def _table() -> None:
    op.create_table(
        "prices",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("item_id", sa.Integer, sa.ForeignKey("items.id"), nullable=False),
        sa.Column("part", sa.Text, nullable=False),
        sa.Column("currency", WORD, nullable=False),
        sa.Column("unit_price", sa.Float, nullable=False),
    )
    op.create_index("prices_by_part", "prices", ["part", "currency"])
    op.create_index("prices_by_item", "prices", ["item_id"])
