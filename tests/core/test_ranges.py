"""The law of a Range against the log-normal law, scipy and plain sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from loadlib.core.ranges import Z95, Range
from loadlib.errors import InputError

points = st.lists(st.just(0.0) | st.floats(1e-3, 1e6), min_size=3, max_size=3).map(
    lambda v: Range(*sorted(v))
)


def test_the_points_are_the_5_50_and_95_percent_points() -> None:
    belief = Range(90, 120, 200)
    assert belief.quantile(np.array([0.05, 0.5, 0.95])) == pytest.approx([90, 120, 200])
    assert stats.norm.ppf(0.95) == pytest.approx(Z95, abs=1e-15)


@pytest.mark.parametrize("sigma", [0.1, 0.5, 1.0])
def test_a_symmetric_range_is_a_log_normal_law(sigma: float) -> None:
    """Moments of the log-normal law, by scipy: an implementation of its own."""
    belief = Range.around(100.0, math.exp(Z95 * sigma))
    mean, variance, third = belief.moments()
    law = stats.lognorm(s=sigma, scale=100.0)
    m, v, skew = law.stats("mvs")
    assert mean == pytest.approx(float(m), rel=1e-9)
    assert variance == pytest.approx(float(v), rel=1e-9)
    assert third == pytest.approx(float(skew) * float(v) ** 1.5, rel=1e-6)


def test_a_lopsided_range_agrees_with_a_million_draws() -> None:
    for belief in (Range(50, 100, 400), Range(0, 100, 400), Range(0, 0, 30), Range(-20, 5, 9)):
        draws = belief.sample(np.random.default_rng(7), 1_000_000)
        assert belief.mean == pytest.approx(draws.mean(), rel=0.01)
        assert belief.moments()[1] == pytest.approx(draws.var(), rel=0.03)
        assert np.quantile(draws, (0.05, 0.5, 0.95)) == pytest.approx(
            [belief.low, belief.typical, belief.high], rel=0.01, abs=0.1
        )


@pytest.mark.parametrize(
    "parts",
    [
        [Range(90, 120, 180), Range(900, 1000, 1100)],
        [Range(90, 120, 180), Range(900, 1000, 1100), Range.exact(50)],
        [Range(0, 100, 400)] * 8,
    ],
)
def test_a_total_agrees_with_a_million_draws_and_never_adds_the_ends(parts: list[Range]) -> None:
    rng = np.random.default_rng(11)
    draws = np.zeros(1_000_000)
    for part in parts:
        draws += part.sample(rng, draws.size)
    total = Range.total(parts)
    expected = np.quantile(draws, (0.05, 0.5, 0.95))
    assert [total.low, total.typical, total.high] == pytest.approx(expected, rel=0.03)
    assert total.high < sum(part.high for part in parts)
    assert total.low > sum(part.low for part in parts)


def test_a_total_of_whole_numbers_and_of_nothing() -> None:
    assert Range.total([]) == Range.exact(0)
    assert Range.total([Range.exact(2), Range.exact(3)]) == Range.exact(5)
    assert Range.total([Range.exact(2), Range(1, 2, 3)]) == Range(3, 4, 5)


@settings(max_examples=50, deadline=None)
@given(st.lists(points, max_size=4), st.randoms(use_true_random=False))
def test_the_order_of_the_parts_does_not_matter(parts: list[Range], random: object) -> None:
    mixed = list(parts)
    random.shuffle(mixed)  # type: ignore[attr-defined]  # hypothesis hands in a random.Random
    assert Range.total(mixed) == Range.total(parts)


@settings(max_examples=100, deadline=None)
@given(points)
def test_a_law_rises_and_stays_positive(belief: Range) -> None:
    values = belief.at(np.linspace(-4, 4, 81))
    assert (np.diff(values) >= -1e-9 * max(belief.high, 1.0)).all()
    assert values.min() >= 0.0


def test_scaled_shifted_clipped() -> None:
    assert Range(1, 2, 4).scaled(-1) == Range(-4, -2, -1)
    assert Range(1, 2, 4).shifted(-1) == Range(0, 1, 3)
    assert Range(1, 2, 4).clipped(1.5, 3) == Range(1.5, 2, 3)
    assert Range.around(-10, 2) == Range(-20, -10, -5)
    assert (Range(2, 3, 8).factor, Range(0, 3, 8).factor, Range.exact(0).factor) == (4, math.inf, 1)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [((3, 2, 1), "upside down"), ((1, math.nan, 2), "typical is nan"), ((1, 2, math.inf), "inf")],
)
def test_what_is_no_range(numbers: tuple[float, float, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        Range(*numbers)
    with pytest.raises(InputError, match="below 1"):
        Range.around(5, 0.5)
    with pytest.raises(InputError, match="no draws"):
        Range.of_samples(np.array([]))
