"""Single readings placed on a regular grid: sorted, counted, never filled in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError
from loadlib.readers.gaps import Gaps
from loadlib.readers.limits import LIMITS, Limits
from loadlib.readers.remarks import counted

__all__ = [
    "Grid",
    "common_step",
    "contradictory",
    "place",
    "register_to_power",
    "stamp_text",
    "too_sparse",
]

_SHOWN = 3

# More contradictions than this are not revised readings but another meter.
_FEW = 10
_CONTRADICTING = 0.02

# Fewer readings than one in so many slots, over more than five years, is a slip in a stamp.
_SPARSE = 10
_LONG_GAP_S = 5 * 366 * 86_400

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Mean power on a regular grid, and what was counted on the way.

    ``mean_w`` has shape (n,), NaN where no reading was; its first slot starts at
    ``start_s``. [s]
    """

    start_s: int
    step_s: int
    mean_w: Floats
    notes: tuple[str, ...] = ()


def common_step(duration_s: Ints) -> int:
    """The most common duration; of equally common ones the shortest. [s]"""
    if (duration_s == duration_s[0]).all():
        return int(duration_s[0])
    ordered = np.sort(duration_s)
    first = np.flatnonzero(np.append(True, np.diff(ordered) > 0))
    counts = np.diff(np.append(first, ordered.size))
    return int(ordered[first[np.argmax(counts)]])


