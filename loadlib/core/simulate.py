"""Seeded renewal simulation of on/off loads: what depends on how long they stay on and off.

Peaks of window means and the chance of no overload depend on the laws of on and off times,
unlike the expected number of crossings. The laws here: on times are gamma with shape
``on_shape``; a start comes when the load's hazard, summed over the time that it is off,
reaches a gamma number of mean 1 with shape ``off_shape`` (1: starts come at random, as people
start things; larger: regular, as a thermostat does). The hazard of an hour is its starts per
hour over the share of it off, so that duty and starts follow the hour. Each simulated day
begins in equilibrium and ends at midnight; days are independent of each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.core.demand import Processes
from loadlib.errors import InputError

__all__ = [
    "Laws",
    "NoOverload",
    "Runs",
    "count_entries",
    "no_overload",
    "simulate",
    "window_means",
]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

_MOST_HAZARD_PER_H = 3600.0
"""Where a load is on all the hour, it starts again about a second after it stops."""

_FIXED = 1e9
"""A gamma shape from here on counts as a fixed length."""


@dataclass(frozen=True, slots=True, eq=False)
class Laws:
    """Gamma shapes of on and off times of n loads; 1 is exponential, infinity is fixed.

    Defaults where nothing is measured: ``thermostat`` 4 and 4 (a coefficient of variation of
    one half), otherwise on times of shape 2 and starts at random. An assumption, not a fact.
    """

    on_shape: Array
    off_shape: Array

    @classmethod
    def usual(cls, thermostatic: NDArray[np.bool_]) -> Laws:
        """The defaults, by whether each load is thermostatic, shape (n,)."""
        return cls(np.where(thermostatic, 4.0, 2.0), np.where(thermostatic, 4.0, 1.0))


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Times on, one entry each, shape (e,): which load, which replicate, from and to.

    ``start_h`` and ``end_h`` are hours since the beginning; a run that was on at the
    beginning has ``fresh`` False. [h]
    """

    load: Index
    replicate: Index
    start_h: Array
    end_h: Array
    fresh: NDArray[np.bool_]
    replicates: int
    hours: int


