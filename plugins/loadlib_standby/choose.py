"""Choose: the smallest ratings for this house and these wishes, as a curve. No makes.

For each running rating: what has to stay off so that the rest runs together at any time (95 %
point of belief), how often a day all wishes together would overload it, and the smallest
starting rating with which they overload it no more often than is put up with.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.engine import InputError
from loadlib_standby.overload import overloads_per_day
from loadlib_standby.setting import Setting
from loadlib_standby.source import SUPPLIES, Generator, Source
from loadlib_standby.stack import Stack
from loadlib_standby.verdict import breaks

__all__ = ["Choice", "RatingPair", "RatingPoint", "bare_source", "choose"]

_MOST_POINTS = 400

_NEAR = 1.05
"""Starting ratings within 5 % of the smallest are as good: the smaller running one is told."""


@dataclass(frozen=True, slots=True)
class RatingPoint:
    """One running rating.

    ``off`` are the circuits that stay off, ``off_by_hand`` the appliances used by hand that
    find no room all at once; ``starting_w`` is what the rest then needs so that its hardest start
    fits at any time (95 % point); ``per_day_all`` are overloads a day of all wishes by running
    alone; ``starting_all_w`` the smallest starting rating (typical starts) with which there
    are no more than wanted, None where running alone makes more.
    """

    running_w: float
    starting_w: float
    off: tuple[str, ...]
    off_by_hand: tuple[str, ...]
    per_day_all: float
    starting_all_w: float | None
    musts_kept: bool


@dataclass(frozen=True, slots=True)
class RatingPair:
    """A running and a starting rating. [W]"""

    running_w: float
    starting_w: float


@dataclass(frozen=True, slots=True)
class Choice:
    """The curve and four readings of it (None where it does not reach that far).

    ``wishes`` and ``musts`` are the smallest pairs with at most ``most_per_day`` overloads, for
    all wishes and for the must-haves alone; ``wishes_any_time`` and ``musts_any_time`` those
    at which they run and start together at any time.
    """

    points: tuple[RatingPoint, ...]
    most_per_day: float
    wishes: RatingPair | None
    musts: RatingPair | None
    wishes_any_time: RatingPair | None
    musts_any_time: RatingPair | None
    blocked: tuple[str, ...]

    def turning_points(self) -> tuple[RatingPoint, ...]:
        """The points at which other circuits stay off than at the one before."""
        found: list[RatingPoint] = []
        for point in self.points:
            if not found or set(point.off) != set(found[-1].off):
                found.append(point)
        return tuple(found)


def bare_source(running_w: float, starting_w: float, supply: str) -> Source:
    """A source that is nothing but its ratings: no cord, no breaker, no derating.

    ``running_w`` [W], ``starting_w`` [W].
    """
    generator = Generator(running_w=running_w, starting_w=starting_w, supply=supply)
    return Source(name=f"{running_w:,.0f} W", generator=generator)


def choose(
    setting: Setting,
    names: Sequence[str] = (),
    *,
    most_per_day: float = 0.1,
    step_w: float = 500.0,
) -> Choice:
    """Ratings against overloads and against what must stay off.

    Parameters
    ----------
    setting : Setting
        house, source (its supply only) and case.
    names : sequence of str
        the wishes; all that is not on the off list without names.
    most_per_day : float
        overloads a day that are put up with.
    step_w : float
        step of the curve. [W]
    """
    if step_w <= 0.0 or most_per_day < 0.0:
        raise InputError(f"step of {step_w:g} W, {most_per_day:g} overloads a day")
    wanted = setting.positions(names)
    chosen = [i for i in wanted if not setting.branches[i].blocked]
    if not chosen:
        raise InputError("nothing to choose for: no circuit that this supply can feed")
    musts = [i for i in chosen if setting.branches[i].priority == "must"]
    ratings = _ratings(setting, chosen, step_w)
    if len(ratings) > _MOST_POINTS:
        raise InputError(
            f"a step of {step_w:g} W makes {len(ratings):,} points", hint="Take a larger step."
        )
    pairs = _pairs(setting, chosen, ratings, most_per_day)
    points = tuple(
        _point(setting, chosen, rating, pair) for rating, pair in zip(ratings, pairs, strict=True)
    )
    return Choice(
        points=points,
        most_per_day=most_per_day,
        wishes=_smallest(ratings, pairs),
        musts=_smallest(ratings, _pairs(setting, musts, ratings, most_per_day)) if musts else None,
        wishes_any_time=_any_time(setting, chosen, step_w),
        musts_any_time=_any_time(setting, musts, step_w) if musts else None,
        blocked=tuple(setting.branches[i].label for i in wanted if setting.branches[i].blocked),
    )


def _ratings(setting: Setting, chosen: list[int], step_w: float) -> list[float]:
    """The curve's running ratings, up to the one that carries everything at once."""
    top_w = _any_time(setting, chosen, step_w).running_w
    return [float(x) for x in np.arange(step_w, top_w + 0.5 * step_w, step_w)]


