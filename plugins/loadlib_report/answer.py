"""The answer in three sentences: energy and peak, the hardest start, the size of a source."""

from __future__ import annotations

from loadlib import LoadProfile
from loadlib_report.amounts import energy, in_sentence, plain, power, powers, window
from loadlib_report.overloads import Overloads, size_for

__all__ = ["answer"]

BEST_FIRST = ("measured", "calibrated")
"""Bases of a peak that go before all others."""


def answer(profile: LoadProfile, found: Overloads | None) -> tuple[str, str, str]:
    """Three sentences, each with its range and what it rests on."""
    return _energy(profile), _start(profile), _source(found)


def _energy(profile: LoadProfile) -> str:
    year = profile.energy_wh_per_year
    house = in_sentence(profile.house or "the house")
    text = (
        f"{house[:1].upper()}{house[1:]} uses about {plain(year.typical / 1000.0)} kWh a year "
        f"({energy(year)}), a mean of {power(year.typical / 8760.0)}"
    )
    peaks = [p for p in profile.peaks if p.place == "whole" and p.period == "year"]
    if not peaks:
        return f"{text}; its highest demand is not known."
    # An hour if there is one, else the longest window; of several the best founded.
    peak = min(peaks, key=lambda p: (p.window_s != 3600, -p.window_s, _rank(p.basis)))
    return (
        f"{text}; its highest {window(peak.window_s)} of the year takes about "
        f"{power(peak.power_w.typical)} ({powers(peak.power_w)}; {peak.basis})."
    )


def _rank(basis: str) -> int:
    return BEST_FIRST.index(basis) if basis in BEST_FIRST else len(BEST_FIRST)


def _start(profile: LoadProfile) -> str:
    hardest = profile.hardest_start()
    if hardest is None:
        return "No load is known, so nothing can be said of starts."
    name = in_sentence(hardest.name)
    if hardest.start_va is None:
        return (
            f"Nothing is known to ask for more at a start than while running; the largest single "
            f"load is the {name}, {power(hardest.running_va.typical, 'VA')}."
        )
    return (
        f"The hardest start is that of the {name}: about "
        f"{power(hardest.start_va.typical, 'VA')} ({powers(hardest.start_va, 'VA')}) for "
        f"{plain(hardest.start_s.typical)} s, against "
        f"{power(hardest.running_va.typical, 'VA')} while running."
    )


def _source(found: Overloads | None) -> str:
    if found is None:
        return "Nothing is known to switch on and off, so no overloads can be counted."
    words = [
        f"about {power(size, 'VA')} {what} at most one {period}"
        for period, what, size in (
            ("overload a day", "steadily to expect", size_for(found, 1.0)),
            ("a month", "for", size_for(found, 12.0 / 365.0)),
        )
        if size is not None
    ]
    if not words:
        return (
            "With everything left switched on, at typical values, more than one overload a day is "
            "expected at every size of source that was looked at."
        )
    return (
        "With everything left switched on, at typical values, a source that carries every start "
        f"would have to give {', and '.join(words)}; leaving large loads off brings that down."
    )
