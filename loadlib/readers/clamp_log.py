"""Reader of clamp and plug-in meter logs: delimited text with several channels.

Columns of amps, volts, watts and volt-amperes are told apart by the unit in their heading, and
legs, neutral, circuits and appliances by its words; what a person states goes first. Amps
alone become volt-amperes at the volts of the same leg or at nominal volts, and are marked so.
A file that can't be right (a clock that jumps back, milliamperes for amperes, a dead channel,
a reversed clamp) is refused with its line or column; nothing is mended in silence.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.core.readings import APPARENT
from loadlib.core.series import ReadOptions, ReadResult, Series
from loadlib.errors import DataError, InputError
from loadlib.readers.delimited.columns import Cells, Wanted, read_cells
from loadlib.readers.delimited.table import Table, find_table
from loadlib.readers.delimited.text import decode_head, encoding_of
from loadlib.readers.grid import Grid, common_step, place, place_regular
from loadlib.readers.limits import LIMITS, Limits
from loadlib.readers.local import ASK, regular_to_utc, to_utc, zone
from loadlib.readers.remarks import counted

__all__ = ["ClampLogReader"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_HEAD: Final = 1 << 16
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

_MOST_LEG_A: Final = 600.0
_LEAST_MA: Final = 60.0
_LEAST_W: Final = 60.0
_MOST_KW: Final = 300.0
_NEGATIVE_SHARE: Final = 0.005
_BACK_S: Final = 2
_LOW_FACTOR: Final = 0.3
_STUCK_S: Final = 86_400
_BLOCK: Final = 1 << 18
_LONGEST_STEP_S: Final = 900


@dataclass(frozen=True, slots=True)
class _Column:
    index: int
    heading: str
    place: str
    unit: str

    @property
    def kind(self) -> str:
        return _KIND[self.unit]


@dataclass(slots=True)
class ClampLogReader:
    """Logs with several channels, from one second to fifteen minutes.

    ``volts`` are nominal volts by place (``"leg A"``, ``"circuit NAME"`` …) where the file has
    amps only; others count with ``leg_v``.
    """

    name: str = "clamp_log"
    summary: str = "log of a clamp or plug-in meter"
    leg_v: float = 120.0
    volts: Mapping[str, float] = field(default_factory=dict)
    limits: Limits = LIMITS
    progress: Callable[[float], None] | None = None

    def recognises(self, head: bytes, filename: str) -> float:
        """Sure when a heading names amps or legs beside a column of times."""
        if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
            return 0.0
        table = find_table(decode_head(head))
        if table is None:
            return 0.0
        columns = _columns(table, ReadOptions())
        if any(column.kind == "A" for column in columns):
            return 0.9
        return 0.8 if any(column.place.startswith("leg ") for column in columns) else 0.0

    def with_progress(self, progress: Callable[[float], None]) -> ClampLogReader:
        """A reader that also tells how far it is, as a share."""
        return replace(self, progress=progress)

    def read(self, path: Path, options: ReadOptions) -> ReadResult:
        """Read it whole, or raise DataError naming line or column."""
        with path.open("rb") as stream:
            head = stream.read(_HEAD)
        table = find_table(decode_head(head))
        if table is None:
            raise DataError("no rows of a time and numbers found", path=str(path))
        columns = _columns(table, options)
        if not any(column.kind in ("A", "W", "VA") for column in columns):
            raise DataError(
                "no column of amps or watts: " + ", ".join(table.headings[:12]),
                path=str(path),
                line=max(table.first_line - 1, 1),
                hint='Write the unit into the heading, e.g. "leg A (A)", or state the columns.',
            )
        time, clock = _time_columns(table, options)
        wanted = Wanted(time, clock, tuple(column.index for column in columns))
        cells = read_cells(
            path, encoding_of(head), table, wanted, limits=self.limits, progress=self.progress
        )
        if cells.rows == 0:
            raise DataError("no rows of data", path=str(path))
        try:
            return self._assemble(path, table, columns, cells, options)
        except InputError as wrong:
            raise DataError(wrong.message, path=str(path), hint=wrong.hint) from None

    def _assemble(
        self,
        path: Path,
        table: Table,
        columns: tuple[_Column, ...],
        cells: Cells,
        options: ReadOptions,
    ) -> ReadResult:
        times, notes = _times(cells, options, path, table)
        notes = [*cells.notes(), *notes]
        step = times.step if isinstance(times, range) else _step(times, path)
        values = {column: _checked(column, columns, cells, table, path) for column in columns}
        _refuse_dead(values, path)
        _refuse_wrong_phase(values, path)
        found: list[Series] = []
        for where in dict.fromkeys(column.place for column in columns):
            group = [(column, data) for column, data in values.items() if column.place == where]
            power = self._power(where, group, notes)
            if power is None:
                continue
            watts, apparent = power
            grid = self._placed(times, step, watts, options, path)
            told = (*grid.notes, APPARENT) if apparent else grid.notes
            found.append(
                Series(
                    options.channel or where,
                    where,
                    "load",
                    grid.start_s,
                    step,
                    grid.mean_w,
                    options.timezone,
                    path.name,
                    told,
                )
            )
        if not found:
            raise DataError("nothing but a neutral was logged", path=str(path))
        notes += _stuck(found)
        return ReadResult(tuple(found), notes=tuple(dict.fromkeys(notes)))

    def _placed(
        self, times: range | Ints, step: int, watts: Floats, options: ReadOptions, path: Path
    ) -> Grid:
        if isinstance(times, range):
            return place_regular(times, watts, zone=options.timezone)
        durations = np.broadcast_to(np.int64(step), times.shape)
        return place(
            times, durations, watts, zone=options.timezone, limits=self.limits, path=str(path)
        )

    def _power(
        self, where: str, group: list[tuple[_Column, Floats]], notes: list[str]
    ) -> tuple[Floats, bool] | None:
        """Watts of a place, and whether they are volt-amperes; None for a neutral. [W]

        The amps are turned into volt-amperes where they stand: a long log is not held twice.
        """
        by_kind = {column.kind: data for column, data in group}
        if where == "neutral":
            notes.append("the neutral is no load: left out, it is a check on the legs only")
            return None
        if "W" in by_kind:
            return by_kind["W"], False
        if "VA" in by_kind:
            return by_kind["VA"], True
        if "A" not in by_kind:
            return None
        volts: Floats | float
        if "V" in by_kind:
            volts = by_kind["V"]
            notes.append(f"{where}: volt-amperes from its own volts; no power factor was logged")
        else:
            volts = self.volts.get(where, self.leg_v)
            notes.append(f"{where}: amps at nominal {volts:g} V; no power factor was logged")
        watts = by_kind["A"]
        watts *= volts
        return watts, True


def _columns(table: Table, options: ReadOptions) -> tuple[_Column, ...]:
    """Columns with a unit, and what each was clamped on."""
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
        found.append(_Column(index, heading, meaning or _place(heading), unit))
    return tuple(found)


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
    return stated if stated in _SCALE else ""


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


def _time_columns(table: Table, options: ReadOptions) -> tuple[int, int]:
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


def _times(
    cells: Cells, options: ReadOptions, path: Path, table: Table
) -> tuple[range | Ints, list[str]]:
    """UTC seconds of the rows: a range where no second is missing or moved, else an array. [s]"""
    local_s = cells.stamps.regular()
    if options.timezone and local_s is not None and local_s.step <= _LONGEST_STEP_S:
        times = regular_to_utc(local_s, zone(options.timezone))
        if times is not None:
            return times, []
    return _utc(cells, options, path, table)


def _utc(cells: Cells, options: ReadOptions, path: Path, table: Table) -> tuple[Ints, list[str]]:
    """UTC seconds of the rows in the order of the file; refuses a clock that jumps back. [s]"""
    where = zone(options.timezone) if options.timezone else None
    stamps, is_utc, order = cells.stamps.seconds(options.day_first, where)
    notes = [order] if order else []
    if not is_utc.all():
        if where is None:
            raise DataError("times are local and the zone is not known", path=str(path), hint=ASK)
        if is_utc.any():
            raise DataError("some times have an offset from UTC and some none", path=str(path))
        folded = to_utc(stamps, where)
        if folded.skipped.any():
            at = int(np.argmax(folded.skipped))
            raise DataError(
                f"{_local(int(stamps[at]))} does not exist in {options.timezone}: clocks skip it",
                path=str(path),
                line=table.first_line + at,
                hint="If the logger's clock never changes, state a fixed zone such as Etc/GMT+5.",
            )
        stamps = folded.utc_s
    apart = np.diff(stamps)
    back = np.flatnonzero(apart < -_BACK_S)
    if back.size:
        at = int(back[0]) + 1
        raise DataError(
            f"the clock jumps back by {-int(apart[at - 1])} s, {counted(back.size, 'time')} in "
            f"all; first to {_local(int(stamps[at]))} UTC",
            path=str(path),
            line=table.first_line + at,
            hint="The logger's clock was set, or two logs were joined: cut the file there.",
        )
    again = int((apart == 0).sum())
    if again:
        notes.append(f"{counted(again, 'time')} stood twice: the later row counts")
    small = int((apart < 0).sum())
    if small:
        notes.append(f"{counted(small, 'row')} up to {_BACK_S} s out of order: sorted")
    return stamps, notes


def _local(epoch_s: int) -> str:
    return str(np.datetime64(epoch_s, "s")).replace("T", " ")


def _step(times: Ints, path: Path) -> int:
    apart = np.diff(times)
    if (apart <= 0).any():
        # A sort is far quicker here than numpy's unique, which hashes.
        apart = np.diff(np.sort(times))
        apart = apart[apart > 0]
    if apart.size == 0:
        raise DataError("a single moment is no log", path=str(path))
    step = common_step(apart)
    if step > _LONGEST_STEP_S:
        raise DataError(
            f"a step of {step} s: logs have up to 15 minutes",
            path=str(path),
            hint="Read it as interval data: --reader delimited.",
        )
    return step


def _checked(
    column: _Column, columns: tuple[_Column, ...], cells: Cells, table: Table, path: Path
) -> Floats:
    """Values of a column in A, V, W or VA; refuses units that can't be and reversed clamps."""
    data = cells.give_up(column.index)
    there = data.size - int(np.isnan(data).sum())
    if there == 0:
        raise DataError(f"column {column.heading!r} is empty", path=str(path))
    # Where amps were logged too, few watts are a matter of phase, not of unit.
    beside = any(one.place == column.place and one.kind == "A" for one in columns)
    if not (column.kind == "W" and beside):
        _refuse_unit(column, data, table, path)
    negative = np.flatnonzero(data < (0.0 if column.kind != "W" else -5.0))
    if negative.size > _NEGATIVE_SHARE * there or (negative.size and column.kind != "W"):
        what = "amps" if column.kind == "A" else "values"
        raise DataError(
            f"column {column.heading!r}: {counted(negative.size, 'negative value')} of {what}, "
            f"first {data[negative[0]]:g}",
            path=str(path),
            line=table.first_line + int(negative[0]),
            hint="The clamp is reversed, or energy is fed back (solar off?). Amps have no sign.",
        )
    data *= _SCALE[column.unit]
    return data


