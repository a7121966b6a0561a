"""What Alembic runs: apply the steps on the connection that `screener.records.schema` hands over."""

from __future__ import annotations

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    version_table="screener_schema",
    # SQLite can roll back a half-made table; Alembic assumes that it cannot.
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
