"""Base load: what a house draws when everybody sleeps, from its interval data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from loadlib.peak.measured import run_means
from loadlib.peak.periods import Interval

__all__ = ["NightBase", "night_base"]

NIGHT_H = 6
"""The night is from midnight to six by the house's clock; common practice, no source."""
LEAST_NIGHTS = 3


@dataclass(frozen=True, slots=True)
class NightBase:
    """The lowest hour of each night: 5, 50 and 95 % points over the nights. [W]

    The points are a spread over nights, not a doubt: the low one is nearest to what never
    stops, the others hold some heating, cooling or a charger as well.
    """

    low_w: float
    typical_w: float
    high_w: float
    nights: int


def night_base(interval: Interval) -> NightBase | None:
    """Standby and what runs all night; None with fewer than three complete nights.

    A lowest *hour* rather than the lowest reading, so that a refrigerator's pauses do not pass
    as its absence.
    """
    count, left = divmod(3600, interval.step_s)
    if left:
        return None
    lowest = []
    for day in interval.days():
        low, _ = interval.cut(day, day + timedelta(days=1))
        night = interval.kwh[low : low + NIGHT_H * count]
        if night.size == NIGHT_H * count and np.isfinite(night).all():
            lowest.append(float(run_means(night, count, 1.0).min()))
    if len(lowest) < LEAST_NIGHTS:
        return None
    low_kw, typical_kw, high_kw = np.quantile(lowest, (0.05, 0.5, 0.95))
    return NightBase(
        1000.0 * float(low_kw), 1000.0 * float(typical_kw), 1000.0 * float(high_kw), len(lowest)
    )
