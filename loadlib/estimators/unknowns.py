"""What is not known about a house's loads, as one vector of standard normal scores.

Each load has three unknowns: running power, a factor on its share of time on, and standby.
Their scores are turned into numbers by the two-piece law of their ranges, so at score zero
everything is typical and without evidence every number keeps its range exactly. Loads that
draw much have twelve more: how far each month's use departs from the expected season. What
nobody listed has a level, a departure for each month, and a split over the legs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.core.load import Load
from loadlib.core.ranges import Z95, Range
from loadlib.estimators.products import times

__all__ = ["Laws", "State", "Unknowns", "log_normal", "switched_by_people", "with_habits"]

Array = NDArray[np.float64]

REST_LEVEL_SIGMA = 1.0
"""Doubt of what is not listed, log scale: a factor of 5 either way at the 5 and 95 % points.
A judgement, no source: a walk through a house can be thorough or not."""

REST_MONTH_SIGMA = 0.3
"""Month to month, what is not listed varies by this much (log scale). A judgement."""

REST_LEG_SIGMA = 0.5
"""Split of what is not listed over the legs, log scale. A judgement."""

SEASON_SIGMA = 0.25
SEASONAL_SIGMA = 0.7
"""How far a month's use of a load departs from its expected season, log scale: of loads used
alike all year, and of those whose use swings by more than ``SEASONAL_SWING`` (heating,
cooling). Circuits of the AMPds house (Makonin 2013) and appliances of REFIT house 20 (Murray
et al. 2017) depart by 0.05 to 0.37 (an oven: 0.6), a heat pump by 0.6 to 0.7."""

HABIT_SIGMA = 0.45
ACTIVITY_SIGMA = 0.4
"""How much households differ in their use of what people switch on, log scale: appliance by
appliance, and of all of them together. The catalog's duty is that of an average household;
in the AMPds house and REFIT house 20 washers, ovens, dishwashers, dryers, kettles and microwave
ovens took 0.15 to 1.0 times its energy."""

ACTIVITY_MONTH_SIGMA = 0.15
"""Months in which the household is away or has guests, log scale: REFIT house 20 used a third
less in its lowest month than in the one before."""

ALWAYS_ON = 0.9

SEASONAL_SWING = 0.5

SEASON_LENGTH_MONTHS = 2.0
"""Departures of neighbouring months go together: correlation exp(−months apart / 2)."""

_CUT_SHARPNESS = 32.0
"""At 90 % of full use the cut takes a thousandth away, at 100 % two hundredths."""

MOST_SHAPED = 14
"""Loads with unknowns of their own for each month: those whose departures matter most."""


@dataclass(frozen=True, slots=True, eq=False)
class Laws:
    """The two-piece laws of many ranges at once; see ``core.ranges``."""

    low: Array
    typical: Array
    high: Array

    @classmethod
    def of(cls, ranges: Sequence[Range]) -> Laws:
        points = np.array([(r.low, r.typical, r.high) for r in ranges]).reshape(len(ranges), 3)
        return cls(points[:, 0], points[:, 1], points[:, 2])

    def one(self, i: int) -> Laws:
        """The law of one range."""
        pick = slice(i, i + 1)
        return Laws(self.low[pick], self.typical[pick], self.high[pick])

    def value(self, z: Array) -> Array:
        """Numbers at scores ``z``, shape (..., n)."""
        up, down = np.maximum(z, 0.0) / Z95, np.minimum(z, 0.0) / Z95
        above = np.where(
            self.typical > 0.0,
            self.typical * np.exp(self._log_up() * up),
            self.typical + (self.high - self.typical) * up,
        )
        line = np.maximum(self.typical + (self.typical - self.low) * down, 0.0)
        below = np.where(self.low > 0.0, self.typical * np.exp(self._log_down() * down), line)
        return np.where(z < 0.0, below, above)

    def slope(self, z: Array) -> Array:
        """Derivative of ``value``, shape (..., n)."""
        value = self.value(z)
        above = np.where(self.typical > 0.0, value * self._log_up(), self.high - self.typical)
        below = np.where(
            self.low > 0.0,
            value * self._log_down(),
            np.where(value > 0.0, self.typical - self.low, 0.0),
        )
        slope: Array = np.where(z < 0.0, below, above) / Z95
        return slope

    def _log_up(self) -> Array:
        safe = np.where(self.typical > 0.0, self.typical, 1.0)
        return np.where(self.typical > 0.0, np.log(np.maximum(self.high, safe) / safe), 0.0)

    def _log_down(self) -> Array:
        safe = np.where(self.low > 0.0, self.low, 1.0)
        ratio = np.where(self.low > 0.0, np.maximum(self.typical, safe) / safe, 1.0)
        return np.asarray(np.log(ratio))


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Numbers at one or many points; leading axes are the points.

    ``running``, ``factor``, ``standby`` (..., n); ``room`` (..., n) share of a change of use that
    gets through, 0 for a load that is on all the time; ``rise`` (..., n, 12) mean rise over standby
    at duty 1, count and season included; ``rest`` (..., 12); ``split`` (..., legs). [W]
    """

    running: Array
    factor: Array
    room: Array
    standby: Array
    season: Array
    rise: Array
    rest: Array
    split: Array


