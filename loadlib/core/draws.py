"""Belief about anything that is worked out from loads: the same sum under many draws.

Every load's running power, factor on duty, standby and start are drawn from their ranges,
independently of each other and of other loads. Draws are stratified: each number takes
scores of equal probability in an order of its own, so few draws give steady results.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from loadlib.core.demand import crossings, processes
from loadlib.core.load import Load, grid
from loadlib.core.ranges import Range
from loadlib.core.simulate import Laws, no_overload

__all__ = ["drawn_loads", "entries_belief", "no_overload_belief", "stratified"]

Array = NDArray[np.float64]


def stratified(belief: Range, draws: int, rng: np.random.Generator) -> Array:
    """``draws`` numbers of equal probability from ``belief`` in random order, shape (draws,)."""
    return belief.at(rng.permutation(_scores(draws)))


def drawn_loads(loads: Sequence[Load], draws: int, seed: int) -> Iterator[tuple[Load, ...]]:
    """The loads with exact numbers, once for each draw.

    Duty is cut at 1; starts follow duty, so that the length of a time on is kept. A start
    never falls below running VA. Whatever takes loads at typical values takes these.
    """
    rng = np.random.default_rng(seed)
    numbers = [_draw(load, draws, rng) for load in loads]
    for k in range(draws):
        yield tuple(
            _exact(load, *(column[k] for column in columns))
            for load, columns in zip(loads, numbers, strict=True)
        )


def entries_belief(
    loads: Sequence[Load],
    conditions: Sequence[int],
    run_limit_w: float,
    surge_limit_w: float = math.inf,
    *,
    leg: int | None = None,
    apparent: bool = True,
    draws: int = 100,
    seed: int = 1,
) -> Range:
    """Belief about the expected entries into overload over a span of hours.

    Parameters
    ----------
    loads : sequence of Load
        what is connected.
    conditions : sequence of int
        the hours of the span as month-hours, (month − 1) · 24 + hour, each one hour.
    run_limit_w, surge_limit_w : float
        limits; VA with ``apparent``. [W]
    leg, apparent
        as in ``processes``.
    draws, seed : int
        draws of the beliefs, and their seed.

    Returns
    -------
    Range
        entries in the whole span: belief about loads, not spread between nights.
    """
    totals = [
        float(
            crossings(
                processes(exact, leg, apparent=apparent).at(conditions), run_limit_w, surge_limit_w
            ).rate_per_h.sum()
        )
        for exact in drawn_loads(loads, draws, seed)
    ]
    return Range.of_samples(np.array(totals))


def no_overload_belief(
    loads: Sequence[Load],
    conditions: Sequence[int],
    run_limit_w: float,
    surge_limit_w: float = math.inf,
    *,
    leg: int | None = None,
    apparent: bool = True,
    draws: int = 40,
    replicates: int = 500,
    seed: int = 1,
) -> Range:
    """Belief about the chance that a span of hours passes without an overload.

    As ``entries_belief``, by simulation; each draw's chance has a standard error of at most
    0.5/√replicates (2.2 % for 500), which widens the range a little.
    """
    hours = np.asarray(conditions, dtype=np.int64)
    shares = []
    for k, exact in enumerate(drawn_loads(loads, draws, seed)):
        place = processes(exact, leg, apparent=apparent)
        thermostatic = {load.id: load.thermostatic for load in exact}
        laws = Laws.usual(np.array([thermostatic[name] for name in place.names], dtype=np.bool_))
        night = no_overload(
            place,
            hours,
            laws,
            run_limit_w,
            surge_limit_w,
            replicates=replicates,
            seed=seed + k,
        )
        shares.append(night.share)
    return Range.of_samples(np.array(shares))


def _draw(load: Load, draws: int, rng: np.random.Generator) -> tuple[Array, ...]:
    """Running W, factor on duty, standby W, start VA (NaN for none), each shape (draws,)."""
    running, factor, standby = (
        stratified(belief, draws, rng)
        for belief in (load.running_w, load.duty_belief, load.standby_w)
    )
    if load.start_va is None:
        return running, factor, standby, np.full(draws, math.nan)
    return running, factor, standby, stratified(load.start_va, draws, rng)


def _exact(load: Load, running: float, factor: float, standby: float, start: float) -> Load:
    duty, starts = load.duty_array(), load.starts_array()
    drawn = np.minimum(duty * factor, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        follow = np.where(duty > 0.0, drawn / duty, 1.0)
    running_va = running / max(load.power_factor.typical, 0.05)
    return load.with_(
        running_w=Range.exact(running),
        standby_w=Range.exact(standby),
        duty=grid(drawn),
        duty_belief=Range.exact(1.0),
        starts_per_h=grid(starts * follow),
        start_va=None if math.isnan(start) else Range.exact(max(start, running_va)),
    )


@functools.cache
def _scores(draws: int) -> Array:
    inverse = NormalDist().inv_cdf
    return np.array([inverse((k + 0.5) / draws) for k in range(draws)])
