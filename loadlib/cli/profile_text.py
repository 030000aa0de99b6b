"""A load profile in words and pictures for a terminal, readable at 45 columns."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable, Iterator

from loadlib.core.load import UNLISTED, Load
from loadlib.core.profile import LoadProfile, Peak
from loadlib.core.ranges import Range

__all__ = ["day_curve", "load_bars", "profile_lines", "watts"]

KNOWN_WORDS = {
    "measured": "known, measured",
    "label": "known, from the label",
    "user": "known, as entered",
    "catalog": "guessed, from the catalog",
    "guess": "missing: only a guess",
}


def watts(value: float, unit: str = "W") -> str:
    """A power with two or three digits: 130 W, 4.5 kW."""
    if abs(value) >= 9_950:
        return f"{value / 1000:.0f} k{unit}"
    if abs(value) >= 1_000:
        return f"{value / 1000:.1f} k{unit}"
    return f"{value:.0f} {unit}"


def span(value: Range, unit: str = "W") -> str:
    """A range as "90 to 200 W"; one number when there is no doubt."""
    low, high = watts(value.low, unit), watts(value.high, unit)
    if low == high:
        return high
    if low.split(" ")[1] == high.split(" ")[1]:
        low = low.split(" ")[0]
    return f"{low} to {high}"


def kwh(value: Range) -> str:
    """Energy as "5,200 to 9,800 kWh"."""
    return f"{value.low / 1000:,.0f} to {value.high / 1000:,.0f} kWh"


def profile_lines(profile: LoadProfile, width: int) -> Iterator[str]:
    """The answer: energy, mean, peak, legs, hardest start, what is known and what is not."""
    year = profile.energy_wh_per_year
    yield from _wrapped(f"{profile.house}: {profile.supply.words}", width, "  ")
    yield ""
    yield f"Energy of a year  {kwh(year)}"
    yield f"Mean demand       {watts(year.typical / 8760)}"
    for peak in _headline_peaks(profile):
        yield from _wrapped(_peak_words(peak), width)
    yield from _legs(profile, width)
    hardest = profile.hardest_start()
    if hardest is not None:
        yield from _wrapped(
            f"Hardest start     {hardest.name}, {span(hardest.largest_va, 'VA')}", width
        )
    yield ""
    yield from _known(profile, width)
    for title, lines in (
        ("Evidence", [f"{e.kind}: {e.text}" for e in profile.evidence]),
        ("Claims that disagree", profile.disagreements),
        ("Missing", profile.missing),
        ("Measure next", [s.text for s in profile.suggestions[:3]]),
    ):
        if lines:
            yield ""
            yield title
            for line in lines:
                yield from _wrapped(f"- {line}", width, "  ")


def _headline_peaks(profile: LoadProfile) -> list[Peak]:
    """The year's peak of the whole house, longest window first, on the best basis for each."""
    best: dict[int, Peak] = {}
    for peak in profile.peaks:
        if peak.place == "whole" and peak.period == "year":
            kept = best.get(peak.window_s)
            if kept is None or _basis_rank(peak) < _basis_rank(kept):
                best[peak.window_s] = peak
    return [best[window_s] for window_s in sorted(best, reverse=True)]


def _basis_rank(peak: Peak) -> int:
    order = ("measured", "calibrated")
    return order.index(peak.basis) if peak.basis in order else len(order)


def _peak_words(peak: Peak) -> str:
    minutes = peak.window_s / 60
    window = "highest hour " if minutes == 60 else f"highest {minutes:.0f} min"
    when = f", {peak.at}" if peak.at else ""
    return f"{window.capitalize():<17} {span(peak.power_w)} ({peak.basis}{when})"