class Unknowns:
    """Layout of the vector, and the numbers that it stands for.

    Parameters
    ----------
    loads : sequence of Load
        n listed loads, at their ranges before demand is looked at.
    rest_w : float
        typical level of what is not listed; 0 for none. [W]
    legs : int
        legs of the supply.
    switched : NDArray
        which loads people switch, so that the household's activity moves them all, shape (n,).
    """

    def __init__(
        self, loads: Sequence[Load], rest_w: float, legs: int, switched: NDArray[np.bool_]
    ) -> None:
        self.loads = tuple(loads)
        self.activity_sigma = np.where(switched, ACTIVITY_SIGMA, 0.0)
        n = len(loads)
        self.duty = np.array([load.duty for load in loads]).reshape(n, 12, 24)
        self.count = np.array([float(load.count) for load in loads])
        self.running_laws = Laws.of([load.running_w for load in loads])
        self.factor_laws = Laws.of([load.duty_belief for load in loads])
        self.standby_laws = Laws.of([load.standby_w for load in loads])
        self.share = np.array([load.leg_share for load in loads]).reshape(n, legs)
        mean = self.duty.mean(axis=(1, 2))
        self.starts_per_h = np.array([float(np.mean(load.starts_per_h)) for load in loads])
        self.on_s = np.where(
            self.starts_per_h > 0.0, 3600.0 * mean / np.maximum(self.starts_per_h, 1e-9), 3600.0
        )
        self.most_factor = np.where(mean > 0.0, 1.0 / np.maximum(mean, 1e-12), 1.0)
        self.most_score = _score_of(self.factor_laws, self.most_factor)
        self.rest_w, self.legs = rest_w, legs
        self.season_sigma = _season_sigma(self.duty)
        self.season_root = _season_root()
        self.shaped = self._shaped()
        self.switched = switched.astype(np.float64)
        sizes = (n, n, n, 1, 12, 1, 12, legs, 12 * len(self.shaped))
        ends = np.cumsum(sizes)
        parts = [slice(int(end - size), int(end)) for end, size in zip(ends, sizes, strict=True)]
        self.run, self.use, self.off, self.activity, self.active_month = parts[:5]
        self.level, self.month, self.leg, self.shape = parts[5:]
        self.size = int(ends[-1])

    def _shaped(self) -> NDArray[np.intp]:
        """Loads whose season is doubtful and that draw enough for it to matter."""
        rise = self.count * np.maximum(self.running_laws.typical - self.standby_laws.typical, 0.0)
        matters = self.season_sigma * rise * self.duty.mean(axis=(1, 2))
        order = np.argsort(-matters, kind="stable")[:MOST_SHAPED]
        return np.sort(order[matters[order] > 0.0])

    def state(self, z: Array) -> State:
        """Numbers at ``z``, shape (..., size)."""
        running = self.running_laws.value(z[..., self.run])
        factor, room = self._factor(z)
        standby = self.standby_laws.value(z[..., self.off])
        season = np.ones((*z.shape[:-1], len(self.loads), 12))
        if len(self.shaped):
            scores = z[..., self.shape].reshape(*z.shape[:-1], len(self.shaped), 12)
            sigma = self.season_sigma[self.shaped][:, None]
            season[..., self.shaped, :] = np.exp(sigma * (scores @ self.season_root.T))
        busy = np.exp(ACTIVITY_MONTH_SIGMA * z[..., None, self.active_month])
        season = season * np.where(self.switched[:, None] > 0.0, busy, 1.0)
        each = self.count * factor * np.maximum(running - standby, 0.0)
        level = self.rest_w * np.exp(
            REST_LEVEL_SIGMA * z[..., self.level]
            + REST_MONTH_SIGMA * (z[..., self.month] @ self.season_root.T)
        )
        split = np.exp(REST_LEG_SIGMA * z[..., self.leg])
        split = split / split.sum(axis=-1, keepdims=True)
        return State(running, factor, room, standby, season, each[..., None] * season, level, split)

    def _factor(self, z: Array) -> tuple[Array, Array]:
        """Factor on duty, never above full use, and how far a change of it gets through.

        x / (1 + x^p)^(1/p) of full use: a smooth cut, so that the fit does not stick to it.
        """
        active = np.exp(self.activity_sigma * z[..., self.activity])
        full = self.factor_laws.value(z[..., self.use]) * active / self.most_factor
        above = np.logaddexp(0.0, _CUT_SHARPNESS * np.log(np.maximum(full, 1e-12)))
        factor = self.most_factor * full * np.exp(-above / _CUT_SHARPNESS)
        exact = (self.factor_laws.low == self.factor_laws.high) & (self.activity_sigma == 0.0)
        return np.where(exact, np.minimum(full, 1.0) * self.most_factor, factor), np.exp(-above)

    def mean_w(self, state: State) -> Array:
        """Mean demand in each month-hour with what is not listed spread evenly over the hours.

        Shape (..., 288). [W]
        """
        steady = (state.standby * self.count).sum(axis=-1)[..., None, None]
        listed = np.einsum("...im,imh->...mh", state.rise, self.duty)
        total = steady + listed + state.rest[..., None]
        mean: Array = total.reshape(*total.shape[:-2], 288)
        return mean


