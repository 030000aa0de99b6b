"""Which appliance a time on may have been: by size, length, hour and leg, with honest doubt.

A mixture: each appliance of the house makes times on of a size and a length drawn from its
ranges, so many a day; what nobody listed makes them anywhere. A time on is proposed for an
appliance when that is likelier than everything else together. Sizes and lengths of an
appliance are then learnt from its own times on, and the assignment is repeated.

Machines that run a programme (dishwasher, washing machine, oven, dryer) heat several times:
their times on are first joined to programmes by size and nearness, and it is the programme
that is matched: total time on, number of times on, share of idle time in between.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.cycles import Cycles
from loadlib.core.ranges import Z95, Range

__all__ = ["Assigned", "Programme", "Signature", "assign"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

_ROUNDS = 4
_ENOUGH = 6
_LEAST_SIZE_SIGMA, _LEAST_LENGTH_SIGMA = 0.03, 0.3
_PRIOR_WEIGHT = 4.0
_SIZE_SPAN, _LENGTH_SPAN = math.log(500.0), math.log(20_000.0)
_LIKELY = 0.5
_UNKNOWN_PER_DAY = 4.0

_NEAR_S = 3600.0
_SAME_SHARE = 0.06
_PIECE = Range(0.1, 0.5, 1.0)
"""Share of a programme's time on that one of its times on takes: a judgement."""


@dataclass(frozen=True, slots=True)
class Programme:
    """How a programme heats: how often, and the share of idle time between first and last."""

    pulses: Range
    idle_share: Range


@dataclass(frozen=True, slots=True)
class Signature:
    """What is expected of an appliance's times on.

    ``size_w`` what comes on, ``on_s`` its length (of all times on of a ``programme``),
    ``per_day`` how many, ``by_hour`` relative use by clock hour (24, mean 1), ``leg`` the leg
    it must lie on ("" for any, "AB" for both).
    """

    id: str
    size_w: Range
    on_s: Range
    per_day: float
    by_hour: tuple[float, ...] = (1.0,) * 24
    leg: str = ""
    programme: Programme | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Assigned:
    """For each time on the appliance (index, −1 for none) and how sure that is, shape (n,).

    ``signatures`` are as learnt from the log; ``runs`` (n,) numbers the programme that a time
    on belongs to.
    """

    who: Indices
    chance: Array
    signatures: tuple[Signature, ...]
    runs: Indices


@dataclass(frozen=True, slots=True, eq=False)
class _Points:
    """What is matched: times on, or programmes; all shape (n,)."""

    log_size: Array
    log_length: Array
    log_pulses: Array
    idle_share: Array
    hour: Indices
    leg: NDArray[np.str_]


