"""Peaks of window means from the load model, as beliefs; not calibrated on real homes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loadlib.core.load import Load
from loadlib.core.profile import Demand, Peak
from loadlib.core.ranges import Range
from loadlib.core.simulate import Laws, Runs, simulate, window_means
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

BASIS = "model, uncalibrated"


def peak_method() -> tuple[str, ...]:
    """How the peaks were found, in words."""
    return (
        f"Peaks: {DRAWS} simulated years, each with running power and share of time on drawn "
        "from their beliefs; windows follow the clock. On times are gamma with shape 2 "
        "(thermostats: 4), starts come at random (thermostats: off times of shape 4); days "
        f"begin in equilibrium. With {DRAWS} draws the ends of the ranges are themselves sure "
        "to about a fifth of the band. Not calibrated on real homes.",
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
    shares = np.array([[1.0] * len(loads), *np.array([load.leg_share for load in loads]).T])
    model = _Model(loads, shares, seed)
    highest = np.stack([model.year(draw) for draw in range(DRAWS)])
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


class _Model:
    """Draws of the loads' numbers and the simulation of one year under each."""

    def __init__(self, loads: Sequence[Load], shares: Array, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.shares = shares
        self.count = np.array([load.count for load in loads], dtype=np.int64)
        self.duty = np.array([load.duty_array().ravel() for load in loads])
        self.starts_per_h = np.array([load.starts_array().ravel() for load in loads])
        self.running_w, self.factor, self.standby_w = (
            np.array([belief.at(self._scores()) for belief in beliefs])
            for beliefs in (
                [load.running_w for load in loads],
                [load.duty_belief for load in loads],
                [load.standby_w for load in loads],
            )
        )
        self.laws = Laws.usual(np.array([load.thermostatic for load in loads]))
        self.moving = self._moving()
        days = DAYS_IN_MONTH.astype(np.int64)
        self.month_of_day = np.repeat(np.arange(12), days)
        self.schedule = np.arange(288).reshape(12, 24)

    def _scores(self) -> Array:
        """``DRAWS`` standard normal scores of equal probability in random order."""
        from statistics import NormalDist

        inverse = NormalDist().inv_cdf
        scores = np.array([inverse((i + 0.5) / DRAWS) for i in range(DRAWS)])
        return self.rng.permutation(scores)

    def _moving(self) -> NDArray[np.bool_]:
        """Which loads are simulated: those that matter to the variance of any place."""
        rise = np.median(self.running_w - self.standby_w, axis=1)
        each = self.count * rise**2 * (self.duty * (1.0 - self.duty)).mean(axis=1)
        moving = np.zeros(each.size, dtype=np.bool_)
        for share in self.shares:
            part = each * share**2
            order = np.argsort(part)
            small = np.cumsum(part[order]) <= _DROPPED_VARIANCE_SHARE * part.sum()
            moving[order[~small]] = True
        return moving

    def year(self, draw: int) -> Array:
        """Highest window mean by place, window and month, shape (places, windows, 12). [W]"""
        rise = np.maximum(self.running_w[:, draw] - self.standby_w[:, draw], 0.0)
        duty = np.minimum(self.duty * self.factor[:, draw, None], 1.0)
        pick = self.moving
        runs = simulate(
            duty[pick],
            self._starts(duty, draw)[pick],
            self.count[pick],
            self.schedule,
            self.month_of_day,
            Laws(self.laws.on_shape[pick], self.laws.off_shape[pick]),
            self.rng,
        )
        steady = self.count * (self.standby_w[:, draw, None].T + 0.0)
        still = (self.count * rise)[:, None] * np.where(pick[:, None], 0.0, duty)
        highest = [
            self._highest(runs, share, rise * share, share @ (still + steady.T))
            for share in self.shares
        ]
        return np.stack(highest)

    def _starts(self, duty: Array, draw: int) -> Array:
        """Starts follow the duty: the length of one time on is kept."""
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(self.duty > 0.0, duty / self.duty, 1.0)
        return self.starts_per_h * scale

    def _highest(self, runs: Runs, share: Array, rise: Array, base_w: Array) -> Array:
        power = rise[self.moving][runs.load]
        touched = power > 0.0
        part = Runs(
            runs.load[touched],
            runs.replicate[touched],
            runs.start_h[touched],
            runs.end_h[touched],
            runs.fresh[touched],
            runs.replicates,
            runs.hours,
        )
        minutes = window_means(part, power[touched], WINDOWS_S[0])
        by_hour = base_w.reshape(12, 24)[self.month_of_day]
        minutes += np.repeat(by_hour, 60, axis=1)
        return np.stack([self._by_month(minutes, window_s // 60) for window_s in WINDOWS_S])

    def _by_month(self, minutes: Array, length: int) -> Array:
        """Highest mean of ``length`` minutes on end in each month, shape (12,). [W]"""
        days = len(self.month_of_day)
        windows = minutes.reshape(days, -1, length).mean(axis=2).max(axis=1)
        firsts = np.concatenate(([0], np.cumsum(DAYS_IN_MONTH.astype(np.int64))[:-1]))
        highest: Array = np.maximum.reduceat(windows, firsts)
        return highest
