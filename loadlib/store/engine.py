"""SQLAlchemy engines for one file: a writing one and a reading one.

The writing engine begins with ``BEGIN IMMEDIATE``: a transaction that reads first and
writes later would fail at once when somebody else wrote in between, whatever the timeout.
Events are set on these engines only, never on the Engine class.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from loadlib.store import files

__all__ = ["engine_for", "raw", "sql_faults_named", "transaction"]


def engine_for(
    path: Path, *, write: bool, create: bool = False, foreign_keys: bool = True
) -> Engine:
    """An engine on ``path``; every connection is opened and closed with its transaction."""

    def connect() -> sqlite3.Connection:
        connection = files.connect(path, write=write, create=create)
        if not foreign_keys:
            connection.execute("PRAGMA foreign_keys = OFF")
        return connection

    engine = create_engine("sqlite://", creator=connect, poolclass=NullPool)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    return engine


def raw(connection: Connection) -> sqlite3.Connection:
    """The ``sqlite3`` connection under a SQLAlchemy one, in the same transaction."""
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)
    return driver


@contextmanager
def sql_faults_named(path: Path) -> Iterator[None]:
    """As ``files.faults_named``, also through SQLAlchemy's wrapping."""
    with files.faults_named(path):
        try:
            yield
        except DBAPIError as error:
            if isinstance(error.orig, sqlite3.Error):
                raise error.orig from error
            raise


@contextmanager
def transaction(engine: Engine, path: Path) -> Iterator[Connection]:
    """One transaction: all of it, or on any error nothing."""
    with sql_faults_named(path), engine.begin() as connection:
        yield connection
