"""Tables with one row a day and a column for each interval, unrolled to rows of stamps."""

from __future__ import annotations

from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError
from loadlib.readers.local import Folded, to_utc

__all__ = ["PER_DAY", "unroll"]

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

#: Columns of a day that may hold an hour more or less than 24, to intervals in a plain day.
PER_DAY: Final = {
    23: 24,
    24: 24,
    25: 24,
    46: 48,
    48: 48,
    50: 48,
    92: 96,
    96: 96,
    100: 96,
}


def unroll(
    day_s: Ints, values: Floats, where: ZoneInfo | None, path: str
) -> tuple[Ints, Floats, bool, int]:
    """Stamps and numbers of days in a row.

    Parameters
    ----------
    day_s : NDArray
        local midnights counted as if UTC, shape (days,). [s]
    values : NDArray
        shape (days, columns).
    where : ZoneInfo or None
        needed when there are more columns than a plain day has.

    Returns
    -------
    tuple
        stamps, numbers (both in order of time), whether the stamps are UTC, and the step. [s]

    Notes
    -----
    With as many columns as a plain day has intervals, a column is a time on the clock. With
    an hour more (25, 50, 100 columns) the columns count from local midnight as time passes,
    and the last ones are blank on most days.
    """
    columns = values.shape[1]
    per_day = PER_DAY[columns]
    step = 86_400 // per_day
    inside = np.arange(columns, dtype=np.int64) * step
    if columns <= per_day:
        stamps = day_s[:, None] + inside[None, :]
        return stamps.ravel(), values.ravel(), False, step
    if where is None:
        raise DataError(
            f"{columns} columns a day, so clocks change, and the time zone is not known",
            path=path,
            hint="State the time zone, for example America/New_York.",
        )
    midnight: Folded = to_utc(day_s, where)
    stamps = midnight.utc_s[:, None] + inside[None, :]
    there = np.isfinite(values)
    return stamps[there], values[there], True, step
