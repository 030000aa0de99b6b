"""A delimited text to series, daily energies or temperatures, told apart by its columns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.core.series import BillPeriod, ReadOptions, ReadResult, Series
from loadlib.errors import DataError, InputError
from loadlib.readers.delimited.columns import Cells, Wanted, read_cells
from loadlib.readers.delimited.dates import NoSuchDay, clock_seconds, split_stamp
from loadlib.readers.delimited.intervals import Rows, interval_series, step_of
from loadlib.readers.delimited.periods import between_dials, of_days
from loadlib.readers.delimited.roles import Column, Roles, find_roles, unit_in
from loadlib.readers.delimited.rows import (
    Group,
    electric_rows,
    groups,
    note_estimated,
    rows_in_one_unit,
)
from loadlib.readers.delimited.table import Table, find_table
from loadlib.readers.delimited.text import chunks_of_lines, decode_head, encoding_of
from loadlib.readers.delimited.wide import unroll
from loadlib.readers.limits import LIMITS, MOST_WH_PER_DAY, Limits
from loadlib.readers.local import zone
from loadlib.readers.remarks import counted
from loadlib.readers.unsure import Unsure, data_error

__all__ = ["Opened", "Progress", "open_table", "read_delimited"]

Progress = Callable[[float], None]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_HEAD: Final = 1 << 16
_DAY_S: Final = 86_400
#: The channel of a file that names no meter: next month's file must meet this month's.
_METER: Final = "meter"


@dataclass(frozen=True, slots=True)
class Opened:
    """A file's encoding, table and roles of the columns."""

    path: Path
    encoding: str
    table: Table
    roles: Roles


def open_table(path: Path, options: ReadOptions) -> Opened:
    """Find the table of a file and what its columns mean.

    Raises
    ------
    DataError
        when there is no table of dates and numbers.
    """
    with path.open("rb") as stream:
        head = stream.read(_HEAD)
    table = find_table(decode_head(head))
    if table is None:
        raise DataError(
            "no rows of a date and numbers found",
            path=str(path),
            hint="The first 400 lines must reach into the table.",
        )
    try:
        roles = find_roles(table, options.columns, str(path))
    except InputError as wrong:
        raise data_error(wrong, str(path)) from None
    if roles.time < 0:
        raise DataError(
            "no column of times: " + ", ".join(table.headings[:12]),
            path=str(path),
            line=table.first_line,
            hint='Name it: columns time = "HEADING".',
        )
    return Opened(path, encoding_of(head), table, roles)


def read_delimited(
    path: Path,
    options: ReadOptions,
    *,
    limits: Limits = LIMITS,
    progress: Progress | None = None,
) -> ReadResult:
    """Read a file of interval data whole.

    Raises
    ------
    DataError
        naming the line or column that can't be understood, or what must be stated.
    """
    if options.timezone:
        zone(options.timezone)
    opened = open_table(path, options)
    wanted = _wanted(opened.roles)
    cells = read_cells(
        path, opened.encoding, opened.table, wanted, limits=limits, progress=progress
    )
    try:
        return _assemble(opened, cells, options, limits)
    except NoSuchDay as wrong:
        line = _line_of(wrong.text, path, opened.encoding, limits)
        raise data_error(wrong, str(path), line) from None
    except InputError as wrong:
        raise data_error(wrong, str(path)) from None


def _line_of(text: str, path: Path, encoding: str, limits: Limits) -> int | None:
    """The first line that holds a text."""
    for first_line, piece, _ in chunks_of_lines(path, encoding, limits):
        if (at := piece.find(text)) >= 0:
            return first_line + piece.count("\n", 0, at)
    return None


def _wanted(roles: Roles) -> Wanted:
    values = roles.wide or tuple(column.index for column in roles.values)
    words = (roles.meter, roles.flow, roles.service, roles.unit, roles.quality)
    return Wanted(
        roles.time,
        roles.clock,
        values,
        tuple(dict.fromkeys(index for index in words if index >= 0)),
    )