def simulate(
    duty: Array,
    starts_per_h: Array,
    count: Index,
    schedule: Index,
    kind: Index,
    laws: Laws,
    rng: np.random.Generator,
) -> Runs:
    """Simulate n loads over consecutive clock hours, in many replicates at once.

    Parameters
    ----------
    duty, starts_per_h : NDArray
        by load and condition, shape (n, c); starts of one unit. [share], [1/h]
    count : NDArray
        units of each load, shape (n,); each is simulated.
    schedule : NDArray of int
        condition of each consecutive hour for each kind of day, shape (k, t).
    kind : NDArray of int
        kind of day of each replicate, shape (r,).
    laws : Laws
        of the n loads.
    rng : Generator
        seeded by the caller.

    Returns
    -------
    Runs
        every time on, cut at the end of the last hour.
    """
    curves = _Curves(duty, starts_per_h, schedule)
    unit = np.repeat(np.arange(len(count)), count)
    load = np.repeat(unit, kind.size)
    replicate = np.tile(np.arange(kind.size), unit.size)
    rows = _Rows(load, replicate, load * schedule.shape[0] + kind[replicate])
    on, now_h = _begin(curves, rows, laws, rng)
    found = [(rows.where(on), np.zeros(int(on.sum())), now_h[on])]
    begun = int(on.sum())
    wait = _gamma(laws.off_shape[rows.load], rng)
    # Rows that were off at the beginning are some way into their wait.
    off = ~on
    wait[off] = rng.random(int(off.sum())) * _long_biased(laws.off_shape[rows.load[off]], rng)
    while rows.load.size:
        start_h = curves.after(rows.curve, now_h, wait)
        going = start_h < curves.hours
        rows, start_h = rows.where(going), start_h[going]
        length = curves.mean_on_h(rows.curve, start_h) * _gamma(laws.on_shape[rows.load], rng)
        now_h = start_h + length
        found.append((rows, start_h, now_h))
        going = now_h < curves.hours
        rows, now_h = rows.where(going), now_h[going]
        wait = _gamma(laws.off_shape[rows.load], rng)
    load = np.concatenate([part.load for part, _, _ in found])
    return Runs(
        load=load,
        replicate=np.concatenate([part.replicate for part, _, _ in found]),
        start_h=np.concatenate([start for _, start, _ in found]),
        end_h=np.minimum(np.concatenate([end for _, _, end in found]), curves.hours),
        fresh=np.arange(load.size) >= begun,
        replicates=kind.size,
        hours=curves.hours,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """One unit of a load in one replicate each: its load, replicate and hazard curve."""

    load: Index
    replicate: Index
    curve: Index

    def where(self, mask: NDArray[np.bool_]) -> _Rows:
        return _Rows(self.load[mask], self.replicate[mask], self.curve[mask])


class _Curves:
    """Summed hazard of each load on each kind of day, and its inverse."""

    def __init__(self, duty: Array, starts_per_h: Array, schedule: Index) -> None:
        self.hours = int(schedule.shape[1])
        on = np.clip(duty[:, schedule], 0.0, 1.0).reshape(-1, self.hours)
        starts = starts_per_h[:, schedule].reshape(-1, self.hours)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            hazard = np.where(on < 1.0, starts / (1.0 - on), _MOST_HAZARD_PER_H)
            self._mean_on_h = np.where(starts > 0.0, on / starts, 1.0)
        hazard[(on >= 1.0) & (starts <= 0.0)] = _MOST_HAZARD_PER_H
        self._hazard = np.minimum(hazard, _MOST_HAZARD_PER_H)
        self.on_at_first = on[:, 0]
        summed = np.zeros((on.shape[0], self.hours + 1))
        np.cumsum(self._hazard, axis=1, out=summed[:, 1:])
        # One rising array for all curves, so that one search serves all.
        self._lift = (summed[:, -1].max(initial=0.0) + 1.0) * np.arange(on.shape[0])
        self._summed = summed
        self._search = (summed + self._lift[:, None]).ravel()

    def mean_on_h(self, curve: Index, at_h: Array) -> Array:
        """Mean time on of a start at ``at_h``. [h]"""
        mean: Array = self._mean_on_h[curve, at_h.astype(np.int64)]
        return mean

    def after(self, curve: Index, now_h: Array, wait: Array) -> Array:
        """When the hazard summed from ``now_h`` reaches ``wait``; ``hours`` if never. [h]"""
        hour = np.minimum(now_h.astype(np.int64), self.hours - 1)
        done = self._summed[curve, hour] + (now_h - hour) * self._hazard[curve, hour]
        target = done + wait
        never = target >= self._summed[curve, -1]
        place = np.searchsorted(self._search, self._lift[curve] + target, side="right")
        found = np.clip(place - curve * (self.hours + 1) - 1, 0, self.hours - 1)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            inside = (target - self._summed[curve, found]) / self._hazard[curve, found]
        at_h = found + np.clip(np.nan_to_num(inside), 0.0, 1.0 - 1e-9)
        return np.where(never, float(self.hours), np.maximum(at_h, now_h))


def _begin(
    curves: _Curves, rows: _Rows, laws: Laws, rng: np.random.Generator
) -> tuple[NDArray[np.bool_], Array]:
    """Equilibrium at the beginning: which rows are on, and until when. [h]"""
    size = rows.load.size
    on = rng.random(size) < curves.on_at_first[rows.curve]
    left = rng.random(size) * _long_biased(laws.on_shape[rows.load], rng)
    until_h = curves.mean_on_h(rows.curve, np.zeros(size)) * left
    return on, np.minimum(np.where(on, until_h, 0.0), float(curves.hours))


def _gamma(shape: Array, rng: np.random.Generator) -> Array:
    """Gamma numbers of mean 1; shape infinity gives 1."""
    finite = np.minimum(shape, _FIXED)
    return np.where(shape < _FIXED, rng.standard_gamma(finite) / finite, 1.0)


def _long_biased(shape: Array, rng: np.random.Generator) -> Array:
    """Length of the gamma interval that a random instant falls into (mean above 1)."""
    finite = np.minimum(shape, _FIXED)
    return np.where(shape < _FIXED, rng.standard_gamma(finite + 1.0) / finite, 1.0)


def window_means(runs: Runs, power_w: Array, step_s: int = 60) -> Array:
    """Mean power of each clock-aligned window of ``step_s`` seconds in each replicate.

    Parameters
    ----------
    runs : Runs
        times on.
    power_w : NDArray
        rise of each run, shape (e,). [W]
    step_s : int
        window; must divide an hour. [s]

    Returns
    -------
    NDArray
        shape (replicates, hours · 3600 / step_s); exact for runs that begin or end inside a
        window. [W]
    """
    if step_s <= 0 or 3600 % step_s:
        raise InputError(f"window of {step_s} s does not divide an hour")
    per_h = 3600 // step_s
    windows = runs.hours * per_h
    width = windows + 2
    drawing = np.flatnonzero(power_w)  # a load on another leg draws nothing here
    at = np.concatenate((runs.start_h[drawing], runs.end_h[drawing])) * per_h
    window = at.astype(np.int64)
    jump_w = np.concatenate((power_w[drawing], -power_w[drawing]))
    later: Array = (at - window) * jump_w
    cell = np.tile(runs.replicate[drawing] * width, 2) + window
    # A step inside a window reaches its full height in the next one.
    cells = np.concatenate((cell, cell + 1))
    heights = np.concatenate((jump_w - later, later))
    steps = np.bincount(cells, heights, runs.replicates * width).astype(np.float64, copy=False)
    means = np.cumsum(steps.reshape(runs.replicates, width), axis=1)[:, :windows]
    return np.maximum(means, 0.0)


@dataclass(frozen=True, slots=True)
class NoOverload:
    """Chance of no overload in a span of hours, with the simulation's own error.

    ``share`` of replicates without any entry; ``error`` its standard error; ``mean_entries``
    entries per span, for comparison with the integral of the crossing rate;
    ``mean_entries_error`` its standard error; ``replicates`` how many were simulated.
    """

    share: float
    error: float
    mean_entries: float
    mean_entries_error: float
    replicates: int


def no_overload(
    loads: Processes,
    hours: Index,
    laws: Laws,
    run_limit_w: float,
    surge_limit_w: float = math.inf,
    *,
    replicates: int = 4000,
    seed: int = 1,
) -> NoOverload:
    """Chance that a span of consecutive hours passes without an overload.

    Parameters
    ----------
    loads : Processes
        n processes; ``hours`` are indices into their conditions (month · 24 + hour), in order.
    laws : Laws
        of the n loads.
    run_limit_w, surge_limit_w : float
        limits on the sum and on the sum at a start. [W]
    replicates : int
        spans simulated; the standard error is √(p(1 − p)/replicates), 0.8 % at most for 4,000.
    seed : int
        seed of the draws.
    """
    rng = np.random.default_rng(seed)
    schedule = np.asarray(hours, dtype=np.int64)[None, :]
    kind = np.zeros(replicates, dtype=np.int64)
    runs = simulate(loads.duty, loads.starts_per_h, loads.count, schedule, kind, laws, rng)
    entries = count_entries(runs, loads, run_limit_w, surge_limit_w)
    share = float(np.mean(entries == 0))
    return NoOverload(
        share=share,
        error=math.sqrt(max(share * (1.0 - share), 1.0 / replicates) / replicates),
        mean_entries=float(entries.mean()),
        mean_entries_error=float(entries.std() / math.sqrt(replicates)),
        replicates=replicates,
    )


def count_entries(
    runs: Runs, loads: Processes, run_limit_w: float, surge_limit_w: float = math.inf
) -> Index:
    """Entries into overload in each replicate, shape (replicates,).

    A start is an entry if it takes the sum over a limit and the sum was not over the running
    limit before. Limits in W, or VA where ``loads`` are VA. [W]
    """
    rise = loads.rise_w[runs.load]
    at_h = np.concatenate((runs.start_h, runs.end_h))
    change = np.concatenate((rise, -rise))
    surge = np.concatenate((loads.surge_w[runs.load], np.zeros(rise.size)))
    fresh = np.concatenate((runs.fresh, np.zeros(rise.size, dtype=np.bool_)))
    replicate = np.tile(runs.replicate, 2)
    order = np.lexsort((at_h, replicate))
    change, surge = change[order], surge[order]
    fresh, replicate = fresh[order], replicate[order]
    summed = np.cumsum(change)
    # Every replicate begins anew: take off what the ones before it have left over.
    ends = np.searchsorted(replicate, np.arange(runs.replicates))
    before = np.concatenate(([0.0], summed))[ends]
    after = summed - before[replicate] + loads.base_w
    others = after - change
    slack = 1e-6  # W, for rounding in the sum of thousands of changes
    over = (after > run_limit_w + slack) | (others + surge > surge_limit_w + slack)
    entry = fresh & (others <= run_limit_w + slack) & over
    return np.bincount(replicate[entry], minlength=runs.replicates).astype(np.int64)
