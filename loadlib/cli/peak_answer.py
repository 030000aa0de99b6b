"""The answer of ``loadlib usage peak``: the estimate, the formulas beside it, the words."""

from __future__ import annotations

import textwrap
from collections.abc import Collection
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

from loadlib.cli.output import Output
from loadlib.core.evidence import Evidence
from loadlib.core.series import Series
from loadlib.errors import InputError
from loadlib.peak import Interval, PeakEstimate, in_words, peak_from_bills, peak_from_series
from loadlib.peak.formulas import Labelled, published_peaks
from loadlib.peak.measured_rule import MeasuredDemand, measured_demand

__all__ = ["Answer", "months_of", "of_house", "of_one_bill"]

MONTH_H = 8760.0 / 12.0


@dataclass(frozen=True, slots=True)
class Answer:
    """The calibrated estimate, what published formulas say, and the measured-demand rule."""

    estimate: PeakEstimate
    formulas: tuple[Labelled, ...]
    rule: MeasuredDemand | None

    def tree(self) -> dict[str, Any]:
        """Everything as plain values for JSON."""
        tree = asdict(self)
        estimate = tree["estimate"]
        estimate["periods"] = [
            {"first_day": str(a), "day_after": str(b), "kwh": kwh}
            for a, b, kwh in self.estimate.periods
        ]
        for measured in filter(None, estimate["measured"]):
            measured.update({k: str(v) for k, v in measured.items() if isinstance(v, datetime)})
        return tree

    def show(self, out: Output) -> None:
        """The answer in words, then the formulas, each labelled."""
        for line in in_words(self.estimate).splitlines():
            out.text(*(textwrap.wrap(line, max(out.width, 30)) or [""]))
        if len(self.estimate.periods) > 1:
            out.text("")
            out.table(
                ("from", "to, not including", "kWh", "low W", "typical W", "high W"),
                [
                    (a, b, kwh, r.low, r.typical, r.high)
                    for (a, b, kwh), r in zip(
                        self.estimate.periods, self.estimate.by_period, strict=True
                    )
                ],
            )
        out.text("", "Published formulas, for comparison (none states an error):")
        out.table(
            ("formula", "W", "source", "how obtained"),
            [(f.method, f.peak_w, f.source, f.obtained) for f in self.formulas],
        )
        if self.rule is not None:
            self._show_rule(out, self.rule)

    def _show_rule(self, out: Output, rule: MeasuredDemand) -> None:
        out.text("", "The code's measured-demand rule (NEC 220.87):")
        route = rule.route or "neither route"
        lines = [
            f"{route}: {rule.maximum_w / 1000:.2f} kW x {rule.factor:g} = "
            f"{rule.demand_w / 1000:.2f} kW",
            *(f"asks for {text}" for text in rule.asks),
            *(f"lacks: {text}" for text in rule.lacks),
            "The authority having jurisdiction and a licensed electrician decide.",
        ]
        for line in lines:
            out.text(*textwrap.wrap(f"- {line}", max(out.width, 30), subsequent_indent="  "))


def months_of(text: str) -> tuple[int, ...]:
    """Months written as 12,1,2."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    if not all(part.isascii() and part.isdigit() and 1 <= int(part) <= 12 for part in parts):
        raise InputError(f"{text!r} are no months", hint="Write 12,1,2,3.")
    return tuple(int(part) for part in parts)


def of_one_bill(kwh: float, days: int, window_min: int, season: Collection[int]) -> Answer:
    """The answer from the energy of one bill; its month is not known."""
    last = date(2025, 4, 1)  # April lies between the seasons; a bill without a date has none
    periods = [(last - timedelta(days=days), last, kwh)]
    estimate = peak_from_bills(periods, window_min, season=season or None)
    return Answer(estimate, _formulas(kwh, float(days)), None)


def of_house(house: str, window_min: int, season: Collection[int]) -> Answer:
    """The answer from all bills and interval data that are stored for a house."""
    from loadlib.store.evidence import load_evidence

    evidence = load_evidence(house)
    series = [s for s in evidence.series if s.place == "whole" and s.flow in ("import", "load")]
    chosen = max(series, key=lambda s: s.mean_w.size * s.step_s, default=None)
    periods = [(b.first_day, b.day_after, b.energy_wh / 1000.0) for b in evidence.bills]
    covered_s = 0 if chosen is None else chosen.mean_w.size * chosen.step_s
    if chosen is not None and (not periods or covered_s > 200 * 86_400):
        estimate = _from_series(evidence, chosen, window_min, season)
        return Answer(estimate, _formulas_of(estimate), _rule(chosen))
    if not periods:
        raise InputError(
            f"{house} has no bills and no usage file",
            hint="Add one: loadlib usage bill …, loadlib usage add FILE.",
        )
    interval = _interval(chosen, evidence) if chosen is not None else None
    estimate = peak_from_bills(periods, window_min, interval=interval, season=season or None)
    return Answer(estimate, _formulas_of(estimate), None)


def _zone(series: Series, evidence: Evidence) -> tzinfo:
    name = series.timezone or evidence.house.timezone
    return ZoneInfo(name) if name else UTC


def _interval(series: Series, evidence: Evidence) -> Interval:
    start = datetime.fromtimestamp(series.start_s, _zone(series, evidence))
    return Interval(start, series.step_s, series.mean_w * series.step_s / 3.6e6)


def _from_series(
    evidence: Evidence, series: Series, window_min: int, season: Collection[int]
) -> PeakEstimate:
    found = _interval(series, evidence)
    return peak_from_series(found.start, found.step_s, found.kwh, window_min, season=season or None)


def _rule(series: Series) -> MeasuredDemand:
    import numpy as np

    days = series.mean_w.size * series.step_s / 86_400
    return measured_demand(
        float(np.nanmax(series.mean_w)),
        days,
        max(series.step_s // 60, 1),
        missing_share=series.missing / series.mean_w.size,
    )


def _formulas_of(estimate: PeakEstimate) -> tuple[Labelled, ...]:
    total = sum(kwh for *_, kwh in estimate.periods)
    days = sum((b - a).days for a, b, _ in estimate.periods)
    return _formulas(total, float(days))


def _formulas(kwh: float, days: float) -> tuple[Labelled, ...]:
    """Formulas on the mean month; those that want a year only from ten months on."""
    month_kwh = kwh / days * MONTH_H / 24.0
    return published_peaks(month_kwh, month_kwh * 12.0 if days >= 300.0 else None)
