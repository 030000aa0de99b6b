"""The outage case file: TOML with ``format = "loadlib-case"``.

Keys: ``name``, ``start`` (a TOML date and time, local clock), ``length_h``, ``off_h``,
``outdoor_f`` or ``outdoor_c``, ``usual_outdoor_f`` or ``usual_outdoor_c``, ``heating``,
``must``, ``leave_off``, ``night`` (two clock hours) and tables ``[[habit]]`` with ``loads``
and ``factor``, ``[[hot_water]]`` with ``heater``, ``drawn_gal`` or ``drawn_l``, ``rise_f`` or
``rise_c`` and ``cop``, ``[[pit]]`` with ``pump``, ``inflow_per_h``, ``pump_per_h`` and ``room``,
all three in gallons or all in litres.
"""

from __future__ import annotations

import math
from datetime import datetime
from pathlib import Path

from loadlib_standby.case import Habit, HotWater, OutageCase, Pit
from loadlib_standby.toml_file import Section, read_toml

__all__ = ["read_case"]

_L_PER_GAL = 3.785411784
"""Litres in a US gallon of 231 cubic inches, exact (NIST SP 811)."""


def read_case(path: str | Path) -> OutageCase:
    """Read a case file; DataError names file, line and key of what is wrong."""
    top = read_toml(Path(path), "loadlib-case")
    start = top.raw("start")
    if not isinstance(start, datetime):
        raise top.error(
            "start", f"expected a date and time, found {start!r}", "For example 2027-01-14T03:40:00"
        )
    case = OutageCase(
        name=top.text_of("name", Path(path).stem),
        start=start,
        length_h=top.number("length_h", 24.0, above=0.0, most=1440.0) or 24.0,
        off_h=_or(top.number("off_h", least=0.0, most=1440.0), 1.0),
        outdoor_c=_celsius(top, "outdoor"),
        usual_outdoor_c=_celsius(top, "usual_outdoor"),
        heating=top.texts("heating"),
        habits=tuple(_habit(part) for part in top.sections("habit")),
        must=top.texts("must"),
        leave_off=top.texts("leave_off"),
        night=_night(top),
        hot_water=tuple(_hot_water(part) for part in top.sections("hot_water")),
        pits=tuple(_pit(part) for part in top.sections("pit")),
    )
    top.done()
    return case


def _habit(part: Section) -> Habit:
    loads = part.texts("loads")
    if not loads:
        raise part.error("loads", "is missing", "Name the loads that this habit is about.")
    factor = part.number("factor", least=0.0, most=100.0)
    if factor is None:
        raise part.error("factor", "is missing", "0 for not at all, 0.5 for half as much.")
    part.done()
    return Habit(loads, factor)


def _hot_water(part: Section) -> HotWater:
    found = HotWater(
        _named(part, "heater"),
        _either(part, "drawn_gal", "drawn_l", 1.0 / _L_PER_GAL),
        _either(part, "rise_f", "rise_c", 1.8),
        part.number("cop", 1.0, above=0.0, most=10.0) or 1.0,
    )
    part.done()
    return found


def _pit(part: Section) -> Pit:
    room = part.number("room", least=0.0)
    found = Pit(
        _named(part, "pump"),
        _needed(part, "inflow_per_h"),
        part.needed("pump_per_h"),
        math.inf if room is None else room,
    )
    part.done()
    return found


def _named(part: Section, key: str) -> str:
    name = part.text_of(key)
    if not name:
        raise part.error(key, "is missing", "Name the load as the house has it.")
    return name


def _needed(part: Section, key: str) -> float:
    """A number of 0 or more that must be there."""
    value = part.number(key, least=0.0)
    if value is None:
        raise part.error(key, "is missing", "Add it to the file.")
    return value


def _either(part: Section, key: str, other: str, factor: float) -> float:
    """``key``, or ``other`` times ``factor``: one of the two must be there."""
    value, converted = part.number(key, least=0.0), part.number(other, least=0.0)
    if value is not None and converted is not None:
        raise part.error(other, f"both {key} and {other} are given", "Keep one.")
    if value is None and converted is None:
        raise part.error(key, "is missing", f"Give {key} or {other}.")
    return value if value is not None else factor * _or(converted, 0.0)


def _celsius(top: Section, key: str) -> float | None:
    celsius = top.number(f"{key}_c", least=-70.0, most=60.0)
    fahrenheit = top.number(f"{key}_f", least=-95.0, most=140.0)
    if celsius is not None and fahrenheit is not None:
        raise top.error(f"{key}_c", f"both {key}_c and {key}_f are given", "Keep one.")
    return celsius if fahrenheit is None else (fahrenheit - 32.0) / 1.8


def _night(top: Section) -> tuple[int, int]:
    value = top.raw("night")
    if value is None:
        return 22, 6
    if (
        not isinstance(value, list)
        or len(value) != 2
        or not all(isinstance(x, int) and 0 <= x <= 23 for x in value)
    ):
        raise top.error("night", f"expected two clock hours, found {value!r}", "night = [22, 6]")
    return value[0], value[1]


def _or(value: float | None, default: float) -> float:
    return default if value is None else value
