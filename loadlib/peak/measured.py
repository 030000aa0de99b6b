"""What interval data say by themselves: the highest mean over a window, where, and its bound."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError
from loadlib.peak.periods import Interval

__all__ = ["Days", "Highest", "day_table", "highest", "run_means", "slots_in"]

Array = NDArray[np.float64]
COMPLETE = 0.97
"""Share of a day's slots that must be there for the day to count, as when the model was fitted."""


@dataclass(frozen=True, slots=True)
class Highest:
    """The highest mean over a window that was measured.

    ``peak_w`` is over any run of whole slots, ``clock_w`` over runs that start a whole number
    of windows after midnight, as utilities and studies count. A window that starts between
    two slots may have drawn more: at most ``floating_bound_w``, all the energy of the slots
    that it touches. None of it sees a start surge.
    """

    peak_w: float
    at: datetime
    clock_w: float
    floating_bound_w: float
    slots: int
    missing: int


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """Complete days: their dates, highest clock-window demand and mean, shape (n,). [kW]"""

    dates: tuple[date, ...]
    peak_kw: Array
    mean_kw: Array

    def between(self, first: date, after: date) -> NDArray[np.bool_]:
        """Which of the days lie from ``first`` up to, not including, ``after``, shape (n,)."""
        return np.array([first <= day < after for day in self.dates], dtype=bool)


def slots_in(interval: Interval, window_min: int) -> int:
    """Whole slots in a window.

    Raises
    ------
    InputError
        when the window is not a whole number of slots.
    """
    count, left = divmod(window_min * 60, interval.step_s)
    if left or count < 1:
        raise InputError(
            f"a window of {window_min} min is not a whole number of {interval.step_s} s slots",
            hint="Ask for a multiple of the step; below it only 15 and 30 min are calibrated.",
        )
    return count


def run_means(kwh: Array, count: int, window_h: float) -> Array:
    """Energy of each run of ``count`` slots over the window, shape (n − count + 1,). [kW]"""
    if kwh.size < count:
        return np.empty(0)
    gap = np.concatenate([[0], np.cumsum(np.isnan(kwh))])
    total = np.concatenate([[0.0], np.cumsum(np.nan_to_num(kwh))])
    means = (total[count:] - total[:-count]) / window_h
    means[gap[count:] > gap[:-count]] = np.nan
    found: Array = np.maximum(means, 0.0)
    return found


def highest(interval: Interval, window_min: int, first: date, after: date) -> Highest | None:
    """The highest measured mean between two days, or None when no window is complete."""
    count = slots_in(interval, window_min)
    low, high = interval.cut(first, after)
    kwh = interval.kwh[low:high]
    window_h = window_min / 60.0
    runs = run_means(kwh, count, window_h)
    if not np.isfinite(runs).any():
        return None
    best = int(np.nanargmax(runs))
    touched = interval.kwh[max(low - 1, 0) : high + 1]
    wider = run_means(touched, count + 1, window_h)
    bound = float(np.nanmax(wider)) if np.isfinite(wider).any() else float(runs[best])
    clock = _clock_highest(interval, count, window_h, first, after)
    return Highest(
        1000.0 * float(runs[best]),
        interval.at(low + best),
        1000.0 * (clock if clock is not None else float(runs[best])),
        1000.0 * max(bound, float(runs[best])),
        int(kwh.size),
        int(np.isnan(kwh).sum()),
    )


def _clock_highest(
    interval: Interval, count: int, window_h: float, first: date, after: date
) -> float | None:
    """Highest over windows counted from each midnight. [kW]"""
    found: float | None = None
    for day in interval.days():
        if first <= day < after:
            low, high = interval.cut(day, day + timedelta(days=1))
            blocks = _blocks(interval.kwh[low:high], count)
            whole = blocks[np.isfinite(blocks)]
            if whole.size:
                found = max(found or 0.0, float(whole.max()) / window_h)
    return found


def _blocks(kwh: Array, count: int) -> Array:
    """Energy of consecutive blocks of ``count`` slots; a rest at the end is left out."""
    whole = kwh.size // count * count
    blocks: Array = kwh[:whole].reshape(-1, count).sum(axis=1)
    return blocks


def day_table(interval: Interval, window_min: int) -> Days:
    """Every complete day with its highest clock-window demand and its mean."""
    count = slots_in(interval, window_min)
    dates, peaks, means = [], [], []
    for day in interval.days():
        low, high = interval.slot(day), interval.slot(day + timedelta(days=1))
        if low < 0 or high > interval.kwh.size:
            continue
        kwh = interval.kwh[low:high]
        blocks = _blocks(kwh, count)
        there = np.isfinite(kwh)
        if there.mean() < COMPLETE or not np.isfinite(blocks).any():
            continue
        dates.append(day)
        peaks.append(float(np.nanmax(blocks)) / (window_min / 60.0))
        means.append(float(kwh[there].mean()) * 3600.0 / interval.step_s)
    return Days(tuple(dates), np.array(peaks), np.array(means))
