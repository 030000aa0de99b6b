"""Added load: before and after by each method, headroom, what would have to be held off."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from loadlib import InputError
from loadlib_service.added import AddedLoad, hvac_among, with_added
from loadlib_service.compare import MeasuredFacts, compare
from loadlib_service.demand import DAY_S, MaximumDemand
from loadlib_service.dwelling import Cooking, Dryer, Dwelling, combine, item

HOUSE = Dwelling(area_ft2=1500, cooking=(Cooking(12_000),), dryers=(Dryer(5500),), service_a=100.0)
CHARGER = AddedLoad("charger", item("car charger", amps=48, volts=240))
PUMP = AddedLoad("heat pump", item("heat pump", amps=20, volts=240), (item("strips", kw=5),))
SPA = AddedLoad("appliance", item("spa", kw=6))
RECORD = MeasuredFacts(demand=MaximumDemand(power_w=4700.0, window_s=900, record_s=365 * DAY_S))


def test_every_kind_of_load_finds_its_place() -> None:
    added = [
        CHARGER,
        PUMP,
        SPA,
        AddedLoad("cooking", item("second oven", kw=4)),
        AddedLoad("dryer", item("second dryer", kw=5)),
        AddedLoad("motor", item("pump", hp=1, volts=230)),
        AddedLoad("cooling", item("air conditioner", amps=10, volts=240)),
        AddedLoad("heating", item("heaters", kw=1.5, count=4)),
    ]
    house = with_added(HOUSE, added)
    assert [i.name for i in house.evse] == ["car charger"]
    assert [h.kind for h in house.heating] == ["heat pump", "separate"]
    assert house.heating[1].units == 4
    assert [c.name for c in house.cooking] == ["range", "second oven"]
    assert len(house.dryers) == 2
    assert [i.name for i in house.motors] == ["pump"]
    assert [i.name for i in house.cooling] == ["air conditioner"]
    assert [i.name for i in house.appliances] == ["spa"]
    with pytest.raises(InputError, match="kind 'boat'"):
        AddedLoad("boat", item("x", va=5))


def test_a_charger_a_heat_pump_and_a_spa() -> None:
    found = compare(HOUSE, "2023", added=[CHARGER, PUMP, SPA], record=RECORD)
    for row in found.rows:
        assert row.new_va > row.old_va
        assert row.headroom_a == pytest.approx(100 - row.new_a)
        assert bool(row.hold_off) == (row.new_a > 100)
    rows = {row.method: row for row in found.rows}
    # 11,520 × 1.25 + 4,800 + 5,000 + 6,000 VA on top of 125 % of 4,700 W.
    assert rows["measured"].new_va == pytest.approx(4700 * 1.25 + 14_400 + 9_800 + 6_000)
    assert rows["existing"].section == "220.83(B)"
    assert rows["existing"].sheets[0].section == "220.83(A)"
    assert hvac_among([PUMP])
    assert not hvac_among([SPA, CHARGER])


def test_hold_off_in_words() -> None:
    charger = compare(HOUSE, "2023", added=[CHARGER], methods=["standard"]).rows[0]
    # 77.5 + 60 A against 100 A: 37.5 A too much, 22.5 A left for the charger, 18 A at 125 %.
    assert "37.5 A above the rating" in charger.hold_off
    assert "(a setting of about 18 A)" in charger.hold_off
    assert "220.70" in charger.hold_off
    small = HOUSE.with_(service_a=60.0)
    row = compare(small, "2020", added=[SPA], methods=["standard"]).rows[0]
    assert "more than the added load itself" in row.hold_off
    assert "Article 750" in row.hold_off
    bare = compare(small, "2020", methods=["standard"]).rows[0]
    assert bare.hold_off.endswith("(Article 750).")
    assert len(bare.sheets) == 1


def test_without_a_rating_nothing_is_held_against_it() -> None:
    row = compare(HOUSE.with_(service_a=None), "2023", methods=["standard"]).rows[0]
    assert row.headroom_a is None
    assert row.hold_off == ""


def test_a_method_that_refuses_is_listed_with_its_reason() -> None:
    both = HOUSE.with_(heat_and_cool_together=True)
    found = compare(both, "2023")
    assert [row.method for row in found.rows] == ["standard"]
    assert dict(found.refused)["optional"].startswith("heating and cooling are claimed")
    with pytest.raises(InputError, match="claimed"):
        compare(both, "2023", methods=["optional"])


def test_methods_are_checked() -> None:
    with pytest.raises(InputError, match="method 'guess'"):
        compare(HOUSE, "2023", methods=["guess"])
    with pytest.raises(InputError, match="no record"):
        compare(HOUSE, "2023", methods=["measured"])
    both = compare(HOUSE, "2023", methods=["measured", "standard"])
    assert [name for name, _ in both.refused] == ["measured"]
    with pytest.raises(InputError, match="no edition"):
        compare(HOUSE, "")


@pytest.mark.parametrize(
    ("choices", "match"),
    [
        ({"record": replace(RECORD, route="week")}, "route 'week'"),
        ({"hvac_rule": "half"}, "heating and cooling 'half'"),
    ],
)
def test_a_slip_in_a_choice_is_an_error_and_no_method_left_out(
    choices: dict[str, Any], match: str
) -> None:
    with pytest.raises(InputError, match=match) as caught:
        compare(HOUSE, "2023", **choices)
    assert (caught.value.hint or "").startswith("One of: ")


def test_a_refusal_is_told_in_sentences() -> None:
    demand = MaximumDemand(power_w=4700.0, window_s=900, record_s=3 * DAY_S)
    found = compare(HOUSE, "2023", record=MeasuredFacts(demand=demand))
    assert dict(found.refused)["measured"] == (
        "a record of 3.0 days is not a year. Give 365 days, or 30 days of continuous 15-minute "
        "means by the 30-day route."
    )


def test_demand_factors_are_not_for_a_generator() -> None:
    assert any("generator" in text and "702" in text for text in compare(HOUSE, "2023").words)


def test_circumstances_without_a_record_name_what_is_missing() -> None:
    found = compare(HOUSE, "2023", record=MeasuredFacts(demand=None, instrument="meter"))
    assert "--intervals" in dict(found.refused)["measured"]


def test_measured_demand_above_the_rating() -> None:
    # NEC 220.87(2): 125 % of the maximum plus the new load must not exceed the rating. 15 kW at
    # 240 V is 62.5 A, at 125 % 78.1 A; with 48 A at 125 % 138.1 A against 100 A.
    record = MeasuredFacts(demand=MaximumDemand(power_w=15e3, window_s=900, record_s=365 * DAY_S))
    row = compare(HOUSE, "2023", added=[CHARGER], record=record, methods=["measured"]).rows[0]
    assert row.old_a == pytest.approx(78.125)
    assert row.headroom_a == pytest.approx(100 - 138.125)
    # 21.9 of the 60 A are left: 17.5 A of charging, and not 18, which would not hold.
    assert "(a setting of about 17 A)" in row.hold_off


def test_several_units_leave_the_standard_method() -> None:
    found = compare(combine([(4, HOUSE)]), "2023")
    assert [row.method for row in found.rows] == ["standard"]
    assert {name for name, _ in found.refused} == {"optional", "existing"}
