"""Properties of checks and plans on random houses, and one day seen by an own simulation."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from loadlib import InputError, Load, Range
from loadlib_standby.case import OutageCase
from loadlib_standby.check import check
from loadlib_standby.choose import bare_source
from loadlib_standby.overload import overloads
from loadlib_standby.restore import RestorePlan, restoration_plan
from loadlib_standby.rotation import turns
from loadlib_standby.setting import Setting, setting_of
from loadlib_standby.swap import one_at_a_time
from loadlib_standby.tests.farmhouse import a_load, profile
from loadlib_standby.verdict import FITS, NOT, breaks

CASE = OutageCase(start=datetime(2027, 1, 14, 18, 0), length_h=24.0, off_h=2.0)


def random_house(seed: int) -> Setting:
    """Three to twelve loads on three to eight circuits, on a source of 3 to 12 kW."""
    rng = np.random.default_rng(seed)
    some = tuple(_random_load(rng, k) for k in range(int(rng.integers(3, 13))))
    running_w = float(rng.uniform(3000, 12000))
    source = bare_source(running_w, running_w * float(rng.uniform(1.0, 1.5)), "120/240")
    return setting_of(replace(profile(extra=some), loads=some), source, CASE)


def _random_load(rng: np.random.Generator, k: int) -> Load:
    running_w = float(np.exp(rng.uniform(3.0, 8.4)))
    thermostatic = bool(rng.random() < 0.5)
    start = None
    if rng.random() < 0.4:
        top = running_w * float(rng.uniform(1.5, 6.0))
        start = Range(top * 0.6, top * 0.8, top)
    return a_load(
        f"load {k}",
        running_w,
        legs="AB" if running_w > 1500 else str(rng.choice(["A", "B"])),
        start_va=start,
        duty=float(rng.uniform(0.0, 1.0)),
        starts=float(rng.uniform(0.0, 3.0)),
        thermostatic=thermostatic,
        time_constant_s=Range(3e3, 1e4, 3e4) if thermostatic else None,
        count=int(rng.integers(1, 4)),
        priority=str(rng.choice(["must", "wanted", "wanted", "off"])),
        medical=bool(rng.random() < 0.1),
        may_be_off_s=float(rng.choice([1800, 7200, 36000])) if rng.random() < 0.5 else None,
        circuit=f"circuit {rng.integers(0, 8)}",
    )


def plan_or_skip(house: Setting) -> RestorePlan:
    """The plan; houses that are refused with a reason are another test's matter."""
    try:
        return restoration_plan(house, limit_s=2.0)
    except InputError:
        assume(False)
        raise


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_a_plan_keeps_its_word(seed: int) -> None:
    house = random_house(seed)
    plan = plan_or_skip(house)
    on = {step.branch for step in plan.steps}
    off = {left.branch for left in plan.left_off}
    assert on | off | set(plan.by_hand) == set(house.branches)
    assert not on & off
    assert not any(branch.priority == "off" for branch in on)
    stack = house.stack
    for step in plan.steps:
        members = [house.branches.index(s.branch) for s in plan.steps[: step.number]]
        middle = np.median(stack.together(members)[0], axis=0)
        assert np.all(middle <= stack.run * (1 + 1e-6))
        # What is still cold draws more than it is counted at, and never over a limit.
        assert step.total_w >= middle[0] * (1 - 1e-6)
        assert np.all(np.array(step.legs_a) >= middle[1:] * (1 - 1e-6))
        assert step.total_w <= stack.run[0] * 1.02
        assert 0.0 <= step.sure <= 1.0
    assert 0.0 <= plan.gap <= 1.0
    assert [s.at_s for s in plan.steps] == sorted(s.at_s for s in plan.steps)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_medical_is_only_left_off_beside_medical(seed: int) -> None:
    """A medical branch is off only if no lesser branch could make room for it."""
    house = random_house(seed)
    plan = plan_or_skip(house)
    lost = [x.branch for x in plan.left_off if x.branch.medical]
    medical_on = [i for i in plan.on if house.branches[i].medical]
    for branch in lost:
        i = house.branches.index(branch)
        stack = house.stack
        typical = stack.typical_background() + stack.counted[[*medical_on, i]].sum(axis=0)
        start = typical + np.quantile(stack.closing_draws[:, i], 0.5, axis=0)
        high = np.quantile(stack.running_draws[:, [*medical_on, i]].sum(axis=1), 0.95, axis=0)
        tight = np.any(high > stack.run * 0.97) or np.any(start > stack.surge * 0.9)
        cold = stack.cold[[*medical_on, i]].sum(axis=0)
        assert tight or np.any(cold > stack.run * 0.9)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_verdict_and_limits_agree(seed: int) -> None:
    house = random_house(seed)
    chosen = house.positions()
    assume(chosen)
    answer = check(house, replicates=50, seed=seed)
    high = breaks(house.stack, chosen, 0.95)
    low = breaks(house.stack, chosen, 0.05)
    assert (answer.verdict.value == FITS) == (not high)
    if answer.verdict.value == NOT:
        assert low
    if answer.verdict.value == "fits only if":
        assert answer.verdict.condition
    for use in answer.limits:
        assert use.running.low <= use.running.high
        assert use.peak.high >= use.running.high - 1e-9
    assert answer.overloads.per_day_least <= answer.overloads.per_day_most + 1e-9


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6))
def test_turns_never_touch_medical_and_name_what_exists(seed: int) -> None:
    house = random_house(seed)
    plan = plan_or_skip(house)
    on = {step.branch for step in plan.steps}
    found = turns(plan, limit_s=1.0)
    assert set(found.off) <= on
    assert not any(branch.medical for branch in found.off)
    assert not {turn.branch for turn in found.turns} & on
    assert set(one_at_a_time(plan)) <= set(house.branches)


