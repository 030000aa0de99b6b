"""Maximum demand of a record and the method of 220.87."""

from __future__ import annotations

import math
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib import DataError, InputError, Series
from loadlib_service.added import AddedLoad
from loadlib_service.demand import (
    DAY_S,
    MaximumDemand,
    from_profile,
    maximum_demand,
    series_of_kwh,
)
from loadlib_service.dwelling import item
from loadlib_service.measured import measured
from loadlib_service.supply import parse_supply
from loadlib_service.tests.profiles import small_profile

SPLIT = parse_supply("120/240")
START = datetime(2024, 1, 1, tzinfo=UTC)
YEAR = MaximumDemand(power_w=4700.0, window_s=900, record_s=365 * DAY_S)


def series(mean_w: list[float], step_s: int = 900, **more: object) -> Series:
    facts: dict[str, object] = {"place": "whole", "flow": "import", "timezone": ""} | more
    return Series("meter", start_s=0, step_s=step_s, mean_w=np.array(mean_w), **facts)  # type: ignore[arg-type]


def test_kwh_become_mean_power() -> None:
    found = series_of_kwh(START, 900, [0.25, None, 1.175])
    assert found.mean_w[0] == pytest.approx(1000.0)
    assert math.isnan(found.mean_w[1])
    top = maximum_demand(found)
    assert top.power_w == pytest.approx(4700.0)
    assert top.at == "2024-01-01T00:30+00:00"
    assert (top.missing, top.gaps, top.longest_gap_s) == (1, 1, 900.0)
    assert top.record_s == 1800.0


def test_kwh_need_an_offset_and_a_step() -> None:
    with pytest.raises(InputError, match="no zone"):
        series_of_kwh(datetime(2024, 1, 1), 900, [1.0])
    with pytest.raises(InputError, match="step of 0 s"):
        series_of_kwh(START, 0, [1.0])


def test_short_intervals_are_averaged_to_15_minutes() -> None:
    minutes = [0.0] * 10 + [6000.0] * 10 + [0.0] * 40
    top = maximum_demand(series(minutes, 60))
    assert top.window_s == 900
    assert top.power_w == pytest.approx(4000.0)


def test_a_run_with_a_gap_is_left_out() -> None:
    minutes = [1000.0] * 15 + [9000.0] * 7 + [math.nan] + [9000.0] * 7 + [1000.0] * 15
    top = maximum_demand(series(minutes, 60))
    # Best run without a gap: 8 minutes of 1,000 W and 7 of 9,000 W.
    assert top.power_w == pytest.approx((8 * 1000 + 7 * 9000) / 15)
    with pytest.raises(DataError, match="no 15 minutes"):
        maximum_demand(series([1000.0, math.nan] * 20, 60))


def test_clock_quarters_bound_the_true_maximum() -> None:
    top = maximum_demand(series([1000, 3400, 4700, 3400, 1000]))
    assert top.power_w == 4700
    assert top.bound_w == pytest.approx(8100)
    hourly = maximum_demand(series([1000, 2000, 1000], 3600))
    assert hourly.window_s == 3600
    assert hourly.bound_w == pytest.approx(12_000)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(0, 50_000), min_size=16, max_size=60), st.sampled_from([60, 300, 900]))
def test_the_bound_holds_the_maximum(watts: list[float], step_s: int) -> None:
    watts[3] += 1.0
    top = maximum_demand(series(watts, step_s))
    assert top.power_w is not None
    assert top.bound_w is not None
    assert top.power_w <= top.bound_w * (1 + 1e-9)
    assert top.power_w <= max(watts) * (1 + 1e-9)


@pytest.mark.parametrize("flow", ["export", "net"])
def test_export_and_net_are_no_load(flow: str) -> None:
    with pytest.raises(DataError, match=flow) as caught:
        maximum_demand(series([1.0], flow=flow))
    assert "solar" in (caught.value.hint or "")


def test_negative_and_empty_series() -> None:
    with pytest.raises(DataError, match="negative"):
        maximum_demand(series([500.0, -200.0]))
    with pytest.raises(DataError, match="no readings"):
        maximum_demand(series([math.nan] * 3))
    with pytest.raises(DataError, match="zone"):
        maximum_demand(series([500.0], timezone="Ridge/Farm"))


@pytest.mark.parametrize(
    "change",
    [
        {"power_w": None},
        {"power_w": 5.0, "current_a": 5.0},
        {"power_w": 0.0},
        {"power_w": math.nan},
        {"power_w": 5.0, "window_s": 0},
        {"power_w": 5.0, "record_s": 0.0},
    ],
)
def test_a_maximum_is_checked(change: dict[str, float]) -> None:
    facts: dict[str, float] = {"window_s": 900, "record_s": DAY_S} | change
    with pytest.raises(InputError):
        MaximumDemand(**facts)  # type: ignore[arg-type]


def test_three_days_are_no_year() -> None:
    short = MaximumDemand(power_w=5000.0, window_s=900, record_s=3 * DAY_S)
    with pytest.raises(InputError, match="not a year") as caught:
        measured(short, "2023", supply=SPLIT)
    assert "30-day route" in (caught.value.hint or "")
    with pytest.raises(InputError, match="short of 30"):
        measured(short, "2023", supply=SPLIT, route="30 days")


