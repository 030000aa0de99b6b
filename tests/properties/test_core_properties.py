"""What must hold for any loads: probability, energy, order, agreement of two ways."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.demand import Processes, causes, crossings, distribution
from loadlib.core.pickup import catch_up_s
from loadlib.core.simulate import Laws, simulate, window_means

CONDITIONS = 3
few = settings(max_examples=100, deadline=None)


@st.composite
def houses(draw: st.DrawFn) -> Processes:
    """Up to seven kinds of load in three conditions."""
    n = draw(st.integers(0, 7))
    share = st.floats(0.0, 1.0, allow_subnormal=False)
    rows = st.lists(share, min_size=CONDITIONS, max_size=CONDITIONS)
    watts = draw(st.lists(st.floats(0.0, 9000.0), min_size=n, max_size=n))
    starts = [[2.0 * x for x in draw(rows)] for _ in range(n)]
    surge = draw(st.lists(st.floats(1.0, 8.0), min_size=n, max_size=n))
    return Processes(
        names=tuple(f"load {k}" for k in range(n)),
        base_w=draw(st.floats(0.0, 500.0)),
        rise_w=np.array(watts),
        surge_w=np.array(watts) * np.array(surge),
        duty=np.array([draw(rows) for _ in range(n)]).reshape(n, CONDITIONS),
        starts_per_h=np.array(starts).reshape(n, CONDITIONS),
        count=np.array(draw(st.lists(st.integers(1, 40), min_size=n, max_size=n)), dtype=np.int64),
    )


limits = st.floats(0.0, 30_000.0)


@given(houses(), st.sampled_from([25.0, 50.0, 130.0]))
@few
def test_convolution_keeps_probability_and_energy(house: Processes, step_w: float) -> None:
    law = distribution(house, step_w)
    assert law.share.min() >= 0.0
    assert law.share.sum(axis=1) == pytest.approx(np.ones(CONDITIONS), abs=1e-12)
    assert law.mean_w == pytest.approx(house.mean_w, rel=1e-9, abs=1e-6)


@given(houses())
@few
def test_quantiles_rise_and_enclose(house: Processes) -> None:
    law = distribution(house)
    quantiles = law.quantiles_w((0.05, 0.5, 0.95, 0.99, 1.0))
    assert (np.diff(quantiles, axis=0) >= 0.0).all()
    assert quantiles[0].min() >= house.base_w
    total = house.base_w + float((house.rise_w * house.count).sum())
    assert quantiles[-1].max() <= total + law.step_w * (1 + len(house.names))
    for row, share in zip(quantiles, (0.05, 0.5, 0.95, 0.99, 1.0), strict=True):
        for condition in range(CONDITIONS):
            assert law.above(float(row[condition]))[condition] <= 1.0 - share + 1e-9


@given(houses(), limits)
@few
def test_crossings_are_bounded_by_starts(house: Processes, limit_w: float) -> None:
    found = crossings(house, limit_w)
    starts = (house.starts_per_h * house.count[:, None]).sum(axis=0)
    assert found.rate_per_h.min() >= 0.0
    assert (found.rate_per_h <= starts + 1e-9).all()
    assert found.rate_per_h == pytest.approx(found.by_load_per_h.sum(axis=0))
    assert ((found.above_share >= 0.0) & (found.above_share <= 1.0)).all()
    assert found.above_share == pytest.approx(distribution(house).above(limit_w), abs=1e-9)


@given(houses(), limits, st.floats(0.0, 20_000.0))
@few
def test_a_surge_limit_only_adds_entries(house: Processes, limit_w: float, more_w: float) -> None:
    alone = crossings(house, limit_w).rate_per_h
    both = crossings(house, limit_w, limit_w + more_w).rate_per_h
    assert (both >= alone - 1e-12).all()


@given(houses(), limits)
@few
def test_no_cause_exceeds_the_whole(house: Processes, limit_w: float) -> None:
    total = float(crossings(house, limit_w, step_w=100.0).rate_per_h.mean())
    for cause in causes(house, limit_w, step_w=100.0, most=2):
        # Rates near the rounding of 1.0 differ in their last digits.
        assert 0.0 < cause.share <= 1.0 + 1e-6
        assert cause.rate_per_h <= total * (1.0 + 1e-6)
        assert cause.rising not in cause.others


@given(houses(), st.integers(0, 2**31))
@settings(max_examples=40, deadline=None)
def test_windows_keep_the_energy_of_the_runs(house: Processes, seed: int) -> None:
    runs = simulate(
        house.duty,
        house.starts_per_h,
        np.minimum(house.count, 5),
        np.array([[0, 1, 2, 0, 1, 2]]),
        np.zeros(4, dtype=np.int64),
        Laws.usual(np.zeros(len(house.names), dtype=np.bool_)),
        np.random.default_rng(seed),
    )
    power = house.rise_w[runs.load]
    assert (runs.end_h >= runs.start_h).all()
    energy = np.bincount(runs.replicate, power * (runs.end_h - runs.start_h), 4)
    for step_s in (60, 900, 3600):
        means = window_means(runs, power, step_s)
        assert means.sum(axis=1) * step_s / 3600.0 == pytest.approx(energy, rel=1e-9, abs=1e-5)
    highest = [window_means(runs, power, step_s).max() for step_s in (60, 900, 3600)]
    assert highest[0] >= highest[1] - 1e-6
    assert highest[1] >= highest[2] - 1e-6


@given(
    st.just(0.0) | st.floats(1e-6, 0.99), st.just(0.0) | st.floats(1e-3, 1e6), st.floats(1.0, 1e7)
)
@few
def test_pickup_is_bounded_and_rises_with_the_outage(
    duty: float, off_s: float, tau_s: float
) -> None:
    found = catch_up_s(duty, off_s, tau_s)
    assert 0.0 <= found <= catch_up_s(duty, off_s) * (1.0 + 1e-9)
    assert found <= catch_up_s(duty, off_s + 60.0, tau_s) + 1e-6
