"""What a log says as a whole: demand by window and hour, base load, balance of the legs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.spot import imbalance_share
from loadlib.core.electrical import System
from loadlib.errors import InputError

__all__ = [
    "Balance",
    "balance",
    "base_load_w",
    "by_hour_w",
    "highest_window",
    "highest_window_w",
]

Array = NDArray[np.float64]

_BASE_QUANTILE = 0.05


@dataclass(frozen=True, slots=True)
class Balance:
    """Means of the legs, their imbalance |A − B| / (A + B), and the neutral. [A]

    ``neutral_a`` is the mean at equal power factor; line-to-line loads cancel in it.
    """

    leg_a: tuple[float, ...]
    imbalance_share: float
    neutral_a: float
    highest_neutral_a: float


def highest_window_w(power_w: Array, step_s: int, window_s: int) -> float:
    """Highest mean over a window of whole samples, any start; NaN when none is complete. [W]"""
    return highest_window(power_w, step_s, window_s)[0]


def highest_window(power_w: Array, step_s: int, window_s: int) -> tuple[float, int]:
    """As ``highest_window_w``, with the sample that it begins at; (NaN, -1) when none is. [W]"""
    slots = window_s // step_s
    if slots < 1 or power_w.size < slots:
        return float("nan"), -1
    padded = np.concatenate(([0.0], np.cumsum(np.nan_to_num(power_w))))
    missing = np.concatenate(([0], np.cumsum(np.isnan(power_w))))
    mean = (padded[slots:] - padded[:-slots]) / slots
    whole = missing[slots:] == missing[:-slots]
    if not whole.any():
        return float("nan"), -1
    at = int(np.argmax(np.where(whole, mean, -np.inf)))
    return float(mean[at]), at


def by_hour_w(power_w: Array, hour: NDArray[np.int64]) -> Array:
    """Mean by clock hour, shape (24,), NaN for hours without data. [W]"""
    there = ~np.isnan(power_w)
    total = np.bincount(hour[there], power_w[there], minlength=24)
    count = np.bincount(hour[there], minlength=24)
    with np.errstate(invalid="ignore"):
        mean: Array = total / count
    return mean


def base_load_w(power_w: Array) -> float:
    """What is always drawn: the 5 % point of the samples. [W]"""
    return float(np.nanquantile(power_w, _BASE_QUANTILE))


def balance(leg_a: Array, supply: System) -> Balance:
    """Balance of simultaneous leg currents, shape (legs, n), where all legs are known. [A]

    InputError where the legs are not the supply's, or have no moment in common.
    """
    if leg_a.shape[0] != len(supply.legs):
        raise InputError(f"{leg_a.shape[0]} currents for the legs {', '.join(supply.legs)}")
    there = leg_a[:, ~np.isnan(leg_a).any(axis=0)]
    if there.shape[1] == 0:
        raise InputError("the legs were never logged at the same time")
    mean = tuple(float(x) for x in there.mean(axis=1))
    pair = mean if len(mean) == 2 else (max(mean), min(mean))
    neutral = _neutral_a(supply, there)
    return Balance(mean, imbalance_share(*pair), float(neutral.mean()), float(neutral.max()))


def _neutral_a(supply: System, leg_a: Array) -> Array:
    """``neutral_a`` of every moment at once: currents (legs, n), neutral (n,). [A]"""
    angle = np.radians(supply.angle_deg) * np.arange(len(supply.legs))
    neutral: Array = np.hypot(np.cos(angle) @ leg_a, np.sin(angle) @ leg_a)
    return neutral
