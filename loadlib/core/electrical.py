"""Voltage systems, legs, and the sums of currents on them.

Watts, volt-amperes and power factor are three different things here; nothing turns VA
into W without a power factor.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from loadlib.errors import InputError, NotFound

__all__ = ["SYSTEMS", "System", "bridged_neutral_a", "neutral_a", "open_neutral_v", "system"]


@dataclass(frozen=True, slots=True)
class System:
    """A supply: its legs, line-to-neutral and line-to-line volts, and the angle between legs."""

    name: str
    legs: tuple[str, ...]
    leg_v: float
    line_v: float
    angle_deg: float
    words: str

    def legs_of(self, text: str) -> tuple[str, ...]:
        """Legs named by a text such as ``"A"``, ``"AB"`` or ``"a+b"``.

        Raises InputError for a leg that this system lacks.
        """
        names = tuple(sorted({c for c in text.upper() if c.isalpha()}))
        wrong = [name for name in names if name not in self.legs]
        if wrong or not names:
            raise InputError(
                f"leg {text!r} is not in a {self.name} system",
                hint=f"It has: {', '.join(self.legs)}.",
            )
        return names

    def volts(self, legs: Sequence[str]) -> float:
        """Volts across a load on ``legs``: leg to neutral for one, line to line for more. [V]"""
        return self.leg_v if len(legs) <= 1 else self.line_v

    def amps(self, apparent_va: float, legs: Sequence[str]) -> float:
        """Current in each of ``legs`` for a load of ``apparent_va`` balanced on them. [A]"""
        if len(legs) <= 2:
            return apparent_va / self.volts(legs)
        return apparent_va / (len(legs) * self.leg_v)


SYSTEMS: dict[str, System] = {
    s.name: s
    for s in (
        System("120/240", ("A", "B"), 120.0, 240.0, 180.0, "split phase, 120/240 V"),
        System("120/208", ("A", "B"), 120.0, 208.0, 120.0, "two legs of a 120/208 V wye"),
        System("230", ("A",), 230.0, 230.0, 0.0, "single phase, 230 V"),
        System("230/400", ("A", "B", "C"), 230.0, 400.0, 120.0, "three-phase, 230/400 V"),
        System("100/200", ("A", "B"), 100.0, 200.0, 180.0, "split phase, 100/200 V"),
    )
}
"""The supplies that a house can have, by name."""


def system(name: str) -> System:
    """The system of that name; NotFound lists those that exist."""
    try:
        return SYSTEMS[name]
    except KeyError:
        raise NotFound("voltage system", name, near=tuple(SYSTEMS)) from None


def neutral_a(supply: System, amps: Sequence[float], *, same_pf: bool = True) -> float:
    """Neutral current of line-to-neutral leg currents ``amps``, one a leg. [A]

    At equal power factor: |A − B| on a split phase, √(A² + B² − AB) on two legs of a wye,
    √(A² + B² + C² − AB − BC − CA) on three phases, A on a single phase. With unlike power
    factors (``same_pf=False``) the upper bound on a split phase, A + B, is given.

    References: phasor sum; the split-phase case in any text on multiwire branch circuits.
    """
    if len(amps) != len(supply.legs):
        raise InputError(
            f"{len(amps)} currents for the {len(supply.legs)} legs of a {supply.name} system"
        )
    if not same_pf:
        return float(sum(abs(a) for a in amps))
    real = sum(a * math.cos(math.radians(k * supply.angle_deg)) for k, a in enumerate(amps))
    imag = sum(a * math.sin(math.radians(k * supply.angle_deg)) for k, a in enumerate(amps))
    return math.hypot(real, imag)


def bridged_neutral_a(amps: Sequence[float]) -> float:
    """Neutral current when one 120 V source is bridged to both halves of a panel. [A]

    The legs are then in phase and their currents add in every shared neutral: a danger.
    """
    return float(sum(amps))


def open_neutral_v(line_v: float, ohms_a: float, ohms_b: float) -> tuple[float, float]:
    """Volts across the loads of leg A and B when their common neutral is lost. [V]

    The two loads are then in series across the line: the lighter load gets the higher
    voltage. That is a fault, not a load question.
    """
    if ohms_a <= 0.0 or ohms_b <= 0.0:
        raise InputError("open neutral: resistances must be positive")
    across_a = line_v * ohms_a / (ohms_a + ohms_b)
    return across_a, line_v - across_a
