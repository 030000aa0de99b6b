"""Bills: a small table of periods, months with their energy, or lines as a person types them."""

from __future__ import annotations

import csv
import re
from calendar import monthrange
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Final

from loadlib.core.series import BillPeriod, ReadOptions, ReadResult
from loadlib.errors import DataError, InputError
from loadlib.readers.delimited.dates import (
    MONTHS,
    AmbiguousOrder,
    day_number,
    decide_order,
    is_date,
    split_stamp,
)
from loadlib.readers.delimited.numbers import decimal_mark, parse_number
from loadlib.readers.delimited.periods import in_order, last_day_counts
from loadlib.readers.delimited.roles import Roles, find_roles
from loadlib.readers.delimited.table import Table, find_table
from loadlib.readers.delimited.text import chunks_of_lines, decode_head, encoding_of
from loadlib.readers.limits import LIMITS, Limits
from loadlib.readers.remarks import counted

__all__ = ["BillsReader", "parse_bills"]

_EPOCH: Final = date(1970, 1, 1)
_MOST_ROWS: Final = 20_000
_MONTH_NAMES: Final = tuple(MONTHS)
_NAME: Final = rf"(?:{'|'.join(_MONTH_NAMES)})[a-z]*\.?"
_DATE: Final = re.compile(
    rf"\d{{4}}-\d{{1,2}}-\d{{1,2}}|\d{{1,2}}[./-]\d{{1,2}}[./-]\d{{2,4}}|"
    rf"\d{{1,2}}\s+{_NAME},?\s+\d{{4}}|{_NAME}\s+\d{{1,2}},?\s+\d{{4}}",
    re.I,
)
_MONTH: Final = re.compile(
    rf"({_NAME})\s*-?\s*(\d{{4}})|(\d{{4}})[-/](\d{{1,2}})(?!\d)|(\d{{1,2}})/(\d{{4}})", re.I
)
_ENERGY: Final = re.compile(r"(-?\d[\d.,' ]*)\s*(mwh|kwh|wh)\b", re.I)
_COST: Final = re.compile(
    r"[$€£]\s*(-?\d[\d.,]*)|(-?\d[\d.,]*)\s*(?:[$€£]|(?:usd|cad|eur|gbp|chf)\b)", re.I
)
_PLAIN: Final = re.compile(r"(?<![\w.,])-?\d+(?:[.,]\d+)*(?![\w])")
_ESTIMATED: Final = re.compile(r"\best(imated?)?\b|\(e\)|\be$", re.I)
_IN_WH: Final = {"wh": 1.0, "kwh": 1e3, "mwh": 1e6}
_MOST_WH_PER_DAY: Final = 1e7
_QUARTER_DAYS: Final = 100


@dataclass(slots=True)
class _Line:
    """One bill before the order of dates and the meaning of last days are decided."""

    number: int
    dates: list[str]
    month: tuple[int, int] | None
    energy_wh: float
    cost: float | None
    estimated: bool


@dataclass(slots=True)
class BillsReader:
    """Bills: first day, last day, kWh, cost, estimated; months; or typed lines."""

    name: str = "bills"
    summary: str = "bills: periods or months with their energy"
    limits: Limits = field(default=LIMITS)

    def recognises(self, head: bytes, filename: str) -> float:
        """Sure when a table has periods or months, fairly when each line is a bill."""
        text = decode_head(head)
        table = find_table(text)
        if table is not None and _is_bill_table(table):
            return 0.9
        return 0.8 if _all_typed(text) else 0.0

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        """Read it whole, or raise DataError naming the line."""
        with path.open("rb") as stream:
            head = stream.read(1 << 16)
        text = "".join(
            piece for _, piece, _ in chunks_of_lines(path, encoding_of(head), self.limits)
        )
        if text.count("\n") > _MOST_ROWS:
            raise DataError(f"more than {_MOST_ROWS} lines of bills", path=str(path))
        table = find_table(text)
        try:
            if table is not None and not _all_typed(text):
                return _read_table(text, table, path, options)
            return _finish(_typed(text), options, str(path), [])
        except InputError as wrong:
            raise DataError(wrong.message, path=str(path), hint=wrong.hint) from None


