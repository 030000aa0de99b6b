"""Plain rows read from their bytes all at once: digits in dates, clocks and numbers.

The commonest layouts by far, several times as quick as cutting them into texts. Whatever is
not exactly of that kind is refused here (None) and read the general way, with the same result.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

__all__ = ["PLAIN_STAMP", "PlainStamps", "PlainTable"]

Bytes = NDArray[np.uint8]
Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

PLAIN_STAMP: Final = re.compile(
    r"[\d/.-]{6,10}[ T]\d{1,2}:\d\d(?P<seconds>:\d\d)?(?P<offset>Z|[+-]\d\d:\d\d)?"
)
"""A date in digits, a clock of 24 hours, and perhaps an offset from UTC."""

_ZERO, _DOT, _MINUS, _SPACE, _T, _NEWLINE = (ord(mark) for mark in "0.- T\n")
_SHORTEST_DATE, _LONGEST_DATE = 6, 10
_MOST_DIGITS: Final = 15
"""So many decimal digits are exact in a float, and so is their quotient by a power of ten."""


@dataclass(frozen=True, slots=True, eq=False)
class PlainStamps:
    """Stamps of n rows.

    ``dates`` are texts, one for each change of the date, ``at`` (n,) which of them a row has,
    ``clock_s`` (n,) seconds since midnight, ``offset`` the text behind every stamp. [s]
    """

    dates: list[str]
    at: Ints
    clock_s: Ints
    offset: str


class PlainTable:
    """Rows of a text that all have every cell, none with more than its bytes."""

    def __init__(self, raw: Bytes, begins: list[Ints], ends: list[Ints]) -> None:
        self._raw = raw
        self._begins = begins
        self._ends = ends

    @classmethod
    def of(cls, text: str, delimiter: str, width: int) -> Self | None:
        """Whole lines without the last line's end, cut at ``delimiter`` into ``width`` cells."""
        if not text.isascii():
            return None
        raw = np.frombuffer(text.encode("ascii"), np.uint8)
        bounds = _cell_bounds(raw, ord(delimiter), width)
        return None if bounds is None else cls(raw, *bounds)

    def stamps(self, index: int) -> PlainStamps | None:
        """A column of stamps such as 2024-01-31T12:00 or 1/31/2024 9:05:00."""
        begin, end = self._begins[index], self._ends[index]
        form = PLAIN_STAMP.fullmatch(self._text(begin[0], end[0]))
        if form is None:
            return None
        offset = form["offset"] or ""
        end = end - len(offset)
        shortest = _SHORTEST_DATE + (8 if form["seconds"] else 5)
        if int((end - begin).min()) < shortest or not self._all(end, offset):
            return None
        clock = self._clocks(end, seconds=form["seconds"] is not None)
        if clock is None:
            return None
        clock_s, mark = clock
        dates = self._dates(begin, mark)
        return None if dates is None else PlainStamps(*dates, clock_s, offset)

    def _text(self, begin: int, end: int) -> str:
        return self._raw[begin:end].tobytes().decode("ascii")

    def _all(self, at: Ints, mark: str) -> bool:
        """Whether a text stands at each of the places."""
        return all((self._raw[at + k] == ord(one)).all() for k, one in enumerate(mark))

    def _pair(self, at: Ints, most: int) -> Ints | None:
        """Numbers of two digits."""
        tens, ones = self._raw[at] - np.uint8(_ZERO), self._raw[at + 1] - np.uint8(_ZERO)
        if tens.max() > 9 or ones.max() > 9:
            return None
        number = tens.astype(np.int64) * 10 + ones
        return number if int(number.max()) <= most else None

    def _clocks(self, end: Ints, *, seconds: bool) -> tuple[Ints, Ints] | None:
        """Seconds since midnight, and where the mark between date and clock stands."""
        total = np.zeros(end.size, np.int64)
        for scale in (1, 60) if seconds else (60,):
            part = self._pair(end - 2, 59)
            if part is None or not self._all(end - 3, ":"):
                return None
            total += part * scale
            end = end - 3
        ones = self._raw[end - 1] - np.uint8(_ZERO)
        before = self._raw[end - 2]
        short = (before == _SPACE) | (before == _T)
        tens = np.where(short, np.uint8(0), before - np.uint8(_ZERO))
        hour = tens.astype(np.int64) * 10 + ones
        if ones.max() > 9 or tens.max() > 9 or int(hour.max()) > 23:
            return None
        mark = end - np.where(short, 2, 3)
        if self._raw[mark[0]] not in (_SPACE, _T) or (self._raw[mark] != self._raw[mark[0]]).any():
            return None
        return total + hour * 3600, mark

    def _dates(self, begin: Ints, mark: Ints) -> tuple[list[str], Ints] | None:
        """Texts of dates, cut where a row may have another than the one before."""
        length = mark - begin
        if int(length.min()) < _SHORTEST_DATE or int(length.max()) > _LONGEST_DATE:
            return None
        cells = sliding_window_view(self._raw, _LONGEST_DATE)[begin]
        changes = np.append(True, (cells[1:] != cells[:-1]).any(axis=1) | (np.diff(length) != 0))
        where = np.flatnonzero(changes)
        pairs = zip(begin[where].tolist(), mark[where].tolist(), strict=True)
        return [self._text(first, last) for first, last in pairs], np.cumsum(changes) - 1

    def numbers(self, index: int) -> Floats | None:
        """A column of numbers such as 12, -0.5 or 3.250, with as many decimals in each row."""
        return _numbers(self._raw, self._begins[index], self._ends[index])


