"""Peak from interval data: measured maxima against arithmetic, gaps, clock changes, bad input."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.errors import InputError
from loadlib.peak import Interval, in_words, peak_from_series
from loadlib.peak.measured import day_table, highest
from loadlib.peak.series import whole_months

LONDON = ZoneInfo("Europe/London")
START = datetime(2025, 1, 1, tzinfo=LONDON)


def noise(slots: int, seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).gamma(1.0, 0.25, slots)


def test_measured_maximum_is_exact_with_time_and_floating_bound() -> None:
    kwh = np.full(96, 0.1)
    kwh[[20, 21, 50]] = 1.0, 0.5, 1.2
    found = peak_from_series(datetime(2025, 5, 1, tzinfo=LONDON), 900, kwh, 15)
    assert found.overall.is_exact
    assert found.overall.typical == pytest.approx(4800.0)
    best = found.measured[0]
    assert best is not None
    assert best.at == datetime(2025, 5, 1, 12, 30, tzinfo=LONDON)
    # 1.0 and 0.5 kWh side by side: a quarter hour between them may have drawn 1.5 kWh.
    assert best.floating_bound_w == pytest.approx(6000.0)


def test_longer_windows_take_the_best_run_and_tell_the_clock_s() -> None:
    kwh = np.full(48, 0.1)
    kwh[[21, 22]] = 1.0  # 10:30 to 11:30, across the clock hour
    found = peak_from_series(datetime(2025, 5, 1, tzinfo=LONDON), 1800, kwh, 60)
    best = found.measured[0]
    assert best is not None
    assert best.peak_w == pytest.approx(2000.0)
    assert best.clock_w == pytest.approx(1100.0)


def test_months_are_those_of_the_house() -> None:
    found = peak_from_series(START, 1800, noise(48 * 80), 30)
    assert [p[0] for p in found.periods] == [date(2025, 1, 1), date(2025, 2, 1), date(2025, 3, 1)]
    assert sum(p[2] for p in found.periods) == pytest.approx(noise(48 * 80).sum())
    assert found.overall.typical == max(r.typical for r in found.by_period)


def test_clock_changes_move_no_reading_to_another_day() -> None:
    """Europe/London 2025: 30 March has 23 hours, 26 October 25."""
    kwh = np.full(8760, 1.0)
    interval = Interval(START, 3600, kwh)
    assert len(interval.days()) == 365
    counts = {}
    for day in (date(2025, 3, 30), date(2025, 10, 26), date(2025, 6, 1)):
        low, high = interval.cut(day, date.fromordinal(day.toordinal() + 1))
        counts[day] = high - low
    assert list(counts.values()) == [23, 25, 24]
    assert day_table(interval, 60).mean_kw == pytest.approx(np.ones(365))


def test_below_the_step_a_ratio_with_a_range() -> None:
    kwh = noise(24 * 31)
    hour = peak_from_series(START, 3600, kwh, 60).overall
    half = peak_from_series(START, 3600, kwh, 30)
    quarter = peak_from_series(START, 3600, kwh, 15).overall
    assert hour.typical < half.overall.typical < quarter.typical
    assert hour.typical <= half.overall.low
    assert half.overall.high <= 2.0 * hour.typical
    assert quarter.high <= 4.0 * hour.typical
    assert any("ratio" in note for note in half.notes)


def test_a_gap_only_widens_upwards_and_is_told() -> None:
    kwh = noise(48 * 31)
    whole = peak_from_series(START, 1800, kwh, 30).overall
    gap = kwh.copy()
    gap[200:900] = np.nan
    found = peak_from_series(START, 1800, gap, 30)
    seen = 2000.0 * np.nanmax(gap)
    assert found.overall.low >= seen - 1e-9
    assert found.overall.high > seen
    assert found.overall.low <= whole.typical <= found.overall.high
    assert any("700 slots" in note for note in found.notes)


def test_one_missing_slot_of_a_month_leaves_the_typical_where_it_was() -> None:
    kwh = noise(48 * 31)
    kwh[1000] = 6.0
    holed = kwh.copy()
    holed[30] = np.nan
    assert peak_from_series(START, 1800, holed, 30).overall.typical == pytest.approx(12_000.0)


def test_a_month_without_a_reading_is_estimated_from_the_others() -> None:
    kwh = noise(48 * 90)
    kwh[48 * 31 : 48 * 59] = np.nan
    found = peak_from_series(START, 1800, kwh, 30)
    assert found.measured[1] is None
    assert not found.by_period[1].is_exact
    assert found.by_period[1].low > 0.0


def test_short_windows_are_measured_and_gaps_then_only_bound_from_below() -> None:
    kwh = noise(1440) / 60.0
    found = peak_from_series(START, 60, kwh, 1)
    assert found.overall.typical == pytest.approx(60_000.0 * kwh.max())
    kwh[5] = np.nan
    assert any("lower bound" in n for n in peak_from_series(START, 60, kwh, 1).notes)


def test_daily_energies_give_calendar_months() -> None:
    found = peak_from_series(START, 86_400, 8.0 + noise(365), 30)
    assert len(found.by_period) == 12
    assert "daily energies" in in_words(found)
    six_hours = peak_from_series(START, 21_600, 2.0 + noise(4 * 59), 30)
    assert len(six_hours.by_period) == 2


def test_season_of_a_series() -> None:
    kwh = noise(48 * 90)
    kwh[48 * 40] = 7.0
    assert peak_from_series(START, 1800, kwh, 30, season={2}).season is not None
    january = peak_from_series(START, 1800, kwh, 30, season={1}).season
    assert january is not None
    assert january.typical < 14_000.0
    with pytest.raises(InputError, match="no month of the season"):
        peak_from_series(START, 1800, kwh, 30, season={8})


def test_a_year_gives_the_words() -> None:
    text = in_words(peak_from_series(START, 1800, noise(48 * 365), 30))
    assert "Measured" in text
    assert "start surge" in text


@given(st.lists(st.floats(0.0, 5.0), min_size=8, max_size=96), st.sampled_from([1, 2, 4]))
@settings(max_examples=60, deadline=None)
def test_highest_is_the_highest_of_all_runs(values: list[float], count: int) -> None:
    interval = Interval(datetime(2025, 5, 1, tzinfo=UTC), 900, np.array(values))
    found = highest(interval, 15 * count, date(2025, 5, 1), date(2025, 5, 3))
    assert found is not None
    runs = [sum(values[k : k + count]) for k in range(len(values) - count + 1)]
    assert found.peak_w == pytest.approx(1000.0 * max(runs) / (count / 4.0), abs=1e-6)
    assert found.clock_w <= found.peak_w + 1e-6
    wider = [sum(values[max(k - 1, 0) : k + count]) for k in range(len(values) - count + 2)]
    assert found.floating_bound_w <= 1000.0 * max(wider) / (count / 4.0) + 1e-6
    assert found.floating_bound_w >= found.peak_w - 1e-9


def test_a_start_without_a_zone_is_taken_as_it_stands_and_told() -> None:
    kwh = noise(48 * 40)
    told = peak_from_series(datetime(2025, 1, 1), 1800, kwh, 30)
    aware = peak_from_series(datetime(2025, 1, 1, tzinfo=UTC), 1800, kwh, 30)
    assert told.by_period == aware.by_period
    assert "no time zone" in told.notes[-1]
    assert not any("no time zone" in note for note in aware.notes)
    with pytest.raises(InputError, match="no time zone"):
        Interval(datetime(2025, 1, 1), 1800, kwh)


@pytest.mark.parametrize(
    ("start", "kwh"),
    [
        ("2025-01-01T00:00+00:00", noise(96).tolist()),
        (np.datetime64("2025-01-01"), noise(96).astype(np.float32)),
        (date(2025, 1, 1), tuple(noise(96))),
        (START, np.ma.masked_invalid(noise(96))),
        (START, noise(96).astype(object)),
        (START, np.concatenate([noise(95), [-1e-12]])),
    ],
    ids=["ISO text", "numpy", "a date", "masked", "objects", "less than nothing by rounding"],
)
def test_starts_and_numbers_of_any_make(start: Any, kwh: Any) -> None:
    found = peak_from_series(start, 900, kwh, 15)
    assert found.overall.typical == pytest.approx(4000.0 * float(noise(96).max()), rel=1e-6)


def test_whole_months_only_count_when_every_slot_is_there() -> None:
    kwh = np.full(48 * (31 + 28 + 31) - 2, 0.5)  # London loses an hour on 30 March 2025
    kwh[48 * 40] = np.nan
    months = whole_months(Interval(START, 1800, kwh))
    assert [(first.month, after.month) for first, after, _ in months] == [(1, 2), (3, 4)]
    assert [energy for *_, energy in months] == [31 * 24.0, 31 * 24.0 - 1.0]
    assert whole_months(Interval(datetime(2025, 1, 2, tzinfo=LONDON), 1800, kwh[:1000])) == ()


@pytest.mark.parametrize(
    ("start", "step", "kwh", "window", "match"),
    [
        (1_735_689_600, 1800, [1.0], 30, "no moment"),
        (datetime(9999, 12, 30, tzinfo=LONDON), 1800, [1.0], 30, "start 9999"),
        (START, "900", [1.0], 30, "step '900'"),
        (START, 1800, ["many"], 30, "not all energies are numbers"),
        (START, 1800, [1e6], 30, "no house"),
        (START, 1800, [1.0], "30", "window '30'"),
        (START, 0, [1.0], 30, "step 0"),
        (START, 1800, [], 30, "shape"),
        (START, 1800, [[1.0], [2.0]], 30, "shape"),
        (START, 1800, [np.nan, np.nan], 30, "every slot is missing"),
        (START, 1800, [1.0, -0.2], 30, "slot 1 holds -0.2"),
        (START, 1800, [1.0, np.inf], 30, "slot 1 holds inf"),
        (START, 1800, [1.0, 2.0], 45, "cannot be taken"),
        (START, 1800, [1.0, 2.0], 1, "cannot be taken"),
        (START, 1800, [1.0, 2.0], 0, "cannot be taken"),
        (START, 1800, [1.0, np.nan], 60, "no complete window"),
        (START, 7000, [1.0] * 20, 60, "do not divide a day"),
        (START, 43_200, [1.0, np.nan], 60, "no complete day"),
        (START, 86_400, [1.0] * 40, 5, "no calibrated peak"),
    ],
)
def test_bad_series(start: Any, step: Any, kwh: list, window: Any, match: str) -> None:
    with pytest.raises(InputError, match=match):
        peak_from_series(start, step, kwh, window)
