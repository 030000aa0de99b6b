"""Change-point split: synthetic truth, published example of the method's arithmetic, bad input."""

from __future__ import annotations

import itertools
import math
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from loadlib.core.series import Temperatures
from loadlib.errors import InputError
from loadlib.peak.daily_temperatures import daily_means_c
from loadlib.peak.periods import Period
from loadlib.peak.weather import covered, split_energy

FIRST = date(2025, 1, 1)


def weather(days: int = 365, seed: int = 1) -> dict[date, float]:
    """A continental year: mean 12 °C, swing 14 K, day-to-day 3 K."""
    rng = np.random.default_rng(seed)
    return {
        FIRST + timedelta(days=k): 12.0
        - 14.0 * math.cos(2.0 * math.pi * (k - 15) / 365.0)
        + float(rng.normal(0.0, 3.0))
        for k in range(days)
    }


def bills(
    daily_c: dict[date, float],
    base_w: float,
    heat: tuple[float, float] = (0.0, 0.0),
    cool: tuple[float, float] = (0.0, 99.0),
    noise: float = 0.0,
    seed: int = 2,
) -> list[Period]:
    """Twelve bills of a house with slopes [W/K] from balance temperatures [°C]."""
    rng = np.random.default_rng(seed)
    starts = [date(2025, m, 1) for m in range(1, 13)] + [date(2026, 1, 1)]
    made = []
    for first, after in itertools.pairwise(starts):
        days = [daily_c[first + timedelta(days=k)] for k in range((after - first).days)]
        watts = [
            base_w + heat[0] * max(heat[1] - t, 0.0) + cool[0] * max(t - cool[1], 0.0) for t in days
        ]
        kwh = 24.0 * sum(watts) / 1000.0 * (1.0 + noise * float(rng.normal()))
        made.append((first, after, kwh))
    return made


@pytest.mark.parametrize(
    ("heat", "cool", "form"),
    [
        ((60.0, 15.0), (0.0, 99.0), "heating, three-parameter"),
        ((0.0, 0.0), (80.0, 20.0), "cooling, three-parameter"),
        ((60.0, 17.0), (80.0, 17.0), "heating and cooling, four-parameter"),
        ((60.0, 13.0), (80.0, 21.0), "heating and cooling, five-parameter"),
    ],
)
def test_exact_bills_give_back_the_truth(
    heat: tuple[float, float], cool: tuple[float, float], form: str
) -> None:
    found = split_energy(bills(weather(), 500.0, heat, cool), weather())
    assert found.form == form
    assert found.base_w.typical == pytest.approx(500.0, rel=1e-6)
    assert found.r_squared == pytest.approx(1.0)
    assert found.cv_rmse == pytest.approx(0.0, abs=1e-6)
    for slope, balance, (true_slope, true_balance) in (
        (found.heating_w_per_k, found.heating_from_c, heat),
        (found.cooling_w_per_k, found.cooling_from_c, cool),
    ):
        if true_slope:
            assert slope is not None
            assert balance is not None
            assert slope.typical == pytest.approx(true_slope, rel=1e-6)
            assert balance.typical == pytest.approx(true_balance)
        else:
            assert slope is None
            assert balance is None


def test_no_weather_in_the_bills_no_slope() -> None:
    found = split_energy(bills(weather(), 600.0, noise=0.02), weather())
    assert found.form == "constant"
    assert all(r.typical == 0.0 for r in (*found.heating_wh, *found.cooling_wh))
    assert found.base_w.low <= 600.0 <= found.base_w.high


def test_parts_add_up_to_the_bill() -> None:
    temperatures = weather()
    periods = bills(temperatures, 500.0, (60.0, 15.0), (80.0, 22.0))
    found = split_energy(periods, temperatures)
    for (first, after, kwh), heat, cool in zip(
        periods, found.heating_wh, found.cooling_wh, strict=True
    ):
        base_wh = found.base_w.typical * 24.0 * (after - first).days
        assert base_wh + heat.typical + cool.typical == pytest.approx(1000.0 * kwh, rel=1e-6)


