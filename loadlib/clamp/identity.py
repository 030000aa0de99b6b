"""Which heap of like times on is which appliance, and how sure that is.

Times on heap up where one appliance makes many of the same power. Each heap is first fitted
with each appliance that it may be. A heap is then one piece of evidence, however many times on
lie in it: its power, how often, how long, how many heats and at what hours, against what the
catalog says of the kind and against what nobody listed. One appliance has at most one heap and
one heap at most one appliance; the chances are summed over all such assignments.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.laws import Law, law_of, log_density
from loadlib.clamp.patterns import LEAST_ON_SPREAD, Pattern, Points, learn, pattern_of, rate_density
from loadlib.clamp.programmes import learn_runs, log_odds, runs_of

__all__ = ["Heap", "chances", "fit", "heap_sizes", "identify"]

Array = NDArray[np.float64]

_FINE, _WIDE, _CELL = 0.02, 0.2, 0.01
_LOW, _CELLS = math.log(10.0), 700
_STANDS_OUT = 2.0
"""Standard deviations by which a heap stands over its surroundings."""
_REACH = 2.5
_WINDOW = 0.9
_ROUNDS = 5
_STRAY = 0.08
_ENOUGH, _LEAST_GAIN = 3.0, 1.0
"""A heap holds so many times on, each e times likelier than without it in the mean."""
_ALIKE = 0.5
_MOST = 5
_SWEEPS = 2

_HABIT = 0.7
"""Spread of the logarithm of uses a day between homes, at least; a judgement."""
_UNLISTED = 40.0
_SPANS = (6.2, 5.0, 9.0)
"""Heaps that nobody listed, spread over so many units of log power, log uses a day and log
length (10 W to 5 kW, once a week to 20 a day, 1 s to 2 h): a judgement."""
_SPAN_NUMBER, _SPAN_IDLE, _SEVERAL = 3.4, 3.9, math.log(1.5)
_CLOSE_S = 600.0
_BY_ITSELF = Law(0.0, 0.35, 0.35)
"""Uses come by themselves: at most two or three within ten minutes of each other in the mean;
a judgement."""
_PURITY_WEIGHT = 4.0
"""A heap whose members are half sure in the mean is (1/2)^4 as good: it is mostly of chance.
A judgement."""
_SHOWS = 0.7
"""Chance that a listed appliance shows itself in a log at all: a judgement."""
_HOURS_WEIGHT, _MOST_HOURS = 4.0, 2.0
"""A heap's hours count as so many uses and no more than so much: homes differ in their hours.
Judgements."""
_LEAST_CHANCE = 0.05
_MOST_SURE = 0.8
"""What nobody listed may look the same (a coffee maker like a microwave oven): of the surest
appliances in 66 houses put together from tracebase traces (seeds 20 to 25) six to seven in ten
were right, in REFIT house 20 (first half) nine in ten."""
_KEPT = 3000


@dataclass(frozen=True, slots=True, eq=False)
class Heap:
    """A heap of times on taken for appliance ``who``.

    ``own`` (n,) is the chance that a time on belongs to it; ``score`` the logarithm of how
    much likelier its features are for this appliance than for something unlisted.
    """

    who: int
    pattern: Pattern
    own: Array
    score: float


def identify(
    patterns: Sequence[Pattern], points: Points, rate: Array
) -> tuple[list[Pattern], Array]:
    """Patterns moved to the heaps they most likely are, and how sure each is, shape (k,).

    ``rate`` (n,) is the background. Heaps are looked for again in what the likeliest ones
    leave over. A chance of zero means that no heap was found.
    """
    sizes = heap_sizes(points)
    heaps: list[Heap] = []
    picked: list[int] = []
    sure = np.empty(0)
    for _ in range(1 + _SWEEPS):
        for k, one in enumerate(patterns):
            others = _rate_with(rate, [heaps[j] for j in picked if heaps[j].who != k])
            heaps += _fits(k, one, points, sizes, others, [h for h in heaps if h.who == k])
        sure = chances(heaps)
        picked = _pick(heaps, sure)
    found, chance = list(patterns), np.zeros(len(patterns))
    for j in picked:
        found[heaps[j].who] = heaps[j].pattern
        chance[heaps[j].who] = min(float(sure[j]), _MOST_SURE)
    return found, chance


def heap_sizes(points: Points) -> Array:
    """Logarithms of the powers at which times on heap up."""
    cell = np.clip((points.log_size - _LOW) / _CELL, 0, _CELLS - 1).astype(np.int64)
    counts = np.bincount(cell, minlength=_CELLS).astype(np.float64)
    fine: Array = np.convolve(counts, _bell(_FINE), "same")
    wide: Array = np.convolve(counts, _bell(_WIDE), "same")
    seen = 2.0 * math.sqrt(math.pi) * _FINE / _CELL
    out = (fine - wide) * seen > _STANDS_OUT * np.sqrt(np.maximum(wide * seen, 1.0))
    top = (fine[1:-1] > fine[:-2]) & (fine[1:-1] >= fine[2:]) & out[1:-1]
    sizes = (np.flatnonzero(top) + 1.5).astype(np.float64)
    return _LOW + sizes * _CELL


def _bell(width: float) -> Array:
    reach = math.ceil(3.0 * width / _CELL)
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) * _CELL / width) ** 2)
    bell: Array = weights / np.float64(weights.sum())
    return bell


def _rate_with(rate: Array, heaps: Sequence[Heap]) -> Array:
    """The background with heaps that were found before."""
    total = rate.copy()
    for heap in heaps:
        own = np.minimum(heap.own, 0.999)
        total = total + rate * own / (1.0 - own)
    return total


def _fits(
    k: int, one: Pattern, points: Points, sizes: Array, rate: Array, known: Sequence[Heap]
) -> list[Heap]:
    """Heaps that an appliance may be, beside those that it was fitted with before."""
    law = law_of(one.first.size_w, LEAST_ON_SPREAD / 10.0)
    inside = (sizes > law.centre - _REACH * law.down) & (sizes < law.centre + _REACH * law.up)
    new: list[Heap] = []
    for size in sizes[inside]:
        heap = fit(k, replace(one, centre=float(size)), points, rate)
        if heap is not None and all(_overlap(heap, old) < _ALIKE for old in [*known, *new]):
            new.append(heap)
    return sorted(new, key=lambda heap: -heap.score)[:_MOST]


def fit(k: int, one: Pattern, points: Points, rate: Array) -> Heap | None:
    """An appliance fitted to a heap at its centre; None where it makes nothing likelier."""
    near = np.flatnonzero(np.abs(points.log_size - one.centre) < _WINDOW)
    some, others = points.some(near), rate[near]
    start = one.centre
    for _ in range(_ROUNDS):
        step = _step(one, some, others)
        far = abs(step.learnt.centre - start) > _STRAY
        one = replace(step.learnt, centre=start) if far else step.learnt
    if step.uses.sum() < _ENOUGH or step.gain < _LEAST_GAIN * max(step.own.sum(), _ENOUGH):
        return None
    whole = np.zeros(len(points))
    whole[near] = step.own
    return Heap(k, one, whole, _score(one, some, step))


class _Step(NamedTuple):
    """The pattern learnt, chances of times on and of uses, their begins, likelihood gained."""

    learnt: Pattern
    own: Array
    uses: Array
    begin_s: Array
    gain: float


def _step(one: Pattern, points: Points, rate: Array) -> _Step:
    if one.first.programme is None:
        odds = rate_density(one, points) / rate
        own = odds / (1.0 + odds)
        gain = float(np.log1p(odds).sum())
        return _Step(learn(one, points, own), own, own, points.start_s, gain)
    runs = runs_of(one, points, np.log(rate))
    log_ratio = log_odds(one, points, runs, np.log(rate))
    chance = 1.0 / (1.0 + np.exp(-np.clip(log_ratio, -500.0, 500.0)))
    own = np.zeros(rate.size)
    own[runs.heats] = chance[runs.of]
    begin_s = points.start_s[runs.heats[runs.heads]]
    gain = float(np.logaddexp(0.0, log_ratio).sum())
    return _Step(learn_runs(one, points, runs, chance), own, chance, begin_s, gain)


def _score(one: Pattern, points: Points, step: _Step) -> float:
    """How much likelier the heap's features are for this appliance than for one unlisted."""
    first = one.first
    score: float = _at(one.centre, law_of(first.size_w, 0.02))
    score += _at(math.log(step.uses.sum() / points.days), law_of(first.per_day, _HABIT))
    score += _at(one.on.centre, law_of(first.on_s, 0.4))
    score -= math.log(_UNLISTED / math.prod(_SPANS))
    if first.programme is not None:
        score += _at(one.pulses.centre, law_of(first.programme.pulses, 0.3))
        score += math.log(_SPAN_NUMBER)
        if one.pulses.centre > _SEVERAL:
            score += _at(one.idle.centre, law_of(first.programme.idle_share, 0.3))
            score += math.log(_SPAN_IDLE)
    score += _at(math.log(_in_a_row(step)), _BY_ITSELF) + math.log(_SPAN_NUMBER)
    purity = float(np.square(step.own).sum()) / float(step.own.sum())
    score += _PURITY_WEIGHT * math.log(purity)
    share = np.bincount(points.hour, step.own, 24) / step.own.sum()
    hours = _HOURS_WEIGHT * float((share * np.log(pattern_of(first).hours)).sum())
    score += min(max(hours, -_MOST_HOURS), _MOST_HOURS)
    return score


