"""What the calibrated peak model looks at, as plain numbers.

Every quantity is a natural logarithm of kilowatts, or of a ratio, so that a home twice as
large in every way moves by the same amount everywhere. The script that fits the model and the
code that applies it share these functions.

A *span* is the set of days whose highest demand is asked for and was not measured; a *stretch*
is the days of interval data at hand, each with its highest demand and its mean.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEVELS", "Level", "Quantities", "daily", "energy", "stretch", "telling", "year"]

Quantities = dict[str, float]
"""Named quantities of one case."""

ENERGY_WIDEN = 1.65
STRETCH_WIDEN = 1.0
"""Bands outside the fitted range: chosen so that Swiss meters, most of them larger than any
fitted London home, are covered; Californian and Canadian homes had no part in the choice."""

MONTH_DAYS = 365.0 / 12.0
KNOT_LN_KW = -0.3
"""Below exp(−0.3) = 0.74 kW of mean demand the curve bends; above it is straight. The largest
fitted homes lie near the knot, so larger ones are reached by a straight line, not a parabola."""

SMALLEST_KW = 0.01
"""Means and daily peaks below 10 W count as 10 W, so that logarithms exist."""

LEAST_DAYS = 7
EMPTY_KW = 0.1
"""Daily peaks below 100 W on average: nobody is there, the refrigerator at most runs."""


@dataclass(frozen=True, slots=True)
class Level:
    """One kind of evidence: the terms of its centre and of its spread, and what to watch.

    A term is a product of quantities, written ``a*b``. ``watch`` names the quantities whose
    range over the fitted homes decides whether a home is unlike them; then the band is
    ``widen`` times as wide (in the logarithm). ``remark`` names the quantities that, outside
    the 5 to 95 % of the fitted homes, are worth a note in words.
    """

    name: str
    says: str
    centre: tuple[str, ...]
    spread: tuple[str, ...]
    watch: tuple[str, ...]
    widen: float
    remark: tuple[str, ...]


LEVELS: dict[str, Level] = {
    level.name: level
    for level in (
        Level(
            "bill",
            "the energy of the period alone",
            ("span_mean", "small*small", "span_len", "span_mean*span_len"),
            ("span_mean", "span_len"),
            ("span_mean",),
            ENERGY_WIDEN,
            ("span_mean",),
        ),
        Level(
            "short",
            "the energy of a few days alone",
            ("span_mean", "small*small", "span_len", "span_mean*span_len"),
            ("span_mean", "span_len"),
            ("span_mean",),
            ENERGY_WIDEN,
            ("span_mean",),
        ),
        Level(
            "bills",
            "the energy of the period among a year of bills",
            ("year_mean", "small_year*small_year", "rel", "span_len", "least"),
            ("year_mean", "span_len"),
            ("year_mean",),
            ENERGY_WIDEN,
            ("year_mean", "rel", "least"),
        ),
        Level(
            "bills_year",
            "a year of bills",
            ("year_mean", "small_year*small_year", "swing"),
            (),
            ("year_mean",),
            ENERGY_WIDEN,
            ("year_mean", "swing"),
        ),
        Level(
            "days",
            "daily energies",
            ("span_mean", "small*small", "span_len", "top_day", "high_day", "low_day"),
            ("span_mean", "span_len"),
            ("span_mean",),
            ENERGY_WIDEN,
            ("span_mean", "top_day"),
        ),
        Level(
            "stretch",
            "a stretch of interval data",
            (
                "week_peak",
                "over_mean",
                "day_over",
                "over_mean*over_mean",
                "span_len",
                "over_mean*stretch_len",
                "day_over*stretch_len",
                "stretch_len",
                "span_len*stretch_len",
            ),
            ("week_peak", "span_len", "stretch_len"),
            ("week_peak",),
            STRETCH_WIDEN,
            ("week_peak", "over_mean"),
        ),
        Level(
            "bill_stretch",
            "the energy of the period and a stretch of interval data",
            (
                "span_mean",
                "peak_rel",
                "mean_rel",
                "day_rel",
                "peak_rel*peak_rel",
                "span_len",
                "peak_rel*stretch_len",
                "mean_rel*stretch_len",
                "day_rel*stretch_len",
                "stretch_len",
                "span_len*stretch_len",
            ),
            ("span_mean", "apart", "peak_rel", "day_spread", "span_len", "stretch_len"),
            ("span_mean", "peak_rel"),
            STRETCH_WIDEN,
            ("span_mean", "peak_rel"),
        ),
        Level(
            "bills_stretch",
            "a year of bills and a stretch of interval data",
            (
                "year_mean",
                "rel",
                "peak_rel",
                "mean_rel",
                "day_rel",
                "least",
                "peak_rel*peak_rel",
                "span_len",
                "peak_rel*stretch_len",
                "mean_rel*stretch_len",
                "day_rel*stretch_len",
                "stretch_len",
                "span_len*stretch_len",
                "span_len*peak_rel",
                "span_len*day_rel",
            ),
            ("year_mean", "least", "apart", "peak_rel", "day_spread", "span_len", "stretch_len"),
            ("year_mean", "peak_rel"),
            STRETCH_WIDEN,
            ("year_mean", "rel", "least", "peak_rel"),
        ),
    )
}


def _ln_kw(kw: float) -> float:
    return math.log(max(kw, SMALLEST_KW))


def energy(mean_kw: float, days: float) -> Quantities:
    """From a span's mean demand [kW] and its length [days, > 0]."""
    mean = _ln_kw(mean_kw)
    return {
        "span_mean": mean,
        "small": max(KNOT_LN_KW - mean, 0.0),
        "span_len": math.log(days / MONTH_DAYS),
    }


