"""Upkeep of the database file: where it is, whether it is sound, copies, repair."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import NamedTuple

from loadlib import settings
from loadlib.errors import CatalogError, InputError, NotFound
from loadlib.store import files, search_index
from loadlib.store.database import open_database

__all__ = ["FileState", "backup", "check", "mend", "restore", "tune", "where"]

_SIDE_FILES = ("-journal", "-wal", "-shm")


class FileState(NamedTuple):
    """The database file at a glance; ``revision`` is empty for a file that is not there yet."""

    path: str
    exists: bool
    writable: bool
    size_bytes: int
    revision: str
    newest_revision: str
    journal_mode: str
    categories: int
    own_values: int
    houses: int


def where(path: Path | None = None) -> FileState:
    """What there is, without creating or upgrading anything."""
    target = path or settings.database_path()
    if not target.exists() or target.stat().st_size == 0:
        return FileState(str(target), False, True, 0, "", files.HEAD, "", 0, 0, 0)
    with files.faults_named(target), closing(files.connect(target)) as connection:
        revision = files.revision_of(connection, target) or ""

        def one(query: str) -> int:
            return int(connection.execute(query).fetchone()[0])

        return FileState(
            str(target),
            True,
            files.is_writable(target),
            target.stat().st_size,
            revision,
            files.HEAD,
            str(connection.execute("PRAGMA journal_mode").fetchone()[0]),
            one("SELECT count(*) FROM category"),
            one("SELECT count(*) FROM category_value WHERE origin = 'user'"),
            one("SELECT count(*) FROM house WHERE removed_at IS NULL"),
        )


def check(path: Path | None = None) -> list[str]:
    """What is wrong with the file, in words; empty when it is sound.

    Raises
    ------
    NotFound
        there is no such file.
    CatalogError
        so damaged that SQLite can't read it, locked, another program's, or newer.
    """
    target = _present(path)
    with files.faults_named(target):
        if files.is_writable(target):
            with closing(files.connect(target, write=True)) as connection:
                return [*_troubles(connection, target), *search_index.troubles(connection)]
        with closing(files.connect(target)) as connection:
            unchecked = "the file can only be read, so the search index was not checked"
            return [*_troubles(connection, target), unchecked]


def _troubles(connection: sqlite3.Connection, path: Path) -> Iterator[str]:
    revision = files.revision_of(connection, path)
    if revision != files.HEAD:
        yield f"schema {revision} is older than {files.HEAD}; it is upgraded when next used"
    for (text,) in connection.execute("PRAGMA integrity_check(20)"):
        if text != "ok":
            yield f"SQLite: {text}"
    for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        yield f"{table}, row {row}: points to a missing row of {parent}"


def mend(path: Path | None = None) -> list[str]:
    """Build all derived data anew (SQLite's indexes, the search index); what is still wrong."""
    target = _present(path)
    with files.faults_named(target), closing(files.connect(target, write=True)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        try:
            files.revision_of(connection, target)
            connection.execute("REINDEX")
            search_index.create(connection.execute, fts5=search_index.has_fts5(connection))
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise
    return check(target)


def backup(to: Path, path: Path | None = None) -> int:
    """Copy the database into the new file ``to``, consistent even while in use; its bytes.

    Raises
    ------
    InputError
        ``to`` is there already, or can't be written.
    """
    source = _present(path)
    if to.exists():
        raise InputError(f"{to} is there already", hint="Name a new file.")
    if not to.absolute().parent.is_dir():
        raise InputError(f"{to}: there is no such folder", hint="Make the folder first.")
    partial = to.with_name(f"{to.name}.part")
    try:
        partial.unlink(missing_ok=True)
        with files.faults_named(source), closing(files.connect(source)) as connection:
            connection.execute("PRAGMA query_only = OFF")  # it forbids VACUUM INTO as well
            connection.execute("VACUUM INTO ?", (str(partial),))
        _refuse_unsound(partial)
        partial.replace(to)
    except OSError as error:
        raise InputError(f"{to} can't be written ({error.strerror})") from error
    finally:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
    return to.stat().st_size


def restore(copy: Path, path: Path | None = None) -> Path | None:
    """Put a copy in the database's place; where the file that was there went, if there was one.

    The copy is checked first, and upgraded if it is older. What was there is kept beside it.
    """
    target = path or settings.database_path()
    if not copy.is_file():
        raise NotFound("file", str(copy))
    _refuse_unsound(copy)
    fresh = target.with_name(f"{target.name}.part")
    try:
        target.absolute().parent.mkdir(parents=True, exist_ok=True)
        fresh.unlink(missing_ok=True)
        with files.faults_named(copy), closing(files.connect(copy)) as connection:
            connection.execute("PRAGMA query_only = OFF")
            connection.execute("VACUUM INTO ?", (str(fresh),))
        open_database(fresh)
        kept = _set_aside(target) if target.exists() else None
        fresh.replace(target)
    except OSError as error:
        raise CatalogError(
            f"can't be written ({error.strerror})",
            path=str(target),
            hint="Check the folder's rights.",
        ) from error
    finally:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)
    return kept


def _set_aside(target: Path) -> Path:
    """Copy the file to a free name and take its journals away, so that none meets the new file."""
    number = 1
    while (kept := target.with_name(f"{target.name}.before-restore-{number}")).exists():
        number += 1
    shutil.copy2(target, kept)
    for suffix in _SIDE_FILES:
        side = Path(f"{target}{suffix}")
        if side.exists():
            os.replace(side, f"{kept}{suffix}")
    return kept


def _refuse_unsound(copy: Path) -> None:
    with files.faults_named(copy), closing(files.connect(copy)) as connection:
        if files.revision_of(connection, copy) is None:
            raise CatalogError("this file is empty", path=str(copy), hint="Name another copy.")
        for (text,) in connection.execute("PRAGMA integrity_check(1)"):
            if text != "ok":
                raise CatalogError(
                    f"the copy is damaged ({text})", path=str(copy), hint="Name another copy."
                )


def tune(path: Path | None = None, *, wal: bool | None = None) -> tuple[int, int]:
    """Pack the file and refresh what SQLite knows of it; bytes before and after.

    ``wal`` sets write-ahead logging on or off: readers then never wait for a writer, but
    the database is three files, and must not lie on a network drive.
    """
    target = open_database(path).path
    before = target.stat().st_size
    with files.faults_named(target), closing(files.connect(target, write=True)) as connection:
        if search_index.exists(connection):
            for table in ("category_fts", "word_fts"):
                connection.execute(f"INSERT INTO {table}({table}) VALUES ('optimize')")
        connection.execute("ANALYZE")
        connection.execute("VACUUM")
        if wal is not None:
            connection.execute(f"PRAGMA journal_mode = {'WAL' if wal else 'DELETE'}")
    return before, target.stat().st_size


def _present(path: Path | None) -> Path:
    target = path or settings.database_path()
    if not target.exists():
        raise NotFound("database", str(target), hint="It is made when you first use loadlib.")
    return target