def _assemble(opened: Opened, cells: Cells, options: ReadOptions, limits: Limits) -> ReadResult:
    path, roles = str(opened.path), opened.roles
    if cells.rows == 0:
        raise DataError("no rows of data", path=path)
    where = zone(options.timezone) if options.timezone else None
    stamp_s, is_utc, order = cells.stamps.seconds(options.day_first, where)
    notes = [*_layout(opened, options), *cells.notes(), *([order] if order else [])]
    keep, unit = rows_in_one_unit(cells, roles, electric_rows(cells, roles, notes), notes)
    opened = _with_unit(opened, unit)
    note_estimated(cells, roles, keep, notes)
    series: list[Series] = []
    bills: list[BillPeriod] = []
    one_a_day = not roles.wide and not cells.stamps.has_clock and roles.clock < 0
    for group, rows in groups(cells, roles, options.channel, keep):
        before = len(bills)
        step = step_of(stamp_s[rows]) if one_a_day else 1
        if step % _DAY_S == 0:
            _check_daily(opened, step)
            bills += _daily(opened, cells, options, stamp_s, rows, group.flow, notes)
            if before and len(bills) > before:
                raise InputError(
                    f"daily energies of several meters, {group.meter or group.flow!r} among them",
                    hint="Name one as the channel (command line: --channel).",
                )
        else:
            series += _of_group(opened, cells, options, limits, group, rows, stamp_s, is_utc)
    if not series and not bills:
        raise DataError("; ".join(["no electricity in it", *notes]), path=path)
    return ReadResult(tuple(series), tuple(bills), notes=tuple(dict.fromkeys(notes)))


def _layout(opened: Opened, options: ReadOptions) -> list[str]:
    """How the table was understood, in one remark."""
    table, roles = opened.table, opened.roles
    names = [f"time {table.headings[roles.time]!r}"]
    if roles.clock >= 0:
        names.append(f"clock {table.headings[roles.clock]!r}")
    if roles.wide:
        names.append(f"{len(roles.wide)} columns a day")
    names += [f"{column.flow} {column.heading!r}" for column in roles.values]
    return ["columns: " + ", ".join(names) + (", as stated" if options.columns else "")]


# -- interval series


def _with_unit(opened: Opened, unit: str) -> Opened:
    """The unit that rows name, for columns whose heading names none."""
    values = tuple(replace(one, unit=one.unit or unit) for one in opened.roles.values)
    return replace(opened, roles=replace(opened.roles, values=values, unit_of_rows=unit))


def _of_group(
    opened: Opened,
    cells: Cells,
    options: ReadOptions,
    limits: Limits,
    group: Group,
    rows: Bools,
    stamp_s: Ints,
    is_utc: Bools,
) -> list[Series]:
    if opened.roles.wide:
        return [_wide(opened, cells, options, limits, group, rows, stamp_s)]
    series = []
    counted_s = cells.stamps.counted_s
    told = "since intervals are counted from midnight" if counted_s else "by the heading"
    ends, step = (False, counted_s) if counted_s else (_ends(opened), _stated_step(opened))
    options = replace(options, stamp="") if counted_s else options
    for column in opened.roles.values:
        values = cells.value(column.index)[rows]
        one = Rows(
            _channel(group, column, opened),
            replace(column, flow=group.flow or column.flow),
            stamp_s[rows],
            is_utc[rows],
            values,
            ends,
            step,
            told_ends=told,
        )
        series.append(interval_series(one, options, str(opened.path), limits))
    return series


def _channel(group: Group, column: Column, opened: Opened) -> str:
    if column.place != "whole":
        return column.place
    return group.meter or _METER


def _ends(opened: Opened) -> bool | None:
    """Whether stamps are the end of their interval, as far as headings say."""
    roles, headings = opened.roles, opened.table.headings
    if roles.end >= 0 and roles.end != roles.time:
        return False
    named = " ".join(headings[i].lower() for i in (roles.time, roles.clock) if i >= 0)
    if "end" in named.replace("_", " ").split() or "ending" in named:
        return True
    if any(word in named for word in ("start", "begin", "from")):
        return False
    return None


