"""Peaks from what was measured: read off interval data, or calibrated on real homes.

Interval data hold the peak of every window at or above their step; where they cover a month or
the year, that is ``measured``. Otherwise a calibrated law gives it from the energy of twelve
months (as settled, so bills of odd lengths count too) and the interval data there are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from loadlib.core.evidence import Evidence
from loadlib.core.profile import Peak
from loadlib.core.ranges import Range
from loadlib.core.series import Series
from loadlib.errors import InputError
from loadlib.estimators.bill import METER_SHARE, usable_series
from loadlib.estimators.energy import DAYS_IN_MONTH

if TYPE_CHECKING:
    from loadlib.peak import PeakEstimate

__all__ = ["evidence_peaks"]

_WINDOWS_MIN = (15, 30, 60)
_YEAR_DAYS = 350
"""A series this long holds the year's peak: a fortnight less than a year may be missing."""

_WHOLE_MONTH_SHARE = 0.97


def evidence_peaks(evidence: Evidence, month_wh: Sequence[Range]) -> tuple[Peak, ...]:
    """Peaks of the whole house and of measured legs, best basis only, for 15, 30 and 60 min.

    Parameters
    ----------
    evidence : Evidence
        bills and interval data; without any energy of the whole house there is nothing.
    month_wh : sequence of Range
        settled energy of the months of a common year. [Wh]
    """
    found: list[Peak] = []
    series = usable_series(evidence)
    for one in series:
        if one.place == "whole" or one.place.startswith("leg "):
            found += _measured(one, evidence.house.timezone)
    whole = [one for one in series if one.place == "whole" and one.step_s <= 3600]
    if whole or evidence.bills:
        longest = max(whole, key=lambda one: one.span_s, default=None)
        found += _calibrated(evidence, month_wh, longest)
    best: dict[tuple[str, int, str], Peak] = {}
    for peak in found:
        best.setdefault((peak.place, peak.window_s, peak.period), peak)
    return tuple(best.values())


def _zone(name: str) -> tzinfo:
    return ZoneInfo(name) if name else UTC


def _start(series: Series, timezone: str) -> datetime:
    return datetime.fromtimestamp(series.start_s, _zone(series.timezone or timezone))


def _measured(series: Series, timezone: str) -> Iterator[Peak]:
    """Peaks of whole months, and of the year if there is one, of windows that the data hold."""
    from loadlib import peak_from_series

    if series.step_s > 3600 or np.nanmin(series.mean_w, initial=0.0) < 0.0:
        return
    kwh = series.mean_w * series.step_s / 3.6e6
    for window_min in _WINDOWS_MIN:
        if (window_min * 60) % series.step_s:
            continue
        try:
            told = peak_from_series(_start(series, timezone), series.step_s, kwh, window_min)
        except InputError:  # no complete window of that length
            continue
        yield from _told(told, series, window_min)


def _told(told: PeakEstimate, series: Series, window_min: int) -> Iterator[Peak]:
    first, last = told.periods[0][0], told.periods[-1][1]
    several_years = (last - first).days > 366
    if (last - first).days >= _YEAR_DAYS:
        best = max((one for one in told.measured if one is not None), key=lambda one: one.peak_w)
        yield Peak(
            series.place,
            window_min * 60,
            "year",
            _meter(told.overall),
            "measured",
            best.at.isoformat(" ", "minutes"),
            f"highest of {(last - first).days} days, {series.channel}",
        )
    for (begin, after, _), belief, seen in zip(
        told.periods, told.by_period, told.measured, strict=True
    ):
        days = (after - begin).days
        whole = days >= _WHOLE_MONTH_SHARE * DAYS_IN_MONTH[begin.month - 1]
        if seen is None or not whole or several_years:
            continue
        yield Peak(
            series.place,
            window_min * 60,
            f"month {begin.month}",
            _meter(belief),
            "measured",
            seen.at.isoformat(" ", "minutes"),
        )


def _meter(belief: Range) -> Range:
    """With the error of the meter on top."""
    return Range(
        belief.low * (1.0 - METER_SHARE), belief.typical, belief.high * (1.0 + METER_SHARE)
    )


def _calibrated(
    evidence: Evidence, month_wh: Sequence[Range], series: Series | None
) -> Iterator[Peak]:
    from loadlib import peak_from_bills
    from loadlib.peak import Interval

    zone = _zone(evidence.house.timezone)
    interval = None
    if series is not None and np.nanmin(series.mean_w, initial=0.0) >= 0.0:
        start = _start(series, evidence.house.timezone)
        interval = Interval(start, series.step_s, series.mean_w * series.step_s / 3.6e6)
    periods = _twelve_months(_last_day(evidence, zone), month_wh)
    for window_min in _WINDOWS_MIN:
        told = peak_from_bills(periods, window_min, interval=interval)
        note = f"{told.rests_on}; {told.notes[0]}"
        if told.unfamiliar:
            note += " This house is unlike most of them, and the band is wider for it."
        yield Peak("whole", window_min * 60, "year", told.overall, "calibrated", note=note)
        for (first, _, _), belief in zip(told.periods, told.by_period, strict=True):
            period = f"month {first.month}"
            yield Peak("whole", window_min * 60, period, belief, "calibrated")


def _last_day(evidence: Evidence, zone: tzinfo) -> date:
    """The last day of which anything was measured."""
    days = [bill.day_after - timedelta(days=1) for bill in evidence.bills]
    for one in usable_series(evidence):
        end_s = one.end_s - 1
        days.append(datetime.fromtimestamp(end_s, UTC).astimezone(zone).date())
    return max(days)


def _twelve_months(last: date, month_wh: Sequence[Range]) -> list[tuple[date, date, float]]:
    """The twelve calendar months that end with the month of ``last``, with settled energies."""
    periods = []
    year, month = last.year, last.month
    after = date(year + (month == 12), month % 12 + 1, 1)
    for _ in range(12):
        first = date(year, month, 1)
        typical_kwh = month_wh[month - 1].typical / 1000.0
        days = (after - first).days
        periods.append((first, after, typical_kwh * days / DAYS_IN_MONTH[month - 1]))
        after = first
        year, month = (year - 1, 12) if month == 1 else (year, month - 1)
    return periods[::-1]
