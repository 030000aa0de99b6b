"""Laws of logarithms, and what the highest sample of a short time on shows of its power."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loadlib.clamp.laws import (
    Law,
    law_of,
    learnt,
    log_density,
    log_peak_density,
    quantiles,
)
from loadlib.core.ranges import Range


def test_a_range_becomes_a_law() -> None:
    """Its 5 and 95 % points lie 1.645 spreads below and above the centre."""
    law = law_of(Range(80.0, 120.0, 240.0), 0.0)
    ends = np.exp([law.centre - 1.6449 * law.down, law.centre, law.centre + 1.6449 * law.up])
    assert ends == pytest.approx([80.0, 120.0, 240.0], rel=1e-3)
    assert law_of(Range.exact(100.0), 0.05) == (math.log(100.0), 0.05, 0.05)


def test_a_lopsided_law_is_a_law() -> None:
    x = np.linspace(-8.0, 8.0, 20_001)
    density = np.exp(log_density(x, Law(0.5, 0.2, 0.9)))
    assert density.sum() * (x[1] - x[0]) == pytest.approx(1.0, abs=1e-6)
    assert x[np.argmax(density)] == pytest.approx(0.5, abs=1e-3)


def test_weighted_quantiles() -> None:
    x, weight = np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 2.0])
    assert quantiles(x, weight, (0.2, 0.5, 0.9)) == [1.0, 2.0, 3.0]


def test_learning_moves_the_centre_and_never_widens() -> None:
    rng = np.random.default_rng(5)
    seen = rng.normal(5.0, 0.1, 400)
    law = learnt(seen, np.ones(400), Law(4.5, 0.6, 0.6), 0.05)
    assert law.centre == pytest.approx(5.0, abs=0.03)
    assert 0.08 < law.spread < 0.2
    wide = learnt(rng.normal(5.0, 3.0, 400), np.ones(400), Law(4.5, 0.6, 0.6), 0.05)
    assert wide.spread == 0.6


@pytest.mark.parametrize("on_s", [30.0, 70.0, 95.0, 150.0])
def test_the_highest_minute_of_a_short_time_on(on_s: float) -> None:
    """Against times on laid over minutes at random beginnings."""
    begin = np.random.default_rng(1).uniform(0.0, 60.0, 40_000)[:, None]
    minutes = 60.0 * np.arange(5)
    overlap = np.minimum(begin + on_s, minutes + 60.0) - np.maximum(begin, minutes)
    part = np.log(np.clip(overlap, 0.0, None).max(axis=1) / 60.0)
    part += np.random.default_rng(2).normal(0.0, 0.02, part.size)
    edges = np.linspace(-2.0, 0.2, 23)
    counted = np.histogram(part, edges)[0] / part.size
    fine = np.linspace(-2.0, 0.2, 2201)
    density = np.exp(log_peak_density(fine, np.full(fine.size, math.log(on_s)), 0.02, 60.0))
    expected = density[:-1].reshape(22, 100).sum(axis=1) * (fine[1] - fine[0])
    assert density.sum() * (fine[1] - fine[0]) == pytest.approx(1.0, abs=0.08)
    assert np.abs(np.cumsum(expected) - np.cumsum(counted)).max() < 0.06


def test_in_seconds_the_highest_sample_is_the_power() -> None:
    near, far = log_peak_density(np.array([0.0, -0.5]), np.log([90.0, 90.0]), 0.05, 1.0)
    assert near == pytest.approx(math.log(1.0 / (0.05 * math.sqrt(2.0 * math.pi))))
    assert far < near - 40.0
