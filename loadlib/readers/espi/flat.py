"""Readings taken from a flat list of texts and element ends: the quick way through a block.

Inside an interval block the parser calls no Python function: it appends each text and the
name of each element that ends to one list. Readings repeat the same pattern, so columns of
that list are whole slices. Whatever is not exactly as expected raises ``Irregular``, and the
file is read again from its start the exact way, which also makes the error messages.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass
from typing import Final

from loadlib.readers.espi.codes import GOOD_QUALITY
from loadlib.readers.espi.feed import SEPARATOR, Readings, espi_name
from loadlib.readers.limits import EARLIEST_S, INT48, LATEST_S, LONGEST_S

__all__ = ["BLOCK", "Irregular", "take_readings"]

BLOCK: Final = espi_name("IntervalBlock")
_READING: Final = espi_name("IntervalReading")
_INTERVAL: Final = espi_name("interval")
_START: Final = espi_name("start")
_DURATION: Final = espi_name("duration")
_VALUE: Final = espi_name("value")
_COST: Final = espi_name("cost")
_QUALITY: Final = espi_name("quality")
_LEAVES: Final = frozenset({_START, _DURATION, _VALUE, _COST, _QUALITY}) | {
    espi_name(leaf) for leaf in ("consumptionTier", "tou", "cpp")
}
_KNOWN: Final = _LEAVES | {
    _READING,
    _INTERVAL,
    espi_name("timePeriod"),
    espi_name("ReadingQuality"),
}


class Irregular(Exception):
    """Something that the quick way does not know: read the file the exact way."""


@dataclass(slots=True)
class _Columns:
    """Readings as columns of text; optional ones are empty lists when absent."""

    start: list[str]
    duration: list[str]
    value: list[str]
    cost: list[str]
    quality: list[tuple[str, str]]


def take_readings(events: list[str], into: Readings) -> tuple[int, int]:
    """Take the whole readings at the head of ``events``; what is left over stays there.

    Returns how many readings were taken and how many elements ended.
    """
    ended = _drop_interval(events)
    count = events.count(_READING)
    if count == 0:
        return 0, ended
    width = events.index(_READING) + 1
    columns = _regular(events, count, width)
    if columns is None:
        columns, used, names = _one_by_one(events, count)
    else:
        used = count * width
        names = count * sum(1 for event in events[:width] if SEPARATOR in event)
    _append(columns, into)
    del events[:used]
    return count, ended + names


def _drop_interval(events: list[str]) -> int:
    """Leave out the block's own interval, which stands before its readings."""
    head = events[:12]
    if _INTERVAL not in head:
        return 0
    end = head.index(_INTERVAL) + 1
    if _READING in head[:end] or not _KNOWN.issuperset(e for e in head[:end] if SEPARATOR in e):
        raise Irregular
    del events[:end]
    return sum(1 for event in head[:end] if SEPARATOR in event)


def _regular(events: list[str], count: int, width: int) -> _Columns | None:
    """Columns of ``count`` readings that all look like the first, or None."""
    used = count * width
    if used > len(events) or events[used - 1] != _READING:
        return None
    where: dict[str, int] = {}
    for place, event in enumerate(events[:width]):
        if SEPARATOR not in event:
            continue
        if event not in _KNOWN or events[place:used:width].count(event) != count:
            return None
        if event in _LEAVES:
            if event in where or place == 0 or SEPARATOR in events[place - 1]:
                return None
            where[event] = place - 1

    def column(name: str) -> list[str]:
        return events[where[name] : used : width] if name in where else []

    start, quality = column(_START), column(_QUALITY)
    return _Columns(
        start,
        column(_DURATION),
        column(_VALUE),
        column(_COST),
        list(zip(start, quality, strict=False)),
    )


def _one_by_one(events: list[str], count: int) -> tuple[_Columns, int, int]:
    """The same for readings that differ from one another (a cost or a quality flag here)."""
    columns = _Columns([], [], [], [], [])
    at = names = 0
    for _ in range(count):
        end = events.index(_READING, at)
        found: dict[str, str] = {}
        codes: list[str] = []
        before = SEPARATOR
        for event in events[at:end]:
            if SEPARATOR in event:
                names += 1
                if event == _QUALITY:
                    codes.append(before)
                elif event in _LEAVES:
                    if SEPARATOR in before or event in found:
                        raise Irregular
                    found[event] = before
                elif event not in _KNOWN:
                    raise Irregular
            before = event
        if not found.keys() >= {_START, _DURATION, _VALUE}:
            raise Irregular
        columns.start.append(found[_START])
        columns.duration.append(found[_DURATION])
        columns.value.append(found[_VALUE])
        columns.quality += [(found[_START], code) for code in codes]
        if _COST in found:
            columns.cost.append(found[_COST])
        at = end + 1
    return columns, at, names + count


def _append(columns: _Columns, into: Readings) -> None:
    count = len(columns.start)
    if not count == len(columns.duration) == len(columns.value):
        raise Irregular
    if "_" in "".join((*columns.start, *columns.duration, *columns.value, *columns.cost)):
        raise Irregular  # which int() would pass over
    try:
        start = array("q", map(int, columns.start))
        duration = array("q", map(int, columns.duration))
        value = array("q", map(int, columns.value))
        cost = sum(map(int, columns.cost))
        flagged = [
            (int(begin), int(code))
            for begin, code in columns.quality
            if int(code) not in GOOD_QUALITY
        ]
    except (ValueError, OverflowError):
        raise Irregular from None
    in_range = (
        min(start) >= EARLIEST_S
        and max(start) < LATEST_S
        and min(duration) >= 0
        and max(duration) <= LONGEST_S
        and min(value) > -INT48
        and max(value) < INT48
    )
    if not in_range:
        raise Irregular
    into.start_s.extend(start)
    into.duration_s.extend(duration)
    into.value.extend(array("d", value))
    into.flagged += flagged
    into.cost += cost
