"""Local clock time and UTC: zones checked, changes of the clock found, hours folded by rule."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from difflib import get_close_matches
from functools import lru_cache
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError, InputError
from loadlib.readers.dst import LocalTime

__all__ = ["Clock", "Folded", "clock_for", "to_utc", "zone"]

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

ASK = "State it, for example timezone America/New_York (command line: --timezone)."


@lru_cache(maxsize=64)
def zone(name: str) -> ZoneInfo:
    """An IANA time zone by its name.

    Raises
    ------
    InputError
        when there is none, with names that are close.
    """
    names = available_timezones()
    if name in names:
        return ZoneInfo(name)
    near = get_close_matches(name, names, n=3, cutoff=0.5)
    raise InputError(f"no time zone {name!r}", hint=f"Near: {', '.join(near)}" if near else ASK)


@dataclass(frozen=True, slots=True)
class Clock:
    """Local time from a named zone or from a file's own rules."""

    named: ZoneInfo | None = None
    stated: LocalTime | None = None

    def local(self, utc_s: int) -> datetime:
        """Naive local time of a moment. [s]"""
        if self.named is not None:
            return datetime.fromtimestamp(utc_s, self.named).replace(tzinfo=None)
        offset_s = self.stated.offset_at(utc_s) if self.stated is not None else 0
        return datetime.fromtimestamp(utc_s, UTC).replace(tzinfo=None) + timedelta(seconds=offset_s)


def clock_for(timezone: str, stated: LocalTime | None, path: str, what: str) -> Clock:
    """The stated zone, else the file's own rules; an error where neither is known."""
    if timezone:
        return Clock(named=zone(timezone))
    if stated is not None:
        return Clock(stated=stated)
    raise DataError(f"{what} need a time zone, which the file does not say", path=path, hint=ASK)


@dataclass(frozen=True, slots=True, eq=False)
class Folded:
    """Local stamps as UTC, shape (n,) each, and which of them needed a rule.

    ``doubled`` marks stamps in the hour that clocks ran through twice, ``second`` those taken
    for its second pass, ``skipped`` stamps in the hour that clocks left out (their ``utc_s``
    is meaningless).
    """

    utc_s: Ints
    doubled: Bools
    second: Bools
    skipped: Bools


def own_letters(where: ZoneInfo | None) -> dict[str, int]:
    """Letters that a place's clock goes by (EST, EDT), in seconds east of UTC. [s]"""
    if where is None:
        return {}
    moments = [datetime(2024, month, 1, tzinfo=where) for month in range(1, 13)]
    return {
        (moment.tzname() or "").upper(): int((moment.utcoffset() or timedelta()).total_seconds())
        for moment in moments
    }


def to_utc(local_s: Ints, where: ZoneInfo) -> Folded:
    """Local clock stamps to UTC.

    Parameters
    ----------
    local_s : NDArray
        seconds of the local clock counted as if it were UTC, in the order of the file,
        shape (n,). [s]
    where : ZoneInfo
        whose clock.

    Notes
    -----
    Stamps in the doubled hour of autumn: where they step back once, in the order of the file,
    the second pass (standard time) begins; else the second copy of a stamp is the second pass,
    and a stamp that stands only once the first. A stamp in the skipped hour of spring belongs
    to no moment.
    """
    none = np.zeros(local_s.size, dtype=np.bool_)
    if local_s.size == 0:
        return Folded(local_s.copy(), none, none, none)
    begins, offsets = _offsets(int(local_s.min()), int(local_s.max()), where)
    # Where each offset ends, on its own clock; stamps beyond it belong to the next offset.
    ends_local = begins[1:] + offsets[:-1]
    at = np.searchsorted(ends_local, local_s, side="right")
    utc_s = local_s - offsets[at]
    skipped = utc_s < begins[at]
    following = np.minimum(at + 1, begins.size - 1)
    doubled = (local_s - offsets[following] >= begins[following]) & (following > at)
    second = doubled & _is_second_pass(local_s, at, doubled)
    utc_s = np.where(second, local_s - offsets[following], utc_s)
    return Folded(utc_s, doubled, second, skipped)


def _is_second_pass(local_s: Ints, change: Ints, doubled: Bools) -> Bools:
    """Which of the doubled stamps belong to the second pass, at each change of the clock."""
    second = np.zeros(local_s.size, dtype=np.bool_)
    for one in np.unique(change[doubled]):
        where = np.flatnonzero(doubled & (change == one))
        back = np.flatnonzero(np.diff(local_s[where]) <= 0)
        if back.size == 1:
            second[where[back[0] + 1 :]] = True
            continue
        order = where[np.argsort(local_s[where], kind="stable")]
        again = np.diff(local_s[order]) == 0
        second[order[1:][again]] = True
    return second


def _offsets(first_s: int, last_s: int, where: ZoneInfo) -> tuple[Ints, Ints]:
    """Starts (UTC) and offsets of the stretches of constant offset around a span. [s], [s]"""
    day = 86_400
    begins, offsets = [first_s - 3 * day], [_offset_s(where, first_s - 3 * day)]
    for noon in range(first_s - 2 * day, last_s + 3 * day, day):
        if _offset_s(where, noon) != offsets[-1]:
            moment = _change(where, noon - day, noon)
            begins.append(moment)
            offsets.append(_offset_s(where, moment))
    return np.array(begins, dtype=np.int64), np.array(offsets, dtype=np.int64)


def _change(where: ZoneInfo, before: int, after: int) -> int:
    """The moment at which the offset changes, by halving."""
    old = _offset_s(where, before)
    while after - before > 1:
        middle = (before + after) // 2
        if _offset_s(where, middle) == old:
            before = middle
        else:
            after = middle
    return after


def _offset_s(where: ZoneInfo, utc_s: int) -> int:
    offset = datetime.fromtimestamp(utc_s, where).utcoffset()
    return int((offset or timedelta()).total_seconds())
