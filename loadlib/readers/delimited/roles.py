"""What each column means, by its heading, its cells, or as a person stated it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Final

from loadlib.errors import DataError, InputError
from loadlib.readers.delimited.clocks import is_clock
from loadlib.readers.delimited.dates import is_date, split_stamp
from loadlib.readers.delimited.numbers import is_number
from loadlib.readers.delimited.table import Table, is_epoch
from loadlib.readers.delimited.wide import PER_DAY
from loadlib.readers.delimited.words import (
    CLOCK_HEADING,
    MEANING_WORDS,
    OTHER_UNIT,
    REGISTER,
    UNIT,
    VALUE_WORDS,
)

__all__ = ["MEANINGS", "Column", "Roles", "find_roles", "flow_named", "unit_in", "value_flow"]

#: Meanings that a person may give to a column; ``circuit NAME`` and ``appliance NAME`` too.
MEANINGS: Final = (
    "time",
    "date",
    "clock",
    "end",
    "import",
    "export",
    "net",
    "load",
    "cost",
    "meter",
    "flow",
    "quality",
    "service",
    "unit",
    "temperature",
    "month",
    "days",
    "first day",
    "last day",
    "ignore",
)
FLOWS: Final = ("import", "export", "net", "load")

_UNIT_SPELLING: Final = {"kwh": "kWh", "wh": "Wh", "kw": "kW", "w": "W", "mwh": "MWh"}
_WIDE: Final = frozenset(PER_DAY)
_EXPORT_CELLS: Final = ("export", "generat", "received", "surplus", "return", "feed")
_NAMELESS: Final = re.compile(r"column \d|(?!.*[a-z]{3})", re.I)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of values: where it stands, its heading, flow, unit and whether a dial."""

    index: int
    heading: str
    flow: str = "import"
    place: str = "whole"
    unit: str = ""
    register: bool = False


@dataclass(frozen=True, slots=True)
class Roles:
    """Which column is what; -1 where there is none."""

    time: int = -1
    clock: int = -1
    end: int = -1
    first_day: int = -1
    last_day: int = -1
    month: int = -1
    days: int = -1
    meter: int = -1
    flow: int = -1
    quality: int = -1
    service: int = -1
    unit: int = -1
    cost: int = -1
    temperature: int = -1
    values: tuple[Column, ...] = ()
    wide: tuple[int, ...] = ()
    unit_of_rows: str = ""


def unit_in(text: str) -> str:
    """The unit of energy or power named in a text, or ``""``."""
    found = UNIT.search(text.replace("_", " "))
    return _UNIT_SPELLING[found[1].lower()] if found else ""


def find_roles(
    table: Table, stated: tuple[tuple[str, str], ...], path: str, *, energy: bool = True
) -> Roles:
    """Roles of the columns of a table; what a person stated goes first.

    ``energy=False`` asks for no column of energy or power.

    Raises
    ------
    InputError
        for a stated meaning or heading that does not exist.
    DataError
        when no column can be the value, or several could be and none is named for it.
    """
    meanings = _stated(table, stated)
    wide = _wide_columns(table, meanings)
    for index, heading in enumerate(table.headings):
        if index not in meanings and index not in wide:
            meanings[index] = _by_heading(heading, table.column(index), meanings.values())
    roles = _collect(table, meanings, wide)
    roles = _times_by_content(table, roles, meanings)
    if wide or not energy:
        return roles
    return replace(roles, values=_values(table, roles, meanings, path))


def _stated(table: Table, stated: tuple[tuple[str, str], ...]) -> dict[int, str]:
    by_name = {heading.lower(): index for index, heading in enumerate(table.headings)}
    meanings: dict[int, str] = {}
    for meaning, heading in stated:
        known = meaning in MEANINGS or meaning.split(" ")[0] in ("circuit", "appliance")
        if not known:
            raise InputError(f"column meaning {meaning!r}", hint="Use: " + ", ".join(MEANINGS))
        if heading.lower() not in by_name:
            raise InputError(
                f"no column {heading!r}", hint="The file has: " + ", ".join(table.headings)
            )
        meanings[by_name[heading.lower()]] = meaning
    return meanings