def _any_time(setting: Setting, chosen: list[int], step_w: float) -> RatingPair:
    """Running together and starting on top of everything, at the 95 % point, rounded up."""
    running, peak = setting.stack.together(chosen)
    needed = []
    for draws in (running, peak):
        high = np.quantile(draws, 0.95, axis=0)
        most_w = max(float(high[0]), *_legs_w(setting, high))
        needed.append(max(math.ceil(most_w / step_w - 1e-9), 1) * step_w)
    return RatingPair(needed[0], max(needed))


def _point(
    setting: Setting, chosen: list[int], running_w: float, pair: tuple[float, float | None]
) -> RatingPoint:
    stack = _scaled(setting, running_w)
    kept = _kept(stack, chosen)
    off = [setting.branches[i] for i in chosen if i not in kept]
    starting_w = running_w
    if kept:
        _, peak = stack.together(kept)
        high = np.quantile(peak, 0.95, axis=0)
        starting_w = max(running_w, float(high[0]), *_legs_w(setting, high))
    return RatingPoint(
        running_w=running_w,
        starting_w=starting_w,
        off=tuple(x.label for x in off if not x.hand),
        off_by_hand=tuple(x.label for x in off if x.hand),
        per_day_all=pair[0],
        starting_all_w=pair[1],
        musts_kept=all(x.priority != "must" for x in off),
    )


def _pairs(
    setting: Setting, members: list[int], ratings: list[float], most_per_day: float
) -> list[tuple[float, float | None]]:
    """For each running rating: overloads a day by running alone, and the smallest starting
    rating on the same steps that keeps them few enough. The larger the first, the smaller the
    second, so that one walk over both is enough."""
    step_w = ratings[0]
    loads = setting.loads_on(members)
    legs = 1 if setting.source.connection == "cords" else len(setting.feed.places)

    def per_day(running_w: float, starting_w: float) -> float:
        limits: list[tuple[int | None, float, float]] = [(None, running_w, starting_w)]
        if legs > 1:
            limits += [(k, running_w / legs, starting_w / legs) for k in range(legs)]
        return overloads_per_day(loads, setting.case, limits)

    by_running = [per_day(running_w, math.inf) for running_w in ratings]
    # Far below its needs a house is always over and seldom enters: only the end of the curve
    # from which on there are never more than wanted counts.
    first = next(
        (k + 1 for k in range(len(ratings) - 1, -1, -1) if by_running[k] > most_per_day), 0
    )
    found: list[tuple[float, float | None]] = [(rate, None) for rate in by_running[:first]]
    starting_w = ratings[first] if first < len(ratings) else math.inf
    for rate, running_w in zip(by_running[first:], ratings[first:], strict=True):
        starting_w = max(starting_w, running_w)
        while per_day(running_w, starting_w) > most_per_day:
            starting_w += step_w
        while starting_w > running_w and per_day(running_w, starting_w - step_w) <= most_per_day:
            starting_w -= step_w
        found.append((rate, starting_w))
    return found


def _smallest(ratings: list[float], pairs: list[tuple[float, float | None]]) -> RatingPair | None:
    """About the smallest starting rating, with the smallest running one that goes with it."""
    usable = [(r, s) for r, (_, s) in zip(ratings, pairs, strict=True) if s is not None]
    if not usable:
        return None
    least_w = min(s for _, s in usable)
    return RatingPair(*next((r, s) for r, s in usable if s <= _NEAR * least_w))


def _scaled(setting: Setting, running_w: float) -> Stack:
    """The stack with the limits of a bare source; a start is what is being looked for."""
    supply = SUPPLIES[setting.source.carrier.supply]
    places = len(setting.feed.places)
    leg_a = running_w / (supply.legs * supply.leg_v)
    if setting.source.connection == "cords":
        leg_a = np.inf
    run = np.array([running_w, *([leg_a] * places)])
    return replace(setting.stack, run=run, surge=np.full(run.size, np.inf))


def _kept(stack: Stack, chosen: list[int]) -> list[int]:
    """Must-haves first, then what switches itself, then the smallest: what runs together at
    the 95 % point."""
    order = sorted(
        chosen,
        key=lambda i: (
            not stack.branches[i].medical,
            stack.branches[i].priority != "must",
            stack.branches[i].hand,
            float((stack.counted[i] / stack.run).max()),
        ),
    )
    kept: list[int] = []
    for i in order:
        if not breaks(stack, [*kept, i], 0.95):
            kept.append(i)
    return kept


def _legs_w(setting: Setting, points: NDArray[np.float64]) -> list[float]:
    """Rating that each leg's amps in ``points`` (D,) ask for, as if all legs were like it. [W]

    In cords-only use the outlets are not legs, and only the whole counts.
    """
    if setting.source.connection == "cords":
        return [0.0]
    places = setting.feed.places
    return [len(places) * float(a) * x.volts_v for a, x in zip(points[1:], places, strict=True)]