def _cell_bounds(raw: Bytes, delimiter: int, width: int) -> tuple[list[Ints], list[Ints]] | None:
    """Where the cells of each column begin and end, shape (rows,) each."""
    line_ends = np.append(np.flatnonzero(raw == _NEWLINE), raw.size)
    line_begins = np.append(0, line_ends[:-1] + 1)
    marks = np.flatnonzero(raw == delimiter)
    if marks.size != line_ends.size * (width - 1):
        return None
    columns = list(marks.reshape(line_ends.size, width - 1).T)
    begins, ends = [line_begins, *(column + 1 for column in columns)], [*columns, line_ends]
    if width > 1 and ((columns[0] < line_begins).any() or (columns[-1] > line_ends).any()):
        return None
    return begins, ends


def _numbers(raw: Bytes, begin: Ints, end: Ints) -> Floats | None:
    """Numbers with as many decimals in each row, read digit by digit from the right."""
    lengths = end - begin
    longest = int(lengths.max())
    if longest > _MOST_DIGITS or int(lengths.min()) < 1:
        return None
    negative = raw[begin] == _MINUS
    if longest > int(end[0]):
        return None  # the first cell is shorter than the longest and starts the text
    cells = sliding_window_view(raw, longest)[end - longest]
    decimals = _decimals(cells[0], int(lengths[0]))
    total = np.zeros(begin.size, np.int64)
    scale = 1
    digits = lengths - negative
    for place in range(longest):
        column = cells[:, longest - 1 - place]
        there = digits > place
        if place == decimals:
            if not there.all() or not (column == _DOT).all():
                return None
            continue
        digit = np.where(there, column - np.uint8(_ZERO), np.uint8(0))
        if digit.max() > 9:
            return None
        total += digit.astype(np.int64) * scale
        scale *= 10
    if int(digits.min()) < 1 + (decimals >= 0) * 1:
        return None
    found: Floats = np.where(negative, -total, total) / float(10 ** max(decimals, 0))
    return found


def _decimals(cell: Bytes, length: int) -> int:
    """How many digits stand behind the point of a right-aligned cell; -1 without a point."""
    dots = np.flatnonzero(cell[-length:] == _DOT)
    return length - 1 - int(dots[0]) if dots.size == 1 else -1
