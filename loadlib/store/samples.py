"""Stored logs, read a stretch at a time: a month of seconds need not lie in the memory."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loadlib.store.database import Database, open_database
from loadlib.store.houses import house_key

__all__ = ["StoredLog", "StoredValues", "stored_logs"]


@dataclass(frozen=True, slots=True, eq=False)
class StoredValues:
    """Values of a stored channel, ``size`` of them; a slice is read when it is asked for.

    Each slice sees the database as it is then. [W]
    """

    db: Database
    channel_id: int
    start_s: int
    step_s: int
    size: int

    def __getitem__(self, at: slice) -> NDArray[np.float64]:
        """Values of a slice without a step, NaN where missing. [W]"""
        from loadlib.store.series import values_between

        first, last, _ = at.indices(self.size)
        window = (self.start_s + first * self.step_s, self.step_s, max(last - first, 0))
        with self.db.reading() as connection:
            return values_between(connection, self.channel_id, *window)


class StoredLog(NamedTuple):
    """A log of a house: what ``core.series.Series`` says of it, with values still stored."""

    channel: str
    place: str
    timezone: str
    notes: tuple[str, ...]
    values: StoredValues


def stored_logs(house: str, db: Database | None = None) -> list[StoredLog]:
    """The logs (flow ``"load"``) of a house in the order in which they came.

    Raises
    ------
    NotFound
        no such house.
    """
    from loadlib.store.series import channels, extent, told

    database = db or open_database()
    found = []
    with database.reading() as connection:
        for row in channels(connection, house_key(connection, house)):
            span = extent(connection, row)
            if row.flow != "load" or span is None:
                continue
            values = StoredValues(database, row.id, *span)
            _, notes = told(connection, row.id)
            found.append(StoredLog(row.channel, row.place, row.timezone, notes, values))
    return found
