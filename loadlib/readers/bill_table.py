"""Tables of bills: periods, months, or read dates with the number of days before them."""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError, InputError
from loadlib.readers.bill_lines import IN_WH, MONTH, BillLine, finish, month_of
from loadlib.readers.delimited.dates import is_date, split_stamp
from loadlib.readers.delimited.numbers import parse_number
from loadlib.readers.delimited.roles import Column, Roles, find_roles, flow_named, unit_in
from loadlib.readers.delimited.table import Table
from loadlib.readers.delimited.words import OTHER_SERVICE
from loadlib.readers.remarks import counted

__all__ = ["is_bill_table", "read_bill_table"]

_ESTIMATED: Final = ("e", "est", "est.", "estimated", "estimate", "yes", "y", "true", "1")
_MOST_DAYS: Final = 400


def is_bill_table(table: Table, options: ReadOptions | None = None) -> bool:
    """Whether the columns of a table are those of bills."""
    try:
        roles = find_roles(table, options.columns if options else (), "")
    except (InputError, DataError):
        return False
    periods = roles.first_day >= 0 and roles.last_day >= 0
    months = roles.month >= 0 and any(MONTH.fullmatch(cell) for cell in table.column(roles.month))
    counted_back = roles.days >= 0 and _read_date(roles) >= 0 and roles.clock < 0
    return bool(roles.values) and (periods or months or counted_back or _is_monthly(table, roles))


def _is_monthly(table: Table, roles: Roles) -> bool:
    """Whether the dates are the names of months (2024-01, Jan 2024)."""
    if roles.time < 0:
        return False
    cells = table.column(roles.time)
    return bool(cells) and all(MONTH.fullmatch(c) and not is_date(c) for c in cells)


def _read_date(roles: Roles) -> int:
    """The column of the day up to which a bill counts, where its number of days is given."""
    return roles.last_day if roles.last_day >= 0 else roles.time


def read_bill_table(text: str, table: Table, path: Path, options: ReadOptions) -> ReadResult:
    """The bills of a table.

    Raises
    ------
    DataError
        naming the line that is no bill, the column that is no energy, or the meters of which
        one must be named.
    """
    roles = find_roles(table, options.columns, str(path))
    rows = _Rows(path, table, roles, _energy_column(roles, path), options)
    body = text.split("\n")[table.first_line - 1 :]
    reader = csv.reader(body, delimiter=table.delimiter)
    try:
        begin = table.first_line
        for row in reader:
            rows.take([cell.strip() for cell in row], begin)
            begin = table.first_line + reader.line_num
    except csv.Error as broken:
        raise DataError(str(broken), path=str(path), line=begin) from None
    rows.check_meters()
    return finish(rows.lines, options, str(path), rows.notes())


def _energy_column(roles: Roles, path: Path) -> Column:
    """What was drawn from the grid; else what a column without a flow says."""
    for flow in ("import", "net"):
        for column in roles.values:
            if column.flow == flow:
                return column
    named = ", ".join(repr(column.heading) for column in roles.values)
    raise DataError(
        f"no column of energy drawn from the grid: {named}",
        path=str(path),
        hint='Name it: columns import = "HEADING".',
    )


