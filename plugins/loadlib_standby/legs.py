"""Arithmetic of legs: watts, amps, neutral, and what a rating means on each leg.

A load from line to line draws its current on both legs: its power doubles, its current does
not. Breakers, plugs, inlets and services are limits and never loads.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib_standby.engine import InputError, neutral_a, system

__all__ = [
    "CONTINUOUS_SHARE",
    "LegSums",
    "LegUse",
    "after_move_a",
    "apparent_va",
    "capacity_va",
    "continuous_a",
    "current_a",
    "imbalance_share",
    "leg_power_w",
    "leg_sums",
    "leg_use",
    "line_to_line_va",
    "one_leg_to_both_w",
    "order_by_excess",
    "peaks_in_order",
    "power_factor",
    "rating_w",
    "reactive_var",
    "real_w",
    "spread_a",
    "sums",
    "va_of",
    "with_margin_w",
]

CONTINUOUS_SHARE = 0.8
"""A load of three hours or more is held to 80 % of a breaker: NFPA 70 (NEC) 210.20(A), 215.3
(the breaker is to be 125 % of the continuous load)."""


def capacity_va(amps_a: float, volts_v: float, *, legs: int = 1, share: float = 1.0) -> float:
    """What a breaker, cord, inlet or service of ``amps_a`` carries. [VA]

    ``volts_v`` [V] with ``legs=1``: line-to-line volts for a double pole, so 30 A [A] at 240 V
    is 7,200 VA. With ``legs=2`` and leg-to-neutral volts the same number comes out. ``share``
    0.8 gives the figure for continuous load. An upper bound for what is behind it, never an
    estimate of it.

    >>> capacity_va(30, 240), capacity_va(30, 240, share=0.8), capacity_va(50, 120, legs=2)
    (7200.0, 5760.0, 12000.0)
    """
    _positive(amps_a=amps_a, volts_v=volts_v)
    return float(amps_a * volts_v * legs * share)


def continuous_a(breaker_a: float) -> float:
    """Largest continuous load current on a breaker of ``breaker_a`` [A]. [A]"""
    _positive(breaker_a=breaker_a)
    return CONTINUOUS_SHARE * breaker_a


def current_a(power_w: float, volts_v: float, power_factor: float = 1.0, phases: int = 1) -> float:
    """Current of ``power_w`` [W] at ``volts_v`` [V], in each conductor. [A]

    For three phases ``volts_v`` is line to line. Give VA with the power factor left at 1.
    """
    _positive(volts_v=volts_v, power_factor=power_factor)
    return power_w / (volts_v * power_factor * (3.0**0.5 if phases == 3 else 1.0))


def apparent_va(amps_a: float, volts_v: float, phases: int = 1) -> float:
    """Apparent power of ``amps_a`` [A] at ``volts_v`` [V]; not watts. [VA]"""
    _positive(volts_v=volts_v)
    return amps_a * volts_v * (3.0**0.5 if phases == 3 else 1.0)


def line_to_line_va(amps_a: float, legs_v: Sequence[float]) -> float:
    """A 240 V load read with a clamp on one conductor: one current, the sum of leg volts. [VA]

    ``amps_a`` [A] flows in both legs; ``legs_v`` [V] are the leg-to-neutral volts.

    >>> line_to_line_va(20, (120, 120))
    4800.0
    """
    return float(amps_a * sum(legs_v))


def one_leg_to_both_w(one_leg_w: float, legs_v: Sequence[float]) -> float:
    """Watts read on the first leg of a line-to-line load, scaled to both legs. [W]

    ``one_leg_w`` [W]; the power factor is taken as alike on both, ``legs_v`` [V].
    """
    return one_leg_w * sum(legs_v) / legs_v[0]


def power_factor(power_w: float, amps_a: float, volts_v: float) -> float:
    """Real over apparent power, both of the same conductors: ``power_w`` [W], ``amps_a`` [A],
    ``volts_v`` [V]."""
    value = power_w / apparent_va(amps_a, volts_v)
    if value > 1.02:
        raise InputError(
            f"power factor {value:.2f} is above 1",
            hint="Watts and volt-amperes must be of the same conductors.",
        )
    return value


def leg_power_w(running_w: float, legs: int = 2) -> float:
    """What each leg of a source can give: the rating over the number of legs. [W]

    The total stays ``running_w`` [W]; it is not lost, only split.
    """
    _positive(running_w=running_w)
    return running_w / legs


def real_w(apparent_va: float, power_factor: float) -> float:
    """Watts of ``apparent_va`` [VA]; nothing turns VA into W without a power factor. [W]"""
    if not 0.0 < power_factor <= 1.0:
        raise InputError(f"power factor {power_factor:g} is not between 0 and 1")
    return apparent_va * power_factor


def va_of(power_w: float, power_factor: float) -> float:
    """Apparent power of ``power_w`` [W]. [VA]"""
    if not 0.0 < power_factor <= 1.0:
        raise InputError(f"power factor {power_factor:g} is not between 0 and 1")
    return power_w / power_factor


def reactive_var(power_w: float, apparent_va: float) -> float:
    """Reactive power from ``power_w`` [W] and ``apparent_va`` [VA]. [var]"""
    if apparent_va < power_w:
        raise InputError(f"apparent power {apparent_va:g} VA is below {power_w:g} W")
    root: float = (apparent_va**2 - power_w**2) ** 0.5
    return root


def imbalance_share(leg_a: float, other_a: float) -> float:
    """Imbalance of two legs, |A − B| over their sum: ``leg_a`` [A], ``other_a`` [A].

    It changes amps per leg and the neutral, not the energy used.
    """
    total_a = leg_a + other_a
    return abs(leg_a - other_a) / total_a if total_a > 0.0 else 0.0


def spread_a(total_a: float, legs: int) -> float:
    """Current per leg when ``total_a`` [A] at leg volts is spread evenly over ``legs``. [A]"""
    if legs < 1:
        raise InputError(f"{legs} legs")
    return total_a / legs


@dataclass(frozen=True, slots=True)
class LegSums:
    """Currents of several loads added up: per leg, in the neutral, and as VA."""

    legs_a: tuple[float, ...]
    neutral_a: float
    neutral_worst_a: float
    total_va: float


def leg_sums(loads: Sequence[tuple[float, str]], supply: str = "120/240") -> LegSums:
    """Add up (amps, legs) pairs leg by leg; ``"AB"`` is a load from line to line.

    A load on two legs puts the same current on both and none on the neutral. The neutral is
    given at equal power factor and, as ``neutral_worst_a``, as the plain sum.

    >>> leg_sums([(9.8, "AB"), (7.6, "B"), (2.2, "A")]).legs_a
    (12.0, 17.4)
    """
    house = system(supply)
    both = dict.fromkeys(house.legs, 0.0)
    single = dict.fromkeys(house.legs, 0.0)
    total_va = 0.0
    for amps_a, text in loads:
        legs = house.legs_of(text)
        total_va += amps_a * house.volts(legs)
        for leg in legs:
            both[leg] += amps_a
        if len(legs) == 1:
            single[legs[0]] += amps_a
    alone = tuple(single.values())
    neutral = neutral_a(house, alone) if len(alone) > 1 else sum(alone)
    amps = tuple(round(value, 9) for value in both.values())
    return LegSums(amps, neutral, sum(alone), total_va)


def after_move_a(
    legs_a: Sequence[float], moved_a: float, from_leg: int, to_leg: int
) -> tuple[float, ...]:
    """Amps per leg after a circuit of ``moved_a`` [A] has changed legs: ``legs_a`` [A]. [A]

    A note for the electrician who moves the breaker; it changes no energy.

    >>> after_move_a((12.0, 17.4), 7.6, 1, 0)
    (19.6, 9.8)
    """
    if moved_a > legs_a[from_leg]:
        raise InputError(f"{moved_a:g} A is more than the leg's {legs_a[from_leg]:g} A")
    found = list(legs_a)
    found[from_leg] -= moved_a
    found[to_leg] += moved_a
    return tuple(round(value, 9) for value in found)


@dataclass(frozen=True, slots=True)
class LegUse:
    """Loads on the legs of a source. Shares are of the leg's and of the whole limit."""

    legs_a: tuple[float, ...]
    neutral_a: float
    leg_limit_w: float
    leg_limit_a: float
    leg_shares: tuple[float, ...]
    total_w: float
    total_share: float

    @property
    def fits(self) -> bool:
        """Every leg and the whole stay within the rating."""
        return max(*self.leg_shares, self.total_share) <= 1.0


