"""The answer of ``loadlib usage peak``: the estimate, the formulas beside it, the words.

A window of one minute is no meter's: it comes from the load model, marked uncalibrated.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from loadlib.cli.output import Output
from loadlib.cli.usage_text import interval_of
from loadlib.core.cautions import ESTIMATE
from loadlib.core.evidence import Evidence
from loadlib.core.profile import Peak
from loadlib.core.series import Series
from loadlib.errors import InputError
from loadlib.peak import Interval, PeakEstimate, in_words, peak_from_bills, peak_from_series
from loadlib.peak.formulas import Labelled, published_peaks
from loadlib.peak.measured import highest
from loadlib.peak.measured_rule import WINDOW_MIN, MeasuredDemand, both_routes
from loadlib.peak.words import kilowatts

__all__ = ["Answer", "ModelAnswer", "months_of", "of_house", "of_model", "of_one_bill"]

MONTH_H = 8760.0 / 12.0
MODEL_WINDOW_MIN = 1


@dataclass(frozen=True, slots=True)
class Answer:
    """The calibrated estimate, what published formulas say, and the measured-demand rule.

    ``routes`` are the rule's two, empty without interval data.
    """

    estimate: PeakEstimate
    formulas: tuple[Labelled, ...]
    routes: tuple[MeasuredDemand, ...] = ()

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
            out.wrapped(line)
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
        if self.routes:
            self._show_routes(out)

    def _show_routes(self, out: Output) -> None:
        taken = self.routes[0]
        out.text("", "The code's measured-demand rule (NEC 220.87):")
        out.wrapped(
            f"- recorded maximum {taken.maximum_w / 1000:.2f} kW x {taken.factor:g} = "
            f"{taken.demand_w / 1000:.2f} kW, to which a new load is added"
        )
        for route in self.routes:
            reached = "lacking" if route.lacks else "the record reaches"
            out.wrapped(f"- {route.route} route, {reached}:")
            for text in route.asks:
                out.wrapped(f"  asks for {text}")
            for text in route.lacks:
                out.wrapped(f"  lacks: {text}")
        out.wrapped("- The authority having jurisdiction and a licensed electrician decide.")


@dataclass(frozen=True, slots=True)
class ModelAnswer:
    """Peaks over one minute from the load model, for the year and months asked for.

    ``measured`` is the highest mean that interval data hold, and its window. [W], [min]
    """

    peaks: tuple[Peak, ...]
    appliances: int
    measured: tuple[float, int] | None = None

    def tree(self) -> dict[str, Any]:
        """Everything as plain values for JSON."""
        measured_w, window_min = self.measured or (None, None)
        return {
            "window_min": MODEL_WINDOW_MIN,
            "basis": "model, uncalibrated",
            "peaks": [asdict(peak) for peak in self.peaks],
            "measured_w": measured_w,
            "measured_window_min": window_min,
        }

    def show(self, out: Output) -> None:
        """The answer in words; it says that nothing measured stands behind it."""
        for peak in self.peaks:
            out.wrapped(f"Highest 1-minute demand, {peak.period}: {kilowatts(peak.power_w)}.")
        if self.measured is not None:
            highest_w, window_min = self.measured
            out.wrapped(
                f"The meter saw {highest_w / 1000.0:.2f} kW over {window_min} min, so a minute "
                "reached that at least."
            )
            if any(highest_w > peak.power_w.typical for peak in self.peaks):
                out.wrapped("That is more than the model says: the list lacks appliances.")
        out.wrapped(
            f"From the load model of {self.appliances} appliances, uncalibrated: no bill and no "
            "meter with a longer step shows a minute, so no share of homes can be promised to lie "
            "inside. It holds no start surge of a second or two."
        )
        for line in ESTIMATE:
            out.wrapped(line)


def months_of(text: str) -> tuple[int, ...]:
    """Months written as 12,1,2."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    if not all(part.isascii() and part.isdigit() and 1 <= int(part) <= 12 for part in parts):
        raise InputError(f"{text!r} are no months", hint="Write 12,1,2,3.")
    return tuple(int(part) for part in parts)


def of_one_bill(kwh: float, days: int, window_min: int, season: Collection[int]) -> Answer:
    """The answer from the energy of one bill; its month is not known."""
    if season:
        raise InputError(
            "a bill without its dates lies in no season",
            hint="Note bills with their dates: loadlib usage bill FIRST AFTER KWH.",
        )
    last = date(2025, 4, 1)  # April lies between the seasons; a bill without a date has none
    periods = [(last - timedelta(days=days), last, kwh)]
    return Answer(peak_from_bills(periods, window_min), _formulas(kwh, float(days)))