@dataclass(slots=True)
class _Rows:
    """Bills taken row by row, and what was left out."""

    path: Path
    table: Table
    roles: Roles
    column: Column
    options: ReadOptions
    lines: list[BillLine] = field(default_factory=list)
    meters: Counter[str] = field(default_factory=Counter)
    left_out: dict[str, list[str]] = field(default_factory=dict)
    unitless: bool = False

    def notes(self) -> list[str]:
        """What was assumed and left out."""
        told = [f"{self.column.heading!r} taken as kWh: no unit"] if self.unitless else []
        for why, where in self.left_out.items():
            told.append(f"{counted(len(where), 'line')} {why} left out: {'; '.join(where[:3])}")
        return told

    def check_meters(self) -> None:
        """DataError where bills are of several meters and none was asked for."""
        if len(self.meters) > 1 and not self.options.channel:
            raise DataError(
                f"bills of {len(self.meters)} meters: {', '.join(list(self.meters)[:8])}",
                path=str(self.path),
                hint="Name one as the channel (command line: --channel).",
            )
        if not self.lines and self.options.channel and self.roles.meter >= 0:
            raise DataError(f"no bills of channel {self.options.channel!r}", path=str(self.path))

    def take(self, row: list[str], number: int) -> None:
        """One row, stripped; DataError naming the line for a number that is none."""
        if not any(row):
            return
        row = [*row, *[""] * (self.table.width - len(row))]
        why = self._not_wanted(row)
        if why:
            self._leave_out(why, number, row)
            return
        period = self._period(row, number)
        if period is None:
            return
        energy, flag = self._number(row[self.column.index], number)
        if energy != energy:
            self._leave_out("without energy", number, row)
            return
        energy_wh = energy * self._scale(row)
        if energy_wh < 0:
            raise DataError(
                f"{energy:g} in a bill: fed in less drawn, or a correction",
                path=str(self.path),
                line=number,
                hint="Bills hold what was drawn from the grid: name that column, or leave it out.",
            )
        dates, month, days = period
        cost = _money(row[self.roles.cost], self.table.decimal) if self.roles.cost >= 0 else None
        quality = row[self.roles.quality].lower() if self.roles.quality >= 0 else ""
        estimated = quality in _ESTIMATED or flag.startswith("e")
        self.lines.append(BillLine(number, dates, month, energy_wh, cost, estimated, days))

    def _leave_out(self, why: str, number: int, row: list[str]) -> None:
        self.left_out.setdefault(why, []).append(f"line {number}: {', '.join(row)[:40]}")

    def _not_wanted(self, row: list[str]) -> str:
        """Why a row is no bill of the meter asked for; empty when it is one."""
        roles = self.roles
        if roles.service >= 0 and OTHER_SERVICE.search(row[roles.service].lower()):
            return "of another service"
        if roles.unit >= 0 and row[roles.unit] and unit_in(row[roles.unit]).lower() not in IN_WH:
            return "in another unit"
        if roles.flow >= 0 and flow_named(row[roles.flow]) == "export":
            return "of export"
        if roles.meter >= 0 and row[roles.meter]:
            if self.options.channel not in ("", row[roles.meter]):
                return "of another meter"
            self.meters[row[roles.meter]] += 1
        return ""

    def _scale(self, row: list[str]) -> float:
        in_row = unit_in(row[self.roles.unit]) if self.roles.unit >= 0 else ""
        unit = self.options.unit or self.column.unit or in_row
        self.unitless = self.unitless or not unit
        if (unit or "kWh").lower() not in IN_WH:
            raise DataError(
                f"{self.column.heading!r} is in {unit}, not in energy",
                path=str(self.path),
                hint="State kWh.",
            )
        return IN_WH[(unit or "kWh").lower()]

    def _period(
        self, row: list[str], number: int
    ) -> tuple[list[str], tuple[int, int] | None, int] | None:
        """Dates, month, and number of days before the date; None where a row has none."""
        roles = self.roles
        if roles.first_day >= 0 and roles.last_day >= 0:
            dates = [split_stamp(row[index])[0] for index in (roles.first_day, roles.last_day)]
            if all(map(is_date, dates)):
                return dates, None, 0
            self._leave_out("without two dates", number, row)
            return None
        if roles.days >= 0 and _read_date(roles) >= 0:
            read = split_stamp(row[_read_date(roles)])[0]
            if is_date(read):
                return [read], None, self._days(row[roles.days], number)
            self._leave_out("without a date", number, row)
            return None
        found = MONTH.fullmatch(row[roles.month if roles.month >= 0 else roles.time])
        if found is None:
            self._leave_out("without a month", number, row)
            return None
        return [], month_of(found), 0

    def _days(self, cell: str, number: int) -> int:
        days, _ = self._number(cell, number)
        if not (1 <= days <= _MOST_DAYS and days == int(days)):
            raise DataError(f"a bill of {cell or 'no'} days", path=str(self.path), line=number)
        return int(days)

    def _number(self, cell: str, number: int) -> tuple[float, str]:
        try:
            return parse_number(cell, self.table.decimal)
        except InputError as wrong:
            raise DataError(wrong.message, path=str(self.path), line=number) from None


def _money(cell: str, decimal: str) -> float | None:
    digits = re.sub(r"[^\d.,+-]", "", cell)
    if not digits:
        return None
    try:
        return parse_number(digits, decimal)[0]
    except InputError:
        return None
