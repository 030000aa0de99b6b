"""Fuel and time: hours on a tank or a battery, refills, and what a smaller list saves.

The range comes from belief about the energy of the period, not from the demand of a moment:
over hours the ups and downs of thermostats average out, over nights what we do not know
stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.battery import autonomy_range_h, charging_share, usable_kwh
from loadlib_standby.case import OutageCase
from loadlib_standby.engine import InputError, Load, Range
from loadlib_standby.fuel import FuelLine
from loadlib_standby.setting import Setting
from loadlib_standby.source import Battery, Generator

__all__ = ["Endurance", "FuelPeriod", "endurance", "mean_w", "saving"]

_DRAWS = 2000
_RESERVE = 0.1
"""Refill before the last tenth: a set that runs dry under load may be damaged (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class FuelPeriod:
    """A period with its energy and fuel (None without a generator)."""

    name: str
    hours_h: float
    energy_wh: Range
    fuel: Range | None


@dataclass(frozen=True, slots=True)
class Endurance:
    """How long it lasts. ``tank_h`` hours on a full tank; ``refills`` the times by which to
    refill, reckoned with the high consumption; ``battery_h`` hours on the battery alone;
    ``set_share`` the share of time that a charging set has to run."""

    mean_w: Range
    unit: str
    tank_h: Range | None
    per_kwh: Range | None
    periods: tuple[FuelPeriod, ...]
    refills: tuple[datetime, ...]
    battery_h: Range | None
    set_share: Range | None
    notes: tuple[str, ...]


def mean_w(loads: Sequence[Load], hours: NDArray[np.int64], seed: int = 1) -> Range:
    """Belief about the mean demand of ``loads`` over month-hours ``hours``. [W]

    Running power and the factor on duty are drawn for each load; duty is cut off at always
    on. Standby is drawn while off.
    """
    rng = np.random.default_rng(seed)
    total = np.zeros(_DRAWS)
    for load in loads:
        duty = load.duty_array().ravel()[hours]
        factor = load.duty_belief.sample(rng, _DRAWS)
        share = np.minimum(np.outer(factor, duty), 1.0).mean(axis=1)
        running_w = load.running_w.sample(rng, _DRAWS)
        standby_w = load.standby_w.sample(rng, _DRAWS)
        total += load.count * (share * running_w + (1.0 - share) * standby_w)
    return Range.of_samples(total)


def endurance(setting: Setting, chosen: Sequence[int], *, seed: int = 1) -> Endurance:
    """Fuel and time for the branches at ``chosen`` over the case.

    Raises InputError when the source file has no tank and fuel points, and no battery.
    """
    loads = setting.loads_on(chosen)
    mean = mean_w(loads, setting.case.hours, seed)
    battery, generator = setting.source.battery, setting.source.generator
    battery_h = _battery_h(battery, mean)
    if generator is None or generator.line is None:
        if battery_h is None:
            raise InputError(
                "the source file has no fuel use",
                hint="Add two [[generator.fuel_use]] points from the set's data sheet.",
            )
        periods = _periods(setting, loads, None, None, seed)
        return Endurance(mean, "", None, None, periods, (), battery_h, None, ())
    set_w, share = _set_load(generator, battery, mean)
    line, notes = generator.line, []
    beyond = line.beyond(set_w.typical)
    if beyond:
        notes.append(beyond)
    if generator.fuel == "propane" and _freezing(setting):
        notes.append(
            "Propane gives off less gas in the cold and from a small or low cylinder: the set may "
            "starve before the cylinder is empty."
        )
    tank_h = _tank_h(generator, set_w, share)
    return Endurance(
        mean_w=mean,
        unit=line.unit,
        tank_h=tank_h,
        per_kwh=_per_kwh(line, set_w),
        periods=_periods(setting, loads, generator, battery, seed),
        refills=_refills(setting.case, tank_h),
        battery_h=battery_h,
        set_share=share,
        notes=tuple(notes),
    )


def _freezing(setting: Setting) -> bool:
    """At or below 32 °F by the case, else by the source's site."""
    outdoor_c = setting.case.outdoor_c
    if outdoor_c is None:
        outdoor_c = (setting.source.site.outdoor_f - 32.0) / 1.8
    return outdoor_c <= 0.0


def saving(setting: Setting, chosen: Sequence[int], smaller: Sequence[int]) -> tuple[Range, Range]:
    """Mean watts of a smaller list, and the fuel a day that it saves at typical demand.

    The saving is what the line gives, or less where it is bounded only (below the lower of the
    two fuel points). Raises InputError without fuel points.
    """
    generator = setting.source.generator
    if generator is None or generator.line is None:
        raise InputError("the source file has no fuel use")
    hours = setting.case.hours
    before = mean_w(setting.loads_on(chosen), hours)
    after = mean_w(setting.loads_on(smaller), hours)
    line = generator.line
    rates = [line.rate_per_h(x.typical) for x in (before, after)]
    floor = line.rate_per_h(line.low_w)
    most = rates[0] - rates[1]
    least = max(rates[0], floor) - max(rates[1], floor)
    return after, Range(least, (least + most) / 2.0, most).scaled(24.0)


def _battery_h(battery: Battery | None, mean: Range) -> Range | None:
    if battery is None:
        return None
    usable = usable_kwh(battery.capacity_kwh, battery.usable_share, battery.efficiency)
    return autonomy_range_h(usable, mean, battery.idle_w)


def _set_load(
    generator: Generator, battery: Battery | None, mean: Range
) -> tuple[Range, Range | None]:
    """Load of the running set, and the share of time that it runs (None: always).

    With a battery the set runs at its charging power until it has put back what the inverter
    took, losses included.
    """
    if battery is None or battery.charge_w is None:
        return mean, None
    charge_w = min(battery.charge_w, generator.running_w)
    shares = (
        charging_share(x, charge_w, battery.efficiency, battery.idle_w)
        for x in (mean.low, mean.typical, mean.high)
    )
    return Range.exact(charge_w), Range(*shares)


def _per_kwh(line: FuelLine, set_w: Range) -> Range:
    """Fuel per kWh at the typical load, between the bounds of its burn."""
    rate = line.rate_range(Range.exact(set_w.typical))
    return rate.scaled(1000.0 / set_w.typical)


def _tank_h(generator: Generator, set_w: Range, share: Range | None) -> Range | None:
    """Clock hours on a full tank; longer where the set runs part of the time. [h]"""
    if generator.tank is None or generator.line is None:
        return None
    running_h = generator.line.hours_per_tank(generator.tank * generator.usable_share, set_w)
    if share is None or share.low <= 0.0:
        return running_h
    hours = (running_h.low, running_h.typical, running_h.high)
    shares = (share.high, share.typical, share.low)
    return Range(*(x / y for x, y in zip(hours, shares, strict=True)))


def _periods(
    setting: Setting,
    loads: Sequence[Load],
    generator: Generator | None,
    battery: Battery | None,
    seed: int,
) -> tuple[FuelPeriod, ...]:
    case = setting.case
    night, day = case.night_hours, case.hours
    spans = [
        ("a night", float(len(night)), night),
        ("three days", 72.0, day),
        ("a week", 168.0, day),
        (case.name, case.length_h, day),
    ]
    found = []
    for name, hours_h, hours in spans:
        mean = mean_w(loads, hours, seed)
        found.append(
            FuelPeriod(
                name, hours_h, mean.scaled(hours_h), _fuel(generator, battery, mean, hours_h)
            )
        )
    return tuple(found)


def _fuel(
    generator: Generator | None, battery: Battery | None, mean: Range, hours_h: float
) -> Range | None:
    if generator is None or generator.line is None:
        return None
    set_w, share = _set_load(generator, battery, mean)
    if share is None:
        return generator.line.used_range(hours_h, set_w.scaled(hours_h))
    rate = generator.line.rate_range(set_w)
    ends = ((share.low, rate.low), (share.typical, rate.typical), (share.high, rate.high))
    return Range(*(hours_h * x * y for x, y in ends))


def _refills(case: OutageCase, tank_h: Range | None) -> tuple[datetime, ...]:
    """Times by which to refill, at the high consumption and with a tenth in reserve."""
    if tank_h is None:
        return ()
    step_h = tank_h.low * (1.0 - _RESERVE)
    count = min(int(case.length_h // step_h), 60)
    return tuple(case.start + timedelta(hours=step_h * (k + 1)) for k in range(count))
