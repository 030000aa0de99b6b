"""Laws of the logarithms of sizes and lengths of times on.

A range of a catalog is read as a two-piece normal law of the logarithm. The highest sample of
a short time on depends on where it lies between the samples: a kettle that boils for 95 s
fills a whole minute only if it began at the right moment, and else its highest minute shows a
part of its power.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loadlib.core.ranges import Z95, Range

__all__ = ["Law", "law_of", "learnt", "log_density", "log_peak_density", "quantiles"]

Array = NDArray[np.float64]

_PRIOR_WEIGHT = 4.0
"""Observations that what was known before is worth: a judgement."""
_TINY = 1e-300


class Law(NamedTuple):
    """Two-piece normal law of a logarithm: centre, and spread below and above."""

    centre: float
    down: float
    up: float

    @property
    def spread(self) -> float:
        """The wider of both spreads."""
        return max(self.down, self.up)


def law_of(value: Range, least_spread: float) -> Law:
    """Law of the logarithm of what a range describes, at least so wide."""
    centre = math.log(max(value.typical, 1e-6))
    down = (centre - math.log(max(value.low, value.typical * 0.02, 1e-6))) / Z95
    up = (math.log(max(value.high, value.typical, 1e-6)) - centre) / Z95
    return Law(centre, max(down, least_spread), max(up, least_spread))


def log_density(x: Array, law: Law) -> Array:
    """Logarithm of the density at ``x``; both halves have the same height."""
    spread = np.where(x < law.centre, law.down, law.up)
    height = math.log(2.0 / (math.sqrt(2.0 * math.pi) * (law.down + law.up)))
    density: Array = height - 0.5 * ((x - law.centre) / spread) ** 2
    return density


def quantiles(x: Array, weight: Array, shares: tuple[float, ...]) -> list[float]:
    """Weighted quantiles; the weights must not all be zero."""
    order = np.argsort(x)
    cumulated = np.cumsum(weight[order]) / weight.sum()
    at = np.minimum(np.searchsorted(cumulated, shares), x.size - 1)
    return [float(value) for value in x[order][at]]


def learnt(x: Array, weight: Array, prior: Law, least_spread: float) -> Law:
    """Law of the values seen, drawn to what was known before and never wider than that.

    An appliance does not grow to take everything in: wider than its kind is not its own.
    """
    low, middle, high = quantiles(x, weight, (0.16, 0.5, 0.84))
    keep = _PRIOR_WEIGHT / (_PRIOR_WEIGHT + float(weight.sum()))
    seen = max((high - low) / 2.0, least_spread)
    sides = [
        max(min(math.sqrt(keep * side**2 + (1.0 - keep) * seen**2), prior.spread), least_spread)
        for side in (prior.down, prior.up)
    ]
    return Law(keep * prior.centre + (1.0 - keep) * middle, *sides)


def log_peak_density(log_part: Array, log_on: Array, spread: float, step_s: float) -> Array:
    """Logarithm of the density of the highest sample of a time on.

    Parameters
    ----------
    log_part : NDArray
        logarithm of the highest sample over the power, shape (n,).
    log_on : NDArray
        logarithm of the true length in seconds, shape (n,).
    spread : float
        spread of the logarithm of the power itself.
    step_s : float
        sampling. [s]

    Notes
    -----
    With τ = length / step and every beginning equally likely: τ ≥ 1 fills a sample with
    chance min(τ − 1, 1), and else its larger part is even between τ/2 and 1; τ < 1 lies
    within one sample with chance 1 − τ, and else its larger part is even between τ/2 and τ.
    """
    tau = np.exp(log_on) / step_s
    whole = np.where(tau >= 1.0, np.minimum(tau - 1.0, 1.0), 1.0 - tau)
    top = np.minimum(tau, 1.0)
    off = (log_part - np.log(top)) / spread
    full = np.exp(-0.5 * off**2) / (spread * math.sqrt(2.0 * math.pi))
    part = np.exp(log_part)
    low, high = 0.5 * tau * math.exp(-spread), top * math.exp(spread)
    even = np.where((part > low) & (part < high), part / np.maximum(high - low, 1e-9), 0.0)
    density: Array = np.log(whole * full + (1.0 - whole) * even + _TINY)
    return density
