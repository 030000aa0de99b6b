"""The measured-demand rule of NEC 220.87 (from two pages that quote it): routes and factor."""

from __future__ import annotations

import pytest

from loadlib.errors import InputError
from loadlib.peak.measured_rule import both_routes, measured_demand


def test_year_route_worked_example() -> None:
    """11.4 kW over 15 min in a year at 240 V: 47.5 A, 59.4 A at 125 %, 99.4 A with 40 A more.

    Arithmetic from the rule; no published numeric example was found.
    """
    found = measured_demand(11_400.0, 365, 15)
    assert found.route == "year"
    assert found.lacks == ()
    assert found.demand_w / 240.0 == pytest.approx(59.375)
    assert found.with_new_load_w(40.0 * 240.0) / 240.0 == pytest.approx(99.375)


def test_thirty_day_route_asks_for_more() -> None:
    found = measured_demand(8_000.0, 31, 15)
    assert found.route == "30 days"
    assert found.demand_w == 10_000.0
    text = " ".join(found.asks)
    for word in ("highest-loaded phase", "occupied", "heating and cooling", "solar"):
        assert word in text


@pytest.mark.parametrize(
    ("days", "window", "generation", "route", "lacks"),
    [
        (365, 60, False, "year", "15-minute means"),
        (29, 15, False, "", "29 of 30 days"),
        (60, 15, True, "", "generation"),
        (60, 30, False, "30 days", "15-minute means"),
    ],
)
def test_what_a_record_lacks(
    days: float, window: int, generation: bool, route: str, lacks: str
) -> None:
    found = measured_demand(5_000.0, days, window, generation=generation)
    assert found.route == route
    assert any(lacks in text for text in found.lacks)


def test_both_routes_side_by_side() -> None:
    """88 days of hours: too short for the year route, too coarse for the other."""
    year, month = both_routes(4_000.0, 88.9, 60, missing_share=0.01)
    assert (year.route, month.route) == ("year", "30 days")
    assert year.demand_w == month.demand_w == 5_000.0
    assert "length: 88 of 365 days" in year.lacks
    assert not any("length" in text for text in month.lacks)
    assert any("continuity" in text for text in (*year.lacks, *month.lacks))
    assert any("occupied" in text for text in month.asks)
    year, month = both_routes(4_000.0, 366, 15, generation=True)
    assert year.lacks == ()
    assert any("generation hides load" in text for text in month.lacks)


def test_gaps_are_told() -> None:
    found = measured_demand(5_000.0, 40, 15, missing_share=0.02)
    assert any("2 %" in text for text in found.lacks)


def test_bad_input() -> None:
    with pytest.raises(InputError, match="measured demand"):
        measured_demand(-1.0, 365, 15)
    with pytest.raises(InputError, match="measured demand"):
        measured_demand(1.0, 0, 15)
