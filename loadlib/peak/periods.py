"""Billing periods and interval data, checked once, so that the rest can rely on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError

__all__ = ["Interval", "Period", "checked_periods"]

Array = NDArray[np.float64]
Period = tuple[date, date, float]
"""First day, the day after the last, and the energy between them. [kWh]"""

DAY_S = 86_400
LONGEST_DAYS = 800
"""A single period of more than two years is a slip of the pen."""


def checked_periods(periods: Sequence[Period]) -> tuple[Period, ...]:
    """The same periods in order of time.

    Raises
    ------
    InputError
        when there is none, one is empty or runs backwards, two overlap, or an energy is
        negative or not a number.
    """
    found = tuple(sorted((_checked(period) for period in periods), key=lambda p: p[:2]))
    if not found:
        raise InputError("no billing period given", hint="Give first day, day after, kWh.")
    for before, after in pairwise(found):
        if after[0] < before[1]:
            raise InputError(
                f"billing periods overlap: {before[0]} to {before[1]} and {after[0]} to {after[1]}",
                hint="The second date is the day after the last; it may equal the next first day.",
            )
    return found


def _checked(period: Period) -> Period:
    try:
        first, after, kwh = period
        energy = float(kwh)
    except (TypeError, ValueError):
        raise InputError(
            f"billing period {period!r} is not understood",
            hint="Give (first day, day after the last, kWh).",
        ) from None
    first, after = _day(first), _day(after)
    days = (after - first).days
    if days <= 0:
        raise InputError(
            f"billing period {first} to {after} holds no day",
            hint="The second date is the day after the last day of the period.",
        )
    if days > LONGEST_DAYS:
        raise InputError(f"billing period {first} to {after} is {days} days long")
    if not math.isfinite(energy) or energy < 0.0:
        raise InputError(
            f"billing period {first} to {after}: energy is {energy:g} kWh",
            hint="Give what was drawn from the grid; what was fed in is kept apart.",
        )
    return first, after, energy


def _day(value: object) -> date:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    raise InputError(f"{value!r} is not a date", hint="Give a datetime.date.")


@dataclass(frozen=True, slots=True, eq=False)
class Interval:
    """Interval data: the energy of each slot on a regular grid.

    Parameters
    ----------
    start : datetime
        aware; the first slot's start. Its time zone says where days and months begin.
    step_s : int
        slot length. [s]
    kwh : NDArray
        energy of each slot, shape (n,), NaN where missing. [kWh]

    Raises
    ------
    InputError
        naive start, step not positive, wrong shape, negative or infinite energy, nothing there.
    """

    start: datetime
    step_s: int
    kwh: Array

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.start.utcoffset() is None:
            raise InputError(
                f"interval data: start {self.start} has no time zone",
                hint="Give an aware datetime, so that days and months are those of the house.",
            )
        if self.step_s <= 0 or int(self.step_s) != self.step_s:
            raise InputError(f"interval data: step {self.step_s} s", hint="Give whole seconds.")
        kwh = np.asarray(self.kwh, dtype=np.float64)
        if kwh.ndim != 1 or kwh.size == 0:
            raise InputError(f"interval data: shape {kwh.shape}, expected one column of energies")
        if np.isnan(kwh).all():
            raise InputError("interval data: every slot is missing")
        bad = np.flatnonzero(np.isinf(kwh) | (kwh < 0.0))
        if bad.size:
            raise InputError(
                f"interval data: slot {int(bad[0])} holds {kwh[bad[0]]:g} kWh "
                f"({bad.size} such in all)",
                hint="Demand is import only: keep export apart, or add generation back first.",
            )
        object.__setattr__(self, "step_s", int(self.step_s))
        object.__setattr__(self, "kwh", kwh)

    @property
    def zone(self) -> tzinfo:
        """The time zone of the house."""
        zone = self.start.tzinfo
        assert zone is not None  # checked above
        return zone

    @property
    def end(self) -> datetime:
        """End of the last slot."""
        return self.at(self.kwh.size)

    def at(self, slot: int) -> datetime:
        """Start of a slot, in the time zone of the house."""
        instant = self.start.astimezone(UTC) + timedelta(seconds=slot * self.step_s)
        return instant.astimezone(self.zone)

    def slot(self, day: date) -> int:
        """Index of the first slot that starts at or after a day's midnight; may lie outside."""
        midnight = datetime(day.year, day.month, day.day, tzinfo=self.zone)
        seconds = (midnight.astimezone(UTC) - self.start.astimezone(UTC)).total_seconds()
        return math.ceil(seconds / self.step_s)

    def days(self) -> list[date]:
        """Every day that the data touch, in order."""
        first, last = self.start.date(), self.at(self.kwh.size - 1).date()
        return [first + timedelta(days=k) for k in range((last - first).days + 1)]

    def cut(self, first: date, after: date) -> tuple[int, int]:
        """Slots from a first day up to, not including, another; cut to the data."""
        bounds = (min(max(self.slot(day), 0), self.kwh.size) for day in (first, after))
        low, high = bounds
        return low, high
