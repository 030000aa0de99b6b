"""A column of stamps to seconds: whole columns where ISO, by look-up where not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final, NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError
from loadlib.readers.delimited.clocks import counted_per_day, is_clock, seconds_of_clocks
from loadlib.readers.delimited.dates import (
    ZONE_LETTERS,
    clock_seconds,
    day_number,
    decide_order,
    is_date,
    split_stamp,
)
from loadlib.readers.delimited.quick import PLAIN_STAMP, PlainStamps, PlainTable
from loadlib.readers.delimited.table import is_epoch
from loadlib.readers.limits import EARLIEST_S, LATEST_S
from loadlib.readers.local import ASK, own_letters, to_utc

__all__ = ["Stamps", "Words"]

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_MILLISECONDS: Final = 1e11
_ISO_LENGTHS: Final = frozenset({16, 19})
_ISO_DAY: Final = 10


class _Dated(NamedTuple):
    """Numbers of the texts of dates, and seconds since midnight, shape (n,) each. [s]"""

    date_at: NDArray[np.int32]
    clock_s: Ints


class _Texts(NamedTuple):
    """Numbers of the texts of dates, clocks and offsets, shape (n,) each."""

    date_at: NDArray[np.int32]
    clock_at: NDArray[np.int32]
    offset_at: NDArray[np.int32]


_Part = NDArray[np.int64] | range | _Dated | _Texts
"""Stamps of a piece: seconds, seconds at one step (they take no memory), or numbers of texts."""


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
        self.is_iso = not separate and all(_is_plain_iso(cell) for cell in sample)
        self._epoch = all(is_epoch(cell) for cell in sample)
        digits = all(PLAIN_STAMP.fullmatch(cell) for cell in sample)
        self.is_plain = bool(sample) and not separate and (self._epoch or digits)
        self._space = all(_splits_at_space(cell) for cell in sample)
        self._dates = Words()
        self._clocks = Words()
        self._offsets = Words()
        self._parts: list[_Part] = []
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
            self._take_epoch(np.array(cells, dtype=np.float64))
        elif self.is_iso and self._take_iso(cells):
            return
        else:
            self._take_words(cells, clocks)

    def take_plain(self, rows: PlainTable, index: int) -> bool:
        """Append a column of plain rows; False, and nothing appended, where it is not plain."""
        if self._epoch:
            moments = rows.numbers(index)
            if moments is not None:
                self._take_epoch(moments)
            return moments is not None
        stamps = rows.stamps(index)
        if stamps is None:
            return False
        return self._take_plain_iso(stamps) if self.is_iso else self._take_dated(stamps)

    def _take_plain_iso(self, stamps: PlainStamps) -> bool:
        if not all(len(text) == _ISO_DAY and text[4] == text[7] == "-" for text in stamps.dates):
            return False
        try:
            days = np.array(stamps.dates, dtype="datetime64[D]").astype(np.int64)
        except ValueError:
            return False
        moments = days[stamps.at] * 86_400 + stamps.clock_s
        if stamps.offset:
            self._append(moments - _offset(stamps.offset, None), utc=True)
        else:
            self._take_seconds(moments)
        return True

    def _take_dated(self, stamps: PlainStamps) -> bool:
        if stamps.offset or not all(map(is_date, dict.fromkeys(stamps.dates))):
            return False
        self._append(_Dated(self._dates.take(stamps.dates)[stamps.at], stamps.clock_s), utc=False)
        return True

    def _take_epoch(self, moments: NDArray[np.float64]) -> None:
        scale = np.where(np.abs(moments) > _MILLISECONDS, 1000.0, 1.0)
        self._append((moments / scale).astype(np.int64), utc=True)

    def _take_seconds(self, local_s: Ints) -> None:
        self._append(_as_range(local_s) or local_s, utc=False)

    @property
    def date_texts(self) -> Sequence[str]:
        """The different texts of dates so far, in the order of the file; none where ISO."""
        return tuple(self._dates.texts)

    def _append(self, part: _Part, *, utc: bool) -> None:
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
        self._take_seconds(moments)
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
            if text and text not in self._clocks.texts and not (self._separate and is_clock(text)):
                clock_seconds(text)
        texts = self._dates.take(dates), self._clocks.take(times), self._offsets.take(offsets)
        self._append(_Texts(*texts), utc=False)

    @property
    def has_clock(self) -> bool:
        """Whether any stamp has a time of day."""
        return bool(set(self._clocks.texts) - {""}) or any(
            not isinstance(part, _Texts) for part in self._parts
        )

    @property
    def counted_s(self) -> int:
        """Length of the intervals that the clock column counts from one, 0 if it does not. [s]"""
        per_day = counted_per_day(self._clocks.texts) if self._separate else 0
        return 86_400 // per_day if per_day else 0

    def seconds(
        self, day_first: bool | None, where: ZoneInfo | None = None
    ) -> tuple[Ints, Bools, str]:
        """Seconds since 1970 in local time or UTC, which of them are UTC, and a remark. [s]

        ``where`` is the clock of the place, if known. Counted intervals are stamped at their
        start.

        Raises
        ------
        InputError
            for days that do not exist, an order of dates that can't be decided, or a year
            outside 1980 to 2100.
        """
        order, remark = decide_order(self._dates.texts, day_first)
        days = np.array([day_number(text, day_first=order) for text in self._dates.texts], np.int64)
        if step := self.counted_s:
            return *self._counted(days * 86_400, step, where), remark
        clocks = np.array(list(seconds_of_clocks(self._clocks.texts).values()), np.int64)
        offsets = np.array([_offset(text, where) for text in self._offsets.texts], np.int64)
        has_offset = np.array([bool(text) for text in self._offsets.texts], np.bool_)
        moments, utc = [np.empty(0, np.int64)], [np.empty(0, np.bool_)]
        for part, is_utc in zip(self._parts, self._utc, strict=True):
            if isinstance(part, range):
                part = np.arange(part.start, part.stop, part.step, dtype=np.int64)
            if isinstance(part, _Texts):
                date_at, clock_at, offset_at = part
                moments.append(days[date_at] * 86_400 + clocks[clock_at] - offsets[offset_at])
                utc.append(has_offset[offset_at])
                continue
            if isinstance(part, _Dated):
                part = days[part.date_at] * 86_400 + part.clock_s
            moments.append(part)
            utc.append(np.full(part.size, is_utc))
        all_s = np.concatenate(moments)
        outside = (all_s < EARLIEST_S) | (all_s >= LATEST_S)
        if outside.any():
            year = np.datetime64(int(all_s[np.argmax(outside)]), "s")
            raise InputError(f"a stamp is {year}, not between 1980 and 2100")
        return all_s, np.concatenate(utc), remark

    def _counted(self, midnights_s: Ints, step: int, where: ZoneInfo | None) -> tuple[Ints, Bools]:
        """Starts of counted intervals. [s]

        Where a day of 23 or 25 hours is counted to its own end, numbers count time that
        passes; else they are times on the clock, folded like any other.
        """
        dates, numbers = self._dates.numbers(), self._count_numbers()
        last = np.zeros(midnights_s.size, np.int64)
        np.maximum.at(last, dates, numbers)
        inside = (numbers - 1) * step
        local = np.zeros(numbers.size, np.bool_)
        if where is None:
            if int(last.max()) * step > 86_400:
                raise InputError(
                    "intervals are counted through a change of the clock, and the time zone is "
                    "not known",
                    hint=ASK,
                )
            return midnights_s[dates] + inside, local
        begins = to_utc(midnights_s, where).utc_s
        length = to_utc(midnights_s + 86_400, where).utc_s - begins
        if not ((last * step == length) & (length != 86_400)).any():
            return midnights_s[dates] + inside, local
        return begins[dates] + inside, ~local

    def _count_numbers(self) -> Ints:
        numbers = np.array([int(text) for text in self._clocks.texts], np.int64)
        return numbers[self._clocks.numbers()]


def _as_range(moments: Ints) -> range | None:
    """The same moments as a range, None where their step is not one and the same."""
    if moments.size == 0:
        return None
    first = int(moments[0])
    step = int(moments[1]) - first if moments.size > 1 else 1
    if step <= 0 or (np.diff(moments) != step).any():
        return None
    return range(first, first + step * moments.size, step)


def _offset(text: str, where: ZoneInfo | None) -> int:
    """Offset or letters of a zone to seconds east of UTC; the place's own letters first. [s]"""
    if not text:
        return 0
    if text[0].isalpha():
        return own_letters(where).get(text.upper(), ZONE_LETTERS[text.upper()])
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
