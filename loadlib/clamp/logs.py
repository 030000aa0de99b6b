"""What a log says as a whole: demand by window and hour, base load, balance of the legs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.spot import imbalance_share
from loadlib.core.electrical import System, neutral_a

__all__ = ["Balance", "balance", "base_load_w", "by_hour_w", "highest_window_w"]

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
    slots = window_s // step_s
    if slots < 1 or power_w.size < slots:
        return float("nan")
    padded = np.concatenate(([0.0], np.cumsum(np.nan_to_num(power_w))))
    missing = np.concatenate(([0], np.cumsum(np.isnan(power_w))))
    mean = (padded[slots:] - padded[:-slots]) / slots
    whole = missing[slots:] == missing[:-slots]
    return float(mean[whole].max()) if whole.any() else float("nan")


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
    """Balance of simultaneous leg currents, shape (legs, n). [A]"""
    there = leg_a[:, ~np.isnan(leg_a).any(axis=0)]
    mean = tuple(float(x) for x in there.mean(axis=1))
    pair = mean if len(mean) == 2 else (max(mean), min(mean))
    neutral = np.array([neutral_a(supply, column) for column in _thin(there).T])
    return Balance(
        mean, imbalance_share(*pair), float(neutral.mean()), float(neutral.max(initial=0.0))
    )


def _thin(leg_a: Array) -> Array:
    """At most some thousand moments, evenly spread: the neutral is worked out one by one."""
    every = max(1, leg_a.shape[1] // 5000)
    return leg_a[:, ::every]
