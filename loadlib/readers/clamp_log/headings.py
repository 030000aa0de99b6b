"""Which column of a log is what: its unit from the heading, its place from the words in it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from loadlib.core.series import ReadOptions
from loadlib.errors import InputError
from loadlib.readers.delimited.table import Table

__all__ = ["Column", "columns_of", "time_columns"]

_QUANTITY: Final = re.compile(
    r"(?<![a-z0-9])(ma|amps?|ampere|a|volts?|v|kva|va|kw|watts?|w)(?![a-z0-9])", re.I
)
_IN_BRACKETS: Final = re.compile(r"[\[(]\s*(ma|amps?|a|volts?|v|kva|va|kw|watts?|w)\s*[\])]", re.I)
_UNITS: Final = {
    "ma": "mA",
    "a": "A",
    "amp": "A",
    "amps": "A",
    "ampere": "A",
    "v": "V",
    "volt": "V",
    "volts": "V",
    "va": "VA",
    "kva": "kVA",
    "w": "W",
    "watt": "W",
    "watts": "W",
    "kw": "kW",
}
_SCALE: Final = {"mA": 1e-3, "A": 1.0, "V": 1.0, "VA": 1.0, "kVA": 1e3, "W": 1.0, "kW": 1e3}
_KIND: Final = {"mA": "A", "A": "A", "V": "V", "VA": "VA", "kVA": "VA", "W": "W", "kW": "W"}
_LEG: Final = re.compile(
    r"(?:\b(?:leg|phase|line|hot|ch(?:annel)?|ct)[\s_]*|\bl)([abc123])\b|^([abc])(?=[\s_(\[]|$)",
    re.I,
)
_NEUTRAL: Final = re.compile(r"\bneutral\b|^n(?=[\s_(\[]|$)", re.I)
_WHOLE: Final = re.compile(r"\b(total|whole|main|mains|aggregate|house)\b", re.I)
_LEG_NAME: Final = {"1": "A", "2": "B", "3": "C"}
_NOT_VALUES: Final = re.compile(r"\b(date|time|stamp|datum|zeit|hz|freq|pf|temp|no|index)\b", re.I)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of measured values: where it stands, what was clamped, and its unit."""

    index: int
    heading: str
    place: str
    unit: str

    @property
    def kind(self) -> str:
        """The quantity: A, V, W or VA."""
        return _KIND[self.unit]

    @property
    def scale(self) -> float:
        """From the column's unit to A, V, W or VA."""
        return _SCALE[self.unit]


def columns_of(table: Table, options: ReadOptions) -> tuple[Column, ...]:
    """Columns with a unit, and what each was clamped on.

    Raises
    ------
    InputError
        a stated heading that is not there, or two columns that say the same thing.
    """
    stated = {heading.casefold(): meaning for meaning, heading in options.columns}
    known = {heading.casefold() for heading in table.headings}
    for heading in stated:
        if heading not in known:
            raise InputError(
                f"no column {heading!r}", hint="It has: " + ", ".join(table.headings[:12])
            )
    found = []
    for index, heading in enumerate(table.headings):
        meaning = stated.get(heading.casefold(), "")
        if meaning in ("time", "date", "clock", "ignore"):
            continue
        unit = _unit(heading, options.unit if meaning else "")
        if not unit or (not meaning and _NOT_VALUES.search(_words(heading))):
            continue
        found.append(Column(index, heading, meaning or _place(heading), unit))
    _refuse_twice(found)
    return tuple(found)


def _refuse_twice(columns: list[Column]) -> None:
    seen: dict[tuple[str, str], Column] = {}
    for column in columns:
        before = seen.setdefault((column.place, column.kind), column)
        if before is not column and column.place != "neutral":
            raise InputError(
                f"columns {before.heading!r} and {column.heading!r} are both {column.kind} of "
                f"{column.place}",
                hint="State what they are, or one as ignore.",
            )


def _words(heading: str) -> str:
    return heading.replace("_", " ").strip()


def _unit(heading: str, stated: str) -> str:
    words = _words(heading)
    inside = _IN_BRACKETS.search(words)
    if inside is not None:
        return _UNITS[inside[1].casefold()]
    # "leg A" names a leg, not amperes: a lone letter counts as a unit only where it ends a
    # heading that names its leg by other words.
    rest = _LEG.sub(" ", words)
    named = [match[1] for match in _QUANTITY.finditer(rest)]
    if named:
        return _UNITS[named[-1].casefold()]
    return _UNITS.get(stated.casefold(), "")


def _place(heading: str) -> str:
    words = _words(heading)
    if _NEUTRAL.search(words):
        return "neutral"
    leg = _LEG.search(words)
    if leg is not None:
        name = (leg[1] or leg[2]).upper()
        return f"leg {_LEG_NAME.get(name, name)}"
    if _WHOLE.search(words):
        return "whole"
    bare = _IN_BRACKETS.sub("", words)
    bare = _QUANTITY.sub("", bare)
    bare = re.sub(r"\b(current|power|voltage|load|circuit|appliance)\b", "", bare, flags=re.I)
    name = " ".join(bare.split())
    kind = "appliance" if re.search(r"\bappliance\b", words, re.I) else "circuit"
    return f"{kind} {name.casefold()}" if name else "whole"


def time_columns(table: Table, options: ReadOptions) -> tuple[int, int]:
    """Index of the column of times (or dates), and of the clock beside it or −1."""
    names = [_words(heading).casefold() for heading in table.headings]
    stated = {meaning: heading.casefold() for meaning, heading in options.columns}
    lowered = [heading.casefold() for heading in table.headings]
    for meaning in ("time", "date"):
        if meaning in stated:
            at = lowered.index(stated[meaning])
            return at, lowered.index(stated["clock"]) if "clock" in stated else -1
    dates = [k for k, name in enumerate(names) if re.search(r"date|datum|stamp|epoch|unix", name)]
    clocks = [k for k, name in enumerate(names) if re.search(r"\b(time|zeit|clock)\b", name)]
    if dates and clocks and dates[0] != clocks[0] and "stamp" not in names[dates[0]]:
        return dates[0], clocks[0]
    return (dates or clocks or [0])[0], -1