def year(span_mean_kw: float, bill_kw: Sequence[float], bill_days: Sequence[float]) -> Quantities:
    """From a year of bills: mean demand [kW] and days of each, and the span's mean [kW].

    ``least`` is the lowest bill over the year's mean; ``swing`` the 90 % over the 10 % point
    of the bills: heating, cooling and holidays show in them.
    """
    means = np.maximum(np.asarray(bill_kw, dtype=np.float64), SMALLEST_KW)
    days = np.asarray(bill_days, dtype=np.float64)
    year_mean = float(np.log(means @ days / days.sum()))
    low, high = np.quantile(np.log(means), (0.1, 0.9))
    return {
        "year_mean": year_mean,
        "small_year": max(KNOT_LN_KW - year_mean, 0.0),
        "rel": _ln_kw(span_mean_kw) - year_mean,
        "least": float(np.log(means.min())) - year_mean,
        "swing": float(high - low),
    }


def daily(mean_kw: NDArray[np.float64]) -> Quantities:
    """From the mean demand of each day of the span [kW], shape (days,): how unlike they are."""
    days = np.maximum(mean_kw, SMALLEST_KW)
    mean = float(days.mean())
    low, high = np.quantile(days, (0.1, 0.9))
    return {
        "top_day": math.log(float(days.max()) / mean),
        "high_day": math.log(float(high) / mean),
        "low_day": math.log(float(low) / mean),
    }


def telling(peak_kw: NDArray[np.float64]) -> bool:
    """Whether days of interval data say anything: a week at least, and not of an empty house."""
    return peak_kw.size >= LEAST_DAYS and float(peak_kw.mean()) >= EMPTY_KW


def stretch(
    peak_kw: NDArray[np.float64],
    mean_kw: NDArray[np.float64],
    *,
    anchor: float | None,
    span_mean: float,
) -> Quantities:
    """From the days of interval data: each day's highest and mean demand [kW], shape (n,), n ≥ 7.

    ``week_peak`` is the mean of the highest demands of each seven days in a row, so that it
    does not grow with the length of the stretch. ``anchor`` is the logarithm of the mean
    demand [kW] that the others are taken relative to (the year's, or the span's); None when
    no bill is known, and then the stretch's own mean serves. ``apart`` says how unlike the
    stretch's mean and the span's are, as those of a summer week and a winter month.
    """
    peaks = np.maximum(peak_kw, SMALLEST_KW)
    weeks = peaks[: peaks.size // 7 * 7].reshape(-1, 7)
    week_peak = math.log(float(weeks.max(axis=1).mean()))
    mean = _ln_kw(float(mean_kw.mean()))
    day_peak = math.log(float(peaks.mean()))
    found = {
        "week_peak": week_peak,
        "over_mean": week_peak - mean,
        "day_over": day_peak - mean,
        "stretch_mean": mean,
        "day_spread": float(np.log(peaks).std()),
        "apart": abs(span_mean - mean),
        "stretch_len": math.log(peaks.size / 28.0),
    }
    if anchor is not None:
        found |= {
            "peak_rel": week_peak - anchor,
            "mean_rel": mean - anchor,
            "day_rel": day_peak - anchor,
        }
    return found