def _in_a_row(step: _Step) -> float:
    """How many uses of a heap follow one another closely, in the mean."""
    at = step.begin_s[step.uses > 0.5 * step.uses.max()]
    rows = 1 + int(np.count_nonzero(np.diff(at) > _CLOSE_S))
    return int(at.size) / rows


def _at(x: float, law: Law) -> float:
    return float(log_density(np.array([x]), law)[0])


def _overlap(one: Heap, other: Heap) -> float:
    """Share of the smaller heap that lies in the other as well."""
    both = float(np.minimum(one.own, other.own).sum())
    return both / min(float(one.own.sum()), float(other.own.sum()))


def _pick(heaps: Sequence[Heap], sure: Array) -> list[int]:
    """The likeliest heaps that go together, an appliance once."""
    picked: list[int] = []
    for j in sorted(range(len(heaps)), key=lambda j: -sure[j]):
        if sure[j] >= _LEAST_CHANCE and not any(_clash(heaps[j], heaps[i]) for i in picked):
            picked.append(j)
    return picked


def _clash(one: Heap, other: Heap) -> bool:
    return one.who == other.who or _overlap(one, other) > _ALIKE


def chances(heaps: Sequence[Heap]) -> Array:
    """Chance of each heap to be what it is taken for, shape (number of heaps,).

    Exact sums over all assignments: appliance by appliance, keeping for the choices made so
    far only which later heaps they rule out (variable elimination). Past some thousand such
    states the least likely are dropped.
    """
    # Appliances of like power stand together, so that few choices are open at a time.
    lowest = {heap.who: heap.pattern.centre for heap in sorted(heaps, key=_falling)}
    order = sorted(lowest, key=lowest.__getitem__)
    rows = [[j for j, heap in enumerate(heaps) if heap.who == k] for k in order]
    rules_out = [
        sum(1 << j for j, b in enumerate(heaps) if b.who != a.who and _overlap(a, b) > _ALIKE)
        for a in heaps
    ]
    odds = _SHOWS / (1.0 - _SHOWS)
    weight = [odds * math.exp(min(heap.score, 50.0)) for heap in heaps]
    layers: list[dict[int, float]] = [{0: 1.0}]
    links: list[list[tuple[int, int, int, float]]] = []
    for r, row in enumerate(rows):
        later = sum(1 << j for rest in rows[r + 1 :] for j in rest)
        link = _choices(layers[-1], row, rules_out, weight, later)
        layers.append(_kept(layers[-1], link))
        links.append([one for one in link if one[2] in layers[-1]])
    return _backwards(layers, links, len(heaps))


