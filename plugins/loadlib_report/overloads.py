"""Expected overloads against the size of a source, and the load-duration curve."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib import LoadProfile, Processes, crossings, distribution, processes

__all__ = ["Duration", "Overloads", "duration", "overloads", "size_for"]

Array = NDArray[np.float64]

_DAYS = np.array([31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0])
_WEIGHT = np.repeat(_DAYS / 365.0, 24) / 24.0  # of each month-hour in a year, shape (288,)
_THIN = ((150, 6, 12), (60, 3, 16), (0, 1, 24))
"""With more loads than the first figure: every how many hours, and how many sizes are taken."""
_NICE = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True, eq=False)
class Duration:
    """Demand that is passed for a share of the year; arrays of shape (n,). [W]"""

    share: Array
    power_w: Array

    def at(self, share: float) -> float:
        """Demand passed for ``share`` of the time. [W]"""
        return float(np.interp(share, self.share, self.power_w))


@dataclass(frozen=True, slots=True, eq=False)
class Overloads:
    """Expected entries into overload a day with everything switched on; arrays (n,).

    ``size_va`` is the running limit of the whole source; each leg is limited to its part of
    it. ``least_per_day`` and ``most_per_day`` bracket the rate for a source that carries every
    start (largest of whole and legs; their sum); ``no_reserve_per_day`` is the upper bound for
    one that gives no more at a start than steadily. ``worst_month`` (1 to 12) and
    ``worst_per_day`` belong to ``most_per_day``; ``above_share`` is the share of the year that
    the whole is above the limit. With very many loads every third or sixth hour stands for
    its neighbours (``every_hours``), to keep the work within seconds.
    """

    size_va: Array
    least_per_day: Array
    most_per_day: Array
    no_reserve_per_day: Array
    worst_month: NDArray[np.int64]
    worst_per_day: Array
    above_share: Array
    every_hours: int


def duration(profile: LoadProfile) -> Duration | None:
    """The load-duration curve of demand at an instant, at typical values; None without loads."""
    if not profile.loads:
        return None
    power_w, chance = _year(processes(profile.loads))
    passed = np.clip(1.0 - np.cumsum(chance), 0.0, 1.0)
    share = np.concatenate(([0.0, 0.001, 0.0025, 0.005], np.linspace(0.01, 1.0, 100)))
    # The least demand that is passed for no more than this share of the year; at 0 an hour of
    # the year stands in, since the law has no end that would mean anything.
    place = np.searchsorted(-passed, -np.maximum(share, 1.0 / 8760.0))
    return Duration(share, power_w[np.minimum(place, power_w.size - 1)])


def overloads(profile: LoadProfile) -> Overloads | None:
    """Overloads for sizes from the median demand to one that is almost never passed.

    Apparent power is added as plain numbers, which is an upper bound. None where nothing
    switches, so that there is nothing to count.
    """
    places = list(_places(profile))
    if not places:
        return None
    power_va, chance = _year(places[0][0])
    passed = np.cumsum(chance)
    low = float(power_va[np.searchsorted(passed, 0.5)])
    tops = []
    for loads, parts in places:
        levels, law = _year(loads)
        tops.append(parts * float(levels[np.searchsorted(np.cumsum(law), 1.0 - 1e-7)]))
    every_hours, most_sizes = next(thin[1:] for thin in _THIN if len(profile.loads) > thin[0])
    step = _nice((max(tops) - low) / most_sizes)
    sizes = step * np.arange(max(1, math.ceil(low / step)), math.ceil(max(tops) / step) + 2)
    if sizes.size < 2 or max(tops) <= low:
        return None
    picked = np.arange(every_hours // 2, 288, every_hours)
    thinned = [(loads.at(picked), parts) for loads, parts in places]
    rows = [_at_size(thinned, float(size), _WEIGHT[picked] * every_hours) for size in sizes]
    least, most, no_reserve, month, worst, above = map(np.array, zip(*rows, strict=True))
    return Overloads(sizes.astype(float), least, most, no_reserve, month, worst, above, every_hours)


def size_for(found: Overloads, per_day: float) -> float | None:
    """The least size from which the upper bound of the rate stays at or below ``per_day``. [VA]

    Looked for from above: far below the usual demand the rate falls again, since demand is
    then above the limit nearly all the time.
    """
    ahead = np.maximum.accumulate(found.most_per_day[::-1])[::-1]
    below = np.nonzero(ahead <= per_day)[0]
    return float(found.size_va[below[0]]) if below.size else None


def _places(profile: LoadProfile) -> Iterator[tuple[Processes, int]]:
    """The whole, then each leg where there are several, with the parts of the source it gets."""
    legs = len(profile.supply.legs)
    whole = processes(profile.loads, apparent=True)
    if not whole.names:
        return
    yield whole, 1
    if legs > 1:
        for leg in range(legs):
            yield processes(profile.loads, leg, apparent=True), legs


def _year(loads: Processes) -> tuple[Array, Array]:
    """The law of demand over the year on a grid: values (m,) and probabilities (m,). [W]"""
    most_w = loads.base_w + float((loads.rise_w * loads.count).sum())
    law = distribution(loads, _step(most_w / 1000.0))
    chance: Array = _WEIGHT @ law.share
    power_w: Array = law.base_w + law.step_w * np.arange(chance.size, dtype=np.float64)
    return power_w, np.divide(chance, chance.sum())


def _at_size(
    places: list[tuple[Processes, int]], size_va: float, weight: Array
) -> tuple[float, float, float, int, float, float]:
    rates, surges = [], []
    above = 0.0
    for loads, parts in places:
        limit = size_va / parts
        found = crossings(loads, limit, step_w=_step(limit / 200.0))
        rates.append(found.rate_per_h)
        surges.append(crossings(loads, limit, limit, step_w=_step(limit / 200.0)).rate_per_h)
        if parts == 1:
            above = float(weight @ found.above_share)
    by_place = np.array(rates)
    total = by_place.sum(axis=0)
    by_month = 24.0 * total.reshape(12, -1).mean(axis=1)
    worst = int(by_month.argmax())
    return (
        24.0 * float((by_place @ weight).max()),
        24.0 * float(total @ weight),
        24.0 * float(np.array(surges).sum(axis=0) @ weight),
        worst + 1,
        float(by_month[worst]),
        above,
    )


def _step(least_w: float) -> float:
    """Grid step: 25 W, or coarser (a round one) where there is much to cover. [W]"""
    return max(25.0, _nice(least_w))


def _nice(value: float) -> float:
    scale = 10.0 ** math.floor(math.log10(max(value, 1.0)))
    return scale * next(nice for nice in _NICE if nice * scale >= max(value, 1.0) * (1 - 1e-9))