def assign(
    cycles: Cycles,
    step_s: float,
    hour: Indices,
    leg: Sequence[str],
    days: float,
    signatures: Sequence[Signature],
) -> Assigned:
    """Propose an appliance for each time on.

    Parameters
    ----------
    cycles : Cycles
        n times on.
    step_s : float
        sampling of the log. [s]
    hour : NDArray
        local clock hour of each start, shape (n,).
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
    n = len(cycles)
    runs = np.arange(n)
    if n == 0 or not signatures:
        return Assigned(np.full(n, -1), np.zeros(n), tuple(signatures), runs)
    names = np.array(list(leg))
    single = _points(cycles, step_s, hour, names, runs)
    first = [_as_pieces(one) for one in signatures]
    who, chance, learnt = _mixture(single, days, first)
    programmes = [k for k, one in enumerate(signatures) if one.programme is not None]
    mine = np.flatnonzero(np.isin(who, programmes))
    if mine.size:
        runs = _join(cycles, step_s, mine)
        heads = np.unique(runs[mine])
        points = _points(cycles, step_s, hour, names, np.where(np.isin(who, programmes), runs, -1))
        asked = [signatures[k] for k in programmes]
        best, sure, known = _mixture(points, days, asked)
        of_head = {int(head): j for j, head in enumerate(heads)}
        for at in mine:
            j = of_head[int(runs[at])]
            who[at] = programmes[best[j]] if best[j] >= 0 else -1
            chance[at] = sure[j]
        for k, one in zip(programmes, known, strict=True):
            learnt[k] = one
    return Assigned(who, chance, tuple(learnt), runs)


def _as_pieces(one: Signature) -> Signature:
    """What single times on of a programme look like: shorter, and more of them."""
    if one.programme is None:
        return one
    shorter = Range(
        one.on_s.low * _PIECE.low, one.on_s.typical * _PIECE.typical, one.on_s.high * _PIECE.high
    )
    return replace(one, on_s=shorter, per_day=one.per_day * one.programme.pulses.typical)


def _points(
    cycles: Cycles, step_s: float, hour: Indices, leg: NDArray[np.str_], runs: Indices
) -> _Points:
    """Times on put together by their ``runs`` (those of −1 left out)."""
    inside = np.flatnonzero(runs >= 0)
    heads, place = np.unique(runs[inside], return_inverse=True)
    on_s = cycles.on_s(step_s)[inside]
    total = np.bincount(place, on_s)
    begin = cycles.start[heads]
    end = np.zeros(heads.size)
    np.maximum.at(end, place, cycles.end[inside].astype(np.float64))
    span = np.maximum((end - begin) * step_s, total)
    return _Points(
        np.log(np.maximum(np.bincount(place, cycles.size_w[inside] * on_s) / total, 1.0)),
        np.log(np.maximum(total, 1.0)),
        np.log(np.bincount(place)),
        1.0 - total / np.maximum(span, 1.0),
        hour[heads],
        leg[heads],
    )


def _join(cycles: Cycles, step_s: float, mine: Indices) -> Indices:
    """Number of the first time on of each programme: alike in size and within an hour."""
    runs = np.arange(len(cycles))
    last: list[int] = []
    for at in mine:
        last = [j for j in last if (cycles.start[at] - cycles.end[j]) * step_s <= _NEAR_S]
        alike = [
            j
            for j in last
            if abs(cycles.size_w[at] - cycles.size_w[j]) <= _SAME_SHARE * cycles.size_w[at]
        ]
        if alike:
            runs[at] = runs[alike[-1]]
            last.remove(alike[-1])
        last.append(int(at))
    return runs


def _mixture(
    points: _Points, days: float, signatures: Sequence[Signature]
) -> tuple[Indices, Array, list[Signature]]:
    """Who made each point, how sure, and the signatures as learnt."""
    learnt = list(signatures)
    chance = np.zeros((points.hour.size, len(learnt)))
    for _ in range(_ROUNDS):
        density = np.stack([_density(one, points) for one in learnt], axis=1)
        unknown = _UNKNOWN_PER_DAY / (_SIZE_SPAN * _LENGTH_SPAN)
        chance = density / (density.sum(axis=1) + unknown)[:, None]
        learnt = [_learn(first, chance[:, k], points, days) for k, first in enumerate(signatures)]
    who = np.where(chance.max(axis=1) > _LIKELY, chance.argmax(axis=1), -1).astype(np.int64)
    return who, chance.max(axis=1), learnt


def _law(value: Range, least_sigma: float) -> tuple[float, float, float]:
    """Log centre and log sigmas below and above."""
    centre = math.log(max(value.typical, 1e-6))
    down = (centre - math.log(max(value.low, value.typical * 0.02, 1e-6))) / Z95
    up = (math.log(max(value.high, value.typical, 1e-6)) - centre) / Z95
    return centre, max(down, least_sigma), max(up, least_sigma)


def _log_density(x: Array, value: Range, least_sigma: float) -> Array:
    """Two-piece normal law of a logarithm; the halves share one height."""
    centre, down, up = _law(value, least_sigma)
    sigma = np.where(x < centre, down, up)
    height = math.log(2.0 / (math.sqrt(2.0 * math.pi) * (down + up)))
    density: Array = height - 0.5 * ((x - centre) / sigma) ** 2
    return density


def _density(one: Signature, points: _Points) -> Array:
    """Rate per day at which this appliance makes such a point."""
    by_hour = np.maximum(np.array(one.by_hour)[points.hour], 0.05)
    total = _log_density(points.log_size, one.size_w, _LEAST_SIZE_SIGMA)
    total = total + _log_density(points.log_length, one.on_s, _LEAST_LENGTH_SIGMA)
    if one.programme is not None and points.log_pulses.any():
        total = total + _log_density(points.log_pulses, one.programme.pulses, 0.2)
        law = one.programme.idle_share
        idle = np.log(np.maximum(points.idle_share, 0.02))
        # A single time on leaves no idle time to judge by.
        total = total + np.where(points.log_pulses > 0.0, _log_density(idle, law, 0.2), 0.0)
    density = one.per_day * by_hour * np.exp(np.maximum(total, -700.0))
    possible = (points.leg == "") | (one.leg == "") | (points.leg == one.leg)
    result: Array = np.where(possible, density, density * 1e-3)
    return result


def _learn(first: Signature, chance: Array, points: _Points, days: float) -> Signature:
    """The signature drawn towards the points that were given to it."""
    weight = float(chance.sum())
    per_day = (weight + first.per_day) / (days + 1.0)
    if weight < _ENOUGH:
        return replace(first, per_day=per_day)
    size = _learnt(first.size_w, chance, points.log_size, _LEAST_SIZE_SIGMA)
    on_s = _learnt(first.on_s, chance, points.log_length, _LEAST_LENGTH_SIGMA)
    return replace(first, size_w=size, on_s=on_s, per_day=per_day)


def _learnt(prior: Range, chance: Array, x: Array, least_sigma: float) -> Range:
    """Range of the values given, drawn to the prior as by ``_PRIOR_WEIGHT`` of them."""
    order = np.argsort(x)
    share = np.cumsum(chance[order]) / chance.sum()
    median = float(x[order][np.searchsorted(share, 0.5)])
    inner = [float(x[order][np.searchsorted(share, q)]) for q in (0.16, 0.84)]
    centre0, down0, up0 = _law(prior, least_sigma)
    weight = float(chance.sum())
    keep = _PRIOR_WEIGHT / (_PRIOR_WEIGHT + weight)
    centre = keep * centre0 + (1.0 - keep) * median
    spread = max((inner[1] - inner[0]) / 2.0, least_sigma)
    sigma = math.sqrt(keep * max(down0, up0) ** 2 + (1.0 - keep) * spread**2)
    # Never wider than what was expected: an appliance does not grow to take everything in.
    sigma = min(sigma, max(down0, up0))
    return Range(math.exp(centre - Z95 * sigma), math.exp(centre), math.exp(centre + Z95 * sigma))
