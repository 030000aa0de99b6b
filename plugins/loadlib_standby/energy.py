"""Energy and power from what people have: cooling capacity, logged kWh, heaters.

An energy efficiency ratio (EER) gives watts at its rating point. Seasonal figures (SEER,
CEER) do not; nor does the fuel rating of a furnace. A mean of a logged day is not the power
while running.
"""

from __future__ import annotations

from loadlib_standby.engine import InputError

__all__ = [
    "BTU_PER_TON_H",
    "BTU_PER_WH",
    "btu_per_va",
    "cooling_btu_per_h",
    "cooling_w",
    "cost",
    "energy_kwh",
    "heater_on_other_voltage_w",
    "mean_w",
    "per_day_kwh",
    "per_year_kwh",
    "share_of_label",
    "units_that_take_turns_w",
]

BTU_PER_WH = 3.41214
"""1 Wh = 3.41214 BTU (international table BTU)."""

BTU_PER_TON_H = 12000.0
"""A ton of refrigeration is 12,000 BTU/h, by definition."""


def cooling_btu_per_h(tons: float) -> float:
    """Cooling capacity of ``tons``. [BTU/h]"""
    return tons * BTU_PER_TON_H


def cooling_w(btu_per_h: float, eer: float) -> float:
    """Electrical power at the rating point: capacity over EER. ``btu_per_h`` [BTU/h]. [W]

    >>> round(cooling_w(12000, 9), 1)
    1333.3
    """
    if eer <= 0.0:
        raise InputError(f"EER {eer:g}", hint="EER only; SEER and CEER give no power.")
    return btu_per_h / eer


def btu_per_va(btu_per_h: float, apparent_va: float) -> float:
    """Cooling per apparent power: an EER that a measured current implies. [BTU/VAh]

    ``btu_per_h`` [BTU/h], ``apparent_va`` [VA].
    """
    return btu_per_h / apparent_va


def energy_kwh(power_w: float, hours_h: float) -> float:
    """Energy of a constant ``power_w`` [W] over ``hours_h`` [h]. [kWh]"""
    return power_w * hours_h / 1000.0


def cost(energy_kwh: float, price_per_kwh: float) -> float:
    """Price of ``energy_kwh`` [kWh], in the currency of ``price_per_kwh``."""
    return energy_kwh * price_per_kwh


def mean_w(energy_kwh: float, hours_h: float) -> float:
    """Mean power over a log of ``hours_h`` [h]; not the power while running. [W]

    ``energy_kwh`` [kWh].
    """
    if hours_h <= 0.0:
        raise InputError(f"log of {hours_h:g} h")
    return energy_kwh / hours_h * 1000.0


def per_day_kwh(energy_kwh: float, hours_h: float) -> float:
    """Energy a day from a log of ``hours_h`` [h]; ``energy_kwh`` [kWh]. [kWh]"""
    return mean_w(energy_kwh, hours_h) * 24.0 / 1000.0


def per_year_kwh(per_day_kwh: float) -> float:
    """Energy of 365 such days; ``per_day_kwh`` [kWh]. [kWh]"""
    return per_day_kwh * 365.0


def share_of_label(measured_kwh: float, label_kwh: float) -> float:
    """Measured over labelled energy, same period: ``measured_kwh`` [kWh], ``label_kwh`` [kWh]."""
    if label_kwh <= 0.0:
        raise InputError(f"label energy {label_kwh:g} kWh")
    return measured_kwh / label_kwh


def heater_on_other_voltage_w(rated_w: float, rated_v: float, supply_v: float) -> float:
    """A resistive heater on another voltage: falls with the square. [W]

    ``rated_w`` [W] at ``rated_v`` [V], fed with ``supply_v`` [V].

    >>> round(heater_on_other_voltage_w(5500, 240, 208), 1)
    4131.1
    """
    if rated_v <= 0.0 or supply_v <= 0.0:
        raise InputError(f"heater of {rated_v:g} V on {supply_v:g} V")
    return rated_w * (supply_v / rated_v) ** 2


def units_that_take_turns_w(units_w: tuple[float, ...]) -> float:
    """Draw of parts of which only one is on at a time (two elements of a heater). [W]

    ``units_w`` [W].
    """
    return max(units_w, default=0.0)
