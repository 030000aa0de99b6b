"""Peak demand from bills: energy of periods, with or without a stretch of interval data."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.peak import features, words
from loadlib.peak.estimate import (
    Array,
    PeakEstimate,
    base_window,
    checked_window,
    finer,
    modelled,
    not_below,
    remarks,
    to_range,
)
from loadlib.peak.features import LEVELS, Quantities
from loadlib.peak.measured import Days, Highest, day_table, highest
from loadlib.peak.periods import Interval, Period, checked_periods

__all__ = ["checked_season", "peak_from_bills"]

LEAST_SPAN_DAYS = 20.0
"""Shorter spans go by the level fitted on days, weeks and fortnights."""
YEAR_DAYS = 300.0
YEAR_BILLS = 6
"""Enough bills to know the home's year: six at least, over 300 days at least."""


def checked_season(season: Collection[int] | None) -> frozenset[int]:
    """Months of an outage season, 1 to 12; empty when none is asked for.

    Raises
    ------
    InputError
        for a month outside 1 to 12.
    """
    months = frozenset(season or ())
    for month in months:
        if month not in range(1, 13):
            raise InputError(f"month {month!r} of the season", hint="Give months as 1 to 12.")
    return months


@dataclass(frozen=True, slots=True)
class Span:
    """Days whose highest demand is asked for: how many, their energy, the daily energies if
    known, and what interval data showed of them (``rest_…``: of the days not measured)."""

    days: float
    kwh: float
    day_kw: Array
    rest_days: float
    rest_kw: float
    measured: Highest | None = None
    base_kw: float = 0.0

    @property
    def mean_kw(self) -> float:
        return self.kwh / (24.0 * self.days)


@dataclass(frozen=True, slots=True)
class Known:
    """Everything the bills and the stretch say about the home as a whole."""

    window_min: int
    base_min: int
    bill_kw: tuple[float, ...]
    bill_days: tuple[float, ...]
    daily: bool
    interval: Interval | None
    table: Days | None

    @property
    def has_year(self) -> bool:
        long_enough = sum(self.bill_days) >= YEAR_DAYS
        return long_enough and len(self.bill_days) >= YEAR_BILLS and not self.daily

    @property
    def stretch(self) -> Days | None:
        table = self.table
        return table if table is not None and features.telling(table.peak_kw) else None


def peak_from_bills(
    periods: Sequence[Period],
    window_min: int = 60,
    *,
    interval: Interval | None = None,
    season: Collection[int] | None = None,
) -> PeakEstimate:
    """The highest mean demand over a window, in each billing period and in their whole span.

    Parameters
    ----------
    periods : sequence of (date, date, float)
        first day, day after the last, energy drawn. [kWh] Twenty or more one-day periods are
        taken as daily energies.
    window_min : int
        15, 30 or 60. [min]
    interval : Interval
        a stretch of interval data of the same home, a week or more, with a step of at most an
        hour; it sharpens the answer, also for periods that it does not lie in.
    season : collection of int
        months (1 to 12) in which an outage is likely; ``season`` of the result is for them.

    Returns
    -------
    PeakEstimate
        ranges in W: 5, 50 and 95 % points, calibrated over homes. [W]

    Raises
    ------
    InputError
        for periods that are empty, overlap or hold a negative energy, and other windows.

    Notes
    -----
    A period without any energy has a highest demand of zero. No point lies below the mean
    demand or a measured one, none above the energy drawn within one window.

    References
    ----------
    Coefficients and their cross-validation: ``seed_data/peak_model.csv``, ``peak_cv.csv``,
    with sources in ``peak_sources.csv``.

    Examples
    --------
    >>> from datetime import date
    >>> june = peak_from_bills([(date(2025, 6, 1), date(2025, 7, 1), 900.0)])
    >>> june.average_w
    1250.0
    >>> june.overall.low < june.overall.typical < june.overall.high
    True
    """
    window = checked_window(window_min)
    months = checked_season(season)
    found = checked_periods(periods)
    known = _known(found, window, interval)
    spans = [_span(known, [period]) for period in found]
    whole = _span(known, found)
    ranges = _ranges(known, spans)
    overall = not_below(_ranges(known, [whole])[0], ranges)
    level = _level(known, whole)
    rows = [_quantities(known, level, whole)]
    odd = remarks(level, known.base_min, rows)
    wide = bool(modelled(level, known.base_min, rows)[1][0] > 0.0)
    if interval is None and not known.daily and level != "short":
        each = _level(known, spans[0])
        odd = odd or remarks(each, known.base_min, [_quantities(known, each, s) for s in spans])
    widened = wide and LEVELS[level].widen > 1.0
    return PeakEstimate(
        window,
        found,
        ranges,
        overall,
        1000.0 * whole.mean_kw,
        _rests_on(known, level),
        tuple(_notes(known, found, spans, odd, unlike=wide or bool(odd), widened=widened)),
        tuple(span.measured for span in spans),
        _season_range(known, found, months),
        wide or bool(odd),
        words.sharper(level, known.base_min, whole.days, _stretch_days(known)),
    )


