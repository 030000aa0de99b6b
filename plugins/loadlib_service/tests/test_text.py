"""The worksheet of NEC Annex D, Example D1(a), as a person reads it."""

from __future__ import annotations

import pytest

from loadlib_service.added import AddedLoad
from loadlib_service.compare import MeasuredFacts, compare
from loadlib_service.demand import DAY_S, MaximumDemand
from loadlib_service.dwelling import Cooking, Dryer, Dwelling, item
from loadlib_service.standard import standard
from loadlib_service.text import comparison_lines, worksheet_lines

HOUSE = Dwelling(area_ft2=1500, cooking=(Cooking(12_000),), dryers=(Dryer(5500),))

EXPECTED = """\
Standard calculation: NFPA 70 (NEC) 2017, Article 220 Part III
Floor area: 1,500 ft²
Supply: 120/240 V, split phase
Dwelling units: 1

                                                                       VA
General lighting and general-use receptacles                      (4,500)
    1,500 ft² × 3 VA/ft² · floor area by outside dimensions × unit load ·
    220.12 / Table 220.12
Small-appliance circuits                                          (3,000)
    2 × 1,500 VA · each circuit at 1,500 VA · 220.52(A)
Laundry circuits                                                  (1,500)
    1 × 1,500 VA · each circuit at 1,500 VA · 220.52(B)
Sum of lighting, small-appliance and laundry                      (9,000)
    added before the demand factors · 220.42 / Table 220.42
General load after demand factors                                   5,100
    first 3,000 VA at 100 %; next 6,000 VA at 35 % · lighting demand
    factors · 220.42 / Table 220.42 · subtotal 5,100
Clothes dryers                                                      5,500
    1 dryer: 5,500 VA × 100 % · 5,000 VA or nameplate, the larger, ×
    demand factor · 220.54 / Table 220.54 · subtotal 10,600
Cooking appliances                                                  8,000
    column C, 1 appliance: 8 kW · household cooking appliances by the
    table · 220.55 / Table 220.55 · subtotal 18,600
TOTAL                                                              18,600

Legs: A 77.5 A, B 77.5 A
Next standard rating: 80 A
Least rating of a one-family service: 100 A

Neutral
General load after demand factors                                   5,100
    line to neutral · 220.61 · subtotal 5,100
Cooking appliances                                                  5,600
    8,000 VA × 70 % · 70 % of the load by its table · 220.61 · subtotal
    10,700
Clothes dryers                                                      3,850
    5,500 VA × 70 % · 70 % of the load by its table · 220.61 · subtotal
    14,550
Neutral: 14,550 VA, 60.6 A

Choices and assumptions
- General lighting is 37.5 A at 120 V: at least 3 circuits of 15 A or 2
  of 20 A (210.11(A), (C)).
- Amperes are VA ÷ volts; fractions below 0.5 A are dropped before the
  next standard rating (220.5(B), 240.6(A))."""


def test_the_worksheet_line_by_line() -> None:
    assert "\n".join(worksheet_lines(standard(HOUSE, "2017"), 73)) == EXPECTED


def test_a_line_with_a_value_from_memory_is_marked() -> None:
    charger = HOUSE.with_(evse=(item("car charger", amps=40, volts=240),))
    told = "\n".join(worksheet_lines(standard(charger, "2020")))
    assert "not seen in the text of this edition" in told
    assert "230.42(A), 625.42" in told


def test_legs_are_listed() -> None:
    house = HOUSE.with_(appliances=(item("disposer", amps=8, volts=115, legs="B"),))
    told = "\n".join(worksheet_lines(standard(house, "2017")))
    assert "Leg by leg, A: A, B, neutral" in told
    assert "     0.0     8.0     8.0  disposer" in told


@pytest.mark.parametrize("width", [45, 60, 80])
def test_no_line_is_longer_than_the_terminal(width: int) -> None:
    # 45 columns: a phone held upright. Every part that a comparison can have is in here.
    house = HOUSE.with_(
        service_a=100.0,
        appliances=(item("waste disposer under the sink", amps=8, volts=115, legs="B"),),
        cooling=(item("room air conditioner", amps=12, volts=115, legs="A", motor=True),),
        name="the farmhouse of stone on the ridge above the river",
    )
    record = MeasuredFacts(
        demand=MaximumDemand(
            power_w=4700.0,
            window_s=900,
            record_s=365 * DAY_S,
            first="2024-01-01T00:00-05:00",
            last="2024-12-31T00:00-05:00",
        )
    )
    charger = AddedLoad("charger", item("car charger", amps=48))
    found = compare(house, "2023", added=[charger], record=record)
    assert max(len(line) for line in comparison_lines(found, width)) <= width
