"""What nobody listed: an even rate, and bursts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loadlib.clamp.background import background
from tests.clamp.points import points_of, scattered, times_on


def test_an_even_rate_is_found() -> None:
    """Ten a day over 3.3 × 5 units of log size and log length: 0.61 a day and unit."""
    points = points_of(times_on(scattered(3000, 300, 1)), 300.0)
    rate = background(points, np.ones(len(points)))
    inside = (np.abs(points.log_size - 6.65) < 1.0) & (np.abs(points.log_on - 5.5) < 1.5)
    assert np.median(rate[inside]) == pytest.approx(10.0 / (3.3 * 5.0), rel=0.15)


def test_one_point_does_not_stand_for_itself() -> None:
    alone = points_of(times_on([(50_000, 100, 2000.0)]), 10.0)
    assert background(alone, np.ones(1))[0] < 0.02


def test_what_is_taken_is_not_in_the_background() -> None:
    points = points_of(times_on([(9000 * k, 120, 2000.0) for k in range(200)]), 21.0)
    free, taken = (background(points, np.full(200, share)) for share in (1.0, 0.05))
    assert np.median(taken) < 0.15 * np.median(free)


def test_a_burst_is_expected_where_one_has_begun() -> None:
    """Twenty in a row against as many alike that come one a day."""
    burst = [(10 * 86_400 + 150 * k, 50, 2000.0) for k in range(20)]
    lone = [(k * 86_400 + 40_000, 50, 2000.0) for k in range(30)]
    cycles = times_on(burst + lone)
    rate = background(points_of(cycles, 30.0), np.ones(50))
    inside = (cycles.start >= burst[0][0]) & (cycles.start <= burst[-1][0])
    assert np.median(rate[inside]) > 5.0 * np.median(rate[~inside])
    assert np.isfinite(np.log(rate)).all()
    assert math.isfinite(rate.sum())