def contradictory(differing: int, among: int) -> bool:
    """Whether so many values differ from another of the same time that they are not revisions."""
    return differing > max(min(_FEW, among // 2), _CONTRADICTING * among)


def too_sparse(slots: int, readings: int, step_s: int) -> bool:
    """Whether so few readings in so many slots are a slip in a stamp, not gaps."""
    return slots > max(_SPARSE * readings, _LONG_GAP_S // step_s)


def place(
    start_s: Ints,
    duration_s: Ints,
    mean_w: Floats,
    *,
    zone: str = "",
    limits: Limits = LIMITS,
    path: str = "",
) -> Grid:
    """Put readings onto a grid as long as the most common duration.

    Parameters
    ----------
    start_s : NDArray
        UTC epoch seconds, shape (n,), in the order of the file. [s]
    duration_s : NDArray
        shape (n,). [s]
    mean_w : NDArray
        mean power over each reading, shape (n,), NaN for a blank. [W]
    zone : str
        IANA name used to write times in remarks; UTC when empty.

    Raises
    ------
    DataError
        when there is no reading, when many readings contradict one another, or when the grid
        would be longer than ``limits.readings``.

    Notes
    -----
    The same start twice: equal values are one reading, different values are a contradiction
    and the later in the file stands. Readings of another length, or between two slots, are
    left out. Each case is counted in the remarks.
    """
    if start_s.size == 0:
        raise DataError("no readings", path=path or None)
    write = stamp_text(zone)
    notes: list[str] = []
    step = common_step(duration_s)
    start_s, mean_w = _right_length(start_s, duration_s, mean_w, step, notes)
    start_s, mean_w = _one_each(start_s, mean_w, write, notes, path)
    start_s, mean_w = _on_grid(start_s, mean_w, step, notes)
    first = int(start_s[0])
    slots = (int(start_s[-1]) - first) // step + 1
    if slots > limits.readings or too_sparse(slots, start_s.size, step):
        raise DataError(
            f"{counted(start_s.size, 'reading')} from {write(first)} to "
            f"{write(int(start_s[-1]))}, where {slots} would be",
            path=path or None,
            hint="A stamp is probably wrong; correct it, or split the file.",
        )
    values = np.full(slots, np.nan)
    values[(start_s - first) // step] = mean_w
    gaps = Gaps(first, step)
    gaps.take(first, values)
    notes += gaps.notes(write)
    return Grid(first, step, values, tuple(notes))


def register_to_power(
    end_s: Ints, register_wh: Floats, zone: str = ""
) -> tuple[Ints, Ints, Floats, list[str]]:
    """Dial readings to start, duration and mean power between them. [s], [s], [W]

    ``register_wh`` is what stood on the dial at ``end_s``, shape (n,). A dial that went back
    (reset, exchange of the meter, roll-over) gives a blank, since what was used meanwhile is
    not known.
    """
    write = stamp_text(zone)
    order = np.argsort(end_s, kind="stable")
    end_s, register_wh = end_s[order], register_wh[order]
    keep = np.append(np.diff(end_s) > 0, True)
    end_s, register_wh = end_s[keep], register_wh[keep]
    duration = np.diff(end_s)
    with np.errstate(invalid="ignore"):
        used_wh = np.diff(register_wh)
        back = used_wh < 0
    notes = []
    if back.any():
        where = ", ".join(write(int(moment)) for moment in end_s[1:][back][:_SHOWN])
        notes.append(
            f"register went back {counted(int(back.sum()), 'time')} (reset, new meter or "
            f"roll-over), at {where}: the energy meanwhile is left out"
        )
    if not keep.all():
        notes.append(
            f"{counted(int((~keep).sum()), 'dial reading')} at a time already read: last kept"
        )
    used_wh = np.where(back, np.nan, used_wh)
    return end_s[:-1], duration, used_wh * 3600.0 / np.maximum(duration, 1), notes


def stamp_text(zone: str) -> Callable[[int], str]:
    """A function that writes epoch seconds as local time with offset, or as UTC."""
    where = ZoneInfo(zone) if zone else UTC

    def write(epoch_s: int) -> str:
        return datetime.fromtimestamp(epoch_s, where).isoformat(" ", "minutes")

    return write


def _right_length(
    start_s: Ints, duration_s: Ints, mean_w: Floats, step: int, notes: list[str]
) -> tuple[Ints, Floats]:
    fits = duration_s == step
    if fits.all():
        return start_s, mean_w
    others = sorted({int(length) for length in duration_s[~fits]})[:_SHOWN]
    lengths = ", ".join(f"{length} s" for length in others)
    notes.append(
        f"{counted(int((~fits).sum()), 'reading')} of {lengths} instead of {step} s: left out, "
        "since they can't be split without inventing"
    )
    return start_s[fits], mean_w[fits]


def _one_each(
    start_s: Ints, mean_w: Floats, write: Callable[[int], str], notes: list[str], path: str
) -> tuple[Ints, Floats]:
    """Sort by start; of readings with the same start the last in the file stands."""
    ahead = np.diff(start_s)
    if (ahead > 0).all():
        return start_s, mean_w
    if (ahead < 0).any():
        notes.append("readings were not in order of time: sorted")
        order = np.argsort(start_s, kind="stable")
        start_s, mean_w = start_s[order], mean_w[order]
    last = np.append(np.diff(start_s) > 0, True)
    if not last.all():
        again = np.flatnonzero(~last)
        differ = again[~np.isclose(mean_w[again], mean_w[again + 1], rtol=1e-9, equal_nan=True)]
        notes.append(f"{counted(again.size, 'reading')} stood twice: counted once")
        if contradictory(differ.size, start_s.size):
            raise DataError(
                f"{differ.size} of {start_s.size} readings contradict another at the same time, "
                f"first at {write(int(start_s[differ[0]]))}",
                path=path or None,
                hint="Several meters in one file? Name the column that tells them apart (meter).",
            )
        if differ.size:
            shown = "; ".join(
                f"{write(int(start_s[at]))}: {mean_w[at]:.6g} W, then {mean_w[at + 1]:.6g} W"
                for at in differ[:_SHOWN]
            )
            notes.append(
                f"{differ.size} of them with two values, the later in the file stands: {shown}"
            )
    return start_s[last], mean_w[last]


def _on_grid(start_s: Ints, mean_w: Floats, step: int, notes: list[str]) -> tuple[Ints, Floats]:
    phase = start_s % step
    if (phase == phase[0]).all():
        return start_s, mean_w
    on = phase == common_step(phase)
    notes.append(f"{counted(int((~on).sum()), 'reading')} between two slots of {step} s: left out")
    return start_s[on], mean_w[on]
