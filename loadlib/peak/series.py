"""Peak demand from interval data: measured where they hold the window, a ratio below the step."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from numbers import Real
from typing import cast

import numpy as np
from numpy.typing import ArrayLike

from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.peak import features
from loadlib.peak.bills import checked_season, peak_from_bills
from loadlib.peak.estimate import (
    WINDOWS_MIN,
    Array,
    PeakEstimate,
    finer,
    modelled,
    not_below,
    to_range,
)
from loadlib.peak.measured import Days, Highest, day_table, highest
from loadlib.peak.periods import DAY_S, Interval, Period, moment_of

__all__ = ["peak_from_series", "whole_months"]


NAIVE = (
    "The start has no time zone: times are as given, on a clock that never changes. Days on which "
    "the house's clock changed may be an hour off."
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of which data: ``held_min`` is the window that the data themselves hold."""

    interval: Interval
    window_min: int
    held_min: int
    days: Days | None

    @property
    def calibrated(self) -> bool:
        """Whether a gap can be judged: for windows of the calibration only."""
        return self.window_min in WINDOWS_MIN


def peak_from_series(
    start: datetime,
    step_s: int,
    kwh: ArrayLike,
    window_min: int = 60,
    *,
    season: Collection[int] | None = None,
) -> PeakEstimate:
    """The highest mean demand over a window, in each calendar month and in the whole series.

    Parameters
    ----------
    start : datetime
        start of the first slot. Months are those of its time zone; without one, times are
        taken as they stand, on a clock that never changes, and the notes say so.
    step_s : int
        slot length. [s] Steps above an hour that divide a day are taken as daily energies.
    kwh : array_like
        energy of each slot, shape (n,), NaN where missing. [kWh]
    window_min : int
        any whole number of slots; below the step 15 and 30 only. [min]
    season : collection of int
        months (1 to 12) for ``season`` of the result.

    Returns
    -------
    PeakEstimate
        ranges in W. Exact where the data hold the window without a gap; ``measured`` has the
        time and the bound for a window that starts between two slots. [W]

    Raises
    ------
    InputError
        no moment as start, negative energy, nothing there, a window that neither the data nor
        the calibration hold.

    Notes
    -----
    Missing slots are not filled in: what they may have held widens the range upwards, by the
    model for as many days as are missing (one at least) in a home with the days that are there.
    """
    moment, naive = _start(start)
    interval = Interval(moment, step_s, cast(Array, kwh))
    months = checked_season(season)
    if not isinstance(window_min, Real):
        raise InputError(f"window {window_min!r}", hint="Give minutes.")
    if interval.step_s > 3600:
        found = _from_days(interval, int(window_min), months)
    else:
        found = _from_intervals(interval, window_min, months)
    return replace(found, notes=(*found.notes, NAIVE)) if naive else found


def _start(start: object) -> tuple[datetime, bool]:
    """The first slot's start, and whether its time zone had to be left open."""
    moment = moment_of(start)
    if moment is None:
        raise InputError(f"start {start!r} is no moment", hint="Give an aware datetime.")
    if not isinstance(moment, datetime):
        moment = datetime(moment.year, moment.month, moment.day)
    naive = moment.utcoffset() is None
    return (moment.replace(tzinfo=UTC), True) if naive else (moment, False)


def _from_intervals(interval: Interval, window_min: int, months: frozenset[int]) -> PeakEstimate:
    held = _held_window(interval.step_s, window_min)
    asked = Asked(interval, window_min, held, _judging_days(interval))
    periods = _months(interval)
    seen = tuple(highest(interval, held, first, after) for first, after, _ in periods)
    if all(one is None for one in seen):
        raise InputError(
            f"no complete window of {held} min in the series", hint="There are too many gaps."
        )
    ranges = tuple(_range(asked, [p], [h]) for p, h in zip(periods, seen, strict=True))
    inside = [k for k, (first, _, _) in enumerate(periods) if first.month in months]
    if months and not inside:
        raise InputError("no month of the season lies in the series")
    return PeakEstimate(
        window_min,
        periods,
        ranges,
        not_below(_range(asked, periods, seen), ranges),
        _average_w(interval),
        f"interval data with a step of {interval.step_s / 60.0:g} min",
        tuple(_notes(asked, seen)),
        seen,
        _range(asked, [periods[k] for k in inside], [seen[k] for k in inside]) if inside else None,
    )


def _held_window(step_s: int, window_min: int) -> int:
    """The window itself when it is a whole number of slots, else the next longer one that is."""
    if window_min >= 1 and (window_min * 60) % step_s == 0:
        return window_min
    if window_min in WINDOWS_MIN and window_min * 60 < step_s:
        for longer in (30, 60):
            if longer > window_min and (longer * 60) % step_s == 0:
                return longer
    hint = "Ask for a multiple of the step."
    if window_min * 60 < step_s:
        hint += (
            " Below the step only 15 and 30 min are calibrated; one minute comes from the load"
            " model built on the list of appliances, uncalibrated."
        )
    raise InputError(
        f"a window of {window_min} min cannot be taken from slots of {step_s} s", hint=hint
    )


def _judging_days(interval: Interval) -> Days | None:
    """Complete days at the window that the model was fitted for, to judge gaps by."""
    for window in (30, 60):
        if (window * 60) % interval.step_s == 0:
            return day_table(interval, window)
    return None


