"""The answer in words, and what would narrow it, from the cross-validation table."""

from __future__ import annotations

from loadlib.core.cautions import ESTIMATE
from loadlib.core.ranges import Range
from loadlib.peak.estimate import PeakEstimate, Sharper
from loadlib.peak.table import Check, checks

__all__ = ["FITTED_ON", "in_words", "sharper", "unfamiliar_note"]

FITTED_ON = "58 London homes of 2013, most with gas heating"

EVIDENCE: dict[tuple[str, str], str] = {
    ("bills", "0"): "a year of monthly bills",
    ("bills_year", "0"): "a year of monthly bills",
    ("days", "0"): "daily energies of the whole time",
    ("bills_stretch", "7"): "a year of bills and one week of {step} data",
    ("bills_stretch", "28"): "a year of bills and four weeks of {step} data",
    ("bills_stretch", "4x7"): "a year of bills and four weeks of {step} data, one in each season",
}
"""Kinds of evidence that can be asked for, in words."""

SPAN_LIMITS = ((60.0, "month"), (136.0, "quarter"), (274.0, "half"))


def _span(days: float) -> str:
    return next((name for limit, name in SPAN_LIMITS if days < limit), "year")


def _found(evidence: str, window_min: int, span: str, stretch: str) -> Check | None:
    for row in checks():
        key = (row.evidence, row.window_min, row.span, row.stretch_days, row.tested_on)
        if key == (evidence, window_min, span, stretch, "london"):
            return row
    return None


def sharper(
    evidence: str, window_min: int, days: float, stretch_days: float
) -> tuple[Sharper, ...]:
    """Further evidence that narrows the band over a span of ``days``, the best first.

    Both factors are those of unseen homes in the cross-validation table for the same window
    (30 min for 15) and span.
    """
    window = max(window_min, 30)
    span = _span(days)
    lengths = ("7", "14", "28", "91") if stretch_days else ("0",)
    near = min(lengths, key=lambda text: abs(float(text) - stretch_days))
    now = _found(evidence, window, span, near)
    if now is None:
        return ()
    step = "hourly" if window == 60 else "half-hourly"
    options = []
    for (name, stretch), says in EVIDENCE.items():
        row = _found(name, window, span, stretch)
        if row is not None and row.factor < 0.97 * now.factor:
            options.append(Sharper(says.format(step=step), now.factor, row.factor))
    return tuple(sorted(options, key=lambda option: option.factor_then))


def unfamiliar_note(remarks: list[str], wider: bool) -> str:
    """Why the home is unlike the fitted ones, in words."""
    text = f"This home is unlike those the estimate was fitted on ({FITTED_ON}): "
    text += "; ".join(remarks) if remarks else "its demand lies outside theirs"
    return text + (". The band is widened for it." if wider else ".")


def kilowatts(value: Range) -> str:
    """A range of watts as kilowatts, two figures each."""
    if value.is_exact:
        return f"{value.typical / 1000.0:.2f} kW"
    low, typical, high = (
        f"{point / 1000.0:.2g}" for point in (value.low, value.typical, value.high)
    )
    return f"{typical} kW ({low} to {high} kW)"


def in_words(estimate: PeakEstimate) -> str:
    """The answer as short paragraphs: average, peak, what it rests on, what would narrow it."""
    lines = [
        f"On average the house draws {estimate.average_w / 1000.0:.2f} kW.",
        f"Its highest {estimate.window_min}-minute demand: {kilowatts(estimate.overall)}"
        + ("." if estimate.overall.is_exact else ", nine homes in ten lie inside."),
    ]
    if estimate.season is not None:
        lines.append(f"In the months asked for: {kilowatts(estimate.season)}.")
    lines.append(f"This rests on {estimate.rests_on}.")
    if estimate.sharper:
        best = estimate.sharper[0]
        lines.append(
            f"What would narrow it most: {best.evidence}, from a factor of "
            f"{best.factor_now:.1f} to {best.factor_then:.1f} between the ends, in homes like the "
            "fitted ones."
        )
    return "\n".join([*lines, *estimate.notes, *ESTIMATE])
