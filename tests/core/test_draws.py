"""Beliefs by draws of the loads."""

from __future__ import annotations

import numpy as np
import pytest

from loadlib.core.demand import crossings, processes
from loadlib.core.draws import drawn_loads, entries_belief, no_overload_belief, stratified
from loadlib.core.load import Load, flat
from loadlib.core.ranges import Range

NIGHT = list(range(8))


def load(key: str, running: Range, factor: Range, duty: float = 0.2) -> Load:
    return Load(
        id=key,
        name=key,
        category="",
        kind="motor",
        leg_share=(1.0, 0.0),
        line_to_line=False,
        running_w=running,
        power_factor=Range.exact(1.0),
        start_va=running.scaled(3.0),
        start_s=Range.exact(0.5),
        standby_w=Range.exact(0.0),
        duty=flat(duty),
        duty_belief=factor,
        starts_per_h=flat(1.0),
    )


def test_stratified_draws_hit_the_points() -> None:
    drawn = stratified(Range(50, 100, 300), 1000, np.random.default_rng(1))
    assert np.quantile(drawn, (0.05, 0.5, 0.95)) == pytest.approx([50, 100, 300], rel=0.01)


def test_drawn_loads_are_exact_and_keep_the_time_on() -> None:
    loads = [load("a", Range(800, 1000, 1300), Range(0.5, 1, 8))]
    seen = [one for (one,) in drawn_loads(loads, 50, 3)]
    assert all(one.running_w.is_exact and one.duty_belief.is_exact for one in seen)
    assert len({one.running_w.typical for one in seen}) == 50
    for one in seen:
        assert one.duty[0][0] <= 1.0
        assert one.duty[0][0] / one.starts_per_h[0][0] == pytest.approx(0.2)
        assert one.start_va is not None
        assert one.start_va.typical >= one.running_va.typical


def test_exact_loads_give_an_exact_belief() -> None:
    loads = [load(k, Range.exact(1000), Range.exact(1.0)) for k in "ab"]
    found = entries_belief(loads, NIGHT, 1500.0, draws=5)
    assert found.is_exact
    expected = crossings(processes(loads, apparent=True).at(NIGHT), 1500.0).rate_per_h.sum()
    assert found.typical == pytest.approx(expected)


def test_doubt_about_duty_widens_the_rate() -> None:
    loads = [load(k, Range.exact(1000), Range(0.5, 1.0, 2.0)) for k in "ab"]
    found = entries_belief(loads, NIGHT, 1500.0, draws=100)
    # Rate is 2 λ d: both factors together spread by exp(√2 σ) around 2 · 1 · 0.2 · 8.
    assert found.typical == pytest.approx(3.2, rel=0.05)
    assert found.high / found.typical == pytest.approx(2 ** (2**0.5), rel=0.15)


def test_chance_of_no_overload_as_a_belief() -> None:
    loads = [load(k, Range.exact(1000), Range(0.5, 1.0, 2.0), duty=0.02) for k in "ab"]
    found = no_overload_belief(loads, NIGHT, 1500.0, draws=12, replicates=200)
    assert 0.0 < found.low < found.high <= 1.0
    assert no_overload_belief(loads, NIGHT, 5000.0, draws=3, replicates=20) == Range.exact(1.0)


def test_a_leg_without_loads_is_never_over() -> None:
    loads = [load("a", Range.exact(1000), Range.exact(1.0))]
    assert entries_belief(loads, NIGHT, 500.0, leg=1, draws=3) == Range.exact(0.0)
