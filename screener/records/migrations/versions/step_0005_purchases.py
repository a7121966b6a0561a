"""What was bought where, and who sends the reports; append-only like the rest."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision: str | None = "0004"

TABLES = ("purchases", "shops")
MOMENT = sa.String(27)
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
    """Create the two tables and the triggers that this kind of database can have."""
    _tables()
    dialect = op.get_bind().dialect.name
    for table in TABLES:
        if dialect == "sqlite":
            for verb in ("UPDATE", "DELETE"):
                op.execute(SQLITE.format(table=table, verb=verb))
        elif dialect == "postgresql":
            for trigger in (POSTGRES_CHANGE, POSTGRES_TRUNCATE):
                op.execute(trigger.format(table=table))


def _tables() -> None:
    op.create_table(
        "purchases",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("run_id", sa.Integer, sa.ForeignKey("runs.id"), nullable=False),
        sa.Column("line", sa.Text, nullable=False),
        sa.Column("order_number", sa.Text, nullable=False),
        sa.Column("delivery_note", sa.Text, nullable=False),
        sa.Column("address", sa.Text, nullable=False),
        sa.Column("contact", sa.Text, nullable=False),
        sa.Column("received", sa.Integer),
        sa.Column("added_at", MOMENT, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
    )
    op.create_index("purchases_by_run", "purchases", ["run_id"])
    op.create_table(
        "shops",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("address", sa.JSON, nullable=False),
        sa.Column("contact", sa.Text, nullable=False),
        sa.Column("signature", sa.Text, nullable=False),
        sa.Column("added_at", MOMENT, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
    )
