"""Gaps of a grid, counted over stretches, and how their length is written."""

from __future__ import annotations

import numpy as np
import pytest

from loadlib.readers.gaps import Gaps


def gap_of(slots: int, step_s: int) -> str:
    """The remark about one gap of so many slots, after one that is there."""
    gaps = Gaps(0, step_s)
    gaps.take(0, np.array([1.0, *[np.nan] * slots, 1.0]))
    (note,) = gaps.notes(lambda moment_s: f"second {moment_s}")
    return note


@pytest.mark.parametrize(
    ("slots", "step_s", "words"),
    [
        (1, 5, "5 s from second 5"),
        (59, 1, "59 s from second 1"),
        (2, 60, "2 min from second 60"),
        (20, 60, "20 min from second 60"),
        (30, 5, "2.5 min from second 5"),
        (1, 3600, "1 h from second 3600"),
        (3, 3600, "3 h from second 3600"),
        (9, 900, "2.25 h from second 900"),
        (10_000, 3600, "10,000 h from second 3600"),
    ],
)
def test_a_gap_is_as_long_as_a_person_would_say(slots: int, step_s: int, words: str) -> None:
    assert gap_of(slots, step_s).endswith(f"longest: {words}")


def test_a_gap_over_two_stretches_is_one() -> None:
    gaps = Gaps(0, 60)
    gaps.take(0, np.array([1.0, np.nan]))
    gaps.take(120, np.array([np.nan, 1.0, np.nan, 1.0]))
    (note,) = gaps.notes(str)
    assert note == (
        "3 of 6 slots missing in 2 gaps, not filled; longest: 2 min from 60; 1 min from 240"
    )


def test_no_gap_no_remark() -> None:
    gaps = Gaps(0, 60)
    gaps.take(0, np.ones(5))
    assert gaps.notes(str) == []
