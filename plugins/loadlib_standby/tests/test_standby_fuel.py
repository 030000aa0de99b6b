"""Fuel, derating, battery, energy."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib import InputError, NotFound, Range
from loadlib_standby import battery, derate, energy, fuel


def test_half_the_load_is_not_half_the_fuel() -> None:
    line = fuel.FuelLine.through([(7200, 0.8), (3600, 0.5)])
    assert line.rate_per_h(0) == pytest.approx(0.2)
    assert line.rate_per_h(3600) == pytest.approx(0.5)
    assert line.per_delivered_kwh(1000) > line.per_delivered_kwh(5000)
    assert line.per_delivered_kwh(0) == math.inf


def test_fuel_of_a_period_is_idle_hours_plus_energy() -> None:
    line = fuel.FuelLine.through([(3600, 0.5), (7200, 0.8)])
    assert line.used(10, 36000) == pytest.approx(10 * line.rate_per_h(3600))
    used = line.used_range(10, Range(30000, 36000, 42000))
    assert used.typical == pytest.approx(5.0)
    assert used.low < used.typical < used.high


def test_hours_per_tank_turn_the_range_round() -> None:
    line = fuel.FuelLine.through([(3600, 0.5), (7200, 0.8)])
    hours = line.hours_per_tank(5.0, Range(2000, 3600, 5000))
    assert hours.typical == pytest.approx(10.0)
    assert hours.low == pytest.approx(5.0 / line.rate_per_h(5000))


@settings(max_examples=100, deadline=None)
@given(
    idle=st.floats(0.05, 0.5),
    slope=st.floats(0.05, 0.2),
    bend=st.floats(0.0, 0.05),
    low_w=st.floats(1000, 3000),
    load_w=st.floats(0, 7000),
)
def test_a_burn_that_bends_upwards_lies_within_the_bounds(
    idle: float, slope: float, bend: float, low_w: float, load_w: float
) -> None:
    """Any burn that rises with load and bends upwards, below the lower of two points of it."""

    def burn(x: float) -> float:
        return idle + slope * x / 1000 + bend * (x / 1000) ** 2

    line = fuel.FuelLine(
        *_through((low_w, burn(low_w)), (7000.0, burn(7000.0))), low_w=low_w, high_w=7000.0
    )
    found = line.rate_range(Range.exact(min(load_w, low_w)))
    assert found.low - 1e-9 <= burn(min(load_w, low_w)) <= found.high + 1e-9


def _through(low: tuple[float, float], high: tuple[float, float]) -> tuple[float, float]:
    slope = (high[1] - low[1]) / (high[0] - low[0])
    return low[1] - slope * low[0], slope * 1000.0


def test_between_the_points_the_burn_is_the_line() -> None:
    line = fuel.FuelLine.through([(3600, 0.5), (7200, 0.8)])
    assert line.rate_range(Range.exact(5400)).is_exact
    assert line.rate_range(Range.exact(5400)).typical == pytest.approx(0.65)


def test_stretching_the_line_is_said() -> None:
    line = fuel.FuelLine.through([(3600, 0.5), (7200, 0.8)])
    assert "below" in line.beyond(1000)
    assert "above" in line.beyond(9000)
    assert line.beyond(5000) == ""


@pytest.mark.parametrize(
    "points",
    [
        [(3600, 0.5)],
        [(3600, 0.5), (3600, 0.6)],
        [(3600, 0.8), (7200, 0.5)],
        [(3600, 0.2), (7200, 0.8)],
        [(-1, 0.2), (7200, 0.8)],
    ],
)
def test_points_that_cannot_be(points: list[tuple[float, float]]) -> None:
    with pytest.raises(InputError):
        fuel.FuelLine.through(points)


@settings(max_examples=100, deadline=None)
@given(
    idle=st.floats(0, 1),
    slope=st.floats(0.01, 0.5),
    low=st.floats(100, 3000),
    step=st.floats(500, 9000),
    load=st.floats(0, 20000),
)
def test_any_two_points_of_a_line_give_the_line(
    idle: float, slope: float, low: float, step: float, load: float
) -> None:
    def rate(x: float) -> float:
        return idle + slope * x / 1000

    line = fuel.FuelLine.through([(low, rate(low)), (low + step, rate(low + step))])
    assert line.rate_per_h(load) == pytest.approx(rate(load), rel=1e-6, abs=1e-6)


def test_the_public_slip_five_gallons_at_067_is_seven_and_a_half_hours() -> None:
    assert fuel.run_time_h(5, 0.67) == pytest.approx(7.46, abs=0.01)
    assert fuel.rate_from_run_time(5, fuel.run_time_h(5, 0.67)) == pytest.approx(0.67)


def test_cans_are_whole() -> None:
    assert fuel.cans(90, 5) == 18
    assert fuel.cans(90.1, 5) == 19


def test_propane_pounds_gallons_btu() -> None:
    """A 20 lb cylinder: about 4.76 gal (density from memory), 435,000 BTU (EIA)."""
    gallons = fuel.volume_of_mass_gal("propane", 20)
    assert gallons == pytest.approx(4.76, abs=0.01)
    assert fuel.heat_btu("propane", gallons) == pytest.approx(434_900, rel=0.001)
    assert fuel.heat_btu("propane", 1, lower=True) == 84250


def test_a_set_turns_a_fifth_of_the_heat_into_electricity() -> None:
    assert fuel.set_efficiency(7.0, "gasoline", 1.0) == pytest.approx(0.199, abs=0.001)
    assert fuel.cost_per_kwh(4.0, 1 / 7.0) == pytest.approx(0.571, abs=0.001)


def test_unknown_fuels_and_densities() -> None:
    with pytest.raises(NotFound, match="fuel 'coal'"):
        fuel.heat_btu("coal", 1)
    with pytest.raises(NotFound, match="density"):
        fuel.volume_of_mass_gal("natural gas", 1)


def test_every_derating_rule_gives_all_at_sea_level_in_the_cold_and_less_on_a_hot_mountain() -> (
    None
):
    for rule in derate.rules():
        cool = derate.remaining_share(rule, 0.0, 32.0)
        assert 0.97 <= cool <= 1.0, rule
        assert derate.remaining_share(rule, 9000.0, 110.0) < cool, rule


def test_rules_conflict_and_are_therefore_named() -> None:
    at_5000_ft = {rule: derate.remaining_share(rule, 5000.0, 97.0) for rule in derate.rules()}
    assert at_5000_ft["portable set"] == pytest.approx(0.8085, abs=0.0005)
    assert at_5000_ft["textbook spark"] == pytest.approx(0.865 * 0.988, abs=0.0005)
    assert at_5000_ft["textbook turbo"] == pytest.approx(0.988, abs=0.0005)


def test_standard_atmosphere() -> None:
    """ISO 2533: 101.325 kPa at sea level, 84.31 kPa at 5,000 ft."""
    assert derate.pressure_kpa(0) == pytest.approx(101.325)
    assert derate.pressure_kpa(5000) == pytest.approx(84.31, abs=0.02)


def test_derating_refusals() -> None:
    with pytest.raises(InputError, match="factor"):
        derate.derated_w(7000, -0.1)
    with pytest.raises(InputError, match="pressure"):
        derate.sae_j1349_factor(0, 25)


def test_battery_hours_and_size_are_inverse() -> None:
    usable = battery.usable_kwh(15, 0.9, 0.92)
    assert usable == pytest.approx(12.42)
    hours_h = battery.autonomy_h(usable, 1000, 60)
    assert hours_h == pytest.approx(12.42 / 1.06)
    assert battery.size_kwh(1060, hours_h, 0.92, 0.9) == pytest.approx(15.0)
    spread = battery.autonomy_range_h(usable, Range(500, 1000, 2000))
    assert spread.low == pytest.approx(6.21)
    assert battery.recharge_h(15, 3000, 0.9) == pytest.approx(5.56, abs=0.01)


@pytest.mark.parametrize(
    "call",
    [
        lambda: battery.usable_kwh(15, 0.0),
        lambda: battery.usable_kwh(15, 1.0, 1.2),
        lambda: battery.autonomy_h(10, 0.0),
        lambda: battery.recharge_h(10, 0.0),
        lambda: energy.cooling_w(12000, 0),
        lambda: energy.mean_w(1.0, 0.0),
        lambda: energy.share_of_label(1.0, 0.0),
        lambda: energy.heater_on_other_voltage_w(5500, 0, 208),
        lambda: fuel.run_time_h(5, 0),
        lambda: fuel.rate_from_run_time(5, 0),
        lambda: fuel.cans(5, 0),
        lambda: fuel.FuelLine(0.0, 0.1, 0, 1000).hours_per_tank(5, Range.exact(0.0)),
    ],
)
def test_impossible_numbers_are_refused(call: Callable[[], object]) -> None:
    with pytest.raises(InputError):
        call()


def test_no_part_no_power() -> None:
    assert energy.units_that_take_turns_w(()) == 0.0
