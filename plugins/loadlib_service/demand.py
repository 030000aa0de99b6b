"""Maximum demand of a record: the highest 15-minute mean, its date, gaps, and what it hides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from numpy.typing import NDArray

from loadlib import DataError, InputError, LoadProfile, Series

__all__ = ["MaximumDemand", "from_profile", "maximum_demand", "series_of_kwh"]

WINDOW_S = 900
DAY_S = 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class MaximumDemand:
    """The highest mean of a record and what the record is.

    ``power_w`` is the highest mean over ``window_s``; ``current_a`` stands instead where the
    instrument records amperes. ``record_s`` is the time that was really recorded,
    ``span_s`` from first to last. ``bound_w`` is what the true 15-minute maximum can't
    exceed, given that intervals cut it in two (None where the record does not say).
    ``place`` is ``"whole"`` or a leg such as ``"leg A"``.
    """

    window_s: int
    record_s: float
    power_w: float | None = None
    current_a: float | None = None
    span_s: float | None = None
    at: str = ""
    first: str = ""
    last: str = ""
    missing: int = 0
    gaps: int = 0
    longest_gap_s: float = 0.0
    months_missing: tuple[str, ...] = ()
    bound_w: float | None = None
    place: str = "whole"
    instrument: str = ""
    source: str = ""
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if (self.power_w is None) == (self.current_a is None):
            raise InputError("maximum demand: give either power_w or current_a")
        amount = self.power_w if self.power_w is not None else self.current_a
        if amount is None or not np.isfinite(amount) or amount <= 0.0:
            raise InputError(
                f"maximum demand of {amount}",
                hint="A record of an occupied house has a maximum above zero.",
            )
        if self.window_s <= 0 or self.record_s <= 0.0:
            raise InputError("maximum demand: window and length of the record must be positive")

    @property
    def days(self) -> float:
        """Length of what was recorded, in days."""
        return self.record_s / DAY_S


def series_of_kwh(
    start: datetime, step_s: int, kwh: Sequence[float | None], *, source: str = ""
) -> Series:
    """A Series from interval energies, None where one is missing. ``start`` needs an offset."""
    if start.tzinfo is None:
        raise InputError(f"{start.isoformat()}: no zone", hint="Give an offset, e.g. -05:00.")
    if step_s <= 0:
        raise InputError(f"step of {step_s} s", hint="Give the interval in seconds, e.g. 900.")
    energy = np.array([np.nan if k is None else float(k) for k in kwh])
    return Series(
        channel=source or "intervals",
        place="whole",
        flow="import",
        start_s=int(start.timestamp()),
        step_s=step_s,
        mean_w=energy * 3_600_000.0 / step_s,
        source=source,
    )


def maximum_demand(series: Series, *, instrument: str = "") -> MaximumDemand:
    """Highest 15-minute mean of a series, or of its own interval where that is longer.

    Intervals shorter than 15 min are averaged over every run of them that makes 15 min, a
    run with a gap in it left out. Raises DataError for a series without values or with
    negative ones (net of generation), and for an export channel.
    """
    if series.flow in ("export", "net"):
        raise DataError(
            f"series {series.channel} is {series.flow}, not load",
            hint="The method does not apply behind solar, wind or storage on the meter: use a "
            "calculated method.",
        )
    power = np.asarray(series.mean_w, dtype=float)
    if power.size == 0 or bool(np.isnan(power).all()):
        raise DataError(f"series {series.channel} holds no readings")
    if bool(np.nanmin(power) < 0.0):
        raise DataError(
            f"series {series.channel} holds negative readings: generation behind the meter",
            hint="The method does not apply behind solar, wind or storage on the meter: use a "
            "calculated method.",
        )
    n = WINDOW_S // series.step_s if WINDOW_S % series.step_s == 0 else 1
    means = _sliding(power, n)
    if bool(np.isnan(means).all()):
        raise DataError(
            f"series {series.channel}: no 15 minutes without a gap",
            hint="Use a record whose intervals are complete.",
        )
    top = int(np.nanargmax(means))
    missing = np.isnan(power)
    gaps, longest = _gaps(missing)
    end_s = series.start_s + series.step_s * power.size
    return MaximumDemand(
        power_w=float(means[top]),
        window_s=n * series.step_s,
        record_s=float((~missing).sum() * series.step_s),
        span_s=float(power.size * series.step_s),
        at=_local(series.start_s + top * series.step_s, series.timezone),
        first=_local(series.start_s, series.timezone),
        last=_local(end_s, series.timezone),
        missing=int(missing.sum()),
        gaps=gaps,
        longest_gap_s=float(longest * series.step_s),
        months_missing=_months_missing(series, missing),
        bound_w=_bound(power, n, series.step_s),
        place=series.place,
        instrument=instrument,
        source=series.source,
        notes=series.notes,
    )


def _sliding(power: NDArray[np.float64], n: int) -> NDArray[np.float64]:
    """Mean of every ``n`` neighbours; NaN where one is missing or the record is too short."""
    if n == 1:
        return power
    if power.size < n:
        return np.full(1, np.nan)
    means: NDArray[np.float64] = np.lib.stride_tricks.sliding_window_view(power, n).mean(axis=1)
    return means


def _bound(power: NDArray[np.float64], n: int, step_s: int) -> float:
    """Most that a mean over any 15 minutes can be: all energy of the slots that it touches. [W]"""
    touched = np.nan_to_num(power)
    count = min(n + 1, touched.size)
    energy = np.lib.stride_tricks.sliding_window_view(touched, count).sum(axis=1).max() * step_s
    return float(energy / WINDOW_S)


def _gaps(missing: NDArray[np.bool_]) -> tuple[int, int]:
    """(number of gaps, length of the longest in slots)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], missing.astype(np.int8), [0]))))
    lengths = edges[1::2] - edges[::2]
    return int(lengths.size), int(lengths.max(initial=0))


