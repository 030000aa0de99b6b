"""The pictures of the page, each for a wide page and for a phone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from loadlib import LoadProfile, figures
from loadlib_report.loads import hardest
from loadlib_report.overloads import Duration, Overloads
from loadlib_report.tables import MONTHS, MOST_STARTS, place_words

__all__ = ["Picture", "day", "duration", "month_hour", "months", "overloads", "starts"]


@dataclass(frozen=True, slots=True)
class Picture:
    """The same figure twice: SVG for a wide page, SVG for a phone."""

    wide: str
    narrow: str


def _both(draw: Callable[[str], str]) -> Picture:
    return Picture(draw("wide"), draw("narrow"))


def months(profile: LoadProfile) -> Picture:
    """Energy by month with its range."""
    return _both(
        lambda size: figures.energy_by_month(
            profile.energy_wh_by_month, size=size, key=f"months-{size}"
        )
    )


def month_hour(profile: LoadProfile) -> Picture:
    """Mean demand of the whole by month and hour."""
    mean_w = profile.demand_at("whole").mean_w
    return _both(lambda size: figures.month_hour_map(mean_w, size=size, key=f"map-{size}"))


def day(profile: LoadProfile, place: str, month: int, number: int) -> Picture:
    """The day of one month at one place; all places share one scale, so legs compare."""
    demand = profile.demand_at(place)
    at = month - 1
    top_w = max(max(found.p99_w[at]) for found in profile.demand)
    if place != "whole":
        legs = [found for found in profile.demand if found.place != "whole"]
        top_w = max(max(found.p99_w[at]) for found in legs)
    return _both(
        lambda size: figures.day_curve(
            demand.mean_w[at], demand.p05_w[at], demand.p95_w[at], demand.p99_w[at],
            top_w=max(top_w, 1.0), size=size, key=f"day{number}-{size}",
            title=f"Demand of {place_words(place)} over a day in {MONTHS[at]}",
        )
    )  # fmt: skip


def duration(curve: Duration) -> Picture:
    """The load-duration curve."""
    return _both(
        lambda size: figures.duration_curve(
            curve.share, curve.power_w, size=size, key=f"duration-{size}"
        )
    )


def starts(profile: LoadProfile) -> Picture:
    """The hardest starts with their ranges."""
    loads = hardest(profile, MOST_STARTS)
    return _both(
        lambda size: figures.start_ranges(
            [load.name for load in loads],
            [load.largest_va for load in loads],
            [load.running_va.typical for load in loads],
            size=size,
            key=f"starts-{size}",
        )
    )


def overloads(found: Overloads) -> Picture:
    """Expected overloads against the size of the source."""
    return _both(
        lambda size: figures.overload_curve(
            found.size_va, found.least_per_day, found.most_per_day, found.no_reserve_per_day,
            size=size, key=f"overloads-{size}",
        )
    )  # fmt: skip
