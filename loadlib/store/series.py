"""Measured series in the store: blocks of a channel, each of one import and one UTC month.

What an import adds to a channel is kept apart from what other imports gave, so that it can
be deleted alone. Reading lays the parts over one another, a later import on top. Slots that
are stored already are not stored again; slots that contradict are counted and, unless the
caller says which counts, refused.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, Result, Row, func, select
from sqlalchemy.dialects.sqlite import insert

from loadlib.core.series import Series, Temperatures
from loadlib.errors import DataError
from loadlib.store import blocks
from loadlib.store.tables import channel, series_block, series_part

__all__ = [
    "ENDS",
    "Grid",
    "Tally",
    "channels",
    "extent",
    "grid_of",
    "read_series",
    "read_temperatures",
    "store_grid",
    "told",
    "values_between",
]

OUTDOOR = "outdoor_c"
MOST_SLOTS = 60_000_000
"""Longest series, from its first slot to its last: one-second data for nearly two years."""

MOST_VALUE = 1e9
ENDS = (
    func.min(series_block.c.start_s).label("start_s"),
    func.max(series_block.c.start_s + series_block.c.step_s * series_block.c.slots).label("end_s"),
)
"""From when to when blocks reach, as columns of a query. [s]"""

_SAME_SHARE, _SAME_LEAST = 1e-5, 1e-3  # what rounding to float32 and unit changes leave


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """A series or temperatures as the store sees them: values on a regular grid."""

    channel: str
    place: str
    flow: str
    start_s: int
    step_s: int
    values: NDArray[np.float64]
    timezone: str
    source: str
    notes: tuple[str, ...]


class Tally(NamedTuple):
    """Slots that an import added, that were there already, and that contradict."""

    added: int
    same: int
    contradicted: int
    example: str = ""

    def plus(self, more: Tally) -> Tally:
        """Both together; the first example stays."""
        return Tally(
            self.added + more.added,
            self.same + more.same,
            self.contradicted + more.contradicted,
            self.example or more.example,
        )


def grid_of(measured: Series | Temperatures) -> Grid:
    """The store's view of a series or of temperatures."""
    if isinstance(measured, Series):
        fields = (measured.channel, measured.place, measured.flow)
        start_s, step_s, values = measured.start_s, measured.step_s, measured.mean_w
        return Grid(
            *fields, start_s, step_s, values, measured.timezone, measured.source, measured.notes
        )
    return Grid(
        "outdoor",
        "outdoor",
        OUTDOOR,
        measured.start_s,
        measured.step_s,
        measured.outdoor_c,
        "",
        measured.source,
        (),
    )


def store_grid(
    connection: Connection, house_id: int, import_id: int, grid: Grid, *, replace: bool
) -> Tally:
    """Add the slots of ``grid`` that are new; with ``replace`` also those that contradict."""
    grid = _trimmed(grid)
    if grid.values.size == 0:
        return Tally(0, 0, 0)
    channel_id = _channel_id(connection, house_id, grid)
    _refuse_endless(connection, channel_id, grid)
    window = (grid.start_s, grid.step_s, grid.values.size)
    rows = _blocks_in(connection, channel_id, *window).all()
    given = ~np.isnan(grid.values)
    if not rows:
        _write_part(connection, channel_id, import_id, grid, grid.values)
        return Tally(int(given.sum()), 0, 0)
    stored = _laid_over(rows, *window)
    there = given & ~np.isnan(stored)
    if not there.any():
        _write_part(connection, channel_id, import_id, grid, grid.values)
        return Tally(int(given.sum()), 0, 0)
    same = there & np.isclose(grid.values, stored, rtol=_SAME_SHARE, atol=_SAME_LEAST)
    differs = there & ~same
    kept = given & (~there | differs if replace else ~there)
    _write_part(connection, channel_id, import_id, grid, np.where(kept, grid.values, np.nan))
    example = _example(grid, stored, differs) if differs.any() else ""
    return Tally(int(kept.sum()), int(same.sum()), int(differs.sum()), example)


