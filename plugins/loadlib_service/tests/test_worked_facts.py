"""The facts file and the command against published totals, as an electrician would type them."""

from __future__ import annotations

import json
from typing import Any

import pytest
from typer.testing import CliRunner

from loadlib_service.cli import app

D1 = """
area_ft2 = 1500
small_appliance_circuits = 2
laundry_circuits = 1
[[cooking]]
kw = 12
[[dryer]]
kw = 5.5
"""
D1B = """
[[appliance]]
name = "waste disposer"
amps = 8
volts = 115
legs = "B"
motor = true
[[appliance]]
name = "dishwasher"
amps = 10
volts = 120
legs = "B"
[[cooling]]
name = "room air conditioner, 230 V"
amps = 6
volts = 230
legs = "AB"
[[cooling]]
name = "room air conditioner, 115 V"
amps = 12
volts = 115
legs = "A"
"""
D2A = """
area_ft2 = 1500
[[cooking]]
kw = 12
[[dryer]]
kw = 5
[[appliance]]
name = "water heater"
kw = 2.5
[[appliance]]
name = "dishwasher"
kw = 1.2
volts = 120
[[heating]]
kind = "separate"
units = 5
kw = 9
[[cooling]]
name = "room air conditioner"
amps = 6
volts = 230
"""
D2C = """
area_ft2 = 2000
[[cooking]]
kw = 12
[[dryer]]
kw = 5
[[appliance]]
name = "water heater"
kw = 4.5
[[appliance]]
name = "dishwasher"
kw = 1.2
volts = 120
[[heating]]
kind = "heat pump"
amps = 24
volts = 240
supplementary_kw = 15
"""


def sheet(facts: str, method: str) -> dict[str, Any]:
    args = ["calc", "-", "--edition", "2017", "--method", method, "--json"]
    done = CliRunner().invoke(app, args, input=facts)
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)["methods"][0]["worksheets"][-1]
    return found


@pytest.mark.parametrize(
    ("facts", "method", "total_va", "rating_a", "neutral_a"),
    [
        # NEC Informative Annex D, 2005 text: Examples D1(a), D2(a), D2(c).
        (D1, "standard", 18_600, 100, 60.6),
        (D2A, "optional", 21_480, 100, 64.2),
        (D2C, "optional", 34_790, 150, None),
    ],
)
def test_published_totals(
    facts: str, method: str, total_va: float, rating_a: float, neutral_a: float | None
) -> None:
    found = sheet(facts, method)
    assert found["total_va"] == pytest.approx(total_va)
    assert found["service_rating_a"] == rating_a
    if neutral_a is not None:
        assert found["neutral_current_a"] == pytest.approx(neutral_a, abs=0.05)


def test_leg_by_leg_from_a_file() -> None:
    # NEC Informative Annex D, Example D1(b), 2005 text.
    found = sheet(D1 + D1B, "standard")
    assert found["leg_current_a"] == {"A": 99.0, "B": 104.0}
    assert found["neutral_current_a"] == 83.0
    assert found["service_rating_a"] == 110.0


def test_a_furnace_blower_among_the_appliances_is_a_stated_choice() -> None:
    blower = '[[appliance]]\nname = "furnace blower"\namps = 5\nvolts = 120\n'
    assert any(
        "opinions differ on the blower" in t for t in sheet(D1 + blower, "standard")["choices"]
    )