def _most(data: Floats) -> float:
    """Largest absolute value; no copy is made."""
    return float(max(np.nanmax(data), -np.nanmin(data)))


def _refuse_unit(column: _Column, data: Floats, table: Table, path: Path) -> None:
    """A unit in the heading that the values contradict."""
    most = _most(data)
    meant = ""
    if column.unit == "A" and most > _MOST_LEG_A:
        meant = "mA"
    elif column.unit == "mA" and 0.0 < most < _LEAST_MA:
        meant = "A"
    elif column.unit == "W" and 0.0 < most < _LEAST_W and column.place in ("whole", "leg A"):
        meant = "kW"
    elif column.unit in ("kW", "kVA") and most > _MOST_KW:
        meant = column.unit.removeprefix("k")
    elif column.unit == "V" and not 60.0 < most < 500.0:
        raise DataError(
            f"column {column.heading!r}: up to {most:g} V",
            path=str(path),
            line=_line_of_most(data, table),
            hint="Is it another quantity? Leave it out by stating it as ignore.",
        )
    if meant:
        raise DataError(
            f"column {column.heading!r}: up to {most:g} {column.unit}; the heading says "
            f"{column.unit}, the values look like {meant}",
            path=str(path),
            line=_line_of_most(data, table),
            hint=f"Put {meant} into the heading if it is that.",
        )


