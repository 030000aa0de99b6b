"""Readings by hand, and files that a user handed to a plugin."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loadlib.core.readings import Reading
from loadlib.errors import InputError, NotFound
from loadlib.store.database import Database, open_database
from loadlib.store.houses import house_key

if TYPE_CHECKING:
    from sqlalchemy import Connection

__all__ = [
    "add_file",
    "add_reading",
    "list_files",
    "list_readings",
    "read_files",
    "read_readings",
    "remove_file",
    "remove_reading",
]

_FIELDS = [field.name for field in fields(Reading) if field.name != "place"]
_TUPLES = ("legs", "on", "off", "leg_amps", "leg_volts")


def add_reading(house: str, reading: Reading, db: Database | None = None) -> int:
    """Store a reading at once; its number is for ``remove_reading``."""
    from loadlib.store.tables import reading as table

    row = {name: getattr(reading, name) for name in _FIELDS}
    row["at"] = reading.at.isoformat() if reading.at else None
    with (db or open_database()).writing() as connection:
        key = house_key(connection, house)
        values = {"house_id": key, "place": reading.place, "fields": json.dumps(row)}
        statement = table.insert().values(values).returning(table.c.id)
        return int(connection.execute(statement).scalar_one())


def list_readings(house: str, db: Database | None = None) -> dict[int, Reading]:
    """The readings of a house by their number, in the order they were entered."""
    with (db or open_database()).reading() as connection:
        return read_readings(connection, house_key(connection, house))


def read_readings(connection: Connection, house_id: int) -> dict[int, Reading]:
    """As ``list_readings``, inside a transaction."""
    from sqlalchemy import select

    from loadlib.store.tables import reading as table

    rows = select(table).where(table.c.house_id == house_id).order_by(table.c.id)
    return {row.id: _reading(row) for row in connection.execute(rows)}


def _reading(row: Any) -> Reading:
    stored: dict[str, Any] = json.loads(row.fields)
    stored |= {name: tuple(stored[name]) for name in _TUPLES if name in stored}
    stored["at"] = datetime.fromisoformat(stored["at"]) if stored.get("at") else None
    return Reading(place=row.place, **stored)


def remove_reading(house: str, number: int, db: Database | None = None) -> None:
    """Delete a reading; NotFound when the house has none of that number."""
    from sqlalchemy import delete

    from loadlib.store.tables import reading as table

    with (db or open_database()).writing() as connection:
        key = house_key(connection, house)
        mine = delete(table).where(table.c.house_id == key, table.c.id == number)
        if connection.execute(mine).rowcount == 0:
            raise NotFound("reading", str(number))


def add_file(house: str, plugin: str, path: Path | str, db: Database | None = None) -> None:
    """Note that a plugin is to read a file; the file stays where it is."""
    from sqlalchemy.dialects.sqlite import insert

    from loadlib.store.tables import plugin_file as table

    where = Path(path).expanduser().absolute()
    if not where.is_file():
        raise InputError(f"there is no file {str(path)!r}")
    with (db or open_database()).writing() as connection:
        key = house_key(connection, house)
        statement = insert(table).values(house_id=key, plugin=plugin, path=str(where))
        connection.execute(statement.on_conflict_do_nothing())


def remove_file(house: str, plugin: str, path: Path | str, db: Database | None = None) -> None:
    """Forget a plugin's file; NotFound when it was not noted."""
    from sqlalchemy import delete

    from loadlib.store.tables import plugin_file as table

    where = str(Path(path).expanduser().absolute())
    with (db or open_database()).writing() as connection:
        key = house_key(connection, house)
        mine = (table.c.house_id == key, table.c.plugin == plugin, table.c.path == where)
        if connection.execute(delete(table).where(*mine)).rowcount == 0:
            raise NotFound(f"file of {plugin}", str(path))


def list_files(house: str, db: Database | None = None) -> Mapping[str, tuple[str, ...]]:
    """The files of a house that plugins read: paths by plugin, in the order they were noted."""
    with (db or open_database()).reading() as connection:
        return read_files(connection, house_key(connection, house))


def read_files(connection: Connection, house_id: int) -> Mapping[str, tuple[str, ...]]:
    """As ``list_files``, inside a transaction."""
    from sqlalchemy import select

    from loadlib.store.tables import plugin_file as table

    rows = select(table.c.plugin, table.c.path).where(table.c.house_id == house_id)
    found: dict[str, tuple[str, ...]] = {}
    for plugin, path in connection.execute(rows.order_by(table.c.id)):
        found[plugin] = (*found.get(plugin, ()), path)
    return found
