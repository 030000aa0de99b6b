"""Hours of a period on the local clock."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from loadlib.core.claims import When
from loadlib.estimators.clockhours import cells_of, hours_by_cell, when_mask


def at(*when: int) -> int:
    return int(datetime(*when, tzinfo=UTC).timestamp())  # type: ignore[arg-type]  # parts of a date


def test_days_of_23_and_25_hours() -> None:
    """2026-03-08 in New York has 23 hours, 2026-11-01 has 25, hour 1 twice."""
    start = at(2026, 3, 8, 5)
    spring = hours_by_cell(start, start + 23 * 3600, "America/New_York")
    assert spring.sum() == 23.0
    assert spring[2 * 24 + 2] == 0.0
    start = at(2026, 11, 1, 4)
    autumn = hours_by_cell(start, start + 25 * 3600, "America/New_York")
    assert autumn[10 * 24 + 1] == 2.0


def test_parts_of_an_hour_count_as_parts() -> None:
    part = hours_by_cell(0, 5400, "")
    assert (part[0], part[1]) == (1.0, 0.5)
    assert hours_by_cell(1800, 3000, "")[0] == pytest.approx(1 / 3)


def test_a_common_year_has_8760_hours_and_its_months() -> None:
    hours = hours_by_cell(at(2025, 1, 1), at(2026, 1, 1), "Etc/UTC")
    assert hours.sum() == 8760.0
    assert hours.reshape(12, 24).sum(axis=1).tolist()[:2] == [744.0, 672.0]


def test_cells_follow_half_hour_zones() -> None:
    moments = np.array([at(2026, 6, 30, 18, 15), at(2026, 6, 30, 18, 45)], dtype=np.int64)
    assert cells_of(moments, "Asia/Kolkata").tolist() == [5 * 24 + 23, 6 * 24]


def test_conditions_pick_months_and_hours() -> None:
    mask = when_mask(When(months=(1, 12), hours=(0, 5)))
    assert mask.sum() == 4
    assert mask[11 * 24 + 5]
    assert when_mask(When()).all()


@pytest.mark.parametrize(
    ("zone", "start", "step_s"),
    [
        ("America/New_York", datetime(2026, 3, 8, 4, 0, 7, tzinfo=UTC), 60),  # spring forward
        ("America/New_York", datetime(2026, 11, 1, 3, 59, tzinfo=UTC), 7),  # an hour twice
        ("Asia/Kathmandu", datetime(2026, 1, 1, tzinfo=UTC), 1800),  # 5 h 45 min from UTC
    ],
)
def test_clock_hours_are_those_of_the_zone(zone: str, start: datetime, step_s: int) -> None:
    """Against the standard library's own clock, one sample at a time."""
    where, first = ZoneInfo(zone), int(start.timestamp())
    found = cells_of(first + step_s * np.arange(2000), zone) % 24
    told = [datetime.fromtimestamp(first + step_s * k, where).hour for k in range(2000)]
    assert found.tolist() == told


def test_no_samples_have_no_hours() -> None:
    assert cells_of(np.empty(0, np.int64), "").size == 0
