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
    "LB_PER_GAL_WATER",
    "btu_per_va",
    "cooling_btu_per_h",
    "cooling_w",
    "cost",
    "cycle_duty",
    "drawn_w",
    "energy_kwh",
    "heater_on_other_voltage_w",
    "mean_on_s",
    "mean_w",
    "per_day_kwh",
    "per_year_kwh",
    "share_of_label",
    "units_that_take_turns_w",
    "water_heating_kwh",
]

BTU_PER_WH = 3.41214
"""1 Wh = 3.41214 BTU (international table BTU)."""

LB_PER_GAL_WATER = 8.34
"""A US gallon of water at 60 °F weighs 8.34 lb (handbook figure). [lb/gal]"""

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


def cycle_duty(on_s: float, cycle_s: float) -> float:
    """Share of time on of a load that runs ``on_s`` [s] in every ``cycle_s`` [s]."""
    if not 0.0 <= on_s <= cycle_s or cycle_s <= 0.0:
        raise InputError(f"{on_s:g} s on in a cycle of {cycle_s:g} s")
    return on_s / cycle_s


def mean_on_s(duty: float, starts_per_h: float) -> float:
    """Mean length of a run: share of time on over starts. ``starts_per_h`` [1/h]. [s]

    >>> mean_on_s(0.1, 6)
    60.0
    """
    if not 0.0 <= duty <= 1.0 or starts_per_h <= 0.0:
        raise InputError(f"duty {duty:g} with {starts_per_h:g} starts an hour")
    return 3600.0 * duty / starts_per_h


def drawn_w(output_w: float, efficiency: float) -> float:
    """What the wall gives for an output: a microwave oven's cooking power, an inverter's
    load, a motor's shaft. ``output_w`` [W]. [W]

    >>> drawn_w(1000, 0.64)
    1562.5
    """
    if not 0.0 < efficiency <= 1.0:
        raise InputError(f"efficiency {efficiency:g} is not between 0 and 1")
    return output_w / efficiency


def water_heating_kwh(gallons: float, rise_f: float) -> float:
    """Heat that ``gallons`` (US) of water take up over ``rise_f`` [°F], losses apart. [kWh]

    1 BTU warms a pound of water by 1 °F; a gallon weighs 8.34 lb at 60 °F.

    >>> round(water_heating_kwh(50, 70), 2)
    8.55
    """
    return gallons * LB_PER_GAL_WATER * rise_f / BTU_PER_WH / 1000.0


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
