"""Outdoor temperatures, daily or hourly, from delimited text."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.core.series import ReadOptions, ReadResult, Temperatures
from loadlib.errors import DataError, InputError
from loadlib.readers.delimited.assemble import Progress
from loadlib.readers.delimited.columns import Cells, Wanted, read_cells
from loadlib.readers.delimited.intervals import step_of
from loadlib.readers.delimited.roles import Roles, find_roles, value_flow
from loadlib.readers.delimited.table import Table, find_table
from loadlib.readers.delimited.text import decode_head, encoding_of
from loadlib.readers.grid import place
from loadlib.readers.limits import LIMITS, Limits
from loadlib.readers.local import ASK, to_utc, zone
from loadlib.readers.remarks import counted
from loadlib.readers.unsure import Unsure, data_error

__all__ = ["TemperaturesReader"]

Floats = NDArray[np.float64]

_DAY_S: Final = 86_400
_FAHRENHEIT: Final = re.compile(r"°f|fahrenheit|[_ (\[]f[)\]]?$|deg\.? ?f")
_CELSIUS: Final = re.compile(r"°c|celsius|[_ (\[]c[)\]]?$|deg\.? ?c|centigrade")
_TEMPERATURE: Final = re.compile(r"(?<!s)temp|°|tavg|tmax|tmin|\bdeg|dry.?bulb")
_MEAN: Final = re.compile(r"avg|mean|average")
_EXTREME: Final = re.compile(r"max|min|high|low")
_NOT_AIR: Final = re.compile(r"dew|wet|soil|feels|indoor|inside|water|apparent")

#: The highest and lowest air temperatures measured on Earth are 56.7 °C and -89.2 °C (World
#: Meteorological Organization, archive of extremes); from memory.
_HOTTEST_C: Final = 56.7
_COLDEST_C: Final = -89.2


@dataclass(slots=True)
class TemperaturesReader:
    """Temperature by day or by hour; °C or °F by the heading."""

    name: str = "temperatures"
    summary: str = "outdoor temperatures by day or hour"
    limits: Limits = LIMITS
    progress: Progress | None = None

    def recognises(self, head: bytes, filename: str) -> float:
        """Sure when a table has temperatures and no energy."""
        table = find_table(decode_head(head))
        if table is None or not _air_columns(table):
            return 0.0
        try:
            roles = find_roles(table, (), filename)
        except (InputError, DataError):
            return 0.75
        energy = any(column.unit or value_flow(column.heading) for column in roles.values)
        return 0.2 if energy or roles.wide else 0.9

    def with_progress(self, progress: Progress) -> TemperaturesReader:
        """A reader that also tells how far it is, as a share."""
        return replace(self, progress=progress)

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        """Read it whole, or raise DataError naming the line or what must be stated.

        Daily values stand at 0:00 UTC of their date, whatever the time zone.
        """
        with path.open("rb") as stream:
            head = stream.read(1 << 16)
        table = find_table(decode_head(head))
        if table is None:
            raise DataError("no rows of a date and numbers found", path=str(path))
        try:
            return self._read(path, encoding_of(head), table, options)
        except InputError as wrong:
            raise data_error(wrong, str(path)) from None

    def _read(self, path: Path, encoding: str, table: Table, options: ReadOptions) -> ReadResult:
        columns, told = _chosen_columns(table, options, path)
        roles = _times(table, options, path)
        cells = read_cells(
            path,
            encoding,
            table,
            Wanted(roles.time, roles.clock, columns),
            limits=self.limits,
            progress=self.progress,
        )
        values = np.mean([cells.value(index) for index in columns], axis=0)
        notes = [told, *cells.notes()]
        outdoor_c = _in_celsius(values, table.headings[columns[0]], options, path, notes)
        return self._placed(cells, outdoor_c, options, path, notes)

    def _placed(
        self,
        cells: Cells,
        outdoor_c: Floats,
        options: ReadOptions,
        path: Path,
        notes: list[str],
    ) -> ReadResult:
        stamp_s, is_utc, order = cells.stamps.seconds(options.day_first)
        if order:
            notes.append(order)
        step = step_of(stamp_s)
        if step <= 0:
            raise DataError("a single temperature", path=str(path))
        if cells.stamps.has_clock and not is_utc.all():
            if not options.timezone:
                raise Unsure(
                    "stamps are local and the time zone is not known",
                    option="timezone",
                    path=str(path),
                    hint=ASK,
                )
            folded = to_utc(stamp_s, zone(options.timezone))
            if folded.skipped.any():
                notes.append(
                    f"{counted(int(folded.skipped.sum()), 'stamp')} in the hour that clocks "
                    "skipped: left out"
                )
            keep = ~folded.skipped
            stamp_s, outdoor_c = folded.utc_s[keep], outdoor_c[keep]
        grid = place(
            stamp_s,
            np.full(stamp_s.size, step, np.int64),
            outdoor_c,
            zone=options.timezone,
            limits=self.limits,
        )
        found = Temperatures(grid.start_s, grid.step_s, grid.mean_w, source=str(path))
        return ReadResult(temperatures=found, notes=(*notes, *grid.notes))


def _air_columns(table: Table) -> list[int]:
    names = [heading.lower().replace("_", " ") for heading in table.headings]
    return [i for i, n in enumerate(names) if _TEMPERATURE.search(n) and not _NOT_AIR.search(n)]


def _chosen_columns(table: Table, options: ReadOptions, path: Path) -> tuple[tuple[int, ...], str]:
    stated = [heading for meaning, heading in options.columns if meaning == "temperature"]
    lower = [heading.lower() for heading in table.headings]
    if stated:
        if stated[0].lower() not in lower:
            raise InputError(f"no column {stated[0]!r}", hint=", ".join(table.headings))
        return (lower.index(stated[0].lower()),), f"temperature {stated[0]!r}, as stated"
    air = _air_columns(table)
    means = [index for index in air if _MEAN.search(lower[index])]
    plain = [index for index in air if not _EXTREME.search(lower[index])]
    chosen = (means or plain)[:1] or air
    if not chosen or (len(chosen) > 1 and len(chosen) != 2):
        raise DataError(
            "no column of temperature: " + ", ".join(table.headings[:12]),
            path=str(path),
            line=table.first_line,
            hint='Name it: columns temperature = "HEADING".',
        )
    named = " and ".join(repr(table.headings[index]) for index in chosen)
    told = f"temperature {named}" + (": their mean" if len(chosen) == 2 else "")
    return tuple(chosen), told


def _times(table: Table, options: ReadOptions, path: Path) -> Roles:
    stated = tuple(pair for pair in options.columns if pair[0] in ("time", "date", "clock"))
    roles = find_roles(table, stated, str(path), energy=False)
    if roles.time < 0:
        raise DataError(
            "no column of times: " + ", ".join(table.headings[:12]),
            path=str(path),
            hint='Name it: columns time = "HEADING".',
        )
    return roles


def _in_celsius(
    values: Floats, heading: str, options: ReadOptions, path: Path, notes: list[str]
) -> Floats:
    unit, told = _unit(values, heading, options.unit, path)
    notes.append(told)
    outdoor_c = (values - 32.0) / 1.8 if unit == "F" else values
    with np.errstate(invalid="ignore"):
        outside = (outdoor_c > _HOTTEST_C + 5) | (outdoor_c < _COLDEST_C)
    if outside.any():
        raise DataError(
            f"{values[np.argmax(outside)]:g} °{unit} is no outdoor temperature",
            path=str(path),
            hint="Blanks written as 9999 or -99 must be left empty; or state the unit.",
        )
    return outdoor_c


def _unit(values: Floats, heading: str, stated: str, path: Path) -> tuple[str, str]:
    name = heading.lower()
    if stated.strip("°").upper()[:1] in ("C", "F"):
        unit = stated.strip("°").upper()[:1]
        return unit, f"temperatures in °{unit}, as stated"
    if _FAHRENHEIT.search(name):
        return "F", "temperatures in °F, from the heading"
    if _CELSIUS.search(name):
        return "C", "temperatures in °C, from the heading"
    highest = float(np.nanmax(values)) if np.isfinite(values).any() else 0.0
    if _HOTTEST_C < highest < 140.0:
        return "F", f"temperatures in °F: {highest:g} °C is not found on Earth"
    raise Unsure(
        f"{heading!r} may be in °C or °F",
        option="unit",
        choices=("°C", "°F"),
        path=str(path),
        hint="State the unit: °C or °F (command line: --unit).",
    )
