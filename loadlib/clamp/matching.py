"""Which appliance a time on may have been: by size, length, hour and leg, with honest doubt.

A mixture: each appliance of the house makes times on of a size and a length drawn from its
ranges, so many a day; what nobody listed makes them anywhere. A time on is proposed for an
appliance when that is likelier than everything else together. Sizes and lengths of an
appliance are then learnt from its own times on, and the assignment is repeated.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.ranges import Z95, Range

__all__ = ["Assigned", "Signature", "assign"]

Array = NDArray[np.float64]

_ROUNDS = 4
_ENOUGH = 6
_LEAST_SIZE_SIGMA, _LEAST_LENGTH_SIGMA = 0.03, 0.3
_PRIOR_WEIGHT = 4.0
_SIZE_SPAN, _LENGTH_SPAN = math.log(500.0), math.log(20_000.0)
_LIKELY = 0.5
_UNKNOWN_PER_DAY = 4.0


@dataclass(frozen=True, slots=True)
class Signature:
    """What is expected of an appliance's times on.

    ``size_w`` what comes on, ``on_s`` its length, ``per_day`` how many, ``by_hour`` relative
    use by clock hour (24, mean 1), ``leg`` the leg it must lie on ("" for any, "AB" for both).
    """

    id: str
    size_w: Range
    on_s: Range
    per_day: float
    by_hour: tuple[float, ...] = (1.0,) * 24
    leg: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Assigned:
    """For each time on the appliance (index, −1 for none) and how sure that is, shape (n,).

    ``signatures`` are as learnt from the log.
    """

    who: NDArray[np.int64]
    chance: Array
    signatures: tuple[Signature, ...]


def assign(
    size_w: Array,
    on_s: Array,
    hour: NDArray[np.int64],
    leg: Sequence[str],
    days: float,
    signatures: Sequence[Signature],
) -> Assigned:
    """Propose an appliance for each time on.

    Parameters
    ----------
    size_w, on_s, hour : NDArray
        of n times on: what came on [W], how long [s], local clock hour of the start.
    leg : sequence of str
        leg of each time on: ``"A"``, ``"B"``, ``"AB"``, or ``""`` in a log of the whole house.
    days : float
        length of the log, for the rates.
    signatures : sequence of Signature
        of the appliances of the house.

    Returns
    -------
    Assigned
        the likeliest appliance where its chance is above one half.
    """
    n = size_w.size
    learnt = list(signatures)
    if n == 0 or not learnt:
        return Assigned(np.full(n, -1), np.zeros(n), tuple(learnt))
    log_size, log_length = np.log(np.maximum(size_w, 1.0)), np.log(np.maximum(on_s, 1.0))
    legs = np.array(list(leg))
    chance = np.zeros((n, len(learnt)))
    for _ in range(_ROUNDS):
        density = np.stack(
            [_density(one, log_size, log_length, hour, legs) for one in learnt], axis=1
        )
        unknown = _UNKNOWN_PER_DAY / (_SIZE_SPAN * _LENGTH_SPAN)
        chance = density / (density.sum(axis=1) + unknown)[:, None]
        learnt = [
            _learn(first, chance[:, k], log_size, log_length, days)
            for k, first in enumerate(signatures)
        ]
    who = np.where(chance.max(axis=1) > _LIKELY, chance.argmax(axis=1), -1)
    return Assigned(who.astype(np.int64), chance.max(axis=1), tuple(learnt))


def _law(value: Range, least_sigma: float) -> tuple[float, float, float]:
    """Log centre and log sigmas below and above."""
    centre = math.log(max(value.typical, 1e-6))
    down = (centre - math.log(max(value.low, value.typical * 0.02, 1e-6))) / Z95
    up = (math.log(max(value.high, value.typical)) - centre) / Z95
    return centre, max(down, least_sigma), max(up, least_sigma)


def _log_density(x: Array, value: Range, least_sigma: float) -> Array:
    centre, down, up = _law(value, least_sigma)
    sigma = np.where(x < centre, down, up)
    # A two-piece normal: the halves share one height.
    height = math.log(2.0 / (math.sqrt(2.0 * math.pi) * (down + up)))
    density: Array = height - 0.5 * ((x - centre) / sigma) ** 2
    return density


def _density(
    one: Signature,
    log_size: Array,
    log_length: Array,
    hour: NDArray[np.int64],
    legs: NDArray[np.str_],
) -> Array:
    """Rate of times on of this appliance per day at each point."""
    by_hour = np.maximum(np.array(one.by_hour)[hour], 0.05)
    total = _log_density(log_size, one.size_w, _LEAST_SIZE_SIGMA)
    total = total + _log_density(log_length, one.on_s, _LEAST_LENGTH_SIGMA)
    density = one.per_day * by_hour * np.exp(np.maximum(total, -700.0))
    possible = (legs == "") | (one.leg == "") | (legs == one.leg)
    result: Array = np.where(possible, density, density * 1e-3)
    return result


def _learn(
    first: Signature, chance: Array, log_size: Array, log_length: Array, days: float
) -> Signature:
    """The signature drawn towards the times on that were given to it."""
    weight = float(chance.sum())
    per_day = (weight + first.per_day) / (days + 1.0)
    if weight < _ENOUGH:
        return replace(first, per_day=per_day)
    size = _learnt(first.size_w, chance, log_size, _LEAST_SIZE_SIGMA)
    on_s = _learnt(first.on_s, chance, log_length, _LEAST_LENGTH_SIGMA)
    return replace(first, size_w=size, on_s=on_s, per_day=per_day)


def _learnt(prior: Range, chance: Array, x: Array, least_sigma: float) -> Range:
    """Range of the values given, shrunk to the prior as by ``_PRIOR_WEIGHT`` of them."""
    order = np.argsort(x)
    share = np.cumsum(chance[order]) / chance.sum()
    median = float(x[order][np.searchsorted(share, 0.5)])
    inner = [float(x[order][np.searchsorted(share, q)]) for q in (0.16, 0.84)]
    spread = max((inner[1] - inner[0]) / 2.0, least_sigma)
    centre0, down0, up0 = _law(prior, least_sigma)
    weight = float(chance.sum())
    keep = _PRIOR_WEIGHT / (_PRIOR_WEIGHT + weight)
    centre = keep * centre0 + (1.0 - keep) * median
    sigma = math.sqrt(keep * max(down0, up0) ** 2 + (1.0 - keep) * spread**2)
    return Range(math.exp(centre - Z95 * sigma), math.exp(centre), math.exp(centre + Z95 * sigma))