def _score_of(laws: Laws, value: Array) -> Array:
    """Score at which each law reaches a value above its typical one; infinite where it never does.

    Shape (n,).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        score = Z95 * np.log(value / laws.typical) / np.log(laws.high / laws.typical)
    return np.where(np.isfinite(score) & (laws.high > laws.typical), score, np.inf)


def switched_by_people(load: Load) -> bool:
    """Whether habits decide how long a load is on: no thermostat, not always on."""
    return not load.thermostatic and float(load.duty_array().mean()) < ALWAYS_ON


def log_normal(sigma: float) -> Range:
    """A factor of typical size 1 with a log-normal doubt."""
    return Range.around(1.0, float(np.exp(Z95 * sigma)))


def with_habits(load: Load) -> Load:
    """A load that people switch, its duty as doubtful as one household's is (without activity)."""
    most = 1.0 / max(float(load.duty_array().mean()), 1e-9)
    belief = times(load.duty_belief, log_normal(HABIT_SIGMA)).clipped(0.0, max(most, 1.0))
    return load.with_(duty_belief=belief)


def _season_sigma(duty: Array) -> Array:
    """Doubt of a load's season by how much its expected use swings over the year, shape (n,)."""
    months = duty.mean(axis=2)
    mean = months.mean(axis=1)
    swing = months.std(axis=1) / np.maximum(mean, 1e-12)
    sigma = np.where(swing > SEASONAL_SWING, SEASONAL_SIGMA, SEASON_SIGMA)
    # A load that never stops can't be used more in one month than in another.
    always = (duty >= 1.0).all(axis=(1, 2))
    return np.where(always | (mean <= 0.0), 0.0, sigma)


def _season_root() -> Array:
    """Root of the correlation of months round the year, shape (12, 12)."""
    apart = np.abs(np.subtract.outer(np.arange(12), np.arange(12)))
    apart = np.minimum(apart, 12 - apart)
    root: Array = np.linalg.cholesky(np.exp(-apart / SEASON_LENGTH_MONTHS))
    return root
