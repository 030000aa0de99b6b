"""Peaks of window means from the load model, as beliefs; not calibrated on real homes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loadlib.core.draws import drawn_loads
from loadlib.core.load import Load
from loadlib.core.profile import Demand, Peak
from loadlib.core.ranges import Range
from loadlib.core.simulate import Laws, simulate, window_means
from loadlib.estimators.energy import DAYS_IN_MONTH

__all__ = ["WINDOWS_S", "model_peaks", "peak_method"]

Array = NDArray[np.float64]

WINDOWS_S = (60, 900, 1800, 3600)
"""Windows of the peaks: one minute, and the demand intervals that meters use."""

DRAWS = 24
"""Draws of the beliefs, each with a simulated year of its own."""

_DROPPED_VARIANCE_SHARE = 0.005
"""Loads that together make less than this share of the variance of every place that they
touch are taken at their mean: lamps and routers switch often and move no peak."""

_MANY_ALIKE = 100
"""More units than this are taken at their mean: their sum spreads by less than a tenth of what
one of them would on its own scale, and each would cost as much to simulate as a heater."""

_MOST_STARTS_PER_H = 60.0
"""Cycles shorter than the shortest window average out in it: taken at their mean. [1/h]"""

BASIS = "model, uncalibrated"

_DAYS = DAYS_IN_MONTH.astype(np.int64)
_MONTH_OF_DAY = np.repeat(np.arange(12), _DAYS)
_FIRST_DAYS = np.cumsum(_DAYS) - _DAYS


def peak_method() -> tuple[str, ...]:
    """How the peaks were found, in words."""
    return (
        f"Peaks: {DRAWS} simulated years, each with running power and share of time on drawn "
        "from their beliefs; windows follow the clock. On times are gamma with shape 2 "
        "(thermostats: 4), starts come at random (thermostats: off times of shape 4); days "
        f"begin in equilibrium. Another seed moves the ends of a range by about an eighth of "
        "its width. Not calibrated on real homes.",
    )


def model_peaks(
    loads: Sequence[Load], legs: Sequence[str], whole: Demand, seed: int
) -> tuple[Peak, ...]:
    """Highest window means of the year and of the month of highest demand.

    For the whole house and each leg and each of ``WINDOWS_S``; the month of highest demand is
    the one with the largest mean of the 99 % point of ``whole``.
    """
    if not loads:
        return ()
    month = int(np.argmax(np.array(whole.p99_w).mean(axis=1)))
    moving = _moving(loads)
    rng = np.random.default_rng(seed)
    highest = np.stack(
        [_year_peaks(exact, moving, rng) for exact in drawn_loads(loads, DRAWS, seed)]
    )
    peaks = []
    for index, place in enumerate(("whole", *(f"leg {leg}" for leg in legs))):
        for column, window_s in enumerate(WINDOWS_S):
            by_month = highest[:, index, column, :]
            for period, values in (
                ("year", by_month.max(axis=1)),
                (f"month {month + 1}", by_month[:, month]),
            ):
                peaks.append(Peak(place, window_s, period, Range.of_samples(values), BASIS))
    return tuple(peaks)


def _moving(loads: Sequence[Load]) -> NDArray[np.bool_]:
    """Which loads are simulated: those that matter to the variance of any place."""
    count = np.array([load.count for load in loads])
    rise = np.array([load.running_w.typical - load.standby_w.typical for load in loads])
    duty = np.array([load.duty for load in loads])
    each = count * rise**2 * (duty * (1.0 - duty)).mean(axis=(1, 2))
    moving = np.zeros(len(loads), dtype=np.bool_)
    for share in (np.ones(len(loads)), *np.array([load.leg_share for load in loads]).T):
        part = each * share**2
        order = np.argsort(part)
        small = np.cumsum(part[order]) <= _DROPPED_VARIANCE_SHARE * part.sum()
        moving[order[~small]] = True
    starts = np.array([load.starts_per_h for load in loads]).max(axis=(1, 2))
    moving &= (count <= _MANY_ALIKE) & (starts <= _MOST_STARTS_PER_H)
    return moving


def _year_peaks(
    loads: Sequence[Load], moving: NDArray[np.bool_], rng: np.random.Generator
) -> Array:
    """Highest window means of one simulated year, shape (1 + legs, windows, 12). [W]"""
    count = np.array([load.count for load in loads], dtype=np.int64)
    standby = np.array([load.standby_w.typical for load in loads])
    rise = np.maximum(np.array([load.running_w.typical for load in loads]) - standby, 0.0)
    duty = np.array([load.duty for load in loads]).reshape(len(loads), 288)
    starts = np.array([load.starts_per_h for load in loads]).reshape(len(loads), 288)
    runs = simulate(
        duty[moving],
        starts[moving],
        count[moving],
        np.arange(288).reshape(12, 24),
        _MONTH_OF_DAY,
        Laws.usual(np.array([load.thermostatic for load in loads])[moving]),
        rng,
    )
    still = count[:, None] * (standby[:, None] + rise[:, None] * duty * ~moving[:, None])
    legs = []
    for share in np.array([load.leg_share for load in loads]).T:
        minutes = window_means(runs, (rise * share)[moving][runs.load], WINDOWS_S[0])
        by_hour = minutes.reshape(_MONTH_OF_DAY.size, 24, -1)
        by_hour += (share @ still).reshape(12, 24, 1)[_MONTH_OF_DAY]
        legs.append(by_hour)
    return np.stack([_highest(place) for place in (np.sum(legs, axis=0), *legs)])


def _highest(minutes: Array) -> Array:
    """Highest window means of each month, shape (windows, 12). [W]"""
    highest = []
    for window_s in WINDOWS_S:
        means = minutes.reshape(len(minutes), -1, window_s // WINDOWS_S[0]).mean(axis=2)
        highest.append(np.maximum.reduceat(means.max(axis=1), _FIRST_DAYS))
    return np.stack(highest)
