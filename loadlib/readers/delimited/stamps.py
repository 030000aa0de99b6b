"""A column of stamps to seconds: whole columns where ISO, by look-up where not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError
from loadlib.readers.delimited.dates import (
    clock_seconds,
    day_number,
    decide_order,
    is_date,
    split_stamp,
)
from loadlib.readers.delimited.table import is_epoch
from loadlib.readers.limits import EARLIEST_S, LATEST_S

__all__ = ["Stamps", "Words"]

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_MILLISECONDS: Final = 1e11
_ISO_LENGTHS: Final = frozenset({16, 19})


class Words:
    """A column of texts that repeat: each different text once, and its number in each row."""

    def __init__(self) -> None:
        self.texts: dict[str, int] = {}
        self._parts: list[NDArray[np.int32]] = []

    def take(self, cells: Sequence[str]) -> NDArray[np.int32]:
        """Append cells; returns their numbers."""
        texts = self.texts
        for cell in dict.fromkeys(cells):
            texts.setdefault(cell, len(texts))
        part = np.fromiter(map(texts.__getitem__, cells), np.int32, len(cells))
        self._parts.append(part)
        return part

    def numbers(self) -> NDArray[np.int32]:
        """Number of the text in each row, shape (n,)."""
        return np.concatenate(self._parts) if self._parts else np.empty(0, np.int32)


class Stamps:
    """Collects stamps piece by piece; the order of day and month is decided at the end.

    ``separate`` says that a clock column stands beside the column of dates.
    """

    def __init__(self, sample: Sequence[str], *, separate: bool) -> None:
        self._separate = separate
        self._iso = not separate and all(_is_plain_iso(cell) for cell in sample)
        self._epoch = all(is_epoch(cell) for cell in sample)
        self._space = all(_splits_at_space(cell) for cell in sample)
        self._dates = Words()
        self._clocks = Words()
        self._offsets = Words()
        self._parts: list[Ints | tuple[NDArray[np.int32], ...]] = []
        self._utc: list[bool] = []

    def accepts(self, cell: str) -> bool:
        """Whether a cell is a stamp at all."""
        return is_epoch(cell) if self._epoch else is_date(split_stamp(cell)[0])

    def take(self, cells: Sequence[str], clocks: Sequence[str] = ()) -> None:
        """Append stamps, with the clock column when it is separate.

        Raises
        ------
        InputError
            when a cell is no stamp; nothing has been appended then.
        """
        if self._epoch:
            moments = np.array(cells, dtype=np.float64)
            scale = np.where(np.abs(moments) > _MILLISECONDS, 1000.0, 1.0)
            self._append((moments / scale).astype(np.int64), utc=True)
        elif self._iso and self._take_iso(cells):
            return
        else:
            self._take_words(cells, clocks)

    def _append(self, part: Ints | tuple[NDArray[np.int32], ...], *, utc: bool) -> None:
        self._parts.append(part)
        self._utc.append(utc)

    def _take_iso(self, cells: Sequence[str]) -> bool:
        if not set(map(len, cells)) <= _ISO_LENGTHS:
            return self._take_iso_offsets(cells)
        try:
            moments = np.array(cells, dtype="datetime64[s]").astype(np.int64)
        except ValueError:
            return False
        # numpy also reads "now" and the like, but not in 16 or 19 characters.
        self._append(moments, utc=False)
        return True

    def _take_iso_offsets(self, cells: Sequence[str]) -> bool:
        try:
            parsed = list(map(datetime.fromisoformat, cells))
        except ValueError:
            return False
        if not all(stamp.tzinfo for stamp in parsed):
            return False
        self._append(np.array([int(stamp.timestamp()) for stamp in parsed], np.int64), utc=True)
        return True

    def _take_words(self, cells: Sequence[str], clocks: Sequence[str]) -> None:
        if self._separate:
            split = {cell: split_stamp(cell)[0] for cell in dict.fromkeys(cells)}
            parts = [(split[cell], clock, "") for cell, clock in zip(cells, clocks, strict=True)]
        elif self._space:
            parts = [(cut[0], cut[2], "") for cut in (cell.partition(" ") for cell in cells)]
        else:
            parts = [split_stamp(cell) for cell in cells]
        dates, times, offsets = zip(*parts, strict=True) if parts else ((), (), ())
        for text in dict.fromkeys(dates):
            if text not in self._dates.texts and not is_date(text):
                raise InputError(f"{text[:40]!r} is not a date")
        for text in dict.fromkeys(times):
            if text and text not in self._clocks.texts:
                _clock(text)
        words = (self._dates.take(dates), self._clocks.take(times), self._offsets.take(offsets))
        self._append(words, utc=False)

    @property
    def has_clock(self) -> bool:
        """Whether any stamp has a time of day."""
        return bool(set(self._clocks.texts) - {""}) or any(
            isinstance(part, np.ndarray) for part in self._parts
        )

    @property
    def counts_hours_from_one(self) -> bool:
        """Whether the clock column is a number of the hour from 1 to 24."""
        hours = {text.strip() for text in self._clocks.texts}
        return "24" in hours and "0" not in hours and "00" not in hours

    def seconds(self, day_first: bool | None) -> tuple[Ints, Bools, str]:
        """Seconds since 1970 in local time or UTC, which of them are UTC, and a remark. [s]

        Raises
        ------
        InputError
            for days that do not exist, an order of dates that can't be decided, or a year
            outside 1980 to 2100.
        """
        order, remark = decide_order(self._dates.texts, day_first)
        days = np.array([day_number(text, day_first=order) for text in self._dates.texts], np.int64)
        clocks = np.array([_clock(text) if text else 0 for text in self._clocks.texts], np.int64)
        offsets = np.array([_offset(text) for text in self._offsets.texts], np.int64)
        has_offset = np.array([bool(text) for text in self._offsets.texts], np.bool_)
        moments, utc = [np.empty(0, np.int64)], [np.empty(0, np.bool_)]
        for part, is_utc in zip(self._parts, self._utc, strict=True):
            if isinstance(part, np.ndarray):
                moments.append(part)
                utc.append(np.full(part.size, is_utc))
            else:
                date_at, clock_at, offset_at = part
                moments.append(days[date_at] * 86_400 + clocks[clock_at] - offsets[offset_at])
                utc.append(has_offset[offset_at])
        all_s = np.concatenate(moments)
        outside = (all_s < EARLIEST_S) | (all_s >= LATEST_S)
        if outside.any():
            year = np.datetime64(int(all_s[np.argmax(outside)]), "s")
            raise InputError(f"a stamp is {year}, not between 1980 and 2100")
        return all_s, np.concatenate(utc), remark


def _clock(text: str) -> int:
    return clock_seconds(text)


def _offset(text: str) -> int:
    """Offset text to seconds east of UTC. [s]"""
    if not text or text[0] not in "+-":
        return 0
    digits = text[1:].replace(":", "")
    seconds = int(digits[:2]) * 3600 + int(digits[2:]) * 60
    return -seconds if text[0] == "-" else seconds


def _is_plain_iso(cell: str) -> bool:
    try:
        datetime.fromisoformat(cell)
    except ValueError:
        return False
    return len(cell) >= min(_ISO_LENGTHS) and cell[4:5] == "-" and cell[7:8] == "-"


def _splits_at_space(cell: str) -> bool:
    date, _, clock = cell.partition(" ")
    return split_stamp(cell) == (date, clock, "")
