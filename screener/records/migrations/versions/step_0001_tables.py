"""The tables: runs, items, photos, readings, serials, events."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision: str | None = None

SHA256 = sa.String(64)
MOMENT = sa.String(27)
WORD = sa.String(32)


def upgrade() -> None:
    """Create the tables and their indexes."""
    _runs_and_items()
    _photos_and_readings()
    _serials_and_events()


def _runs_and_items() -> None:
    op.create_table(
        "runs",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("kind", WORD, nullable=False),
        sa.Column("started_at", MOMENT, nullable=False),
        sa.Column("order_name", sa.Text, nullable=False),
        sa.Column("order_sha256", SHA256, nullable=False),
        sa.Column("inputs_sha256", SHA256, nullable=False),
        sa.Column("settings", sa.JSON, nullable=False),
        sa.Column("tool_version", WORD, nullable=False),
    )
    op.create_index("runs_by_inputs", "runs", ["inputs_sha256"])
    op.create_table(
        "items",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("run_id", sa.Integer, sa.ForeignKey("runs.id"), nullable=False),
        sa.Column("item_key", sa.Text, nullable=False),
        sa.Column("recorded_at", MOMENT, nullable=False),
        sa.Column("fingerprint", sa.Text, nullable=False),
        sa.Column("result", sa.JSON, nullable=False),
        sa.Column("disposition", WORD, nullable=False),
        sa.Column("suspicion", WORD, nullable=False),
        sa.Column("requirement", sa.Text, nullable=False),
        sa.Column("supplier", sa.Text, nullable=False),
        sa.Column("line", sa.Text, nullable=False),
        sa.UniqueConstraint("run_id", "item_key", name="one_result_an_item"),
    )
    op.create_index("items_by_disposition", "items", ["disposition"])
    op.create_index("items_by_supplier", "items", ["supplier"])
    op.create_index("items_by_time", "items", ["recorded_at"])


def _photos_and_readings() -> None:
    op.create_table(
        "photos",
        sa.Column("sha256", SHA256, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("bytes", sa.Integer, nullable=False),
        sa.Column("stored_path", sa.Text, nullable=False),
        sa.Column("first_seen_at", MOMENT, nullable=False),
    )
    op.create_table(
        "item_photos",
        sa.Column("item_id", sa.Integer, sa.ForeignKey("items.id"), primary_key=True),
        sa.Column("position", sa.Integer, primary_key=True),
        sa.Column("photo_sha256", SHA256, sa.ForeignKey("photos.sha256"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
    )
    op.create_index("item_photos_by_photo", "item_photos", ["photo_sha256"])
    op.create_table(
        "readings",
        sa.Column("photo_sha256", SHA256, primary_key=True),
        sa.Column("reader_version", sa.String(200), primary_key=True),
        sa.Column("look", sa.JSON, nullable=False),
        sa.Column("read_at", MOMENT, nullable=False),
    )


def _serials_and_events() -> None:
    op.create_table(
        "serials",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("serial", sa.Text, nullable=False),
        sa.Column("scope", sa.Text, nullable=False),
        sa.Column("item_id", sa.Integer, sa.ForeignKey("items.id"), nullable=False),
        sa.Column("run_id", sa.Integer, sa.ForeignKey("runs.id"), nullable=False),
    )
    op.create_index("serials_by_serial", "serials", ["serial"])
    op.create_index("serials_by_item", "serials", ["item_id"])
    op.create_table(
        "events",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("run_id", sa.Integer, sa.ForeignKey("runs.id")),
        sa.Column("item_id", sa.Integer, sa.ForeignKey("items.id")),
        sa.Column("kind", WORD, nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.Column("data", sa.JSON, nullable=False),
    )
    op.create_index("events_by_run", "events", ["run_id", "kind"])
    op.create_index("events_by_item", "events", ["item_id"])
