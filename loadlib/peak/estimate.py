"""The result of a peak estimate, and the way from evidence to calibrated points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from numbers import Real

import numpy as np
from numpy.typing import NDArray

from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.peak import table
from loadlib.peak.features import MONTH_DAYS, Quantities
from loadlib.peak.measured import Highest
from loadlib.peak.model import stack
from loadlib.peak.periods import Period

__all__ = [
    "WINDOWS_MIN",
    "PeakEstimate",
    "Sharper",
    "base_window",
    "checked_window",
    "finer",
    "modelled",
    "not_below",
    "remarks",
    "to_range",
]

Array = NDArray[np.float64]
WINDOWS_MIN = (15, 30, 60)
"""Windows that the calibration covers."""


@dataclass(frozen=True, slots=True)
class Sharper:
    """A further piece of evidence and what it does to the band, by cross-validation.

    ``factor_now`` and ``factor_then`` are the 95 % point over the 5 % point, geometric mean
    over homes that the fit had not seen.
    """

    evidence: str
    factor_now: float
    factor_then: float


@dataclass(frozen=True, slots=True)
class PeakEstimate:
    """The highest demand, whole house, as a belief.

    ``by_period`` has one range for each of ``periods`` (5, 50 and 95 % points, W), ``overall``
    is for their whole span and ``season`` for the months asked for, if any. ``measured`` holds,
    for each period, what interval data showed (None where there were none). ``notes`` say in
    words what it rests on and what to mind; ``sharper`` what would narrow the year's band.
    """

    window_min: int
    periods: tuple[Period, ...]
    by_period: tuple[Range, ...]
    overall: Range
    average_w: float
    rests_on: str
    notes: tuple[str, ...]
    measured: tuple[Highest | None, ...] = ()
    season: Range | None = None
    unfamiliar: bool = False
    sharper: tuple[Sharper, ...] = ()


def checked_window(window_min: int) -> int:
    """A window that the calibration covers.

    Raises
    ------
    InputError
        for any other; one minute is for the load model.
    """
    if not isinstance(window_min, Real):
        raise InputError(f"window {window_min!r}", hint="Ask for 15, 30 or 60 minutes.")
    if window_min in WINDOWS_MIN:
        return int(window_min)
    hint = "Ask for 15, 30 or 60 minutes."
    if window_min < 15:
        hint += (
            " Shorter peaks come from the load model built on the list of appliances, and are"
            " uncalibrated: no bill and no meter with a longer step shows them."
        )
    raise InputError(f"no calibrated peak for a window of {window_min} min", hint=hint)


def base_window(window_min: int, step_s: int = 0) -> int:
    """The window that the model is fitted for and that is asked first: 30 or 60 min."""
    return 60 if window_min > 30 or step_s > 1800 else 30


def modelled(
    level_name: str, window_min: int, rows: Sequence[Quantities], stretch_days: float = 0.0
) -> tuple[Array, Array]:
    """5, 50 and 95 % points of the peak, shape (cases, 3) [kW], and the strangeness, (cases,)."""
    one = table.fitted(level_name, window_min)
    quantities = stack(rows)
    span_days = MONTH_DAYS * np.exp(quantities["span_len"])
    points = np.exp(one.predict(quantities, span_days, np.full(span_days.shape, stretch_days)))
    return points, one.strangeness(quantities)


def finer(points_kw: Array, coarse_min: int, fine_min: int) -> Array:
    """The same points for a shorter window, shape (3,). [kW]

    The two beliefs are independent, so their distances from the median add in squares (ln).
    """
    if fine_min >= coarse_min:
        return points_kw
    low, typical, high = np.log(np.maximum(points_kw, 1e-6))
    r5, r50, r95 = table.rise(coarse_min, fine_min, float(points_kw[1]))
    middle = typical + r50
    below = np.hypot(typical - low, r50 - r5)
    above = np.hypot(high - typical, r95 - r50)
    found: Array = np.exp(np.array([middle - below, middle, middle + above]))
    return found


def to_range(points_kw: Array, *, least_kw: float = 0.0, most_kw: float = np.inf) -> Range:
    """A range in watts; no point below what was measured (or the mean), none above ``most_kw``."""
    most = max(most_kw, least_kw)
    low, typical, high = (1000.0 * float(min(max(p, least_kw), most)) for p in points_kw)
    return Range(low, typical, high)


def not_below(overall: Range, ranges: Sequence[Range]) -> Range:
    """The highest of all is at least the highest of each, so is every point of its belief."""
    return Range(
        max(overall.low, *(r.low for r in ranges)),
        max(overall.typical, *(r.typical for r in ranges)),
        max(overall.high, *(r.high for r in ranges)),
    )


# What it is, and the word for less and for more; empty where that side means nothing (level
# bills are no sign of another kind of home).
_SAYS: dict[str, tuple[str, str, str]] = {
    "span_mean": ("mean demand", "smaller", "larger"),
    "year_mean": ("mean demand over the year", "smaller", "larger"),
    "rel": ("demand of a period against the year's", "lower", "higher"),
    "least": ("lowest bill against the year's mean", "lower", ""),
    "swing": ("swing between the bills", "", "larger"),
    "top_day": ("highest day against the mean", "", "higher"),
    "week_peak": ("measured peak of a week", "smaller", "larger"),
    "over_mean": ("measured peak over the mean", "lower", "higher"),
    "peak_rel": ("measured peak over the mean", "lower", "higher"),
}


def remarks(level_name: str, window_min: int, rows: Sequence[Quantities]) -> list[str]:
    """In words, what sets this home apart from the homes that the model was fitted on.

    A mean demand counts when it lies outside the 5 to 95 % range of those homes, anything else
    outside the 2.5 to 97.5 % range; of several cases, the median.
    """
    one = table.fitted(level_name, window_min)
    found = []
    for name in one.level.remark:
        outer_low, low, high, outer_high = one.ranges[name]
        if not name.endswith("mean"):
            low, high = outer_low, outer_high
        value = float(np.median([row[name] for row in rows]))
        if low <= value <= high:
            continue
        what, smaller, larger = _SAYS[name]
        word, edge = (smaller, low) if value < low else (larger, high)
        if not word:
            continue
        found.append(f"{what} {word} than in nearly all of them ({_shown(name, value, edge)})")
    return found


def _shown(name: str, value: float, edge: float) -> str:
    unit = " kW" if name in ("span_mean", "year_mean", "week_peak") else " ×"
    return f"{np.exp(value):.2g}{unit}, edge {np.exp(edge):.2g}{unit}"
