"""Rows of stamps and numbers to series: step, start or end, time zone, unit, register."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.core.series import ReadOptions, Series
from loadlib.errors import DataError, InputError
from loadlib.readers.delimited.roles import Column
from loadlib.readers.delimited.units import power_in
from loadlib.readers.flows import settled_flow
from loadlib.readers.grid import common_step, place, register_to_power, stamp_text
from loadlib.readers.limits import LIMITS, MOST_W, Limits
from loadlib.readers.local import ASK, to_utc, zone
from loadlib.readers.remarks import counted
from loadlib.readers.unsure import Unsure

__all__ = ["Rows", "interval_series", "step_of"]

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

_DAY_S: Final = 86_400
_SHOWN: Final = 4
_DIAL_ROWS: Final = 24


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Stamps and numbers of one meter and flow, in the order of the file.

    ``stamp_s`` is in local time or, where ``is_utc``, in UTC. [s] ``ends`` says whether
    stamps are at the end of the interval (None: not known).
    """

    channel: str
    column: Column
    stamp_s: Ints
    is_utc: Bools
    values: Floats
    ends: bool | None
    step_s: int = 0
    told_dial: bool = True
    told_ends: str = "by the heading"


def step_of(stamp_s: Ints) -> int:
    """Most common distance between neighbouring stamps, 0 when there is none. [s]"""
    apart = np.diff(stamp_s)
    if (apart < 0).any():
        apart = np.diff(np.sort(stamp_s))
    apart = apart[apart > 0]
    return common_step(apart) if apart.size else 0


def interval_series(rows: Rows, options: ReadOptions, path: str, limits: Limits = LIMITS) -> Series:
    """One series from the rows of one meter and flow.

    Raises
    ------
    DataError
        when the step, the time zone or the unit can't be told.
    """
    notes: list[str] = []
    step = rows.step_s or step_of(rows.stamp_s)
    if step <= 0:
        raise DataError(
            f"{rows.channel}: a single reading, so the length of the interval is not known",
            path=path,
        )
    rows = _as_dial(_forwards(rows, notes))
    rows = _at_start(rows, step, options.stamp, notes)
    utc_s, keep = _utc(rows, options.timezone, path, notes)
    values = rows.values[keep]
    if utc_s.size == 0:
        raise DataError(f"{rows.channel}: no readings", path=path)
    start, duration, mean_w = _power(rows, utc_s, values, step, options, path, notes)
    with np.errstate(invalid="ignore"):
        too_much = np.abs(mean_w) > MOST_W
    if too_much.any():
        at = int(np.argmax(too_much))
        raise DataError(
            f"{rows.channel}: {mean_w[at] / 1000:.3g} kW at "
            f"{stamp_text(options.timezone)(int(start[at]))}, more than any house draws",
            path=path,
            hint="Check the unit, the decimal mark and whether the numbers are dial readings.",
        )
    flow, mean_w = settled_flow(rows.column.flow, mean_w, notes)
    grid = place(start, duration, mean_w, zone=options.timezone, limits=limits, path=path)
    if not np.nan_to_num(grid.mean_w).any():
        notes.append("every reading is zero")
    return Series(
        channel=rows.channel,
        place=rows.column.place,
        flow=flow,
        start_s=grid.start_s,
        step_s=grid.step_s,
        mean_w=grid.mean_w,
        timezone=options.timezone,
        source=path,
        notes=(*notes, *grid.notes),
    )


def _power(
    rows: Rows,
    utc_s: Ints,
    values: Floats,
    step: int,
    options: ReadOptions,
    path: str,
    notes: list[str],
) -> tuple[Ints, Ints, Floats]:
    """Start, duration and mean power. [s], [s], [W]"""
    column = rows.column
    if column.register:
        unit = options.unit or column.unit
        if unit not in ("kWh", "Wh"):
            raise Unsure(
                f"{rows.channel}: dial readings without a unit of energy",
                option="unit",
                choices=("kWh", "Wh"),
                path=path,
                hint="State the unit: kWh or Wh (command line: --unit).",
            )
        scale = 1000.0 if unit == "kWh" else 1.0
        told = "from the heading" if rows.told_dial else "since they never fall for long"
        notes.append(f"numbers are dial readings in {unit} ({told}): differences taken")
        start, duration, mean_w, more = register_to_power(utc_s, values * scale, options.timezone)
        notes += more
        return start, duration, mean_w
    mean_w, remark = power_in(
        values,
        step,
        stated=options.unit,
        heading=column.unit,
        whole=column.place == "whole",
        path=path,
    )
    notes.append(remark)
    return utc_s, np.full(utc_s.size, step, np.int64), mean_w


