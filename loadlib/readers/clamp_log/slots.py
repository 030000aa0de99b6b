"""Rows in the order of time put onto a regular grid, stretch by stretch; never filled in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError
from loadlib.readers.clamp_log.clock import Rows
from loadlib.readers.grid import common_step, too_sparse
from loadlib.readers.limits import Limits
from loadlib.readers.remarks import counted

__all__ = ["Slots", "Stretch"]

Floats = NDArray[np.float64]

_LONGEST_STEP_S: Final = 900
_SETTLE_ROWS: Final = 10_000
_LONGEST_FILL: Final = 4096
"""Rows that settle the step, and slots of a gap that is still filled with NaN: judgements."""
_CUT: Final = "The logger was set anew, or two logs were joined: cut the file there."
_SAME_AGAIN: Final = 60
"""So many rows in a row at another distance than the step are no gaps: the step has changed."""


class Stretch(NamedTuple):
    """Slots without a long gap: where the first starts, and values (places, m), NaN if none."""

    start_s: int
    values: Floats


class Slots:
    """The grid of a log: its step is the commonest of the first ten thousand rows. [s]"""

    def __init__(self, places: int, path: str, limits: Limits) -> None:
        self.start_s = 0
        self.step_s = 0
        self._phase_s = 0
        self._path = path
        self._limits = limits
        self._early = Rows.none(places)
        self._rows = 0
        self._between = 0
        self._end_s = 0
        self._last_s: int | None = None
        self._apart_s, self._apart_rows = 0, 0

    def take(self, rows: Rows) -> Iterator[Stretch]:
        """The next rows, in order of time and one for each moment.

        Raises
        ------
        DataError
            for a step that changes or is too long, or more slots than there may be.
        """
        if not self.step_s:
            self._early = rows = self._early.then(rows)
            if len(rows) < _SETTLE_ROWS:
                return
            self._settle(rows)
        yield from self._placed(rows)

    def rest(self) -> Iterator[Stretch]:
        """What waited for the step to be known, at the end of a short file."""
        if not self.step_s:
            rows = self._early
            self._settle(rows)
            yield from self._placed(rows)
        slots = (self._end_s - self.start_s) // self.step_s
        if too_sparse(slots, self._rows, self.step_s):
            raise self._too_long(slots)

    def notes(self) -> list[str]:
        """What was left out."""
        if not self._between:
            return []
        left_out = counted(self._between, "row")
        return [f"{left_out} between two slots of {self.step_s} s: left out"]

    def _settle(self, rows: Rows) -> None:
        if len(rows) < 2:
            raise DataError("a single moment is no log", path=self._path)
        step = common_step(np.diff(rows.time_s))
        if step > _LONGEST_STEP_S:
            raise DataError(
                f"a step of {step} s: logs have up to 15 minutes",
                path=self._path,
                hint="Is it interval data? Then: loadlib usage add FILE.",
            )
        self._phase_s = common_step(rows.time_s % step)
        on = rows.time_s % step == self._phase_s
        self.step_s, self.start_s = step, int(rows.time_s[int(np.argmax(on))])
        self._early = rows.at(slice(0, 0))

    def _placed(self, rows: Rows) -> Iterator[Stretch]:
        if not len(rows):
            return
        self._refuse_new_step(rows)
        rows = self._on_grid(rows)
        if not len(rows):
            return
        self._rows += len(rows)
        slot = (rows.time_s - self.start_s) // self.step_s
        if slot[-1] >= self._limits.readings:
            raise self._too_long(int(slot[-1]) + 1)
        self._end_s = int(rows.time_s[-1]) + self.step_s
        cuts = np.flatnonzero(np.diff(slot) > _LONGEST_FILL) + 1
        for first, last in zip([0, *cuts], [*cuts, slot.size], strict=True):
            yield Stretch(int(rows.time_s[first]), _filled(slot[first:last], rows, first, last))

    def _refuse_new_step(self, rows: Rows) -> None:
        """DataError where many rows in a row stand as far apart as each other, but not a step."""
        before = self._last_s if self._last_s is not None else int(rows.time_s[0]) - self.step_s
        self._last_s = int(rows.time_s[-1])
        apart_s = np.diff(rows.time_s, prepend=before)
        if (apart_s == self.step_s).all():
            self._apart_rows = 0
            return
        first = np.flatnonzero(np.diff(apart_s, prepend=-1) != 0)
        length = np.diff(np.append(first, apart_s.size))
        length[0] += self._apart_rows if apart_s[0] == self._apart_s else 0
        new = np.flatnonzero((length >= _SAME_AGAIN) & (apart_s[first] != self.step_s))
        if new.size:
            at = int(first[new[0]])
            raise DataError(
                f"rows are {apart_s[at]} s apart from about here on; most others {self.step_s} s",
                path=self._path,
                line=int(rows.line[at]),
                hint=_CUT,
            )
        self._apart_s, self._apart_rows = int(apart_s[-1]), int(length[-1])

    def _on_grid(self, rows: Rows) -> Rows:
        on = rows.time_s % self.step_s == self._phase_s
        if on.all():
            return rows
        off = len(rows) - int(on.sum())
        if off > len(rows) // 2 and len(rows) >= _SETTLE_ROWS:
            raise DataError(
                f"rows no longer fall on the slots of {self.step_s} s of the rows before",
                path=self._path,
                line=int(rows.line[int(np.argmin(on))]),
                hint=_CUT,
            )
        self._between += off
        return rows.at(on)

    def _too_long(self, slots: int) -> DataError:
        return DataError(
            f"{counted(self._rows, 'row')} of {self.step_s} s, but {slots} slots from the first "
            "to the last",
            path=self._path,
            hint="A stamp is probably wrong; correct it, or split the file.",
        )


def _filled(slot: NDArray[np.int64], rows: Rows, first: int, last: int) -> Floats:
    """Values of rows ``first`` to ``last`` in their slots, shape (places, m)."""
    values = rows.values[:, first:last]
    size = int(slot[-1] - slot[0]) + 1
    if size == slot.size:
        return values
    filled = np.full((values.shape[0], size), np.nan)
    filled[:, slot - slot[0]] = values
    return filled
