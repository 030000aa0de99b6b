"""Outage case: when, how long, how cold, and what the household does differently.

Averages over a month understate an ice storm, so check, plan and fuel share a case. It
reshapes duty and starts; it adds no load.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.engine import InputError, Load, LoadProfile, NotFound, Range

__all__ = ["Habit", "HotWater", "OutageCase", "Pit", "default_case", "loads_in_case", "matching"]

_BALANCE_C = (65.0 - 32.0) / 1.8
"""Heating degree days are counted from 65 °F (ASHRAE practice)."""


@dataclass(frozen=True, slots=True)
class Habit:
    """Loads named by id, name, category, room or circuit, used ``factor`` times as much."""

    loads: tuple[str, ...]
    factor: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.factor <= 100.0:
            raise InputError(f"habit factor {self.factor:g}", hint="0 for not at all, 1 as usual.")


@dataclass(frozen=True, slots=True)
class HotWater:
    """Hot water drawn from a heater while the power was off; ``heater`` names the load.

    ``drawn_gal`` US gallons, to be warmed by ``rise_f`` again [°F]; ``cop`` is heat given over
    energy drawn, 1 for an element, more for a heat pump.
    """

    heater: str
    drawn_gal: float
    rise_f: float
    cop: float = 1.0

    def __post_init__(self) -> None:
        if not (self.drawn_gal >= 0.0 and self.rise_f >= 0.0 and self.cop > 0.0):
            raise InputError(
                f"hot water: {self.drawn_gal:g} gal warmed by {self.rise_f:g} °F at a COP of "
                f"{self.cop:g}"
            )


@dataclass(frozen=True, slots=True)
class Pit:
    """A pit that water runs into whether the power is on or not; ``pump`` names the load.

    ``inflow_per_h`` and ``pump_per_h`` in one unit of water an hour, ``room`` in the same
    unit: what the pit takes from where the pump stops up to where it runs over.
    """

    pump: str
    inflow_per_h: float
    pump_per_h: float
    room: float = math.inf

    def __post_init__(self) -> None:
        if not (self.inflow_per_h >= 0.0 and self.pump_per_h > 0.0 and self.room >= 0.0):
            raise InputError(
                f"pit of {self.pump}: {self.inflow_per_h:g} an hour in, {self.pump_per_h:g} out, "
                f"room for {self.room:g}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class OutageCase:
    """An outage to plan for.

    ``start`` is local clock time when the source takes over; ``length_h`` how long it has to
    last; ``off_h`` how long the house has been without power by then. With ``outdoor_c`` and
    ``usual_outdoor_c`` (both mean air temperatures) loads named in ``heating`` work harder in
    proportion to degree days below 18.3 °C. ``must`` and ``leave_off`` override priorities.
    ``hot_water`` and ``pits`` say what is to be made up for when power returns.
    """

    name: str = "outage"
    start: datetime
    length_h: float = 24.0
    off_h: float = 1.0
    outdoor_c: float | None = None
    usual_outdoor_c: float | None = None
    heating: tuple[str, ...] = ()
    habits: tuple[Habit, ...] = ()
    must: tuple[str, ...] = ()
    leave_off: tuple[str, ...] = ()
    night: tuple[int, int] = (22, 6)
    hot_water: tuple[HotWater, ...] = ()
    pits: tuple[Pit, ...] = ()

    def __post_init__(self) -> None:
        if not 0.0 < self.length_h <= 24.0 * 60.0:
            raise InputError(f"outage of {self.length_h:g} h", hint="Up to 60 days.")
        if self.off_h < 0.0:
            raise InputError(f"without power for {self.off_h:g} h")

    @property
    def hours(self) -> NDArray[np.int64]:
        """Month-hour of each clock hour that the outage touches: (month − 1)·24 + hour."""
        first = self.start.replace(minute=0, second=0, microsecond=0)
        ends = self.start + timedelta(hours=self.length_h)
        count = max(1, int(np.ceil((ends - first) / timedelta(hours=1) - 1e-9)))
        times = (first + timedelta(hours=k) for k in range(count))
        return np.array([(t.month - 1) * 24 + t.hour for t in times], dtype=np.int64)

    @property
    def night_hours(self) -> NDArray[np.int64]:
        """Month-hours of one night of the month in which the outage starts."""
        first, last = self.night
        span = (last - first) % 24 or 24
        month = (self.start.month - 1) * 24
        return np.array([month + (first + k) % 24 for k in range(span)], dtype=np.int64)

    def heating_factor(self) -> float:
        """How much harder heating works than usual, by degree days; 1 if not known."""
        if self.outdoor_c is None or self.usual_outdoor_c is None:
            return 1.0
        usual = max(_BALANCE_C - self.usual_outdoor_c, 1.0)
        return max(_BALANCE_C - self.outdoor_c, 0.0) / usual

    def words(self) -> str:
        """The case in one line."""
        cold = "" if self.outdoor_c is None else f", {self.outdoor_c * 1.8 + 32.0:.0f} °F outside"
        return (
            f"{self.name}: from {self.start:%d %b %H:%M} for {self.length_h:g} h{cold}, "
            f"{self.off_h:g} h without power before."
        )


def default_case(profile: LoadProfile) -> OutageCase:
    """A day in the month that needs most energy: the case when none is given."""
    by_month = profile.energy_wh_by_month
    month = 1 + int(np.argmax([x.typical for x in by_month])) if by_month else 1
    return OutageCase(
        name=f"no case given: a day in month {month}, the one that needs most energy",
        start=datetime(2027, month, 15, 18, 0),
    )


def matching(loads: Iterable[Load], word: str) -> list[Load]:
    """Loads whose id, name, category, room or circuit is ``word``, else contains it."""
    key = word.strip().casefold()
    rows = [
        (x, [y.casefold() for y in (x.id, x.name, x.category, x.room, x.circuit)]) for x in loads
    ]
    exact = [load for load, fields in rows if key in fields]
    return exact or [load for load, fields in rows if key and any(key in y for y in fields)]


def loads_in_case(profile: LoadProfile, case: OutageCase) -> tuple[Load, ...]:
    """The loads of the profile as the case has them.

    Raises NotFound for a habit or wish about something the house does not have.
    """
    factors = dict.fromkeys((load.id for load in profile.loads), 1.0)
    for habit in case.habits:
        for word in habit.loads:
            for load in _some(profile, word):
                factors[load.id] *= habit.factor
    for word in case.heating:
        for load in _some(profile, word):
            factors[load.id] *= case.heating_factor()
    return tuple(
        _at_outdoor(_used(load, factors[load.id]), case.outdoor_c) for load in profile.loads
    )


def _some(profile: LoadProfile, word: str) -> list[Load]:
    found = matching(profile.loads, word)
    if not found:
        raise NotFound("load", word, near=tuple(load.name for load in profile.loads)[:8])
    return found


def _used(load: Load, factor: float) -> Load:
    """Used ``factor`` times as much: duty is cut off at always on."""
    if factor == 1.0:
        return load
    duty = tuple(tuple(min(x * factor, 1.0) for x in month) for month in load.duty)
    starts = tuple(tuple(x * factor for x in month) for month in load.starts_per_h)
    return load.with_(duty=duty, starts_per_h=starts)


def _at_outdoor(load: Load, outdoor_c: float | None) -> Load:
    """Running power at the case's temperature where the load has such a curve."""
    if outdoor_c is None or not load.outdoor_w or load.running_w.typical <= 0.0:
        return load
    temperatures, powers = zip(*sorted(load.outdoor_w), strict=True)
    there_w = float(np.interp(outdoor_c, temperatures, powers))
    scaled: Range = load.running_w.scaled(there_w / load.running_w.typical)
    return load.with_(running_w=scaled)
