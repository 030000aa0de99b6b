"""The database file by bare ``sqlite3``: open it, tell its state, name its faults.

Nothing here needs SQLAlchemy, so a look-up from a cold start pays for none of it.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from loadlib import settings
from loadlib.errors import CatalogError

__all__ = [
    "APPLICATION_ID",
    "HEAD",
    "catalog_error",
    "connect",
    "faults_named",
    "is_writable",
    "revision_of",
]

HEAD = "0002"
"""Newest revision of the schema; a test holds it equal to the migrations' head."""

APPLICATION_ID = 0x4C4F4144  # "LOAD", written into the file's header

_RESTORE = "Bring back a copy: loadlib database restore FILE."


def connect(path: Path, *, write: bool = False, create: bool = False) -> sqlite3.Connection:
    """A connection in autocommit mode with our pragmas set.

    A reader opens the file writable where it can, since SQLite may have to roll back what
    a killed writer left; ``query_only`` then forbids it to write.
    """
    mode = "rwc" if create else "rw" if write or is_writable(path) else "ro"
    connection = sqlite3.connect(
        f"{uri_of(path)}?mode={mode}", uri=True, isolation_level=None, timeout=settings.wait_s()
    )
    # Per connection: SQLite forgets these when it is closed. Neither reads the file.
    connection.execute("PRAGMA foreign_keys = ON")
    if not (write or create):
        connection.execute("PRAGMA query_only = ON")
    return connection


def uri_of(path: Path) -> str:
    """``path`` as SQLite wants it in a URI; only its three special signs are escaped."""
    text = str(path.absolute()).replace("\\", "/")
    for sign, escaped in (("%", "%25"), ("?", "%3f"), ("#", "%23")):
        text = text.replace(sign, escaped)
    return "file:" + (text if text.startswith("/") else "/" + text)


def is_writable(path: Path) -> bool:
    """Whether this user may write the file and its folder (the journal lies beside it)."""
    return os.access(path, os.W_OK) and os.access(path.absolute().parent, os.W_OK)


@contextmanager
def faults_named(path: Path) -> Iterator[None]:
    """Turn SQLite's errors inside the block into CatalogError with the mend."""
    try:
        yield
    except sqlite3.IntegrityError:
        raise  # a rule of the schema was broken: ours to prevent, not a fault of the file
    except (sqlite3.DatabaseError, sqlite3.Warning) as error:
        raise catalog_error(error, path) from error


def catalog_error(error: Exception, path: Path) -> CatalogError:
    """The CatalogError for what SQLite said about ``path``."""
    code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
    for codes, message, hint in _FAULTS:
        if code in codes:
            return CatalogError(message, path=str(path), hint=hint)
    return CatalogError(
        f"SQLite says: {error}", path=str(path), hint="Run: loadlib database check."
    )


_FAULTS: tuple[tuple[tuple[int, ...], str, str], ...] = (
    (
        (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED),
        "the database is locked: another program is writing to it",
        "Wait or end that program and try again; LOADLIB_WAIT_S sets how long to wait.",
    ),
    (
        (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH),
        "the database can only be read",
        "Change the file's rights, or name another file with --db or LOADLIB_DB.",
    ),
    (
        (sqlite3.SQLITE_NOTADB,),
        "this is not a database",
        f"Name the right file with --db or LOADLIB_DB. {_RESTORE}",
    ),
    ((sqlite3.SQLITE_CORRUPT,), "the database is damaged", _RESTORE),
    (
        (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR),
        "the disk is full or failing; nothing was changed",
        "Make room or use another disk, then try again.",
    ),
    (
        (sqlite3.SQLITE_CANTOPEN,),
        "the database can't be opened or created here",
        "Check the folder and its rights, or name another file with --db or LOADLIB_DB.",
    ),
)


def revision_of(connection: sqlite3.Connection, path: Path) -> str | None:
    """The file's schema revision; None for a new, empty file.

    Raises
    ------
    CatalogError
        when the file is another program's database, or newer than this loadlib.
    """
    tables = {
        name
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        )
    }
    if not tables:
        return None
    if not {"alembic_version", "category", "house"} <= tables:
        raise CatalogError(
            "this database belongs to another program",
            path=str(path),
            hint="Name the right file with --db or LOADLIB_DB; this one was left as it is.",
        )
    row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    if row is None:
        raise CatalogError("the database has no schema version", path=str(path), hint=_RESTORE)
    revision = str(row[0])
    if revision > HEAD:
        raise CatalogError(
            f"made by a newer loadlib (schema {revision}; this one knows up to {HEAD})",
            path=str(path),
            hint="Update loadlib, or name another file with --db or LOADLIB_DB.",
        )
    return revision