def leg_use(running_w: float, legs_w: Sequence[float], supply: str = "120/240") -> LegUse:
    """Per-leg amps, neutral and shares of a source of ``running_w`` [W] under ``legs_w`` [W].

    ``legs_w`` is what hangs on each leg; line-to-neutral loads, power factor 1.
    """
    volts_v = system(supply).leg_v
    if len(legs_w) != len(system(supply).legs):
        raise InputError(f"{len(legs_w)} legs given for a {supply} source")
    limit_w = leg_power_w(running_w, len(legs_w))
    legs_a = tuple(power_w / volts_v for power_w in legs_w)
    return LegUse(
        legs_a=legs_a,
        neutral_a=neutral_a(system(supply), legs_a),
        leg_limit_w=limit_w,
        leg_limit_a=limit_w / volts_v,
        leg_shares=tuple(power_w / limit_w for power_w in legs_w),
        total_w=sum(legs_w),
        total_share=sum(legs_w) / running_w,
    )


def sums(loads: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    """Running total, peak, and the all-at-once case of (running W, start W) pairs. [W]

    Peak is the running total plus the largest step (start less running) on top; the third
    is every start at the same instant. A start is a whole, never a step on top of running; a
    heater has a start equal to its running figure (or 0 for "none").

    >>> sums([(100, 0), (200, 0), (1200, 2900), (750, 0)])
    (2250.0, 3950.0, 3950.0)
    """
    running_w = float(sum(run for run, _ in loads))
    steps = [max(start - run, 0.0) for run, start in loads]
    return running_w, running_w + max(steps, default=0.0), running_w + sum(steps)


def order_by_excess(loads: Sequence[tuple[float, float]]) -> list[int]:
    """Positions of (running W, start W) pairs, largest start less running first.

    With one limit and everything to be on in the end no other order has a lower highest peak.
    """
    return sorted(range(len(loads)), key=lambda k: -max(loads[k][1] - loads[k][0], 0.0))


def peaks_in_order(loads: Sequence[tuple[float, float]]) -> list[float]:
    """Peak at each step when (running W, start W) pairs go on one after another. [W]

    >>> peaks_in_order([(2250, 7000), (870, 3200), (500, 1500), (150, 1000)])
    [7000.0, 5450.0, 4620.0, 4620.0]
    """
    running_w, peaks = 0.0, []
    for run, start in loads:
        peaks.append(running_w + max(run, start))
        running_w += run
    return peaks


def rating_w(load_w: float, share: float) -> float:
    """Rating of which ``load_w`` [W] is the ``share`` that is not to be exceeded. [W]

    >>> rating_w(4800, 0.8)
    6000.0
    """
    if not 0.0 < share <= 1.0:
        raise InputError(f"share {share:g} is not between 0 and 1")
    return load_w / share


def with_margin_w(running_w: float, margin: float) -> float:
    """Continuous rating wanted for ``running_w`` [W] with a margin (0.1 for 10 %). [W]"""
    if margin < 0.0:
        raise InputError(f"margin {margin:g} is negative")
    return running_w * (1.0 + margin)


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0.0:
            raise InputError(f"{name} is {value:g}", hint="Give a number above zero.")