def parse_bills(text: str, *, day_first: bool | None = None, source: str = "typed") -> ReadResult:
    """Bills as a person types them, one a line.

    ``2024-01-03 to 2024-02-02 612 kWh $84.12 estimated`` or ``Jan 2024 900``. A number without
    a unit is kWh; a number with a currency is the cost and never energy. Empty lines and lines
    that start with ``#`` are passed over.

    Raises
    ------
    InputError
        naming the line that is no bill.
    """
    return _finish(_typed(text), ReadOptions(day_first=day_first), source, [])


# -- typed lines


def _all_typed(text: str) -> bool:
    """Whether every line that is not blank or a comment is a bill as people type it."""
    lines = [line for line in text.split("\n") if line.strip() and not line.startswith("#")]
    return 0 < len(lines) <= _MOST_ROWS and all(map(_looks_like_bill, lines))


def _looks_like_bill(line: str) -> bool:
    try:
        _bill_of(line, 1)
    except InputError:
        return False
    return True


def _typed(text: str) -> list[_Line]:
    lines = []
    for number, line in enumerate(text.split("\n"), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            lines.append(_bill_of(line, number))
    return lines


def _bill_of(line: str, number: int) -> _Line:
    where = f"line {number}: "
    dates = _DATE.findall(line)
    rest = _DATE.sub(" ", line)
    month = None
    if not dates:
        found = _MONTH.search(rest)
        if found is None:
            raise InputError(f"{where}no period in {line.strip()[:60]!r}", hint=_EXAMPLE)
        month, rest = _month(found), rest[: found.start()] + " " + rest[found.end() :]
    elif len(dates) != 2:
        raise InputError(f"{where}one date, where a period needs two", hint=_EXAMPLE)
    energy = _ENERGY.search(rest)
    rest = _ENERGY.sub(" ", rest, count=1)
    cost = _COST.search(rest)
    rest = _COST.sub(" ", rest, count=1)
    if energy is not None:
        energy_wh = _typed_number(energy[1]) * _IN_WH[energy[2].lower()]
    else:
        plain = _PLAIN.findall(rest)
        if len(plain) != 1:
            raise InputError(f"{where}which number is the energy?", hint=_EXAMPLE)
        energy_wh = _typed_number(plain[0]) * 1000.0
    return _Line(
        number,
        dates,
        month,
        energy_wh,
        _typed_number(cost[1] or cost[2]) if cost else None,
        _ESTIMATED.search(rest) is not None,
    )


_EXAMPLE: Final = "Write for example: 2024-01-03 to 2024-02-02 612 kWh $84.12"


def _typed_number(text: str) -> float:
    text = text.strip()
    return parse_number(text, decimal_mark([text]))[0]


def _month(found: re.Match[str]) -> tuple[int, int]:
    name, year, iso_year, iso_month, month, month_year = found.groups()
    if name:
        return int(year), _MONTH_NAMES.index(name[:3].lower()) + 1
    number = int(iso_month or month)
    if not 1 <= number <= 12:
        raise InputError(f"there is no month {found[0]!r}")
    return int(iso_year or month_year), number


# -- tables


def _is_bill_table(table: Table, options: ReadOptions | None = None) -> bool:
    try:
        roles = find_roles(table, options.columns if options else (), "")
    except (InputError, DataError):
        return False
    periods = roles.first_day >= 0 and roles.last_day >= 0
    months = roles.month >= 0 and any(_MONTH.fullmatch(cell) for cell in table.column(roles.month))
    return bool(roles.values) and (periods or months or _is_monthly(table, roles))


def _is_monthly(table: Table, roles: Roles) -> bool:
    """Whether the dates are the names of months (2024-01, Jan 2024)."""
    if roles.time < 0:
        return False
    cells = table.column(roles.time)
    return bool(cells) and all(_MONTH.fullmatch(c) and not is_date(c) for c in cells)


def _read_table(text: str, table: Table, path: Path, options: ReadOptions) -> ReadResult:
    roles = find_roles(table, options.columns, str(path))
    column = roles.values[0]
    unit = (options.unit or column.unit or "kWh").lower()
    if unit not in _IN_WH:
        raise DataError(
            f"{column.heading!r} is in {unit}, not in energy", path=str(path), hint="State kWh."
        )
    notes = [] if options.unit or column.unit else [f"{column.heading!r} taken as kWh: no unit"]
    lines = []
    body = text.split("\n")[table.first_line - 1 :]
    for offset, row in enumerate(csv.reader(body, delimiter=table.delimiter)):
        bill = _bill_row(row, table.first_line + offset, table, roles, _IN_WH[unit], path, notes)
        if bill is not None:
            lines.append(bill)
    return _finish(lines, options, str(path), notes)


def _bill_row(
    row: list[str],
    number: int,
    table: Table,
    roles: Roles,
    scale: float,
    path: Path,
    notes: list[str],
) -> _Line | None:
    if not any(cell.strip() for cell in row):
        return None
    row = [cell.strip() for cell in [*row, *[""] * table.width]]
    month_at = roles.month if roles.month >= 0 else roles.time
    dates: list[str] = []
    month = None
    if roles.first_day >= 0:
        dates = [split_stamp(row[index])[0] for index in (roles.first_day, roles.last_day)]
        if not all(is_date(cell) for cell in dates):
            notes.append(f"line {number} without two dates left out: {', '.join(row)[:40]}")
            return None
    else:
        found = _MONTH.fullmatch(row[month_at])
        if found is None:
            notes.append(f"line {number} without a month left out: {', '.join(row)[:40]}")
            return None
        month = _month(found)
    energy, flag = _cell(row[roles.values[0].index], table.decimal, path, number)
    if energy != energy:
        notes.append(f"line {number} without energy left out")
        return None
    cost = _money(row[roles.cost], table.decimal) if roles.cost >= 0 else None
    estimated = roles.quality >= 0 and _is_estimated(row[roles.quality])
    return _Line(number, dates, month, energy * scale, cost, estimated or flag.startswith("e"))


def _cell(cell: str, decimal: str, path: Path, number: int) -> tuple[float, str]:
    try:
        return parse_number(cell, decimal)
    except InputError as wrong:
        raise DataError(wrong.message, path=str(path), line=number) from None


def _money(cell: str, decimal: str) -> float | None:
    digits = re.sub(r"[^\d.,+-]", "", cell)
    if not digits:
        return None
    try:
        return parse_number(digits, decimal)[0]
    except InputError:
        return None


def _is_estimated(cell: str) -> bool:
    return cell.lower() in ("e", "est", "est.", "estimated", "estimate", "yes", "y", "true", "1")


# -- both


def _finish(lines: list[_Line], options: ReadOptions, source: str, notes: list[str]) -> ReadResult:
    if not lines:
        raise InputError("no bills", hint=_EXAMPLE)
    order, told = _order(lines, options.day_first)
    if told:
        notes.append(told)
    stated = [_days(line, order) for line in lines if line.dates]
    counts, remark = last_day_counts(stated) if stated else (False, "")
    if remark:
        notes.append(remark)
    bills = [_period(line, order, counts, source) for line in lines]
    estimated = sum(bill.estimated for bill in bills)
    if estimated:
        notes.append(f"{counted(estimated, 'bill')} estimated")
    return ReadResult(bills=tuple(in_order(bills, notes)), notes=tuple(notes))


def _order(lines: list[_Line], stated: bool | None) -> tuple[bool, str]:
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


def _can_be(lines: list[_Line], day_first: bool) -> bool:
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


def _days(line: _Line, day_first: bool) -> tuple[date, date]:
    first, last = (
        _EPOCH + timedelta(days=day_number(text, day_first=day_first)) for text in line.dates
    )
    return first, last


def _period(line: _Line, day_first: bool, last_counts: bool, source: str) -> BillPeriod:
    if line.month is not None:
        year, month = line.month
        first = date(year, month, 1)
        after = first + timedelta(days=monthrange(year, month)[1])
    else:
        first, last = _days(line, day_first)
        after = last + timedelta(days=1) if last_counts else last
    days = (after - first).days
    if days <= 0:
        raise InputError(f"line {line.number}: the period ends before it starts")
    if abs(line.energy_wh) > days * _MOST_WH_PER_DAY:
        raise InputError(
            f"line {line.number}: {line.energy_wh / 1000:.6g} kWh in {days} days is no house"
        )
    return replace(
        BillPeriod(first, after, line.energy_wh, source=source),
        cost=line.cost,
        estimated=line.estimated,
    )
