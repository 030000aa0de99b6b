"""Houses: stored at once as entered, one transaction a change, with a journal for undo.

``edit`` is the way to change a stored house: it reads the newest state, applies one of the
functions in ``edits`` and writes what differs, all under the write lock, so that two
terminals at work on one house lose nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING, NamedTuple

from loadlib.core.household import House
from loadlib.errors import InputError, NotFound
from loadlib.store import edits
from loadlib.store.database import Database, open_database

if TYPE_CHECKING:
    from sqlalchemy import Connection

__all__ = [
    "Change",
    "HouseSummary",
    "create",
    "edit",
    "journal",
    "list_houses",
    "load",
    "pick",
    "redo",
    "remove",
    "rename",
    "rename_circuit",
    "restore",
    "save",
    "undo",
]

KEPT_CHANGES = 200
"""How many changes of a house the journal keeps."""

MOST_LETTERS = 80


class HouseSummary(NamedTuple):
    """A line in the list of houses; ``changed_at`` is UTC, ISO 8601."""

    name: str
    system: str
    circuits: int
    appliances: int
    changed_at: str


class Change(NamedTuple):
    """One change in the journal; ``undone`` ones can be done again."""

    at: str
    what: str
    undone: bool


def list_houses(db: Database | None = None) -> list[HouseSummary]:
    """Every house that is not removed, the one changed last first."""
    query = """
        SELECT name, system,
            (SELECT count(*) FROM circuit c WHERE c.house_id = h.id),
            (SELECT count(*) FROM appliance a WHERE a.house_id = h.id),
            changed_at
        FROM house h WHERE removed_at IS NULL ORDER BY changed_at DESC, id DESC"""
    with (db or open_database()).bare() as connection:
        return [HouseSummary._make(row) for row in connection.execute(query)]


def pick(name: str = "", db: Database | None = None) -> str:
    """The house that is meant: the one named, or the only one if ``name`` is empty.

    Raises
    ------
    NotFound
        no house of that name, or none at all.
    InputError
        no name given and there are several.
    """
    stored = [house.name for house in list_houses(db)]
    for one in stored:
        if one.casefold() == name.casefold():
            return one
    make = 'Make one: loadlib house new "my house"'
    if name:
        raise NotFound("house", name, near=_near(name, stored), hint=None if stored else make)
    if not stored:
        raise NotFound("house yet", hint=make)
    if len(stored) > 1:
        raise InputError(
            f"there are {len(stored)} houses", hint="Say which: " + ", ".join(stored) + "."
        )
    return stored[0]


def load(name: str, db: Database | None = None) -> House:
    """The house as stored; NotFound with near names."""
    from loadlib.store.house_rows import read_house

    with (db or open_database()).reading() as connection:
        return read_house(connection, house_key(connection, name))


def create(house: House, db: Database | None = None) -> None:
    """Store a new house; InputError when one of that name is there."""
    from loadlib.store import tables
    from loadlib.store.house_rows import head_row, write_house

    _check_name(house.name)
    with (db or open_database()).writing() as connection:
        _refuse_second(connection, house.name)
        row = head_row(house) | {"changed_at": now()}
        done = connection.execute(tables.house.insert().values(row))
        assert done.inserted_primary_key is not None
        write_house(connection, done.inserted_primary_key[0], None, house)


def edit(
    name: str, change: Callable[[House], House], what: str, db: Database | None = None
) -> House:
    """Apply ``change`` to the stored house and keep it; ``what`` names it in the journal.

    ``change`` must be pure and quick: the write lock is held while it runs. Its errors
    leave the house as it was. The name of the house can't be changed this way.
    """
    from loadlib.store.house_rows import read_house

    with (db or open_database()).writing() as connection:
        key = house_key(connection, name)
        old = read_house(connection, key)
        new = change(old)
        _keep(connection, key, old, new, what)
    return new


def save(house: House, what: str = "saved", db: Database | None = None) -> None:
    """Store ``house`` over the one of its name, or as a new one.

    What another terminal changed since ``house`` was loaded is replaced; ``edit`` is the
    careful way.
    """
    database = db or open_database()
    if any(one.name.casefold() == house.name.casefold() for one in list_houses(database)):
        edit(house.name, lambda old: house.with_(name=old.name), what, database)
    else:
        create(house, database)


def rename(name: str, new: str, db: Database | None = None) -> None:
    """Give a house another name; InputError when that is taken."""
    from sqlalchemy import update

    from loadlib.store.tables import house

    _check_name(new)
    with (db or open_database()).writing() as connection:
        key = house_key(connection, name)
        if name.casefold() != new.casefold():
            _refuse_second(connection, new)
        connection.execute(update(house).where(house.c.id == key).values(name=new))


def remove(name: str, db: Database | None = None) -> None:
    """Put a house away with all its evidence; ``restore`` brings it back."""
    from sqlalchemy import update

    from loadlib.store.tables import house

    with (db or open_database()).writing() as connection:
        key = house_key(connection, name)
        connection.execute(update(house).where(house.c.id == key).values(removed_at=now()))


def restore(name: str, db: Database | None = None) -> None:
    """Bring back the house of that name that was removed last."""
    from sqlalchemy import select, update

    from loadlib.store.tables import house

    with (db or open_database()).writing() as connection:
        away = select(house.c.id).where(house.c.name == name, house.c.removed_at.is_not(None))
        key = connection.scalar(away.order_by(house.c.removed_at.desc(), house.c.id.desc()))
        if key is None:
            raise NotFound("removed house", name)
        _refuse_second(connection, name)
        connection.execute(update(house).where(house.c.id == key).values(removed_at=None))


def rename_circuit(name: str, circuit: str, new: str, db: Database | None = None) -> House:
    """Rename a circuit, also in what was measured on it."""
    from loadlib.store.house_rows import read_house

    with (db or open_database()).writing() as connection:
        key = house_key(connection, name)
        old = read_house(connection, key)
        was = old.circuit(circuit).name
        house = edits.rename_circuit(old, was, new)
        places = (f"circuit {was}", f"circuit {new}")
        _keep(connection, key, old, house, f"renamed circuit {was} to {new}", places)
    return house


def undo(name: str, db: Database | None = None) -> str:
    """Take back the last change and say what it was; NotFound when there is none."""
    return _step(name, db, back=True)


def redo(name: str, db: Database | None = None) -> str:
    """Do again what was last undone and say what it was; NotFound when there is nothing."""
    return _step(name, db, back=False)


def journal(name: str, db: Database | None = None) -> list[Change]:
    """The changes of a house that the journal holds, oldest first."""
    from sqlalchemy import select

    from loadlib.store.tables import change

    with (db or open_database()).reading() as connection:
        key = house_key(connection, name)
        rows = select(change.c.at, change.c.what, change.c.undone).where(change.c.house_id == key)
        return [Change._make(row) for row in connection.execute(rows.order_by(change.c.id))]


def house_key(connection: Connection, name: str) -> int:
    """Row id of a house that is not removed; NotFound with near names."""
    from sqlalchemy import select

    from loadlib.store.tables import house

    live = select(house.c.id, house.c.name).where(house.c.removed_at.is_(None))
    row = connection.execute(live.where(house.c.name == name)).first()
    if row is not None:
        return int(row.id)
    stored = [one.name for one in connection.execute(live)]
    raise NotFound("house", name, near=_near(name, stored))


def _keep(
    connection: Connection,
    key: int,
    old: House,
    new: House,
    what: str,
    places: tuple[str, str] | None = None,
) -> None:
    from sqlalchemy import delete

    from loadlib.store.house_rows import pack
    from loadlib.store.tables import change

    if new.name != old.name:
        raise InputError("edit: use rename for the name of a house")
    if new == old:
        return
    _apply(connection, key, old, new, places)
    undone = delete(change).where(change.c.house_id == key, change.c.undone)
    connection.execute(undone)
    row = {"house_id": key, "at": now(), "what": what, "before": pack(old), "after": pack(new)}
    if places:
        row |= {"place_before": places[0], "place_after": places[1]}
    done = connection.execute(change.insert().values(row))
    assert done.inserted_primary_key is not None
    _forget_oldest(connection, key)


def _apply(
    connection: Connection, key: int, old: House, new: House, places: tuple[str, str] | None
) -> None:
    from sqlalchemy import update

    from loadlib.store import tables
    from loadlib.store.house_rows import head_row, write_house

    write_house(connection, key, old, new)
    head = head_row(new) | {"changed_at": now()}
    connection.execute(update(tables.house).where(tables.house.c.id == key).values(head))
    if places:
        for table in (tables.channel, tables.reading):
            measured = update(table).where(table.c.house_id == key, table.c.place == places[0])
            connection.execute(measured.values(place=places[1]))


def _forget_oldest(connection: Connection, key: int) -> None:
    from sqlalchemy import delete, select

    from loadlib.store.tables import change

    newest = select(change.c.id).where(change.c.house_id == key).order_by(change.c.id.desc())
    oldest_kept = connection.scalar(newest.offset(KEPT_CHANGES - 1).limit(1))
    if oldest_kept is not None:
        old = delete(change).where(change.c.house_id == key, change.c.id < oldest_kept)
        connection.execute(old)


def _step(name: str, db: Database | None, *, back: bool) -> str:
    from sqlalchemy import select, update

    from loadlib.store.house_rows import read_house, unpack
    from loadlib.store.tables import change

    with (db or open_database()).writing() as connection:
        key = house_key(connection, name)
        order = change.c.id.desc() if back else change.c.id.asc()
        mine = select(change).where(change.c.house_id == key, change.c.undone == (not back))
        row = connection.execute(mine.order_by(order)).first()
        if row is None:
            raise NotFound("change to undo" if back else "change to redo", name)
        places = (row.place_before, row.place_after)
        now = read_house(connection, key)
        goal = unpack(row.before if back else row.after).with_(name=now.name)
        _apply(connection, key, now, goal, _turned(places, back))
        connection.execute(update(change).where(change.c.id == row.id).values(undone=back))
    return str(row.what)


def _turned(places: tuple[str, str], back: bool) -> tuple[str, str] | None:
    if not places[0]:
        return None
    return (places[1], places[0]) if back else places


def _refuse_second(connection: Connection, name: str) -> None:
    from sqlalchemy import select

    from loadlib.store.tables import house

    live = select(house.c.name).where(house.c.name == name, house.c.removed_at.is_(None))
    if (taken := connection.scalar(live)) is not None:
        raise InputError(
            f"there is a house {taken!r} already", hint="Choose another name, or change that one."
        )


def _check_name(name: str) -> None:
    if not name.strip() or name != name.strip() or not name.isprintable():
        raise InputError(f"house name {name!r}", hint="Give a name of printable letters.")
    if len(name) > MOST_LETTERS:
        raise InputError(f"house name of {len(name)} letters", hint=f"At most {MOST_LETTERS}.")


def _near(name: str, stored: list[str]) -> tuple[str, ...]:
    from difflib import get_close_matches

    return tuple(get_close_matches(name, stored, n=5, cutoff=0.5) or stored[:5])


def now() -> str:
    """UTC now, as the store writes it down."""
    return datetime.now(UTC).isoformat(timespec="microseconds")