def _trimmed(grid: Grid) -> Grid:
    """Without missing slots at both ends; DataError for a value that no house has."""
    values = np.asarray(grid.values, dtype=np.float64)
    first, last = _extent(values)
    values = values[first:last]
    if values.size:
        ends = float(np.nanmin(values)), float(np.nanmax(values))
        if -ends[0] > MOST_VALUE or ends[1] > MOST_VALUE:
            raise DataError(
                f"{grid.channel}: values from {ends[0]:g} to {ends[1]:g} are out of all bounds",
                hint="Is the unit or the multiplier of the file right?",
            )
    return Grid(
        grid.channel,
        grid.place,
        grid.flow,
        grid.start_s + first * grid.step_s,
        grid.step_s,
        values,
        grid.timezone,
        grid.source,
        grid.notes,
    )


def _extent(values: NDArray[np.float64]) -> tuple[int, int]:
    """From the first value that is there up to, not including, what follows the last."""
    there = ~np.isnan(values)
    if not there.any():
        return 0, 0
    return int(there.argmax()), values.size - int(there[::-1].argmax())


def _channel_id(connection: Connection, house_id: int, grid: Grid) -> int:
    key = {
        "house_id": house_id,
        "channel": grid.channel,
        "place": grid.place,
        "flow": grid.flow,
        "step_s": grid.step_s,
        "phase_s": grid.start_s % grid.step_s,
    }
    fresh = insert(channel).values(**key, timezone=grid.timezone)
    # A zone that became known later is noted; an empty one never wipes out a known one.
    zone = func.coalesce(func.nullif(fresh.excluded.timezone, ""), channel.c.timezone)
    statement = fresh.on_conflict_do_update(index_elements=list(key), set_={"timezone": zone})
    return int(connection.execute(statement.returning(channel.c.id)).scalar_one())


def _refuse_endless(connection: Connection, channel_id: int, grid: Grid) -> None:
    first_s, last_s = _ends(connection, channel_id)
    end_s = grid.start_s + grid.step_s * grid.values.size
    span_s = max(end_s, last_s or end_s) - min(grid.start_s, first_s or grid.start_s)
    if span_s // grid.step_s > MOST_SLOTS:
        raise DataError(
            f"{grid.channel}: from {_when(min(grid.start_s, first_s or grid.start_s))} on there "
            f"would be {span_s // grid.step_s:,} slots of {grid.step_s} s",
            hint="Is a date wrong? Otherwise import it with a longer step.",
        )


def _write_part(
    connection: Connection,
    channel_id: int,
    import_id: int,
    grid: Grid,
    kept: NDArray[np.float64],
) -> None:
    rows: list[dict[str, Any]] = []
    for month, part in blocks.month_slices(grid.start_s, grid.step_s, kept.size):
        first, last = (part.start + at for at in _extent(kept[part]))
        if last > first:
            values = kept[first:last].astype(np.float32)
            rows.append(
                {
                    "month": month,
                    "start_s": grid.start_s + first * grid.step_s,
                    "step_s": grid.step_s,
                    "slots": values.size,
                    "packed": blocks.pack(values),
                }
            )
    if not rows:
        return
    key = {"channel_id": channel_id, "import_id": import_id}
    told = {"source": grid.source, "notes": json.dumps(grid.notes)}
    fresh = insert(series_part).values(**key, **told)
    # The stretches of a long log are added one after the other to the same part.
    statement = fresh.on_conflict_do_update(index_elements=list(key), set_=told)
    part_id = connection.execute(statement.returning(series_part.c.id)).scalar_one()
    connection.execute(series_block.insert(), [row | {"series_part_id": part_id} for row in rows])


def _blocks_in(
    connection: Connection, channel_id: int, start_s: int, step_s: int, slots: int
) -> Result[Any]:
    """Stored blocks that reach into a window, in the order of their imports."""
    end_s = start_s + step_s * slots
    rows = (
        select(series_block.c.start_s, series_block.c.slots, series_block.c.packed)
        .join(series_part)
        .where(
            series_part.c.channel_id == channel_id,
            series_block.c.start_s < end_s,
            series_block.c.start_s + series_block.c.step_s * series_block.c.slots > start_s,
        )
        .order_by(series_part.c.import_id)
    )
    return connection.execute(rows)


