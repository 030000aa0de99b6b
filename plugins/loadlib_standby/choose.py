"""Choose: the smallest ratings for this house and these wishes, as a curve. No makes.

For each running rating: what has to stay off, the starting rating that the rest then needs
(95 % point of belief), and how often a day the whole wish list would overload that source.
"""

from __future__ import annotations

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

__all__ = ["Choice", "RatingPoint", "bare_source", "choose"]


@dataclass(frozen=True, slots=True)
class RatingPoint:
    """One running rating. ``starting_w`` is what the kept branches need; ``off`` what stays
    off; ``per_day_kept`` and ``per_day_all`` overloads a day of what is kept and of all."""

    running_w: float
    starting_w: float
    off: tuple[str, ...]
    per_day_kept: float
    per_day_all: float
    musts_kept: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """The curve and three readings of it (None where the curve does not reach that far)."""

    points: tuple[RatingPoint, ...]
    most_per_day: float
    all_together: RatingPoint | None
    with_overloads: RatingPoint | None
    musts: RatingPoint | None
    blocked: tuple[str, ...]


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
    if step_w <= 0.0:
        raise InputError(f"step of {step_w:g} W")
    chosen = [i for i in setting.positions(names) if not setting.branches[i].blocked]
    if not chosen:
        raise InputError("nothing to choose for: no circuit that this supply can feed")
    top_w = float(np.quantile(setting.stack.together(chosen)[0][:, 0], 0.95))
    running, _ = setting.stack.together(chosen)
    top_w = max(top_w, *_legs_w(setting, np.quantile(running, 0.95, axis=0)))
    ratings = np.arange(step_w, top_w + 1.5 * step_w, step_w)
    points = tuple(_point(setting, chosen, float(rating)) for rating in ratings)
    blocked = [setting.branches[i].label for i in setting.positions(names)]
    blocked = [b.label for b in setting.branches if b.blocked and b.label in blocked]
    return Choice(
        points=points,
        most_per_day=most_per_day,
        all_together=next((p for p in points if not p.off), None),
        with_overloads=next((p for p in points if p.per_day_all <= most_per_day), None),
        musts=next((p for p in points if p.musts_kept), None),
        blocked=tuple(blocked),
    )


def _point(setting: Setting, chosen: list[int], running_w: float) -> RatingPoint:
    stack = _scaled(setting, running_w)
    kept = _kept(stack, chosen)
    off = [i for i in chosen if i not in kept]
    starting_w = running_w
    if kept:
        _, peak = stack.together(kept)
        high = np.quantile(peak, 0.95, axis=0)
        starting_w = max(running_w, float(high[0]), *_legs_w(setting, high))
    legs = len(setting.feed.places)
    limits: list[tuple[int | None, float, float]] = [(None, running_w, starting_w)]
    limits += [(k, running_w / legs, starting_w / legs) for k in range(legs)] if legs > 1 else []

    def per_day(members: list[int]) -> float:
        return overloads_per_day(setting.loads_on(members), setting.case, limits)

    return RatingPoint(
        running_w=running_w,
        starting_w=starting_w,
        off=tuple(setting.branches[i].label for i in off),
        per_day_kept=per_day(kept),
        per_day_all=per_day(chosen),
        musts_kept=all(setting.branches[i].priority != "must" for i in off),
    )


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
    """Must-haves first, then the smallest: what runs together at the 95 % point."""
    order = sorted(
        chosen,
        key=lambda i: (
            not stack.branches[i].medical,
            stack.branches[i].priority != "must",
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
