"""Which appliance a time on may have been: by size, length, hour and leg, with honest doubt.

First the heaps of like times on are given to the appliances of the house (``identity``), then
each time on is weighed: every appliance found makes times on of its own size, length and
hours, so many a day (``patterns``, ``programmes``); two of the kitchen may come on together
and show as one; what was listed but not found makes them anywhere in its range; and what
nobody listed makes them as the log shows (``background``). Patterns are learnt from their own
times on, and the weighing is repeated.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.background import background
from loadlib.clamp.cycles import Cycles
from loadlib.clamp.identity import identify
from loadlib.clamp.patterns import (
    Pattern,
    Points,
    Programme,
    Signature,
    anywhere,
    learn,
    pattern_of,
    rate_density,
)
from loadlib.clamp.programmes import Runs, learn_runs, log_odds, runs_of

__all__ = ["Assigned", "Programme", "Signature", "assign"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

_ROUNDS = 20
_FIRST_FREE = 0.5
_FOUND = 0.5
_MOST_CHANCE = 0.95
"""No heap is pure: of the times on taken for sure 89 to 98 % were right in REFIT house 20
(first half of the log)."""
_STRAY = 0.04

_SHORT_S = 300.0
_TOGETHER = 20.0
"""Two short uses in the kitchen begin together so many times oftener than by chance. Kettle
and microwave oven of REFIT house 20 did 40 times oftener (187 times in 230 days, first half);
a judgement from that."""
_LEAST_TOGETHER = 0.3
_DAY_S = 86_400.0


@dataclass(frozen=True, slots=True, eq=False)
class Assigned:
    """For each time on the appliance (index, −1 for none) and how sure that is, shape (n,).

    ``cycles`` are the times on, those of two appliances that came on together split in two.
    ``chance`` is of the time on being this appliance's; ``identity`` (k,) how sure it is that
    what was found is the appliance at all, a factor in each ``chance``. ``energy_wh`` (k,) is
    the expected energy of all times on, sure or not. ``power_w`` (k,) the power learnt.
    """

    cycles: Cycles
    who: Indices
    chance: Array
    identity: Array
    energy_wh: Array
    power_w: Array


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
        length of the log without its gaps, for the rates.
    signatures : sequence of Signature
        of the appliances of the house.
    """
    number = len(signatures)
    if len(cycles) == 0 or number == 0:
        none, nought = np.full(len(cycles), -1), np.zeros(number)
        return Assigned(cycles, none, np.zeros(len(cycles)), nought, nought, nought)
    points = Points.of(cycles, step_s, hour, np.array(list(leg)), days)
    known = [pattern_of(one) for one in signatures]
    rate = background(points, np.full(len(points), _FIRST_FREE))
    patterns, identity = identify(known, points, rate)
    weighed = _weigh(patterns, identity > 0.0, points, rate)
    return _assigned(cycles, step_s, weighed, identity)


@dataclass(frozen=True, slots=True, eq=False)
class _Weighed:
    """Chances of the appliances alone (n, k), of pairs (n, number of pairs), and the patterns."""

    alone: Array
    together: Array
    pairs: list[tuple[int, int, Pattern]]
    patterns: list[Pattern]


def _weigh(
    patterns: list[Pattern], found: NDArray[np.bool_], points: Points, rate: Array
) -> _Weighed:
    """Every time on weighed and every pattern learnt, in turns."""
    home = [one.centre for one in patterns]
    hidden = [anywhere(one.first) for one, there in zip(patterns, found, strict=True) if not there]
    elsewhere = sum((rate_density(one, points) for one in hidden), np.zeros(len(points)))
    together_per_day: dict[tuple[int, int], float] = {}
    weighed = _Weighed(np.zeros((len(points), len(patterns))), np.zeros((len(points), 0)), [], [])
    for _ in range(_ROUNDS):
        pairs = _pairs(patterns, found, points, together_per_day)
        weighed, runs, free = _expect(patterns, found, pairs, points, rate + elsewhere)
        patterns = [
            _near(home[k], _learn(one, points, weighed.alone[:, k], runs.get(k)))
            for k, one in enumerate(patterns)
        ]
        for column, (a, b, one) in zip(weighed.together.T, pairs, strict=True):
            together_per_day[a, b] = (float(column.sum()) + one.per_day) / (points.days + 1.0)
        rate = background(points, free * rate / (rate + elsewhere))
    return replace(weighed, patterns=patterns)


def _near(home: float, one: Pattern) -> Pattern:
    """A pattern does not wander off to another heap."""
    return one if abs(one.centre - home) < _STRAY else replace(one, centre=home)


def _learn(one: Pattern, points: Points, chance: Array, runs: Runs | None) -> Pattern:
    if one.first.programme is None:
        return learn(one, points, chance)
    if runs is None or runs.heads.size == 0:
        return one
    return learn_runs(one, points, runs, chance[runs.heats[runs.heads]])


