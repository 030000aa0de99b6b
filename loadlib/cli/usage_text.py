"""What was read from a usage file, on one screen: remarks, span, highest, base load."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from loadlib.core.series import ReadResult, Series
from loadlib.errors import InputError
from loadlib.peak import Interval
from loadlib.peak.base_load import night_base
from loadlib.peak.measured import highest
from loadlib.readers.remarks import counted

__all__ = ["interval_of", "remarks", "told", "tree"]


def remarks(result: ReadResult) -> list[str]:
    """Everything that the reader decided and counted; a channel's own with its name."""
    several = len(result.series) > 1
    found: dict[str, None] = dict.fromkeys(result.notes)
    for series in result.series:
        name = f"{series.channel}, {series.flow}: " if several else ""
        found |= dict.fromkeys(name + note for note in series.notes)
    return list(found)


def told(result: ReadResult) -> Iterator[str]:
    """What a file holds and how it was read, line by line."""
    yield from _summary(result)
    yield "How it was read:"
    yield from (f"- {note}" for note in remarks(result))


def _summary(result: ReadResult) -> Iterator[str]:
    """Series by series what they hold, then bills and temperatures."""
    for series in result.series:
        yield from _of_series(series)
    if result.bills:
        first, last = result.bills[0], result.bills[-1]
        kwh = sum(bill.energy_wh for bill in result.bills) / 1000.0
        estimated = sum(bill.estimated for bill in result.bills)
        doubt = f", {estimated} of them estimated" if estimated else ""
        periods = counted(len(result.bills), "period")
        yield f"bills: {first.first_day} to {last.day_after}, {periods}{doubt}, {kwh:,.0f} kWh"
    if (there := result.temperatures) is not None:
        end_s = there.start_s + there.outdoor_c.size * there.step_s
        missing = int(np.isnan(there.outdoor_c).sum())
        yield (
            f"temperatures: {_day(there.start_s, UTC)} to {_day(end_s, UTC)}, "
            f"{_step(there.step_s)}, {missing} missing, mean {np.nanmean(there.outdoor_c):.1f} °C"
        )


def _of_series(series: Series) -> Iterator[str]:
    zone = _zone(series)
    end_s = series.end_s
    missing_h = series.missing * series.step_s / 3600.0
    lost = f"{missing_h:g} h missing" if series.missing else "nothing missing"
    yield (
        f"{series.channel}, {series.flow}, {series.place}: {_moment(series.start_s, zone)} to "
        f"{_moment(end_s, zone)} ({series.timezone or 'UTC'}), {_step(series.step_s)}, {lost}, "
        f"{series.energy_wh / 1000.0:,.0f} kWh"
    )
    changes = ", ".join(_odd_days(series.start_s, end_s, zone))
    if changes:
        yield f"  days on which the clock changes, counted as long as they are: {changes}"
    if series.flow == "net":
        yield (
            "  net of what was fed in: neither a peak nor a base load can be taken from it; "
            "load is import less export plus generation"
        )
        return
    if series.flow == "export":
        return
    try:
        interval = interval_of(series, "")
    except InputError:  # negative or nothing there: the remarks say so
        return
    yield from _highest(interval)
    base = night_base(interval)
    if base is not None and series.place == "whole":
        yield (
            f"  base load, the lowest hour of a night: {base.typical_w:,.0f} W, "
            f"{base.low_w:,.0f} to {base.high_w:,.0f} W in nine of ten of {base.nights} nights"
        )


def _odd_days(start_s: int, end_s: int, zone: tzinfo) -> Iterator[str]:
    """Whole days of the span that have not 24 hours."""
    day = datetime.fromtimestamp(start_s, zone).date()
    while (after := _midnight_s(day + timedelta(days=1), zone)) <= end_s:
        hours = (after - _midnight_s(day, zone)) / 3600
        if hours != 24 and _midnight_s(day, zone) >= start_s:
            yield f"{day} ({hours:g} h)"
        day += timedelta(days=1)


def _midnight_s(day: date, zone: tzinfo) -> float:
    return datetime(day.year, day.month, day.day, tzinfo=zone).timestamp()


def _highest(interval: Interval) -> Iterator[str]:
    window_min, left = divmod(interval.step_s, 60)
    if left:
        return
    days = interval.days()
    best = highest(interval, window_min, days[0], days[-1] + timedelta(days=1))
    if best is not None:
        yield (
            f"  highest: {best.peak_w / 1000.0:.2f} kW over {_minutes(window_min)} from "
            f"{best.at:%Y-%m-%d %H:%M}; a window between the slots may have reached "
            f"{best.floating_bound_w / 1000.0:.2f} kW"
        )


def tree(result: ReadResult) -> dict[str, Any]:
    """The same as plain values for JSON."""
    there = result.temperatures
    return {
        "series": [
            {
                "channel": one.channel,
                "place": one.place,
                "flow": one.flow,
                "start": _moment(one.start_s, UTC) + "Z",
                "timezone": one.timezone,
                "step_s": one.step_s,
                "slots": int(one.mean_w.size),
                "missing": one.missing,
                "energy_kwh": one.energy_wh / 1000.0,
                "notes": list(one.notes),
            }
            for one in result.series
        ],
        "bills": [
            {
                "first_day": str(one.first_day),
                "day_after": str(one.day_after),
                "energy_kwh": one.energy_wh / 1000.0,
                "cost": one.cost,
                "estimated": one.estimated,
            }
            for one in result.bills
        ],
        "temperatures": None
        if there is None
        else {
            "start": _moment(there.start_s, UTC) + "Z",
            "step_s": there.step_s,
            "slots": int(there.outdoor_c.size),
            "missing": int(np.isnan(there.outdoor_c).sum()),
        },
        "notes": list(result.notes),
    }


def interval_of(series: Series, timezone: str) -> Interval:
    """A series as energies by the clock of its own zone, else of ``timezone``, else UTC."""
    name = series.timezone or timezone
    start = datetime.fromtimestamp(series.start_s, ZoneInfo(name) if name else UTC)
    return Interval(start, series.step_s, series.mean_w * series.step_s / 3.6e6)


def _zone(series: Series) -> tzinfo:
    return ZoneInfo(series.timezone) if series.timezone else UTC


def _moment(epoch_s: int, zone: tzinfo) -> str:
    return datetime.fromtimestamp(epoch_s, zone).strftime("%Y-%m-%d %H:%M")


def _day(epoch_s: int, zone: tzinfo) -> str:
    return datetime.fromtimestamp(epoch_s, zone).strftime("%Y-%m-%d")


def _step(step_s: int) -> str:
    return f"every {step_s} s" if step_s % 60 else f"every {_minutes(step_s // 60)}"


def _minutes(minutes: int) -> str:
    if minutes >= 60 and minutes % 60 == 0:
        return "1 h" if minutes == 60 else f"{minutes // 60} h"
    return f"{minutes} min"