def _legs(profile: LoadProfile, width: int) -> Iterator[str]:
    """Mean and busiest hour of each leg, one line a leg."""
    for leg in profile.legs:
        found = [d for d in profile.demand if d.place == f"leg {leg}"]
        if not found:
            continue
        mean = sum(map(sum, found[0].mean_w)) / 288
        p99 = max(map(max, found[0].p99_w))
        amps = p99 / profile.supply.leg_v
        text = f"{f'Leg {leg}':<17} mean {watts(mean)}, seldom over {amps:.0f} A"
        yield from _wrapped(text, width)


def _known(profile: LoadProfile, width: int) -> Iterator[str]:
    groups: dict[str, list[str]] = {}
    for load in profile.loads:
        if load.id == UNLISTED:
            text = f"Not on the list: {yearly_wh(load) / 1000:,.0f} kWh of the year"
            yield from _wrapped(text, width, "  ")
            continue
        groups.setdefault(KNOWN_WORDS.get(load.known, load.known), []).append(load.name)
    for words in [*KNOWN_WORDS.values(), *[g for g in groups if g not in KNOWN_WORDS.values()]]:
        if words in groups:
            yield from _wrapped(f"{words.capitalize()}: {', '.join(groups[words])}", width, "  ")


def _wrapped(text: str, width: int, indent: str = "                  ") -> list[str]:
    if width < 60 and len(indent) > 4:
        indent = "  "
    return textwrap.wrap(text, max(width, 30), subsequent_indent=indent, break_long_words=True) or [
        ""
    ]


def _blocks() -> tuple[str, str, str]:
    """Characters for a full bar, a band, and the rest: plain ones where blocks can't be shown."""
    encoding = (sys.stdout.encoding or "ascii").lower()
    return ("█", "░", " ") if "utf" in encoding else ("#", "-", " ")


def day_curve(profile: LoadProfile, month: int, place: str, width: int) -> Iterator[str]:
    """Bars of mean demand by hour, with the band up to the 95 % point, for one month.

    Every bar has its numbers beside it, so nothing hangs on the picture.
    """
    demand = profile.demand_at(place)
    mean, p95 = demand.mean_w[month - 1], demand.p95_w[month - 1]
    most = max(*p95, 1.0)
    room = max(10, min(width, 100) - 24)
    full, band, rest = _blocks()
    yield f"{place}, month {month}: mean, 95 % point"
    for hour in range(24):
        a, b = round(room * mean[hour] / most), round(room * p95[hour] / most)
        bar = full * a + band * max(0, b - a) + rest * (room - max(a, b))
        yield f"{hour:02d} {bar} {watts(mean[hour]):>7} {watts(p95[hour]):>8}"


def load_bars(loads: Iterable[Load], width: int) -> Iterator[str]:
    """One line a load: share of the year's energy as a bar, running watts and start."""
    rows = sorted(((yearly_wh(load), load) for load in loads), key=lambda row: -row[0])
    most = max((energy for energy, _ in rows), default=1.0) or 1.0
    wide = width >= 70
    name_room = min(24, max(10, width - 34))
    room = 8 if not wide else min(30, width - name_room - 40)
    full, _, rest = _blocks()
    yield f"{'load':<{name_room}} {'energy':<{room}} {'kWh/yr':>6} {'running':>8}" + (
        f" {'start':>9}" if wide else ""
    )
    for energy, load in rows:
        name = load.name if len(load.name) <= name_room else load.name[: name_room - 1] + "…"
        n = round(room * energy / most)
        line = (
            f"{name:<{name_room}} {full * n + rest * (room - n)} {energy / 1000:>6,.0f} "
            f"{watts(load.running_w.typical):>8}"
        )
        yield line + (f" {watts(load.largest_va.typical, 'VA'):>9}" if wide else "")


def yearly_wh(load: Load) -> float:
    """Energy of a year at typical values: running and standby, all of ``count``. [Wh]"""
    duty = float(load.duty_array().mean()) * load.duty_belief.typical
    mean_w = load.running_w.typical * duty + load.standby_w.typical * (1.0 - duty)
    return load.count * mean_w * 8760.0
