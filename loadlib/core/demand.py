"""Demand at an instant: the law of a sum of on/off loads, and how often it passes a level.

Loads are taken as independent, given month and hour. Each is a two-point law (standby with
probability 1 − d, running with d); their sum is a convolution on a watt grid. A power that
lies between two grid points is split over both so that its mean is kept: the law on the grid
has exactly the right mean and a standard deviation that is too large by less than the figure
``grid_error_w`` gives. What is always drawn (standby) is an offset and is not rounded.

The expected number of rises through a level per hour is
ν(L) = Σ λᵢ · P(L − Pᵢ < S₋ᵢ ≤ L) for stationary independent on/off processes, whatever the
laws of their on and off times (S₋ᵢ: the sum without i). Reference: Rice's argument for point
processes; derived by conditioning on the start of load i, see ``crossings``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.convolve import Kernel, convolve, grid_floor, kernel_of, point, split
from loadlib.core.load import Load
from loadlib.errors import InputError

__all__ = [
    "Cause",
    "Crossings",
    "Distribution",
    "Processes",
    "causes",
    "crossings",
    "distribution",
    "joint_bracket",
    "processes",
]

Array = NDArray[np.float64]
_BLOCK = 24
"""Conditions worked on together: keeps the arrays of one block in the processor's cache."""

_NEGLIGIBLE = 1e-13
"""Probability of the upper tail that is left out of a law."""

_NEVER_PER_H = 1e-9
"""Rarer than once in 100,000 years is not explained: rounding would decide the causes. [1/h]"""


@dataclass(frozen=True, slots=True, eq=False)
class Processes:
    """The on/off processes of one place, in a batch of c conditions (say 288 month-hours).

    Parameters
    ----------
    names : tuple of str
        ids of the loads, length n.
    base_w : float
        what is always drawn: standby, and loads that are never off. [W]
    rise_w : NDArray
        running less standby, one of each kind, shape (n,). [W]
    surge_w : NDArray
        the whole start less standby, shape (n,); not below ``rise_w``. [W]
    duty : NDArray
        share of time on, shape (n, c).
    starts_per_h : NDArray
        starts per clock hour of one unit, shape (n, c). [1/h]
    count : NDArray
        how many alike, switching independently of each other, shape (n,).

    With apparent power every ``_w`` is VA. Adding VA of unlike power factors as plain numbers
    gives an upper bound.
    """

    names: tuple[str, ...]
    base_w: float
    rise_w: Array
    surge_w: Array
    duty: Array
    starts_per_h: Array
    count: NDArray[np.int64]

    @property
    def mean_w(self) -> Array:
        """Mean of the sum, shape (c,). [W]"""
        mean: Array = self.base_w + (self.rise_w * self.count) @ self.duty
        return mean

    def at(self, conditions: Sequence[int] | NDArray[np.int64]) -> Processes:
        """The same loads in some of the conditions only."""
        pick = np.asarray(conditions, dtype=np.int64)
        return replace(self, duty=self.duty[:, pick], starts_per_h=self.starts_per_h[:, pick])


