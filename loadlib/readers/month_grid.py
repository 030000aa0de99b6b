"""Energy of months in a grid: a row for each year and a column for each month, or across."""

from __future__ import annotations

import csv
import re
from typing import Final, NamedTuple

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import InputError
from loadlib.readers.bill_lines import IN_WH, BillLine, finish
from loadlib.readers.delimited.dates import MONTHS
from loadlib.readers.delimited.numbers import decimal_mark, parse_number
from loadlib.readers.delimited.roles import unit_in
from loadlib.readers.remarks import counted

__all__ = ["MonthGrid", "find_month_grid", "read_month_grid"]

_LOOK: Final = 400
_YEAR: Final = re.compile(r"19[89]\d|20\d\d")
_LIKELY: Final = re.compile(r"jun|6[,;\t|].{0,3}7[,;\t|].{0,3}8", re.I)
#: Of twelve headings in a row that many start as the English months do, in most languages.
_KNOWN_MONTHS: Final = 6


class MonthGrid(NamedTuple):
    """Cells of a grid as (line, year, month, text), and the text above them."""

    cells: tuple[tuple[int, int, int, str], ...]
    above: str


def find_month_grid(text: str) -> MonthGrid | None:
    """The grid in a text, or None."""
    lines = text.split("\n", _LOOK)[:_LOOK]
    if not any(map(_LIKELY.search, lines)):
        return None
    for delimiter in ",;\t|":
        try:
            rows = [
                [cell.strip() for cell in row] for row in csv.reader(lines, delimiter=delimiter)
            ]
        except csv.Error:
            continue
        for number, row in enumerate(rows):
            cells = _years_down(row, rows, number) or _years_across(row, rows, number)
            if cells:
                return MonthGrid(tuple(cells), "\n".join(lines[: number + 1]))
    return None


def _years_down(
    heading: list[str], rows: list[list[str]], at: int
) -> list[tuple[int, int, int, str]]:
    first = next((k for k in range(1, len(heading) - 11) if _are_months(heading[k : k + 12])), -1)
    found = []
    for number, row in enumerate(rows[at + 1 :], at + 2):
        if first > 0 and len(row) > first and (year := _year(row[first - 1])):
            months = [*row[first : first + 12], *[""] * 12][:12]
            found += [(number, year, month, cell) for month, cell in enumerate(months, 1)]
    return found


def _years_across(
    heading: list[str], rows: list[list[str]], at: int
) -> list[tuple[int, int, int, str]]:
    years = {index: year for index, cell in enumerate(heading) if (year := _year(cell))}
    below = [row for row in rows[at + 1 : at + 13] if row and row[0]]
    if not years or 0 in years or not _are_months([row[0] for row in below]):
        return []
    return [
        (at + 1 + month, year, month, row[index] if index < len(row) else "")
        for month, row in enumerate(below, 1)
        for index, year in years.items()
    ]


def _are_months(names: list[str]) -> bool:
    if len(names) != 12:
        return False
    if [name.lstrip("0") for name in names] == [str(month) for month in range(1, 13)]:
        return True
    words = all(name[:1].isalpha() for name in names)
    known = sum(MONTHS.get(n[:3].lower()) == month for month, n in enumerate(names, 1))
    return words and known >= _KNOWN_MONTHS


def _year(cell: str) -> int:
    return int(cell) if _YEAR.fullmatch(cell) else 0


def read_month_grid(grid: MonthGrid, options: ReadOptions, source: str) -> ReadResult:
    """The months of a grid as bills; blanks are left out and counted.

    Raises
    ------
    InputError
        naming the line of a cell that is no energy.
    """
    unit = options.unit or unit_in(grid.above)
    if (unit or "kWh").lower() not in IN_WH:
        raise InputError(f"the grid is in {unit}, not in energy", hint="State kWh.")
    notes = [] if unit else ["numbers taken as kWh: no unit"]
    decimal = decimal_mark([cell for *_, cell in grid.cells])
    lines = []
    blank = 0
    for number, year, month, cell in grid.cells:
        try:
            energy, _ = parse_number(cell, decimal)
        except InputError as wrong:
            raise InputError(f"line {number}: {wrong.message}", hint=wrong.hint) from None
        if energy != energy:
            blank += 1
            continue
        if energy < 0:
            raise InputError(f"line {number}: {cell} in a month: bills hold what was drawn")
        energy_wh = energy * IN_WH[(unit or "kWh").lower()]
        lines.append(BillLine(number, [], (year, month), energy_wh, None, estimated=False))
    if blank:
        notes.append(f"{counted(blank, 'month')} blank: left out")
    return finish(lines, options, source, notes)
