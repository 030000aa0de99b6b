"""Legs: amounts per leg, neutral, and refusals."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loadlib import InputError
from loadlib_standby import legs


def test_a_double_pole_breaker_counts_once_at_line_volts_or_twice_at_leg_volts() -> None:
    assert legs.capacity_va(30, 240) == legs.capacity_va(30, 120, legs=2) == 7200.0


def test_start_totals_are_not_added_to_running() -> None:
    running_w, peak_w, all_starts_w = legs.sums([(2000, 6000), (150, 900), (500, 0)])
    assert running_w == 2650.0
    assert peak_w == 2650.0 + 4000.0
    assert all_starts_w == 2650.0 + 4000.0 + 750.0


def test_a_full_leg_shows_while_the_total_is_half() -> None:
    use = legs.leg_use(6000, (3100, 200))
    assert not use.fits
    assert use.total_share == pytest.approx(0.55)
    assert use.neutral_a == pytest.approx((3100 - 200) / 120)


def test_two_legs_of_a_wye_carry_neutral_current_when_balanced() -> None:
    use = legs.leg_use(6000, (2400, 2400), "120/208")
    assert use.neutral_a == pytest.approx(20.0)


def test_power_factor_above_one_means_mixed_conductors() -> None:
    assert legs.power_factor(1176, 10, 120) == pytest.approx(0.98)
    with pytest.raises(InputError, match="above 1"):
        legs.power_factor(2400, 10, 120)


def test_va_watts_var() -> None:
    """12 A at 240 V and 0.85: 2,448 W, 2,880 VA, 1,517 var (textbook arithmetic)."""
    va = legs.apparent_va(12, 240)
    watts = legs.real_w(va, 0.85)
    assert va == 2880.0
    assert watts == pytest.approx(2448.0)
    assert legs.reactive_var(watts, va) == pytest.approx(1517, abs=1)
    assert legs.va_of(watts, 0.85) == pytest.approx(va)


def test_three_phase_current() -> None:
    assert legs.current_a(legs.apparent_va(10, 400, phases=3), 400, phases=3) == pytest.approx(10)


def test_imbalance() -> None:
    assert legs.imbalance_share(18.2, 9.6) == pytest.approx(0.309, abs=0.001)
    assert legs.imbalance_share(0, 0) == 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: legs.capacity_va(0, 240),
        lambda: legs.capacity_va(30, -1),
        lambda: legs.continuous_a(0),
        lambda: legs.current_a(100, 0),
        lambda: legs.leg_power_w(-5),
        lambda: legs.spread_a(30, 0),
        lambda: legs.with_margin_w(1000, -0.1),
        lambda: legs.real_w(100, 0),
        lambda: legs.va_of(100, 1.2),
        lambda: legs.reactive_var(100, 90),
        lambda: legs.leg_use(6000, (100,)),
    ],
)
def test_impossible_numbers_are_refused(call: Callable[[], object]) -> None:
    with pytest.raises(InputError):
        call()
