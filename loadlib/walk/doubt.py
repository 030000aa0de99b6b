"""The worst doubt in one line: whose range is widest, and what would narrow it."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.core.ranges import Range
from loadlib.walk.reading import Question, Reading, is_line_to_line, span

__all__ = ["worst_doubt"]


def worst_doubt(read: Sequence[tuple[Reading, Sequence[Question]]]) -> list[str]:
    """One sentence about the widest range in the house, running or at a start.

    Only one of several alike starts at a time, while all of them may run: so running counts
    ``count`` times and a start once. The two are compared as they stand, W beside VA, since a
    source is limited by both.
    """
    ranked = [
        (wide.high - wide.low, reading, asked, word, wide, unit)
        for reading, asked in read
        for word, wide, unit in _ranges(reading)
    ]
    if not ranked:
        return ["Nothing is entered yet, so everything is in doubt."]
    width, reading, asked, word, wide, unit = max(ranked, key=lambda row: row[0])
    if width <= 0.0:
        return ["Every figure is exact as entered."]
    name = reading.appliance.name
    return [f"Worst doubt: {name} {word} {span(wide, unit)}. {_mend(reading, asked, unit)}"]


def _ranges(reading: Reading) -> list[tuple[str, Range, str]]:
    running, start = reading.range_of("running_w"), reading.range_of("start_va")
    found = []
    if running is not None:
        found.append(("runs at", running.scaled(float(reading.appliance.count)), "W"))
    if start is not None:
        found.append(("starts at", start, "VA"))
    return found


def _mend(reading: Reading, asked: Sequence[Question], unit: str) -> str:
    """What would narrow it, safest and cheapest first."""
    label = reading.label
    if asked:
        return "One key would help: type ask."
    if label is None or label.refused:
        return "Its rating label would narrow it."
    if unit == "VA" and label.lra:
        return "That is as sure as a label gets: the rest is tolerance and sag."
    if unit == "VA":
        return "The locked-rotor amps on its label (LRA), if printed, would narrow it."
    if is_line_to_line(reading):
        return "The utility meter's display with its breaker on and off would narrow it."
    return "A plug-in meter would narrow it."
