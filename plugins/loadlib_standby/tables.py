"""The seed tables of this plugin (``standby_*.csv``), read once.

Every row carries ``source`` and ``obtained``; ``from_memory`` marks what nobody has read up.
"""

from __future__ import annotations

import csv
import functools

from loadlib_standby.engine import DataError, NotFound, seed_root

__all__ = ["find", "number", "table"]

Row = dict[str, str]


@functools.cache
def table(name: str) -> tuple[Row, ...]:
    """Rows of ``standby_<name>.csv``."""
    path = seed_root() / f"standby_{name}.csv"
    if not path.is_file():
        raise DataError("table is missing", path=str(path), hint="Install loadlib again.")
    with path.open(newline="", encoding="utf-8") as handle:
        return tuple(csv.DictReader(handle))


def find(name: str, what: str, column: str, key: str, **more: str) -> Row:
    """The first row whose ``column`` is ``key`` (case does not matter) and that agrees with
    ``more``; NotFound lists what there is."""
    rows = [
        row
        for row in table(name)
        if row[column].casefold() == key.strip().casefold()
        and all(row[other] == value for other, value in more.items())
    ]
    if not rows:
        there = tuple(dict.fromkeys(row[column] for row in table(name)))
        raise NotFound(what, key, near=there, hint="There is: " + ", ".join(there))
    return rows[0]


def number(row: Row, column: str, what: str) -> float:
    """A cell as a number; NotFound where the table has none for this row."""
    if row[column] == "":
        raise NotFound(what, next(iter(row.values())), hint=f"The table gives no {column} there.")
    return float(row[column])