def _known(found: Sequence[Period], window_min: int, interval: Interval | None) -> Known:
    if interval is not None and interval.step_s > 3600:
        raise InputError(
            f"interval data with a step of {interval.step_s} s",
            hint="Give daily energies as one-day periods; interval data must be hourly or finer.",
        )
    base = base_window(window_min, interval.step_s if interval is not None else 0)
    days = tuple(float((after - first).days) for first, after, _ in found)
    kw = tuple(kwh / (24.0 * d) for (_, _, kwh), d in zip(found, days, strict=True))
    daily = len(found) >= LEAST_SPAN_DAYS and all(d == 1.0 for d in days)
    table = day_table(interval, base) if interval is not None else None
    return Known(window_min, base, kw, days, daily, interval, table)


def _span(known: Known, pieces: Sequence[Period]) -> Span:
    """One span from whole periods."""
    days = float(sum((after - first).days for first, after, _ in pieces))
    kwh = float(sum(piece[2] for piece in pieces))
    day_kw = np.array([p[2] / 24.0 for p in pieces]) if known.daily else np.empty(0)
    mean_kw = kwh / (24.0 * days)
    if known.interval is None or known.table is None:
        return Span(days, kwh, day_kw, days, mean_kw)
    inside = np.zeros(len(known.table.dates), dtype=bool)
    for first, after, _ in pieces:
        inside |= known.table.between(first, after)
    covered_kw = float(known.table.mean_kw[inside].sum())
    rest_days = days - float(inside.sum())
    rest_kw = (days * mean_kw - covered_kw) / rest_days if rest_days > 0.0 else 0.0
    base_kw = float(known.table.peak_kw[inside].max()) if inside.any() else 0.0
    measured = _measured(known, pieces)
    return Span(days, kwh, day_kw, rest_days, max(rest_kw, 0.0), measured, base_kw)


def _measured(known: Known, pieces: Sequence[Period]) -> Highest | None:
    """The highest measured over the window itself, where the step allows it."""
    interval = known.interval
    if interval is None or (known.window_min * 60) % interval.step_s:
        return None
    found = [highest(interval, known.window_min, first, after) for first, after, _ in pieces]
    return max((one for one in found if one is not None), key=lambda h: h.peak_w, default=None)


def _level(known: Known, span: Span) -> str:
    """The richest kind of evidence that covers a span."""
    if known.stretch is not None:
        return "bills_stretch" if known.has_year else "bill_stretch"
    if span.rest_days < LEAST_SPAN_DAYS:
        return "short"
    if known.daily:
        return "days"
    if known.has_year:
        return "bills_year" if span.rest_days >= YEAR_DAYS else "bills"
    return "bill"


def _quantities(known: Known, level: str, span: Span) -> Quantities:
    rest_days = max(span.rest_days, 1.0)
    found = features.energy(span.rest_kw, rest_days)
    if level.startswith("bills"):
        found |= features.year(span.rest_kw, known.bill_kw, known.bill_days)
    if level == "days":
        found |= features.daily(span.day_kw)
    stretch = known.stretch
    if level.endswith("stretch") and stretch is not None:
        anchor = found["year_mean"] if level == "bills_stretch" else found["span_mean"]
        found |= features.stretch(
            stretch.peak_kw, stretch.mean_kw, anchor=anchor, span_mean=found["span_mean"]
        )
    return found


def _stretch_days(known: Known) -> float:
    return float(known.stretch.peak_kw.size) if known.stretch is not None else 0.0


