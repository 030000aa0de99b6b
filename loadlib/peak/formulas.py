"""Published formulas for peak demand, each under its own name.

They stand beside the calibrated estimate, for those who must quote them; none of them says
how far it may be off. Constants live in ``seed_data/velander.csv`` and
``seed_data/peak_constants.csv``, with source and how each was obtained.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from loadlib.errors import InputError
from loadlib.peak.table import read

__all__ = [
    "Labelled",
    "coincidence_factor",
    "diversified_demand_w",
    "diversity_factor",
    "load_factor",
    "load_factor_peak_w",
    "loss_factor",
    "peak_bounds_w",
    "published_peaks",
    "rea_peak_w",
    "rusck_coincidence",
    "survey_peak_w",
    "velander_group_w",
    "velander_peak_w",
    "velander_rows",
]

HOURS_A_YEAR = 8760.0


@dataclass(frozen=True, slots=True)
class Labelled:
    """One formula's answer with its name, the source of its constants and how it was obtained."""

    method: str
    peak_w: float
    source: str
    obtained: str


def _positive(name: str, value: float) -> float:
    if not math.isfinite(value) or value <= 0.0:
        raise InputError(f"{name} is {value:g}", hint="Give a number above zero.")
    return value


def load_factor(energy_wh: float, peak_w: float, hours: float) -> float:
    """Mean demand over highest demand.

    Parameters
    ----------
    energy_wh : float
        energy drawn in the time. [Wh]
    peak_w : float
        highest demand in the time. [W]
    hours : float
        length of the time, in hours.

    Examples
    --------
    >>> round(load_factor(65_000_000, 125_000, 30 * 24), 3)
    0.722
    """
    return energy_wh / (_positive("peak", peak_w) * _positive("hours", hours))


def load_factor_peak_w(energy_wh: float, hours: float, factor: float) -> float:
    """Peak from energy and an assumed load factor. [W]

    Parameters
    ----------
    energy_wh : float
        energy drawn in the time. [Wh]
    hours : float
        length of the time, in hours.
    factor : float
        load factor, above 0 and at most 1.
    """
    if not 0.0 < factor <= 1.0:
        raise InputError(f"load factor is {factor:g}", hint="It lies above 0 and at most at 1.")
    return energy_wh / (_positive("hours", hours) * factor)


def loss_factor(factor: float) -> float:
    """Mean loss over loss at peak, from the load factor F: 0.3 F + 0.7 F².

    Source: Gönen, Electric Power Distribution System Engineering, Example 2.9.
    """
    return 0.3 * factor + 0.7 * factor**2


def diversity_factor(peaks_w: Sequence[float], together_w: float) -> float:
    """Sum of the single peaks over the peak of all together.

    Parameters
    ----------
    peaks_w : sequence of float
        highest demand of each. [W]
    together_w : float
        highest demand of all together. [W]
    """
    return sum(peaks_w) / _positive("peak of all", together_w)


def coincidence_factor(peaks_w: Sequence[float], together_w: float) -> float:
    """Peak of all together over the sum of the single peaks.

    Parameters
    ----------
    peaks_w : sequence of float
        highest demand of each. [W]
    together_w : float
        highest demand of all together. [W]
    """
    return together_w / _positive("sum of the peaks", sum(peaks_w))


def diversified_demand_w(per_house_w: Sequence[float], houses: int) -> float:
    """Arvidson's method: each appliance's diversified demand a house, summed, times houses. [W]

    Parameters
    ----------
    per_house_w : sequence of float
        maximum diversified demand of each kind of appliance at that number of houses. [W]
    houses : int
        how many.

    Source: Gönen, Example 2.11.
    """
    return houses * sum(per_house_w)


def velander_peak_w(annual_kwh: float, k1: float, k2: float) -> float:
    """Velander: P = k1 W + k2 √W, with W in kWh a year and P in kW. [W]

    Parameters
    ----------
    annual_kwh : float
        energy in a year. [kWh]
    k1, k2 : float
        constants of the customer class, in kWh units.

    Examples
    --------
    >>> round(velander_peak_w(18_500, 0.0003, 0.0375) / 1000, 2)
    10.65
    """
    return 1000.0 * (k1 * annual_kwh + k2 * math.sqrt(max(annual_kwh, 0.0)))


