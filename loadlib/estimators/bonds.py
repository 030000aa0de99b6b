"""How a load is bound to the weather, and what it does in hours that are unlike their month's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from loadlib.core.category import Category
from loadlib.core.load import Load

__all__ = ["Bond", "Use", "bonds_of", "use_of"]

Array = NDArray[np.float64]

_LEAST_SWING = 0.2
"""A load whose months differ by less (standard deviation over mean) has nothing to do with
heating or cooling: a refrigerator, a water heater."""

_HUMIDITY = "humidifier"
"""Follows moisture, not temperature; part of the names of two kinds of category."""


class Bond(IntEnum):
    """What a load's use follows. ``UNSURE``: its seasons differ, but whether a colder or warmer
    day of the same month changes anything is not known (people switch it; frost; moisture)."""

    NONE = 0
    HEATING = 1
    COOLING = 2
    BOTH = 3
    UNSURE = 4


def bonds_of(loads: Sequence[Load], categories: Mapping[str, Category]) -> NDArray[np.intp]:
    """Bond of each load, shape (n,): a thermostat and the catalog's group decide."""
    return np.array([_bond(load, categories.get(load.category)) for load in loads], dtype=np.intp)


def _bond(load: Load, category: Category | None) -> Bond:
    months = load.duty_array().mean(axis=1)
    mean = float(months.mean())
    if mean <= 0.0 or float(months.std()) <= _LEAST_SWING * mean:
        return Bond.NONE
    if category is None or not load.thermostatic or _HUMIDITY in load.category:
        return Bond.UNSURE
    if category.group == "heating":
        # A compressor that heats is a heat pump, and cools as well.
        return Bond.BOTH if load.kind == "compressor" else Bond.HEATING
    return Bond.COOLING if category.group == "cooling" else Bond.UNSURE


@dataclass(frozen=True, slots=True, eq=False)
class Use:
    """n loads in some hours, relative to what is usual in that month and hour.

    ``time`` (n, 288) the share of time on, ``watts`` (n, 288) the running power, ``power``
    (n, 288) the mean power, their product; ``doubt`` (n, 288) and ``watts_doubt`` (n,) the
    standard deviations of ``power`` and ``watts``.
    """

    time: Array
    watts: Array
    power: Array
    doubt: Array
    watts_doubt: Array


def use_of(
    loads: Sequence[Load],
    bonds: NDArray[np.intp],
    relative: Array,
    sigma: Array,
    outdoor_c: Array,
) -> Use:
    """What loads do in some hours.

    Parameters
    ----------
    loads : sequence of Load
        n of them, with their usual duty.
    bonds : NDArray
        of each load, shape (n,).
    relative, sigma : NDArray
        energy relative to usual and its doubt, by bond and month-hour, shape (5, 288).
    outdoor_c : NDArray
        mean outdoor temperature by month-hour, shape (288,). [°C]

    Returns
    -------
    Use
        The energy of a load that follows the weather goes with ``relative``. Where its running
        watts are known against temperature, its share of time on is what these leave; no load
        is on for more than all the time.
    """
    n = len(loads)
    found = [_watts(load, outdoor_c) for load in loads]
    watts = np.array([relative_w for relative_w, _ in found]).reshape(n, -1)
    watts_doubt = np.array([doubt for _, doubt in found])
    duty = np.array([load.duty for load in loads]).reshape(n, -1)
    follows = np.isin(bonds, (Bond.HEATING, Bond.COOLING, Bond.BOTH))[:, None]
    time = np.where(follows, relative[bonds] / watts, 1.0)
    time = np.minimum(time, 1.0 / np.maximum(duty, 1e-12))
    power = time * watts
    doubt = np.hypot(sigma[bonds], watts_doubt[:, None] * power)
    return Use(time, watts, power, doubt, watts_doubt)


def _watts(load: Load, outdoor_c: Array) -> tuple[Array, float]:
    """Running watts by month-hour relative to typical, and their doubt.

    Straight lines between the temperatures that were measured; beyond them the last value, with
    what the last line would give as the doubt.
    """
    if len(load.outdoor_w) < 2 or load.running_w.typical <= 0.0:
        return np.ones(outdoor_c.size), 0.0
    points = np.array(load.outdoor_w)
    at_c, watts = points[:, 0], points[:, 1] / load.running_w.typical
    there = np.nan_to_num(outdoor_c, nan=float(at_c.mean()))
    relative = np.interp(there, at_c, watts)
    beyond = np.maximum(at_c[0] - there, 0.0) * abs(_slope(at_c[:2], watts[:2]))
    beyond += np.maximum(there - at_c[-1], 0.0) * abs(_slope(at_c[-2:], watts[-2:]))
    return relative, float(beyond.max(initial=0.0))


def _slope(x: Array, y: Array) -> float:
    return float((y[1] - y[0]) / (x[1] - x[0])) if x[1] > x[0] else 0.0
