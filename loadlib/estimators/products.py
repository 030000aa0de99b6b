"""Products and quotients of independent beliefs, by the logs of their ends.

For two lognormal beliefs the log-distances from the median to an end add in quadrature; for
the two-piece law of ``Range`` that is a good approximation on each side. A low end of zero
stays zero.
"""

from __future__ import annotations

import math

from loadlib.core.ranges import Range

__all__ = ["agreed", "divided", "times"]


def times(a: Range, b: Range) -> Range:
    """Belief about the product of two independent numbers that are not negative."""
    typical = a.typical * b.typical
    if typical <= 0.0:
        return Range(0.0, typical, max(a.high * b.high, typical))
    up = math.hypot(math.log(a.high / a.typical), math.log(b.high / b.typical))
    if a.low <= 0.0 or b.low <= 0.0:
        return Range(0.0, typical, typical * math.exp(up))
    down = math.hypot(math.log(a.typical / a.low), math.log(b.typical / b.low))
    return Range(typical * math.exp(-down), typical, typical * math.exp(up))


def divided(a: Range, b: Range) -> Range:
    """Belief about the quotient of two independent numbers; ``b`` must be positive."""
    return times(a, Range(1.0 / b.high, 1.0 / b.typical, 1.0 / b.low))


def agreed(a: Range, b: Range) -> Range | None:
    """One belief from two about the same number that are not independent of each other.

    The median is the mean of both in logs, weighted by precision; the band is as wide as the
    narrower one, no narrower, since two readings of one kind of knowledge do not confirm each
    other. None where they are further apart than their bands together allow, or reach zero.
    """
    if min(a.low, b.low) <= 0.0:
        return None
    width_a, width_b = (max(math.log(x.high / x.low), 1e-3) for x in (a, b))
    apart = abs(math.log(a.typical / b.typical))
    if apart > 0.5 * math.hypot(width_a, width_b):
        return None
    weight = width_b**2 / (width_a**2 + width_b**2)
    typical = a.typical**weight * b.typical ** (1.0 - weight)
    narrow = a if width_a <= width_b else b
    return narrow.scaled(typical / narrow.typical)
