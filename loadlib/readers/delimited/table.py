"""Where the table stands in a text: delimiter, decimal mark, headings, first row of data."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from loadlib.errors import InputError
from loadlib.readers.delimited.dates import clock_seconds, is_date, split_stamp
from loadlib.readers.delimited.numbers import BLANKS, decimal_mark, is_number

__all__ = ["Table", "find_table", "is_epoch"]

_DELIMITERS: Final = (",", ";", "\t", "|")
_LOOK: Final = 400
_MONTH: Final = re.compile(
    r"(?:\d{4}[-/.]\d{1,2}|\d{1,2}/\d{4}|[a-z]{3,9}\.?[\s-]+(?:\d{4}|\d{2}))", re.I
)
_EPOCH_S: Final = re.compile(r"[1-4]\d{9}(?:\d{3})?(?:\.0+)?")
_UNIT_ROW: Final = re.compile(r"[\[(]?(?:k?wh?|[a-z$€£°%]{1,3}|)[\])]?", re.I)


@dataclass(frozen=True, slots=True)
class Table:
    """Shape of a delimited text.

    ``first_line`` is the line of the first row of data, counted from 1; ``preamble`` holds the
    lines above the headings; ``sample`` the first rows of data.
    """

    delimiter: str
    decimal: str
    headings: tuple[str, ...]
    first_line: int
    preamble: str
    sample: tuple[tuple[str, ...], ...]

    @property
    def width(self) -> int:
        """Number of columns."""
        return len(self.headings)

    def column(self, index: int) -> list[str]:
        """Cells of one column in the sample."""
        return [row[index] for row in self.sample]


@dataclass(slots=True)
class _Found:
    delimiter: str
    rows: list[list[str]]
    lines: list[int]
    first: int
    count: int


def is_epoch(text: str) -> bool:
    """Whether a cell is a moment in epoch seconds or milliseconds."""
    return _EPOCH_S.fullmatch(text.strip()) is not None


@lru_cache(maxsize=4)
def find_table(head: str) -> Table | None:
    """The table in the first part of a text, or None when there is none."""
    lines = head.split("\n")[:_LOOK]
    found = [_with_delimiter(lines, delimiter) for delimiter in _DELIMITERS]
    best = max((f for f in found if f is not None), key=_rank, default=None)
    if best is None:
        return None
    width = len(best.rows[best.first])
    sample = tuple(
        tuple(row) for row in best.rows[best.first :] if len(row) == width and _is_data(row)
    )
    headings, top = _headings(best, width)
    return Table(
        best.delimiter,
        decimal_mark([cell for row in sample for cell in row])
        if best.delimiter != ","
        else _decimal_in_quotes(sample),
        headings,
        best.lines[best.first],
        "\n".join(lines[:top]),
        sample,
    )


def _decimal_in_quotes(sample: tuple[tuple[str, ...], ...]) -> str:
    """With commas between cells a decimal comma needs quotes: then a cell holds a comma."""
    return decimal_mark([cell for row in sample for cell in row if "," in cell])


def _rank(found: _Found) -> tuple[int, int]:
    return found.count, len(found.rows[found.first])


def _with_delimiter(lines: list[str], delimiter: str) -> _Found | None:
    rows: list[list[str]] = []
    numbers: list[int] = []
    reader = csv.reader((line + "\n" for line in lines), delimiter=delimiter)
    begin = 1
    try:
        for row in reader:
            rows.append([cell.strip() for cell in row])
            numbers.append(begin)
            begin = reader.line_num + 1
    except csv.Error:
        return None
    data = [index for index, row in enumerate(rows) if _is_data(row)]
    for index in data:
        width = len(rows[index])
        count = sum(1 for other in data if other >= index and len(rows[other]) == width)
        if count * 2 >= sum(1 for other in data if other >= index):
            return _Found(delimiter, rows, numbers, index, count)
    return None


def _is_data(row: list[str] | tuple[str, ...]) -> bool:
    """A date, month or moment in one cell, and a number in another."""
    for index, cell in enumerate(row[:10]):
        if _is_when(cell):
            rest = [*row[:index], *row[index + 1 :]]
            return any(is_number(other) for other in rest) or (
                len(rest) > 0 and all(other.lower() in BLANKS for other in rest)
            )
    return False


def _is_when(cell: str) -> bool:
    if not cell or (not cell[-1].isalnum() and cell[-1] not in ".)"):
        return False
    return is_epoch(cell) or _is_stamp(cell) or _MONTH.fullmatch(cell) is not None


def _is_stamp(cell: str) -> bool:
    """A date, and where more follows a time of day: not 12:00;0, a cell cut at a wrong mark."""
    day, clock, _ = split_stamp(cell)
    if not is_date(day):
        return False
    try:
        return not clock or clock_seconds(clock) >= 0
    except InputError:
        return False


def _headings(found: _Found, width: int) -> tuple[tuple[str, ...], int]:
    """Headings, and how many lines stand above them."""
    above = found.first - 1
    while above >= 0 and not any(found.rows[above]):
        above -= 1
    if above < 0:
        return _nameless(width), found.lines[found.first] - 1
    names = _padded(found.rows[above], width)
    if above > 0 and all(_UNIT_ROW.fullmatch(cell) for cell in names):
        higher = _padded(found.rows[above - 1], width)
        if any(higher):
            names = [f"{name} {unit}".strip() for name, unit in zip(higher, names, strict=True)]
            above -= 1
    if sum(1 for name in names if name) < min(2, width):
        return _nameless(width), found.lines[found.first] - 1
    named = tuple(name or f"column {index + 1}" for index, name in enumerate(names))
    return named, found.lines[above] - 1


def _nameless(width: int) -> tuple[str, ...]:
    return tuple(f"column {index + 1}" for index in range(width))


def _padded(row: list[str], width: int) -> list[str]:
    return [*row, *[""] * width][:width]
