"""Reader of clamp and plug-in meter logs: delimited text with several channels.

Columns of amps, volts, watts and volt-amperes are told apart by the unit in their heading, and
legs, neutral, circuits and appliances by its words; what a person states goes first. Amps
alone become volt-amperes at the volts of the same leg or at nominal volts, and are marked so.
A file that can't be right (a clock that jumps back, milliamperes for amperes, a dead channel,
a reversed clamp) is refused with its line or column; nothing is mended in silence.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np

from loadlib.core.readings import APPARENT
from loadlib.core.series import ReadOptions, ReadResult, Series
from loadlib.errors import DataError, InputError
from loadlib.readers.clamp_log.checks import Checks, Stuck
from loadlib.readers.clamp_log.clock import LogClock, Rows
from loadlib.readers.clamp_log.headings import Column, columns_of, time_columns
from loadlib.readers.clamp_log.power import Places
from loadlib.readers.clamp_log.slots import Slots, Stretch
from loadlib.readers.delimited.columns import Cells, Wanted, cell_pieces
from loadlib.readers.delimited.dates import decide_order
from loadlib.readers.delimited.table import Table, find_table
from loadlib.readers.delimited.text import decode_head, encoding_of
from loadlib.readers.gaps import Gaps
from loadlib.readers.grid import stamp_text
from loadlib.readers.limits import Limits
from loadlib.readers.local import zone
from loadlib.readers.unsure import AmbiguousOrder, data_error

__all__ = ["ClampLogReader"]

_HEAD: Final = 1 << 16
_LOG_LIMITS: Final = Limits(readings=40_000_000)
"""A year of seconds: only a stretch of it lies in the memory."""


@dataclass(slots=True)
class ClampLogReader:
    """Logs with several channels, from one second to fifteen minutes.

    ``volts`` are nominal volts by place (``"leg A"``, ``"circuit NAME"`` …) where the file has
    amps only; others count with ``leg_v``. With ``legs`` of the supply known, one current of a
    whole house of several legs is refused.
    """

    name: str = "clamp_log"
    summary: str = "log of a clamp or plug-in meter"
    leg_v: float = 120.0
    volts: Mapping[str, float] = field(default_factory=dict)
    legs: int = 1
    limits: Limits = _LOG_LIMITS
    progress: Callable[[float], None] | None = None

    def recognises(self, head: bytes, filename: str) -> float:
        """Sure when a heading names amps or legs beside a column of times."""
        if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
            return 0.0
        table = find_table(decode_head(head))
        if table is None:
            return 0.0
        columns = columns_of(table, ReadOptions())
        if any(column.kind == "A" for column in columns):
            return 0.9
        return 0.8 if any(column.place.startswith("leg ") for column in columns) else 0.0

    def with_progress(self, progress: Callable[[float], None]) -> ClampLogReader:
        """A reader that also tells how far it is, as a share."""
        return replace(self, progress=progress)

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        """Read it whole, or raise DataError naming line or column."""
        return _whole(self.read_parts(path, options))

    def read_parts(self, path: Path, options: ReadOptions) -> Iterator[ReadResult]:
        """The same a stretch at a time: series in the order of time, each after the one before.

        The last part holds the remarks. What is wrong with a file may show only at its end:
        keep nothing unless the iteration comes to it.

        Raises
        ------
        DataError
            naming line or column.
        """
        try:
            yield from _Log(self, _opened(path, options), options).parts()
        except InputError as wrong:
            raise data_error(wrong, str(path)) from None


@dataclass(frozen=True, slots=True)
class _Opened:
    """A file whose headings are understood."""

    path: Path
    encoding: str
    table: Table
    columns: tuple[Column, ...]
    time: int
    clock: int

    def pieces(self, columns: tuple[Column, ...], limits: Limits) -> Iterator[tuple[Cells, float]]:
        """Its times and some columns, a stretch at a time, and the share read so far."""
        wanted = Wanted(self.time, self.clock, tuple(column.index for column in columns))
        return cell_pieces(self.path, self.encoding, self.table, wanted, limits)


def _opened(path: Path, options: ReadOptions) -> _Opened:
    with path.open("rb") as stream:
        head = stream.read(_HEAD)
    table = find_table(decode_head(head))
    if table is None:
        raise DataError("no rows of a time and numbers found", path=str(path))
    columns = columns_of(table, options)
    if not any(column.kind in ("A", "W", "VA") for column in columns):
        raise DataError(
            "no column of amps or watts: " + ", ".join(table.headings[:12]),
            path=str(path),
            line=max(table.first_line - 1, 1),
            hint='Write the unit into the heading, e.g. "leg A (A)", or state place and unit: '
            '--column "leg A=HEADING" --unit A. Is it kWh by interval? Then: loadlib usage add '
            "FILE.",
        )
    return _Opened(path, encoding_of(head), table, columns, *time_columns(table, options))


class _Log:
    """One reading of one file: what each stretch passes through, and what is told at the end."""

    def __init__(self, reader: ClampLogReader, opened: _Opened, options: ReadOptions) -> None:
        path = str(opened.path)
        self._opened = opened
        self._options = options
        self._limits = reader.limits
        self._progress = reader.progress
        self._places = Places(opened.columns, reader.volts, reader.leg_v, path, reader.legs)
        places = len(self._places.names)
        self._checks = Checks(opened.columns, path)
        self._clock = LogClock(places, options.timezone, path)
        self._slots = Slots(places, path, reader.limits)
        self._gaps: list[Gaps] = []
        self._stuck: list[Stuck] = []
        self._end_s = 0

    def parts(self) -> Iterator[ReadResult]:
        """Series by stretches, then the remarks; DataError at the latest when all is read."""
        day_first, remark = self._date_order()
        rows, told = 0, [remark] if remark else []
        left_out: list[str] = []
        for cells, share in self._opened.pieces(self._opened.columns, self._limits):
            yield from self._placed(self._rows(cells, day_first))
            rows, left_out = rows + cells.rows, cells.notes()
            if self._progress is not None:
                self._progress(share)
        if rows == 0:
            raise DataError("no rows of data", path=str(self._opened.path))
        yield from self._placed(self._clock.rest())
        yield from map(self._part, self._slots.rest())
        self._checks.refuse()
        yield ReadResult(notes=tuple(dict.fromkeys([*left_out, *told, *self._remarks()])))

    def _placed(self, rows: Rows) -> Iterator[ReadResult]:
        yield from map(self._part, self._slots.take(rows))

    def _remarks(self) -> Iterator[str]:
        yield from self._clock.notes()
        yield from self._slots.notes()
        yield from self._places.notes()
        for stuck in self._stuck:
            yield from stuck.notes()
        # What is missing from a file is missing from all its channels: told once.
        told: dict[str, list[str]] = {}
        write = stamp_text(self._options.timezone)
        for name, gaps in zip(self._places.names, self._gaps, strict=True):
            for note in gaps.notes(write):
                told.setdefault(note, []).append(name)
        yield from (f"{', '.join(names)}: {note}" for note, names in told.items())

    def _date_order(self) -> tuple[bool, str]:
        """Whether dates are day first, from as many stretches as it takes, and a remark."""
        texts: dict[str, None] = {}
        unsure: AmbiguousOrder | None = None
        for cells, _ in self._opened.pieces((), self._limits):
            texts |= dict.fromkeys(cells.stamps.date_texts)
            try:
                return decide_order(texts, self._options.day_first)
            except AmbiguousOrder as wrong:
                unsure = wrong
        if unsure is not None:
            raise unsure
        return False, ""

    def _rows(self, cells: Cells, day_first: bool) -> Rows:
        """Power of the places in a stretch of the file, in the order of time."""
        where = zone(self._options.timezone) if self._options.timezone else None
        time_s, is_utc, _ = cells.stamps.seconds(day_first, where)
        values = {column: cells.value(column.index) for column in self._opened.columns}
        line = cells.line()
        self._checks.take(values, line)
        return self._clock.take(Rows(time_s, self._places.power(values), line), is_utc)

    def _part(self, stretch: Stretch) -> ReadResult:
        step_s, names = self._slots.step_s, self._places.names
        if not self._gaps:
            self._gaps = [Gaps(self._slots.start_s, step_s) for _ in names]
            self._stuck = [Stuck(name, step_s) for name in names]
        follows = stretch.start_s == self._end_s
        for gaps, stuck, values in zip(self._gaps, self._stuck, stretch.values, strict=True):
            gaps.take(stretch.start_s, values)
            stuck.take(values, follows=follows)
        self._end_s = stretch.start_s + step_s * stretch.values.shape[1]
        return ReadResult(
            tuple(
                Series(
                    self._options.channel or name,
                    name,
                    "load",
                    stretch.start_s,
                    step_s,
                    values,
                    self._options.timezone,
                    self._opened.path.name,
                    (APPARENT,) if apparent else (),
                )
                for name, apparent, values in zip(
                    names, self._places.apparent, stretch.values, strict=True
                )
            )
        )


def _whole(parts: Iterator[ReadResult]) -> ReadResult:
    """Parts as one: series with missing slots in between, and all remarks."""
    series: list[tuple[Series, ...]] = []
    notes: tuple[str, ...] = ()
    for part in parts:
        notes += part.notes
        if part.series:
            series.append(part.series)
    return ReadResult(tuple(_joined(list(one)) for one in zip(*series, strict=True)), notes=notes)


def _joined(stretches: list[Series]) -> Series:
    first, last = stretches[0], stretches[-1]
    step_s = first.step_s
    whole_w = np.full((last.start_s - first.start_s) // step_s + last.mean_w.size, np.nan)
    for one in stretches:
        at = (one.start_s - first.start_s) // step_s
        whole_w[at : at + one.mean_w.size] = one.mean_w
    return replace(first, mean_w=whole_w)
