"""A likelihood in which any claim may be wrong.

A claim is sound with probability 1 − ε and then normal about the truth; else it is normal with
a sigma ``blunder`` times as wide: about as wide as the value itself, or as what was expected
instead, whichever is more (a bill in Wh read as kWh is a thousandth of the truth). The chance
that it is sound, given how far off it is, is the weight that a profile shows (mixture of two
normals: Box and Tiao 1968, Biometrika 55, 119).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "LEAST_BLUNDER",
    "METER_WRONG_SHARE",
    "WRONG_SHARE",
    "blunder_ratio",
    "loss",
    "precision_factor",
    "soundness",
]

Array = NDArray[np.float64]

WRONG_SHARE = 0.03
METER_WRONG_SHARE = 0.003
"""Share of claims that are mistakes: of readings that a person takes, and of what a meter has
counted over a period. Judgements, no source."""

LEAST_BLUNDER = 10.0


def blunder_ratio(size: Array, sigma: Array) -> Array:
    """How many times wider than its sigma a wrong claim of that size spreads; shape as given."""
    return np.maximum(np.abs(size) / sigma, LEAST_BLUNDER)


def soundness(r: Array, blunder: Array, wrong: Array | float = WRONG_SHARE) -> Array:
    """Probability that a claim at distance ``r`` (in sigmas) is no mistake; shape as ``r``."""
    bad = np.log(wrong / (1.0 - wrong) / blunder)
    gap = bad - 0.5 * (r / blunder) ** 2 + 0.5 * r**2
    sound: Array = 1.0 / (1.0 + np.exp(np.minimum(gap, 700.0)))
    return sound


def precision_factor(r: Array, blunder: Array, wrong: Array | float = WRONG_SHARE) -> Array:
    """What a claim's precision is multiplied by at distance ``r``: 1 when it is sound."""
    sound = soundness(r, blunder, wrong)
    factor: Array = sound + (1.0 - sound) / blunder**2
    return factor


def loss(r: Array, blunder: Array, wrong: Array | float = WRONG_SHARE) -> Array:
    """Minus the logarithm of the density, up to a constant; shape as ``r``."""
    good = -0.5 * r**2 + np.log(1.0 - wrong)
    bad = -0.5 * (r / blunder) ** 2 + np.log(wrong / blunder)
    return -np.logaddexp(good, bad)
