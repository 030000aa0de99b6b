"""Fuel: the Willans line, hours per tank, cans, heat content.

Fuel used = idle rate × hours + fuel per kWh × energy delivered. A set burns fuel while it
only turns, so half the load is not half the fuel. Two points of the set's data sheet give
the line between them. Beyond them it is not simply stretched: below the lower point the burn
is given as bounds. It rises with load, so it is no more than at that point; and the curve of
an engine at one speed bends upwards, so it is no less than the stretched line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from loadlib_standby.energy import BTU_PER_WH
from loadlib_standby.engine import InputError, Range
from loadlib_standby.tables import find, number

__all__ = [
    "KW_PER_HP",
    "L_PER_GAL",
    "FuelLine",
    "bsfc_rate",
    "cans",
    "cost_per_kwh",
    "days_of_fuel",
    "efficiency_from_bsfc",
    "fuel_for_blocks",
    "fuel_rate_per_h",
    "heat_btu",
    "heat_kwh",
    "rate_from_run_time",
    "run_time_h",
    "set_efficiency",
    "volume_of_mass_gal",
]

L_PER_GAL = 3.785411784
"""US gallon in litres, exact."""

KW_PER_HP = 0.745699872
"""1 hp (mechanical) in kW."""


@dataclass(frozen=True, slots=True)
class FuelLine:
    """Fuel per hour against load: ``idle_per_h`` + ``per_kwh`` × kW, in the set's fuel unit.

    ``low_w`` and ``high_w`` are the loads of the two points; ``unit`` is ``"gal"``, ``"L"``
    or another unit of volume or mass.
    """

    idle_per_h: float
    per_kwh: float
    low_w: float
    high_w: float
    unit: str = "gal"

    @classmethod
    def through(cls, points: Sequence[tuple[float, float]], unit: str = "gal") -> FuelLine:
        """The line through two points (load W, fuel per hour).

        Raises InputError for one point, equal loads, a rate that falls with load or an idle
        rate below zero: such a pair is a misprint or belongs to two sets.

        >>> line = FuelLine.through([(3600, 0.50), (7200, 0.80)])
        >>> round(line.idle_per_h, 3), round(line.rate_per_h(5400), 3)
        (0.2, 0.65)
        """
        if len(points) != 2:
            raise InputError(
                f"{len(points)} points of fuel use",
                hint="Give two loads with their fuel per hour, from the set's data sheet.",
            )
        (low_w, low_rate), (high_w, high_rate) = sorted(points)
        if low_w < 0.0 or high_w <= low_w:
            raise InputError("the two points of fuel use need two different loads")
        slope = (high_rate - low_rate) / (high_w - low_w)
        idle = low_rate - slope * low_w
        if slope < 0.0 or idle < -1e-9 or low_rate <= 0.0:
            raise InputError(
                f"fuel points ({low_w:g} W, {low_rate:g}) and ({high_w:g} W, {high_rate:g}) "
                "give a negative idle rate or fuel that falls with load",
                hint="Check both points; a variable-speed set needs points of its own.",
            )
        return cls(max(idle, 0.0), slope * 1000.0, low_w, high_w, unit)

    def rate_per_h(self, power_w: float) -> float:
        """Fuel per hour at a mean load of ``power_w`` [W]."""
        return self.idle_per_h + self.per_kwh * power_w / 1000.0

    def rate_range(self, power_w: Range) -> Range:
        """Fuel per hour for a belief about the mean load ``power_w`` [W]. [1/h]

        Below the lower point each end is its own bound, and half way between them stands for
        typical. Above the upper point the line is a lower bound; see ``beyond``.

        >>> line = FuelLine.through([(3600, 0.55), (7200, 0.85)])
        >>> line.rate_range(Range.exact(1200.0))
        Range(low=0.35, typical=0.45, high=0.55)
        """
        least = [self.rate_per_h(x) for x in (power_w.low, power_w.typical, power_w.high)]
        most = [max(rate, self.rate_per_h(self.low_w)) for rate in least]
        ends = (least[0], (least[1] + most[1]) / 2.0, most[2])
        return Range(*(round(rate, 12) for rate in ends))

    def used(self, hours_h: float, energy_wh: float) -> float:
        """Fuel for ``hours_h`` [h] of running that deliver ``energy_wh`` [Wh]."""
        return self.idle_per_h * hours_h + self.per_kwh * energy_wh / 1000.0

    def used_range(self, hours_h: float, energy_wh: Range) -> Range:
        """As ``used`` for a belief about the energy: ``hours_h`` [h], ``energy_wh`` [Wh].

        Within the bounds of ``rate_range`` where the mean load lies below the lower point.
        """
        return self.rate_range(energy_wh.scaled(1.0 / hours_h)).scaled(hours_h)

    def hours_per_tank(self, tank: float, mean_w: Range) -> Range:
        """Hours on a usable ``tank`` at a mean load of ``mean_w`` [W]. [h]"""
        rate = self.rate_range(mean_w)
        if rate.low <= 0.0:
            raise InputError("no fuel is used at this load: an idle rate of zero and no load")
        return Range(*(tank / x for x in (rate.high, rate.typical, rate.low)))

    def per_delivered_kwh(self, power_w: float) -> float:
        """Fuel per kWh delivered at ``power_w`` [W]: high at light load."""
        if power_w <= 0.0:
            return math.inf
        return self.rate_per_h(power_w) / (power_w / 1000.0)

    def beyond(self, power_w: float) -> str:
        """A sentence when ``power_w`` [W] lies outside the two points, else empty."""
        if self.low_w <= power_w <= self.high_w:
            return ""
        points = f"the two fuel points ({self.low_w:,.0f} and {self.high_w:,.0f} W)"
        if power_w > self.high_w:
            return (
                f"The mean load of {power_w:,.0f} W lies above {points}: the fuel given is the "
                "least it can be."
            )
        return (
            f"The mean load of {power_w:,.0f} W lies below {points}. Fuel is given as bounds: no "
            "more than at the lower point, no less than on the line through both. A figure of "
            "the data sheet at a smaller load, or what the first tank lasted, narrows it."
        )


def run_time_h(tank: float, rate_per_h: float, usable_share: float = 1.0) -> float:
    """Hours on a tank: usable volume over rate, same unit of volume. [h]

    ``rate_per_h`` [1/h], fuel per hour.

    >>> round(run_time_h(5, 0.67), 1)
    7.5
    """
    if rate_per_h <= 0.0:
        raise InputError(f"fuel rate {rate_per_h:g} per hour")
    return tank * usable_share / rate_per_h


def rate_from_run_time(tank: float, hours_h: float, usable_share: float = 1.0) -> float:
    """Fuel per hour of a printed run time of ``hours_h`` [h]; it holds at that load only.

    Printed run times are mostly at half load or less.
    """
    if hours_h <= 0.0:
        raise InputError(f"run time {hours_h:g} h")
    return tank * usable_share / hours_h


def fuel_for_blocks(hours_per_day: float, days: float, rate_per_h: float) -> tuple[float, float]:
    """Running hours and fuel for a set that runs in blocks. ``rate_per_h`` [1/h]

    >>> fuel_for_blocks(6, 30, 0.5)
    (180.0, 90.0)
    """
    hours_h = float(hours_per_day * days)
    return hours_h, hours_h * rate_per_h


def days_of_fuel(fuel: float, rate_per_h: float, hours_per_day: float = 24.0) -> float:
    """Days that an amount of fuel lasts at ``hours_per_day`` of running. ``rate_per_h`` [1/h]

    ``run_time_h`` gives the running hours, this the time that passes. [d]

    >>> round(days_of_fuel(10, 0.75, 6), 2)
    2.22
    """
    if not 0.0 < hours_per_day <= 24.0:
        raise InputError(f"{hours_per_day:g} hours of running a day")
    return run_time_h(fuel, rate_per_h) / hours_per_day


def cans(fuel: float, can: float) -> int:
    """Whole cans (or cylinders) of size ``can`` for an amount of fuel, same unit."""
    if can <= 0.0:
        raise InputError(f"can of {can:g}")
    return math.ceil(fuel / can - 1e-9)


def heat_btu(fuel: str, amount: float, *, lower: bool = False) -> float:
    """Heat content of ``amount`` gallons (cubic feet for natural gas), EIA figures. [BTU]

    Higher heating value unless ``lower``; a third or less of it becomes electricity.
    """
    return amount * number(_fuel_row(fuel, lower), "btu_per_unit", "heat content")


def heat_kwh(btu: float) -> float:
    """BTU as kWh of heat. [kWh]"""
    return btu / BTU_PER_WH / 1000.0


def volume_of_mass_gal(fuel: str, mass_lb: float, density_lb_per_gal: float | None = None) -> float:
    """Gallons of ``mass_lb`` pounds of fuel; densities of the table are from memory. [gal]"""
    if density_lb_per_gal is None:
        density_lb_per_gal = number(_fuel_row(fuel, False), "density_lb_per_gal", "density")
    if density_lb_per_gal <= 0.0:
        raise InputError(f"density {density_lb_per_gal:g} lb/gal")
    return mass_lb / density_lb_per_gal


def bsfc_rate(
    power_w: float,
    bsfc_lb_per_hp_h: float,
    *,
    alternator_efficiency: float = 0.85,
    density_lb_per_gal: float = 6.17,
) -> tuple[float, float, float]:
    """Engine hp, fuel lb/h and gal/h behind an electrical load, from a cycle-average bsfc.

    ``power_w`` [W]. Table ``standby_engines`` has bsfc by engine class (US EPA NONROAD);
    alternator efficiency and density are assumptions from memory.
    """
    horsepower = power_w / 1000.0 / alternator_efficiency / KW_PER_HP
    mass_lb = horsepower * bsfc_lb_per_hp_h
    return horsepower, mass_lb, mass_lb / density_lb_per_gal


def efficiency_from_bsfc(
    bsfc_lb_per_hp_h: float, btu_per_gal: float, density_lb_per_gal: float
) -> float:
    """Brake efficiency that a bsfc implies, as a share of the fuel's heat.

    One hp-hour is 2,544 BTU of work.
    """
    work_btu = KW_PER_HP * 1000.0 * BTU_PER_WH
    return work_btu / (bsfc_lb_per_hp_h * btu_per_gal / density_lb_per_gal)


def set_efficiency(energy_kwh: float, fuel: str, amount: float) -> float:
    """Electrical energy delivered over the fuel's heat. ``energy_kwh`` [kWh]"""
    return energy_kwh / heat_kwh(heat_btu(fuel, amount))


def fuel_rate_per_h(power_w: float, fuel: str, efficiency: float) -> tuple[float, float]:
    """BTU an hour and fuel an hour (gallons; cubic feet for natural gas) behind ``power_w``
    [W] at an overall ``efficiency`` of the set. [BTU/h], [1/h]
    """
    if not 0.0 < efficiency <= 1.0:
        raise InputError(f"efficiency {efficiency:g} is not between 0 and 1")
    btu_per_h = power_w * BTU_PER_WH / efficiency
    return btu_per_h, btu_per_h / heat_btu(fuel, 1.0)


def cost_per_kwh(price_per_unit: float, units_per_kwh: float) -> float:
    """Fuel price of a delivered kWh."""
    return price_per_unit * units_per_kwh


def _fuel_row(fuel: str, lower: bool) -> dict[str, str]:
    if lower:
        return find("fuels", "fuel", "fuel", fuel, heating_value="lower")
    return find("fuels", "fuel", "fuel", fuel, preferred="yes")
