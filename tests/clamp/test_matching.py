"""Times on are proposed to appliances by size, length, leg and programme; doubt is kept."""

from __future__ import annotations

import numpy as np
import pytest

from loadlib.clamp.cycles import Cycles
from loadlib.clamp.logs import balance, base_load_w, by_hour_w, highest_window_w
from loadlib.clamp.matching import Programme, Signature, assign
from loadlib.core.electrical import system
from loadlib.core.ranges import Range

KETTLE = Signature("kettle", Range(1400, 2000, 2800), Range(120, 180, 300), 4.0)
FRIDGE = Signature("fridge", Range(70, 120, 200), Range(600, 1200, 2400), 25.0)


def times_on(rows: list[tuple[int, int, float]]) -> Cycles:
    """(start, length, watts) of one-second samples."""
    start = np.array([row[0] for row in rows], dtype=np.int64)
    end = start + np.array([row[1] for row in rows], dtype=np.int64)
    size = np.array([row[2] for row in rows], dtype=np.float64)
    return Cycles(start, end, size, size, np.ones(len(rows)))


def proposed(
    cycles: Cycles, signatures: list[Signature], legs: list[str] | None = None
) -> list[str]:
    found = assign(
        cycles,
        1.0,
        np.full(len(cycles), 12),
        legs or [""] * len(cycles),
        10.0,
        signatures,
    )
    names = [one.id for one in signatures]
    return [names[k] if k >= 0 else "" for k in found.who]


def test_size_and_length_tell_a_kettle_from_a_refrigerator() -> None:
    cycles = times_on([(0, 190, 2010.0), (5000, 1100, 118.0), (9000, 7200, 640.0)])
    assert proposed(cycles, [KETTLE, FRIDGE]) == ["kettle", "fridge", ""]


def test_sizes_are_learnt_from_the_log() -> None:
    rows = [(3600 * k, 170, 2600.0 + 5.0 * (k % 3)) for k in range(40)]
    found = assign(times_on(rows), 1.0, np.full(40, 8), [""] * 40, 10.0, [KETTLE])
    assert (found.who == 0).all()
    assert found.signatures[0].size_w.typical == pytest.approx(2600.0, rel=0.05)
    assert found.signatures[0].per_day == pytest.approx(4.0, rel=0.1)


def test_the_same_size_on_another_leg_is_not_it() -> None:
    left = Signature("left", Range(1300, 1500, 1700), Range(100, 200, 400), 2.0, leg="A")
    right = Signature("right", Range(1300, 1500, 1700), Range(100, 200, 400), 2.0, leg="B")
    cycles = times_on([(0, 200, 1500.0), (4000, 200, 1500.0)])
    assert proposed(cycles, [left, right], ["A", "B"]) == ["left", "right"]


def test_two_that_look_alike_leave_a_doubt() -> None:
    """Nothing tells them apart: no chance above one half can be claimed."""
    twins = [Signature(name, Range(1300, 1500, 1700), Range(100, 200, 400), 2.0) for name in "ab"]
    cycles = times_on([(0, 200, 1500.0)])
    found = assign(cycles, 1.0, np.array([12]), [""], 10.0, twins)
    assert found.chance[0] <= 0.5
    assert found.who.tolist() == [-1]


def test_programmes_are_told_by_their_heats() -> None:
    """Two heats with a long pause: a dishwasher; one heat: a washing machine."""
    size = Range(1700, 2050, 2500)
    dishwasher = Signature(
        "dishwasher",
        size,
        Range(900, 1600, 2600),
        0.7,
        programme=Programme(Range(1.5, 2, 3), Range(0.3, 0.5, 0.7)),
    )
    washer = Signature(
        "washer",
        size,
        Range(300, 560, 1000),
        0.6,
        programme=Programme(Range(0.7, 1, 2), Range(0.05, 0.15, 0.4)),
    )
    rows = []
    for day in range(8):
        first = 86_400 * day
        rows += [(first + 70_000, 760, 2040.0), (first + 72_400, 800, 2050.0)]
        rows += [(first + 30_000, 540, 2060.0)]
    names = proposed(times_on(sorted(rows)), [dishwasher, washer])
    assert names == ["washer", "dishwasher", "dishwasher"] * 8


def test_nothing_to_match() -> None:
    assert proposed(times_on([]), [KETTLE]) == []
    assert proposed(times_on([(0, 100, 2000.0)]), []) == [""]


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
