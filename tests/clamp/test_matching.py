"""Times on are proposed to appliances by size, length, leg and programme; doubt is kept."""

from __future__ import annotations

import numpy as np
import pytest

from loadlib.clamp.cycles import Cycles
from loadlib.clamp.logs import balance, base_load_w, by_hour_w, highest_window_w
from loadlib.clamp.matching import Assigned, Programme, Signature, assign
from loadlib.core.electrical import system
from loadlib.core.ranges import Range
from tests.clamp.points import scattered, times_on

KETTLE = Signature("kettle", Range(1400, 2000, 2800), Range(120, 180, 300), Range(1, 4, 8))
FRIDGE = Signature("fridge", Range(70, 120, 200), Range(600, 1200, 2400), Range(10, 25, 60))
DAYS = 30


def matched(
    cycles: Cycles, signatures: list[Signature], legs: list[str] | None = None, step_s: float = 1.0
) -> Assigned:
    hour = (cycles.start * step_s // 3600 % 24).astype(np.int64)
    return assign(cycles, step_s, hour, legs or [""] * len(cycles), float(DAYS), signatures)


def names(found: Assigned, signatures: list[Signature]) -> list[str]:
    return [signatures[k].id if k >= 0 else "" for k in found.who]


def daily(watts: float, on_s: int, hours: tuple[float, ...]) -> list[tuple[int, int, float]]:
    """Every day at these hours, give or take, with the spread of one heater."""
    rng = np.random.default_rng(round(watts))
    return [
        (
            int(86_400 * day + 3600 * hour + rng.integers(-900, 900)),
            int(on_s * np.exp(rng.normal(0.0, 0.2))),
            float(watts * np.exp(rng.normal(0.0, 0.02))),
        )
        for day in range(DAYS)
        for hour in hours
    ]


def test_size_and_length_tell_a_kettle_from_a_refrigerator() -> None:
    rows = daily(2010.0, 190, (7.0, 12.0, 17.0)) + scattered(60, DAYS, 8)
    rows += daily(118.0, 1100, tuple(np.arange(0.5, 23.5, 1.0)))
    cycles = times_on(rows)
    found = matched(cycles, [KETTLE, FRIDGE])
    named = np.array(names(found, [KETTLE, FRIDGE]))
    kettle = (np.abs(cycles.size_w / 2010.0 - 1.0) < 0.08) & (cycles.end - cycles.start < 400)
    fridge = np.abs(cycles.size_w / 118.0 - 1.0) < 0.08
    assert (named[kettle] == "kettle").mean() > 0.95
    assert (named[fridge] == "fridge").mean() > 0.95
    assert (named[~kettle & ~fridge] == "").mean() > 0.9
    assert found.chance[kettle].mean() > 0.7
    assert found.power_w == pytest.approx([2010.0, 118.0], rel=0.01)


def test_energy_is_what_was_expected_of_all() -> None:
    rows = daily(2400.0, 150, (7.0, 17.0))
    found = matched(times_on(rows), [KETTLE])
    real = sum(n * w for _, n, w in rows) / 3600.0
    assert found.energy_wh[0] == pytest.approx(real, rel=0.08)


def test_minutes_hide_the_power_of_a_short_use() -> None:
    """A kettle of 3 kW that boils for 95 s: many of its highest minutes show less."""
    rng = np.random.default_rng(11)
    begin = (86_400 * np.repeat(np.arange(DAYS), 4)) + rng.integers(21_600, 79_200, 4 * DAYS)
    rows = np.sort(begin)
    first = rows // 60
    left = np.minimum(60 * (first + 1) - rows, 95)
    middle = np.minimum(95 - left, 60)
    size = 3000.0 * np.maximum(left, middle) / 60.0
    samples = np.where(left + middle < 95, 3, 2)
    share = 3000.0 * 95.0 / 60.0 / (size * samples)
    cycles = Cycles(first, first + samples, size, size, share)
    signature = Signature("kettle", Range(1900, 2600, 3600), Range(60, 120, 240), Range(1, 4, 8))
    found = matched(cycles, [signature], step_s=60.0)
    assert (size < 2850.0).mean() > 0.3
    assert found.power_w[0] == pytest.approx(3000.0, rel=0.03)
    assert (found.who == 0).mean() > 0.9


def test_the_same_size_on_another_leg_is_not_it() -> None:
    left, right = (
        Signature(leg, Range(1300, 1500, 1700), Range(100, 200, 400), Range(1, 2, 4), leg=leg)
        for leg in "AB"
    )
    rows = sorted(daily(1500.0, 200, (8.0, 19.0)))
    legs = ["A" if row[0] % 86_400 < 43_200 else "B" for row in rows]
    found = matched(times_on(rows), [left, right], legs)
    assert names(found, [left, right]) == legs


def test_two_that_look_alike_leave_a_doubt() -> None:
    """Nothing tells them apart: no chance above one half can be claimed."""
    twins = [
        Signature(name, Range(1300, 1500, 1700), Range(100, 200, 400), Range(1, 2, 4))
        for name in "ab"
    ]
    found = matched(times_on(daily(1500.0, 200, (8.0, 19.0))), twins)
    assert found.chance.max() <= 0.5


def test_programmes_are_told_by_their_heats() -> None:
    """Two heats with a long pause: a dishwasher; one heat: a washing machine."""
    size = Range(1700, 2050, 2500)
    two = Programme(Range(1.5, 2, 3), Range(0.3, 0.5, 0.7))
    one = Programme(Range(0.7, 1, 2), Range(0.05, 0.15, 0.4))
    use = Range(0.3, 0.7, 1.2)
    dishwasher = Signature("dishwasher", size, Range(900, 1600, 2600), use, programme=two)
    washer = Signature("washer", size, Range(300, 560, 1000), use, programme=one)
    rows = []
    for day in range(DAYS):
        first = 86_400 * day
        rows += [(first + 70_000, 760, 2040.0), (first + 72_400, 800, 2050.0)]
        rows += [(first + 30_000, 540, 2060.0)]
    found = matched(times_on(rows), [dishwasher, washer])
    assert names(found, [dishwasher, washer]) == ["washer", "dishwasher", "dishwasher"] * DAYS


def test_two_that_come_on_together_are_two() -> None:
    """In minutes a kettle and a microwave oven that begin together show one size, their sum."""
    oven = Signature("oven", Range(1000, 1300, 1700), Range(60, 120, 300), Range(1, 3, 10))
    alone = daily(2800.0, 180, (9.0, 13.0, 17.0)) + daily(1300.0, 180, (10.0, 15.0, 20.0))
    both = daily(4100.0, 180, (7.0,))
    rows = sorted((at // 60, 3, watts) for at, _, watts in alone + both)
    cycles = times_on(rows)
    found = matched(cycles, [KETTLE, oven], step_s=60.0)
    assert len(found.cycles) == len(cycles) + DAYS
    apart = found.cycles.some(np.flatnonzero(found.who == 1))
    assert len(apart) == 4 * DAYS
    assert np.quantile(apart.size_w, (0.05, 0.95)) == pytest.approx([1300.0, 1300.0], rel=0.06)
    assert found.energy_wh.sum() == pytest.approx(
        float((cycles.size_w * cycles.on_s(60.0)).sum()) / 3600.0, rel=0.05
    )


def test_what_is_on_cannot_come_on() -> None:
    """Two like times on at once: one kettle makes one of them."""
    rows = daily(2000.0, 180, (7.0, 12.0, 17.0))
    cycles = times_on([*rows, *((at + 60, 180, 2000.0) for at, _, _ in rows[::3])])
    found = matched(cycles, [KETTLE])
    mine = found.cycles.some(np.flatnonzero(found.who == 0))
    assert (mine.start[1:] >= mine.end[:-1]).all()
    assert len(mine) < len(cycles)


def test_what_is_listed_and_not_there_is_not_found() -> None:
    found = matched(times_on(scattered(200, DAYS, 9)), [KETTLE, FRIDGE])
    assert found.identity.max() < 0.5


def test_nothing_to_match() -> None:
    assert names(matched(times_on([]), [KETTLE]), [KETTLE]) == []
    assert names(matched(times_on([(0, 100, 2000.0)]), []), []) == [""]


def test_a_log_as_a_whole() -> None:
    power = np.full(3600, 200.0)
    power[1000:1900] = 2200.0
    assert highest_window_w(power, 1, 900) == pytest.approx(2200.0)
    assert highest_window_w(power, 1, 1800) == pytest.approx(1200.0)
    assert np.isnan(highest_window_w(power, 1, 7200))
    power[1200] = np.nan
    assert highest_window_w(power, 1, 900) < 2200.0
    assert base_load_w(power) == 200.0
    hours = by_hour_w(power, np.zeros(3600, dtype=np.int64))
    assert np.isnan(hours[1])


def test_balance_of_two_legs() -> None:
    """|A − B| on a split phase at equal power factor; √(A² + B² − AB) on two legs of a wye."""
    legs = np.array([[18.2, 18.2, np.nan], [9.6, 9.6, 1.0]])
    found = balance(legs, system("120/240"))
    assert found.neutral_a == pytest.approx(8.6)
    assert found.imbalance_share == pytest.approx(8.6 / 27.8)
    wye = balance(np.array([[10.0], [10.0]]), system("120/208"))
    assert wye.neutral_a == pytest.approx(10.0)