def _ranges(known: Known, spans: Sequence[Span]) -> tuple[Range, ...]:
    """One range a span; spans with the same kind of evidence go through the model together."""
    found: dict[int, Range] = {}
    groups: dict[str, list[int]] = {}
    for k, span in enumerate(spans):
        if span.kwh == 0.0:
            found[k] = Range.exact(0.0)
        elif span.rest_days <= 0.0 and span.measured is not None:
            found[k] = Range.exact(max(span.measured.peak_w, 1000.0 * span.mean_kw))
        else:
            groups.setdefault(_level(known, span), []).append(k)
    for level, members in groups.items():
        rows = [_quantities(known, level, spans[k]) for k in members]
        points, _ = modelled(level, known.base_min, rows, _stretch_days(known))
        found |= {k: _range(known, spans[k], p) for k, p in zip(members, points, strict=True)}
    return tuple(found[k] for k in range(len(spans)))


def _range(known: Known, span: Span, base_points_kw: Array) -> Range:
    points = finer(np.maximum(base_points_kw, span.base_kw), known.base_min, known.window_min)
    seen_kw = span.measured.peak_w / 1000.0 if span.measured is not None else 0.0
    most_kw = span.kwh / (known.window_min / 60.0)
    return to_range(points, least_kw=max(span.mean_kw, seen_kw), most_kw=most_kw)


def _season_range(known: Known, found: Sequence[Period], months: frozenset[int]) -> Range | None:
    """The range for the days in the months asked for; a period's energy is spread evenly."""
    if not months:
        return None
    pieces = [piece for period in found for piece in _in_months(period, months)]
    if not pieces:
        raise InputError("no billing period lies in the months of the season")
    return _ranges(known, [_span(known, pieces)])[0]


def _in_months(period: Period, months: frozenset[int]) -> list[Period]:
    """The parts of a period that lie in some months, each with its share of the energy."""
    first, after, kwh = period
    days = [first + timedelta(days=k) for k in range((after - first).days)]
    runs: list[tuple[date, date]] = []
    for day in days:
        if day.month not in months:
            continue
        if runs and runs[-1][1] == day:
            runs[-1] = (runs[-1][0], day + timedelta(days=1))
        else:
            runs.append((day, day + timedelta(days=1)))
    return [(a, b, kwh * (b - a).days / len(days)) for a, b in runs]


def _rests_on(known: Known, level: str) -> str:
    says = LEVELS[level].says
    if known.stretch is not None:
        return f"{says} ({known.stretch.peak_kw.size} complete days)"
    return says if level != "bill" else f"{says} ({len(known.bill_kw)} billed)"


def _notes(
    known: Known,
    found: Sequence[Period],
    spans: Sequence[Span],
    odd: list[str],
    *,
    unlike: bool,
    widened: bool,
) -> list[str]:
    notes = [f"Calibrated on {words.FITTED_ON}: of homes like those, nine in ten lie inside."]
    if unlike:
        notes.append(words.unfamiliar_note(odd, widened))
    gaps = sum((after[0] - before[1]).days for before, after in pairwise(found))
    if gaps:
        notes.append(f"{gaps} days between the periods are not billed and not counted in.")
    if any(span.kwh == 0.0 for span in spans):
        notes.append("A period without any energy has a highest demand of zero.")
    if sum(known.bill_days) > 400.0:
        notes.append("The bills cover more than a year; the overall peak is that of one year.")
    if known.window_min < known.base_min:
        notes.append(
            f"The step from {known.base_min} to {known.window_min} minutes comes from measured "
            "homes of other places, and widens the band."
        )
    if known.interval is not None and known.stretch is None:
        notes.append(
            "The interval data hold less than a week of complete days, or an empty house: they "
            "count as measured where they lie, and sharpen nothing else."
        )
    if any(span.rest_kw <= 0.0 < span.rest_days and span.kwh > 0.0 for span in spans):
        notes.append("The interval data hold as much energy as the bill, or more: check both.")
    if any(
        span.measured is not None
        and span.rest_days <= 0.0
        and 1000.0 * span.mean_kw > span.measured.peak_w
        for span in spans
    ):
        notes.append(
            "The bill holds far more energy than the interval data of its days: check both."
        )
    return notes
