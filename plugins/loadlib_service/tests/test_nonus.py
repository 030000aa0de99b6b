"""Practice from outside the United States."""

from __future__ import annotations

import pytest

from loadlib import InputError
from loadlib_service.nonus import (
    DIVERSITY_LABEL,
    GROUP_LABEL,
    after_diversity_maximum_demand_w,
    cooking_capacity_w,
    diversity_230,
    group_demand,
    group_demand_w,
    purposes,
    rusck_coincidence,
)


def test_a_household_by_the_rule() -> None:
    # IET On-Site Guide, allowances for diversity, households.
    sheet = diversity_230(
        [
            ("lighting", [6.0, 6.0]),
            ("cooking", [50.0]),
            ("standard_circuits", [32.0, 32.0, 20.0]),
            ("instant_water", [40.0, 30.0, 20.0]),
            ("heating_and_power", [26.0]),
            ("stored_water", [13.0]),
        ],
        cooker_sockets=1,
    )
    assumed = {line.purpose: line.assumed_a for line in sheet.lines}
    assert assumed["lighting"] == pytest.approx(0.66 * 12)
    assert assumed["cooking"] == pytest.approx(10 + 0.3 * 40 + 5)
    assert assumed["standard_circuits"] == pytest.approx(32 + 0.4 * 52)
    assert assumed["instant_water"] == pytest.approx(40 + 30 + 0.25 * 20)
    assert assumed["heating_and_power"] == pytest.approx(10 + 0.5 * 16)
    assert assumed["stored_water"] == 13
    assert sheet.assumed_a == pytest.approx(sum(assumed.values()))
    assert sheet.label == DIVERSITY_LABEL
    assert "Non-US practice" in sheet.label


def test_each_cooking_appliance_has_its_own_first_10_a() -> None:
    assert diversity_230([("cooking", [20.0, 20.0])]).assumed_a == pytest.approx(26.0)


def test_what_the_rule_does_not_know() -> None:
    assert "cooking" in purposes()
    with pytest.raises(InputError, match="purpose 'lift'"):
        diversity_230([("lift", [5.0])])
    with pytest.raises(InputError, match="above 0 A"):
        diversity_230([("lighting", [0.0])])
    with pytest.raises(InputError, match="do not fit"):
        cooking_capacity_w(15.0, 2)


def test_after_diversity_maximum_demand() -> None:
    # Gönen, Electric Power Distribution System Engineering, Example 2.11: six houses of
    # dryer, range, refrigerator and lighting at 1.6, 0.8, 0.066 and 0.61 kW each.
    group_w = 6 * 1000 * (1.6 + 0.8 + 0.066 + 0.61)
    assert group_w == pytest.approx(18_456)
    assert after_diversity_maximum_demand_w(group_w, 6) == pytest.approx(3076)
    with pytest.raises(InputError):
        after_diversity_maximum_demand_w(group_w, 0)


@pytest.mark.parametrize(("n", "c"), [(1, 1.0), (5, 0.5578), (50, 0.3131)])
def test_rusck(n: int, c: float) -> None:
    # Rusck 1956, C = C∞ + (1 − C∞)/√N with C∞ = 0.2; formula from memory.
    assert rusck_coincidence(n, 0.2) == pytest.approx(c, abs=1e-3)
    assert group_demand_w(8000.0, n, 0.2) == pytest.approx(8000 * n * c, rel=1e-3)
    with pytest.raises(InputError):
        rusck_coincidence(0, 0.2)


def test_a_group_carries_its_label_and_sources() -> None:
    found = group_demand(8000.0, 50, 0.2)
    assert found.coincidence == pytest.approx(0.3131, abs=1e-4)
    assert found.after_diversity_w == pytest.approx(8000 * 0.3131, rel=1e-3)
    assert found.label == GROUP_LABEL
    assert "Non-US practice" in found.label
    assert "from memory" in found.remarks[0]
    assert "0.54 to 1.78 kW" in found.remarks[1]
    for wrong in ((0.0, 5, 0.2), (8000.0, 0, 0.2), (8000.0, 5, 1.5)):
        with pytest.raises(InputError):
            group_demand(*wrong)