def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name) if name else None
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise DataError(f"time zone {name!r} is unknown", hint="Use an IANA name.") from error


def _local(second: int, timezone: str) -> str:
    return datetime.fromtimestamp(second, _zone(timezone) or UTC).isoformat(timespec="minutes")


def _months_missing(series: Series, missing: NDArray[np.bool_]) -> tuple[str, ...]:
    """Calendar months inside the record without any reading, as ``2024-02``."""
    zone = _zone(series.timezone) or UTC
    per_day = max(1, DAY_S // series.step_s)
    seen: dict[str, bool] = {}
    for i in range(0, missing.size, per_day):
        month = datetime.fromtimestamp(series.start_s + i * series.step_s, zone).strftime("%Y-%m")
        there = not bool(missing[i : i + per_day].all())
        seen[month] = seen.get(month, False) or there
    return tuple(month for month, there in seen.items() if not there)


def from_profile(profile: LoadProfile, *, record_days: float) -> MaximumDemand:
    """Maximum demand from the measured peaks of a profile.

    A profile keeps the peak, not the record, so its length in days must be said. Only
    peaks whose basis is ``"measured"`` count. Raises InputError when there is none of
    15 or 60 minutes.
    """
    found = [
        p
        for p in profile.peaks
        if p.basis == "measured" and p.place == "whole" and p.window_s in (900, 3600)
    ]
    if not found:
        raise InputError(
            f"the profile of {profile.house} holds no measured 15- or 60-minute peak",
            hint="Import interval data first, or use a calculated method.",
        )
    shortest = min(p.window_s for p in found)
    top = max((p for p in found if p.window_s == shortest), key=lambda p: p.power_w.typical)
    return MaximumDemand(
        power_w=top.power_w.typical,
        window_s=top.window_s,
        record_s=record_days * DAY_S,
        at=top.at,
        source=f"profile of {profile.house}",
        notes=("Taken from a load profile, which does not show the gaps of the record.",),
    )
