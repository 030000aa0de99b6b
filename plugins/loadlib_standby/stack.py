"""Branches as numbers: typical draws for the optimiser, draws of belief for the verdict.

Dimension 0 is the whole in W, against the source's watts; its surge excess is start VA less
running W, so a start is a scalar sum of the W that run and the VA of the one that starts: an
upper bound of the true sum. The other dimensions are places (legs, outlets) in A.

While the voltage dips, a standing rotor asks for less, with the square of the voltage: in half
of the draws of belief no dip is counted on, in the other half one of up to 20 %. So the low
end of a start says "it may just get going", the high end stays that of the plate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.branches import Branch, is_automatic
from loadlib_standby.case import OutageCase
from loadlib_standby.deficit import deficits, pickup_s
from loadlib_standby.engine import UNLISTED, Load, Range
from loadlib_standby.feed import Feed

__all__ = ["SURE", "Stack", "hold_s", "stack_of"]

Array = NDArray[np.float64]

SURE = 0.95
"""From this share of belief on a step or a start is not called doubtful."""

_DRAWS = 2000
_MOST_DIP = 0.2
"""Voltage dip at a load step of a class G2 set (ISO 8528-5, table ``standby_set_classes``)."""


@dataclass(frozen=True, slots=True, eq=False)
class Stack:
    """n branches in D dimensions with m draws of belief.

    ``counted``, ``cold``, ``excess`` (closing the breaker: everything automatic starts
    together), ``restart`` (the largest single start that comes by itself): typical, shape
    (n, D). ``running_draws``, ``start_draws`` and ``closing_draws`` (m, n, D) are beliefs
    about the counted draw, the largest single surge excess, and the excess when the breaker is
    closed. ``background`` (m, D) is what has no breaker.
    """

    branches: tuple[Branch, ...]
    names: tuple[str, ...]
    run: Array
    surge: Array
    counted: Array
    cold: Array
    excess: Array
    restart: Array
    running_draws: Array
    start_draws: Array
    closing_draws: Array
    background: Array
    hold_s: Array

    def together(self, chosen: Sequence[int]) -> tuple[Array, Array]:
        """Draws of the running sum, and of that with the largest excess on top: (m, D) each.

        The largest excess is the worst single start in each dimension: overlapping starts are
        neglected.
        """
        picked = list(chosen)
        running = self.background + self.running_draws[:, picked].sum(axis=1)
        starts = self.start_draws[:, picked]
        return running, running + starts.max(axis=1, initial=0.0)

    def switching_on(
        self, i: int, on: Sequence[int], catching_up: Sequence[int] = ()
    ) -> tuple[Array, Array]:
        """Draws once branch ``i`` runs, cold, beside ``on``, and at its start: (m, D) each.

        Those of ``on`` that are ``catching_up`` draw what they draw when cold.
        """
        before = self.background + sum(
            (self._cold_draws(j) if j in catching_up else self.running_draws[:, j] for j in on),
            np.zeros_like(self.background),
        )
        running = before + self._cold_draws(i)
        return running, running + self.closing_draws[:, i]

    def _cold_draws(self, i: int) -> Array:
        cold = self.cold[i] / np.maximum(self.counted[i], 1e-12)
        draws: Array = self.running_draws[:, i] * np.where(self.counted[i] > 0.0, cold, 1.0)
        return draws

    def sure(self, i: int, on: Sequence[int] = (), catching_up: Sequence[int] = ()) -> float:
        """Share of belief in which every limit holds when branch ``i`` joins ``on``."""
        running, peak = self.switching_on(i, on, catching_up)
        held = np.all(running <= self.run, axis=1) & np.all(peak <= self.surge, axis=1)
        return float(held.mean())

    def ranges(self, chosen: Sequence[int]) -> tuple[list[Range], list[Range]]:
        """``together`` as ranges, one per dimension."""
        running, peak = self.together(chosen)
        return _columns(running), _columns(peak)

    def typical_background(self) -> Array:
        """Median of the background, shape (D,)."""
        middle: Array = np.median(self.background, axis=0)
        return middle


def stack_of(branches: Sequence[Branch], feed: Feed, case: OutageCase, seed: int = 1) -> Stack:
    """Numbers of ``branches`` on ``feed``; the same for the same seed."""
    rng = np.random.default_rng(seed)
    dims = 1 + len(feed.places)
    size = (len(branches), dims)
    typical = {key: np.zeros(size) for key in ("counted", "cold", "excess", "restart")}
    running_draws = np.zeros((_DRAWS, *size))
    sag = (1.0 - _MOST_DIP * np.maximum(2.0 * rng.random(_DRAWS) - 1.0, 0.0)) ** 2
    start_draws = np.zeros((_DRAWS, *size))
    closing_draws = np.zeros((_DRAWS, *size))
    for i, branch in enumerate(branches):
        parts = [_Part(load, feed, rng, sag) for load in branch.loads]
        all_on = sum((part.running for part in parts), np.zeros(dims))
        typical["counted"][i] = branch.counted_share * all_on
        typical["cold"][i] = branch.cold_share * all_on
        typical["excess"][i] = _closing_excess(parts, [part.excess for part in parts])
        typical["restart"][i] = _largest([p.excess for p in parts if is_automatic(p.load)], dims)
        running_draws[:, i] = branch.counted_share * sum(part.running_draws for part in parts)
        start_draws[:, i] = np.max([part.excess_draws for part in parts], axis=0)
        closing_draws[:, i] = _closing_excess(parts, [part.excess_draws for part in parts])
    background = sum(
        (_Part(load, feed, rng, sag).running_draws for load in feed.loads if load.id == UNLISTED),
        np.zeros((_DRAWS, dims)),
    )
    stated = {one.load: one.on_s for one in deficits(feed.loads, case)}
    run = np.array([feed.running_w, *(place.running_a for place in feed.places)])
    surge = np.array([feed.starting_w, *(place.starting_a for place in feed.places)])
    return Stack(
        branches=tuple(branches),
        names=("the whole", *(place.name for place in feed.places)),
        run=run,
        surge=np.maximum(surge, run),
        running_draws=running_draws,
        start_draws=start_draws,
        closing_draws=closing_draws,
        background=background,
        hold_s=np.array([hold_s(branch, case, stated) for branch in branches]),
        **typical,
    )


def hold_s(branch: Branch, case: OutageCase, stated: Mapping[str, float] | None = None) -> float:
    """How long the cold draw lasts: the longest pickup of its automatic loads. [s]

    What is always on has nothing to catch up. ``stated`` are seconds by the id of loads of
    which the case says what they have to make up for.
    """
    most_s = case.length_h * 3600.0
    known = stated or {}
    times = [known[x.id] if x.id in known else pickup_s(x, case) for x in branch.loads]
    return min(max(times, default=0.0), most_s)


class _Part:
    """One load: typical and drawn vectors over (W, A at each place), for all its units."""

    def __init__(self, load: Load, feed: Feed, rng: np.random.Generator, sag: Array) -> None:
        self.load = load
        per_va = np.array(feed.amps_per_va(load))
        power_factor = max(load.power_factor.typical, 0.05)
        self.running = self._vector(load.running_w.typical, power_factor, per_va) * load.count
        start_va = load.start_va.typical if load.start_va else 0.0
        self.excess = self._excess(load.running_w.typical, start_va, power_factor, per_va)
        running_w = load.running_w.sample(rng, _DRAWS)
        starts_va = load.start_va.sample(rng, _DRAWS) if load.start_va else np.zeros(_DRAWS)
        self.running_draws = self._vector(running_w, power_factor, per_va) * load.count
        self.excess_draws = self._excess(running_w, starts_va * sag, power_factor, per_va)

    @staticmethod
    def _vector(running_w: Array | float, power_factor: float, per_va: Array) -> Array:
        watts = np.atleast_1d(np.asarray(running_w, dtype=np.float64))
        vector = np.column_stack((watts, np.outer(watts / power_factor, per_va)))
        return vector[0] if np.ndim(running_w) == 0 else vector

    @staticmethod
    def _excess(
        running_w: Array | float, start_va: Array | float, power_factor: float, per_va: Array
    ) -> Array:
        watts = np.atleast_1d(np.asarray(running_w, dtype=np.float64))
        starts = np.atleast_1d(np.asarray(start_va, dtype=np.float64))
        amps = np.outer(np.maximum(starts - watts / power_factor, 0.0), per_va)
        # No start step (start_va None) has no excess in W either.
        whole = np.where(starts > 0.0, np.maximum(starts - watts, 0.0), 0.0)
        vector = np.column_stack((whole, amps))
        return vector[0] if np.ndim(running_w) == 0 else vector


def _closing_excess(parts: Sequence[_Part], excess: Sequence[Array]) -> Array:
    """What starts automatically starts together; of the rest the largest may be left on."""
    automatic, hand = np.zeros_like(excess[0]), np.zeros_like(excess[0])
    for part, one in zip(parts, excess, strict=True):
        if is_automatic(part.load):
            automatic = automatic + one * part.load.count
        else:
            hand = np.maximum(hand, one)
    larger: Array = np.maximum(automatic, hand)
    return larger


def _largest(rows: Sequence[Array], dims: int) -> Array:
    return np.max(rows, axis=0) if rows else np.zeros(dims)


def _columns(draws: Array) -> list[Range]:
    return [Range.of_samples(draws[:, d]) for d in range(draws.shape[1])]
