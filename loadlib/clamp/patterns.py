"""What the times on of one appliance look like, as known beforehand and as learnt from a log.

Two spreads are kept apart: how far appliances of a kind differ from one another (the range of
the catalog), and how far one appliance differs from itself from day to day, which is far less:
a heater draws the same within a few per cent of the voltage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.cycles import Cycles
from loadlib.clamp.laws import Law, law_of, learnt, log_density, log_peak_density, quantiles
from loadlib.core.ranges import Range

__all__ = ["Pattern", "Points", "Programme", "Signature", "learn", "pattern_of", "rate_density"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

LEAST_ON_SPREAD = 0.3
_OWN_ON_SPREAD = 0.2
_OWN_SPREAD, _LEAST_SPREAD, _MOST_SPREAD = 0.05, 0.02, 0.12
"""Spread of one appliance's power about its own middle: 3 to 5 % for the heaters of REFIT
house 20 (first half of the log); ends judged."""
_OWN_WEIGHT = 4.0
_ENOUGH = 3.0
_LEAST_USE = 0.05
_LEAST_POWER_W, _LEAST_ON_S = 1.0, 0.1
_ELSEWHERE = 1e-3
"""What is left of a rate on a leg where the appliance does not lie: a leg may be misread."""


@dataclass(frozen=True, slots=True)
class Programme:
    """How a programme heats: how often, and the share of idle time between first and last.

    ``near_s`` is the longest pause between two heats. [s]
    """

    pulses: Range
    idle_share: Range
    near_s: float = 3600.0


@dataclass(frozen=True, slots=True)
class Signature:
    """What is expected of an appliance's times on.

    ``size_w`` what comes on, ``on_s`` its length (of all times on of a ``programme``),
    ``per_day`` how many, ``by_hour`` relative use by clock hour (24, mean 1), ``leg`` the leg
    it must lie on ("" for any, "AB" for both), ``count`` how many there are of it.
    """

    id: str
    size_w: Range
    on_s: Range
    per_day: Range
    by_hour: tuple[float, ...] = (1.0,) * 24
    leg: str = ""
    programme: Programme | None = None
    count: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Times on as they are matched, n of them in the order of their starts, shape (n,) each."""

    log_size: Array
    log_energy: Array
    start_s: Array
    end_s: Array
    hour: Indices
    leg: NDArray[np.str_]
    step_s: float
    days: float

    @classmethod
    def of(
        cls, cycles: Cycles, step_s: float, hour: Indices, leg: NDArray[np.str_], days: float
    ) -> Points:
        """Points of the times on of a log of so many days."""
        log_size = np.log(np.maximum(cycles.size_w, _LEAST_POWER_W))
        log_on = np.log(np.maximum(cycles.on_s(step_s), _LEAST_ON_S))
        start_s, end_s = (np.float64(step_s) * at for at in (cycles.start, cycles.end))
        return cls(log_size, log_size + log_on, start_s, end_s, hour, leg, step_s, days)

    def __len__(self) -> int:
        return int(self.log_size.size)

    @property
    def log_on(self) -> Array:
        """Logarithm of the length at the size seen, shape (n,)."""
        return self.log_energy - self.log_size

    def some(self, which: Indices) -> Points:
        """Some of them."""
        return Points(
            self.log_size[which],
            self.log_energy[which],
            self.start_s[which],
            self.end_s[which],
            self.hour[which],
            self.leg[which],
            self.step_s,
            self.days,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """One appliance as it is taken to be.

    ``centre`` and ``spread`` of the logarithm of its power, ``on`` law of the logarithm of
    the length, ``hours`` (24,) relative use, mean 1; of a programme also ``piece`` (length of
    one heat), ``pulses`` (how many) and ``idle`` (share of pauses).
    """

    first: Signature
    centre: float
    spread: float
    on: Law
    per_day: float
    hours: Array
    leg: str
    piece: Law
    pulses: Law
    idle: Law


_ONE = Range(1.0, 1.0, 1.0)
_LAW_SPREAD = 0.2


def pattern_of(one: Signature) -> Pattern:
    """What is known before anything was learnt."""
    hours = np.maximum(np.array(one.by_hour), _LEAST_USE)
    on = law_of(one.on_s, LEAST_ON_SPREAD)
    asked = one.programme or Programme(_ONE, _ONE)
    pulses = law_of(asked.pulses, _LAW_SPREAD)
    return Pattern(
        one,
        law_of(one.size_w, _LEAST_SPREAD).centre,
        _OWN_SPREAD,
        on,
        one.per_day.typical,
        hours / hours.mean(),
        one.leg,
        _piece(on, pulses) if one.programme else on,
        pulses,
        law_of(asked.idle_share, _LAW_SPREAD),
    )


def _piece(on: Law, pulses: Law) -> Law:
    """Length of one heat: the time on in all over the number of heats."""
    down = math.hypot(on.down, pulses.up, LEAST_ON_SPREAD)
    return Law(on.centre - pulses.centre, down, math.hypot(on.up, pulses.down, LEAST_ON_SPREAD))


def anywhere(one: Signature) -> Pattern:
    """An appliance whose own power is not known better than that of its kind, heat by heat."""
    known = pattern_of(one)
    law = law_of(one.size_w, _LEAST_SPREAD)
    per_day = one.per_day.typical * math.exp(known.pulses.centre)
    return replace(known, spread=law.spread, on=known.piece, per_day=per_day)


def rate_density(one: Pattern, points: Points) -> Array:
    """Rate at which it makes such a time on: per day, log size and log length, shape (n,)."""
    log_on = points.log_energy - one.centre
    total = log_density(log_on, one.on)
    total = total + log_peak_density(
        points.log_size - one.centre, log_on, one.spread, points.step_s
    )
    rate = one.per_day * one.hours[points.hour] * np.exp(total)
    result: Array = np.where(possible(one, points), rate, rate * _ELSEWHERE)
    return result


def possible(one: Pattern, points: Points) -> NDArray[np.bool_]:
    """Whether a time on lies on the leg of the appliance, as far as both are known."""
    same: NDArray[np.bool_] = (points.leg == "") | (one.leg == "") | (points.leg == one.leg)
    return same


def learn(one: Pattern, points: Points, chance: Array) -> Pattern:
    """The pattern drawn towards the times on that are its own by ``chance``, shape (n,)."""
    learning = _with_use(one, points.hour, chance, points.days)
    if chance.sum() < _ENOUGH:
        return learning
    learning = with_power(learning, points, chance)
    prior = law_of(one.first.on_s, LEAST_ON_SPREAD)
    on = learnt(points.log_energy - learning.centre, chance, prior, _OWN_ON_SPREAD)
    return replace(learning, on=on)


def _with_use(one: Pattern, hour: Indices, chance: Array, days: float) -> Pattern:
    """How often and at what hours: what was known counts as one day and one use an hour."""
    per_day = (float(chance.sum()) + one.first.per_day.typical) / (days + 1.0)
    counts = np.bincount(hour, chance, 24)
    smooth = (np.roll(counts, 1) + 2.0 * counts + np.roll(counts, -1)) / 4.0
    known = np.maximum(np.array(one.first.by_hour), _LEAST_USE)
    hours = known / known.mean() + smooth
    return replace(one, per_day=per_day, hours=hours / hours.mean())


def with_power(one: Pattern, points: Points, chance: Array) -> Pattern:
    """Centre and spread of the power, from times on that fill a whole sample."""
    samples = np.exp(points.log_energy - one.centre) / points.step_s
    weight = chance * np.clip(samples - 1.0, 0.0, 1.0)
    number = float(weight.sum())
    if number < 1.0:
        return one
    low, middle, high = quantiles(points.log_size, weight, (0.16, 0.5, 0.84))
    prior = law_of(one.first.size_w, _LEAST_SPREAD)
    doubt = (0.5 * _MOST_SPREAD) ** 2 / number
    keep = doubt / (doubt + prior.spread**2)
    known = _OWN_WEIGHT / (_OWN_WEIGHT + number)
    spread = math.sqrt(known * _OWN_SPREAD**2 + (1.0 - known) * ((high - low) / 2.0) ** 2)
    return replace(
        one,
        centre=keep * prior.centre + (1.0 - keep) * middle,
        spread=min(max(spread, _LEAST_SPREAD), _MOST_SPREAD),
    )
