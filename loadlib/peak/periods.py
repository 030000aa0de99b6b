"""Billing periods and interval data, checked once, so that the rest can rely on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from itertools import pairwise
from numbers import Real

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError

__all__ = ["Interval", "Period", "checked_periods", "moment_of"]

Array = NDArray[np.float64]
Period = tuple[date, date, float]
"""First day, the day after the last, and the energy between them. [kWh]"""

DAY_S = 86_400
FORM = "Give (first day, day after the last, kWh) for each."
MOST_KW = 1_000.0
"""A megawatt on average: no house, whatever the unit was meant to be."""
YEARS = range(1900, 2200)
NOTHING_KWH = 1e-9
"""What arithmetic with floats leaves of a zero."""
LONGEST_DAYS = 800
"""A single period of more than two years is a slip of the pen."""


def checked_periods(periods: Sequence[Period]) -> tuple[Period, ...]:
    """The same periods in order of time.

    Raises
    ------
    InputError
        when there is none, one is empty or runs backwards, two overlap, or an energy is
        negative, not a number or no house's.
    """
    try:
        given = list(periods)
    except TypeError:
        raise InputError(f"{periods!r} are no billing periods", hint=FORM) from None
    found = tuple(sorted((_checked(period) for period in given), key=lambda p: p[:2]))
    if not found:
        raise InputError("no billing period given", hint=FORM)
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
            hint=FORM,
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
    if energy > MOST_KW * 24.0 * days:
        raise InputError(
            f"billing period {first} to {after}: {energy:.3g} kWh is no house",
            hint="Energies are in kWh.",
        )
    return first, after, energy


def _day(value: object) -> date:
    moment = moment_of(value)
    if isinstance(moment, datetime):
        return moment.date()
    if moment is None:
        raise InputError(f"{value!r} is not a date", hint="Give a datetime.date.")
    return moment


def moment_of(value: object) -> date | None:
    """A date or datetime from one, from numpy's or from ISO 8601 text; None for anything else."""
    if isinstance(value, np.datetime64):
        value = value.astype("datetime64[us]").item()
    elif isinstance(value, str):
        try:
            value = datetime.fromisoformat(value)
        except ValueError:
            return None
    return value if isinstance(value, date) else None


def _numbers(values: object) -> Array:
    """Values as numbers, shape as given, NaN for None and where masked."""
    try:
        if isinstance(values, np.ma.MaskedArray):
            values = np.ma.filled(values.astype(np.float64), np.nan)
        return np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError("interval data: not all energies are numbers") from None


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
        if self.start.year not in YEARS:
            raise InputError(f"interval data: start {self.start}", hint="Is the year right?")
        if not isinstance(self.step_s, Real) or not 0 < self.step_s == int(self.step_s):
            raise InputError(f"interval data: step {self.step_s!r} s", hint="Give whole seconds.")
        kwh = _numbers(self.kwh)
        if kwh.ndim != 1 or kwh.size == 0:
            raise InputError(f"interval data: shape {kwh.shape}, expected one column of energies")
        if np.isnan(kwh).all():
            raise InputError("interval data: every slot is missing")
        bad = np.flatnonzero(np.isinf(kwh) | (kwh < -NOTHING_KWH))
        if bad.size:
            raise InputError(
                f"interval data: slot {int(bad[0])} holds {kwh[bad[0]]:g} kWh "
                f"({bad.size} such in all)",
                hint="Demand is import only: keep export apart, or add generation back first.",
            )
        most = float(np.nanmax(kwh)) * 3600.0 / self.step_s
        if most > MOST_KW:
            raise InputError(f"interval data: {most:.3g} kW is no house", hint="Energies are kWh.")
        object.__setattr__(self, "step_s", int(self.step_s))
        object.__setattr__(self, "kwh", np.maximum(kwh, 0.0))

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
