"""Interval energies from a two-column table: start (ISO 8601 with offset) and kWh."""

from __future__ import annotations

import csv
import math
from datetime import datetime

import numpy as np

from loadlib import DataError, Series

__all__ = ["series_from_csv"]

MOST_ROWS = 2_000_000


def series_from_csv(text: str, *, path: str = "intervals") -> Series:
    """A Series from lines ``start,kwh`` under that heading; gaps stay gaps.

    The step is the smallest distance between two starts and must divide all others. Raises
    DataError naming the line: wrong heading, a start without offset, a start out of order or
    twice, a value that is not a number.
    """
    found: list[tuple[int, float]] = []
    reader = csv.reader(text.splitlines())
    for number, row in enumerate(reader, 1):
        if number == 1:
            if [cell.strip().lower() for cell in row] != ["start", "kwh"]:
                raise DataError(
                    "the heading is not start,kwh",
                    path=path,
                    line=1,
                    hint="Two columns: start of the interval with its offset, energy in kWh. "
                    "Other formats: loadlib usage.",
                )
            continue
        if not any(cell.strip() for cell in row):
            continue
        if number > MOST_ROWS:
            raise DataError(f"more than {MOST_ROWS} rows", path=path)
        found.append(_row(row, path, number))
        if len(found) > 1 and found[-1][0] <= found[-2][0]:
            raise DataError(
                "start is not later than the one before",
                path=path,
                line=number,
                hint="Sort the rows; in autumn give each hour its own offset.",
            )
    return _series(found, path)


def _row(row: list[str], path: str, number: int) -> tuple[int, float]:
    try:
        start = datetime.fromisoformat(row[0].strip())
        kwh = float(row[1]) if row[1].strip() else math.nan
    except (ValueError, IndexError):
        raise DataError(
            f"not a start and kWh: {','.join(row)[:60]!r}", path=path, line=number
        ) from None
    if start.tzinfo is None:
        raise DataError(
            f"start {row[0].strip()!r} has no offset",
            path=path,
            line=number,
            hint="Write 2024-01-14T07:15-05:00.",
        )
    if math.isinf(kwh):
        raise DataError(f"{row[1]!r} kWh", path=path, line=number)
    return int(start.timestamp()), kwh


def _series(found: list[tuple[int, float]], path: str) -> Series:
    if len(found) < 2:
        raise DataError("fewer than two intervals", path=path)
    starts = np.array([start for start, _ in found], dtype=np.int64)
    step_s = int(np.diff(starts).min())
    places, rest = np.divmod(starts - starts[0], step_s)
    if rest.any():
        line = int(np.flatnonzero(rest)[0]) + 2
        raise DataError(f"start is not on a grid of {step_s} s", path=path, line=line)
    size = int(places[-1]) + 1
    if size > 2 * MOST_ROWS:
        raise DataError(f"a gap too long for {step_s} s intervals", path=path)
    mean_w = np.full(size, np.nan)
    mean_w[places] = np.array([kwh for _, kwh in found]) * 3_600_000.0 / step_s
    return Series(
        channel=path,
        place="whole",
        flow="import",
        start_s=int(starts[0]),
        step_s=step_s,
        mean_w=mean_w,
        source=path,
    )
