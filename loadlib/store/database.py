"""The one way in: a database file that exists, is at the newest schema, and is seeded."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from loadlib import settings
from loadlib.store import files, migrate, seed

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

__all__ = ["Database", "open_database"]


class Database:
    """A file made ready by ``open_database``. Holds no connection open between calls."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __repr__(self) -> str:
        return f"Database({str(self.path)!r})"

    @cached_property
    def _reader(self) -> Engine:
        from loadlib.store.engine import engine_for

        return engine_for(self.path, write=False)

    @cached_property
    def _writer(self) -> Engine:
        from loadlib.store.engine import engine_for

        return engine_for(self.path, write=True)

    @contextmanager
    def bare(self, *, write: bool = False) -> Iterator[sqlite3.Connection]:
        """A bare ``sqlite3`` connection in autocommit mode, closed afterwards."""
        with (
            files.faults_named(self.path),
            closing(files.connect(self.path, write=write)) as connection,
        ):
            yield connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A SQLAlchemy connection in a reading transaction: one consistent view."""
        from loadlib.store.engine import transaction

        with transaction(self._reader, self.path) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A SQLAlchemy connection in a writing transaction: all is kept, or nothing."""
        from loadlib.store.engine import transaction

        with transaction(self._writer, self.path) as connection:
            yield connection


def open_database(path: Path | str | None = None) -> Database:
    """The database at ``path`` (default: ``settings.database_path()``), ready for use.

    Made when it is missing, upgraded when it is older, seeded anew when the shipped tables
    have changed. A file that can only be read and is at the newest schema is used as it is.

    Raises
    ------
    CatalogError
        locked, damaged, not a database, newer than this loadlib, or not to be written
        although it would have to be.
    """
    where = Path(path).expanduser() if path is not None else settings.database_path()
    if not migrate.at_head(where):
        migrate.upgrade(where)
    database = Database(where)
    _seed_if_changed(database)
    return database


def _seed_if_changed(database: Database) -> None:
    root = seed.seed_root()
    mark = seed.stamp(root)
    with database.bare() as connection:
        loaded = dict(connection.execute("SELECT key, value FROM state"))
    if loaded.get("seed_stamp") == mark or (loaded and not files.is_writable(database.path)):
        return
    digest = seed.content_hash(root)
    with database.writing() as connection:
        _seed(connection, root, digest, mark)


def _seed(connection: Connection, root: Path, digest: str, mark: str) -> None:
    """Load the tables unless these very ones are loaded, and note that they are."""
    from sqlalchemy import select
    from sqlalchemy.dialects.sqlite import insert

    from loadlib.store import search_index
    from loadlib.store.engine import raw
    from loadlib.store.tables import state

    stored = select(state.c.value).where(state.c.key == "seed_sha256")
    if connection.scalar(stored) != digest:
        seed.load(connection, seed.read_tables(root))
        bare = raw(connection)
        if search_index.exists(bare):
            search_index.sync_words(bare.execute)
    upsert = insert(state)
    connection.execute(
        upsert.on_conflict_do_update(index_elements=["key"], set_={"value": upsert.excluded.value}),
        [{"key": "seed_sha256", "value": digest}, {"key": "seed_stamp", "value": mark}],
    )
