"""The tables of the record. Rows are only ever added; the database itself refuses to change or remove them.

What the code sees is written here; what a database on disk becomes is written in ``migrations/``. A test holds the
two against each other.
"""

from __future__ import annotations

from sqlalchemy import JSON, Column, Float, ForeignKey, Index, Integer, MetaData, String, Table, Text, UniqueConstraint

metadata = MetaData()

SHA256 = String(64)
MOMENT = String(27)
WORD = String(32)

runs = Table(
    "runs",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", WORD, nullable=False),
    Column("started_at", MOMENT, nullable=False),
    Column("order_name", Text, nullable=False),
    Column("order_sha256", String(64), nullable=False),
    Column("inputs_sha256", SHA256, nullable=False),
    Column("settings", JSON, nullable=False),
    Column("tool_version", WORD, nullable=False),
    Index("runs_by_inputs", "inputs_sha256"),
)

items = Table(
    "items",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("run_id", ForeignKey("runs.id"), nullable=False),
    Column("item_key", Text, nullable=False),
    Column("recorded_at", MOMENT, nullable=False),
    Column("fingerprint", Text, nullable=False),
    Column("result", JSON, nullable=False),
    Column("disposition", WORD, nullable=False),
    Column("suspicion", WORD, nullable=False),
    Column("requirement", Text, nullable=False),
    Column("supplier", Text, nullable=False),
    Column("line", Text, nullable=False),
    UniqueConstraint("run_id", "item_key", name="one_result_an_item"),
    Index("items_by_disposition", "disposition"),
    Index("items_by_supplier", "supplier"),
    Index("items_by_time", "recorded_at"),
)

photos = Table(
    "photos",
    metadata,
    Column("sha256", SHA256, primary_key=True),
    Column("name", Text, nullable=False),
    Column("bytes", Integer, nullable=False),
    Column("stored_path", Text, nullable=False),
    Column("first_seen_at", MOMENT, nullable=False),
)

item_photos = Table(
    "item_photos",
    metadata,
    Column("item_id", ForeignKey("items.id"), primary_key=True),
    Column("position", Integer, primary_key=True),
    Column("photo_sha256", ForeignKey("photos.sha256"), nullable=False),
    Column("name", Text, nullable=False),
    Index("item_photos_by_photo", "photo_sha256"),
)

readings = Table(
    "readings",
    metadata,
    Column("photo_sha256", SHA256, primary_key=True),
    Column("reader_version", String(200), primary_key=True),
    Column("look", JSON, nullable=False),
    Column("read_at", MOMENT, nullable=False),
)

serials = Table(
    "serials",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("serial", Text, nullable=False),
    Column("scope", Text, nullable=False),
    Column("item_id", ForeignKey("items.id"), nullable=False),
    Column("run_id", ForeignKey("runs.id"), nullable=False),
    Index("serials_by_serial", "serial"),
    Index("serials_by_item", "item_id"),
)

events = Table(
    "events",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("run_id", ForeignKey("runs.id")),
    Column("item_id", ForeignKey("items.id")),
    Column("kind", WORD, nullable=False),
    Column("at", MOMENT, nullable=False),
    Column("who", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("data", JSON, nullable=False),
    Index("events_by_run", "run_id", "kind"),
    Index("events_by_item", "item_id"),
    Index("events_by_kind", "kind"),
)

prices = Table(
    "prices",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("item_id", ForeignKey("items.id"), nullable=False),
    Column("part", Text, nullable=False),
    Column("currency", WORD, nullable=False),
    Column("unit_price", Float, nullable=False),
    Index("prices_by_part", "part", "currency"),
    Index("prices_by_item", "item_id"),
)

# "references" alone is a reserved word in SQL.
reference_photos = Table(
    "reference_photos",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("photo_sha256", ForeignKey("photos.sha256"), nullable=False),
    Column("photo_name", Text, nullable=False),
    Column("maker", Text, nullable=False),
    Column("product", Text, nullable=False),
    Column("product_key", Text, nullable=False),
    Column("kind", WORD, nullable=False),
    Column("dated", WORD, nullable=False),
    Column("who", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("width_mm", Float),
    Column("corners", JSON, nullable=False),
    Column("added_at", MOMENT, nullable=False),
    Index("reference_photos_by_product", "product_key", "kind"),
)

reference_retirements = Table(
    "reference_retirements",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("reference_id", ForeignKey("reference_photos.id"), nullable=False),
    Column("at", MOMENT, nullable=False),
    Column("who", Text, nullable=False),
    Column("why", Text, nullable=False),
    UniqueConstraint("reference_id", name="retired_once"),
)

purchases = Table(
    "purchases",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("run_id", ForeignKey("runs.id"), nullable=False),
    Column("line", Text, nullable=False),
    Column("order_number", Text, nullable=False),
    Column("delivery_note", Text, nullable=False),
    Column("address", Text, nullable=False),
    Column("contact", Text, nullable=False),
    Column("received", Integer),
    Column("added_at", MOMENT, nullable=False),
    Column("who", Text, nullable=False),
    Index("purchases_by_run", "run_id"),
)

shops = Table(
    "shops",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("address", JSON, nullable=False),
    Column("contact", Text, nullable=False),
    Column("signature", Text, nullable=False),
    Column("added_at", MOMENT, nullable=False),
    Column("who", Text, nullable=False),
)
