"""How often the chosen branches overload the source, and which loads do it together.

Expected numbers come from level crossings (exact for independent on/off loads); the chance
of none in a night from a seeded renewal simulation. On the whole, W that run and the VA of
the start are added (an upper bound); on a leg, VA at the leg's volts. Overlapping starts are
neglected. Loads are taken as independent given month and hour, which tends to understate.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.case import OutageCase
from loadlib_standby.engine import (
    Laws,
    Load,
    Processes,
    crossings,
    distribution,
    no_overload,
    processes,
)
from loadlib_standby.feed import Feed

__all__ = [
    "Overloads",
    "PlaceOverloads",
    "Together",
    "causes_together",
    "none_by_chance",
    "overloads",
    "overloads_per_day",
]

Array = NDArray[np.float64]

_STEP_W = 25.0
_LEADING = 7
_MOSTLY = 0.7


@dataclass(frozen=True, slots=True)
class PlaceOverloads:
    """One limit: entries into overload a day, share of time above the running limit, the mean
    length of an excursion, and the chance of none in a night with its simulation error."""

    place: str
    per_day: float
    above_share: float
    mean_length_s: float
    none_in_night: float
    error: float


@dataclass(frozen=True, slots=True)
class Together:
    """Loads that are on together at an overload, none of which could be missing; or one that
    is too much by itself."""

    loads: tuple[str, ...]
    per_day: float

    def words(self) -> str:
        """In one line."""
        first, *others = self.loads
        if not others:
            return f"{first} alone, by its start or size: {self.per_day:.1f} a day"
        return f"{first} with {' and '.join(others)}: {self.per_day:.1f} a day"


@dataclass(frozen=True, slots=True)
class Overloads:
    """Overloads over the hours of the case. The true number of entries a day lies between
    ``per_day_least`` (the worst single limit) and ``per_day_most`` (the sum over limits, but
    no load counted more often than it starts)."""

    places: tuple[PlaceOverloads, ...]
    per_day_least: float
    per_day_most: float
    none_in_night_least: float
    none_in_night_most: float
    together: tuple[Together, ...]


def overloads(
    feed: Feed, loads: Iterable[Load], case: OutageCase, *, seed: int = 1, replicates: int = 2000
) -> Overloads:
    """Overloads of ``loads`` on ``feed`` over the hours of ``case``.

    Parameters
    ----------
    feed : Feed
        limits; the loads' ``leg_share`` are over its places.
    loads : iterable of Load
        those that are switched on.
    case : OutageCase
        its hours, each as heavy as it occurs, and its night.
    seed : int
        of the simulation.
    """
    chosen = tuple(loads)
    thermostatic = {load.id: load.thermostatic for load in chosen}
    judged = [_place(feed, k, chosen, case, thermostatic, seed, replicates) for k in _limits(feed)]
    rows = [row for row, _ in judged]
    daily = [row.per_day for row in rows]
    nights = [row.none_in_night for row in rows]
    hours, times = np.unique(case.hours, return_counts=True)
    pairs = [causes_together(*_limit(feed, k, chosen, hours), times) for k in _limits(feed)]
    merged: dict[tuple[str, ...], float] = {}
    for row in itertools.chain.from_iterable(pairs):
        merged[row.loads] = max(merged.get(row.loads, 0.0), row.per_day)
    names = {load.id: load.name for load in chosen}
    together = [Together(tuple(names[x] for x in loads), rate) for loads, rate in merged.items()]
    return Overloads(
        places=tuple(rows),
        per_day_least=max(daily),
        per_day_most=max(_most_per_day(chosen, case, [x for _, x in judged]), *daily),
        none_in_night_least=max(0.0, 1.0 - sum(1.0 - p for p in nights)),
        none_in_night_most=min(nights),
        together=tuple(sorted(together, key=lambda row: -row.per_day)[:6]),
    )


def overloads_per_day(
    loads: Sequence[Load], case: OutageCase, limits_w: Sequence[tuple[int | None, float, float]]
) -> float:
    """Expected entries into overload a day at the worst of several limits, quickly. [1/d]

    ``limits_w``: (place or None for the whole, running, starting), W or VA. [W]
    """
    rates = [0.0]
    for place, running_w, starting_w in limits_w:
        there = processes(loads, place, apparent=place is not None).at(case.hours)
        rates.append(float(crossings(there, running_w, starting_w, _STEP_W).rate_per_h.mean()))
    return 24.0 * max(rates)


def none_by_chance(per_day: float, hours_h: float) -> float:
    """Chance of no overload in ``hours_h`` [h] if they came singly and at random: exp(−rate).

    A screen for rare overloads. In truth they come in clusters, so that the chance of none is
    mostly higher; ``overloads`` simulates it.

    >>> round(none_by_chance(0.1, 8), 4)
    0.9672
    """
    return float(np.exp(-per_day * hours_h / 24.0))


def causes_together(
    loads: Processes,
    run_limit_w: float,
    surge_limit_w: float,
    times: NDArray[np.int64] | None = None,
) -> tuple[Together, ...]:
    """Single loads, pairs and triples by entries a day at which every one of them is needed.

    A single load counts where its start or size is too much with all others off.
    A start of i with j on counts for the pair (i, j) when it is an entry into overload and
    would not be one without j: the others (without i, j) then lie in
    (t − P_j, min(t, L − P_j)], t = min(L − P_i, L_surge − start_i). Likewise with a third. A
    pair of whose entries 70 % or more need one and the same third load is told as the triple.
    ``run_limit_w`` and ``surge_limit_w`` in the unit of the processes. [W] ``times`` says how
    often each condition occurs; None for once each.
    """
    hourly = np.ones(loads.duty.shape[1]) if times is None else times.astype(np.float64)
    weight = loads.rise_w * np.sqrt(loads.duty.mean(axis=1) + 1e-6)
    leading = [int(i) for i in np.argsort(-weight, kind="stable")[:_LEADING]]
    found = []
    for size in (1, 2, 3):
        for members in itertools.combinations(sorted(leading), size):
            rates = _needed_rates(loads, members, run_limit_w, surge_limit_w)
            rate = float(rates @ hourly / hourly.sum())
            if rate > 1e-4:
                found.append(Together(tuple(loads.names[i] for i in members), 24.0 * rate))
    return tuple(sorted(_telling(found), key=lambda row: -row.per_day))


def _telling(found: list[Together]) -> list[Together]:
    """Drop a pair that mostly needs a third, and a triple that mostly is one of its pairs."""
    pairs = [row for row in found if len(row.loads) == 2]
    triples = [row for row in found if len(row.loads) == 3]
    kept = [row for row in found if len(row.loads) == 1]
    for pair in pairs:
        over = [row.per_day for row in triples if set(pair.loads) < set(row.loads)]
        if max(over, default=0.0) < _MOSTLY * pair.per_day:
            kept.append(pair)
    for triple in triples:
        under = [row.per_day for row in pairs if set(row.loads) < set(triple.loads)]
        if triple.per_day >= _MOSTLY * min(under, default=0.0):
            kept.append(triple)
    return kept


def _needed_rates(
    loads: Processes, members: Sequence[int], run_limit_w: float, surge_limit_w: float
) -> Array:
    """Entries per hour with all ``members`` on and each of them needed, shape (c,). [1/h]"""
    if _never(loads, run_limit_w, surge_limit_w):
        return np.zeros(loads.duty.shape[1])
    rest = _without(loads, members)
    law = distribution(rest, _STEP_W)
    below = np.cumsum(law.share, axis=1)

    def share_to(level_w: float) -> Array:
        place = int(np.floor((level_w - law.base_w) / _STEP_W + 1e-9))
        if place < 0:
            return np.zeros(below.shape[0])
        return below[:, min(place, below.shape[1] - 1)]

    total = np.zeros(below.shape[0])
    for i in members:
        on = [j for j in members if j != i]
        power_w = float(loads.rise_w[on].sum())
        gate_w = min(run_limit_w - loads.rise_w[i], surge_limit_w - loads.surge_w[i])
        if not on:
            alone = gate_w < law.base_w
            total += loads.starts_per_h[i] * loads.count[i] * share_to(run_limit_w) * alone
            continue
        high_w = min(gate_w + min(loads.rise_w[j] for j in on) - power_w, run_limit_w - power_w)
        inside = np.maximum(share_to(high_w) - share_to(gate_w - power_w), 0.0)
        duty = np.prod(1.0 - (1.0 - loads.duty[on]) ** loads.count[on][:, None], axis=0)
        total += loads.starts_per_h[i] * loads.count[i] * duty * inside
    return total


def _never(loads: Processes, run_limit_w: float, surge_limit_w: float) -> bool:
    """True when even everything at once, with the largest start on top, stays within."""
    all_w = loads.base_w + float(loads.rise_w @ loads.count)
    step_w = float((loads.surge_w - loads.rise_w).max(initial=0.0))
    return all_w <= run_limit_w and all_w + step_w <= surge_limit_w


def _without(loads: Processes, members: Sequence[int]) -> Processes:
    keep = [i for i in range(len(loads.names)) if i not in members]
    return replace(
        loads,
        names=tuple(loads.names[i] for i in keep),
        rise_w=loads.rise_w[keep],
        surge_w=loads.surge_w[keep],
        duty=loads.duty[keep],
        starts_per_h=loads.starts_per_h[keep],
        count=loads.count[keep],
    )


def _limits(feed: Feed) -> tuple[int | None, ...]:
    return (None, *range(len(feed.places)))


def _limit(
    feed: Feed, place: int | None, loads: Sequence[Load], hours: NDArray[np.int64]
) -> tuple[Processes, float, float]:
    """Processes at a limit with its running and surge level, in W (whole) or VA (place)."""
    there = processes(loads, place, apparent=place is not None).at(hours)
    if place is None:
        return there, feed.running_w, feed.starting_w
    spot = feed.places[place]
    return there, spot.running_a * spot.volts_v, spot.starting_a * spot.volts_v


def _place(
    feed: Feed,
    place: int | None,
    loads: Sequence[Load],
    case: OutageCase,
    thermostatic: dict[str, bool],
    seed: int,
    replicates: int,
) -> tuple[PlaceOverloads, dict[str, float]]:
    """One limit, and the entries a day at it by the load that starts."""
    there, run_va, surge_va = _limit(feed, place, loads, case.hours)
    found = crossings(there, run_va, surge_va, _STEP_W)
    rate_per_h, above = float(found.rate_per_h.mean()), float(found.above_share.mean())
    laws = Laws.usual(np.array([thermostatic[name] for name in there.names], dtype=np.bool_))
    night, _, _ = _limit(feed, place, loads, case.night_hours)
    hours = np.arange(case.night_hours.size, dtype=np.int64)
    none = no_overload(night, hours, laws, run_va, surge_va, replicates=replicates, seed=seed)
    row = PlaceOverloads(
        place="the whole" if place is None else feed.places[place].name,
        per_day=24.0 * rate_per_h,
        above_share=above,
        mean_length_s=3600.0 * above / rate_per_h if rate_per_h > 0.0 else 0.0,
        none_in_night=none.share,
        error=none.error,
    )
    by_load = 24.0 * found.by_load_per_h.mean(axis=1)
    return row, {name: float(x) for name, x in zip(found.names, by_load, strict=True)}


def _most_per_day(
    loads: Sequence[Load], case: OutageCase, by_load: Sequence[dict[str, float]]
) -> float:
    """Upper bound on entries a day over all limits together: a start that breaks several
    limits is one, so each load counts no more often than it starts."""
    whole = processes(loads).at(case.hours)
    starts = 24.0 * (whole.starts_per_h.mean(axis=1) * whole.count)
    often = dict(zip(whole.names, starts.tolist(), strict=True))
    names = {name for rates in by_load for name in rates}
    return float(sum(min(sum(x.get(n, 0.0) for x in by_load), often.get(n, np.inf)) for n in names))
