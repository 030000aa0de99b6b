"""Motors: tables, code letters, what a source can start."""

from __future__ import annotations

import pytest

from loadlib import InputError, NotFound
from loadlib_standby import motors


@pytest.mark.parametrize(
    ("hp", "amps"), [("1/3", 7.2), ("1-1/2", 20.0), ("1 1/2", 20.0), (2, 24.0)]
)
def test_horsepower_as_people_write_it(hp: str | float, amps: float) -> None:
    assert motors.full_load_a(hp, 120) == amps


def test_208_v_column() -> None:
    assert motors.full_load_a(1, 208) == 8.8
    assert motors.table_locked_rotor_a(1, 208) == 53.0


def test_small_motors_have_no_locked_rotor_row() -> None:
    with pytest.raises(NotFound, match="locked-rotor"):
        motors.table_locked_rotor_a("1/6", 115)


@pytest.mark.parametrize("hp", ["six", "7/0", ""])
def test_unreadable_horsepower(hp: str) -> None:
    with pytest.raises((InputError, NotFound)):
        motors.full_load_a(hp, 115)


def test_other_volts_and_sizes_are_not_guessed() -> None:
    with pytest.raises(NotFound, match="voltage"):
        motors.full_load_a(1, 400)
    with pytest.raises(NotFound, match="size"):
        motors.full_load_a("3/5", 115)


def test_code_letter_v_is_open_at_the_top() -> None:
    letter = motors.code_letter("V")
    assert letter.most_kva_per_hp is None
    with pytest.raises(InputError, match="no upper end"):
        letter.start_va(1.0)
    with pytest.raises(InputError, match="no upper end"):
        _ = letter.middle_kva_per_hp


def test_verdict_turns_inside_the_range_of_the_start_factor() -> None:
    found = motors.can_start(1000, (3.0, 6.0), 5000, already_va=500)
    assert found.verdict == "only if"
    assert found.break_even == pytest.approx(4.5)
    assert found.shortfall_va == pytest.approx(1500)
    assert motors.can_start(1000, (3.0, 4.0), 5000).verdict == "yes"
    assert motors.can_start(1000, (6.0, 7.0), 5000).verdict == "no"


def test_sag_is_square() -> None:
    assert motors.sagged_start_va(10000, 0.8) == pytest.approx(6400)
    with pytest.raises(InputError, match="share"):
        motors.sagged_start_va(10000, 0.0)


def test_shaft_is_not_input() -> None:
    assert motors.shaft_w(1) == 746.0
    assert motors.input_w(1, 0.5) == pytest.approx(1492.0)
    with pytest.raises(InputError, match="efficiency"):
        motors.input_w(1, 1.5)


def test_refusals() -> None:
    with pytest.raises(InputError, match="start factor"):
        motors.can_start(1000, (6.0, 3.0), 5000)
    with pytest.raises(InputError, match="running current"):
        motors.start_over_running(50, 0)
    with pytest.raises(NotFound, match="protective device"):
        motors.protection_a(10, "wire nail")
    with pytest.raises(NotFound, match="performance class"):
        motors.set_class("G9")