def processes(
    loads: Iterable[Load], leg: int | None = None, *, apparent: bool = False
) -> Processes:
    """Loads at their typical values as on/off processes over the 12 × 24 month-hours.

    Parameters
    ----------
    loads : iterable of Load
        the loads; those that put nothing on ``leg`` are left out.
    leg : int or None
        index of a leg, or None for the whole house.
    apparent : bool
        True for VA (running and standby at the typical power factor) in place of W. Starts
        are VA in both cases, so with ``apparent=False`` a surge limit mixes W and VA: use
        True where a surge limit is asked about.

    Returns
    -------
    Processes
        conditions in the order month 1 hour 0, month 1 hour 1 … month 12 hour 23.
    """
    base_w = 0.0
    rows: list[tuple[str, float, float, Array, Array, int]] = []
    for load in loads:
        share = 1.0 if leg is None else load.leg_share[leg]
        if share == 0.0:
            continue
        scale = share / max(load.power_factor.typical, 0.05) if apparent else share
        off_w = load.standby_w.typical * scale
        rise_w = max(load.running_w.typical * scale - off_w, 0.0)
        duty = np.clip(load.duty_array().ravel(), 0.0, 1.0)
        base_w += off_w * load.count
        if np.all(duty >= 1.0):
            base_w += rise_w * load.count
            continue
        start_w = load.start_va.typical * share if load.start_va is not None else 0.0
        surge_w = max(start_w - off_w, rise_w)
        rows.append((load.id, rise_w, surge_w, duty, load.starts_array().ravel(), load.count))
    return Processes(
        names=tuple(row[0] for row in rows),
        base_w=base_w,
        rise_w=np.array([row[1] for row in rows]),
        surge_w=np.array([row[2] for row in rows]),
        duty=np.array([row[3] for row in rows]).reshape(len(rows), 288),
        starts_per_h=np.array([row[4] for row in rows]).reshape(len(rows), 288),
        count=np.array([row[5] for row in rows], dtype=np.int64),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Distribution:
    """The law of demand on a grid, in c conditions.

    ``share[j, k]`` is the probability of ``base_w + k · step_w`` in condition j; shape (c, m).
    ``grid_error_w`` is the standard deviation that splitting powers over two grid points has
    added at most, shape (c,). [W]
    """

    base_w: float
    step_w: float
    share: Array
    grid_error_w: Array

    @property
    def mean_w(self) -> Array:
        """Mean, shape (c,). [W]"""
        mean: Array = self.base_w + self.step_w * (self.share @ np.arange(self.share.shape[1]))
        return mean

    def quantiles_w(self, shares: Sequence[float]) -> Array:
        """Smallest grid value that is not exceeded with probability ``shares``. [W]

        Returns shape (len(shares), c).
        """
        wanted = np.asarray(shares, dtype=np.float64) - 1e-12
        cumulative = np.cumsum(self.share, axis=1)
        last = self.share.shape[1] - 1
        steps = np.array([np.searchsorted(row, wanted) for row in cumulative]).T
        power: Array = self.base_w + self.step_w * np.minimum(steps, last)
        return power

    def above(self, level_w: float) -> Array:
        """P(S > ``level_w``), shape (c,). ``level_w`` [W]"""
        last = grid_floor(level_w - self.base_w, self.step_w)
        tail: Array = self.share[:, max(last + 1, 0) :].sum(axis=1)
        return tail


def distribution(loads: Processes, step_w: float = 25.0) -> Distribution:
    """Law of the sum of ``loads`` in each condition, by convolution.

    Parameters
    ----------
    loads : Processes
        n processes in c conditions.
    step_w : float
        grid step. [W]

    Returns
    -------
    Distribution
        shape (c, m). An empty house has one point. Sums that are less likely than 1e-13 are
        left out, which shortens the grid: fifty loads never run all at once.
    """
    _check_step(step_w)
    conditions = loads.duty.shape[1]
    size = 1 + _top_step(loads, step_w)
    share = np.zeros((conditions, size))
    # Small powers first: the support, and with it the work, then grows as late as possible.
    order = np.argsort(loads.rise_w * loads.count, kind="stable")
    for first in range(0, conditions, _BLOCK):
        block = share[first : first + _BLOCK]
        block[:, 0] = 1.0
        duty = loads.duty[:, first : first + _BLOCK]
        filled = 1
        for i in order:
            kernel = kernel_of(loads.rise_w[i] / step_w, duty[i], int(loads.count[i]))
            filled = convolve(block, filled, kernel)
    return Distribution(loads.base_w, step_w, share, _grid_error_w(loads, step_w))


@dataclass(frozen=True, slots=True, eq=False)
class Crossings:
    """Rises through a limit, in c conditions.

    ``rate_per_h`` (c,) entries into overload per hour; ``above_share`` (c,) share of time
    above the running limit; ``by_load_per_h`` (n, c) the entries that each load's start
    makes; ``names`` the loads.
    """

    names: tuple[str, ...]
    rate_per_h: Array
    above_share: Array
    by_load_per_h: Array

    @property
    def mean_length_s(self) -> Array:
        """Mean time above the running limit per entry, shape (c,); 0 where none is expected.

        P(S > L) / ν. Where a surge limit was given, entries at the surge alone count with
        length zero. A short excursion need not trip anything. [s]
        """
        with np.errstate(divide="ignore", invalid="ignore"):
            length = 3600.0 * self.above_share / self.rate_per_h
        return np.where(self.rate_per_h > 0.0, length, 0.0)


def crossings(
    loads: Processes, run_limit_w: float, surge_limit_w: float = math.inf, step_w: float = 25.0
) -> Crossings:
    """Expected entries into overload per hour, exactly on the grid.

    ν = Σ λᵢ · P(min(L_run − Pᵢ, L_surge − startᵢ) < S₋ᵢ ≤ L_run): a start of load i finds
    the others at S₋ᵢ (they are independent of it), is counted if it takes the sum over a
    limit, and never while the sum is over already. Overlapping starts are neglected, and
    where W are VA their plain sum is an upper bound.

    Parameters
    ----------
    loads : Processes
        n processes in c conditions.
    run_limit_w : float
        running limit; W, or VA if ``loads`` are VA. [W]
    surge_limit_w : float
        limit on the sum at a start. [W]
    step_w : float
        grid step. [W]

    Returns
    -------
    Crossings
        rates, shares and attribution.

    Notes
    -----
    S₋ᵢ is built for every i by halving (n log n convolutions), never by division, so it is
    stable at any duty. Only the grid up to the running limit is needed, as powers are not
    negative. A base above the limit gives rate 0 and share 1.
    """
    _check_step(step_w)
    conditions = loads.duty.shape[1]
    by_load = np.zeros((len(loads.names), conditions))
    top = grid_floor(run_limit_w - loads.base_w, step_w)
    if top < 0:
        return Crossings(loads.names, np.zeros(conditions), np.ones(conditions), by_load)
    surge_top = _surge_top(loads, surge_limit_w, step_w)

    def count_starts(i: int, others: Array) -> None:
        by_load[i] = _start_rate(loads, i, others, top, surge_top[i], step_w)

    kernels = _kernels(loads, step_w)
    below = point(conditions, top)
    _without_each(list(range(len(kernels))), below, kernels, count_starts)
    for kernel in kernels:
        convolve(below, top + 1, kernel)
    above = np.clip(1.0 - below.sum(axis=1), 0.0, 1.0)
    return Crossings(loads.names, by_load.sum(axis=0), above, by_load)


def joint_bracket(rates_per_h: Sequence[Array]) -> tuple[Array, Array]:
    """Bounds on entries into overload when several limits hold at once (whole and each leg).

    The largest single rate ≤ rate ≤ the sum of them; shapes (c,). ``rates_per_h`` [1/h]
    """
    stacked = np.stack(list(rates_per_h))
    return stacked.max(axis=0), stacked.sum(axis=0)


@dataclass(frozen=True, slots=True)
class Cause:
    """Entries into overload made by the start of ``rising`` while all of ``others`` were on.

    ``rate_per_h`` is the mean over the conditions asked about; ``share`` is that over all
    entries. Causes overlap: a crossing with three loads on belongs to several. [1/h]
    """

    rising: str
    others: tuple[str, ...]
    rate_per_h: float
    share: float


def causes(
    loads: Processes,
    run_limit_w: float,
    surge_limit_w: float = math.inf,
    step_w: float = 25.0,
    *,
    most: int = 3,
) -> tuple[Cause, ...]:
    """What makes the overloads: single loads, then pairs, then triples, largest first.

    The ``most`` loads whose starts make most entries; for each of them the other loads that
    are on at those moments more often than they are anyway; for the leading pairs a third.
    So a load that always runs is not named as a cause. Exact on the grid.

    Parameters
    ----------
    loads : Processes
        n processes in c conditions; every condition weighs the same.
    run_limit_w, surge_limit_w, step_w : float
        as in ``crossings``. [W]
    most : int
        how many of each size to give.
    """
    found = crossings(loads, run_limit_w, surge_limit_w, step_w)
    total = float(found.rate_per_h.mean())
    if total <= _NEVER_PER_H:
        return ()
    on = 1.0 - (1.0 - loads.duty) ** loads.count[:, None]
    rates: dict[tuple[int, ...], Array] = {(i,): r for i, r in enumerate(found.by_load_per_h)}
    excess = {members: float(rate.mean()) for members, rate in rates.items()}
    result: list[Cause] = []
    for size in (1, 2, 3):
        leading = sorted(excess, key=lambda members: (-excess[members], members))[:most]
        leading = [members for members in leading if excess[members] > 0.0]
        for members in leading:
            rate = float(rates[members].mean())
            names = [loads.names[j] for j in members]
            result.append(Cause(names[0], tuple(names[1:]), rate, rate / total))
        if size < 3:
            fewer, rates, excess = rates, {}, {}
            for members in leading:
                more = _rates_with_each_on(loads, members, run_limit_w, surge_limit_w, step_w)
                for j, joint in more.items():
                    # The order of those that were on does not matter.
                    key = (members[0], *sorted((*members[1:], j)))
                    rates[key] = joint
                    excess[key] = float((joint - fewer[members] * on[j]).mean())
    return tuple(result)


def _rates_with_each_on(
    loads: Processes,
    members: tuple[int, ...],
    run_limit_w: float,
    surge_limit_w: float,
    step_w: float,
) -> dict[int, Array]:
    """Entries by the start of ``members[0]`` with the other members and each j on, (c,). [1/h]"""
    rising, fixed = members[0], members[1:]
    top = grid_floor(run_limit_w - loads.base_w, step_w)
    surge_top = _surge_top(loads, surge_limit_w, step_w)[rising]
    kernels = _kernels(loads, step_w)
    start = point(loads.duty.shape[1], top)
    for j in fixed:
        convolve(start, top + 1, _when_on(loads, j, kernels[j]))
    rates: dict[int, Array] = {}

    def count_starts(j: int, others: Array) -> None:
        with_j = others.copy()
        convolve(with_j, top + 1, _when_on(loads, j, kernels[j]))
        rates[j] = _start_rate(loads, rising, with_j, top, surge_top, step_w)

    rest = [j for j in range(len(loads.names)) if j not in members]
    _without_each(rest, start, kernels, count_starts)
    return rates


def _kernels(loads: Processes, step_w: float) -> list[Kernel]:
    return [
        kernel_of(loads.rise_w[i] / step_w, loads.duty[i], int(loads.count[i]))
        for i in range(len(loads.names))
    ]


def _when_on(loads: Processes, j: int, kernel: Kernel) -> Kernel:
    """The part of ``kernel`` in which at least one unit of load j is on (not a law: P(on))."""
    off = (1.0 - loads.duty[j]) ** int(loads.count[j])
    first_step, first_weight = kernel[0]
    return [(first_step, first_weight - off), *kernel[1:]]


def _start_rate(
    loads: Processes, i: int, others: Array, top: int, surge_top: int, step_w: float
) -> Array:
    """λᵢ P(min(L_run − Pᵢ, L_surge − startᵢ) < S₋ᵢ ≤ L_run), shape (c,).

    ``others`` holds every load but i; the further units of i, if there are several, are
    added here.
    """
    more = int(loads.count[i]) - 1
    if more:
        others = others.copy()
        convolve(others, top + 1, kernel_of(loads.rise_w[i] / step_w, loads.duty[i], more))
    whole, part = split(float(loads.rise_w[i] / step_w))
    inside = np.zeros(others.shape[0])
    for rise, weight in ((whole, 1.0 - part), (whole + 1, part)):
        if weight > 0.0:
            lowest = max(min(top - rise, surge_top) + 1, 0)
            inside += weight * others[:, lowest : top + 1].sum(axis=1)
    rate: Array = loads.count[i] * loads.starts_per_h[i] * inside
    return rate


def _without_each(
    members: list[int], start: Array, kernels: list[Kernel], leaf: Callable[[int, Array], None]
) -> None:
    """Call ``leaf(i, law)`` for each member with ``start`` convolved by all members but i."""
    if len(members) <= 1:
        for i in members:
            leaf(i, start)
        return
    half = len(members) // 2
    for here, there in ((members[:half], members[half:]), (members[half:], members[:half])):
        law = start.copy()
        for j in there:
            convolve(law, law.shape[1], kernels[j])
        _without_each(here, law, kernels, leaf)


def _surge_top(loads: Processes, surge_limit_w: float, step_w: float) -> list[int]:
    """For each load the highest grid step of the others at which its start still passes."""
    if math.isinf(surge_limit_w):
        return [2**62] * len(loads.names)
    room = surge_limit_w - loads.base_w
    return [grid_floor(room - surge, step_w) for surge in loads.surge_w]


def _top_step(loads: Processes, step_w: float) -> int:
    """Grid step that the sum passes with a probability below ``_NEGLIGIBLE``, at most all on.

    Chernoff's bound: P(S > s) ≤ E[e^(θS)] · e^(−θs) for any θ > 0; the duties are each load's
    largest in any condition, so one bound serves all.
    """
    steps = [_last_step(loads, i, step_w) for i in range(len(loads.names))]
    if not any(steps):
        return 0
    # One unit takes at most this many steps once its power is split.
    unit = np.ceil(loads.rise_w / step_w)
    duty = loads.duty.max(axis=1)
    theta = np.geomspace(1.0, 500.0, 24)[:, None] / float(max(steps))
    with np.errstate(over="ignore"):
        logs = loads.count * np.log1p(duty * np.expm1(theta * unit))
    bounds = (logs.sum(axis=1) - math.log(_NEGLIGIBLE)) / theta[:, 0]
    return min(sum(steps), math.ceil(min(float(bounds.min()), 1e15)))


def _last_step(loads: Processes, i: int, step_w: float) -> int:
    whole, part = split(float(loads.rise_w[i] * loads.count[i] / step_w))
    return whole + (part > 0.0)


def _grid_error_w(loads: Processes, step_w: float) -> Array:
    """Standard deviation added by splitting: √(Σ P(on) f(1 − f)) steps, bounded by f = ½ where
    several units share one load."""
    steps = loads.rise_w / step_w
    part = np.array([split(float(step))[1] for step in steps])
    spread = np.where(loads.count == 1, part * (1.0 - part), 0.25)
    spread = np.where(part == 0.0, 0.0, spread)
    on = 1.0 - (1.0 - loads.duty) ** loads.count[:, None]
    error: Array = step_w * np.sqrt(np.maximum(spread @ on, 0.0))
    return error


def _check_step(step_w: float) -> None:
    if not (math.isfinite(step_w) and step_w > 0.0):
        raise InputError(f"grid step {step_w:g} W", hint="Use a step above zero, such as 25 W.")
