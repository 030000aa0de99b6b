"""Laws on a grid, against numpy's own convolution."""

from __future__ import annotations

import numpy as np
import pytest

from loadlib.core.convolve import binomial, convolve, grid_floor, kernel_of, point, split


@pytest.mark.parametrize(("steps", "count"), [(3.0, 1), (3.4, 1), (0.4, 1), (2.5, 3), (0.3, 60)])
def test_agrees_with_numpy_convolve(steps: float, count: int) -> None:
    duty = np.array([0.0, 0.2, 0.7, 1.0])
    kernel = kernel_of(steps, duty, count)
    dense = np.zeros((4, kernel[-1][0] + 1))
    for step, weight in kernel:
        dense[:, step] += weight
    assert dense.sum(axis=1) == pytest.approx(np.ones(4), abs=1e-14)
    assert dense @ np.arange(dense.shape[1]) == pytest.approx(count * steps * duty, abs=1e-9)
    rng = np.random.default_rng(1)
    law = np.zeros((4, 40))
    law[:, :9] = rng.dirichlet(np.ones(9), 4)
    expected = np.array([np.convolve(a, b)[:40] for a, b in zip(law, dense, strict=True)])
    used = convolve(law, 9, kernel)
    assert used == min(9 + kernel[-1][0], 40)
    assert law[:, : expected.shape[1]] == pytest.approx(expected, abs=1e-14)
    assert np.abs(law[:, used:]).max(initial=0.0) == 0.0


def test_what_passes_the_last_column_is_dropped() -> None:
    law = point(1, 2)
    for _ in range(3):
        convolve(law, 3, kernel_of(1.0, np.array([0.5]), 1))
    assert law[0] == pytest.approx([1 / 8, 3 / 8, 3 / 8])


def test_binomial_of_many_is_a_law() -> None:
    law = binomial(5000, np.array([0.0, 0.01, 0.5, 1.0]))
    assert law.sum(axis=1) == pytest.approx(np.ones(4))
    assert law @ np.arange(5001) == pytest.approx([0, 50, 2500, 5000], rel=1e-9, abs=1e-9)
    assert (law[0, 0], law[3, 5000]) == pytest.approx((1.0, 1.0))


def test_rounding_does_not_move_a_grid_point() -> None:
    assert split(0.1 * 3 / 0.1) == (3, 0.0)
    assert split(2.25) == (2, 0.25)
    assert grid_floor(0.3, 0.1) == 3
    assert grid_floor(-0.05, 0.1) == -1
