"""Bills before the order of dates is decided, and the way from them to billing periods."""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from loadlib.core.series import BillPeriod, ReadOptions, ReadResult
from loadlib.errors import InputError
from loadlib.readers.delimited.dates import MONTHS, day_number, decide_order
from loadlib.readers.delimited.periods import in_order, last_day_counts
from loadlib.readers.limits import MOST_WH_PER_DAY
from loadlib.readers.remarks import counted
from loadlib.readers.unsure import AmbiguousOrder

__all__ = ["EXAMPLE", "IN_WH", "MONTH", "NAME", "BillLine", "finish", "month_of"]

EXAMPLE: Final = "Write for example: 2024-01-03 to 2024-02-02 612 kWh $84.12"
IN_WH: Final = {"wh": 1.0, "kwh": 1e3, "mwh": 1e6}
_NAMES: Final = tuple(MONTHS)
NAME: Final = rf"(?:{'|'.join(_NAMES)})[a-z]*\.?"
"""Pattern of a month's name."""
MONTH: Final = re.compile(
    rf"({NAME})(?:\s*-?\s*|['’])(\d{{4}}|(?<=[-'’])\d{{2}})(?!\d)|(\d{{4}})[-/](\d{{1,2}})(?!\d)|(\d{{1,2}})/(\d{{4}})",
    re.I,
)
_EPOCH: Final = date(1970, 1, 1)
_QUARTER_DAYS: Final = 100


@dataclass(slots=True)
class BillLine:
    """One bill before the order of dates and the meaning of last days are decided.

    ``dates`` are the first and the last day, or the last alone with ``days`` before it; or it
    is a ``month``.
    """

    number: int
    dates: list[str]
    month: tuple[int, int] | None
    energy_wh: float
    cost: float | None
    estimated: bool
    days: int = 0


def month_of(found: re.Match[str]) -> tuple[int, int]:
    """Year and month that ``MONTH`` found."""
    name, year, iso_year, iso_month, month, month_year = found.groups()
    if name:
        return int(year) + (2000 if len(year) == 2 else 0), _NAMES.index(name[:3].lower()) + 1
    number = int(iso_month or month)
    if not 1 <= number <= 12:
        raise InputError(f"there is no month {found[0]!r}")
    return int(iso_year or month_year), number


def finish(
    lines: list[BillLine], options: ReadOptions, source: str, notes: list[str]
) -> ReadResult:
    """Periods with their dates decided, in order, and what was decided in the notes.

    Raises
    ------
    InputError
        no bills, an order of dates that can't be told, or a period that can't be.
    """
    if not lines:
        raise InputError("no bills", hint=EXAMPLE)
    order, told = _order(lines, options.day_first)
    if told:
        notes.append(told)
    stated = [_days(line, order) for line in lines if len(line.dates) == 2]
    counts, remark = last_day_counts(stated) if stated else (False, "")
    if remark:
        notes.append(remark)
    if any(line.days for line in lines):
        notes.append("a period is the number of days before its date")
    bills = [_period(line, order, counts, source) for line in lines]
    estimated = sum(bill.estimated for bill in bills)
    if estimated:
        notes.append(f"{counted(estimated, 'bill')} estimated")
    return ReadResult(bills=tuple(in_order(bills, notes)), notes=tuple(notes))


def _order(lines: list[BillLine], stated: bool | None) -> tuple[bool, str]:
    """Day or month first: by the dates, else the only order in which every period can be."""
    try:
        texts = (text for line in lines for text in line.dates)
        return decide_order(texts, stated, daily=False)
    except AmbiguousOrder:
        possible = [order for order in (True, False) if _can_be(lines, order)]
        if len(possible) != 1:
            raise
        word = "day" if possible[0] else "month"
        return possible[0], f"dates are {word} first: only so does every period make sense"


def _can_be(lines: list[BillLine], day_first: bool) -> bool:
    """Whether all periods run forwards, for no more than a quarter, and follow one another."""
    try:
        periods = sorted(_days(line, day_first) for line in lines if line.dates)
    except InputError:
        return False
    lengths = [(last - first).days for first, last in periods]
    gaps = [(later[0] - earlier[1]).days for earlier, later in pairwise(periods)]
    return all(0 <= days <= _QUARTER_DAYS for days in lengths) and all(
        0 <= gap <= 1 for gap in gaps
    )


def _days(line: BillLine, day_first: bool) -> tuple[date, date]:
    days = [_EPOCH + timedelta(days=day_number(t, day_first=day_first)) for t in line.dates]
    return (days[-1] - timedelta(days=line.days), days[-1]) if line.days else (days[0], days[-1])


def _period(line: BillLine, day_first: bool, last_counts: bool, source: str) -> BillPeriod:
    if line.month is not None:
        year, month = line.month
        first = date(year, month, 1)
        after = first + timedelta(days=monthrange(year, month)[1])
    else:
        first, last = _days(line, day_first)
        after = last + timedelta(days=1) if last_counts and not line.days else last
    days = (after - first).days
    if days <= 0:
        raise InputError(f"line {line.number}: the period ends before it starts")
    if abs(line.energy_wh) > days * MOST_WH_PER_DAY:
        raise InputError(
            f"line {line.number}: {line.energy_wh / 1000:.6g} kWh in {days} days is no house"
        )
    return replace(
        BillPeriod(first, after, line.energy_wh, source=source),
        cost=line.cost,
        estimated=line.estimated,
    )
