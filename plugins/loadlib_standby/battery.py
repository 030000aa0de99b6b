"""Battery and inverter: power, surge and energy are three answers, never one."""

from __future__ import annotations

from loadlib_standby.engine import InputError, Range

__all__ = [
    "amp_hours",
    "autonomy_h",
    "autonomy_range_h",
    "capacity_kwh",
    "charging_share",
    "recharge_h",
    "size_kwh",
    "usable_kwh",
]


def capacity_kwh(amp_hours: float, volts_v: float, count: int = 1) -> float:
    """Energy of ``count`` batteries of ``amp_hours`` [Ah] at ``volts_v`` [V]. [kWh]

    In series or parallel it is the same; only volts and amps differ.

    >>> capacity_kwh(100, 12.8, 2)
    2.56
    """
    if min(amp_hours, volts_v) <= 0.0 or count < 1:
        raise InputError(f"{count} batteries of {amp_hours:g} Ah at {volts_v:g} V")
    return amp_hours * volts_v * count / 1000.0


def amp_hours(energy_kwh: float, volts_v: float, efficiency: float = 1.0) -> float:
    """Charge behind an energy delivered: ``energy_kwh`` [kWh], ``volts_v`` [V]. [Ah]"""
    if volts_v <= 0.0:
        raise InputError(f"battery of {volts_v:g} V")
    return energy_kwh * 1000.0 / volts_v / usable_kwh(1.0, 1.0, efficiency)


def usable_kwh(capacity_kwh: float, usable_share: float = 1.0, efficiency: float = 1.0) -> float:
    """Energy that reaches the loads from ``capacity_kwh`` [kWh]. [kWh]"""
    for name, share in (("usable share", usable_share), ("efficiency", efficiency)):
        if not 0.0 < share <= 1.0:
            raise InputError(f"{name} {share:g} is not between 0 and 1")
    return capacity_kwh * usable_share * efficiency


def autonomy_h(usable_kwh: float, mean_w: float, idle_w: float = 0.0) -> float:
    """Hours at a mean load of ``mean_w`` [W] and an inverter that draws ``idle_w`` [W]. [h]

    ``usable_kwh`` [kWh].
    """
    drawn_w = mean_w + idle_w
    if drawn_w <= 0.0:
        raise InputError("no load and no idle draw: a battery would last for ever")
    return usable_kwh * 1000.0 / drawn_w


def autonomy_range_h(usable_kwh: float, mean_w: Range, idle_w: float = 0.0) -> Range:
    """As ``autonomy_h`` for a belief about the mean load: ``usable_kwh`` [kWh],
    ``mean_w`` [W], ``idle_w`` [W]. [h]"""
    return Range(
        *(autonomy_h(usable_kwh, x, idle_w) for x in (mean_w.high, mean_w.typical, mean_w.low))
    )


def size_kwh(
    power_w: float, hours_h: float, efficiency: float = 1.0, usable_share: float = 1.0
) -> float:
    """Capacity for a mean ``power_w`` [W] over ``hours_h`` [h]. [kWh]

    Real loads cycle: the mean gives the energy, the peak decides the inverter.

    >>> size_kwh(1500, 8), round(size_kwh(1500, 8, efficiency=0.9), 2)
    (12.0, 13.33)
    """
    return power_w * hours_h / 1000.0 / usable_kwh(1.0, usable_share, efficiency)


def recharge_h(capacity_kwh: float, charge_w: float, efficiency: float = 1.0) -> float:
    """Hours to fill ``capacity_kwh`` [kWh] with ``charge_w`` [W]. [h]"""
    if charge_w <= 0.0:
        raise InputError(f"charging power {charge_w:g} W")
    return capacity_kwh * 1000.0 / (charge_w * efficiency)


def charging_share(
    mean_w: float, charge_w: float, efficiency: float = 1.0, idle_w: float = 0.0
) -> float:
    """Share of the time that a set has to run to put back what the inverter takes, at most 1.

    ``mean_w`` [W] of loads, ``idle_w`` [W] of the inverter, ``charge_w`` [W] of charging.

    >>> round(charging_share(350, 2500, 0.92), 3)
    0.152
    """
    if charge_w <= 0.0:
        raise InputError(f"charging power {charge_w:g} W")
    drawn_w = (mean_w + idle_w) / usable_kwh(1.0, 1.0, efficiency)
    return min(drawn_w / charge_w, 1.0)
