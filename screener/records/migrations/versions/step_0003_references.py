"""Photos of known-good packages and markings, and which of them are retired; append-only like the rest."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision: str | None = "0002"

TABLES = ("reference_photos", "reference_retirements")
MOMENT = sa.String(27)
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
        "reference_photos",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("photo_sha256", sa.String(64), sa.ForeignKey("photos.sha256"), nullable=False),
        sa.Column("photo_name", sa.Text, nullable=False),
        sa.Column("maker", sa.Text, nullable=False),
        sa.Column("product", sa.Text, nullable=False),
        sa.Column("product_key", sa.Text, nullable=False),
        sa.Column("kind", WORD, nullable=False),
        sa.Column("dated", WORD, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("width_mm", sa.Float),
        sa.Column("corners", sa.JSON, nullable=False),
        sa.Column("added_at", MOMENT, nullable=False),
    )
    op.create_index("reference_photos_by_product", "reference_photos", ["product_key", "kind"])
    op.create_table(
        "reference_retirements",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("reference_id", sa.Integer, sa.ForeignKey("reference_photos.id"), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.UniqueConstraint("reference_id", name="retired_once"),
    )
