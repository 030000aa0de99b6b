"""The renewal simulation, against the formulas that hold whatever the laws are."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from loadlib.core.demand import Processes, crossings
from loadlib.core.simulate import Laws, Runs, count_entries, no_overload, simulate, window_means
from loadlib.errors import InputError

Maker = Callable[..., Processes]

LEVEL_W = 6500.0

DAY = np.zeros(24, dtype=np.int64)


def laws(n: int, shape: float) -> Laws:
    return Laws(np.full(n, shape), np.full(n, shape))


def run(loads: Processes, shape: float, days: int, seed: int, hours: int = 24) -> Runs:
    return simulate(
        loads.duty,
        loads.starts_per_h,
        loads.count,
        np.zeros((1, hours), dtype=np.int64),
        np.zeros(days, dtype=np.int64),
        laws(len(loads.names), shape),
        np.random.default_rng(seed),
    )


@pytest.mark.parametrize("shape", [1.0, 4.0, math.inf])
def test_crossing_rate_agrees_with_the_formula_for_any_law(shape: float, eleven: Maker) -> None:
    """1.2710 per hour (see test_demand). Five standard errors of the mean over 1,200 days,
    taken from the spread of the days' own counts, since crossings cluster."""
    found = no_overload(eleven(), DAY, laws(11, shape), LEVEL_W, replicates=1200, seed=11)
    assert found.mean_entries / 24 == pytest.approx(1.2710, abs=5 * found.mean_entries_error / 24)
    assert found.mean_entries_error / 24 < 0.013


def test_surge_entries_agree_with_the_formula(eleven: Maker) -> None:
    loads = eleven(start_multiplier=3.0)
    expected = crossings(loads, LEVEL_W, 9000.0, step_w=10.0).rate_per_h[0]
    found = no_overload(loads, DAY, laws(11, 2.0), LEVEL_W, 9000.0, replicates=1200, seed=5)
    assert found.mean_entries / 24 == pytest.approx(expected, abs=5 * found.mean_entries_error / 24)


def test_one_exponential_load_has_the_known_chance_of_none(made: Maker) -> None:
    """Alternating exponential times: no start in t hours has probability
    (1 − d)·exp(−h t) + d·(h·e^(−m t) − m·e^(−h t))/(h − m)."""
    duty, starts, hours = 0.2, 0.3, 8
    h, m = starts / (1 - duty), starts / duty
    off_all = (1 - duty) * math.exp(-h * hours)
    on_first = duty * (h * math.exp(-m * hours) - m * math.exp(-h * hours)) / (h - m)
    loads = made([(1000, duty, starts, 1)])
    night = np.zeros(hours, dtype=np.int64)
    found = no_overload(loads, night, laws(1, 1.0), 500.0, replicates=20_000, seed=2)
    assert found.share == pytest.approx(off_all + on_first, abs=5 * found.error)


def test_chance_of_none_depends_on_the_law(made: Maker) -> None:
    """Crossings cluster or space out, which the formula for the mean cannot see."""
    loads = made([(1000, 0.5, 0.5, 1)])
    night = np.zeros(2, dtype=np.int64)
    regular = no_overload(loads, night, laws(1, math.inf), 500.0, replicates=4000, seed=3)
    random = no_overload(loads, night, laws(1, 1.0), 500.0, replicates=4000, seed=3)
    assert regular.share == pytest.approx(0.0, abs=5 * regular.error)
    assert random.share > 0.2
    assert regular.mean_entries == pytest.approx(random.mean_entries, abs=0.1)


def test_same_seed_same_answer(eleven: Maker) -> None:
    first = no_overload(eleven(), DAY, laws(11, 1.0), LEVEL_W, replicates=50, seed=9)
    assert first == no_overload(eleven(), DAY, laws(11, 1.0), LEVEL_W, replicates=50, seed=9)
    assert first != no_overload(eleven(), DAY, laws(11, 1.0), LEVEL_W, replicates=50, seed=10)