def of_house(evidence: Evidence, window_min: int, season: Collection[int]) -> Answer:
    """The answer from all bills and interval data that are stored for a house."""
    chosen = _longest(evidence)
    interval = interval_of(chosen, evidence.house.timezone) if chosen is not None else None
    periods = [(b.first_day, b.day_after, b.energy_wh / 1000.0) for b in evidence.bills]
    covered_s = 0 if chosen is None else chosen.span_s
    routes = _routes(interval, evidence) if interval is not None else ()
    if interval is not None and (not periods or covered_s > 200 * 86_400):
        estimate = peak_from_series(
            interval.start, interval.step_s, interval.kwh, window_min, season=season or None
        )
        return Answer(estimate, _formulas_of(estimate), routes)
    if not periods:
        raise _nothing(evidence)
    stretch = interval if interval is not None and interval.step_s <= 3600 else None
    estimate = peak_from_bills(periods, window_min, interval=stretch, season=season or None)
    return Answer(estimate, _formulas_of(estimate), routes)


def _longest(evidence: Evidence) -> Series | None:
    """The longest series of what the whole house draws."""
    series = [s for s in evidence.series if s.place == "whole" and s.flow in ("import", "load")]
    return max(series, key=lambda s: s.span_s, default=None)


def _nothing(evidence: Evidence) -> InputError:
    name = evidence.house.name
    if any(s.place == "whole" and s.flow == "net" for s in evidence.series):
        return InputError(
            f"{name} has net data only: what was fed in hides what was drawn",
            hint="Take in import and export apart, or bills of what was drawn.",
        )
    return InputError(
        f"{name} has no bills and no usage file",
        hint="Add one: loadlib usage bill …, loadlib usage add FILE.",
    )


def of_model(evidence: Evidence, season: Collection[int]) -> ModelAnswer:
    """One-minute peaks from the list of appliances.

    Raises
    ------
    InputError
        when the house has no appliances.
    """
    from loadlib.estimating import estimate

    name = evidence.house.name
    if not evidence.house.appliances:
        raise InputError(
            f"no calibrated peak for a window of 1 min, and {name} has no list of appliances",
            hint="Ask for 15, 30 or 60 minutes; or walk through the house: loadlib walk.",
        )
    wanted = {"year", *(f"month {month}" for month in season)}
    peaks = tuple(
        peak
        for peak in estimate(evidence).peaks
        if peak.place == "whole"
        and peak.window_s == 60 * MODEL_WINDOW_MIN
        and peak.period in wanted
    )
    chosen = _longest(evidence)
    measured = None
    if chosen is not None:
        window_min = chosen.step_s // 60
        measured = (float(np.nanmax(chosen.mean_w)), window_min) if window_min else None
    return ModelAnswer(peaks, len(evidence.house.appliances), measured)


def _routes(interval: Interval, evidence: Evidence) -> tuple[MeasuredDemand, ...]:
    """Both routes of the rule on the record's highest 15-minute mean, or its own step's."""
    window_min = max(interval.step_s // 60, 1)
    if 60 * WINDOW_MIN % interval.step_s == 0:
        window_min = WINDOW_MIN
    elif interval.step_s % 60:
        return ()
    days = interval.days()
    best = highest(interval, window_min, days[0], days[-1] + timedelta(days=1))
    if best is None:
        return ()
    fed_in = any(s.place == "whole" and s.flow in ("export", "net") for s in evidence.series)
    return both_routes(
        best.peak_w,
        interval.kwh.size * interval.step_s / 86_400,
        window_min,
        missing_share=best.missing / best.slots,
        generation=fed_in,
    )


def _formulas_of(estimate: PeakEstimate) -> tuple[Labelled, ...]:
    total = sum(kwh for *_, kwh in estimate.periods)
    days = sum((b - a).days for a, b, _ in estimate.periods)
    return _formulas(total, float(days))


def _formulas(kwh: float, days: float) -> tuple[Labelled, ...]:
    """Formulas on the mean month; those that want a year only from ten months on."""
    month_kwh = kwh / days * MONTH_H / 24.0
    return published_peaks(month_kwh, month_kwh * 12.0 if days >= 300.0 else None)