def test_expected_overloads_against_an_own_simulation() -> None:
    """Four loads as two-state Markov processes, 60,000 h in steps of 6 s, counted by hand."""
    powers = np.array([3000.0, 2500.0, 1500.0, 800.0])
    duty = np.array([0.2, 0.3, 0.1, 0.5])
    starts = np.array([0.5, 1.0, 0.4, 2.0])
    some = tuple(
        a_load(f"load {k}", powers[k], legs="AB", duty=duty[k], starts=starts[k], spread=1.0)
        for k in range(4)
    )
    house = setting_of(
        replace(profile(extra=some), loads=some), bare_source(5200, 5200, "120/240"), CASE
    )
    expected = overloads(house.feed, house.loads_on(range(4)), CASE).places[0].per_day
    assert _simulated_per_day(powers, duty, starts, 5200.0) == pytest.approx(expected, rel=0.05)


def _simulated_per_day(
    powers: np.ndarray, duty: np.ndarray, starts: np.ndarray, limit_w: float
) -> float:
    """Entries over ``limit_w`` a day, by exponential on and off times, event by event. [W]"""
    rng = np.random.default_rng(11)
    hours = 60_000.0
    times, changes = [], []
    for power, share, rate in zip(powers, duty, starts, strict=True):
        count = int(hours * rate * 1.2) + 200
        on = rng.exponential(share / rate, count)
        off = rng.exponential((1.0 - share) / rate, count)
        begin = np.cumsum(off) + np.concatenate(([0.0], np.cumsum(on)[:-1]))
        times += [begin, begin + on]
        changes += [np.full(count, power), np.full(count, -power)]
    at, step = np.concatenate(times), np.concatenate(changes)
    order = np.argsort(at)
    at, total = at[order], np.cumsum(step[order])
    total = total[at < hours]
    rises = (total[1:] > limit_w) & (total[:-1] <= limit_w)
    return float(rises.sum() / hours * 24.0)
