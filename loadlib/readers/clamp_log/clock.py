"""Rows of a log brought into the order of time, stretch by stretch; a clock that jumps is refused.

What the next stretch may still change is held back: the hour that clocks run through twice
until it is over, and the last seconds, since a logger may write a row or two out of order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError
from loadlib.readers.local import ASK, to_utc, zone
from loadlib.readers.remarks import counted

__all__ = ["LogClock", "Rows"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_BACK_S: Final = 2
_NEAR_ROWS: Final = 3


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Rows of a log, n of them: seconds (n,), values (places, n), lines in the file (n,)."""

    time_s: Ints
    values: Floats
    line: Ints

    def __len__(self) -> int:
        return int(self.time_s.size)

    def at(self, which: slice | Ints | Bools) -> Rows:
        """Some of the rows."""
        return Rows(self.time_s[which], self.values[:, which], self.line[which])

    def then(self, after: Rows) -> Rows:
        """These rows and others after them."""
        if not len(self):
            return after
        return Rows(
            np.concatenate((self.time_s, after.time_s)),
            np.concatenate((self.values, after.values), axis=1),
            np.concatenate((self.line, after.line)),
        )

    def timed(self, time_s: Ints) -> Rows:
        """The same rows at other times."""
        return Rows(time_s, self.values, self.line)

    @classmethod
    def none(cls, places: int) -> Self:
        """No rows."""
        return cls(np.empty(0, np.int64), np.empty((places, 0)), np.empty(0, np.int64))


class LogClock:
    """Turns rows in the order of the file into rows in the order of time, one for each moment."""

    def __init__(self, places: int, timezone: str, path: str) -> None:
        self._local = _Local(places, timezone, path) if timezone else None
        self._order = _Order(places, path)
        self._path = path
        self._is_utc: bool | None = None

    def take(self, rows: Rows, is_utc: Bools) -> Rows:
        """The next rows of the file, and which stamps are UTC; returns rows that are final. [s]

        Raises
        ------
        DataError
            for a clock that jumps back, a moment that does not exist, or local times where
            the zone is not known; with the line.
        """
        if not len(rows):
            return rows
        if self._is_utc is None:
            self._is_utc = bool(is_utc[0])
        if (is_utc != self._is_utc).any():
            raise DataError("some times have an offset from UTC and some none", path=self._path)
        if not self._is_utc:
            if self._local is None:
                raise DataError(
                    "times are local and the zone is not known", path=self._path, hint=ASK
                )
            rows = self._local.take(rows)
        return self._order.take(rows)

    def rest(self) -> Rows:
        """What was held back, at the end of the file."""
        if self._local is None:
            return self._order.rest()
        before = self._order.take(self._local.rest())
        return before.then(self._order.rest())

    def notes(self) -> list[str]:
        """What was repeated or out of order, and an hour that should have run twice."""
        once = [] if self._local is None else self._local.notes()
        return [*once, *self._order.notes()]


class _Local:
    """Local stamps to UTC. Rows in the hour that runs twice wait until it is over."""

    def __init__(self, places: int, timezone: str, path: str) -> None:
        self._where = zone(timezone)
        self._timezone = timezone
        self._path = path
        self._held = Rows.none(places)
        self._once_s: int | None = None

    def take(self, rows: Rows) -> Rows:
        rows = self._held.then(rows)
        utc_s, doubled, twice = self._in_utc(rows)
        # A row or two behind the hour may still be followed by one that belongs into it.
        open_hour = doubled.size > 0 and doubled[-1] >= len(rows) - _NEAR_ROWS
        cut = int(doubled[0]) if open_hour else len(rows)
        self._held = rows.at(slice(cut, None))
        if cut and doubled.size and not open_hour and not twice:
            self._once_s = int(rows.time_s[doubled[0]])
        return rows.timed(utc_s).at(slice(0, cut))

    def rest(self) -> Rows:
        if not len(self._held):
            return self._held
        utc_s, _, _ = self._in_utc(self._held)
        return self._held.timed(utc_s)

    def notes(self) -> list[str]:
        """A remark where clocks go back and the stamps do not."""
        if self._once_s is None:
            return []
        return [
            f"the hour from {_text(self._once_s)} runs twice in {self._timezone}, but stands once: "
            "if the logger's clock never changes, all later times are an hour late; then state "
            "a fixed zone such as Etc/GMT+5"
        ]

    def _in_utc(self, rows: Rows) -> tuple[Ints, Ints, bool]:
        """UTC [s], which rows lie in an hour that runs twice, and whether any is its second."""
        folded = to_utc(rows.time_s, self._where)
        if folded.skipped.any():
            at = int(np.argmax(folded.skipped))
            raise DataError(
                f"{_text(int(rows.time_s[at]))} does not exist in {self._timezone}: clocks skip it",
                path=self._path,
                line=int(rows.line[at]),
                hint="If the logger's clock never changes, state a fixed zone such as Etc/GMT+5.",
            )
        return folded.utc_s, np.flatnonzero(folded.doubled), bool(folded.second.any())


class _Order:
    """Sorts rows that are at most a moment out of order; of the same time the later counts."""

    def __init__(self, places: int, path: str) -> None:
        self._path = path
        self._recent = Rows.none(places)
        self._top_s: int | None = None
        self._again = 0
        self._small = 0

    def take(self, rows: Rows) -> Rows:
        if not len(rows):
            return rows
        self._top_s = self._highest(rows)
        rows = self._recent.then(rows)
        done = rows.time_s < self._top_s - _BACK_S
        self._recent = rows.at(~done)
        return self._one_each(rows.at(done))

    def rest(self) -> Rows:
        last = self._recent
        self._recent = last.at(slice(0, 0))
        return self._one_each(last)

    def _highest(self, rows: Rows) -> int:
        """The latest time so far; refuses a row that lies well before it. [s]"""
        first_s = rows.time_s[0] if self._top_s is None else self._top_s
        top_s = np.maximum.accumulate(np.append(first_s, rows.time_s))
        behind_s = top_s[1:] - rows.time_s
        if (behind_s > _BACK_S).any():
            at = int(np.argmax(behind_s > _BACK_S))
            raise DataError(
                f"the clock jumps back by {int(behind_s[at])} s to {_text(int(rows.time_s[at]))} "
                "UTC",
                path=self._path,
                line=int(rows.line[at]),
                hint="The logger's clock was set, or two logs were joined: cut the file there.",
            )
        self._small += int((behind_s > 0).sum())
        return int(top_s[-1])

    def _one_each(self, rows: Rows) -> Rows:
        ahead = np.diff(rows.time_s)
        if (ahead > 0).all():
            return rows
        rows = rows.at(np.argsort(rows.time_s, kind="stable"))
        last = np.append(np.diff(rows.time_s) > 0, True)
        self._again += int((~last).sum())
        return rows.at(last)

    def notes(self) -> list[str]:
        found = []
        if self._again:
            found.append(f"{counted(self._again, 'time')} stood twice: the later row counts")
        if self._small:
            found.append(f"{counted(self._small, 'row')} up to {_BACK_S} s out of order: sorted")
        return found


def _text(epoch_s: int) -> str:
    return str(np.datetime64(epoch_s, "s")).replace("T", " ")
