"""Neutral currents and voltages on split phase, wye and three phases."""

from __future__ import annotations

import cmath
import math

import pytest

from loadlib.core.electrical import bridged_neutral_a, neutral_a, open_neutral_v, system
from loadlib.errors import InputError


@pytest.mark.parametrize(("legs_a", "expected_a"), [((15, 5), 10), ((16, 10), 6), ((15, 15), 0)])
def test_split_phase_neutral_is_the_difference(
    legs_a: tuple[float, float], expected_a: float
) -> None:
    """Read on two pages: a Q&A thread and a training article on multiwire branch circuits."""
    assert neutral_a(system("120/240"), legs_a) == pytest.approx(expected_a, abs=1e-9)


def test_lost_neutral_puts_160_and_80_volts_on_100_and_200_watt_loads() -> None:
    """Training slides on the lost neutral: 144 and 72 ohms in series across 240 V. A load
    of W watts at 120 V has 120²/W ohms."""
    ohms_100, ohms_200 = 120.0**2 / 100.0, 120.0**2 / 200.0
    assert (ohms_100, ohms_200) == pytest.approx((144.0, 72.0), abs=0.1)
    assert 240.0 / (ohms_100 + ohms_200) == pytest.approx(1.1111, abs=0.001)
    assert open_neutral_v(240.0, ohms_100, ohms_200) == pytest.approx((160.0, 80.0), abs=0.1)


def test_three_phase_neutral_of_10_8_6_amps() -> None:
    """√(A² + B² + C² − AB − BC − CA). A copied answer to this question in a trainer forum
    (12 Dec 2008) is 15.1 A, by a slip of sign; 3.46 A is right."""
    assert neutral_a(system("230/400"), (10, 8, 6)) == pytest.approx(3.464, abs=0.005)


@pytest.mark.parametrize("legs_a", [(10.0, 10.0), (12.0, 3.0), (0.0, 7.0)])
def test_two_legs_of_a_wye(legs_a: tuple[float, float]) -> None:
    """√(A² + B² − AB): the whole of A when both legs carry A. Against a sum of phasors."""
    phasors = legs_a[0] + legs_a[1] * cmath.exp(2j * math.pi / 3)
    found = neutral_a(system("120/208"), legs_a)
    assert found == pytest.approx(abs(phasors), abs=1e-9)
    if legs_a[0] == legs_a[1]:
        assert found == pytest.approx(legs_a[0], abs=1e-9)


def test_one_source_bridged_to_both_halves_adds_up() -> None:
    """15 + 15 = 30 A in a shared neutral, where the street would leave none."""
    assert bridged_neutral_a((15.0, 15.0)) == 30.0
    assert neutral_a(system("120/240"), (15.0, 15.0)) == pytest.approx(0.0, abs=1e-9)


def test_unlike_power_factors_lie_between_difference_and_sum() -> None:
    split = system("120/240")
    for angle in (0.0, 0.3, 0.9, math.pi / 2):
        true = abs(16.0 - 10.0 * cmath.exp(1j * angle))
        assert neutral_a(split, (16, 10)) - 1e-9 <= true
        assert true <= neutral_a(split, (16, 10), same_pf=False)


def test_watts_va_and_var_of_12_amps_at_240_volts() -> None:
    """P = V I cos φ, by arithmetic: 2,448 W, 2,880 VA, 1,517 var at 0.85."""
    supply = system("120/240")
    va = 12.0 * supply.volts(("A", "B"))
    assert va == pytest.approx(2880.0, abs=0.5)
    assert va * 0.85 == pytest.approx(2448.0, abs=0.5)
    assert math.sqrt(va**2 - (va * 0.85) ** 2) == pytest.approx(1517.0, abs=1.0)
    assert supply.amps(va, ("A", "B")) == pytest.approx(12.0)


def test_number_of_currents_must_fit_the_system() -> None:
    with pytest.raises(InputError, match="3 currents"):
        neutral_a(system("120/240"), (1, 2, 3))
    with pytest.raises(InputError, match="resistances"):
        open_neutral_v(240.0, 0.0, 72.0)
