"""Bills: a small table of periods or months, a grid of months, or lines as a person types them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError, InputError
from loadlib.readers.bill_lines import EXAMPLE, IN_WH, MONTH, NAME, BillLine, finish, month_of
from loadlib.readers.bill_table import is_bill_table, read_bill_table
from loadlib.readers.delimited.numbers import decimal_mark, parse_number
from loadlib.readers.delimited.table import find_table
from loadlib.readers.delimited.text import chunks_of_lines, decode_head, encoding_of
from loadlib.readers.limits import LIMITS, Limits
from loadlib.readers.month_grid import find_month_grid, read_month_grid
from loadlib.readers.unsure import data_error

__all__ = ["BillsReader", "parse_bills"]

_MOST_ROWS: Final = 20_000
_DATE: Final = re.compile(
    rf"\d{{4}}-\d{{1,2}}-\d{{1,2}}|\d{{1,2}}[./-]\d{{1,2}}[./-]\d{{2,4}}|"
    rf"\d{{1,2}}\s+{NAME},?\s+\d{{4}}|{NAME}\s+\d{{1,2}},?\s+\d{{4}}",
    re.I,
)
_ENERGY: Final = re.compile(r"(-?\d[\d.,' ]*)\s*(mwh|kwh|wh)\b", re.I)
_COST: Final = re.compile(
    r"[$€£]\s*(-?\d[\d.,]*)|(-?\d[\d.,]*)\s*(?:[$€£]|(?:usd|cad|eur|gbp|chf)\b)", re.I
)
_PLAIN: Final = re.compile(r"(?<![\w.,])-?\d+(?:[.,]\d+)*(?![\w])")
_ESTIMATED: Final = re.compile(r"\best(imated?)?\b|\(e\)|\be$", re.I)


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
        if find_month_grid(text) or (table is not None and is_bill_table(table)):
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
            if grid := find_month_grid(text):
                return read_month_grid(grid, options, str(path))
            if table is not None and not _all_typed(text):
                return read_bill_table(text, table, path, options)
            return finish(_typed(text), options, str(path), [])
        except InputError as wrong:
            raise data_error(wrong, str(path)) from None


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
    return finish(_typed(text), ReadOptions(day_first=day_first), source, [])


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


def _typed(text: str) -> list[BillLine]:
    lines = []
    for number, line in enumerate(text.split("\n"), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            lines.append(_bill_of(line, number))
    return lines


def _bill_of(line: str, number: int) -> BillLine:
    where = f"line {number}: "
    dates = _DATE.findall(line)
    rest = _DATE.sub(" ", line)
    month = None
    if not dates:
        found = MONTH.search(rest)
        if found is None:
            raise InputError(f"{where}no period in {line.strip()[:60]!r}", hint=EXAMPLE)
        month, rest = month_of(found), rest[: found.start()] + " " + rest[found.end() :]
    elif len(dates) != 2:
        raise InputError(f"{where}one date, where a period needs two", hint=EXAMPLE)
    energy = _ENERGY.search(rest)
    rest = _ENERGY.sub(" ", rest, count=1)
    cost = _COST.search(rest)
    rest = _COST.sub(" ", rest, count=1)
    if energy is not None:
        energy_wh = _typed_number(energy[1]) * IN_WH[energy[2].lower()]
    else:
        plain = _PLAIN.findall(rest)
        if len(plain) != 1:
            raise InputError(f"{where}which number is the energy?", hint=EXAMPLE)
        energy_wh = _typed_number(plain[0]) * 1000.0
    if energy_wh < 0:
        raise InputError(f"{where}negative energy: a bill holds what was drawn from the grid")
    return BillLine(
        number,
        dates,
        month,
        energy_wh,
        _typed_number(cost[1] or cost[2]) if cost else None,
        _ESTIMATED.search(rest) is not None,
    )


def _typed_number(text: str) -> float:
    text = text.strip()
    return parse_number(text, decimal_mark([text]))[0]