def test_a_year_with_a_month_missing() -> None:
    watts = np.full(366 * 96, 1000.0)
    watts[40 * 96 : 75 * 96] = np.nan  # 10 February to 15 March
    gappy = maximum_demand(Series("meter", "whole", "import", int(START.timestamp()), 900, watts))
    assert gappy.months_missing == ()
    watts[31 * 96 : 75 * 96] = np.nan
    gappy = maximum_demand(Series("meter", "whole", "import", int(START.timestamp()), 900, watts))
    assert gappy.months_missing == ("2024-02",)
    with pytest.raises(InputError, match="2024-02"):
        measured(gappy, "2023", supply=SPLIT)


def test_gaps_are_counted_and_never_filled() -> None:
    watts = np.full(366 * 96, 1000.0)
    watts[100:108] = np.nan
    found = maximum_demand(Series("meter", "whole", "import", int(START.timestamp()), 900, watts))
    sheet = measured(found, "2020", supply=SPLIT)
    facts = dict(sheet.facts)
    assert facts["Gaps"].startswith("8 intervals missing in 1 gap, the longest 2.0 h")
    assert any("may lie where nothing was recorded" in text for text in sheet.choices)


def test_hourly_data_are_flagged_and_daily_refused() -> None:
    hourly = MaximumDemand(power_w=5000.0, window_s=3600, record_s=365 * DAY_S)
    sheet = measured(hourly, "2023", supply=SPLIT)
    assert any("understate" in text for text in sheet.choices)
    daily = MaximumDemand(power_w=5000.0, window_s=DAY_S, record_s=365 * DAY_S)
    with pytest.raises(InputError, match="too long"):
        measured(daily, "2023", supply=SPLIT)
    month = MaximumDemand(power_w=5000.0, window_s=3600, record_s=31 * DAY_S)
    with pytest.raises(InputError, match="too long for the 30-day route"):
        measured(month, "2023", supply=SPLIT, route="30 days")


def test_the_30_day_route_says_what_is_not_known() -> None:
    month = MaximumDemand(power_w=5000.0, window_s=900, record_s=31 * DAY_S, missing=2, gaps=1)
    told = " ".join(measured(month, "2023", supply=SPLIT, route="30 days").choices)
    for words in ("highest-loaded phase", "occupied", "continuous recording", "seasonal"):
        assert words in told
    with pytest.raises(InputError, match="not occupied"):
        measured(month, "2023", supply=SPLIT, route="30 days", occupied=False)


def test_the_highest_loaded_leg_stands_for_every_leg() -> None:
    leg = MaximumDemand(power_w=2400.0, window_s=900, record_s=31 * DAY_S, place="leg A")
    sheet = measured(leg, "2023", supply=SPLIT, route="30 days", occupied=True, seasonal_w=1200.0)
    assert sheet.result("maximum_a") == pytest.approx(30.0)
    assert not any("does not show the legs" in text for text in sheet.choices)


@pytest.mark.parametrize("what", ["generation", "peak_shaving"])
def test_generation_and_peak_shaving_are_refused(what: str) -> None:
    with pytest.raises(InputError, match="does not apply"):
        measured(YEAR, "2023", supply=SPLIT, **{what: True})  # type: ignore[arg-type]
    assert any(
        "Not stated: whether there is solar" in t
        for t in measured(YEAR, "2023", supply=SPLIT).choices
    )
    stated = measured(YEAR, "2023", supply=SPLIT, generation=False, peak_shaving=False)
    assert not any("Not stated: whether there is solar" in t for t in stated.choices)


def test_power_factor_and_route_are_checked() -> None:
    assert measured(YEAR, "2023", supply=SPLIT, power_factor=0.94).result("maximum_a") == (
        pytest.approx(4700 / 0.94 / 240)
    )
    with pytest.raises(InputError, match="power factor"):
        measured(YEAR, "2023", supply=SPLIT, power_factor=1.2)
    with pytest.raises(InputError, match="route"):
        measured(YEAR, "2023", supply=SPLIT, route="fortnight")


def test_the_125_percent_is_applied_once_to_each() -> None:
    charger = AddedLoad("charger", item("car", amps=48, volts=240))
    sheet = measured(YEAR, "2017", supply=SPLIT, added=[charger], service_a=100.0)
    assert sheet.result("factored_a") == pytest.approx(4700 / 240 * 1.25)
    assert sheet.result("added_a") == pytest.approx(60.0)
    assert sheet.result("headroom_a") == pytest.approx(100 - 4700 / 240 * 1.25 - 60)
    continuous = AddedLoad("appliance", item("heater", va=2400, continuous=True))
    assert continuous.demand_va("2017") == 3000


def test_seasonal_load_cannot_go_with_amperes_only() -> None:
    amps = MaximumDemand(current_a=20.0, window_s=900, record_s=31 * DAY_S)
    with pytest.raises(InputError, match="record in amperes"):
        measured(amps, "2023", supply=SPLIT, route="30 days", occupied=True, seasonal_w=500.0)


def test_the_recorder_is_for_a_qualified_person() -> None:
    assert any("qualified person" in text for text in measured(YEAR, "2023", supply=SPLIT).cautions)


def test_a_profile_gives_its_measured_peak() -> None:
    found = from_profile(small_profile(), record_days=365)
    assert found.power_w == 4700.0
    assert found.window_s == 900
    told = measured(found, "2023", supply=SPLIT).choices
    assert any("does not show the gaps" in text for text in told)
    with pytest.raises(InputError, match="no measured"):
        from_profile(small_profile(measured=False), record_days=365)
