"""The table behind each picture, as plain rows of text: the template only arranges them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loadlib import LoadProfile
from loadlib_report.amounts import often, plain, power, powers, window
from loadlib_report.loads import hardest
from loadlib_report.overloads import Duration, Overloads

__all__ = [
    "MONTHS",
    "MOST_STARTS",
    "Table",
    "days_table",
    "duration_table",
    "map_table",
    "months_table",
    "overloads_table",
    "peaks_table",
    "starts_table",
]

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

MOST_STARTS = 12
"""How many loads stand in the picture of starts."""


@dataclass(frozen=True, slots=True)
class Table:
    """Caption, headings and rows of text; the first cell of a row heads it."""

    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: tuple[int, ...] = ()
    """Columns of words, set to the left; the others are numbers."""


def _kw(power_w: float) -> str:
    return f"{power_w / 1000.0:.2f}"


def peaks_table(profile: LoadProfile) -> Table:
    """The highest demand of the year, by place and window."""
    year = [peak for peak in profile.peaks if peak.period == "year"]
    return Table(
        "Highest demand of the year",
        ("Where, highest", "5 to 95 %", "Typical", "Rests on"),
        tuple(
            (
                f"{peak.place}, {window(peak.window_s)}",
                powers(peak.power_w),
                power(peak.power_w.typical),
                ", ".join(filter(None, (peak.basis, peak.at, peak.note))),
            )
            for peak in sorted(year, key=lambda p: (p.place != "whole", p.place, -p.window_s))
        ),
        words=(3,),
    )


def months_table(profile: LoadProfile) -> Table:
    """Energy by month. Empty where the document has none."""
    return Table(
        "Energy by month, kWh",
        ("Month", "5 %", "Typical", "95 %"),
        tuple(
            (name, plain(e.low / 1000), plain(e.typical / 1000), plain(e.high / 1000))
            for name, e in zip(MONTHS, profile.energy_wh_by_month, strict=False)
        ),
    )


def map_table(profile: LoadProfile) -> Table:
    """Mean demand of the whole by hour (rows) and month (columns)."""
    mean_w = profile.demand_at("whole").mean_w
    return Table(
        "Mean demand by hour and month, kW",
        ("Hour", *(name[:3] for name in MONTHS)),
        tuple(
            (f"{hour:02d}:00", *(_kw(mean_w[month][hour]) for month in range(12)))
            for hour in range(24)
        ),
    )


def days_table(profile: LoadProfile, place: str, month: int) -> Table:
    """Demand by hour of one month at one place."""
    demand = profile.demand_at(place)
    grids = (demand.mean_w, demand.p05_w, demand.p50_w, demand.p95_w, demand.p99_w)
    return Table(
        f"Demand of {place_words(place)} in {MONTHS[month - 1]}, kW: mean, and points that are "
        "not passed for that share of the time",
        ("Hour", "Mean", "5 %", "50 %", "95 %", "99 %"),
        tuple(
            (f"{hour:02d}:00", *(_kw(grid[month - 1][hour]) for grid in grids))
            for hour in range(24)
        ),
    )


def place_words(place: str) -> str:
    """``the whole house`` or ``leg A``."""
    return "the whole house" if place == "whole" else place


def duration_table(curve: Duration) -> Table:
    """Hours of the year in which a demand is passed."""
    shares = (0.001, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0)
    return Table(
        "Load-duration: demand that is passed for a share of the year",
        ("Share of the year", "Hours", "Passed, kW"),
        tuple(
            (f"{100.0 * share:g} %", plain(8760.0 * share), _kw(curve.at(share)))
            for share in shares
        ),
    )


def starts_table(profile: LoadProfile) -> Table:
    """The hardest starts, largest first."""
    return Table(
        "What asks for most at a start",
        ("Load", "At a start", "Typical", "For", "Running"),
        tuple(
            (
                load.name,
                powers(load.largest_va, "VA"),
                power(load.largest_va.typical, "VA"),
                f"{plain(load.start_s.typical)} s" if load.start_va is not None else "no step",
                power(load.running_va.typical, "VA"),
            )
            for load in hardest(profile, MOST_STARTS)
        ),
    )


def overloads_table(found: Overloads) -> Table:
    """Expected overloads at each size."""
    return Table(
        "Expected overloads with everything left switched on",
        (
            "Steady limit", "If it carries every start", "In the worst month",
            "With no reserve for starts", "Whole above the limit",
        ),
        tuple(_overload_rows(found)),
    )  # fmt: skip


def _overload_rows(found: Overloads) -> Iterator[tuple[str, ...]]:
    for i, size in enumerate(found.size_va):
        least, most = often(float(found.least_per_day[i])), often(float(found.most_per_day[i]))
        yield (
            power(float(size), "VA"),
            most if least == most else f"{least} to {most}",
            f"{often(float(found.worst_per_day[i]))}, {MONTHS[int(found.worst_month[i]) - 1]}",
            f"at most {often(float(found.no_reserve_per_day[i]))}",
            f"{plain(100.0 * float(found.above_share[i]))} % of the time",
        )
