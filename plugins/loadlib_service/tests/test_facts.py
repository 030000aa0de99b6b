"""The facts file: what it reads, and one clear sentence for each mistake."""

from __future__ import annotations

import pytest

from loadlib import DataError
from loadlib_service.existing import existing
from loadlib_service.facts import read_facts
from loadlib_service.optional import optional
from loadlib_service.standard import standard

GOOD = """
name = "Farmhouse on the ridge"
area_ft2 = 1500
supply = "120/240"
service_a = 100

[[cooking]]
kw = 12

[[dryer]]
kw = 5.5

[[appliance]]
name = "dishwasher"
kw = 1.2
volts = 120
legs = "B"

[[motor]]
name = "well pump"
hp = 1
volts = 230

[[cooling]]
name = "room air conditioner"
amps = 6
volts = 230

[[heating]]
kind = "heat pump"
name = "heat pump"
amps = 20
volts = 240
supplementary_kw = 5
together = false

[[charger]]
name = "car charger"
amps = 32
volts = 240

[[added]]
kind = "appliance"
name = "spa"
kw = 6

[measured]
power_kw = 4.7
window_min = 15
days = 365
instrument = "utility meter"
route = "year"
generation = false
"""


def test_a_whole_file() -> None:
    facts = read_facts(GOOD)
    house = facts.dwelling
    assert house.name == "Farmhouse on the ridge"
    assert house.cooking[0].rating_w == 12_000
    assert house.dryers[0].rating_w == 5500
    assert house.appliances[0].legs == "B"
    assert house.motors[0].va == pytest.approx(8.0 * 230)
    assert house.cooling[0].motor
    assert not house.heating[0].together
    assert house.evse[0].va == 7680
    assert facts.added[0].item.name == "spa"
    assert facts.record is not None
    assert facts.record.demand is not None
    assert facts.record.demand.power_w == 4700
    assert facts.record.demand.instrument == "utility meter"
    assert facts.record.generation is False


def test_circuits_that_were_not_stated_are_told() -> None:
    told = read_facts("area_ft2 = 900").dwelling.assumptions
    assert any("small-appliance circuits: not stated, taken as 2" in text for text in told)
    assert any("laundry circuits: not stated, taken as 1" in text for text in told)
    stated = "area_ft2 = 900\nsmall_appliance_circuits = 2\nlaundry_circuits = 0"
    assert read_facts(stated).dwelling.assumptions == ()


def test_square_metres() -> None:
    house = read_facts("area_m2 = 100").dwelling
    assert house.area_ft2 == pytest.approx(1076.39, abs=0.01)
    assert any("m²" in text for text in house.assumptions)


def test_labels_as_they_are_printed() -> None:
    text = """
area_ft2 = 1500
[[cooling]]
name = "condenser"
label = "208/230V LRA 73 RLA 14.1 FLA 0.7 MCA 18.3 MOCP 30"
[[appliance]]
name = "water heater"
label = "240V 4500W"
"""
    house = read_facts(text).dwelling
    # RLA and fan FLA together, at the plate's volts; MCA and MOCP are limits of the circuit.
    assert house.cooling[0].va == pytest.approx((14.1 + 0.7) * 230)
    assert house.appliances[0].va == 4500
    assert any("condenser: label" in told for told in house.assumptions)


