"""Rows of ISO stamps and plain decimal numbers, read from their bytes all at once.

The commonest layout by far, some three times as quick as cutting it into texts. Whatever is
not exactly of that kind is refused here (None) and read the general way, with the same result.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

__all__ = ["iso_rows"]

Bytes = NDArray[np.uint8]
Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

_ZERO, _DOT, _MINUS, _DASH, _COLON, _NEWLINE = (ord(mark) for mark in "0.--:\n")
_LENGTHS: Final = {16: (11, 14), 19: (11, 14, 17)}
"""Length of a stamp to where its hours, minutes and seconds stand."""
_SECONDS: Final = (3600, 60, 1)
_HIGHEST: Final = (23, 59, 59)
_DAY_CHARS: Final = 10
_MOST_DIGITS: Final = 15
"""So many decimal digits are exact in a float, and so is their quotient by a power of ten."""


def iso_rows(
    text: str, delimiter: str, width: int, time: int, values: Sequence[int]
) -> tuple[Ints, dict[int, Floats]] | None:
    """Stamps [s] and numbers, shape (rows,) each, or None where a row is of another kind.

    Parameters
    ----------
    text : str
        whole lines without the last line's end.
    delimiter, width : str, int
        between cells, and how many cells a row has.
    time : int
        the column of stamps such as 2024-01-31 12:00 or 2024-01-31T12:00:00.
    values : sequence of int
        the columns of numbers such as 12, -0.5 or 3.250, a point before the decimals.
    """
    if not text.isascii():
        return None
    raw = np.frombuffer(text.encode("ascii"), np.uint8)
    bounds = _cell_bounds(raw, ord(delimiter), width)
    if bounds is None:
        return None
    begins, ends = bounds
    stamp_s = _stamps(raw, begins[time], ends[time])
    if stamp_s is None:
        return None
    numbers = {}
    for index in values:
        column = _numbers(raw, begins[index], ends[index])
        if column is None:
            return None
        numbers[index] = column
    return stamp_s, numbers


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


def _stamps(raw: Bytes, begin: Ints, end: Ints) -> Ints | None:
    length = int(end[0] - begin[0])
    if length not in _LENGTHS or not (end - begin == length).all():
        return None
    cells = sliding_window_view(raw, length)[begin]
    parts = _LENGTHS[length]
    if any((cells[:, at - 1] != _COLON).any() for at in parts[1:]):
        return None
    if not np.isin(cells[:, _DAY_CHARS], (ord(" "), ord("T"))).all():
        return None
    days = _days(cells[:, :_DAY_CHARS])
    if days is None:
        return None
    stamp_s = days * 86_400
    for at, seconds, highest in zip(parts, _SECONDS, _HIGHEST, strict=False):
        tens, ones = cells[:, at] - np.uint8(_ZERO), cells[:, at + 1] - np.uint8(_ZERO)
        part = tens * np.uint8(10) + ones
        if tens.max() > 9 or ones.max() > 9 or part.max() > highest:
            return None
        stamp_s += part.astype(np.int64) * seconds
    return stamp_s


def _days(cells: Bytes) -> Ints | None:
    """Days since 1970, parsed where the text changes from one row to the next."""
    changes = np.append(True, (cells[1:] != cells[:-1]).any(axis=1))
    texts = np.ascontiguousarray(cells[changes]).view(f"S{_DAY_CHARS}").ravel().astype("U")
    if not all(text[4] == text[7] == "-" for text in texts.tolist()):
        return None
    try:
        parsed = texts.astype("datetime64[D]").astype(np.int64)
    except ValueError:
        return None
    found: Ints = parsed[np.cumsum(changes) - 1]
    return found


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
