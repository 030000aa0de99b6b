"""The answer of ``loadlib usage split``: base, heating and cooling of a house's bills."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, date, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

from loadlib.cli.output import Output
from loadlib.cli.usage_text import interval_of
from loadlib.core.evidence import Evidence
from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.peak.daily_temperatures import daily_means_c
from loadlib.peak.periods import Period
from loadlib.peak.series import whole_months
from loadlib.peak.weather import LEAST_PERIODS, EnergySplit, covered, split_energy

__all__ = ["SplitAnswer", "split_of_house"]


@dataclass(frozen=True, slots=True)
class SplitAnswer:
    """The split taken, its periods, what it rests on, and the split by season beside it."""

    split: EnergySplit
    periods: tuple[Period, ...]
    rests_on: str
    by_season: EnergySplit | None

    def tree(self) -> dict[str, Any]:
        """Everything as plain values for JSON."""
        return {
            "rests_on": self.rests_on,
            "periods": [
                {"first_day": str(a), "day_after": str(b), "kwh": kwh} for a, b, kwh in self.periods
            ],
            "split": _plain(self.split),
            "by_season": None if self.by_season is None else _plain(self.by_season),
        }

    def show(self, out: Output) -> None:
        """The answer for a terminal."""
        split = self.split
        for line in self._lines():
            out.wrapped(line)
        out.text("")
        out.table(
            ("from", "to, not including", "kWh", "base", "heating", "cooling"),
            [
                (a, b, kwh, _kwh(split.base_w, 24.0 * (b - a).days), _kwh(heat), _kwh(cool))
                for (a, b, kwh), heat, cool in zip(
                    self.periods, split.heating_wh, split.cooling_wh, strict=True
                )
            ],
        )
        for note in split.notes:
            out.wrapped(f"- {note}")

    def _lines(self) -> list[str]:
        split = self.split
        lines = [
            f"{split.form}, from {self.rests_on}.",
            f"Base: {_span(split.base_w)} W, whatever the weather.",
        ]
        for name, slope, balance in (
            ("Heating", split.heating_w_per_k, split.heating_from_c),
            ("Cooling", split.cooling_w_per_k, split.cooling_from_c),
        ):
            if slope is not None and balance is not None:
                side = "below" if name == "Heating" else "above"
                lines.append(
                    f"{name}: {_span(slope)} W for each degree {side} {_span(balance, '.1f')} °C."
                )
        lines.append(
            f"It explains {split.r_squared:.0%} of the differences between periods; its error is "
            f"{split.cv_rmse:.0%} of the mean."
        )
        lines.append(
            "Forms tried, by the Bayesian information criterion, the lowest taken: "
            + ", ".join(f"{n} {value:.1f}" for n, value in split.bic if math.isfinite(value))
            + "."
        )
        if self.by_season is not None:
            best = min(value for _, value in self.by_season.bic)
            lines.append(
                f"By season alone, without the weather: {best:.1f} ({self.by_season.form})."
            )
        return lines


def _plain(split: EnergySplit) -> dict[str, Any]:
    """Plain values; a form that no line fits has no criterion."""
    bic = {name: value if math.isfinite(value) else None for name, value in split.bic}
    return asdict(split) | {"bic": bic}


def _span(value: Range, form: str = ",.0f") -> str:
    if value.is_exact:
        return f"{value.typical:{form}}"
    return f"{value.typical:{form}} ({value.low:{form}} to {value.high:{form}})"


def _kwh(value: Range, hours: float = 1.0) -> str:
    return _span(
        Range(*(point * hours / 1000.0 for point in (value.low, value.typical, value.high)))
    )


def split_of_house(evidence: Evidence, *, southern: bool) -> SplitAnswer:
    """Split the bills of a house, else the whole months of its interval data.

    With temperatures for enough of the periods the weather decides, else the season.

    Raises
    ------
    InputError
        fewer than six periods.
    """
    zone: tzinfo = ZoneInfo(evidence.house.timezone) if evidence.house.timezone else UTC
    periods, rests_on = _periods(evidence)
    daily_c: Mapping[date, float] = {}
    if evidence.temperatures is not None:
        daily_c = daily_means_c(evidence.temperatures, zone)
    warm = covered(periods, daily_c)
    if len(warm) < LEAST_PERIODS:
        lacks = f", {len(warm)} with temperatures: too few" if daily_c else ", no temperatures"
        split = split_energy(periods, southern=southern)
        return SplitAnswer(split, periods, f"{rests_on}{lacks}", None)
    told = f"{rests_on} and temperatures"
    if len(warm) < len(periods):
        told += f" ({len(periods) - len(warm)} periods without them left out)"
    by_season = split_energy(warm, southern=southern)
    return SplitAnswer(split_energy(warm, daily_c), warm, told, by_season)


def _periods(evidence: Evidence) -> tuple[tuple[Period, ...], str]:
    bills = tuple((b.first_day, b.day_after, b.energy_wh / 1000.0) for b in evidence.bills)
    months: tuple[Period, ...] = ()
    whole = [s for s in evidence.series if s.place == "whole" and s.flow in ("import", "load")]
    if whole:
        longest = max(whole, key=lambda one: one.span_s)
        months = whole_months(interval_of(longest, evidence.house.timezone))
    if len(months) > len(bills):
        return months, f"{len(months)} whole months of interval data"
    if not bills:
        raise InputError(
            f"{evidence.house.name} has no bills and no whole month of interval data",
            hint="Add bills: loadlib usage bill …, loadlib usage add FILE.",
        )
    return bills, f"{len(bills)} bills"
