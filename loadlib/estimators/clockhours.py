"""Hours of a period by local month and clock hour."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import When

__all__ = ["CELLS", "cells_of", "hour_marks", "hours_by_cell", "local_s", "when_mask"]

CELLS = 288
"""Month-hours: (month − 1) · 24 + hour."""

_HOUR_S = 3600


def cells_of(times_s: NDArray[np.int64], timezone: str) -> NDArray[np.int64]:
    """Month-hour of each moment on the local clock, shape (n,). ``times_s`` is UTC, rising. [s]

    Without a zone the clock of UTC is taken.
    """
    local = local_s(times_s, timezone)
    stamp = local.astype("datetime64[s]")
    month = stamp.astype("datetime64[M]").astype(np.int64) % 12
    result: NDArray[np.int64] = month * 24 + (local // _HOUR_S) % 24
    return result


def local_s(times_s: NDArray[np.int64], timezone: str) -> NDArray[np.int64]:
    """What the local clock shows, as seconds since 1970 of that clock, shape (n,). [s]"""
    return times_s + _offsets(times_s, timezone)


def hour_marks(start_s: int, end_s: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Starts of the hours that a period touches and how much of each lies in it. [s], [h]"""
    first = start_s - start_s % _HOUR_S
    marks = np.arange(first, end_s, _HOUR_S, dtype=np.int64)
    length = np.full(marks.size, 1.0)
    length[0] -= (start_s - first) / _HOUR_S
    length[-1] -= (marks[-1] + _HOUR_S - end_s) / _HOUR_S
    return marks, length


def hours_by_cell(start_s: int, end_s: int, timezone: str) -> NDArray[np.float64]:
    """Hours of a period in each month-hour, shape (288,). Parts of an hour count as parts. [h]"""
    marks, length = hour_marks(start_s, end_s)
    counted = np.bincount(cells_of(marks, timezone), weights=length, minlength=CELLS)
    return counted.astype(np.float64)


def when_mask(when: When) -> NDArray[np.bool_]:
    """Which month-hours a condition allows, shape (288,)."""
    months = np.isin(np.arange(1, 13), when.months or range(1, 13))
    hours = np.isin(np.arange(24), when.hours or range(24))
    return np.outer(months, hours).ravel()


def _offsets(times_s: NDArray[np.int64], timezone: str) -> NDArray[np.int64]:
    """Offset from UTC at each moment; asked once an hour where it changes, else once a day. [s]"""
    zone: tzinfo = ZoneInfo(timezone) if timezone else UTC
    days = times_s // 86_400
    edges = np.unique(np.concatenate((days, days + 1)))
    by_edge = {int(day): _offset(zone, int(day) * 86_400) for day in edges}
    opens = np.array([by_edge[int(day)] for day in edges], dtype=np.int64)
    before = opens[np.searchsorted(edges, days)]
    after = opens[np.searchsorted(edges, days + 1)]
    changing = np.flatnonzero(before != after)
    if changing.size:
        before[changing] = [_offset(zone, int(moment)) for moment in times_s[changing]]
    return before


def _offset(zone: tzinfo, moment_s: int) -> int:
    offset = datetime.fromtimestamp(moment_s, UTC).astimezone(zone).utcoffset()
    return int(offset.total_seconds()) if offset is not None else 0