def _line_of_most(data: Floats, table: Table) -> int:
    return table.first_line + int(np.nanargmax(np.abs(data)))


def _refuse_dead(values: Mapping[_Column, Floats], path: Path) -> None:
    """A leg without any current while another has some was not clamped."""
    alive = any(np.nanmax(d) > 0.0 for c, d in values.items() if c.kind in ("A", "W"))
    for column, data in values.items():
        dead = _most(data) == 0.0
        if dead and alive and column.place.startswith(("leg ", "whole")) and column.kind != "V":
            raise DataError(
                f"column {column.heading!r} is zero throughout while others are not: a dead "
                "channel",
                path=str(path),
                hint="Check clamp and battery. To use the rest, state this column as ignore.",
            )


def _refuse_wrong_phase(values: Mapping[_Column, Floats], path: Path) -> None:
    """Watts far below volts × amps on the same leg: reversed, or the volts of another leg."""
    by_place: dict[str, dict[str, tuple[_Column, Floats]]] = {}
    for column, data in values.items():
        by_place.setdefault(column.place, {})[column.kind] = (column, data)
    for kinds in by_place.values():
        if not {"A", "V", "W"} <= kinds.keys():
            continue
        apparent = kinds["A"][1] * kinds["V"][1]
        loaded = kinds["A"][1] > 2.0
        if loaded.sum() < 10:
            continue
        factor = float(np.nanmedian(kinds["W"][1][loaded] / apparent[loaded]))
        if factor < _LOW_FACTOR:
            raise DataError(
                f"column {kinds['W'][0].heading!r}: watts are {factor:.2f} of volts × amps above "
                "2 A",
                path=str(path),
                hint="The clamp is reversed, or the voltage lead is on another leg.",
            )


def _stuck(found: list[Series]) -> list[str]:
    """Channels that show one value for a day on end."""
    notes = []
    for one in found:
        slots = _STUCK_S // one.step_s
        longest = _longest_same(one.mean_w)
        if longest > slots and float(np.nanmax(one.mean_w)) > 0.0:
            hours = longest * one.step_s / 3600.0
            notes.append(f"{one.place}: the same value for {hours:.0f} h: stuck?")
    return notes


def _longest_same(values: Floats, block: int = _BLOCK) -> int:
    """Slots of the longest stretch of one value, a block at a time."""
    longest, last = 0, -1
    for first in range(0, values.size - 1, block):
        part = values[first : first + block + 1]
        ends = first + np.flatnonzero(part[1:] != part[:-1])
        if ends.size:
            longest = max(longest, int(np.diff(ends, prepend=last).max()))
            last = int(ends[-1])
    return max(longest, values.size - 1 - last)
