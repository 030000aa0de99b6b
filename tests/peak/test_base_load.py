"""Base load from the lowest hour of each night, against plain arithmetic."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from loadlib.peak import Interval
from loadlib.peak.base_load import night_base

START = datetime(2025, 1, 1, tzinfo=ZoneInfo("Europe/London"))


def days(count: int, night_w: float) -> np.ndarray:
    """Half hours [kWh]: a refrigerator that comes and goes at night, more by day."""
    kwh = np.full((count, 48), 0.6)
    kwh[:, 2:12:2] = (night_w + 60.0) / 2000.0
    kwh[:, 3:13:2] = (night_w - 60.0) / 2000.0
    return kwh


def test_the_lowest_hour_not_the_lowest_reading() -> None:
    found = night_base(Interval(START, 1800, days(20, 200.0).ravel()))
    assert found is not None
    assert (found.low_w, found.typical_w, found.high_w) == pytest.approx((200.0, 200.0, 200.0))
    assert found.nights == 20


def test_a_charger_in_some_nights_moves_the_high_point_only() -> None:
    kwh = days(20, 200.0)
    kwh[::5, :14] += 1.5
    found = night_base(Interval(START, 1800, kwh.ravel()))
    assert found is not None
    assert found.typical_w == pytest.approx(200.0)
    assert found.high_w == pytest.approx(3200.0)


def test_nights_with_a_gap_do_not_count() -> None:
    kwh = days(5, 200.0)
    kwh[:3, 6] = np.nan
    assert night_base(Interval(START, 1800, kwh.ravel())) is None
    kwh[0, 6] = 0.1
    found = night_base(Interval(START, 1800, kwh.ravel()))
    assert found is not None
    assert found.nights == 3


def test_steps_that_make_no_hour() -> None:
    assert night_base(Interval(START, 86_400, np.ones(30))) is None
    assert night_base(Interval(START, 7 * 300, np.ones(300))) is None
