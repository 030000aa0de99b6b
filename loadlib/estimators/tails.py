"""Quantiles and maxima of window means, from three moments of the sum of on/off loads.

The sum over loads of an on/off process, averaged over a window τ, keeps its mean; its
variance falls by g(τ) = 2(c/τ)[1 − (c/τ)(1 − e^(−τ/c))] with correlation time c. For a
two-state Markov process 1/c = 1/(mean on time) + 1/(mean off time), so c = (on time)(1 − d).
Third moments fall by about g^1.5. A gamma law with these three moments gives the quantile
(Wilson and Hilferty 1931, Proc. Natl. Acad. Sci. 17, 684). The highest of N windows is taken
at its median, the quantile 0.5^(1/N), as if windows were independent.

Loads that people switch together make real maxima higher than that; ``MODEL_SIGMA`` is what
such a claim is held off by on top of its own doubt.

At an outdoor temperature the hours are those of ``outdoor.Spell`` and loads that follow the
weather do in them what ``bonds.Use`` says.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.household import House
from loadlib.estimators.bonds import Bond, Use
from loadlib.estimators.claim_rows import spell_of
from loadlib.estimators.clockhours import CELLS, hours_by_cell, when_mask
from loadlib.estimators.outdoor import Outdoor
from loadlib.estimators.places import members
from loadlib.estimators.unknowns import State, Unknowns

__all__ = ["MODEL_SIGMA", "Tail", "tail_of"]

Array = NDArray[np.float64]

MODEL_SIGMA = 0.3
"""Doubt of the three-moment law against real houses, as a share: the model's hourly peak of the
AMPds house and the UK house lies within this of the measured one (tests/bench)."""

_HALF = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Tail:
    """A claim about a quantile or the maximum of window means at a place."""

    claim: DemandClaim
    share: Array
    cells: Array
    score: float
    rest_leg: int
    use: Use | None = None
    follows: NDArray[np.bool_] | None = None
    rest_sigma: float = 0.0

    def predict(self, unknowns: Unknowns, state: State) -> float:
        """The quantile at one point of the unknowns. [W]"""
        mean, second, third = self._parts(unknowns, state)
        rest = np.repeat(state.rest, 24) * self._rest_share(state)
        by_cell = mean.sum(axis=0) + rest
        return float(self._quantile(by_cell, second.sum(), third.sum()))

    def jacobian(self, unknowns: Unknowns, z: Array) -> Array:
        """Numeric derivatives by running power, use and level of the rest, shape (size,)."""
        result = np.zeros(unknowns.size)
        state = unknowns.state(z)
        base = self.predict(unknowns, state)
        mean, second, third = self._parts(unknowns, state)
        rest = np.repeat(state.rest, 24) * self._rest_share(state)
        by_cell, variance, skew = mean.sum(axis=0) + rest, second.sum(), third.sum()
        step = 1e-4
        for part in (unknowns.run, unknowns.use):
            moved = z.copy()
            moved[part] += step
            m2, s2, t2 = self._parts(unknowns, unknowns.state(moved))
            # Each load moves alone: one row of sums for each.
            value = self._quantile(
                by_cell + (m2 - mean), variance + (s2 - second), skew + (t2 - third)
            )
            result[part] = np.where(self.share > 0.0, (value - base) / step, 0.0)
        for part in (unknowns.level, unknowns.activity):
            moved = z.copy()
            moved[part] += step
            result[part] = (self.predict(unknowns, unknowns.state(moved)) - base) / step
        return result

    def _rest_share(self, state: State) -> float:
        if self.rest_leg == -1:
            return 1.0
        return float(state.split[self.rest_leg]) if self.rest_leg >= 0 else 0.0

    def _parts(self, u: Unknowns, state: State) -> tuple[Array, Array, Array]:
        """Per load: mean by month-hour (n, 288), variance and third moment over them (n,)."""
        running = state.running if self.use is None else state.running * self._watts(self.use)
        step = self.share * np.maximum(running - state.standby, 0.0)
        season = np.repeat(state.season, 24, axis=-1)
        on = np.minimum(self._duty(u) * season * state.factor[:, None], 1.0)
        mean = u.count[:, None] * (step[:, None] * on + (self.share * state.standby)[:, None])
        fall = _fall(u, on.mean(axis=1), self.claim.window_s)
        chance = on * (1.0 - on)
        second = u.count * step**2 * fall * (chance @ self.cells)
        third = u.count * step**3 * fall**1.5 * ((chance * (1.0 - 2.0 * on)) @ self.cells)
        return mean, second, third

    def _duty(self, u: Unknowns) -> Array:
        duty = u.duty.reshape(-1, CELLS)
        return duty if self.use is None else duty * self.use.time

    def _watts(self, use: Use) -> Array:
        """Running power of each load relative to typical in the mean over the hours, (n,)."""
        watts: Array = use.watts @ self.cells
        return watts

    def spread(self, unknowns: Unknowns, state: State, predicted: float) -> float:
        """Variance that the law and the weather leave open. [W²]"""
        variance = float((MODEL_SIGMA * predicted) ** 2)
        if self.use is None or self.follows is None:
            return variance
        duty = unknowns.duty.reshape(-1, CELLS)
        rise = np.repeat(state.rise, 24, axis=-1)
        each = self.share * ((rise * duty * self.use.doubt) @ self.cells)
        rest = np.repeat(state.rest, 24) @ self.cells * self._rest_share(state)
        variance += float(each[self.follows].sum()) ** 2 + float((each[~self.follows] ** 2).sum())
        return variance + float(self.rest_sigma * rest) ** 2

    def _quantile(self, by_cell: Array, variance: Array, third: Array) -> Array:
        """Quantiles from means by month-hour (..., 288) and two moments (...). [W]"""
        middle = by_cell @ self.cells
        between = by_cell - middle[..., None]
        square = between * between
        total = np.maximum(variance + square @ self.cells, 1e-12)
        # numpy raises to the third power some ten times as slowly as it multiplies.
        skewed = third + (square * between) @ self.cells
        sigma = np.sqrt(total)
        quantile: Array = middle + sigma * _pearson(self.score, skewed / sigma**3)
        return quantile


def _pearson(score: float, skew: Array) -> Array:
    """Standardised gamma quantile at a normal score, shape as ``skew``."""
    safe = np.where(np.abs(skew) < 1e-3, 1e-3, skew)
    inner = np.maximum(1.0 + safe * score / 6.0 - safe**2 / 36.0, 0.0)
    found: Array = 2.0 / safe * (inner**3 - 1.0)
    return found


def _fall(u: Unknowns, duty: Array, window_s: float) -> Array:
    """How far averaging over the window lowers each load's variance, shape (n,)."""
    ratio = np.maximum(u.on_s * (1.0 - duty), 1.0) / window_s
    fall: Array = 2.0 * ratio * (1.0 - ratio * (1.0 - np.exp(-1.0 / ratio)))
    return fall