@pytest.mark.parametrize("shape", [1.0, math.inf])
def test_energy_and_equilibrium_are_kept(shape: float, eleven: Maker) -> None:
    loads = eleven()
    runs = run(loads, shape, days=3000, seed=4)
    means = window_means(runs, loads.rise_w[runs.load], 3600)
    by_day = means.mean(axis=1)
    error = by_day.std() / math.sqrt(by_day.size)
    assert by_day.mean() == pytest.approx(2685.0, abs=5 * error)
    for hour in (0, 12, 23):
        error = means[:, hour].std() / math.sqrt(by_day.size)
        assert means[:, hour].mean() == pytest.approx(2685.0, abs=5 * error)


def test_duty_follows_the_hours() -> None:
    """Short times on: the share of each hour on is that of the hour."""
    duty = np.array([[0.05, 0.4]])
    starts = duty / 0.05  # three minutes on
    schedule = np.array([[0] * 6 + [1] * 6])
    runs = simulate(
        duty,
        starts,
        np.array([1]),
        schedule,
        np.zeros(4000, dtype=np.int64),
        laws(1, 1.0),
        np.random.default_rng(8),
    )
    on = window_means(runs, np.ones(runs.load.size), 3600)
    for hour, expected in ((3, 0.05), (9, 0.4)):
        error = on[:, hour].std() / math.sqrt(4000)
        assert on[:, hour].mean() == pytest.approx(expected, abs=5 * error + 0.001)


def test_window_means_are_exact() -> None:
    runs = Runs(
        load=np.array([0, 0]),
        replicate=np.array([0, 1]),
        start_h=np.array([0.125, 1.5]),
        end_h=np.array([0.5, 2.0]),
        fresh=np.array([True, True]),
        replicates=2,
        hours=2,
    )
    means = window_means(runs, np.array([800.0, 600.0]), 900)
    assert means[0].tolist() == pytest.approx([400.0, 800.0, 0, 0, 0, 0, 0, 0], abs=1e-9)
    assert means[1].tolist() == pytest.approx([0, 0, 0, 0, 0, 0, 600.0, 600.0], abs=1e-9)


def test_entries_are_counted_by_hand(made: Maker) -> None:
    """A at 0–10, B at 1–2 and 3–4, limit 150: B enters twice; C's surge at 5 enters once."""
    loads = made([(100, 0.1, 1, 1), (100, 0.1, 1, 1), (20, 0.1, 1, 1)], start_multiplier=4.0)
    runs = Runs(
        load=np.array([0, 1, 1, 2]),
        replicate=np.zeros(4, dtype=np.int64),
        start_h=np.array([0.0, 1.0, 3.0, 5.0]),
        end_h=np.array([10.0, 2.0, 4.0, 6.0]),
        fresh=np.array([False, True, True, True]),
        replicates=2,
        hours=10,
    )
    assert count_entries(runs, loads, 150.0).tolist() == [2, 0]
    assert count_entries(runs, loads, 150.0, 170.0).tolist() == [3, 0]


def test_loads_that_never_start_and_no_loads(made: Maker) -> None:
    idle = made([(100, 0.0, 0.0, 1)])
    assert no_overload(idle, DAY, laws(1, 1.0), 50.0, replicates=10).share == 1.0
    none = made([])
    assert no_overload(none, DAY, laws(0, 1.0), 50.0, replicates=10).share == 1.0


def test_a_load_that_is_on_all_the_hour_stays_on(made: Maker) -> None:
    loads = made([(100, 1.0, 1.0, 1)])
    runs = run(loads, 1.0, days=50, seed=1)
    assert window_means(runs, loads.rise_w[runs.load], 3600).min() > 99.0


@pytest.mark.parametrize("step_s", [0, -60, 7, 7200])
def test_windows_must_divide_an_hour(step_s: int, eleven: Maker) -> None:
    runs = run(eleven(), 1.0, days=1, seed=1)
    with pytest.raises(InputError, match="does not divide an hour"):
        window_means(runs, np.zeros(runs.load.size), step_s)