@pytest.mark.parametrize(
    ("text", "words", "mend"),
    [
        ("supply = '120/240'", "no floor area", "area_ft2"),
        ("area_ft2 = 0", "floor area 0", "area_ft2"),
        ("area_ft2 = nan", "floor area nan", "area_ft2"),
        ("area_ft2 = 900\narea_m2 = 90", "both area_ft2 and area_m2", "one of them"),
        ("area_ft2 = '900'", "not a number", "without quotes"),
        ("area_ft2 = true", "not a number", "without quotes"),
        ("area_ft = 900", "unknown key 'area_ft'", "area_ft2"),
        ("area_ft2 = 900\nsupply = '230'", "supply '230'", "120/240"),
        ("area_ft2 = 900\nlaundry_circuits = 1.5", "whole number", None),
        ("area_ft2 = 900\n[[cooking]]\nkw = 0", "cooking 1: range: 0 kW", "nameplate"),
        ("area_ft2 = 900\n[[cooking]]\nkw = 12\nkva = 12", "give one figure, not 2", "One of"),
        ("area_ft2 = 900\n[[appliance]]\nname = 'x'", "give one figure, not 0", "One of"),
        ("area_ft2 = 900\n[[appliance]]\namps = 5", "without volts", "Add volts"),
        ("area_ft2 = 900\n[[appliance]]\nkw = 1\nmotor = 'no'", "neither true nor false", None),
        ("area_ft2 = 900\n[[appliance]]\nkw = 1\nname = 3", "is not a text", "quotes"),
        ("area_ft2 = 900\n[appliance]\nkw = 1", "headed [[appliance]]", None),
        ("area_ft2 = 900\n[[heating]]\nkw = 5", "no kind", "heat pump"),
        ("area_ft2 = 900\n[[heating]]\nkind = 'stove'\nkw = 5", "heating kind 'stove'", "One of"),
        ("area_ft2 = 900\n[[added]]\nkw = 5", "no kind", "charger"),
        ("area_ft2 = 900\n[[added]]\nkind = 'boat'\nkw = 5", "kind 'boat'", "One of"),
        ("area_ft2 = 900\n[measured]\npower_kw = 5\ndays = 3", "no window_min", "interval"),
        ("area_ft2 = 900\n[measured]\nwindow_min = 15\ndays = 3", "power_w or current_a", None),
        ("area_ft2 = 900\nmeasured = 5", "headed [measured]", None),
        ("area_ft2 = = 900", "not TOML", None),
        ("format = 'loadlib-house'\nversion = 1", "house file", "profile make"),
        (
            "area_ft2 = 900\n[[cooling]]\nlabel = '230V MCA 18.3 MOCP 30'",
            "states no input that is a load",
            "limits of the circuit",
        ),
        ("area_ft2 = 900\n[[cooling]]\nlabel = 'RLA 14.1'", "without volts", "Add volts"),
        ("area_ft2 = 900\n[[cooling]]\nlabel = '230V 5A'\nkw = 1", "label and kw", "one of them"),
    ],
)
def test_one_clear_error_for_each_mistake(text: str, words: str, mend: str | None) -> None:
    with pytest.raises(DataError) as caught:
        read_facts(text, path="farm.toml")
    assert str(caught.value).startswith("farm.toml: ")
    assert words in str(caught.value)
    if mend is not None:
        assert mend in (caught.value.hint or "")


def test_a_huge_file_is_refused() -> None:
    with pytest.raises(DataError, match="larger than"):
        read_facts("# " + "x" * (1024 * 1024))


def test_a_record_to_come_is_described_without_figures() -> None:
    text = 'area_ft2 = 900\n[measured]\ninstrument = "recorder"\noccupied = true\n'
    record = read_facts(text).record
    assert record is not None
    assert record.demand is None
    assert (record.instrument, record.occupied) == ("recorder", True)
    with pytest.raises(DataError, match="no window_min"):
        read_facts(text + "power_kw = 4\n")


@pytest.mark.parametrize(("small", "laundry", "told"), [(1, 1, 1), (2, 0, 1), (0, 0, 2), (2, 1, 0)])
def test_fewer_circuits_than_the_code_asks_for_are_told(
    small: int, laundry: int, told: int
) -> None:
    # NEC 210.11(C)(1) and (2): two or more small-appliance circuits, one laundry circuit or more.
    text = f"area_ft2 = 900\nsmall_appliance_circuits = {small}\nlaundry_circuits = {laundry}"
    dwelling = read_facts(text).dwelling
    for method in (standard, optional, existing):
        sheet = method(dwelling, "2023")
        assert sum("circuits are fewer" in choice for choice in sheet.choices) == told
