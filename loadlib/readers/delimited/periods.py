"""Energies of days and of longer periods to billing periods."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loadlib.core.series import BillPeriod
from loadlib.errors import DataError
from loadlib.readers.grid import contradictory
from loadlib.readers.remarks import counted

__all__ = ["between_dials", "in_order", "last_day_counts", "of_days"]

_EPOCH = date(1970, 1, 1)

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


def of_days(days: Ints, energy_wh: Floats, source: str, notes: list[str]) -> list[BillPeriod]:
    """One period for each day since 1970 that has a number.

    The same number twice counts once; of a few days with two numbers the later stands.

    Raises
    ------
    DataError
        when many days hold several numbers: then they are parts of days, or of other meters.
    """
    found: dict[int, BillPeriod] = {}
    blank = again = 0
    differ: dict[int, None] = {}
    for day, energy in zip(days.tolist(), energy_wh.tolist(), strict=True):
        if np.isnan(energy):
            blank += 1
            continue
        if day in found:
            again += 1
            if energy != found[day].energy_wh:
                differ[day] = None
        found[day] = BillPeriod(_day(day), _day(day + 1), energy, source=source)
    if contradictory(len(differ), len(found)):
        raise DataError(
            f"{len(differ)} of {len(found)} days hold several numbers, the first "
            f"{_day(next(iter(differ)))}",
            path=source,
            hint="Name the column with the time of day (clock), or the one that tells several "
            "meters apart (meter).",
        )
    if blank:
        notes.append(f"{counted(blank, 'day')} without a number: left out")
    if again:
        told = f"{counted(again, 'day')} stood twice: counted once"
        if differ:
            told += f"; {len(differ)} of them with two numbers, the later in the file stands"
        notes.append(told)
    missing = max(found) - min(found) + 1 - len(found) if found else 0
    if missing:
        notes.append(f"{counted(missing, 'day')} missing between the first and the last")
    return [found[day] for day in sorted(found)]


def between_dials(days: Ints, dial_wh: Floats, source: str, notes: list[str]) -> list[BillPeriod]:
    """Energy between readings of a dial at the days since 1970; a dial that fell is left out."""
    order = np.argsort(days, kind="stable")
    readings = [
        (day, dial)
        for day, dial in zip(days[order].tolist(), dial_wh[order].tolist(), strict=True)
        if not np.isnan(dial)
    ]
    periods = []
    fell = []
    for (day, dial), (next_day, next_dial) in pairwise(readings):
        if next_day == day:
            continue
        if next_dial < dial:
            fell.append(_day(next_day).isoformat())
        else:
            periods.append(BillPeriod(_day(day), _day(next_day), next_dial - dial, source=source))
    if fell:
        notes.append(
            f"register went back {counted(len(fell), 'time')} (reset, new meter or roll-over), "
            f"at {', '.join(fell[:3])}: the energy meanwhile is left out"
        )
    return periods


def last_day_counts(periods: Sequence[tuple[date, date]]) -> tuple[bool, str]:
    """Whether the last day that a bill names belongs to it, by how periods follow on another.

    Where nothing shows it the last day is the day of the next reading, so it does not count.
    """
    ordered = sorted(periods)
    gaps = [(later[0] - earlier[1]).days for earlier, later in pairwise(ordered)]
    inclusive, exclusive = gaps.count(1), gaps.count(0)
    if inclusive > exclusive:
        return True, "the last day of a period counts: the next period starts a day later"
    if exclusive:
        return False, "the last day of a period is the first of the next: it counts there"
    return False, "the last day of a period is taken as the day of the reading: not counted"


def in_order(periods: Sequence[BillPeriod], notes: list[str]) -> list[BillPeriod]:
    """Periods by their first day, with overlaps and gaps counted."""
    ordered = sorted(periods, key=lambda period: (period.first_day, period.day_after))
    over = [b.first_day for a, b in pairwise(ordered) if b.first_day < a.day_after]
    gaps = [b.first_day for a, b in pairwise(ordered) if b.first_day > a.day_after]
    if over:
        notes.append(
            f"{counted(len(over), 'period')} overlapping the one before, "
            f"first at {over[0].isoformat()}"
        )
    if gaps:
        notes.append(f"{counted(len(gaps), 'gap')} between periods, before {gaps[0].isoformat()}")
    return ordered


def _day(number: int) -> date:
    return _EPOCH + timedelta(days=number)
