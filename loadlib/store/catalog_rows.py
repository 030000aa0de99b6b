"""Catalog rows by bare ``sqlite3``: what a look-up prints, without numpy or SQLAlchemy."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

__all__ = ["CategoryRow", "ValueRow", "all_names", "rows_for"]


class ValueRow(NamedTuple):
    """One value with where it came from; ``origin`` is ``seed`` or ``user``."""

    quantity: str
    low: float
    typical: float
    high: float
    unit: str
    basis: str
    conditions: str
    source: str
    citation: str
    obtained: str
    note: str
    origin: str


class CategoryRow(NamedTuple):
    """One category. ``values`` are those that count; ``shipped`` those that a user's hides."""

    key: int
    category: str
    name: str
    group: str
    kind: str
    thermostatic: bool
    medical: bool
    voltage_v: float
    poles: int
    label_rule: str
    note: str
    by_hour: str
    by_month: str
    aliases: tuple[str, ...]
    values: dict[str, ValueRow]
    shipped: dict[str, ValueRow]


_CATEGORIES = """
    SELECT c.id, c.category, c.name, c.group_name, c.kind, c.thermostatic, c.medical,
           c.voltage_v, c.poles, c.label_rule, c.note, u.by_hour, s.by_month, c.alias_text
    FROM category c
    LEFT JOIN use_profile u ON u.use_profile = c.use_profile
    LEFT JOIN season s ON s.season = c.season
    WHERE c.category IN ({marks})"""

_VALUES = """
    SELECT v.category_id, v.quantity, v.low, v.typical, v.high, v.unit, v.basis, v.conditions,
           v.source, coalesce(s.citation, v.source), v.obtained, v.note, v.origin
    FROM category_value v LEFT JOIN source s ON s.source = v.source
    WHERE v.category_id IN ({marks})
    ORDER BY v.category_id, v.id"""

_CHUNK = 500  # below the least limit of parameters that SQLite is built with


def all_names(connection: sqlite3.Connection) -> list[str]:
    """Every category's key, in alphabetical order."""
    return [row[0] for row in connection.execute("SELECT category FROM category ORDER BY category")]


def rows_for(connection: sqlite3.Connection, names: Iterable[str]) -> dict[str, CategoryRow]:
    """Rows of those of ``names`` that the catalog has, in the order given."""
    wanted = list(dict.fromkeys(names))
    found: dict[str, CategoryRow] = {}
    for chunk in _chunks(wanted):
        heads = connection.execute(_CATEGORIES.format(marks=_marks(chunk)), chunk).fetchall()
        values = _values(connection, [head[0] for head in heads])
        for head in heads:
            found[head[1]] = _row(head, values.get(head[0], []))
    return {name: found[name] for name in wanted if name in found}


def _row(head: tuple[object, ...], values: list[ValueRow]) -> CategoryRow:
    *fields, alias_text = head
    shipped = {v.quantity: v for v in values if v.origin == "seed"}
    own = {v.quantity: v for v in values if v.origin == "user"}
    row = CategoryRow._make(
        [
            *fields,
            tuple(str(alias_text).split("\n")) if alias_text else (),
            shipped | own,
            {quantity: v for quantity, v in shipped.items() if quantity in own},
        ]
    )
    return row._replace(thermostatic=bool(row.thermostatic), medical=bool(row.medical))


def _values(connection: sqlite3.Connection, keys: list[int]) -> dict[int, list[ValueRow]]:
    found: dict[int, list[ValueRow]] = {}
    for key, *fields in connection.execute(_VALUES.format(marks=_marks(keys)), keys):
        found.setdefault(key, []).append(ValueRow._make(fields))
    return found


def _chunks(names: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(names), _CHUNK):
        yield names[start : start + _CHUNK]


def _marks(values: Sequence[object]) -> str:
    return ",".join("?" * len(values))