def tail_of(
    claim: DemandClaim, unknowns: Unknowns, house: House, outdoor: Outdoor | None = None
) -> Tail | None:
    """The tail that a claim about ``max_w`` or ``quantile_w`` speaks of; None if it can't be."""
    share = members(claim.place, unknowns, house)
    spell = spell_of(claim, outdoor)
    if share is None or isinstance(spell, str):
        return None
    if spell is None:
        hours = hours_by_cell(int(claim.start_s or 0), int(claim.end_s or 0), house.timezone)
        hours = hours * when_mask(claim.when)
    else:
        hours = spell.hours
    total = float(hours.sum())
    if total <= 0.0:
        return None
    windows = max(total * 3600.0 / claim.window_s, 1.0)
    level = _HALF ** (1.0 / windows) if claim.quantity == "max_w" else claim.share
    level = min(max(level, _HALF / windows), 1.0 - (1.0 - _HALF) / (2.0 * windows))
    leg = -2
    if claim.place == "whole":
        leg = -1
    elif claim.place.startswith("leg "):
        leg = house.supply.legs.index(claim.place.removeprefix("leg "))
    cells, score = hours / total, NormalDist().inv_cdf(level)
    if spell is None or outdoor is None:
        return Tail(claim, share, cells, score, leg)
    follows = np.isin(outdoor.bonds, (Bond.HEATING, Bond.COOLING, Bond.BOTH))
    rest_sigma = float(spell.sigma[Bond.UNSURE] @ cells)
    return Tail(claim, share, cells, score, leg, outdoor.use(spell), follows, rest_sigma)
