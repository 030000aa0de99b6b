"""Programmes: heats of one machine that follow one another with pauses.

A dishwasher heats twice with a long pause, a washing machine once or in pulses, an oven many
times. Heats that look like the machine's and lie near enough are put together, and it is the
whole that is judged: time on in all, number of heats, share of pauses. Against it stands
that each of the heats came by itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.laws import law_of, learnt, log_density, log_peak_density
from loadlib.clamp.patterns import (
    Pattern,
    Points,
    Programme,
    learn,
    pattern_of,
    possible,
    with_power,
)

__all__ = ["Runs", "learn_runs", "log_odds", "runs_of"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

_DAY_S = 86_400.0
_LEAST_IDLE = 0.02
_ODD = 0.2
"""Share of heats whose length is only that of the kind: an iron's first heat is the longest.
A judgement."""
_SPREAD = 0.2
_ENOUGH = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Programmes, m of them, made of h heats.

    ``heats`` (h,) indices of times on, ``heads`` (m,) where each programme begins in
    ``heats``, ``of`` (h,) the programme of each heat; ``log_total`` time on in all,
    ``number`` of heats and ``log_idle`` share of pauses, shape (m,).
    """

    heats: Indices
    heads: Indices
    of: Indices
    log_total: Array
    number: Indices
    log_idle: Array

    def sums(self, values: Array) -> Array:
        """Sums of the heats' values by programme, shape (m,)."""
        total = np.zeros(self.heads.size)
        np.add.at(total, self.of, values)
        return total


def runs_of(one: Pattern, points: Points, log_others: Array) -> Runs:
    """Programmes that an appliance may have run.

    Parameters
    ----------
    one : Pattern
        of an appliance with a programme.
    points : Points
        n times on.
    log_others : NDArray
        logarithm of the rate at which anything else makes each, shape (n,). A time on is
        taken for a heat when, given that the programme runs, it is likelier than anything
        else.
    """
    near_s = _programme(one).near_s
    takes = _log_heat(one, points) - math.log(near_s / _DAY_S) > log_others
    heats = np.flatnonzero(takes & possible(one, points))
    pause = points.start_s[heats][1:] - points.end_s[heats][:-1]
    new = np.ones(heats.size, dtype=np.bool_)
    # A machine that still heats cannot begin to heat: what overlaps is another programme.
    new[1:] = (pause > near_s) | (pause < 0.0)
    heads = np.flatnonzero(new)
    of = np.cumsum(new) - 1
    on_s = np.exp(points.log_energy[heats] - one.centre)
    total = np.bincount(of, on_s, heads.size)
    last = np.append(heads[1:], heats.size)[: heads.size] - 1
    span = points.end_s[heats[last]] - points.start_s[heats[heads]]
    idle = np.clip(1.0 - total / np.maximum(span, total), _LEAST_IDLE, 1.0)
    number = np.bincount(of, minlength=heads.size)
    return Runs(heats, heads, of, np.log(total), number, np.log(idle))


def log_odds(one: Pattern, points: Points, runs: Runs, log_others: Array) -> Array:
    """Logarithm of the odds of each programme against its heats coming by themselves, (m,)."""
    first = runs.heats[runs.heads]
    total = math.log(one.per_day) + np.log(one.hours[points.hour[first]])
    total = total + log_density(runs.log_total, one.on)
    # The time on in all stands for the length of the first heat; the others have their own.
    rest = np.ones(runs.heats.size, dtype=np.bool_)
    rest[runs.heads] = False
    heat = _log_heat(one, points)[runs.heats]
    total = total + runs.sums(np.where(rest, heat, _log_peak(one, points)[runs.heats]))
    log_number = np.log(runs.number)
    total = total + np.minimum(log_density(log_number, one.pulses) - log_number, 0.0)
    spread = np.where(runs.log_idle < one.idle.centre, one.idle.down, one.idle.up)
    pauses = (runs.number - 1) * math.log(_programme(one).near_s / _DAY_S)
    off = -0.5 * ((runs.log_idle - one.idle.centre) / spread) ** 2
    total = total + np.where(runs.number > 1, off - pauses, 0.0)
    odds: Array = total - runs.sums(log_others[runs.heats])
    return odds


def learn_runs(one: Pattern, points: Points, runs: Runs, chance: Array) -> Pattern:
    """The pattern drawn towards the programmes that are its own by ``chance``, shape (m,)."""
    whole = points.some(runs.heats[runs.heads])
    whole = replace(whole, log_energy=runs.log_total + one.centre)
    learning = learn(one, whole, chance)
    if chance.sum() < _ENOUGH:
        return learning
    heats = points.some(runs.heats)
    own = chance[runs.of]
    learning = with_power(replace(learning, centre=one.centre), heats, own)
    known, asked = pattern_of(one.first), _programme(one)
    many = chance * (runs.number > 1)
    idle = law_of(asked.idle_share, _SPREAD)
    return replace(
        learning,
        piece=learnt(heats.log_energy - learning.centre, own, known.piece, _SPREAD),
        pulses=learnt(np.log(runs.number), chance, law_of(asked.pulses, _SPREAD), _SPREAD),
        idle=learnt(runs.log_idle, many, idle, _SPREAD) if many.sum() >= _ENOUGH else one.idle,
    )


def _programme(one: Pattern) -> Programme:
    assert one.first.programme is not None
    return one.first.programme


def _log_peak(one: Pattern, points: Points) -> Array:
    log_on = points.log_energy - one.centre
    return log_peak_density(points.log_size - one.centre, log_on, one.spread, points.step_s)


def _log_heat(one: Pattern, points: Points) -> Array:
    """Density of one heat's size and length, given that the programme runs, shape (n,)."""
    log_on = points.log_energy - one.centre
    own, kind = log_density(log_on, one.piece), log_density(log_on, pattern_of(one.first).piece)
    length = np.logaddexp(math.log(1.0 - _ODD) + own, math.log(_ODD) + kind)
    density: Array = _log_peak(one, points) + length
    return density