def _falling(heap: Heap) -> float:
    return -heap.pattern.centre


def _choices(
    states: dict[int, float], row: list[int], rules_out: list[int], weight: list[float], later: int
) -> list[tuple[int, int, int, float]]:
    """(state, heap or −1, next state, weight) for each choice of one appliance."""
    found = []
    for mask in states:
        free = [j for j in row if not mask >> j & 1]
        found.append((mask, -1, mask & later, 1.0))
        found += [(mask, j, (mask | rules_out[j]) & later, weight[j]) for j in free]
    return found


def _kept(
    states: dict[int, float], link: Sequence[tuple[int, int, int, float]]
) -> dict[int, float]:
    """Weights of the next states, the heaviest of them."""
    total: dict[int, float] = {}
    for mask, _, after, weight in link:
        total[after] = total.get(after, 0.0) + states[mask] * weight
    heaviest = sorted(total, key=total.__getitem__)[-_KEPT:]
    return {mask: total[mask] for mask in heaviest}


def _backwards(
    layers: Sequence[dict[int, float]],
    links: Sequence[Sequence[tuple[int, int, int, float]]],
    number: int,
) -> Array:
    """Chances of the heaps from the weights before and after each choice."""
    whole = sum(layers[-1].values())
    after = dict.fromkeys(layers[-1], 1.0)
    chance = np.zeros(number)
    for states, link in zip(reversed(layers[:-1]), reversed(links), strict=True):
        before: dict[int, float] = {}
        for mask, j, to, weight in link:
            part = weight * after.get(to, 0.0)
            before[mask] = before.get(mask, 0.0) + part
            if j >= 0:
                chance[j] += states[mask] * part / whole
        after = before
    return chance
