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

_MANY_ALIKE = 100
"""More units than this are taken at their mean: their sum spreads by less than a tenth of what
one of them would on its own scale, and each would cost as much to simulate as a heater."""

BASIS = "model, uncalibrated"


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
    model = _Model(loads, seed)
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

    def __init__(self, loads: Sequence[Load], seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.leg_shares = np.array([load.leg_share for load in loads]).T
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
        self.first_days = np.cumsum(days) - days
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
        for share in (np.ones(each.size), *self.leg_shares):
            part = each * share**2
            order = np.argsort(part)
            small = np.cumsum(part[order]) <= _DROPPED_VARIANCE_SHARE * part.sum()
            moving[order[~small]] = True
        return moving & (self.count <= _MANY_ALIKE)

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
        still = np.where(pick[:, None], 0.0, duty) * (self.count * rise)[:, None]
        still += (self.count * self.standby_w[:, draw])[:, None]
        legs = [self._minutes(runs, rise * share, share @ still) for share in self.leg_shares]
        return np.stack([self._highest(place) for place in (sum(legs), *legs)])

    def _starts(self, duty: Array, draw: int) -> Array:
        """Starts follow the duty: the length of one time on is kept."""
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(self.duty > 0.0, duty / self.duty, 1.0)
        return self.starts_per_h * scale

    def _minutes(self, runs: Runs, rise_w: Array, base_w: Array) -> Array:
        """Mean power of each minute of the year on one leg, shape (365, 1440). [W]"""
        minutes = window_means(runs, rise_w[self.moving][runs.load], WINDOWS_S[0])
        by_hour = minutes.reshape(len(self.month_of_day), 24, -1)
        by_hour += base_w.reshape(12, 24, 1)[self.month_of_day]
        return by_hour

    def _highest(self, minutes: Array) -> Array:
        """Highest window means, shape (windows, 12). [W]"""
        highest = []
        for window_s in WINDOWS_S:
            means = minutes.reshape(len(minutes), -1, window_s // WINDOWS_S[0]).mean(axis=2)
            highest.append(np.maximum.reduceat(means.max(axis=1), self.first_days))
        return np.stack(highest)
