"""Published worked examples of clamp readings, legs and neutrals, through the product.

Sources stand beside each check: instrument application notes and FAQs (makers withheld),
reference pages on RMS, and public questions of people who measured (``clamp_scenarios.json``).
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from loadlib.clamp.mistakes import check_reading, target_of
from loadlib.clamp.spot import (
    CREST_FACTOR_SINE,
    FORM_FACTOR_SINE,
    amps_of,
    imbalance_share,
    power_band_w,
    power_of,
    reactive_var,
)
from loadlib.core.electrical import neutral_a, system
from loadlib.core.household import Circuit, House
from loadlib.core.ranges import Range
from loadlib.core.readings import Reading

SPLIT = system("120/240")
HOUSE = House(
    "worked",
    circuits=(Circuit("range", (1, 3), "AB", 50.0), Circuit("heater", (2, 4), "AB", 30.0)),
)
SCENARIOS = {
    row["id"]: row
    for row in json.loads((Path(__file__).parent / "clamp_scenarios.json").read_text("utf-8"))[
        "scenarios"
    ]
}


def exact(**fields: object) -> Reading:
    """A reading without instrument doubt, to compare with arithmetic."""
    return Reading("circuit range", "clamp", band_share=0.0, band_digits=0.0, **fields)  # type: ignore[arg-type]


def test_power_from_current_voltage_and_power_factor() -> None:
    """P = V I cos φ: 12 A at 240 V and 0.85 (from memory; arithmetic)."""
    reading = exact(amps=12.0, volts=240.0, legs=("A",))
    found = power_of(reading, SPLIT, ("A", "B"), Range.exact(0.85))
    assert found.apparent_va.typical == pytest.approx(2880.0, abs=0.5)
    assert found.real_w.typical == pytest.approx(2448.0, abs=0.5)
    assert reactive_var(2880.0, 2448.0) == pytest.approx(1517.0, abs=1.0)


def test_two_unequal_legs() -> None:
    """18.2 and 9.6 A at 120 V: 3,336 W, 8.6 A in the neutral, 30.9 % imbalance (arithmetic)."""
    reading = exact(legs=("A", "B"), leg_amps=(18.2, 9.6), leg_volts=(120.0, 120.0))
    found = power_of(reading, SPLIT, ("A", "B"), Range.exact(1.0))
    assert found.real_w.typical == pytest.approx(3336.0, abs=1.0)
    assert neutral_a(SPLIT, (18.2, 9.6)) == pytest.approx(8.6, abs=0.05)
    assert 100.0 * imbalance_share(18.2, 9.6) == pytest.approx(30.9, abs=0.2)


@pytest.mark.parametrize(
    ("share", "digits", "low", "high"), [(0.02, 2.0, 97.8, 102.2), (0.03, 0.0, 97.0, 103.0)]
)
def test_accuracy_band(share: float, digits: float, low: float, high: float) -> None:
    """Instrument application note: 100.0 A at 2 % + 2 counts of 0.1 A, and at 3 %."""
    reading = Reading("leg A", "clamp", amps=100.0, band_share=share, band_digits=digits, digit=0.1)
    found = amps_of(reading)
    assert (found.low, found.high) == (pytest.approx(low, abs=0.01), pytest.approx(high, abs=0.01))


def test_combined_power_error() -> None:
    """Instrument FAQ: 0.5 % of 1.0 kW plus 0.6 % of a 6 kW range is 0.041 kW."""
    found = power_band_w(1000.0, 0.005, 0.006, 6000.0)
    assert found.high - found.typical == pytest.approx(41.0, abs=1.0)


def test_wave_shape_constants() -> None:
    """Reference pages on RMS: crest factor 1.414, form factor 1.111 of a sine."""
    assert pytest.approx(1.414, abs=0.001) == CREST_FACTOR_SINE
    assert pytest.approx(1.111, abs=0.002) == FORM_FACTOR_SINE
    wave = np.sin(np.linspace(0.0, 2.0 * np.pi, 100_001))
    rms = float(np.sqrt(np.mean(wave**2)))
    assert float(wave.max()) / rms == pytest.approx(CREST_FACTOR_SINE, abs=1e-3)
    assert rms / float(np.abs(wave).mean()) == pytest.approx(FORM_FACTOR_SINE, abs=1e-3)


def test_scenario_what_doubles_on_240_volts() -> None:
    """S-01: power doubles, the current does not."""
    want = SCENARIOS["S-01"]["expect"]
    given = SCENARIOS["S-01"]["inputs"]
    reading = exact(amps=float(given["clamp_a"]), volts=float(given["volts_leg"]), legs=("A",))
    found = power_of(reading, SPLIT, ("A", "B"), Range.exact(1.0))
    assert found.real_w.typical == pytest.approx(want["w"]["value"], abs=want["w"]["tol"])
    assert amps_of(reading).typical == pytest.approx(want["a"]["value"], abs=want["a"]["tol"])
    doubts = check_reading(reading, HOUSE, target_of("circuit range", HOUSE))
    assert any("the current stays 20 A" in doubt.words for doubt in doubts)


def test_scenario_one_clamp_on_one_leg_of_a_range() -> None:
    """S-17: half of the appliance was measured; volt-amperes are not watts."""
    given, want = SCENARIOS["S-17"]["inputs"], SCENARIOS["S-17"]["expect"]
    amps, volts = given["clamp_a"], (given["leg_v"], given["other_leg_v"])
    both = exact(amps=amps, legs=("A", "B"), leg_amps=(amps, amps), leg_volts=volts)
    found = power_of(both, SPLIT, ("A", "B"), Range.exact(1.0))
    assert found.apparent_va.typical == pytest.approx(
        want["va_both"]["value"], abs=want["va_both"]["tol"]
    )
    factor = given["real_w_one_leg"] / (amps * given["leg_v"])
    assert factor == pytest.approx(want["pf_one_leg"]["value"], abs=want["pf_one_leg"]["tol"])
    scaled = power_of(both, SPLIT, ("A", "B"), Range.exact(factor))
    assert scaled.real_w.typical == pytest.approx(
        want["w_both"]["value"], abs=want["w_both"]["tol"]
    )
    mixed = exact(amps=amps, watts=given["real_w_one_leg"], legs=("A",))
    doubts = check_reading(mixed, HOUSE, target_of("circuit range", HOUSE))
    assert doubts[0].weight == "stop"
    assert "watts of one leg over the volt-amperes of both" in doubts[0].words
