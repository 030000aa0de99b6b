"""Upper bounds, running current and start of a plate."""

from __future__ import annotations

import pytest

from loadlib.labels import (
    RunningAmps,
    contradictions,
    plate_is_consistent,
    read_label,
    running_a_bounds,
    start_va,
    upper_bound_va,
)
from loadlib.labels.checks import expected_mca


def test_code_letter_half_hp() -> None:
    """NEC Table 430.7(B): 1/2 hp, letter L, 115 V: 4.5 to 4.995 kVA, 39.1 to 43.4 A.

    Band and sum as on engineeringtoolbox.com/locked-rotor-code-d_917.html.
    """
    start = start_va(read_label("1/2 HP 115V 1PH CODE L"))
    assert start is not None
    assert (start.low, start.high) == pytest.approx((4500.0, 4995.0))
    assert start.low / 115.0 == pytest.approx(39.1, abs=0.1)
    assert start.high / 115.0 == pytest.approx(43.4, abs=0.1)


def test_code_letter_20_hp_three_phase() -> None:
    """20 hp, 240 V, three phases, letter G: midpoint 286 A, maximum 302.6 A.

    An exam question worked with the middle of the band (askfilo.com, 3430323936313431).
    """
    start = start_va(read_label("20 HP 240V 3PH CODE G"))
    assert start is not None
    root = 3.0**0.5
    assert start.typical / (240.0 * root) == pytest.approx(286.0, abs=0.5)
    assert start.high / (240.0 * root) == pytest.approx(302.6, abs=0.5)


def test_letter_v_has_no_top_and_gives_no_start() -> None:
    assert start_va(read_label("1/4 HP 115V CODE V")) is None


def test_locked_rotor_amps_come_before_the_code_letter() -> None:
    start = start_va(read_label("1/2 HP 230V 1PH LRA 34.5 CODE K"))
    assert start is not None
    assert start.typical == pytest.approx(34.5 * 230.0)


def test_running_bounds_from_ampacity_and_fuse() -> None:
    """L + R between 0.8 × MCA and MCA − 0.25 × (MOCP − MCA): here L >= 11, so 36.25."""
    bounds = running_a_bounds(read_label("230/208-1 MCA 39 MAX FUSE 50"))
    assert bounds == RunningAmps(31.2, 36.25, "mca and mocp")


@pytest.mark.parametrize(
    ("text", "high_a"),
    [
        pytest.param("230V MCA 11 MAX FUSE 15", 11.0, id="15 A is a floor"),
        pytest.param("230V MCA 20 MAX FUSE 45", 20.0, id="fuse beyond the rule"),
        pytest.param("230V MCA 14.9", 14.9, id="no fuse"),
    ],
)
def test_a_fuse_that_bounds_nothing(text: str, high_a: float) -> None:
    bounds = running_a_bounds(read_label(text))
    assert bounds is not None
    assert (bounds.high_a, bounds.basis) == (high_a, "mca")


@pytest.mark.parametrize(("largest_a", "rest_a"), [(16.0, 1.0), (24.4, 1.4), (12.0, 0.0)])
def test_bounds_hold_for_plates_made_by_the_rule(largest_a: float, rest_a: float) -> None:
    """Build MCA and the greatest fuse from known motors; the truth lies within the bounds."""
    mca = 1.25 * largest_a + rest_a
    mocp = max(size for size in range(15, 100, 5) if size <= 2.25 * largest_a + rest_a)
    bounds = running_a_bounds(read_label(f"230V MCA {mca:.2f} MOCP {mocp}"))
    assert bounds is not None
    assert bounds.low_a - 0.01 <= largest_a + rest_a <= bounds.high_a + 0.01


@pytest.mark.parametrize(
    ("text", "volts", "va"),
    [
        ("115V 6.5A", None, 747.5),
        ("6.5A", None, None),
        ("6.5A", 120.0, 780.0),
        ("850VA 120V 9A", None, 850.0),
        ("100-240V~ 50/60Hz 1.5A", 120.0, 150.0),
        ("115/230V 13.8/6.9A 1HP", 240.0, 6.9 * 230.0),
        ("115/230V 13.8/6.9A 1HP", 120.0, 13.8 * 115.0),
        ("115V 230V 10A", 120.0, None),
        ("3~ 400V 3.4A 1.5kW 50Hz", None, 400.0 * 3.4 * 3.0**0.5),
        ("1500W 120V", None, None),
        ("15A 125V", None, None),
    ],
)
def test_upper_bound(text: str, volts: float | None, va: float | None) -> None:
    bound = upper_bound_va(read_label(text), volts)
    assert bound == (None if va is None else pytest.approx(va, rel=1e-6))


def test_both_forms_of_ampacity_are_allowed() -> None:
    """1.25 × largest + rest = 26.2; with 9.6 kW heat on the circuit 1.25 × all = 76.25."""
    motors = read_label("240V RLA 20 FAN FLA 1 MCA 26 MOCP 45")
    assert expected_mca(motors) == pytest.approx((26.0, 26.25))
    assert plate_is_consistent(motors) is True
    heat = read_label("240V RLA 20 FAN FLA 1 AUX HEAT 9.6kW MCA 76.3 MOCP 80")
    assert expected_mca(heat) == pytest.approx((26.0, 76.25))
    assert plate_is_consistent(heat) is True


@pytest.mark.parametrize(
    "text",
    [
        "2400W 120V 12A",
        "230V RLA 20 FAN FLA 1 MCA 36 MOCP 45",
        "230V RLA 20 MCA 21 MOCP 30",
        "230V MCA 30 MOCP 25",
        "230V RLA 20 LRA 12",
        "5HP 120V 15A",
        "600VA 750W 120V",
        "1800 BTU 115V 9A",
    ],
)
def test_contradictions_are_flagged_and_asked(text: str) -> None:
    label = read_label(text)
    assert contradictions(label)
    assert plate_is_consistent(label) is False
    assert label.ask
    assert set(contradictions(label)) <= set(label.doubts)


@pytest.mark.parametrize("text", ["115V 6.5A", "1500W", "LRA 93 amps"])
def test_nothing_to_hold_against_each_other(text: str) -> None:
    assert plate_is_consistent(read_label(text)) is None


def test_heater_btu_is_no_misprint() -> None:
    """A 1500 W heater gives 5118 BTU/h (3.412 BTU per Wh)."""
    assert plate_is_consistent(read_label("1500W 120V 12.5A 5118 BTU")) is True


@pytest.mark.parametrize(
    ("text", "wide", "most"),
    [
        ("100-240V~ 1.5A", True, 150.0),
        ("110-127V 60Hz 2A", True, 220.0),
        ("115V 230V 10A", False, None),
        ("220-240V 10A", False, 2400.0),
    ],
)
def test_only_a_span_of_levels_is_a_wide_range(text: str, wide: bool, most: float | None) -> None:
    """The current of a wide-range supply belongs to the lowest voltage."""
    label = read_label(text)
    assert label.wide_range is wide
    assert upper_bound_va(label) == (None if most is None else pytest.approx(most))
