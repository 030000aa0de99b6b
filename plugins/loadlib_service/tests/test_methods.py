"""Standard, optional, existing and multifamily calculation beyond the published examples."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib import InputError
from loadlib_service.dwelling import Cooking, Dryer, Dwelling, Heating, combine, item
from loadlib_service.existing import existing
from loadlib_service.multifamily import multifamily, two_units
from loadlib_service.optional import optional
from loadlib_service.standard import standard
from loadlib_service.supply import parse_supply
from loadlib_service.worksheet import Worksheet

HOUSE = Dwelling(area_ft2=2000, cooking=(Cooking(12_000),), dryers=(Dryer(5000),))
COOLING = item("air conditioner", amps=20, volts=240, motor=True)
HEAT = Heating(kind="central", items=(item("furnace", kw=10),))
EDITIONS = ("2017", "2020", "2023")


def check_running(sheet: Worksheet) -> None:
    """Counted lines add up to the subtotal after the last carried-on line, and to the total."""
    assert sheet.lines[-1].subtotal_va == pytest.approx(sheet.total_va)
    for before, line in zip(sheet.lines, sheet.lines[1:], strict=False):
        if line.counted:
            assert line.subtotal_va == pytest.approx(before.subtotal_va + line.va)


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("method", [standard, optional, existing])
def test_running_subtotals(method: object, edition: str) -> None:
    facts = HOUSE.with_(cooling=(COOLING,), heating=(HEAT,), evse=(item("car", amps=40),))
    sheet = method(facts, edition)  # type: ignore[operator]
    check_running(sheet)
    assert all(line.section for line in sheet.lines)
    assert sheet.line_a == pytest.approx(sheet.total_va / 240)


def test_the_larger_season_counts_with_its_motor() -> None:
    heat = Heating(kind="central", items=(item("furnace", kw=5),))
    # 4,800 VA of cooling with 1,200 VA of motor addition outweighs 5,000 VA of heat.
    sheet = standard(HOUSE.with_(cooling=(COOLING,), heating=(heat,)), "2020")
    assert sheet.va("cooling") == 4800
    assert sheet.va("largest_motor") == 1200
    assert not sheet.line("heating_omitted").counted
    assert any("220.60" in text for text in sheet.choices)
    hot = standard(HOUSE.with_(cooling=(COOLING,), heating=(HEAT,)), "2017")
    assert hot.va("heating") == 10_000
    with pytest.raises(KeyError):
        hot.va("largest_motor")


def test_both_seasons_claimed_together_are_flagged_or_refused() -> None:
    both = HOUSE.with_(cooling=(COOLING,), heating=(HEAT,), heat_and_cool_together=True)
    sheet = standard(both, "2023")
    assert sheet.va("heating") + sheet.va("cooling") == 14_800
    assert any("claimed to run together" in text for text in sheet.choices)
    for method in (optional, existing):
        with pytest.raises(InputError, match="run together") as caught:
            method(both, "2023")
        assert "heat pump" in (caught.value.hint or "")


def test_a_heat_pump_counts_once_in_each_season() -> None:
    pump = Heating(kind="heat pump", items=(item("compressor", amps=20, motor=True),))
    sheet = standard(HOUSE.with_(heating=(pump,)), "2023")
    assert sheet.va("heating") == 4800
    assert sheet.va("largest_motor") == 1200


def test_an_appliance_is_75_percent_from_four_and_says_so() -> None:
    three = tuple(item(f"a{n}", va=1000) for n in range(3))
    four = (*three, item("small", va=400, volts=120))
    assert standard(HOUSE.with_(appliances=four), "2017").va("appliance a0") == 750
    for edition in ("2020", "2023"):
        # Below 500 W and 1/4 hp it no longer counts towards four.
        sheet = standard(HOUSE.with_(appliances=four), edition)
        assert sheet.va("appliance a0") == 1000
        assert sheet.va("appliance small") == 400
        assert any("neither count towards four" in text for text in sheet.choices)
    quarter = (*three, item("quarter horse", hp=0.25, volts=115))
    assert standard(HOUSE.with_(appliances=quarter), "2023").va("appliance a0") == 750


def test_two_of_a_kind_count_as_two() -> None:
    pairs = (item("heater", va=2000, count=2), item("pump", va=900, count=2))
    assert standard(HOUSE.with_(appliances=pairs), "2017").va("appliance heater") == 3000


def test_chargers_by_edition_and_125_percent_once() -> None:
    small = HOUSE.with_(evse=(item("car", amps=16, volts=240),))
    assert standard(small, "2017").va("evse car") == 3840
    newest = standard(small, "2023")
    assert newest.va("evse car") == 7200  # NEC 2023, 220.57
    assert newest.va("evse_continuous car") == 1800
    bare = standard(HOUSE, "2023")
    assert newest.total_va - bare.total_va == pytest.approx(7200 * 1.25)


def test_neutral_takes_no_line_to_line_load() -> None:
    plain = standard(HOUSE, "2017")
    heater = HOUSE.with_(appliances=(item("water heater", kw=4.5),))
    assert standard(heater, "2017").neutral_va == plain.neutral_va
    dish = HOUSE.with_(appliances=(item("dishwasher", kw=1.2, volts=120),))
    assert (standard(dish, "2017").neutral_va or 0) - (plain.neutral_va or 0) == 1200


def test_neutral_above_200_a_at_70_percent() -> None:
    unit = Dwelling(area_ft2=1000, cooking=(Cooking(12_000),))
    sheet = standard(combine([(20, unit)]), "2023")
    basic = (sheet.neutral_va or 0) / 240
    assert basic > 200
    assert sheet.neutral_a == pytest.approx(200 + 0.7 * (basic - 200))
    legs = standard(combine([(20, unit)], parse_supply("120/208")), "2023")
    assert legs.neutral_a is not None
    assert not any("above 200 A at 70 %:" in text for text in legs.choices)


def test_motors_are_those_marked_so() -> None:
    dish = HOUSE.with_(appliances=(item("dishwasher", kw=1.2, volts=120),))
    told = "No load is marked as a motor"
    assert any(told in text for text in standard(dish, "2017").choices)
    marked = HOUSE.with_(appliances=(item("dishwasher", kw=1.2, volts=120, motor=True),))
    sheet = standard(marked, "2017")
    assert sheet.va("largest_motor") == 300
    assert not any(told in text for text in sheet.choices)


def test_a_line_to_neutral_motor_adds_to_the_neutral() -> None:
    motor = item("sump pump", hp=1 / 3, volts=115)
    sheet = standard(HOUSE.with_(motors=(motor,)), "2020")
    assert sheet.va("neutral_motor") == pytest.approx(0.25 * 7.2 * 115)


def test_legs_in_a_wye_take_the_heavier_leg_for_the_neutral() -> None:
    facts = Dwelling(
        area_ft2=1000,
        supply=parse_supply("120/208"),
        appliances=(
            item("dishwasher", va=1200, volts=120, legs="A"),
            item("disposer", va=600, volts=120, legs="B", motor=True),
        ),
    )
    sheet = standard(facts, "2023")
    by_text = {line.text: line for line in sheet.leg_lines}
    assert by_text["dishwasher"].neutral_a == 10
    assert by_text["disposer"].neutral_a == 0


@pytest.mark.parametrize(
    ("heating", "va", "number"),
    [
        (Heating(kind="central", items=(item("f", kw=15),)), 9750, "(4)"),
        (Heating(kind="separate", items=(item("h", kw=9),), units=3), 5850, "(4)"),
        (Heating(kind="separate", items=(item("h", kw=9),), units=4), 3600, "(5)"),
        (Heating(kind="storage", items=(item("s", kw=9),)), 9000, "(6)"),
        (Heating(kind="heat pump", items=(item("p", kw=6),)), 6000, "(2)"),
        (
            Heating(
                kind="heat pump",
                items=(item("p", kw=6),),
                supplementary=(item("x", kw=15),),
                together=False,
            ),
            9750,
            "(3)",
        ),
    ],
)
def test_selections_of_220_82_c(heating: Heating, va: float, number: str) -> None:
    sheet = optional(HOUSE.with_(heating=(heating,)), "2017")
    line = sheet.line("hvac")
    assert line.va == pytest.approx(va)
    assert number in line.rule


def test_the_optional_method_refuses_what_it_does_not_cover() -> None:
    with pytest.raises(InputError, match="one dwelling unit"):
        optional(combine([(2, HOUSE)]), "2023")
    with pytest.raises(InputError, match="3-wire"):
        optional(HOUSE.with_(supply=parse_supply("208Y/120")), "2023")
    small = optional(HOUSE.with_(service_a=60.0), "2023")
    assert any("100 A or more" in text for text in small.choices)


def test_existing_dwelling_readings_of_a() -> None:
    facts = HOUSE.with_(cooling=(COOLING,))
    whole = existing(facts, "2023")
    as_appliance = existing(facts, "2023", hvac_rule="appliance")
    assert whole.total_va - as_appliance.total_va == pytest.approx(4800 * 0.6)
    for sheet in (whole, as_appliance):
        assert any("does not say how heating and cooling" in text for text in sheet.choices)
    with pytest.raises(InputError, match="hvac rule"):
        existing(facts, "2023", hvac_rule="none")
    with pytest.raises(InputError, match="one dwelling unit"):
        existing(combine([(2, HOUSE)]), "2023")


def test_existing_dwelling_b_keeps_the_larger_only() -> None:
    four = Heating(kind="separate", items=(item("h", kw=2, count=4),), units=4)
    sheet = existing(HOUSE.with_(cooling=(COOLING,), heating=(four,)), "2023", hvac_added=True)
    assert sheet.va("heating") == 8000
    assert not sheet.line("cooling_omitted").counted
    assert any("four or more" in text for text in sheet.choices)


def test_multifamily_conditions() -> None:
    unit = HOUSE.with_(cooling=(COOLING,))
    with pytest.raises(InputError, match="three or more"):
        multifamily([(2, unit)], "2023")
    with pytest.raises(InputError, match="electric cooking") as caught:
        multifamily([(3, unit.with_(cooking=()))], "2023")
    assert "8 kW" in (caught.value.hint or "")
    with pytest.raises(InputError, match="heating or air conditioning"):
        multifamily([(3, HOUSE)], "2023")
    with_house = multifamily([(3, unit)], "2023", house_load_va=5000)
    assert with_house.total_va - multifamily([(3, unit)], "2023").total_va == 5000


def test_two_units_take_the_lesser() -> None:
    plain, three = two_units(HOUSE, "2023")
    assert three is None
    assert plain.method == "standard"
    heavy = HOUSE.with_(
        heating=(Heating(kind="central", items=(item("f", kw=20),)),),
        appliances=(item("water heater", kw=4.5),),
    )
    plain, three = two_units(heavy, "2023")
    assert three is not None
    assert three.total_va < plain.total_va


def test_assumptions_and_carried_values_are_told() -> None:
    sheet = standard(HOUSE, "2023")
    assert any("taken as unchanged in 2023" in text for text in sheet.doubts)
    assert any("not seen in its text" in text for text in sheet.doubts)
    nominal = standard(HOUSE.with_(cooling=(item("ac", amps=6, volts=230),)), "2023", nominal=True)
    assert nominal.va("cooling") == 1440
    assert any("nominal volts (220.5(A))" in text for text in nominal.choices)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(100, 20_000),
    st.floats(2, 27),
    st.lists(st.floats(50, 9000), max_size=6),
    st.sampled_from(EDITIONS),
)
def test_more_load_is_never_less_demand(
    area: float, range_kw: float, plates: list[float], edition: str
) -> None:
    facts = Dwelling(area_ft2=area, cooking=(Cooking(1000 * range_kw),))
    appliances = tuple(item(f"a{n}", va=va) for n, va in enumerate(plates))
    more = facts.with_(dryers=(Dryer(5000),), cooling=(COOLING,))
    for method in (standard, optional, existing):
        sheet = method(facts.with_(appliances=appliances), edition)
        check_running(sheet)
        assert method(more.with_(appliances=appliances), edition).total_va > sheet.total_va
        connected = 3 * area + 4500 + 1000 * range_kw + sum(plates)
        assert sheet.total_va <= max(connected, 3 * area + 4500 + 8000 + sum(plates)) * 1.8
