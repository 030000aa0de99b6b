"""Bring a database file to the newest schema: one lock, one backup, one transaction.

SQLite runs DDL inside transactions, so the whole upgrade is one ``BEGIN IMMEDIATE`` …
``COMMIT``: the write lock keeps other processes out (Alembic takes none), and a killed
upgrade is rolled back by whoever opens the file next. The old file is copied beside it
first all the same.
"""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path
from typing import TYPE_CHECKING

from loadlib.errors import CatalogError
from loadlib.store import files, search_index

if TYPE_CHECKING:
    from alembic.config import Config
    from sqlalchemy import Connection

__all__ = ["alembic_config", "at_head", "backup_path", "upgrade"]

SCRIPTS = "loadlib.store:migrations"
_ALEMBIC = threading.Lock()  # Alembic keeps its context in module globals


def at_head(path: Path) -> bool:
    """Whether the file needs no upgrade; asks by bare ``sqlite3``.

    Raises
    ------
    CatalogError
        damaged, locked, not a database, another program's, or newer than this loadlib.
    """
    if not path.exists() or path.stat().st_size == 0:
        return False
    with files.faults_named(path):
        connection = files.connect(path)
        try:
            return files.revision_of(connection, path) == files.HEAD
        finally:
            connection.close()


def backup_path(path: Path, revision: str) -> Path:
    """Where the copy of a file at ``revision`` goes before it is upgraded."""
    return path.with_name(f"{path.name}.before-{revision}")


def upgrade(path: Path) -> None:
    """Create the file or upgrade it, leaving it as it was if anything fails.

    Raises
    ------
    CatalogError
        see ``at_head``; also when rows would be lost or point nowhere afterwards.
    """
    if path.exists() and not files.is_writable(path):
        raise CatalogError(
            "the database is from an older loadlib and can only be read",
            path=str(path),
            hint="Copy it to a folder where you may write, or change its rights.",
        )
    with files.faults_named(path):
        _make_folder(path)
        _back_up(path)
        with _ALEMBIC:
            _upgrade_in_one_transaction(path)


def _make_folder(path: Path) -> None:
    try:
        path.absolute().parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CatalogError(
            f"the folder can't be made ({error.strerror})",
            path=str(path),
            hint="Name another file with --db or LOADLIB_DB.",
        ) from error


def _back_up(path: Path) -> None:
    """Copy an older file beside itself with VACUUM INTO, unless it is new or at head."""
    if not path.exists() or path.stat().st_size == 0:
        return
    connection = files.connect(path, write=True)
    try:
        revision = files.revision_of(connection, path)
        if revision is None or revision == files.HEAD:
            return
        copy = backup_path(path, revision)
        fresh = copy.with_name(copy.name + ".new")
        fresh.unlink(missing_ok=True)
        connection.execute("VACUUM INTO ?", (str(fresh),))
        fresh.replace(copy)
    finally:
        connection.close()


def _upgrade_in_one_transaction(path: Path) -> None:
    from alembic import command

    from loadlib.store.engine import engine_for, raw, transaction

    # A table rebuilt by a migration is dropped on the way; with foreign keys on, that would
    # delete its children. The pragma is ignored inside a transaction, so it comes first.
    engine = engine_for(path, write=True, create=True, foreign_keys=False)
    with transaction(engine, path) as connection:
        bare = raw(connection)
        if files.revision_of(bare, path) == files.HEAD:
            return  # somebody else was quicker
        fts5 = search_index.has_fts5(bare)
        search_index.drop(bare.execute, fts5=fts5)
        command.upgrade(alembic_config(connection), "head")
        search_index.create(bare.execute, fts5=fts5)
        _refuse_broken(bare, path)
        bare.execute(f"PRAGMA application_id = {files.APPLICATION_ID}")


def _refuse_broken(connection: sqlite3.Connection, path: Path) -> None:
    orphans = connection.execute("PRAGMA foreign_key_check").fetchall()
    if orphans:
        tables = ", ".join(sorted({str(row[0]) for row in orphans}))
        raise CatalogError(
            f"the upgrade would leave {len(orphans)} rows pointing nowhere ({tables})",
            path=str(path),
            hint="The file was left as it was. Run: loadlib database check.",
        )


def alembic_config(connection: Connection | None = None) -> Config:
    """Alembic's settings without a file; works from an installed wheel, from any folder."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", SCRIPTS)
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config