def _pairs(
    patterns: list[Pattern],
    found: NDArray[np.bool_],
    points: Points,
    per_day: dict[tuple[int, int], float],
) -> list[tuple[int, int, Pattern]]:
    """Appliances of short use that may come on and go off within the same samples.

    By chance their starts fall within one sample of each other with λa·λb·2·step, and so do
    their ends with 2·step / length.
    """
    short = [k for k, one in enumerate(patterns) if found[k] and one.first.on_s.typical <= _SHORT_S]
    pairs = []
    for a, b in itertools.combinations(short, 2):
        one, two = patterns[a], patterns[b]
        on = min(one.on, two.on)
        ends = min(1.0, 2.0 * points.step_s / math.exp(on.centre))
        known = _TOGETHER * one.per_day * two.per_day * 2.0 * points.step_s / _DAY_S * ends
        if known * points.days < _LEAST_TOGETHER:
            continue
        both = replace(
            one,
            centre=float(np.logaddexp(one.centre, two.centre)),
            spread=max(one.spread, two.spread),
            on=on,
            per_day=per_day.get((a, b), known),
            hours=(one.hours + two.hours) / 2.0,
            leg=one.leg if one.leg == two.leg else "",
        )
        pairs.append((a, b, both))
    return pairs


def _expect(
    patterns: list[Pattern],
    found: NDArray[np.bool_],
    pairs: list[tuple[int, int, Pattern]],
    points: Points,
    rate: Array,
) -> tuple[_Weighed, dict[int, Runs], Array]:
    """Chances of all who may have made each time on, the programmes, and what is left over."""
    alone = np.zeros((len(points), len(patterns)))
    for k in map(int, np.flatnonzero(found)):
        if patterns[k].first.programme is None:
            alone[:, k] = rate_density(patterns[k], points)
    together = np.zeros((len(points), len(pairs)))
    for j, (_, _, both) in enumerate(pairs):
        together[:, j] = rate_density(both, points)
    single = alone.sum(axis=1) + together.sum(axis=1) + rate
    odds = np.zeros_like(alone)
    runs: dict[int, Runs] = {}
    for k in map(int, np.flatnonzero(found)):
        if patterns[k].first.programme is None:
            continue
        runs[k] = runs_of(patterns[k], points, np.log(single))
        ratio = log_odds(patterns[k], points, runs[k], np.log(single))
        odds[runs[k].heats, k] = np.exp(np.clip(ratio, -500.0, 50.0))[runs[k].of]
    whole = 1.0 + odds.sum(axis=1)
    by_itself = (single * whole)[:, None]
    alone = odds / whole[:, None] + alone / by_itself
    weighed = _Weighed(alone, together / by_itself, pairs, patterns)
    return weighed, runs, rate / by_itself[:, 0]


def _assigned(cycles: Cycles, step_s: float, weighed: _Weighed, identity: Array) -> Assigned:
    """The likeliest appliance of each time on; those of two are split by their powers."""
    power_w: Array = np.exp(np.array([one.centre for one in weighed.patterns]))
    total = weighed.alone.copy()
    cycle_wh = cycles.size_w * cycles.on_s(step_s) / 3600.0
    energy_wh = cycle_wh @ total
    whole = np.ones(len(cycles), dtype=np.bool_)
    at, who, share, sure = [], [], [], []
    for column, (a, b, _) in zip(weighed.together.T, weighed.pairs, strict=True):
        mine = np.flatnonzero(column > _FOUND)
        whole[mine] = False
        for k in (a, b):
            total[:, k] += column
            part = float(power_w[k] / (power_w[a] + power_w[b]))
            energy_wh[k] += part * float(cycle_wh @ column)
            at.append(mine)
            who.append(np.full(mine.size, k))
            share.append(np.full(mine.size, part))
            sure.append(column[mine])
    rest = np.flatnonzero(whole)
    best = total[rest].max(axis=1)
    at.append(rest)
    who.append(np.where(best > _FOUND, total[rest].argmax(axis=1), -1))
    share.append(np.ones(rest.size))
    sure.append(best)
    order = np.argsort(np.concatenate(at), kind="stable")
    names, chance = np.concatenate(who)[order], np.concatenate(sure)[order]
    parts = cycles.some(np.concatenate(at)[order]).scaled(np.concatenate(share)[order])
    names = _one_at_a_time(parts, names, chance)
    chance = np.where(names >= 0, _MOST_CHANCE * chance * identity[names], 0.0)
    return Assigned(parts, names, chance, identity, energy_wh, power_w)


def _one_at_a_time(cycles: Cycles, who: Indices, chance: Array) -> Indices:
    """What is on cannot come on: of two times on that overlap the surer one is kept."""
    kept = who.copy()
    for k in np.unique(who[who >= 0]):
        last = -1
        for i in map(int, np.flatnonzero(who == k)):
            if last >= 0 and cycles.start[i] < cycles.end[last]:
                loser = i if chance[last] >= chance[i] else last
                kept[loser] = -1
                last = last if loser == i else i
            else:
                last = i
    return kept