def _by_heading(heading: str, cells: list[str], taken: object) -> str:
    """Meaning of a column by its heading, as far as its cells allow it; ``""`` if none."""
    name = " ".join(heading.lower().replace("_", " ").split())
    numeric = bool(cells) and all(is_number(cell) or not cell for cell in cells)
    dated = any(is_date(split_stamp(cell)[0]) or is_epoch(cell) for cell in cells)
    for meaning, words in MEANING_WORDS:
        if not words.search(name):
            continue
        if meaning in ("time", "date") and not dated:
            continue
        if meaning in ("first day", "last day") and not dated:
            continue
        if meaning == "cost" and dated:
            continue
        if meaning == "temperature" and not numeric:
            continue
        if meaning == "ignore" and numeric and REGISTER.search(name):
            continue
        if meaning in ("cost", "flow", "quality", "service") and unit_in(name) and numeric:
            continue
        if meaning == "month" and numeric:
            continue
        if meaning == "end" and not dated and not _is_clock(cells):
            continue
        if meaning == "unit" and numeric:
            continue
        if meaning == "clock" and dated:
            return "time"
        if meaning == "clock" and not _is_clock(cells):
            continue
        return meaning
    return ""


def _is_clock(cells: list[str]) -> bool:
    """Whether a column of the sample holds times of day, or numbers of intervals of a day."""
    filled = [cell for cell in cells if cell]
    return bool(filled) and all(is_clock(cell) for cell in filled)


def _collect(table: Table, meanings: dict[int, str], wide: tuple[int, ...]) -> Roles:
    where = {meaning: index for index, meaning in reversed(meanings.items())}
    first, last = where.get("first day", -1), where.get("last day", -1)
    time = where.get("time", where.get("date", -1))
    end = where.get("end", -1)
    if first < 0 and _is_day(table, time) and _is_day(table, end):
        # Two dates a row without clock times are the days of a period.
        time, first, last, where["end"] = -1, time, end, -1
    elif last < 0 and _is_day(table, first) and _is_day(table, end):
        last, where["end"] = end, -1
    if time < 0 and first >= 0 and last < 0:
        time, first = first, -1
    if time < 0 and first >= 0 and _has_clock(table, first):
        # "Start date" and "end date" with clock times are one interval a row.
        time, where["end"], first, last = first, where.get("end", last), -1, -1
    clock, end = where.get("clock", -1), where.get("end", -1)
    if clock < 0 <= end and time >= 0 and end != time and _is_day(table, time):
        # A date and only an end: that is the clock, at the end of the interval.
        clock, end = end, -1
    return Roles(
        time=time,
        clock=clock,
        end=end,
        first_day=first,
        last_day=last,
        month=where.get("month", -1),
        days=where.get("days", -1),
        meter=where.get("meter", -1),
        flow=where.get("flow", -1),
        quality=where.get("quality", -1),
        service=where.get("service", -1),
        unit=where.get("unit", -1),
        cost=where.get("cost", -1),
        temperature=where.get("temperature", -1),
        wide=wide,
    )


def _is_day(table: Table, index: int) -> bool:
    return (
        index >= 0
        and not _has_clock(table, index)
        and any(is_date(cell) for cell in table.column(index))
    )


def _has_clock(table: Table, index: int) -> bool:
    return any(split_stamp(cell)[1] for cell in table.column(index))


def _times_by_content(table: Table, roles: Roles, meanings: dict[int, str]) -> Roles:
    """Without a heading for it, the first column that holds dates is the time."""
    if roles.time >= 0:
        return _clock_by_content(table, roles, meanings)
    if roles.first_day >= 0 or roles.month >= 0:
        return roles
    if roles.end >= 0 and any(is_date(split_stamp(c)[0]) for c in table.column(roles.end)):
        return replace(roles, time=roles.end)
    for index in range(table.width):
        cells = [cell for cell in table.column(index) if cell]
        if cells and all(is_date(split_stamp(cell)[0]) or is_epoch(cell) for cell in cells):
            meanings[index] = "time"
            found = replace(roles, time=index)
            return _clock_by_content(table, found, meanings)
    return roles


def _clock_by_content(table: Table, roles: Roles, meanings: dict[int, str]) -> Roles:
    """Without headings for them, the first column of clock times, and the second as the end."""
    if roles.clock >= 0 or _has_clock(table, roles.time):
        return roles
    found = [
        index
        for index in range(table.width)
        if meanings.get(index) == ""
        and all(re.fullmatch(r"\d{1,2}:\d{2}.*", cell) for cell in table.column(index))
    ]
    meanings.update(zip(found, ("clock", "end"), strict=False))
    if len(found) > 1 and roles.end < 0:
        return replace(roles, clock=found[0], end=found[1])
    return replace(roles, clock=found[0]) if found else roles


