"""Bands, volts and power of spot readings."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from loadlib.clamp.spot import (
    amps_of,
    energy_of,
    power_of,
    product,
    volts_of,
    watts_of,
    with_band,
)
from loadlib.core.electrical import system
from loadlib.core.ranges import Range
from loadlib.core.readings import Reading
from loadlib.errors import InputError

SPLIT = system("120/240")


def clamp(**fields: object) -> Reading:
    return Reading("leg A", "clamp", **fields)  # type: ignore[arg-type]


def test_turns_divide_what_is_shown() -> None:
    """Ten turns through the jaw show ten times the current, and a tenth of the digits."""
    once, ten = amps_of(clamp(amps=2.0)), amps_of(clamp(amps=20.0, turns=10))
    assert ten.typical == pytest.approx(2.0)
    assert ten.high - ten.low < once.high - once.low


def test_a_band_never_goes_below_zero_amps() -> None:
    assert amps_of(clamp(amps=0.2)).low == 0.0


def test_volts_are_nominal_with_a_wide_band_or_as_read_with_a_narrow_one() -> None:
    assert volts_of(None, 120.0).high == pytest.approx(126.0)
    assert volts_of(117.0, 120.0).high == pytest.approx(118.17)


@pytest.mark.parametrize("factor", [Range(0.8, 0.93, 1.0), Range.exact(1.0)])
def test_real_power_never_exceeds_apparent(factor: Range) -> None:
    found = power_of(clamp(amps=10.0), SPLIT, ("A",), factor)
    assert found.real_w.high <= found.apparent_va.high
    assert found.real_w.typical == pytest.approx(1200.0 * factor.typical)


def test_volts_to_neutral_of_a_load_on_two_legs_count_twice() -> None:
    reading = clamp(amps=10.0, volts=118.0, legs=("A",), band_share=0.0, band_digits=0.0)
    found = power_of(reading, SPLIT, ("A", "B"), Range.exact(1.0))
    assert found.apparent_va.typical == pytest.approx(2360.0)


def test_line_volts_that_were_read_count_once() -> None:
    reading = clamp(amps=10.0, volts=236.0, legs=("A",))
    assert power_of(reading, SPLIT, ("A", "B"), Range.exact(1.0)).apparent_va.typical == 2360.0


def test_watts_that_were_read_stand() -> None:
    reading = clamp(amps=10.0, watts=1100.0, digit=1.0)
    assert power_of(reading, SPLIT, ("A",), Range(0.6, 0.9, 1.0)).real_w.typical == 1100.0


def test_a_difference_of_displays_has_the_digits_of_both_and_the_gain_of_one() -> None:
    """Errors of gain are common to both looks: 2 % of 930 W, not of 2,840 W."""
    reading = Reading(
        "whole",
        "utility meter",
        watts=2840.0,
        watts_after=1910.0,
        band_share=0.02,
        band_digits=1.0,
        digit=10.0,
    )
    found = watts_of(reading)
    assert found.typical == pytest.approx(930.0)
    assert found.high - found.typical == pytest.approx(math.hypot(18.6, 10.0 * math.sqrt(2.0)))


def test_products_add_relative_doubts_in_quadrature() -> None:
    found = product(Range(97, 100, 103), Range(116, 120, 124))
    assert found.high == pytest.approx(12_000.0 * (1.0 + math.hypot(0.03, 1.0 / 30.0)))
    assert product(Range(0, 0, 1), Range(110, 120, 130)).low == 0.0


def test_a_band_around_a_value() -> None:
    assert with_band(-3.0, 0.1) == Range(-3.3, -3.0, -2.7)


def test_watts_beside_amps_have_their_own_last_digit() -> None:
    """122 W in three figures: its last digit is 1 W, whatever the amps' was."""
    reading = Reading(
        "leg A", "clamp", amps=1.2, watts=122.0, band_share=0.02, band_digits=3, digit=0.1
    )
    assert amps_of(reading).high == pytest.approx(1.2 + 0.024 + 0.3)
    assert watts_of(reading).high == pytest.approx(122.0 + 2.44 + 3.0)


@pytest.mark.parametrize(
    ("fields", "half_wh"),
    [
        ({"digit": 100.0, "band_digits": 1.0}, 0.02 * 1600.0 + 100.0),
        ({"digit": 1.0, "band_digits": 1.0, "watts": 120.0}, 0.02 * 1600.0 + 10.0),
        ({"digit": 0.1, "band_digits": 1.0, "band_share": 0.0}, 1.0),
    ],
)
def test_energy_has_the_last_digit_of_its_display(fields: dict[str, float], half_wh: float) -> None:
    reading = Reading("whole", "plug meter", energy_wh=1600.0, period_s=86_400.0, band_share=0.02)
    reading = replace(reading, **fields)  # type: ignore[arg-type]  # fields of the reading
    assert energy_of(reading).high == pytest.approx(1600.0 + half_wh)


def test_nothing_read_is_an_error() -> None:
    with pytest.raises(InputError, match="no amps"):
        amps_of(clamp(watts=5.0))
    with pytest.raises(InputError, match="no watts"):
        watts_of(clamp(amps=5.0))


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"amps": math.nan}, "amps is nan"),
        ({"amps": 1.0, "turns": 0}, "0 turns"),
        ({"amps": 1.0, "band_share": 2.0}, "a band of 200%"),
        ({"watts_after": 3.0}, "watts_after without watts"),
        ({"energy_wh": 100.0}, "energy 100 Wh over 0 s"),
        ({"energy_wh": -1.0, "period_s": 60.0}, "energy -1 Wh"),
        ({"amps": 1.0, "period_s": -5.0}, "a period of -5 s"),
        ({"leg_amps": (1.0, 2.0), "legs": ("A",)}, "2 values in leg_amps for 1 legs"),
    ],
)
def test_readings_that_cannot_be(fields: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        clamp(**fields)
