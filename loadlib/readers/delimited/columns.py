"""The needed columns of a delimited text as arrays, a few million characters at a time.

A piece whose rows are all plain is cut at its delimiters and converted whole; a piece with
quotes, blanks, totals or footers is read row by row, with the same result.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError, InputError
from loadlib.readers.delimited.numbers import parse_number
from loadlib.readers.delimited.quick import PlainTable
from loadlib.readers.delimited.stamps import Stamps, Words
from loadlib.readers.delimited.table import Table
from loadlib.readers.delimited.text import chunks_of_lines
from loadlib.readers.limits import LIMITS, Limits
from loadlib.readers.remarks import counted

__all__ = ["Cells", "Wanted", "cell_pieces", "read_cells"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_TOTALS: Final = ("total", "sum", "average", "mean", "subtotal", "gesamt", "summe", "grand")
_SHOWN: Final = 3
_ODD_ROWS: Final = 20


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which columns are read: stamps, clock (-1 when none), values, repeating texts."""

    time: int
    clock: int
    values: tuple[int, ...]
    words: tuple[int, ...] = ()


@dataclass(slots=True, eq=False)
class Cells:
    """Columns of a file, all with one entry a row of data.

    ``flags`` counts what stood behind numbers (an E, a star); ``notes`` says what was left
    out; ``lines`` where the rows stand in the file.
    """

    stamps: Stamps
    values: dict[int, list[Floats]]
    words: dict[int, Words]
    flags: Counter[str] = field(default_factory=Counter)
    totals: int = 0
    headings: int = 0
    odd: list[str] = field(default_factory=list)
    rows: int = 0
    lines: list[range | Ints] = field(default_factory=list)

    def value(self, index: int) -> Floats:
        """Numbers of one column, shape (n,), NaN for blanks."""
        return np.concatenate([np.empty(0), *self.values[index]])

    def took(self, lines: range | Ints) -> None:
        """Count rows that were appended, by their lines in the file."""
        self.rows += len(lines)
        self.lines.append(lines)

    def line(self) -> Ints:
        """Number of each row's line in the file, shape (n,)."""
        parts = [
            np.arange(one.start, one.stop) if isinstance(one, range) else one for one in self.lines
        ]
        return np.concatenate([np.empty(0, np.int64), *parts])

    def notes(self) -> list[str]:
        """What was left out or flagged, in words."""
        told = []
        if self.totals:
            told.append(f"{counted(self.totals, 'row')} of totals left out")
        if self.headings:
            told.append(f"headings stood {counted(self.headings, 'time')} more: left out")
        if self.odd:
            told.append(
                f"{counted(len(self.odd), 'row')} without a date left out: "
                + "; ".join(self.odd[:_SHOWN])
            )
        told += [
            f"{counted(count, 'number')} with the flag {flag!r}"
            for flag, count in sorted(self.flags.items())
        ]
        return told


def read_cells(
    path: Path,
    encoding: str,
    table: Table,
    wanted: Wanted,
    *,
    limits: Limits = LIMITS,
    progress: Callable[[float], None] | None = None,
) -> Cells:
    """Read the wanted columns of all rows.

    Raises
    ------
    DataError
        naming the line that can't be understood.
    """
    cells = _no_cells(table, wanted)
    for line, text, share in _bodies(path, encoding, table, limits):
        _take(text, line, table, wanted, cells, path)
        _refuse_more(cells.rows, path, limits)
        if progress is not None:
            progress(share)
    return cells


def cell_pieces(
    path: Path, encoding: str, table: Table, wanted: Wanted, limits: Limits = LIMITS
) -> Iterator[tuple[Cells, float]]:
    """``read_cells`` a stretch of the file at a time, and the share of it that was read.

    What was left out or flagged is counted through from stretch to stretch.

    Raises
    ------
    DataError
        as ``read_cells``, when the stretch is reached.
    """
    rows = 0
    told = _no_cells(table, wanted)
    for line, text, share in _bodies(path, encoding, table, limits):
        cells = _no_cells(table, wanted)
        cells.flags, cells.odd = told.flags, told.odd
        cells.totals, cells.headings = told.totals, told.headings
        _take(text, line, table, wanted, cells, path)
        told = cells
        rows += cells.rows
        _refuse_more(rows, path, limits)
        yield cells, share


def _no_cells(table: Table, wanted: Wanted) -> Cells:
    sample = [cell for cell in table.column(wanted.time) if cell]
    return Cells(
        Stamps(sample, separate=wanted.clock >= 0),
        {index: [] for index in wanted.values},
        {index: Words() for index in wanted.words},
    )


def _bodies(
    path: Path, encoding: str, table: Table, limits: Limits
) -> Iterator[tuple[int, str, float]]:
    """Pieces of the file below its headings: line, text, share of the file so far."""
    for first_line, text, share in chunks_of_lines(path, encoding, limits):
        skip = max(table.first_line - first_line, 0)
        yield first_line + skip, _without_lines(text, skip) if skip else text, share


def _take(text: str, line: int, table: Table, wanted: Wanted, cells: Cells, path: Path) -> None:
    if text and not _take_plain(text, line, table, wanted, cells):
        _take_rows(text, line, table, wanted, cells, path)


def _refuse_more(rows: int, path: Path, limits: Limits) -> None:
    if rows > limits.readings:
        raise DataError(f"more than {limits.readings} rows", path=str(path), hint="Split it.")


def _without_lines(text: str, count: int) -> str:
    at = 0
    for _ in range(count):
        at = text.find("\n", at) + 1
        if at == 0:
            return ""
    return text[at:]