# -- columns of values


def _values(table: Table, roles: Roles, meanings: dict[int, str], path: str) -> tuple[Column, ...]:
    named = [
        _column(index, table.headings[index], meaning)
        for index, meaning in sorted(meanings.items())
        if meaning in FLOWS or meaning.split(" ")[0] in ("circuit", "appliance")
    ]
    if named:
        return tuple(named)
    candidates = [
        index
        for index, meaning in sorted(meanings.items())
        if not meaning and _is_numeric(table.column(index))
    ]
    candidates = [i for i in candidates if not OTHER_UNIT.search(table.headings[i].lower())]
    found = [(index, value_flow(table.headings[index])) for index in candidates]
    known = [(index, flow) for index, flow in found if flow]
    chosen = _energy_before_power(table, known or [(i, "import") for i in candidates])
    flows = [flow for _, flow in chosen]
    if len(set(flows)) < len(flows):
        raise DataError(
            "several columns could be the energy: "
            + ", ".join(repr(table.headings[index]) for index, _ in chosen[:8]),
            path=path,
            line=table.first_line,
            hint='Say which: columns import = "HEADING", and circuit NAME = "HEADING" for others.',
        )
    if not chosen and roles.temperature < 0:
        raise DataError(
            "no column of energy or power: " + ", ".join(table.headings[:12]),
            path=path,
            line=table.first_line,
            hint='Name it: columns import = "HEADING".',
        )
    return tuple(_column(index, table.headings[index], flow) for index, flow in chosen)


def _column(index: int, heading: str, meaning: str) -> Column:
    own_place = meaning.split(" ")[0] in ("circuit", "appliance")
    return Column(
        index,
        heading,
        flow="load" if own_place else meaning,
        place=meaning if own_place else "whole",
        unit=unit_in(heading),
        register=REGISTER.search(heading.lower()) is not None,
    )


def _is_numeric(cells: list[str]) -> bool:
    return any(is_number(cell) for cell in cells)


def flow_named(text: str) -> str:
    """The flow that a cell of a flow column names, ``""`` for a blank."""
    if not text:
        return ""
    return "export" if any(word in text.lower() for word in _EXPORT_CELLS) else "import"


def value_flow(heading: str) -> str:
    """The flow that a heading names as energy or power, or ``""``."""
    name = heading.lower().replace("_", " ")
    return next((flow for flow, words in VALUE_WORDS if words.search(name)), "")


def _energy_before_power(table: Table, chosen: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Where one flow stands as energy and as power, the energy is taken."""
    energy = {flow for index, flow in chosen if unit_in(table.headings[index]) in ("kWh", "Wh")}
    kept = [
        (index, flow)
        for index, flow in chosen
        if flow not in energy or unit_in(table.headings[index]) in ("kWh", "Wh")
    ]
    registers = {flow for index, flow in kept if not REGISTER.search(table.headings[index].lower())}
    return [
        (index, flow)
        for index, flow in kept
        if flow not in registers or not REGISTER.search(table.headings[index].lower())
    ]


def _wide_columns(table: Table, meanings: dict[int, str]) -> tuple[int, ...]:
    """Columns of a table with one row a day: as many as a day has intervals."""
    clocks = tuple(
        index
        for index, heading in enumerate(table.headings)
        if index not in meanings
        and CLOCK_HEADING.fullmatch(heading.strip())
        and _is_blank_or_number(table.column(index))
    )
    if len(clocks) in _WIDE:
        return clocks
    run = _longest_run(table, meanings)
    nameless = sum(_NAMELESS.match(table.headings[index]) is not None for index in run)
    return run if len(run) in _WIDE and nameless * 4 >= len(run) * 3 else ()


def _longest_run(table: Table, meanings: dict[int, str]) -> tuple[int, ...]:
    """The longest stretch of neighbouring columns of numbers to the right of a date."""
    runs: list[list[int]] = [[]]
    dated = False
    for index in range(table.width):
        cells = table.column(index)
        is_value = _is_blank_or_number(cells) and any(cells) and not all(map(is_date, cells))
        if dated and is_value and index not in meanings:
            runs[-1].append(index)
        elif runs[-1]:
            runs.append([])
        dated = dated or all(map(is_date, cells))
    longest = max(range(len(runs)), key=lambda at: len(runs[at]))
    return tuple(runs[longest])


def _is_blank_or_number(cells: list[str]) -> bool:
    return all(not cell or is_number(cell) for cell in cells)
