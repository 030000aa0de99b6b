"""Heats of one machine are put together, and judged as a whole."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loadlib.clamp.patterns import Pattern, Programme, Signature, pattern_of
from loadlib.clamp.programmes import learn_runs, log_odds, runs_of
from loadlib.core.ranges import Range
from tests.clamp.points import points_of, times_on

DISHWASHER = Signature(
    "dishwasher",
    Range(1700, 2050, 2500),
    Range(900, 1600, 2600),
    Range(0.3, 0.7, 1.2),
    programme=Programme(Range(1.5, 2, 3), Range(0.3, 0.5, 0.7)),
)


def pattern() -> Pattern:
    return replace(pattern_of(DISHWASHER), centre=float(np.log(2050.0)))


def others(number: int, per_day: float = 0.1) -> np.ndarray:
    return np.full(number, np.log(per_day))


def test_heats_within_an_hour_are_one_programme() -> None:
    cycles = times_on([(0, 700, 2050.0), (3000, 750, 2040.0), (40_000, 720, 2060.0)])
    runs = runs_of(pattern(), points_of(cycles, 1.0), others(3))
    assert runs.of.tolist() == [0, 0, 1]
    assert runs.number.tolist() == [2, 1]
    assert np.exp(runs.log_total[0]) == pytest.approx(1450.0, rel=0.01)
    assert np.exp(runs.log_idle[0]) == pytest.approx(1.0 - 1450.0 / 3750.0, abs=0.01)


def test_what_overlaps_is_not_the_same_machine() -> None:
    cycles = times_on([(0, 700, 2050.0), (300, 700, 2050.0)])
    assert runs_of(pattern(), points_of(cycles, 1.0), others(2)).number.tolist() == [1, 1]


def test_another_size_is_no_heat_of_it() -> None:
    cycles = times_on([(0, 700, 2050.0), (1500, 400, 1300.0), (3000, 750, 2040.0)])
    assert runs_of(pattern(), points_of(cycles, 1.0), others(3)).heats.tolist() == [0, 2]


def test_no_heat_is_no_programme() -> None:
    runs = runs_of(pattern(), points_of(times_on([(0, 60, 300.0)]), 1.0), others(1))
    assert (runs.heats.size, runs.heads.size) == (0, 0)


def test_the_usual_programme_is_likelier_than_one_heat() -> None:
    two = points_of(times_on([(0, 750, 2050.0), (2700, 800, 2050.0)]), 1.0)
    one = points_of(times_on([(0, 800, 2050.0)]), 1.0)
    both = runs_of(pattern(), two, others(2))
    lone = runs_of(pattern(), one, others(1))
    usual = log_odds(pattern(), two, both, others(2))[0]
    assert usual > 2.0
    assert log_odds(pattern(), one, lone, others(1))[0] < usual - 5.0


def test_an_endless_heat_is_no_heat() -> None:
    points = points_of(times_on([(0, 9000, 2050.0)]), 1.0)
    assert runs_of(pattern(), points, others(1)).heats.size == 0


def test_where_heats_are_common_by_themselves_two_prove_little() -> None:
    points = points_of(times_on([(0, 750, 2050.0), (2700, 800, 2050.0)]), 1.0)
    rare, common = (
        log_odds(pattern(), points, runs_of(pattern(), points, rate), rate)[0]
        for rate in (others(2, 0.1), others(2, 10.0))
    )
    assert rare - common == pytest.approx(2.0 * np.log(100.0))


def test_a_programme_is_learnt() -> None:
    rows = []
    for day in range(30):
        first = 86_400 * day + 50_000
        rows += [(first, 480, 2200.0), (first + 2880, 800, 2190.0)]
    points = points_of(times_on(rows), 30.0)
    known = replace(pattern_of(DISHWASHER), centre=float(np.log(2195.0)))
    runs = runs_of(known, points, others(60))
    learnt = learn_runs(known, points, runs, np.ones(runs.heads.size))
    assert np.exp(learnt.centre) == pytest.approx(2195.0, rel=0.01)
    assert np.exp(learnt.on.centre) == pytest.approx(1280.0, rel=0.05)
    assert np.exp(learnt.pulses.centre) == pytest.approx(2.0, rel=0.05)
    assert np.exp(learnt.idle.centre) == pytest.approx(1.0 - 1280.0 / 3680.0, rel=0.05)
    assert learnt.per_day == pytest.approx(1.0, rel=0.05)
    assert np.argmax(learnt.hours) in (13, 14)