def test_ranges_hold_the_truth_with_noise() -> None:
    """Thirty noisy years: the 90 % range of the base holds it in three of four at least."""
    temperatures = weather()
    inside = 0
    for seed in range(30):
        periods = bills(temperatures, 500.0, (60.0, 15.0), noise=0.04, seed=seed)
        base = split_energy(periods, temperatures).base_w
        inside += base.low <= 500.0 <= base.high
    assert inside >= 23


def test_a_form_hardly_worse_is_named_and_in_the_range() -> None:
    temperatures = weather()
    periods = bills(temperatures, 500.0, (60.0, 15.0), (80.0, 20.0), noise=0.03)
    found = split_energy(periods, temperatures)
    by_name = dict(found.bic)
    assert min(by_name, key=lambda name: by_name[name]) == found.form
    assert found.base_w.low <= 500.0 <= found.base_w.high * 1.02


def test_season_alone_finds_winter_and_says_what_it_is() -> None:
    periods = bills(weather(), 500.0, (60.0, 15.0))
    found = split_energy(periods)
    assert found.form == "winter"
    true_heat_kwh = sum(p[2] for p in periods) - 500.0 * 24.0 * 365.0 / 1000.0
    assert sum(r.typical for r in found.heating_wh) / 1000.0 == pytest.approx(
        true_heat_kwh, rel=0.2
    )
    assert found.heating_w_per_k is None
    assert any("lighting and holidays" in note for note in found.notes)


def test_the_southern_half_has_its_winter_in_july() -> None:
    northern = bills(weather(), 500.0, (60.0, 15.0))
    kwh = [p[2] for p in northern]
    turned = [(*p[:2], e) for p, e in zip(northern, [*kwh[6:], *kwh[:6]], strict=True)]
    assert split_energy(turned, southern=True).form == "winter"
    assert split_energy(turned).form == "summer"


def test_same_answer_twice() -> None:
    periods = bills(weather(), 500.0, (60.0, 15.0), noise=0.05)
    assert split_energy(periods, weather()) == split_energy(periods, weather())


def test_bad_input() -> None:
    temperatures = weather()
    periods = bills(temperatures, 500.0)
    with pytest.raises(InputError, match="too few"):
        split_energy(periods[:5], temperatures)
    short = {day: t for day, t in temperatures.items() if day.month != 3}
    with pytest.raises(InputError, match="no temperature for 2025-03-01"):
        split_energy(periods, short)
    broken = {**temperatures, date(2025, 2, 3): math.nan}
    with pytest.raises(InputError, match="2025-02-03"):
        split_energy(periods, broken)
    assert any("less than a year" in n for n in split_energy(periods[:8]).notes)


def test_bills_of_nothing() -> None:
    found = split_energy([(a, b, 0.0) for a, b, _ in bills(weather(), 1.0)], weather())
    assert found.form == "constant"
    assert found.base_w.typical == 0.0


def test_periods_with_every_day_s_temperature() -> None:
    daily_c = weather(59)
    months = bills(weather(), 500.0)
    assert [first.month for first, _, _ in covered(months, daily_c)] == [1, 2]
    daily_c[date(2025, 1, 10)] = math.nan
    assert [first.month for first, _, _ in covered(months, daily_c)] == [2]


def test_hours_to_days_of_the_house() -> None:
    """48 h from midnight UTC are a whole day and two halves in New York (UTC-5 in January)."""
    outdoor_c = np.repeat([-5.0, 5.0], 24)
    start_s = int(datetime(2025, 1, 1, tzinfo=UTC).timestamp())
    hourly = Temperatures(start_s, 3600, outdoor_c)
    assert daily_means_c(hourly) == {date(2025, 1, 1): -5.0, date(2025, 1, 2): 5.0}
    in_new_york = daily_means_c(hourly, ZoneInfo("America/New_York"))
    assert in_new_york[date(2025, 1, 1)] == pytest.approx((19 * -5.0 + 5 * 5.0) / 24)
    assert date(2024, 12, 31) not in in_new_york  # five hours of it only
    daily = Temperatures(start_s, 86_400, np.array([1.0, math.nan, 3.0]))
    assert daily_means_c(daily, ZoneInfo("America/New_York")) == {
        date(2025, 1, 1): 1.0,
        date(2025, 1, 3): 3.0,
    }
