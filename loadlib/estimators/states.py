"""Which loads were on when something was read, as far as the reading can tell."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.ranges import Z95
from loadlib.estimators.clockhours import CELLS
from loadlib.estimators.rows import Moment
from loadlib.estimators.unknowns import Unknowns

__all__ = ["MOST_STATES", "likely_states"]

Array = NDArray[np.float64]

MOST_STATES = 10
"""Loads of a circuit whose on or off is tried out, 2 to that power at most."""


def likely_states(
    claim: DemandClaim,
    share: Array,
    on: NDArray[np.bool_],
    unsure: NDArray[np.bool_],
    unknowns: Unknowns,
    moment: Moment,
) -> NDArray[np.bool_]:
    """Which of the unsure loads were most likely on, given what was read, shape (n,)."""
    usual = unknowns.duty.reshape(-1, CELLS) * moment.time
    duty = np.clip(usual @ moment.cells, 0.01, 0.99)
    running = unknowns.running_laws
    power = share * unknowns.count * running.typical * moment.watts
    idle = share * unknowns.count * unknowns.standby_laws.typical
    sigma = power * (np.maximum(running._log_up(), running._log_down()) / Z95)
    picks = np.flatnonzero(unsure)
    fixed = float(power[on].sum())
    own = (claim.value.high - claim.value.low) / (2.0 * Z95)
    best, found = -np.inf, np.zeros_like(unsure)
    for states in itertools.product((False, True), repeat=picks.size):
        up = np.array(states, dtype=bool)
        mean = fixed + power[picks[up]].sum() + idle[picks[~up]].sum()
        variance = own**2 + (sigma[picks[up]] ** 2).sum() + (sigma[on] ** 2).sum()
        variance = max(variance, (0.02 * claim.value.typical) ** 2, 1.0)
        chance = np.log(duty[picks[up]]).sum() + np.log(1.0 - duty[picks[~up]]).sum()
        chance -= 0.5 * ((claim.value.typical - mean) ** 2 / variance + np.log(variance))
        if chance > best:
            best = float(chance)
            found = np.zeros_like(unsure)
            found[picks[up]] = True
    return found
