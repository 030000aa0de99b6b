"""Facts of a dwelling: nameplates, checks, adding units up."""

from __future__ import annotations

import math

import pytest

from loadlib import InputError
from loadlib_service.dwelling import (
    Cooking,
    Dryer,
    Dwelling,
    Heating,
    combine,
    item,
    motor_current_a,
)
from loadlib_service.supply import parse_supply


def test_plates_in_every_unit() -> None:
    assert item("a", va=1200).va == item("a", w=1200).va == item("a", kw=1.2).va == 1200
    assert item("a", kva=1.2).va == 1200
    assert item("a", amps=10, volts=120).va == 1200
    # NEC Table 430.248: 1/2 hp at 115 V is 9.8 A.
    motor = item("disposer", hp=0.5, volts=115)
    assert motor.va == pytest.approx(9.8 * 115)
    assert motor.motor
    assert motor.neutral


@pytest.mark.parametrize(
    "given", [{}, {"kw": 1, "va": 1000}, {"kw": 0}, {"va": -5}, {"w": math.nan}, {"kw": math.inf}]
)
def test_no_figure_two_figures_or_zero(given: dict[str, float]) -> None:
    with pytest.raises(InputError):
        item("x", **given)  # type: ignore[arg-type]


def test_amps_need_volts_above_zero_and_a_count() -> None:
    with pytest.raises(InputError, match="volts"):
        item("x", amps=5, volts=0)
    with pytest.raises(InputError, match="count 0"):
        item("x", va=5, count=0)


@pytest.mark.parametrize(("hp", "volts"), [(0.6, 115), (1, 277)])
def test_motors_that_the_table_lacks(hp: float, volts: float) -> None:
    with pytest.raises(InputError, match="motor"):
        motor_current_a(hp, volts)


def test_plate_or_nominal_volts() -> None:
    supply = parse_supply("120/240")
    assert item("a", amps=7, volts=230).at_nominal(supply).va == 1680
    assert item("a", amps=8, volts=115).at_nominal(supply).va == 960
    assert item("a", va=500, volts=115).at_nominal(supply).va == 500


@pytest.mark.parametrize("area", [0.0, -1.0, math.nan, math.inf])
def test_a_dwelling_needs_a_floor_area(area: float) -> None:
    with pytest.raises(InputError, match="floor area") as caught:
        Dwelling(area_ft2=area)
    assert "area_ft2" in (caught.value.hint or "")


def test_a_range_of_0_kw_is_refused() -> None:
    with pytest.raises(InputError, match="0 W") as caught:
        Cooking(0.0)
    assert "plate" in (caught.value.hint or "")
    with pytest.raises(InputError):
        Cooking(8000, count=0)
    with pytest.raises(InputError):
        Dryer(0.0)
    with pytest.raises(InputError):
        Dryer(5000, count=-1)


@pytest.mark.parametrize(
    "change",
    [
        {"small_appliance_circuits": -1},
        {"service_a": 0.0},
        {"appliances": (item("x", va=100, volts=120, legs="C"),)},
        {"appliances": (item("x", va=100, volts=120, legs="AB"),)},
    ],
)
def test_facts_that_cannot_be(change: dict[str, object]) -> None:
    with pytest.raises(InputError):
        Dwelling(area_ft2=1000).with_(**change)


def test_heating_is_checked() -> None:
    heater = (item("h", kw=5),)
    with pytest.raises(InputError, match="kind"):
        Heating(kind="stove", items=heater)
    with pytest.raises(InputError, match="nothing is rated"):
        Heating(kind="central", items=())
    with pytest.raises(InputError, match="0 units"):
        Heating(kind="separate", items=heater, units=0)
    with pytest.raises(InputError, match="heat pump"):
        Heating(kind="central", items=heater, supplementary=heater)


def test_a_heat_pump_that_locks_its_compressor_out() -> None:
    pump = Heating(
        kind="heat pump",
        items=(item("compressor", va=6000),),
        supplementary=(item("strips", kw=10),),
        together=False,
    )
    assert pump.full_va == 10_000
    assert [i.name for i in pump.running()] == ["strips"]


def test_units_add_up() -> None:
    unit = Dwelling(
        area_ft2=800,
        cooking=(Cooking(8000),),
        appliances=(item("dishwasher", kw=1.2, volts=120, legs="A"),),
        heating=(Heating(kind="separate", items=(item("h", kw=1.5, count=2),), units=2),),
    )
    whole = combine([(3, unit)], parse_supply("208Y/120"))
    assert (whole.area_ft2, whole.units, whole.one_family) == (2400, 3, False)
    assert whole.small_appliance_circuits == 6
    assert whole.cooking[0].count == 3
    assert whole.heating[0].items_va == 9000
    assert whole.heating[0].units == 6
    assert whole.appliances[0].legs == ""
    with pytest.raises(InputError, match="no dwelling units"):
        combine([])
