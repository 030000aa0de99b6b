"""Degree-hours against the published definition of the degree-day."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadlib.core.degree_hours import (
    COOLING_BALANCE_C,
    HEATING_BALANCE_C,
    cooling_k,
    heating_k,
)

BASE_F = 65.0


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


@pytest.mark.parametrize(
    ("high_f", "low_f", "heating_f", "cooling_f"),
    [
        # Glossary of the United States weather service, "heating degree day": a high of 60 °F
        # and a low of 40 °F average 50, 15 heating degree-days to the base of 65 °F.
        (60.0, 40.0, 15.0, 0.0),
        # City of Burlington NC, "What are degree days?": 90 and 70 °F average 80, 15 cooling.
        (90.0, 70.0, 0.0, 15.0),
        # The base itself: neither.
        (70.0, 60.0, 0.0, 0.0),
    ],
)
def test_a_day_at_its_mean_is_the_published_degree_day(
    high_f: float, low_f: float, heating_f: float, cooling_f: float
) -> None:
    hours = np.full(24, celsius(0.5 * (high_f + low_f)))
    base = celsius(BASE_F)
    assert heating_k(hours, base).sum() / 24.0 * 1.8 == pytest.approx(heating_f, abs=1e-9)
    assert cooling_k(hours, base).sum() / 24.0 * 1.8 == pytest.approx(cooling_f, abs=1e-9)


def test_balance_temperatures_are_the_published_ones() -> None:
    """Typical: the weather service's 65 °F. For heating 55 to 65 °F are what practice chooses,
    the United Kingdom's 15.5 °C among them."""
    for balance in (HEATING_BALANCE_C, COOLING_BALANCE_C):
        assert balance.typical == pytest.approx(celsius(65.0), abs=0.05)
    assert HEATING_BALANCE_C.low == pytest.approx(celsius(55.0), abs=0.05)
    assert HEATING_BALANCE_C.low < 15.5 < HEATING_BALANCE_C.high


def test_missing_temperatures_stay_missing() -> None:
    assert np.isnan(heating_k(np.array([np.nan]), 18.3)).all()
    assert np.isnan(cooling_k(np.array([np.nan]), 18.3)).all()


@given(st.floats(-60.0, 60.0), st.floats(-10.0, 30.0))
def test_heating_less_cooling_is_the_distance_from_the_balance(
    outdoor_c: float, base: float
) -> None:
    heat, cool = float(heating_k(outdoor_c, base)), float(cooling_k(outdoor_c, base))
    assert min(heat, cool) == 0.0
    assert heat - cool == pytest.approx(base - outdoor_c)


@given(st.lists(st.floats(-40.0, 45.0), min_size=24, max_size=24))
def test_hours_of_a_day_count_at_least_what_its_mean_counts(day: list[float]) -> None:
    """A day that swings about the balance temperature has degree-hours though its mean has none
    (Jensen's inequality: the excess is a convex function)."""
    hours = np.array(day)
    assert heating_k(hours, 18.3).mean() >= float(heating_k(hours.mean(), 18.3)) - 1e-9
    assert cooling_k(hours, 18.3).mean() >= float(cooling_k(hours.mean(), 18.3)) - 1e-9
