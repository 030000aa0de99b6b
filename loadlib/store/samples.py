"""Stored logs, read a stretch at a time: a month of seconds need not lie in the memory."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from loadlib.store.database import Database, open_database
from loadlib.store.houses import house_key

if TYPE_CHECKING:
    from sqlalchemy import Connection

__all__ = ["StoredLog", "StoredValues", "disagreements", "stored_logs"]

_HOUR_S = 3600
_STRETCH_H = 7 * 24
_APART_SHARE, _APART_W = 0.1, 30.0
"""Two instruments at one place may differ by so much in the mean: judgements."""


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


def disagreements(connection: Connection, import_id: int) -> Iterator[str]:
    """Remarks where an import differs from what another channel says of the same place and flow.

    Slots of another step, phase or name are no contradiction of single values, so means over
    the hours that both have are compared; steps of more than an hour are not. Values are read
    a week at a time, and none where there is no such channel.
    """
    from loadlib.store.series import extent

    for mine, start_s, end_s, other in _doubles(connection, import_id):
        first_s, step_s, slots = extent(connection, other) or (0, 1, 0)
        shared = max(start_s, first_s), min(end_s, first_s + step_s * slots)
        hours, mean_w, stored_w = _means(connection, mine, other, *shared)
        apart_w = abs(mean_w - stored_w)
        if apart_w > max(_APART_W, _APART_SHARE * max(abs(mean_w), abs(stored_w))):
            yield (
                f"{mine.place}: {hours} h of it are stored at {step_s} s too, but there the mean "
                f"is {stored_w:.0f} W, here {mean_w:.0f} W: is it the same place?"
            )


def _doubles(connection: Connection, import_id: int) -> Iterator[tuple[Any, int, int, Any]]:
    """Channels of power that an import gave to, from when to when, each with one it did not."""
    from sqlalchemy import select

    from loadlib.store.series import ENDS, OUTDOOR
    from loadlib.store.tables import channel, series_block, series_part

    given = select(channel, *ENDS).select_from(channel.join(series_part).join(series_block))
    given = given.where(series_part.c.import_id == import_id, channel.c.flow != OUTDOOR)
    mine = connection.execute(given.group_by(channel.c.id)).all()
    for one in mine:
        same = [channel.c[key] == getattr(one, key) for key in ("house_id", "place", "flow")]
        others = channel.c.id.not_in([x.id for x in mine]), channel.c.step_s <= _HOUR_S
        if one.step_s <= _HOUR_S:
            for other in connection.execute(select(channel).where(*same, *others)).all():
                yield one, one.start_s, one.end_s, other


def _means(
    connection: Connection, mine: Any, other: Any, start_s: int, end_s: int
) -> tuple[int, float, float]:
    """How many hours both have, and the mean of each over them; zeros where none. [h, W, W]"""
    total, count = np.zeros(2), 0
    for first_s in range(start_s - start_s % _HOUR_S, end_s, _STRETCH_H * _HOUR_S):
        hours = min(_STRETCH_H, -((first_s - end_s) // _HOUR_S))
        both = np.stack([_by_hour(connection, one, first_s, hours) for one in (mine, other)])
        both = both[:, ~np.isnan(both).any(axis=0)]
        total += both.sum(axis=1)
        count += both.shape[1]
    mean_w, stored_w = total / max(count, 1)
    return count, float(mean_w), float(stored_w)


def _by_hour(connection: Connection, row: Any, first_s: int, hours: int) -> NDArray[np.float64]:
    """Means of hours of a channel, NaN where less than half of one is there, shape (hours,). [W]"""
    from loadlib.store.series import values_between

    begin_s = first_s + (row.phase_s - first_s) % row.step_s
    slots = -((begin_s - first_s - hours * _HOUR_S) // row.step_s)
    values = values_between(connection, row.id, begin_s, row.step_s, slots)
    there = ~np.isnan(values)
    hour = (begin_s - first_s + row.step_s * np.flatnonzero(there)) // _HOUR_S
    count = np.bincount(hour, minlength=hours)
    total = np.bincount(hour, values[there], minlength=hours)
    enough = count * row.step_s >= _HOUR_S // 2
    return np.where(enough, total / np.maximum(count, 1), np.nan)
