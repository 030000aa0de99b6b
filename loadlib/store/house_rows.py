"""A core House to table rows and back, and to the journal's document and back."""

from __future__ import annotations

import json
import zlib
from dataclasses import fields
from typing import Any

from sqlalchemy import Connection, Table, delete, select
from sqlalchemy.dialects.sqlite import insert

from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.store import tables

__all__ = ["head_row", "pack", "read_house", "unpack", "write_house"]

Row = dict[str, Any]


def read_house(connection: Connection, key: int) -> House:
    """The house with that row id, whole."""
    head = connection.execute(select(tables.house).where(tables.house.c.id == key)).one()
    return House(
        name=head.name,
        system=head.system,
        service_a=head.service_a,
        area_ft2=head.area_ft2,
        timezone=head.timezone,
        note=head.note,
        rooms=tuple(row.name for row in _children(connection, tables.room, key)),
        circuits=tuple(_circuit(row) for row in _children(connection, tables.circuit, key)),
        appliances=tuple(_appliance(row) for row in _children(connection, tables.appliance, key)),
    )


def _children(connection: Connection, table: Table, key: int) -> list[Any]:
    rows = select(table).where(table.c.house_id == key).order_by(table.c.position, table.c.id)
    return list(connection.execute(rows))


def _circuit(row: Any) -> Circuit:
    return Circuit(
        name=row.name,
        slots=tuple(json.loads(row.slots)),
        legs=row.legs,
        breaker_a=row.breaker_a,
        leg_guessed=row.leg_guessed,
        depends_on=tuple(json.loads(row.depends_on)),
        note=row.note,
    )


def _circuit_row(circuit: Circuit) -> Row:
    return {
        "name": circuit.name,
        "slots": json.dumps(circuit.slots),
        "legs": circuit.legs,
        "breaker_a": circuit.breaker_a,
        "leg_guessed": circuit.leg_guessed,
        "depends_on": json.dumps(circuit.depends_on),
        "note": circuit.note,
    }


_SAME = [
    "name",
    "category",
    "room",
    "label",
    "circuit",
    "legs",
    "priority",
    "medical",
    "may_be_off_s",
    "if_off",
    "note",
]


def _appliance(row: Any) -> Appliance:
    running = (row.running_low_w, row.running_typical_w, row.running_high_w)
    return Appliance(
        id=row.appliance,
        count=row.how_many,
        running_w=None if running[1] is None else Range(*running),
        **{name: getattr(row, name) for name in _SAME},
    )


def _appliance_row(appliance: Appliance) -> Row:
    running = appliance.running_w
    return {name: getattr(appliance, name) for name in _SAME} | {
        "appliance": appliance.id,
        "how_many": appliance.count,
        "running_low_w": running and running.low,
        "running_typical_w": running and running.typical,
        "running_high_w": running and running.high,
    }


def write_house(connection: Connection, key: int, old: House | None, new: House) -> None:
    """Write what differs between ``old`` (stored under ``key``) and ``new``."""
    for table, column, rows in (
        (tables.circuit, "name", _circuit_row),
        (tables.appliance, "appliance", _appliance_row),
    ):
        parts = "circuits" if table is tables.circuit else "appliances"
        before = _placed(getattr(old, parts), column, rows) if old else {}
        _write_children(
            connection, table, key, column, before, _placed(getattr(new, parts), column, rows)
        )
    if old is None or old.rooms != new.rooms:
        connection.execute(delete(tables.room).where(tables.room.c.house_id == key))
        rooms = [{"house_id": key, "position": i, "name": n} for i, n in enumerate(new.rooms)]
        if rooms:
            connection.execute(tables.room.insert(), rooms)


def head_row(house: House) -> Row:
    """The columns of the house itself."""
    return {
        name: getattr(house, name)
        for name in ("name", "system", "service_a", "area_ft2", "timezone", "note")
    }


def _placed(parts: Any, column: str, to_row: Any) -> dict[str, Row]:
    rows = [to_row(part) | {"position": place} for place, part in enumerate(parts)]
    return {row[column]: row for row in rows}


def _write_children(
    connection: Connection,
    table: Table,
    key: int,
    column: str,
    before: dict[str, Row],
    after: dict[str, Row],
) -> None:
    gone = [name for name in before if name not in after]
    if gone:
        connection.execute(delete(table).where(table.c.house_id == key, table.c[column].in_(gone)))
    changed = [row | {"house_id": key} for name, row in after.items() if before.get(name) != row]
    if changed:
        statement = insert(table)
        fresh = {name: statement.excluded[name] for name in changed[0]}
        connection.execute(
            statement.on_conflict_do_update(index_elements=["house_id", column], set_=fresh),
            changed,
        )


def pack(house: House) -> bytes:
    """The house as a compressed document for the journal."""
    document = {name: _plain(getattr(house, name)) for name in _names(House)}
    return zlib.compress(json.dumps(document, separators=(",", ":")).encode())


def unpack(packed: bytes) -> House:
    """The house from a journal's document; fields added since keep their defaults."""
    document: Row = json.loads(zlib.decompress(packed))
    document["rooms"] = tuple(document["rooms"])
    document["circuits"] = tuple(Circuit(**_tuples(row)) for row in document["circuits"])
    document["appliances"] = tuple(
        Appliance(**_tuples(row) | {"running_w": row["running_w"] and Range(*row["running_w"])})
        for row in document["appliances"]
    )
    return House(**document)


def _names(kind: type) -> list[str]:
    return [field.name for field in fields(kind) if field.init]


def _plain(value: Any) -> Any:
    if isinstance(value, Range):
        return [value.low, value.typical, value.high]
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, (Circuit, Appliance)):
        return {name: _plain(getattr(value, name)) for name in _names(type(value))}
    return value


def _tuples(row: Row) -> Row:
    return {name: tuple(v) if isinstance(v, list) else v for name, v in row.items()}
