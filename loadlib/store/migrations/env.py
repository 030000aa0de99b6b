"""Alembic's environment: run on the connection that was handed over.

No ``fileConfig`` here: a library leaves its host's logging alone.
"""

from __future__ import annotations

from alembic import context

from loadlib.store.search_index import is_search_table
from loadlib.store.tables import metadata


def include_name(name: str | None, kind: str, parents: object) -> bool:
    """Leave the full-text tables out of every comparison."""
    return not (kind == "table" and name is not None and is_search_table(name))


connection = context.config.attributes.get("connection")
if connection is None:
    raise SystemExit("loadlib's migrations run through loadlib.store.migrate, not by hand")
context.configure(
    connection=connection,
    target_metadata=metadata,
    include_name=include_name,
    transaction_per_migration=False,
)
with context.begin_transaction():
    context.run_migrations()
