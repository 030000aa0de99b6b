"""The bill estimator: what bills and interval data say about demand."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, tzinfo
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim, When
from loadlib.core.evidence import Evidence
from loadlib.core.ranges import Range
from loadlib.core.series import BillPeriod, Series
from loadlib.estimators.clockhours import cells_of
from loadlib.estimators.overlap import one_voice

__all__ = ["LEAST_PRESENT", "METER_SHARE", "BillEstimator", "series_claims", "usable_series"]

METER_SHARE = 0.02
"""Error of a household meter: the limit of class 2 (IEC 62053-21, from memory), taken as the 5
and 95 % points."""

_ESTIMATED_SHARE = 0.2
"""An estimated read may carry energy over to the next bill: common practice, no source."""

_MISSING_SHARE = 0.5
"""What is missing from a month may differ from the rest by this share: a judgement."""

LEAST_PRESENT = 0.5
"""A month or a log of which less is there says nothing about all of it: a judgement."""

_BLOCK_H = 4
_SEASONS = ((12, 1, 2), (3, 4, 5), (6, 7, 8), (9, 10, 11))
_LEAST_BLOCK_DAYS = 4.0
_BLOCK_SHARE = 0.03
_BASE_QUANTILE = 0.05
_LEAST_DAYS = 7.0


class BillEstimator:
    """Energy of each bill; from interval data energy by month, means by hours, base, maximum."""

    name = "bill"
    summary = "energy, base load and measured peaks from bills and interval data"

    def needs(self, evidence: Evidence) -> list[str]:
        """What is missing, in words."""
        if not evidence.bills and not usable_series(evidence):
            return ["no bill and no interval data"]
        return []

    def claims(self, evidence: Evidence) -> Iterator[DemandClaim]:
        """Claims about demand over periods."""
        zone = _zone(evidence.house.timezone)
        for bill in evidence.bills:
            yield _bill_claim(bill, zone)
        for series in one_voice(usable_series(evidence)):
            yield from series_claims(series, series.timezone or evidence.house.timezone)


def usable_series(evidence: Evidence) -> list[Series]:
    """Series of a utility meter that are load: import of a house that also exports is not."""
    exporting = any(one.flow in ("export", "net") for one in evidence.series)
    return [one for one in evidence.series if one.flow == "import" and not exporting]


def _zone(name: str) -> tzinfo:
    return ZoneInfo(name) if name else UTC


def _bill_claim(bill: BillPeriod, zone: tzinfo) -> DemandClaim:
    share = _ESTIMATED_SHARE if bill.estimated else METER_SHARE
    kind = "estimated bill" if bill.estimated else "bill"
    first, after = bill.first_day.isoformat(), bill.day_after.isoformat()
    source = f"{kind}, {first} to {after}" + (f", {bill.source}" if bill.source else "")
    return DemandClaim(
        "energy_wh",
        _around(bill.energy_wh, share),
        source,
        start_s=_midnight(bill.first_day, zone),
        end_s=_midnight(bill.day_after, zone),
    )


def _midnight(day: date, zone: tzinfo) -> int:
    return int(datetime.combine(day, time(), zone).timestamp())


def _around(value: float, share: float) -> Range:
    # A bill of nothing still has the meter's least count of doubt.
    half = max(abs(value) * share, 500.0 if value == 0.0 else 0.0)
    return Range(max(value - half, 0.0), value, value + half)


def series_claims(
    series: Series, timezone: str, meter_share: float = METER_SHARE
) -> Iterator[DemandClaim]:
    """Claims from one series of interval data, of an instrument good to ``meter_share``.

    Mean demand of each calendar month; of blocks of four hours in each season; the 5 % point
    and the highest of window means over the whole series. Nothing missing is filled in: where
    slots are missing the doubt grows.
    """
    source = f"interval data, {series.channel}" + (f", {series.source}" if series.source else "")
    times = series.times_s()
    month = _month_numbers(times, timezone)
    cells = cells_of(times, timezone)
    starts = np.flatnonzero(np.diff(month, prepend=month[:1] - 1))
    for first, after in zip(starts, (*starts[1:], month.size), strict=True):
        yield from _month_claims(series, slice(int(first), int(after)), source, meter_share)
    yield from _block_claims(series, cells, source, meter_share)
    yield from _tail_claims(series, source, meter_share)


def _month_numbers(times_s: NDArray[np.int64], timezone: str) -> NDArray[np.int64]:
    """A number for each run of the same local month, rising, shape (n,)."""
    month = cells_of(times_s, timezone) // 24
    turns = np.diff(month, prepend=month[:1]) != 0
    return np.cumsum(turns)


def _month_claims(
    series: Series, part: slice, source: str, meter_share: float
) -> Iterator[DemandClaim]:
    values = series.mean_w[part]
    there = ~np.isnan(values)
    if there.mean() < LEAST_PRESENT or values.size * series.step_s < 86_400:
        return
    start_s = series.start_s + part.start * series.step_s
    end_s = series.start_s + part.stop * series.step_s
    lack = float(1.0 - there.mean())
    doubt = float(np.hypot(meter_share, _MISSING_SHARE * lack))
    mean = float(np.mean(values[there]))
    yield DemandClaim(
        "mean_w", _around(mean, doubt), source, series.place, start_s=start_s, end_s=end_s
    )


def _block_claims(
    series: Series, cells: NDArray[np.int64], source: str, meter_share: float
) -> Iterator[DemandClaim]:
    """Means of blocks of hours by season: weak evidence about who draws, by night and by day."""
    if series.step_s > 3600 or series.place != "whole":
        return
    there = ~np.isnan(series.mean_w)
    months, hours = cells // 24 + 1, cells % 24
    for season in _SEASONS:
        inside = there & np.isin(months, season)
        if inside.sum() * series.step_s < _LEAST_BLOCK_DAYS * 86_400:
            continue
        for first in range(0, 24, _BLOCK_H):
            block = inside & (hours >= first) & (hours < first + _BLOCK_H)
            if not block.any():
                continue
            yield DemandClaim(
                "mean_w",
                _around(float(np.mean(series.mean_w[block])), meter_share + _BLOCK_SHARE),
                source,
                series.place,
                start_s=series.start_s,
                end_s=series.end_s,
                when=When(
                    months=tuple(sorted({int(m) for m in months[inside]})),
                    hours=tuple(range(first, first + _BLOCK_H)),
                ),
            )


def _tail_claims(series: Series, source: str, meter_share: float) -> Iterator[DemandClaim]:
    """The 5 % point and the highest of the means over the series' own step, up to an hour."""
    values = series.mean_w[~np.isnan(series.mean_w)]
    if series.step_s > 3600 or series.span_s < _LEAST_DAYS * 86_400 or values.size == 0:
        return
    for quantity, value, share in (
        ("quantile_w", float(np.quantile(values, _BASE_QUANTILE)), _BASE_QUANTILE),
        ("max_w", float(values.max()), 1.0),
    ):
        yield DemandClaim(
            quantity,
            _around(value, meter_share),
            source,
            series.place,
            start_s=series.start_s,
            end_s=series.end_s,
            window_s=series.step_s,
            share=share,
        )