def _forwards(rows: Rows, notes: list[str]) -> Rows:
    """Rows in order of time where the file runs backwards, so that folding finds its copies."""
    apart = np.diff(rows.stamp_s)
    if int((apart < 0).sum()) <= apart.size // 2:
        return rows
    notes.append("the file runs backwards in time: turned round")
    return replace(
        rows,
        stamp_s=rows.stamp_s[::-1],
        is_utc=rows.is_utc[::-1],
        values=rows.values[::-1],
    )


def _as_dial(rows: Rows) -> Rows:
    if rows.column.register or not _is_dial(rows.values):
        return rows
    return replace(rows, column=replace(rows.column, register=True), told_dial=False)


def _is_dial(values: Floats) -> bool:
    """Numbers that rise for days on end, but for a reset or two, stand on a dial."""
    there = values[np.isfinite(values)]
    if there.size < _DIAL_ROWS or there[0] < 0:
        return False
    steps = np.diff(there)
    up = steps[steps > 0]
    rising = int((steps >= 0).sum()) >= 0.98 * steps.size
    return rising and up.size > 12 and float(np.median(there)) > 20 * float(np.mean(up))


# -- start or end of the interval


def _at_start(rows: Rows, step: int, stated: str, notes: list[str]) -> Rows:
    """Rows whose stamps are the start of the interval; dials keep the time of their reading."""
    if rows.column.register:
        return rows
    ends, told = _decide_end(rows, step, stated)
    notes.append(told)
    return replace(rows, stamp_s=rows.stamp_s - step) if ends else rows


def _decide_end(rows: Rows, step: int, stated: str) -> tuple[bool, str]:
    if stated:
        if stated not in ("start", "end"):
            raise InputError(f"stamp {stated!r}", hint="Say start or end.")
        return stated == "end", f"stamps are the {stated} of the interval, as stated"
    if rows.ends is not None:
        which = "end" if rows.ends else "start"
        return rows.ends, f"stamps are the {which} of the interval, {rows.told_ends}"
    first, last = int(rows.stamp_s.min()) % _DAY_S, int(rows.stamp_s.max()) % _DAY_S
    if first == step and last == 0:
        return True, "stamps are the end of the interval: days run from the first step to 24:00"
    if first == 0 and last == _DAY_S - step:
        return False, "stamps are the start of the interval: days run from 0:00"
    return False, "stamps taken as the start of the interval: state stamp end if it is the end"


# -- local time to UTC


def _utc(rows: Rows, timezone: str, path: str, notes: list[str]) -> tuple[Ints, Bools]:
    """UTC seconds of the rows that have a moment, and which rows those are."""
    everything = np.ones(rows.stamp_s.size, np.bool_)
    if rows.is_utc.all():
        return rows.stamp_s, everything
    if not timezone:
        raise Unsure(
            "stamps are local and the time zone is not known",
            option="timezone",
            path=path,
            hint=ASK,
        )
    if rows.is_utc.any():
        raise DataError("some stamps have an offset from UTC and some have none", path=path)
    folded = to_utc(rows.stamp_s, zone(timezone))
    single = folded.doubled & ~folded.second & ~_has_copy(rows.stamp_s, folded.doubled)
    if folded.doubled.any():
        stamps = ", ".join(_local_text(int(s)) for s in rows.stamp_s[folded.doubled][:_SHOWN])
        notes.append(
            f"{counted(int(folded.doubled.sum()), 'stamp')} in the hour that clocks ran through "
            f"twice ({stamps} …): first copy daylight time, second copy standard time"
        )
        if single.any():
            notes.append(
                f"{int(single.sum())} of them stood once: taken as the first pass, the second pass "
                "stays missing"
            )
    if folded.skipped.any():
        stamps = ", ".join(_local_text(int(s)) for s in rows.stamp_s[folded.skipped][:_SHOWN])
        notes.append(
            f"{counted(int(folded.skipped.sum()), 'stamp')} in the hour that clocks skipped "
            f"({stamps} …): left out"
        )
        notes.append(_fixed_clock(both=bool(single.any())))
    return folded.utc_s[~folded.skipped], ~folded.skipped


def _fixed_clock(*, both: bool) -> str:
    """What stamps in a skipped hour say about the meter's clock."""
    if both:
        return (
            "days have 24 hours at both changes of the clock, so the meter's clock probably never "
            "changes and summer is an hour off: state a fixed zone such as Etc/GMT+5"
        )
    return "if the meter's clock never changes, state a fixed zone such as Etc/GMT+5"


def _has_copy(stamp_s: Ints, among: Bools) -> Bools:
    values, counts = np.unique(stamp_s[among], return_counts=True)
    return among & np.isin(stamp_s, values[counts > 1])


def _local_text(local_s: int) -> str:
    return str(np.datetime64(local_s, "s").astype("datetime64[m]")).replace("T", " ")
