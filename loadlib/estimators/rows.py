"""Claims about demand as rows: what each says, and how it follows from the loads.

A row's prediction is linear in the numbers of a ``State``: so much of each load's running
power and standby, so much of its rise in each month, so much of what is not listed. Claims
about a maximum or another quantile are not linear; they are in ``tails``.

What a row leaves open is kept apart from the claim's own doubt: a week is not the month it
stands for, an instant finds loads on or off, hours of use are guesses. Those spreads are
worked out at the numbers that the fit has reached (``Rows.spread``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.ranges import Z95, Range
from loadlib.estimators.bonds import Use
from loadlib.estimators.clockhours import CELLS
from loadlib.estimators.unknowns import (
    ACTIVITY_MONTH_SIGMA,
    ALWAYS_ON,
    REST_LEG_SIGMA,
    REST_LEVEL_SIGMA,
    REST_MONTH_SIGMA,
    State,
    Unknowns,
)

__all__ = ["DAY_SIGMA", "YEAR_SIGMA", "Moment", "Open", "Row", "Rows", "day_sigma"]

Array = NDArray[np.float64]

DAY_SIGMA = 0.35
"""Spread of a day's energy about its month's mean, as a share, such that √(1/n − 1/N) of it is
the error of n days standing for N. From the spread of weeks within months: 0.39 in the median
of 58 London homes of 2013 and 0.30 in the AMPds house (Makonin 2013)."""

_ONE_USE_SIGMA = 1.2
"""Spread of a single use's energy and of the gaps between uses, over that of chance alone."""

_THERMOSTAT_DAY_SIGMA = 0.2

YEAR_SIGMA = 0.08
"""Spread of the same month between years, where claims of more than one year are joined: two
years of the AMPds house differ by 8 % in the median month."""

HOUR_SIGMA = 0.5
"""Doubt of a load's share in a block of hours, log scale: hours of use are the catalog's."""

COMMON_HOUR_SIGMA = 0.3
"""On top of that the household's own hours, all of its loads together. Both are judgements:
measured hours are weak evidence about single loads, and are matched afterwards."""

REST_HOUR_SIGMA = 0.5
REST_INSTANT_SIGMA = 0.7
"""What is not listed: doubt of its share in a block of hours; its spread at an instant."""

CIRCUIT_REST_SHARE = 0.1
"""A circuit may carry this share of what is not listed (a fifth at most)."""

LEAST_SIGMA_SHARE = 0.001


@dataclass(slots=True, eq=False)
class Row:
    """One claim as a sum: coefficients of running power ``run`` and standby ``off`` (n,), of the
    rise of each load ``rise`` (n, 12) and of what is not listed ``rest`` (12,), on leg ``leg``
    (−1 for none). ``value`` is what is claimed. [W]

    What it leaves open: ``sample`` and ``year`` for days and years that stand for others,
    ``block`` the share of the day that it leaves out, ``moment`` for an instant, ``weather``.
    ``place`` (n,) says how much of each load counts at the place.
    """

    claim: DemandClaim
    value: Range
    run: Array
    off: Array
    rise: Array
    rest: Array
    leg: int = -1
    sample: float = 0.0
    year: float = 0.0
    block: float = 0.0
    moment: Moment | None = None
    place: Array = field(default_factory=lambda: np.zeros(0))
    weather: Open | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """When an instant may have been: weights ``cells`` of the month-hours, sum 1, shape (288,).

    What each load does then relative to usual: ``time`` (n, 288) its share of time on, ``watts``
    (n,) its running power, ``power`` (n, 288) its mean power; all 1 where no temperature is
    claimed, and then ``use`` is None.
    """

    cells: Array
    time: Array
    watts: Array
    power: Array
    use: Use | None


@dataclass(frozen=True, slots=True, eq=False)
class Open:
    """What the weather leaves open in a row, as standard deviations of its coefficients.

    ``follow`` (n, 12) on the rise of loads that follow the weather, wrong together; ``rise``
    (n, 12) on that of each of the others, ``run`` (n,) on running power, ``rest`` (12,) on what
    is not listed.
    """

    follow: Array
    rise: Array
    run: Array
    rest: Array

    def variance(self, state: State, leg_share: float) -> float:
        """Of the row's prediction. [W²]"""
        together = float((self.follow * state.rise).sum())
        apart = (self.rise * state.rise).sum(axis=1) ** 2 + (self.run * state.running) ** 2
        rest = float(self.rest @ state.rest) * leg_share
        return together**2 + float(apart.sum()) + rest**2


