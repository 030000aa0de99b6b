"""The values of a category agree with one another.

Duty is on-time times cycles a day; annual energy follows from running power, duty, season and
standby. Where both sides were read in sources, they must meet within the tolerance below.
"""

from __future__ import annotations

import math

import pytest
from catalog_tables import by_key, season_share, table, value

CATEGORIES = [(row["category"], row["season"]) for row in table("categories")]
ENERGY_TOLERANCE = 0.2
DUTY_TOLERANCE = 0.15


def modelled_kwh(category: str, season: str) -> float:
    """Return the energy of a year [kWh] at the typical values."""
    on_share = value(category, "duty_share") * season_share(season)
    mean_w = value(category, "running_w") * on_share + value(category, "standby_w") * (1 - on_share)
    return mean_w * 8.76


@pytest.mark.parametrize(("category", "season"), CATEGORIES)
def test_annual_energy_follows_from_power_duty_and_season(category: str, season: str) -> None:
    expected = value(category, "annual_kwh")
    assert modelled_kwh(category, season) == pytest.approx(expected, rel=ENERGY_TOLERANCE, abs=1)


@pytest.mark.parametrize("category", [category for category, _ in CATEGORIES])
def test_duty_is_on_time_times_cycles(category: str) -> None:
    from_cycles = value(category, "on_min") * value(category, "cycles_per_day") / 1440
    assert from_cycles == pytest.approx(value(category, "duty_share"), rel=DUTY_TOLERANCE)


def test_worked_out_ranges_are_at_least_as_wide_as_each_input() -> None:
    """Independent errors add: a product is never surer than its factors (common practice)."""
    for row in table("values"):
        if row["source"] != "rule_energy":
            continue
        spread = math.log(float(row["high"]) / float(row["typical"]))
        running = by_key()[row["category"], "running_w"]
        assert spread >= math.log(float(running["high"]) / float(running["typical"])) - 0.02, row


def test_always_on_loads_are_on_all_day() -> None:
    """Modem and router are never off; a radon fan and a smoke alarm neither (common practice)."""
    for category in ("network_router", "network_modem", "radon_fan", "smoke_alarm_hardwired"):
        assert value(category, "duty_share") == 1
        assert value(category, "cycles_per_day") == 1