def _stated_step(opened: Opened) -> int:
    """Length of the interval where each row has a start and an end, else 0. [s]

    An end one minute or second early (00:14, 00:59) is meant up to the next start.
    """
    roles, table = opened.roles, opened.table
    if roles.end < 0 or roles.end == roles.time:
        return 0
    lengths = []
    for row in table.sample:
        begin = row[roles.clock] if roles.clock >= 0 else split_stamp(row[roles.time])[1]
        end = split_stamp(row[roles.end])[1] or row[roles.end]
        try:
            seconds = (clock_seconds(end) - clock_seconds(begin)) % _DAY_S
        except InputError:
            return 0
        lengths.append(_rounded(seconds))
    return max(set(lengths), key=lengths.count) if lengths else 0


def _rounded(seconds: int) -> int:
    for early in (0, 1, 60):
        if (seconds + early) % 300 == 0:
            return seconds + early
    return seconds


def _wide(
    opened: Opened,
    cells: Cells,
    options: ReadOptions,
    limits: Limits,
    group: Group,
    rows: Bools,
    stamp_s: Ints,
) -> Series:
    roles, table = opened.roles, opened.table
    values = np.stack([cells.value(index)[rows] for index in roles.wide], axis=1)
    where = zone(options.timezone) if options.timezone else None
    stamps, numbers, utc, step = unroll(stamp_s[rows], values, where, str(opened.path))
    names = " ".join(table.headings[index] for index in roles.wide[:3])
    column = Column(
        -1,
        names,
        flow=group.flow or "import",
        unit=roles.unit_of_rows
        or unit_in(names)
        or unit_in(table.preamble)
        or unit_in(table.headings[roles.time]),
    )
    one = Rows(
        group.meter or _METER,
        column,
        stamps,
        np.full(stamps.size, utc),
        numbers,
        False,
        step,
        told_ends="since columns stand in order from midnight",
    )
    return interval_series(one, replace(options, stamp=""), str(opened.path), limits)


# -- one number a day


def _check_daily(opened: Opened, step: int) -> None:
    if step > _DAY_S and not any(column.register for column in opened.roles.values):
        raise DataError(
            f"one number every {step // _DAY_S} days: which days it stands for is not said",
            path=str(opened.path),
            hint="Give each period its first and last day, and read the file as bills.",
        )


def _daily(
    opened: Opened,
    cells: Cells,
    options: ReadOptions,
    stamp_s: Ints,
    rows: Bools,
    flow: str,
    notes: list[str],
) -> list[BillPeriod]:
    """Daily energy, or what was used between readings of a dial, as billing periods."""
    days = stamp_s[rows] // _DAY_S
    bills: list[BillPeriod] = []
    for column in opened.roles.values:
        if (flow or column.flow) == "export":
            notes.append(f"daily export {column.heading!r}: left out, since bills hold import")
            continue
        unit = options.unit or column.unit
        if unit not in ("kWh", "Wh"):
            raise Unsure(
                f"daily numbers of {column.heading!r} without a unit of energy",
                option="unit",
                choices=("kWh", "Wh"),
                path=str(opened.path),
                hint="State the unit: kWh or Wh (command line: --unit).",
            )
        energy_wh = cells.value(column.index)[rows] * (1000.0 if unit == "kWh" else 1.0)
        negative = int((energy_wh < 0).sum())
        if negative:
            notes.append(
                f"daily {column.heading!r} with {counted(negative, 'negative day')}: import less "
                "export, left out, since bills hold import"
            )
            continue
        if not column.register and float(np.nanmax(energy_wh, initial=0.0)) > MOST_WH_PER_DAY:
            raise DataError(
                f"{np.nanmax(energy_wh) / 1000:.3g} kWh in a day is no house",
                path=str(opened.path),
                hint="Check the unit, the decimal mark and whether the numbers are dial readings.",
            )
        if column.register:
            notes.append(f"{column.heading!r} holds dial readings: differences taken")
        to_periods = between_dials if column.register else of_days
        bills += to_periods(days, energy_wh, str(opened.path), notes)
    return bills