class Rows:
    """K linear rows over n loads.

    ``typical`` (K,) is what the claims say in W; ``lower`` and ``upper`` (K,) their sigmas on
    either side; ``at_temperature`` (K,) whether they hold in some of the hours only, by the
    outdoor temperature. [W]
    """

    def __init__(self, rows: Sequence[Row], unknowns: Unknowns, guessed: NDArray[np.bool_]):
        n, k = len(unknowns.loads), len(rows)
        self.claims = tuple(row.claim for row in rows)
        self.run = np.array([row.run for row in rows]).reshape(k, n)
        self.off = np.array([row.off for row in rows]).reshape(k, n)
        self.rise = np.array([row.rise for row in rows]).reshape(k, n, 12)
        self.rest = np.array([row.rest for row in rows]).reshape(k, 12)
        self.leg = np.array([row.leg for row in rows], dtype=np.intp)
        self.typical = np.array([row.value.typical for row in rows])
        floor = np.maximum(LEAST_SIGMA_SHARE * np.abs(self.typical), 1e-6)
        low = np.array([row.value.low for row in rows])
        high = np.array([row.value.high for row in rows])
        self.lower = np.maximum((self.typical - low) / Z95, floor)
        self.upper = np.maximum((high - self.typical) / Z95, floor)
        self._sample = np.array([row.sample for row in rows])
        self._year = np.array([row.year for row in rows])
        self._block = np.array([row.block for row in rows])
        self._place = np.array([row.place for row in rows]).reshape(k, n)
        self._on_leg = np.array([row.claim.place.startswith("leg ") for row in rows], dtype=bool)
        self._on_circuit = np.array(
            [row.claim.place.startswith("circuit ") for row in rows], dtype=bool
        )
        self._single = self._on_circuit | np.array(
            [row.claim.place.startswith("appliance ") for row in rows], dtype=bool
        )
        self._day_sigma = day_sigma(unknowns)
        self._moments = [(j, row.moment) for j, row in enumerate(rows) if row.moment is not None]
        self.at_temperature = np.array([row.weather is not None for row in rows], dtype=bool)
        self._weather = [(j, row.weather) for j, row in enumerate(rows) if row.weather is not None]
        self._guessed = guessed
        self._unknowns = unknowns
        plain = np.ones(n, dtype=bool)
        plain[unknowns.shaped] = False
        self._plain_season = np.where(plain, unknowns.season_sigma, 0.0)

    def __len__(self) -> int:
        return len(self.claims)

    def predict(self, state: State) -> Array:
        """Prediction at each point, shape (..., K). [W]"""
        flat = state.rise.reshape(*state.rise.shape[:-2], 12 * self.run.shape[1])
        total: Array = (
            (state.running) @ self.run.T
            + state.standby @ self.off.T
            + flat @ self.rise.reshape(len(self), 12 * self.run.shape[1]).T
            + (state.rest @ self.rest.T) * self._leg_share(state)
        )
        return total

    def _leg_share(self, state: State) -> Array:
        share: Array = np.where(self.leg < 0, 1.0, state.split[..., np.maximum(self.leg, 0)])
        return share

    def jacobian(self, state: State, z: Array) -> Array:
        """Derivatives by the unknowns, shape (..., K, size)."""
        u = self._unknowns
        lead = z.shape[:-1]
        result = np.zeros((*lead, len(self), u.size))
        gap = np.maximum(state.running - state.standby, 0.0)
        per_month = self._over_months(state.season)
        each = per_month * (u.count * state.factor)[..., None, :]
        above = (gap > 0.0)[..., None, :]
        run_slope = u.running_laws.slope(z[..., u.run])[..., None, :]
        result[..., u.run] = (self.run + each * above) * run_slope
        off_slope = u.standby_laws.slope(z[..., u.off])[..., None, :]
        result[..., u.off] = (self.off - each * above) * off_slope
        law = u.factor_laws.value(z[..., u.use])
        relative = u.factor_laws.slope(z[..., u.use]) / np.where(law > 0.0, law, 1.0)
        moved = state.factor * state.room
        result[..., u.use] = per_month * (u.count * gap * moved * relative)[..., None, :]
        all_slope = moved * u.activity_sigma
        part = self._over_loads(state.rise * u.switched[:, None])
        result[..., u.active_month] = ACTIVITY_MONTH_SIGMA * part
        result[..., u.activity] = per_month @ (u.count * gap * all_slope)[..., None]
        self._rest_jacobian(result, state)
        if len(u.shaped):
            part = (
                self.rise[:, u.shaped]
                * (state.rise[..., u.shaped, :] * u.season_sigma[u.shaped][:, None])[
                    ..., None, :, :
                ]
            )
            result[..., u.shape] = (part @ u.season_root).reshape(
                *lead, len(self), 12 * len(u.shaped)
            )
        return result

    def _over_months(self, season: Array) -> Array:
        """Σ over the months of ``rise`` times ``season`` (..., n, 12): (..., K, n)."""
        lead = season.shape[:-2]
        flat = season.reshape(math.prod(lead), *season.shape[-2:])
        # Load by load, so that the sums are products of matrices.
        by_load = flat.transpose(1, 0, 2) @ self.rise.transpose(1, 2, 0)
        total: Array = by_load.transpose(1, 2, 0).reshape(*lead, *self.rise.shape[:2])
        return total

    def _over_loads(self, power: Array) -> Array:
        """Σ over the loads of ``rise`` times ``power`` (..., n, 12): (..., K, 12)."""
        lead = power.shape[:-2]
        flat = power.reshape(math.prod(lead), *power.shape[-2:])
        by_month = flat.transpose(2, 0, 1) @ self.rise.transpose(2, 1, 0)
        total: Array = by_month.transpose(1, 2, 0).reshape(*lead, len(self), 12)
        return total

    def _rest_jacobian(self, result: Array, state: State) -> None:
        u = self._unknowns
        part = self.rest * state.rest[..., None, :] * self._leg_share(state)[..., None]
        total = part.sum(axis=-1)
        result[..., u.level] = REST_LEVEL_SIGMA * total[..., None]
        result[..., u.month] = REST_MONTH_SIGMA * (part @ u.season_root)
        own = np.arange(u.legs) == self.leg[:, None]
        turn = np.where((self.leg < 0)[:, None], 0.0, own - state.split[..., None, :])
        result[..., u.leg] = REST_LEG_SIGMA * total[..., None] * turn

    def spread(self, state: State) -> Array:
        """Variance that the rows leave open, at one point, shape (K,). [W²]"""
        predicted = self.predict(state)
        part = self.rise * state.rise
        means = part.sum(axis=2)
        rest = (self.rest * state.rest).sum(axis=1) * self._leg_share(state)
        days = np.where(self._single[:, None], self._day_sigma, 0.0)
        variance: Array = ((days * means) ** 2).sum(axis=1) * self._sample
        variance += np.where(self._single, 0.0, (DAY_SIGMA * predicted) ** 2 * self._sample)
        variance += (self._year * predicted) ** 2
        variance += ((part**2).sum(axis=2) * self._plain_season**2).sum(axis=1)
        blocks = ((HOUR_SIGMA * means) ** 2).sum(axis=1) + (REST_HOUR_SIGMA * rest) ** 2
        variance += self._block * (blocks + (COMMON_HOUR_SIGMA * predicted) ** 2)
        variance += np.where(self._on_leg, ((0.5 * means) ** 2 * self._guessed).sum(axis=1), 0.0)
        rest_w = float(state.rest.mean())
        variance += np.where(self._on_circuit, (CIRCUIT_REST_SHARE * rest_w) ** 2, 0.0)
        for j, moment in self._moments:
            variance[j] += self._instant_variance(state, j, moment)
            variance[j] += (REST_INSTANT_SIGMA * rest[j]) ** 2
        for j, left in self._weather:
            variance[j] += left.variance(state, float(self._leg_share(state)[j]))
        return variance

    def _instant_variance(self, state: State, j: int, moment: Moment) -> float:
        """Spread of the sum of the loads whose state is not known, at a random instant."""
        u = self._unknowns
        share, cells = self._place[j], moment.cells
        on = np.minimum(
            u.duty.reshape(-1, CELLS)
            * np.repeat(state.season, 24, axis=1)
            * state.factor[:, None]
            * moment.time,
            1.0,
        )
        step = share * np.maximum(moment.watts * state.running - state.standby, 0.0)
        # A load whose state is known has no rise in the row.
        step = np.where(self.rise[j].any(axis=1), step, 0.0)
        within = float((u.count * step**2) @ ((on * (1.0 - on)) @ cells))
        means = (u.count * step) @ on
        middle = float(means @ cells)
        return within + float((means - middle) ** 2 @ cells)


def day_sigma(unknowns: Unknowns) -> Array:
    """Day-to-day spread of each load's own energy, as a share, shape (n,).

    What is used now and then varies as the number of uses does (Poisson), on top of the
    household's own spread; thermostats vary with the weather only.
    """
    starts = 24.0 * unknowns.count * unknowns.starts_per_h
    chance = _ONE_USE_SIGMA**2 / np.maximum(starts, 0.02)
    steady = np.array([load.thermostatic for load in unknowns.loads], dtype=bool)
    always = unknowns.duty.mean(axis=(1, 2)) >= ALWAYS_ON
    spread = np.where(steady, _THERMOSTAT_DAY_SIGMA, np.sqrt(DAY_SIGMA**2 + chance))
    return np.where(always, 0.0, spread)
