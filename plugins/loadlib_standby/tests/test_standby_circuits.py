"""What one breaker carries, long starts, and the leg that is the fuller."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loadlib import Load, Range
from loadlib_standby.check import check
from loadlib_standby.choose import bare_source
from loadlib_standby.circuits import best_move, crowded_circuits, long_starts
from loadlib_standby.setting import Setting, setting_of
from loadlib_standby.tests.farmhouse import a_load, profile


def house(*loads: Load) -> Setting:
    return setting_of(
        replace(profile(extra=loads), loads=loads), bare_source(7200, 9000, "120/240")
    )


def test_a_circuit_with_more_than_its_breaker_carries_is_named() -> None:
    """1,500 W and 1,300 W at 120 V are 23.3 A on a breaker of 20 A; one of them is not."""
    some = (
        a_load("microwave", 1500, circuit="kitchen", spread=1.0),
        a_load("kettle", 1300, circuit="kitchen", spread=1.0),
        a_load("lamp", 60, circuit="hall", spread=1.0),
    )
    there = house(*some)
    (text,) = crowded_circuits(there, there.positions())
    assert "Circuit kitchen: everything on it at once draws 23 A" in text
    assert "carries 20 A" in text
    assert crowded_circuits(there, there.positions(["hall"])) == ()
    assert text in check(there, replicates=50).notes


def test_a_240_v_load_counts_its_amps_once() -> None:
    there = house(a_load("heater", 4700, legs="AB", spread=1.0))  # 19.6 A on 20 A
    assert crowded_circuits(there, [0]) == ()


def test_a_start_longer_than_the_source_holds_is_said() -> None:
    slow = a_load("air compressor", 1500, start_va=Range(4000, 5000, 6000), kind="motor")
    there = house(slow.with_(start_s=Range(2.0, 4.0, 9.0)))
    (text,) = long_starts(there, [0])
    assert "9 s" in text
    assert "5 s" in text
    assert long_starts(house(slow), [0]) == ()


def test_the_move_that_helps_most_with_its_gain() -> None:
    """A 30 A, B 0 A: moving the 12 A circuit leaves 18 A; a 9 A one would leave 21 A."""
    some = tuple(
        a_load(name, 120.0 * amps, duty=1.0, starts=0.0, spread=1.0)
        for name, amps in (("one", 12.0), ("two", 9.0), ("three", 9.0))
    )
    there = house(*some)
    move = best_move(there, [0, 1, 2])
    assert move is not None
    assert move.branch.name == "one"
    assert move.before_a == pytest.approx((30.0, 0.0))
    assert move.after_a == pytest.approx((18.0, 12.0))
    assert "note for the electrician" in move.words()


def test_no_move_for_a_small_gain_or_one_leg() -> None:
    even = (
        a_load("one", 1200, duty=1.0, starts=0.0),
        a_load("two", 1100, legs="B", duty=1.0, starts=0.0),
    )
    assert best_move(house(*even), [0, 1]) is None
    single = setting_of(replace(profile(extra=even), loads=even), bare_source(3000, 3000, "120"))
    assert best_move(single, [0, 1]) is None