def velander_group_w(annual_kwh: float, houses: int, k1: float, k2: float) -> float:
    """Velander for a group: the formula on the energy of all houses together. [W]

    Parameters
    ----------
    annual_kwh : float
        energy of one house in a year. [kWh]
    houses : int
        how many.
    k1, k2 : float
        constants of the customer class, in kWh units.
    """
    return velander_peak_w(annual_kwh * houses, k1, k2)


def velander_rows(annual_kwh: float) -> tuple[Labelled, ...]:
    """Every published pair of Velander constants, applied: they conflict, so all are shown.

    Parameters
    ----------
    annual_kwh : float
        energy in a year. [kWh]
    """
    found = []
    for row in read("velander.csv"):
        k1, k2 = float(row["k1_per_kwh"]), float(row["k2_per_root_kwh"])
        found.append(
            Labelled(
                f"Velander, {row['customer_class']}",
                velander_peak_w(annual_kwh, k1, k2),
                row["source"],
                row["obtained"],
            )
        )
    return tuple(found)


def rea_peak_w(consumers: int, month_kwh: float) -> float:
    """REA demand tables: A × B, A for the number of consumers, B for their monthly energy. [W]

    A = C (1 − 0.4 C + 0.4 √(C² + 40)), B = 0.005925 kWh^0.885. From memory, after REA
    Bulletin 45-2; measured peaks of rural customers were generally higher.

    Parameters
    ----------
    consumers : int
        how many.
    month_kwh : float
        energy of each in a month. [kWh]
    """
    c = float(_positive("consumers", consumers))
    a = c * (1.0 - 0.4 * c + 0.4 * math.sqrt(c * c + 40.0))
    b_kw = _constant("rea_scale") * math.pow(month_kwh, _constant("rea_exponent"))
    return 1000.0 * a * b_kw


def rusck_coincidence(houses: int, at_infinity: float) -> float:
    """Rusck: C = C∞ + (1 − C∞) / √N. From memory, after Rusck 1956."""
    return at_infinity + (1.0 - at_infinity) / math.sqrt(_positive("houses", houses))


def survey_peak_w(month_kwh: float) -> float:
    """A load survey's line, kW = 0.1058 + 0.005014 kWh a month, 15 min. [W]

    One utility in one season; from memory, after Kersting, Distribution System Modeling and
    Analysis, chapter 2.

    Parameters
    ----------
    month_kwh : float
        energy in a month. [kWh]
    """
    return 1000.0 * (_constant("survey_constant") + _constant("survey_slope") * month_kwh)


def peak_bounds_w(
    energy_wh: float, hours: float, service_a: float, voltage_v: float
) -> tuple[float, float]:
    """What arithmetic alone says: the peak lies between the mean and what the service carries.

    Parameters
    ----------
    energy_wh : float
        energy drawn in the time. [Wh]
    hours : float
        length of the time, in hours.
    service_a : float
        rating of the service, or of the main breaker. [A]
    voltage_v : float
        voltage between its two legs. [V]
    """
    return energy_wh / _positive("hours", hours), service_a * voltage_v


def published_peaks(month_kwh: float, annual_kwh: float | None = None) -> tuple[Labelled, ...]:
    """Every published formula that a bill feeds, labelled; none of them has a stated error.

    Parameters
    ----------
    month_kwh : float
        energy in a month. [kWh]
    annual_kwh : float
        energy in a year; Velander needs it. [kWh]
    """
    rows = {row["name"]: row for row in read("peak_constants.csv")}

    def labelled(method: str, peak_w: float, name: str) -> Labelled:
        return Labelled(method, peak_w, rows[name]["source"], rows[name]["obtained"])

    one_minute = load_factor_peak_w(
        1000.0 * month_kwh, HOURS_A_YEAR / 12.0, _constant("load_factor_1min")
    )
    found = [
        labelled("REA demand tables, A × B", rea_peak_w(1, month_kwh), "rea_scale"),
        labelled("load survey line, 15 min", survey_peak_w(month_kwh), "survey_slope"),
        labelled("load factor 0.1, 1 min, eight UK houses", one_minute, "load_factor_1min"),
    ]
    return (*found, *(velander_rows(annual_kwh) if annual_kwh is not None else ()))


def _constant(name: str) -> float:
    return next(float(r["value"]) for r in read("peak_constants.csv") if r["name"] == name)
