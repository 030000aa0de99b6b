"""Numbers in words: powers, ranges, energies, rates."""

from __future__ import annotations

import math
import re

from loadlib import Range

__all__ = ["energy", "in_sentence", "often", "plain", "power", "powers", "window"]

NO_BREAK = "\u00a0"
"""Keeps a number and its unit on one line."""

_TURNS = re.compile("[\u202a-\u202e\u2066-\u2069]")


def plain(value: float, digits: int = 2) -> str:
    """A number with ``digits`` significant digits, from 100 on with three; no powers of ten."""
    if value == 0.0:
        return "0"
    if abs(value) >= 99.5:
        scale = 10.0 ** max(math.floor(math.log10(abs(value))) - 2, 0)
        return f"{round(value / scale) * scale:,.0f}"
    places = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{value:.{min(places, 6)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def power(value: float, unit: str = "W") -> str:
    """120 W, 1.3 kW, 13 kVA."""
    if abs(value) >= 999.5:
        return f"{plain(value / 1000.0)}{NO_BREAK}k{unit}"
    return f"{plain(value)}{NO_BREAK}{unit}"


def powers(value: Range, unit: str = "W") -> str:
    """A range of powers as 90 to 200 W; one number when there is no doubt."""
    low, high = power(value.low, unit), power(value.high, unit)
    if low == high:
        return high
    number, prefix = low.split(NO_BREAK)
    return f"{number if prefix == high.split(NO_BREAK)[1] else low} to{NO_BREAK}{high}"


def energy(value: Range) -> str:
    """A range of energies as 640 to 910 kWh."""
    low, high = plain(value.low / 1000.0), plain(value.high / 1000.0)
    return f"{low} to{NO_BREAK}{high}{NO_BREAK}kWh" if low != high else f"{high}{NO_BREAK}kWh"


def often(per_day: float) -> str:
    """A rate as people say it: 3 a day, 2 a week, 5 a year."""
    periods = (("an hour", 24.0), ("a day", 1.0), ("a week", 1 / 7), ("a month", 12 / 365))
    for name, scale in periods:
        if per_day >= 0.995 * scale:
            return f"{plain(per_day / scale)} {name}"
    if per_day >= 0.05 / 365.0:
        return f"{plain(per_day * 365.0)} a year"
    return "almost never"


def window(window_s: int) -> str:
    """Length of a window: hour, 15 minutes."""
    if window_s == 3600:
        return "hour"
    if window_s % 60 == 0:
        return "minute" if window_s == 60 else f"{window_s // 60} minutes"
    return f"{window_s} seconds"


def in_sentence(name: str, most: int = 60) -> str:
    """A name for use within a sentence: at most ``most`` characters, its direction kept to it.

    Tables and details show the whole name. Marks that turn the writing round are left out,
    and a name that is not plain ASCII is isolated (Unicode Standard Annex 9: FSI … PDI).
    """
    name = _TURNS.sub("", name)
    if len(name) > most:
        name = name[: most - 1].rstrip() + "…"
    return name if name.isascii() else f"\u2068{name}\u2069"
