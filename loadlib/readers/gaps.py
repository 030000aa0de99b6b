"""Missing slots of a grid counted stretch by stretch, and the longest gaps named."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from loadlib.readers.remarks import counted

__all__ = ["Gaps"]

_SHOWN = 3

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Gaps:
    """Counts what is missing from the slot that starts at ``start_s`` on. [s]"""

    def __init__(self, start_s: int, step_s: int) -> None:
        self._start_s = start_s
        self._step_s = step_s
        self._slots = 0
        self._missing = 0
        self._count = 0
        self._longest: list[tuple[int, int]] = []
        self._last = (0, 0)  # from slot to slot; the next stretch may lengthen it

    def take(self, start_s: int, values: Floats) -> None:
        """The next stretch, shape (n,); NaN is missing, and so is what lies before it."""
        first = (start_s - self._start_s) // self._step_s
        edges = np.diff(np.concatenate(([0], np.isnan(values).astype(np.int8), [0])))
        inside = first + np.flatnonzero(edges == 1), first + np.flatnonzero(edges == -1)
        begins = np.concatenate(([self._last[0], self._slots], inside[0]))
        ends = np.concatenate(([self._last[1], first], inside[1]))
        begins, ends = _joined(begins, ends)
        self._slots = first + values.size
        if begins.size:
            self._last = int(begins[-1]), int(ends[-1])
            self._add(begins[:-1], ends[:-1])

    def _add(self, begins: Ints, ends: Ints) -> None:
        length = ends - begins
        self._missing += int(length.sum())
        self._count += length.size
        longest = np.argsort(-length, kind="stable")[:_SHOWN]
        found = [(-int(length[at]), int(begins[at])) for at in longest]
        self._longest = sorted(self._longest + found)[:_SHOWN]

    def notes(self, write: Callable[[int], str]) -> list[str]:
        """A remark when slots are missing; ``write`` makes a text of epoch seconds."""
        begin, end = self._last
        if end == begin:
            return []
        missing, count = self._missing + end - begin, self._count + 1
        longest = sorted([*self._longest, (begin - end, begin)])[:_SHOWN]
        shown = "; ".join(
            f"{_lasting(-length * self._step_s)} from {write(self._start_s + at * self._step_s)}"
            for length, at in longest
        )
        return [
            f"{missing} of {self._slots} slots missing in {counted(count, 'gap')}, "
            f"not filled; longest: {shown}"
        ]


def _lasting(length_s: int) -> str:
    """How long a gap is: in seconds below a minute, in minutes below an hour, else in hours."""
    if length_s < 60:
        return f"{length_s} s"
    if length_s < 3600:
        return f"{length_s / 60:.3g} min"
    return f"{float(f'{length_s / 3600:.3g}'):,.10g} h"


def _joined(begins: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """Gaps without the empty ones; those that touch are one."""
    real = ends > begins
    begins, ends = begins[real], ends[real]
    apart = begins[1:] > ends[:-1]
    first, last = np.append(True, apart), np.append(apart, True)
    return (begins[first], ends[last]) if begins.size else (begins, ends)
