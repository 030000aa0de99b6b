"""Numbers as people read them, and answers as plain data for ``--json``."""

from __future__ import annotations

import re
import shutil
import textwrap
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime

import numpy as np

from loadlib_standby.branches import Branch
from loadlib_standby.engine import Range

__all__ = ["amps", "broken", "columns", "duration", "plain", "span", "watts", "wrapped"]


def plain(value: object) -> object:
    """Dataclasses, ranges, times and tuples as JSON data; a branch by label, circuit and slots."""
    if isinstance(value, Branch):
        return {"label": value.label, "circuit": value.name, "slots": list(value.slots)}
    if isinstance(value, Range):
        return {"low": value.low, "typical": value.typical, "high": value.high}
    if is_dataclass(value) and not isinstance(value, type):
        return {part.name: plain(getattr(value, part.name)) for part in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, float):
        return round(value, 6) if np.isfinite(value) else None
    return value


def watts(value: float) -> str:
    """Watts to two or three figures: ``"7,200 W"``."""
    return f"{value:,.0f} W"


def amps(values: tuple[float, ...] | list[float], names: list[str]) -> str:
    """Amps per leg: ``"A 12  B 17"``."""
    return "  ".join(f"{name} {value:.0f}" for name, value in zip(names, values, strict=True))


def span(value: Range, unit: str, digits: int = 0) -> str:
    """A range as ``"7 to 9 h"``; one number where both ends read alike."""
    low, high = f"{value.low:,.{digits}f}", f"{value.high:,.{digits}f}"
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def duration(seconds: float) -> str:
    """Seconds as ``"15 s"``, ``"5 min"`` or ``"2.5 h"``; never rounded down."""
    if seconds <= 90.0:
        return f"{np.ceil(seconds):.0f} s"
    if seconds <= 5400.0:
        return f"{np.ceil(seconds / 60.0):.0f} min"
    return f"{np.ceil(seconds / 360.0) / 10.0:.1f} h"


def columns() -> int:
    """Columns of the terminal, 40 to 100; 80 when there is none."""
    return min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)


_TOGETHER = re.compile(
    r"(?<=\d) (?=(?:W|VA|A|V|h|min|s|gal|L|kWh|ft|of)\b)|(?<=\bSLOT) |(?<=\bleg) (?=[A-C]\b)"
    r"|(?<=\bLEG) (?=[A-C]\b)",
)
"""Blanks that no line is broken at: before a unit, after SLOT and leg."""


def wrapped(lines: Iterable[str], width: int) -> str:
    """Lines broken at ``width`` by ``broken``, as one text."""
    return "\n".join(part for line in lines for part in broken(line, width)) + "\n"


def broken(line: str, width: int, mark: str = "") -> list[str]:
    """A line broken between words, later lines set in by two blanks more, or under ``mark``.

    A figure stays with its unit, a slot with its number.
    """
    margin = " " * (len(mark) or len(line) - len(line.lstrip()) + 2)
    parts = textwrap.wrap(
        _TOGETHER.sub("\N{NO-BREAK SPACE}", line),
        width,
        initial_indent=mark,
        subsequent_indent=margin,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [part.replace("\N{NO-BREAK SPACE}", " ") for part in parts] or [""]
