"""The model's arithmetic: grid of points, spread held and widened outside the range."""

from __future__ import annotations

import numpy as np
import pytest

from loadlib.peak.features import Level
from loadlib.peak.model import Fitted, Points, stack, terms

LEVEL = Level("toy", "a toy", ("size", "size*size"), ("size",), ("size",), 2.0, ("size",))
GRID = np.array([[[-1.0, 0.0, 1.0], [-2.0, 0.0, 2.0]], [[-3.0, 0.0, 3.0], [-4.0, 0.0, 4.0]]])


def toy() -> Fitted:
    return Fitted(
        LEVEL,
        np.array([1.0, 0.5, 0.25]),
        np.array([0.0, 1.0]),
        np.array([np.log(2.0), 1.0]),
        {"size": (-1.2, -1.0, 1.0, 1.2)},
        Points((30.0,), (0.0,), np.array([[[-1.0, 0.0, 1.0]]])),
    )


def at(value: float) -> np.ndarray:
    rows = stack([{"size": value}])
    return toy().predict(rows, np.array([30.0]), np.array([0.0]))[0]


def test_terms_are_products() -> None:
    found = terms(("a", "a*b"), {"a": np.array([2.0, 3.0]), "b": np.array([5.0, 7.0])})
    assert found.tolist() == [[1.0, 2.0, 10.0], [1.0, 3.0, 21.0]]


def test_points_join_in_the_logarithm_of_the_lengths() -> None:
    points = Points((30.0, 120.0), (7.0, 28.0), GRID)
    found = points.at(np.array([30.0, 60.0, 1.0, 900.0]), np.array([7.0, 14.0, 1.0, 900.0]))
    assert found[:, 2] == pytest.approx([1.0, 2.5, 1.0, 4.0])


def test_inside_the_range() -> None:
    low, middle, high = at(0.5)
    assert middle == pytest.approx(1.0 + 0.25 + 0.0625)
    assert middle - low == pytest.approx(np.exp(0.5))
    assert high - middle == pytest.approx(2.0 * np.exp(0.5))


def test_outside_the_range_the_spread_is_that_of_the_edge_and_then_widened() -> None:
    assert at(1.1)[2] - at(1.1)[1] == pytest.approx(2.0 * np.exp(1.0))
    assert at(-1.1)[1] - at(-1.1)[0] == pytest.approx(np.exp(-1.0))
    # half-way up the ramp, and beyond it
    assert at(1.25)[2] - at(1.25)[1] == pytest.approx(1.5 * 2.0 * np.exp(1.0))
    assert at(5.0)[2] - at(5.0)[1] == pytest.approx(2.0 * 2.0 * np.exp(1.0))
    assert at(-5.0)[1] - at(-5.0)[0] == pytest.approx(2.0 * np.exp(-1.0))


def test_what_tells_absence_is_held_near_the_range() -> None:
    level = Level("toy", "a toy", ("least",), (), (), 1.0, ())
    grid = Points((30.0,), (0.0,), np.zeros((1, 1, 3)))
    edges = {"least": (-1.0, -0.9, -0.1, 0.0)}
    one = Fitted(level, np.array([0.0, -0.5]), np.zeros(1), np.zeros(1), edges, grid)
    line = one.line(stack([{"least": v} for v in (-1.5, -1.0 - np.log(2.0), -5.0)]))
    assert line[0] == pytest.approx(0.75)
    assert line[1] == line[2]