def _laid_over(
    rows: Iterable[Row[Any]], start_s: int, step_s: int, slots: int
) -> NDArray[np.float64]:
    """Blocks laid into a window, later imports on top; NaN where nothing is."""
    window = np.full(slots, np.nan)
    for row in rows:
        values = blocks.unpack(row.packed, row.slots)
        offset = (row.start_s - start_s) // step_s
        first, last = max(offset, 0), min(offset + row.slots, slots)
        values = values[first - offset : last - offset]
        np.copyto(window[first:last], values, where=~np.isnan(values))
    return window


def _example(grid: Grid, stored: NDArray[np.float64], differs: NDArray[np.bool_]) -> str:
    place = int(np.flatnonzero(differs)[0])
    unit = "°C" if grid.flow == OUTDOOR else "W"
    at = _when(grid.start_s + place * grid.step_s)
    was, now = stored[place], grid.values[place]
    return f"{grid.channel} at {at}: stored {was:g} {unit}, now {now:g} {unit}"


def _when(epoch_s: int) -> str:
    return datetime.fromtimestamp(epoch_s, UTC).strftime("%Y-%m-%d %H:%M UTC")


def channels(connection: Connection, house_id: int) -> list[Any]:
    """Rows of the channels of power of a house, in the order in which they came."""
    rows = select(channel).where(channel.c.house_id == house_id, channel.c.flow != OUTDOOR)
    return list(connection.execute(rows.order_by(channel.c.id)).all())


def extent(connection: Connection, row: Any) -> tuple[int, int, int] | None:
    """First start, step [s] and slots of a channel up to its last value; None when empty."""
    start_s, end_s = _ends(connection, row.id)
    if start_s is None or end_s is None:
        return None
    return start_s, row.step_s, (end_s - start_s) // row.step_s


def _ends(connection: Connection, channel_id: int) -> tuple[int | None, int | None]:
    """From when to when values of a channel are stored; None where there are none. [s]"""
    rows = select(*ENDS).select_from(series_block.join(series_part))
    start_s, end_s = connection.execute(rows.where(series_part.c.channel_id == channel_id)).one()
    return start_s, end_s


def told(connection: Connection, channel_id: int) -> tuple[str, tuple[str, ...]]:
    """Source and notes of what was imported into a channel."""
    parts = (
        select(series_part.c.source, series_part.c.notes)
        .where(series_part.c.channel_id == channel_id)
        .order_by(series_part.c.import_id)
    )
    rows = connection.execute(parts).all()
    sources = dict.fromkeys(row.source for row in rows if row.source)
    notes = dict.fromkeys(note for row in rows for note in json.loads(row.notes))
    return "; ".join(sources), tuple(notes)


def values_between(
    connection: Connection, channel_id: int, start_s: int, step_s: int, slots: int
) -> NDArray[np.float64]:
    """Stored values of a window of a channel's own grid, NaN where nothing is, shape (slots,)."""
    window = (start_s, step_s, slots)
    return _laid_over(_blocks_in(connection, channel_id, *window), *window)


def read_series(connection: Connection, house_id: int) -> list[Series]:
    """Every power series of a house, from its first stored slot to its last."""
    found = []
    for row in channels(connection, house_id):
        if grid := _read_channel(connection, row):
            fields = (grid.channel, grid.place, grid.flow, grid.start_s, grid.step_s)
            found.append(Series(*fields, grid.values, grid.timezone, grid.source, grid.notes))
    return found


def read_temperatures(connection: Connection, house_id: int) -> Temperatures | None:
    """Outdoor temperatures of a house; of several grids the one with the shortest step."""
    rows = select(channel).where(channel.c.house_id == house_id, channel.c.flow == OUTDOOR)
    for row in connection.execute(rows.order_by(channel.c.step_s, channel.c.id)).all():
        if grid := _read_channel(connection, row):
            return Temperatures(grid.start_s, grid.step_s, grid.values, grid.source)
    return None


def _read_channel(connection: Connection, row: Any) -> Grid | None:
    window = extent(connection, row)
    if window is None:
        return None
    values = values_between(connection, row.id, *window)
    fields = (row.channel, row.place, row.flow, *window[:2], values, row.timezone)
    return Grid(*fields, *told(connection, row.id))
