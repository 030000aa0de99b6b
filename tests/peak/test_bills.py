"""Peak from bills: measured homes, sense, words and bad input."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from loadlib.errors import InputError
from loadlib.peak import Interval, in_words, peak_from_bills
from loadlib.peak.periods import Period

LONDON = ZoneInfo("Europe/London")


def year(kwh: list[float], first_year: int = 2025) -> list[Period]:
    starts = [date(first_year, m, 1) for m in range(1, 13)] + [date(first_year + 1, 1, 1)]
    return [(a, b, e) for a, b, e in zip(starts, starts[1:], kwh, strict=False)]


def flat_week(kw: float, peak_kw: float, days: int = 8) -> Interval:
    """Half-hours at one level, with one higher half-hour each day; from Monday 3 March 2025."""
    kwh = np.full(days * 48, kw / 2.0)
    kwh[36::48] = peak_kw / 2.0
    return Interval(datetime(2025, 3, 3, tzinfo=LONDON), 1800, kwh)


@pytest.mark.parametrize("window", [30, 60])
def test_measured_months_lie_inside(london: dict, window: int) -> None:
    """Low Carbon London, eight homes: 90 % of months at least 85 % of the time, as one sample."""
    inside = []
    for bills, peaks in london.values():
        found = peak_from_bills(bills, window)
        inside += [
            r.low <= t <= r.high for r, t in zip(found.by_period, peaks[window], strict=True)
        ]
    assert len(inside) == 96
    assert 0.85 <= np.mean(inside) < 1.0


def test_measured_years_lie_inside(london: dict) -> None:
    """Six of eight at least: with nine in ten inside, fewer would happen once in 25 times."""
    inside = 0
    for bills, peaks in london.values():
        found = peak_from_bills(bills, 30).overall
        inside += found.low <= max(peaks[30]) <= found.high
    assert inside >= 6


def test_nine_hundred_kilowatt_hours() -> None:
    """The commonest question: 900 kWh in 30 days are 1.25 kW, and the peak is a range."""
    found = peak_from_bills([(date(2025, 6, 1), date(2025, 7, 1), 900.0)])
    assert found.average_w == 1250.0
    assert found.by_period == (found.overall,)
    assert 1250.0 < found.overall.low < found.overall.typical < found.overall.high < 24_000.0
    assert 2.0 < found.overall.factor < 6.0


def test_a_year_of_bills_narrows_a_month() -> None:
    bills = year([300, 280, 270, 250, 240, 230, 230, 240, 250, 270, 290, 310])
    alone = peak_from_bills(bills[3:4], 30).overall
    among = peak_from_bills(bills, 30).by_period[3]
    assert among.factor < alone.factor


def test_a_week_of_interval_data_narrows_months_it_does_not_lie_in() -> None:
    bills = year([300, 280, 270, 250, 240, 230, 230, 240, 250, 270, 290, 310])
    without = peak_from_bills(bills, 30)
    found = peak_from_bills(bills, 30, interval=flat_week(0.3, 3.0))
    assert found.by_period[9].factor < without.by_period[9].factor
    assert found.measured[2] is not None
    assert found.measured[2].peak_w == pytest.approx(3000.0)
    assert found.measured[9] is None
    assert found.by_period[2].low >= 3000.0


def test_a_period_wholly_measured_is_exact() -> None:
    kwh = 8 * (47 * 0.15 + 1.5)
    found = peak_from_bills(
        [(date(2025, 3, 3), date(2025, 3, 11), kwh)], 30, interval=flat_week(0.3, 3.0)
    )
    assert found.overall.is_exact
    assert found.overall.typical == pytest.approx(3000.0)


def test_shorter_windows_stand_higher_and_are_wider() -> None:
    bills = year([400.0] * 12)
    hour, half, quarter = (peak_from_bills(bills, w).overall for w in (60, 30, 15))
    assert hour.typical < half.typical < quarter.typical
    assert quarter.factor > half.factor


def test_overall_is_never_below_a_period() -> None:
    found = peak_from_bills(year([900, 100, 80, 70, 60, 60, 60, 60, 60, 70, 80, 900]), 30)
    for point in ("low", "typical", "high"):
        assert getattr(found.overall, point) >= max(getattr(r, point) for r in found.by_period)


def test_the_season_takes_its_days_only() -> None:
    bills = year([900, 850, 500, 400, 300, 250, 250, 250, 300, 400, 600, 850])
    winter = peak_from_bills(bills, 60, season={12, 1, 2}).season
    summer = peak_from_bills(bills, 60, season={6, 7, 8}).season
    assert winter is not None
    assert summer is not None
    assert winter.typical > summer.typical
    across = peak_from_bills([(date(2025, 1, 16), date(2025, 2, 16), 310.0)], 60, season={2})
    assert across.season is not None
    with pytest.raises(InputError, match="no billing period"):
        peak_from_bills(bills[:3], 60, season={7})


def test_daily_energies_narrow_the_year() -> None:
    rng = np.random.default_rng(4)
    kwh = 8.0 * np.exp(rng.normal(0.0, 0.3, 365))
    days = [
        (date(2025, 1, 1) + timedelta(days=k), date(2025, 1, 2) + timedelta(days=k), float(e))
        for k, e in enumerate(kwh)
    ]
    daily = peak_from_bills(days, 30)
    total = peak_from_bills([(date(2025, 1, 1), date(2026, 1, 1), float(kwh.sum()))], 30)
    assert daily.overall.factor < total.overall.factor
    assert len(daily.by_period) == 365
    assert "daily energies" in daily.rests_on


def test_a_large_home_is_called_unlike_and_its_band_is_wider() -> None:
    usual = peak_from_bills(year([300.0] * 12), 30)
    large = peak_from_bills(year([2500.0] * 12), 30)
    assert not usual.unfamiliar
    assert large.unfamiliar
    assert any("unlike" in note and "widened" in note for note in large.notes)
    assert large.by_period[0].factor > 1.3 * usual.by_period[0].factor


def test_empty_house() -> None:
    found = peak_from_bills([(date(2025, 1, 1), date(2025, 2, 1), 0.0)], 30)
    assert found.overall.typical == 0.0
    mixed = peak_from_bills(year([0.0] * 2 + [300.0] * 10), 30)
    assert mixed.by_period[0].high == 0.0
    assert mixed.overall.low > 0.0
    assert any("without any energy" in note for note in mixed.notes)


def test_no_point_breaks_arithmetic() -> None:
    """Peak ≥ mean, and no more than all the energy within one window."""
    for kwh in (0.001, 0.05, 1.0, 30.0, 300.0, 30_000.0):
        found = peak_from_bills([(date(2025, 1, 1), date(2025, 1, 31), kwh)], 30).overall
        assert found.low >= 1000.0 * kwh / 720.0 - 1e-9
        assert found.high <= 1000.0 * kwh / 0.5 + 1e-9


def test_answer_in_words_has_the_parts_and_the_table_s_numbers() -> None:
    found = peak_from_bills([(date(2025, 6, 1), date(2025, 7, 1), 300.0)], 30)
    text = in_words(found)
    assert "0.42 kW" in text
    assert "30-minute demand" in text
    assert "the energy of the period alone" in text
    best = found.sharper[0]
    assert best.factor_then < best.factor_now
    assert f"from a factor of {best.factor_now:.1f} to {best.factor_then:.1f}" in text
    assert "estimates with ranges" in text
    assert "one week of half-hourly data" in " ".join(s.evidence for s in found.sharper)


def test_gaps_and_long_records_are_said() -> None:
    bills = year([300.0] * 12)
    assert any("not billed" in n for n in peak_from_bills([*bills[:3], *bills[5:]]).notes)
    two_years = [*bills, *year([300.0] * 12, 2026)]
    assert any("more than a year" in n for n in peak_from_bills(two_years).notes)


def test_contradiction_with_the_bill_is_said() -> None:
    bill = [(date(2025, 3, 1), date(2025, 4, 1), 20.0)]
    found = peak_from_bills(bill, 30, interval=flat_week(2.0, 5.0))
    assert any("check both" in note for note in found.notes)
    assert found.overall.low >= 5000.0


def test_a_bill_far_above_its_own_measured_days_is_said() -> None:
    week = [(date(2025, 3, 3), date(2025, 3, 11), 500.0)]
    found = peak_from_bills(week, 30, interval=flat_week(0.2, 1.0))
    assert found.overall.typical == pytest.approx(500_000.0 / (8 * 24))
    assert any("far more energy than the interval data" in note for note in found.notes)


def test_less_than_a_week_sharpens_nothing_and_says_so() -> None:
    bills = year([300.0] * 12)
    found = peak_from_bills(bills, 30, interval=flat_week(0.3, 3.0, days=3))
    assert found.by_period[9] == peak_from_bills(bills, 30).by_period[9]
    assert any("less than a week" in note for note in found.notes)


def test_order_of_periods_does_not_matter() -> None:
    bills = year([float(200 + 10 * k) for k in range(12)])
    assert peak_from_bills(bills[::-1]).overall == peak_from_bills(bills).overall


JANUARY = (date(2025, 1, 1), date(2025, 2, 1))


@pytest.mark.parametrize(
    ("periods", "match"),
    [
        ([], "no billing period"),
        ([(*JANUARY, -5.0)], "energy is -5"),
        ([(*JANUARY, float("nan"))], "energy is nan"),
        ([(*JANUARY, float("inf"))], "energy is inf"),
        ([(date(2025, 1, 1), date(2025, 1, 1), 5.0)], "holds no day"),
        ([(date(2025, 2, 1), date(2025, 1, 1), 5.0)], "holds no day"),
        ([(*JANUARY, 5.0), (date(2025, 1, 20), date(2025, 2, 20), 5.0)], "overlap"),
        ([(date(1925, 1, 1), date(2025, 1, 1), 5.0)], "days long"),
        ([("1 January", date(2025, 2, 1), 5.0)], "not a date"),
        (None, "no billing periods"),
        ([(*JANUARY, 1e300)], "no house"),
        ([(date(2025, 1, 1), date(2025, 2, 1))], "not understood"),
        ([(*JANUARY, "many")], "not understood"),
    ],
)
def test_bad_periods(periods: list, match: str) -> None:
    with pytest.raises(InputError, match=match):
        peak_from_bills(periods)


@pytest.mark.parametrize(
    "form",
    [
        lambda a, b, kwh: [a, b, kwh],
        lambda a, b, kwh: (datetime(a.year, a.month, a.day, tzinfo=LONDON), b, kwh),
        lambda a, b, kwh: (np.datetime64(a), np.datetime64(b), np.float64(kwh)),
        lambda a, b, kwh: (a.isoformat(), b.isoformat(), int(kwh)),
    ],
    ids=["lists", "datetimes", "numpy", "ISO text"],
)
def test_dates_and_numbers_of_any_make(form: Callable[..., Any]) -> None:
    bills = [(date(2025, m, 1), date(2025, m + 1, 1), 500.0 + 10 * m) for m in range(1, 12)]
    given = iter([form(*bill) for bill in bills])
    assert peak_from_bills(given).overall == peak_from_bills(bills).overall  # type: ignore[arg-type]


def test_an_empty_month_does_not_carry_the_others_away() -> None:
    """A month without anybody says little about the highest hour of the rest."""
    bills = [(date(2025, m, 1), date(2025, m + 1, 1), 600.0) for m in range(1, 12)]
    away = [(a, b, 0.0 if a.month == 6 else kwh) for a, b, kwh in bills]
    half = [(a, b, 5.0 if a.month < 6 else kwh) for a, b, kwh in bills]
    usual = peak_from_bills(bills).overall.typical
    for one in (away, half):
        assert 0.4 * usual < peak_from_bills(one).overall.typical < 2.0 * usual


def test_bad_window_season_and_interval() -> None:
    bills = [(*JANUARY, 300.0)]
    with pytest.raises(InputError, match="window of 1 min") as caught:
        peak_from_bills(bills, 1)
    assert "load model" in str(caught.value.hint)
    for window in ("60", None):
        with pytest.raises(InputError, match="window"):
            peak_from_bills(bills, window)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="window of 45 min"):
        peak_from_bills(bills, 45)
    with pytest.raises(InputError, match="month 13"):
        peak_from_bills(bills, season=[13])
    daily = Interval(datetime(2025, 1, 1, tzinfo=LONDON), 86_400, np.ones(31))
    with pytest.raises(InputError, match="step of 86400 s"):
        peak_from_bills(bills, interval=daily)
