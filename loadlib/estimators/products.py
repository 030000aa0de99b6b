"""Products and quotients of independent beliefs, by the logs of their ends.

For two lognormal beliefs the log-distances from the median to an end add in quadrature; for
the two-piece law of ``Range`` that is a good approximation on each side. A low end of zero
stays zero.
"""

from __future__ import annotations

import math

from loadlib.core.ranges import Range

__all__ = ["divided", "times"]


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