def _take_plain(text: str, line: int, table: Table, wanted: Wanted, cells: Cells) -> bool:
    """Take a piece in which every row has every cell and every number is a plain number."""
    delimiter, width = table.delimiter, table.width
    text = text.removesuffix("\n")
    rows = text.count("\n") + 1
    if '"' in text:
        text = text.replace('"', "")
    if cells.stamps.is_plain and table.decimal == "." and not wanted.words:
        plain = PlainTable.of(text, delimiter, width)
        if plain is not None and _take_quick(plain, wanted, cells):
            cells.took(range(line, line + rows))
            return True
    if text.count(delimiter) != rows * (width - 1):
        return False
    flat = text.replace("\n", delimiter).split(delimiter)
    try:
        numbers = {index: _numbers(flat[index::width], table.decimal) for index in wanted.values}
        clocks = flat[wanted.clock :: width] if wanted.clock >= 0 else ()
        cells.stamps.take(flat[wanted.time :: width], clocks)
    except (InputError, ValueError):
        return False
    for index, part in numbers.items():
        cells.values[index].append(part)
    for index, words in cells.words.items():
        words.take(flat[index::width])
    cells.took(range(line, line + rows))
    return True


def _take_quick(plain: PlainTable, wanted: Wanted, cells: Cells) -> bool:
    numbers = {}
    for index in wanted.values:
        column = plain.numbers(index)
        if column is None:
            return False
        numbers[index] = column
    if not cells.stamps.take_plain(plain, wanted.time):
        return False
    for index, part in numbers.items():
        cells.values[index].append(part)
    return True


def _numbers(column: list[str], decimal: str) -> Floats:
    if decimal == ",":
        column = "\n".join(column).replace(",", ".").split("\n")
    numbers = np.array(column, dtype=np.float64)
    if not np.isfinite(numbers).all():
        raise InputError("a number is missing")
    return numbers


def _take_rows(
    text: str, line: int, table: Table, wanted: Wanted, cells: Cells, path: Path
) -> None:
    """Take a piece row by row, leaving out and counting what is no data."""
    reader = csv.reader(text.splitlines(keepends=True), delimiter=table.delimiter)
    kept: list[list[str]] = []
    lines: list[int] = []
    at = line
    try:
        for row in reader:
            row = [cell.strip() for cell in row]
            if _is_data(row, table, wanted, cells, at, path):
                kept.append([*row, *[""] * (table.width - len(row))])
                lines.append(at)
            at = line + reader.line_num
    except csv.Error as broken:
        raise DataError(str(broken), path=str(path), line=at) from None
    _append_rows(kept, lines, table, wanted, cells, path)


def _is_data(
    row: list[str], table: Table, wanted: Wanted, cells: Cells, line: int, path: Path
) -> bool:
    if not any(row):
        return False
    stamp = row[wanted.time] if wanted.time < len(row) else ""
    if stamp and cells.stamps.accepts(stamp):
        if any(row[table.width :]):
            raise DataError(
                f"{len(row)} cells, not {table.width} as in the other rows",
                path=str(path),
                line=line,
                hint="A cell that holds the delimiter must stand in quotes.",
            )
        return True
    if any(cell.lower().startswith(_TOTALS) for cell in row):
        cells.totals += 1
    elif [cell.lower() for cell in row[:3]] == [name.lower() for name in table.headings[:3]]:
        cells.headings += 1
    else:
        cells.odd.append(f"line {line}: {table.delimiter.join(row)[:50]}")
        if len(cells.odd) > _ODD_ROWS:
            raise DataError(
                f"{len(cells.odd)} rows without a date, the last {row[0][:40]!r}",
                path=str(path),
                line=line,
                hint="Remove what is no data, or name the columns.",
            )
    return False


def _append_rows(
    rows: list[list[str]],
    lines: list[int],
    table: Table,
    wanted: Wanted,
    cells: Cells,
    path: Path,
) -> None:
    for index in wanted.values:
        parsed = [
            _at_line(parse_number, row[index], table.decimal, path=path, line=line)
            for row, line in zip(rows, lines, strict=True)
        ]
        cells.values[index].append(np.array([number for number, _ in parsed], np.float64))
        cells.flags.update(flag for _, flag in parsed if flag)
    try:
        cells.stamps.take(*_stamp_columns(rows, wanted))
    except (InputError, ValueError):
        _blame_row(rows, lines, wanted, cells, path)
        raise
    for index, words in cells.words.items():
        words.take([row[index] for row in rows])
    cells.took(np.array(lines, np.int64))


def _stamp_columns(rows: Sequence[list[str]], wanted: Wanted) -> tuple[list[str], list[str]]:
    clocks = [row[wanted.clock] for row in rows] if wanted.clock >= 0 else []
    return [row[wanted.time] for row in rows], clocks


def _blame_row(
    rows: list[list[str]], lines: list[int], wanted: Wanted, cells: Cells, path: Path
) -> None:
    """Say which row's stamp is wrong."""
    sample = [row[wanted.time] for row in rows[:1]]
    for row, line in zip(rows, lines, strict=True):
        alone = Stamps(sample, separate=wanted.clock >= 0)
        try:
            alone.take(*_stamp_columns([row], wanted))
        except (InputError, ValueError) as wrong:
            raise DataError(str(wrong), path=str(path), line=line) from None


def _at_line(
    parse: Callable[[str, str], tuple[float, str]],
    cell: str,
    decimal: str,
    *,
    path: Path,
    line: int,
) -> tuple[float, str]:
    try:
        return parse(cell, decimal)
    except InputError as wrong:
        raise DataError(wrong.message, path=str(path), line=line, hint=wrong.hint) from None