def _months(interval: Interval) -> tuple[Period, ...]:
    """Calendar months of the series, cut to its days, each with the energy that is there."""
    days = interval.days()
    firsts = [days[0], *(day for day in days[1:] if day.day == 1)]
    afters = [*firsts[1:], days[-1] + timedelta(days=1)]
    return tuple(
        (first, after, float(np.nansum(_slots(interval, first, after))))
        for first, after in zip(firsts, afters, strict=True)
    )


def whole_months(interval: Interval) -> tuple[Period, ...]:
    """Calendar months of which every slot is there, with their energy. [kWh]"""
    found = []
    for first, after, kwh in _months(interval):
        full = first.day == 1 and after.day == 1
        inside = interval.slot(first) >= 0 and interval.slot(after) <= interval.kwh.size
        if full and inside and np.isfinite(_slots(interval, first, after)).all():
            found.append((first, after, kwh))
    return tuple(found)


def _slots(interval: Interval, first: date, after: date) -> Array:
    low, high = interval.cut(first, after)
    return interval.kwh[low:high]


def _average_w(interval: Interval) -> float:
    return 1000.0 * float(np.nanmean(interval.kwh)) * 3600.0 / interval.step_s


def _range(asked: Asked, pieces: Sequence[Period], seen: Sequence[Highest | None]) -> Range:
    """The belief about the highest demand over some months."""
    peaks = [one.peak_w / 1000.0 for one in seen if one is not None]
    known_kw = max(peaks, default=0.0)
    missing = sum(
        int(np.isnan(_slots(asked.interval, first, after)).sum()) for first, after, _ in pieces
    )
    points = np.full(3, known_kw)
    if missing and asked.calibrated:
        days = missing * asked.interval.step_s / DAY_S
        points = np.maximum(points, _gap_points(asked, pieces, max(days, 1.0)))
    return to_range(finer(points, asked.held_min, asked.window_min), least_kw=known_kw)


def _gap_points(asked: Asked, pieces: Sequence[Period], days: float) -> Array:
    """5, 50 and 95 % points of the highest demand in the missing days, shape (3,). [kW]"""
    there = np.concatenate([_slots(asked.interval, first, after) for first, after, _ in pieces])
    if np.isnan(there).all():
        there = asked.interval.kwh
    mean_kw = float(np.nanmean(there)) * 3600.0 / asked.interval.step_s
    rows = features.energy(mean_kw, days)
    table = asked.days
    base = 60 if (1800 % asked.interval.step_s) else 30
    if table is not None and features.telling(table.peak_kw):
        rows |= features.stretch(
            table.peak_kw, table.mean_kw, anchor=None, span_mean=rows["span_mean"]
        )
        points, _ = modelled("stretch", base, [rows], float(table.peak_kw.size))
    else:
        points, _ = modelled("short" if days < 20.0 else "bill", base, [rows])
    # Held at 15 min the model starts from 30: the shorter window stands somewhat higher.
    return finer(points[0], base, asked.held_min) if asked.held_min < base else points[0]


def _notes(asked: Asked, seen: Sequence[Highest | None]) -> list[str]:
    step_min = asked.interval.step_s / 60.0
    notes = []
    if asked.held_min == asked.window_min:
        best = max((one for one in seen if one is not None), key=lambda one: one.peak_w)
        notes.append(
            f"Measured: {best.peak_w / 1000.0:.2f} kW over {asked.window_min} min from "
            f"{best.at:%Y-%m-%d %H:%M}; a window between the slots may have reached "
            f"{best.floating_bound_w / 1000.0:.2f} kW."
        )
    else:
        notes.append(
            f"The data hold {asked.held_min} min; the step to {asked.window_min} min is a ratio "
            "from measured homes with a 90 % band."
        )
    missing = int(np.isnan(asked.interval.kwh).sum())
    if missing:
        hours = missing * asked.interval.step_s / 3600.0
        notes.append(f"{missing} slots ({hours:g} h) are missing and not filled in.")
        if not asked.calibrated:
            notes.append("For this window the gaps are not judged: the peak is a lower bound.")
    notes.append(f"A mean over {step_min:g} min or more never shows a start surge.")
    return notes


def _from_days(interval: Interval, window_min: int, months: frozenset[int]) -> PeakEstimate:
    """Daily energies (or slots of several hours, added up to days), by calendar month."""
    if DAY_S % interval.step_s:
        raise InputError(
            f"slots of {interval.step_s} s do not divide a day",
            hint="Give hourly or finer slots, or daily energies.",
        )
    periods: list[Period] = []
    for day in interval.days():
        low, high = interval.slot(day), interval.slot(day + timedelta(days=1))
        slots = interval.kwh[max(low, 0) : high]
        if low >= 0 and high <= interval.kwh.size and slots.size and np.isfinite(slots).all():
            periods.append((day, day + timedelta(days=1), float(slots.sum())))
    if not periods:
        raise InputError("no complete day in the series")
    whole = peak_from_bills(periods, window_min, season=months)
    groups: dict[tuple[int, int], list[Period]] = {}
    for period in periods:
        groups.setdefault((period[0].year, period[0].month), []).append(period)
    parts = [peak_from_bills(group, window_min) for group in groups.values()]
    return PeakEstimate(
        window_min,
        tuple((group[0][0], group[-1][1], sum(p[2] for p in group)) for group in groups.values()),
        tuple(part.overall for part in parts),
        whole.overall,
        whole.average_w,
        "daily energies",
        whole.notes,
        (None,) * len(parts),
        whole.season,
        whole.unfamiliar,
        whole.sharper,
    )
