"""Motor tables and plates, against the code's own tables."""

from __future__ import annotations

import pytest

from loadlib.estimators.motors import code_letter_va, full_load_va, rated_amps_of_plate


@pytest.mark.parametrize(("hp", "amps_230"), [(1 / 6, 2.2), (1 / 2, 4.9), (1, 8.0), (5, 28.0)])
def test_table_430_248(hp: float, amps_230: float) -> None:
    assert full_load_va(hp) == pytest.approx(amps_230 * 230)


def test_between_and_beyond_the_rows() -> None:
    assert full_load_va(1.25) == pytest.approx(9.0 * 230)
    assert full_load_va(0.1) == pytest.approx(2.2 * 230 * 0.6)
    assert full_load_va(12.0) == pytest.approx(50 * 230 * 1.2)


def test_table_430_7_b() -> None:
    """G: 5.6 to 6.29 kVA per hp; V has no upper end, I and O are not used."""
    found = code_letter_va("g", 2.0)
    assert found is not None
    assert (found.low, found.high) == pytest.approx((11_200, 12_580))
    assert code_letter_va("V", 1.0) is None
    assert code_letter_va("O", 1.0) is None


@pytest.mark.parametrize(("motor_a", "rest_a"), [(14.0, 0.0), (14.0, 3.0), (6.0, 9.0)])
def test_plate_bounds_hold_the_truth(motor_a: float, rest_a: float) -> None:
    """MCA = 1.25 L + R and MOCP = 2.25 L + R (NFPA 70 440.22, 440.33) bound L + R."""
    low, high = rated_amps_of_plate(1.25 * motor_a + rest_a, 2.25 * motor_a + rest_a)
    assert low - 1e-9 <= motor_a + rest_a <= high + 1e-9
    # With electric heat on the circuit MCA is 1.25 times everything: the lower bound.
    total = motor_a + rest_a
    assert rated_amps_of_plate(1.25 * total, None)[0] == pytest.approx(total)


def test_an_mocp_of_15_amps_bounds_nothing() -> None:
    assert rated_amps_of_plate(5.0, 15.0) == (4.0, 5.0)
    assert rated_amps_of_plate(21.0, 35.0) == pytest.approx((16.8, 17.5))
