"""Overloads and the load-duration curve against a worked case and an independent simulation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loadlib import Load, LoadProfile, Range
from loadlib.core.load import flat
from loadlib_report.overloads import duration, overloads, size_for

# Eleven on/off loads, {W: (duty, starts an hour)}. At 6500 W the exact rate is 1.2710 an hour
# and 8.690 % of the time is spent above (10 W grid); an independent renewal simulation of
# 200,000 h gave 1.2719 an hour.
ELEVEN = {
    4500: (0.10, 0.35), 5500: (0.25, 0.6), 150: (0.4, 1.2), 120: (0.45, 1.0), 600: (0.35, 3.0),
    1500: (0.02, 1.0), 1000: (0.01, 0.8), 800: (0.15, 2.0), 200: (0.8, 0.1), 1200: (0.03, 0.3),
    3000: (0.06, 0.5),
}  # fmt: skip


def eleven() -> LoadProfile:
    loads = tuple(
        Load(
            id=f"w{watts}", name=f"{watts} W", category="invented", kind="heater",
            leg_share=(1.0,), line_to_line=False, running_w=Range.exact(watts),
            power_factor=Range.exact(1.0), start_va=None, start_s=Range.exact(0.0),
            standby_w=Range.exact(0.0), duty=flat(duty), duty_belief=Range.exact(1.0),
            starts_per_h=flat(per_h),
        )
        for watts, (duty, per_h) in ELEVEN.items()
    )  # fmt: skip
    return LoadProfile(
        house="h", system="230", legs=("A",), loads=loads, energy_wh_per_year=Range.exact(1.0)
    )


def at(sizes: np.ndarray, rates: np.ndarray, size: float) -> float:
    """Between two sizes, on the log scale of the picture."""
    return float(np.exp(np.interp(size, sizes, np.log(np.maximum(rates, 1e-12)))))


def test_the_worked_case() -> None:
    found = overloads(eleven())
    assert found is not None
    near = int(np.argmin(abs(found.size_va - 6500.0)))
    if found.size_va[near] == 6500.0:
        assert found.most_per_day[near] == pytest.approx(24.0 * 1.2710, rel=0.01)
        assert found.above_share[near] == pytest.approx(0.0869, rel=0.02)
    else:
        assert at(found.size_va, found.most_per_day, 6500.0) == pytest.approx(24.0 * 1.27, rel=0.15)


def test_the_rate_at_the_very_size_of_the_worked_case() -> None:
    from loadlib_report.overloads import _at_size, _places

    least, most, no_reserve, _, worst, above = _at_size(
        list(_places(eleven())), 6500.0, np.full(288, 1 / 288)
    )
    assert most == pytest.approx(24.0 * 1.2710, rel=0.01)
    assert least == most == pytest.approx(worst)
    assert no_reserve == pytest.approx(most)  # nothing here asks for more at a start
    assert above == pytest.approx(0.0869, rel=0.02)


def test_the_duration_curve_passes_through_the_worked_case() -> None:
    curve = duration(eleven())
    assert curve is not None
    # Between two possible sums the curve is steep: a tenth of a per cent either way.
    assert curve.at(0.0879) <= 6500.0 + 60.0
    assert curve.at(0.0859) >= 6500.0 - 60.0
    mean_w = sum(watts * duty for watts, (duty, _) in ELEVEN.items())
    area_w = float(np.trapezoid(curve.power_w, curve.share))
    assert area_w == pytest.approx(mean_w, rel=0.03)
    assert np.all(np.diff(curve.power_w) <= 0.0)


def test_sizes_are_found_from_above(profile: LoadProfile) -> None:
    found = overloads(profile)
    assert found is not None
    day, month = size_for(found, 1.0), size_for(found, 12.0 / 365.0)
    assert day is not None
    assert month is not None
    assert day <= month
    assert np.all(found.most_per_day[found.size_va >= day] <= 1.0)
    assert size_for(found, -1.0) is None


def test_brackets_are_in_order(profile: LoadProfile) -> None:
    found = overloads(profile)
    assert found is not None
    assert np.all(found.least_per_day <= found.most_per_day + 1e-9)
    assert np.all(found.most_per_day <= found.no_reserve_per_day + 1e-9)
    assert np.all((found.worst_month >= 1) & (found.worst_month <= 12))
    assert np.all(found.worst_per_day >= found.most_per_day - 1e-9)
    assert found.most_per_day[-1] < 0.01


def test_the_worst_month_is_that_of_the_busier_load() -> None:
    profile = eleven()
    duty = [list(month) for month in flat(0.25)]
    rates = [list(month) for month in flat(0.6)]
    duty[6], rates[6] = [0.5] * 24, [3.0] * 24
    loads = tuple(
        replace(one, duty=tuple(map(tuple, duty)), starts_per_h=tuple(map(tuple, rates)))
        if one.id == "w5500"
        else one
        for one in profile.loads
    )
    found = overloads(replace(profile, loads=loads))
    assert found is not None
    middle = found.size_va.size // 2
    assert found.worst_month[middle] == 7


def test_nothing_to_count() -> None:
    profile = eleven()
    assert overloads(replace(profile, loads=())) is None
    assert duration(replace(profile, loads=())) is None
    always = tuple(replace(one, duty=flat(1.0)) for one in profile.loads)
    assert overloads(replace(profile, loads=always)) is None
    curve = duration(replace(profile, loads=always))
    assert curve is not None
    assert curve.at(0.5) == pytest.approx(sum(ELEVEN))


@pytest.mark.parametrize(("name", "legs"), [("120/208", 2), ("230/400", 3), ("100/200", 2)])
def test_other_systems(name: str, legs: int) -> None:
    letters = ("A", "B", "C")[:legs]
    share = (1.0 / legs,) * legs
    loads = tuple(replace(one, leg_share=share) for one in eleven().loads)
    found = overloads(replace(eleven(), system=name, legs=letters, loads=loads))
    assert found is not None
    # Every load lies evenly on the legs: each leg passes its part exactly when the whole does.
    assert found.most_per_day == pytest.approx((legs + 1) * found.least_per_day, rel=0.1, abs=0.01)
