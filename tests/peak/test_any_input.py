"""Whatever is given: a range that arithmetic allows, or an InputError."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.peak import Interval, in_words, peak_from_bills, peak_from_series
from loadlib.peak.estimate import PeakEstimate
from loadlib.peak.periods import Period

FIRST = date(2024, 1, 1)
WINDOWS = st.sampled_from([15, 30, 60])


@st.composite
def periods(draw: st.DrawFn) -> list[Period]:
    made, day = [], FIRST
    for _ in range(draw(st.integers(1, 30))):
        day += timedelta(days=draw(st.sampled_from([0, 0, 0, 5])))
        after = day + timedelta(days=draw(st.sampled_from([1, 7, 28, 30, 31, 61, 365])))
        made.append((day, after, draw(st.sampled_from([0.0, 1e-6, 3.0, 250.0, 900.0, 1e4]))))
        day = after
    return made


@st.composite
def readings(draw: st.DrawFn) -> Interval:
    step_s = draw(st.sampled_from([900, 1800, 3600]))
    days = draw(st.integers(1, 40))
    rng = np.random.default_rng(draw(st.integers(0, 5)))
    scale = draw(st.sampled_from([0.0, 1e-4, 0.2, 20.0]))
    kwh = scale * rng.gamma(0.5, 1.0, days * 86_400 // step_s)
    kwh[rng.random(kwh.size) < draw(st.sampled_from([0.0, 0.001, 0.3]))] = np.nan
    kwh[:4] = scale
    start = datetime(2024, 1, 1, tzinfo=UTC) + timedelta(days=draw(st.integers(-20, 60)))
    return Interval(start, step_s, kwh)


def check(found: PeakEstimate) -> None:
    assert len(found.by_period) == len(found.periods)
    for one in found.by_period:
        assert 0.0 <= one.low <= one.typical <= one.high
        assert one.low <= found.overall.low + 1e-6
        assert one.high <= found.overall.high + 1e-6
    assert in_words(found)


@given(periods(), WINDOWS, st.none() | readings())
@settings(max_examples=150, deadline=None)
def test_bills_of_any_kind(bills: list[Period], window: int, interval: Interval | None) -> None:
    found = peak_from_bills(bills, window, interval=interval)
    check(found)
    for (first, after, kwh), one in zip(bills, found.by_period, strict=True):
        assert one.high >= 1000.0 * kwh / (24.0 * (after - first).days) - 1e-6


@given(readings(), WINDOWS)
@settings(max_examples=100, deadline=None)
def test_series_of_any_kind(interval: Interval, window: int) -> None:
    found = peak_from_series(interval.start, interval.step_s, interval.kwh, window)
    check(found)
    if not np.isnan(interval.kwh).any() and window * 60 >= interval.step_s:
        assert all(one.is_exact for one in found.by_period)
