"""Wire: resistance, drop, ampacity."""

from __future__ import annotations

import pytest

from loadlib import InputError, NotFound
from loadlib_standby import wire


def test_solid_and_stranded_rows_of_the_table() -> None:
    assert wire.ohm_per_kft("12") == 1.98
    assert wire.ohm_per_kft("12", stranded=False) == 1.93
    assert wire.ohm_per_kft("6", stranded=False) == 0.491  # tabled stranded only


def test_material_and_spelling() -> None:
    assert wire.ohm_per_kft("#10 AWG", material="aluminium") == 2.04
    with pytest.raises(NotFound, match="material"):
        wire.ohm_per_kft("10", material="silver")
    with pytest.raises(InputError, match="gauge"):
        wire.ohm_per_kft(" ")


def test_a_cold_wire_has_less_resistance() -> None:
    assert wire.ohm_per_kft("10", temperature_c=-10) < wire.ohm_per_kft("10", temperature_c=75)


def test_three_phase_drop_uses_root_three() -> None:
    one = wire.voltage_drop(1.0, 100, 10, 400)
    three = wire.voltage_drop(1.0, 100, 10, 400, phases=3)
    assert three.drop_v / one.drop_v == pytest.approx(3**0.5 / 2)


def test_longest_run_gives_just_that_drop() -> None:
    feet = wire.longest_run_ft(1.98, 15, 120, 0.03)
    assert wire.voltage_drop(1.98, feet, 15, 120).share == pytest.approx(0.03)
    with pytest.raises(InputError, match="any length"):
        wire.longest_run_ft(1.98, 0, 120)


def test_counted_conductors_decide_the_cord() -> None:
    assert wire.cord_ampacity_a("10") == 30.0
    assert wire.cord_ampacity_a("10", carrying=3) == 25.0
    with pytest.raises(NotFound):
        wire.cord_ampacity_a("17", carrying=3)


def test_smallest_wire() -> None:
    assert wire.smallest_wire(35.0) == "10"
    assert wire.smallest_wire(35.1) == "8"
    assert wire.smallest_wire(30.0, terminals_c=60) == "10"
    with pytest.raises(NotFound, match="Larger"):
        wire.smallest_wire(5000)


def test_large_wire_has_no_small_conductor_cap() -> None:
    with pytest.raises(NotFound, match="cap"):
        wire.overcurrent_cap_a("8")


def test_refusals() -> None:
    with pytest.raises(InputError, match="voltage drop"):
        wire.voltage_drop(1.0, -5, 10, 120)
