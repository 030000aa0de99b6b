"""Energy of the loads as a belief, by month and hour, and over a period of real time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.core.draws import stratified
from loadlib.core.load import Load
from loadlib.core.ranges import Range

__all__ = ["DAYS_IN_MONTH", "hours_of_period", "mean_draws_w", "month_energy_wh"]

Array = NDArray[np.float64]

DAYS_IN_MONTH = np.array([31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0])
"""Days of the months of a common year."""

DRAWS = 401
"""Draws of the belief about energy; the 5 and 95 % points of the total move by less than 3 %
of its band between seeds, since every load's draws are stratified."""


def mean_draws_w(loads: Sequence[Load], seed: int) -> Array:
    """Mean demand in each month-hour under ``DRAWS`` draws of the beliefs, shape (DRAWS, 288).

    Running power, the factor on duty and standby are drawn independently of each other and
    of other loads'; units counted together share one draw. [W]
    """
    rng = np.random.default_rng(seed)
    total = np.zeros((DRAWS, 288))
    for load in loads:
        running, factor, standby = (
            stratified(belief, DRAWS, rng)[:, None]
            for belief in (load.running_w, load.duty_belief, load.standby_w)
        )
        on = np.minimum(factor * load.duty_array().ravel(), 1.0)
        total += load.count * (on * np.maximum(running - standby, 0.0) + standby)
    return total


def month_energy_wh(draws_w: Array) -> tuple[tuple[Range, ...], Range]:
    """Energy of each month of a common year and of the year, from ``mean_draws_w``. [Wh]"""
    by_month = draws_w.reshape(len(draws_w), 12, 24).sum(axis=2) * DAYS_IN_MONTH
    months = tuple(Range.of_samples(by_month[:, month]) for month in range(12))
    return months, Range.of_samples(by_month.sum(axis=1))


def hours_of_period(start_s: int, end_s: int, timezone: str) -> Array:
    """Hours of a period in each local month and clock hour, shape (288,). [h]

    Without a zone the clock of UTC is taken. Parts of an hour count as parts.
    """
    zone: tzinfo = ZoneInfo(timezone) if timezone else UTC
    hours = np.zeros(288)
    now = datetime.fromtimestamp(start_s, UTC)
    end = datetime.fromtimestamp(end_s, UTC)
    while now < end:
        after = min(now.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1), end)
        local = now.astimezone(zone)
        hours[(local.month - 1) * 24 + local.hour] += (after - now).total_seconds() / 3600.0
        now = after
    return hours
