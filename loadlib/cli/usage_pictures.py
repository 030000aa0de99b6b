"""What ``loadlib usage picture`` shows: three pictures of a house's bills and interval data."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.cli.pictures import MONTHS, duration_lines, energy_lines, map_lines
from loadlib.core.evidence import Evidence
from loadlib.core.ranges import Range
from loadlib.core.series import Series
from loadlib.errors import InputError, NotFound

__all__ = ["KINDS", "Periods", "Pictures", "check_kind", "pictures_of"]

KINDS = ("months", "hours", "duration")
"""Energy by month, mean demand by month and hour, load-duration curve."""

PARTS = ("base_wh", "heating_wh", "cooling_wh")
MOST_PERIODS = 13
"""A year of bills and the same month again, for comparison."""


@dataclass(frozen=True, slots=True)
class Periods:
    """Energy of billing periods or months; ``parts_wh`` base, heating, cooling, or empty. [Wh]"""

    labels: tuple[str, ...]
    energy_wh: tuple[float, ...]
    parts_wh: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Pictures:
    """The numbers of the pictures; None where the data for one are missing.

    ``hours_w`` is mean demand by month and local hour, shape (12, 24), NaN where nothing was
    measured; ``passed_w`` is measured demand in falling order, shape (n,). [W]
    ``notes`` are pairs of a kind and what is to be said of it.
    """

    periods: Periods | None
    hours_w: NDArray[np.float64] | None
    passed_w: NDArray[np.float64] | None
    notes: tuple[tuple[str, str], ...]

    def lines(self, kind: str, width: int) -> Iterator[str]:
        """One picture for a terminal of ``width`` columns."""
        if kind == "months":
            periods = self._periods()
            yield from energy_lines(periods.labels, periods.energy_wh, periods.parts_wh, width)
        elif kind == "hours":
            yield from map_lines(self._hours(), width)
        else:
            passed = self._passed()
            yield from duration_lines(np.linspace(0.0, 1.0, passed.size), passed, width)

    def svg(self, kind: str) -> str:
        """One picture as an SVG file."""
        from loadlib import figures

        if kind == "months":
            periods = self._periods()
            energy = [Range.exact(value) for value in periods.energy_wh]
            drawn = figures.energy_by_month(energy, periods.parts_wh, labels=periods.labels)
        elif kind == "hours":
            drawn = figures.month_hour_map(self._hours())
        else:
            passed = self._passed()
            share = np.linspace(0.0, 1.0, 401)
            at = np.linspace(0.0, 1.0, passed.size)
            drawn = figures.duration_curve(share, np.interp(share, at, passed))
        return figures.standalone(drawn)

    def tree(self, kind: str) -> dict[str, object]:
        """The numbers of one picture, or of all that there are for ``""``, for JSON."""
        shown = (kind,) if kind else self.there()
        tree: dict[str, object] = {"notes": list(self.notes_on(kind))}
        if "months" in shown:
            periods = self._periods()
            parts = zip(*periods.parts_wh, strict=True) if periods.parts_wh else None
            tree["months"] = [
                {"label": label, "energy_wh": energy}
                | (dict(zip(PARTS, next(parts), strict=False)) if parts else {})
                for label, energy in zip(periods.labels, periods.energy_wh, strict=True)
            ]
        if "hours" in shown:
            tree["hours_mean_w"] = [
                [None if np.isnan(watts) else float(watts) for watts in month]
                for month in self._hours()
            ]
        if "duration" in shown:
            shares = np.linspace(0.0, 1.0, 101)
            passed = np.quantile(self._passed(), 1.0 - shares)
            tree["duration"] = [
                {"share": float(share), "passed_w": float(watts)}
                for share, watts in zip(shares, passed, strict=True)
            ]
        return tree

    def there(self) -> tuple[str, ...]:
        """Kinds for which there are data."""
        have = (self.periods, self.hours_w, self.passed_w)
        return tuple(kind for kind, data in zip(KINDS, have, strict=True) if data is not None)

    def notes_on(self, kind: str) -> tuple[str, ...]:
        """What is to be said of one picture, or of all for ``""``; each once."""
        return tuple(dict.fromkeys(text for of, text in self.notes if kind in ("", of)))

    def _periods(self) -> Periods:
        if self.periods is None:
            raise _lacks("bills or a whole month of interval data")
        return self.periods

    def _hours(self) -> NDArray[np.float64]:
        if self.hours_w is None:
            raise _lacks("interval data of an hour or finer")
        return self.hours_w

    def _passed(self) -> NDArray[np.float64]:
        if self.passed_w is None:
            raise _lacks("interval data")
        return self.passed_w


def _lacks(what: str) -> InputError:
    return InputError(f"this picture needs {what}", hint="Add a file: loadlib usage add FILE.")


def check_kind(kind: str) -> None:
    """NotFound for a picture that does not exist."""
    if kind not in KINDS:
        raise NotFound("picture", kind, near=KINDS)


def pictures_of(evidence: Evidence, *, southern: bool = False) -> Pictures:
    """The numbers of all three pictures of a house.

    Bills, else whole months of the longest series, give the energy; with six periods or more
    it is split into base, heating and cooling. The longest series of the whole house gives the
    hours and the curve. InputError when there is neither bill nor series.
    """
    whole = [s for s in evidence.series if s.place == "whole" and s.flow in ("import", "load")]
    series = max(whole, key=lambda s: s.span_s, default=None)
    if series is None and not evidence.bills:
        raise InputError(
            f"{evidence.house.name} has no bills and no usage file",
            hint="Add one: loadlib usage bill …, loadlib usage add FILE.",
        )
    periods, notes = _energy(evidence, series, southern)
    known = np.array([]) if series is None else series.mean_w[np.isfinite(series.mean_w)]
    if series is not None:
        notes += tuple((kind, _told(series)) for kind in KINDS[1:])
    return Pictures(
        periods=periods,
        hours_w=_hours(series, evidence) if series is not None and series.step_s <= 3600 else None,
        passed_w=np.sort(known)[::-1] if known.size > 1 else None,
        notes=notes,
    )


def _told(series: Series) -> str:
    lost = f", {series.missing:,} missing and left out" if series.missing else ""
    return (
        f"hours and load-duration: {series.mean_w.size:,} means over {series.step_s // 60} min"
        f"{lost}; a mean hides what is shorter"
    )


def _energy(
    evidence: Evidence, series: Series | None, southern: bool
) -> tuple[Periods | None, tuple[tuple[str, str], ...]]:
    from loadlib.cli.split_answer import split_of_house
    from loadlib.cli.usage_text import interval_of
    from loadlib.peak.series import whole_months

    found = [(b.first_day, b.day_after, b.energy_wh / 1000.0) for b in evidence.bills]
    if series is not None:
        months = list(whole_months(interval_of(series, evidence.house.timezone)))
        found = months if len(months) > len(found) else found
    if not found:
        return None, ()
    parts: tuple[tuple[float, ...], ...] = ()
    note = "energy is not split into base, heating and cooling: fewer than six periods"
    if len(found) >= 6:
        answer = split_of_house(evidence, southern=southern)
        found, split = list(answer.periods), answer.split
        base = tuple(split.base_w.typical * 24.0 * (b - a).days for a, b, _ in found)
        heating = tuple(r.typical for r in split.heating_wh)
        cooling = tuple(r.typical for r in split.cooling_wh)
        parts = (base, heating, cooling)
        note = f"the parts are a fit ({split.form}, from {answer.rests_on}): see usage split"
    last = slice(max(len(found) - MOST_PERIODS, 0), None)
    labels = tuple(_label(a + timedelta(days=(b - a).days // 2)) for a, b, _ in found[last])
    return (
        Periods(
            labels,
            tuple(1000.0 * kwh for *_, kwh in found[last]),
            tuple(part[last] for part in parts),
        ),
        (("months", note),),
    )


def _label(middle: date) -> str:
    return f"{MONTHS[middle.month - 1]} {middle.year % 100:02d}"


def _hours(series: Series, evidence: Evidence) -> NDArray[np.float64]:
    """Mean demand by month and clock hour; NaN where nothing was measured. [W]"""
    name = series.timezone or evidence.house.timezone
    zone = ZoneInfo(name) if name else UTC
    # Offsets of zones are whole quarters of an hour: one look at the clock serves each.
    quarters, place = np.unique(series.times_s() // 900, return_inverse=True)
    local = [datetime.fromtimestamp(int(quarter) * 900, zone) for quarter in quarters]
    cell = np.array([(moment.month - 1) * 24 + moment.hour for moment in local])[place]
    known = np.isfinite(series.mean_w)
    count = np.bincount(cell[known], minlength=288)
    total = np.bincount(cell[known], weights=series.mean_w[known], minlength=288)
    with np.errstate(invalid="ignore"):
        mean: NDArray[np.float64] = (total / count).reshape(12, 24)
    return mean
