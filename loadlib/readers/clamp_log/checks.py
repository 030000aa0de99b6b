"""What a column of a log shows over its whole length, watched stretch by stretch, then judged.

Units that the values contradict, negative amps, empty and dead channels, a clamp that is
reversed or on another leg than the volts, a value that does not move: each is refused, or
remarked, with its line or column.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import DataError
from loadlib.readers.clamp_log.headings import Column
from loadlib.readers.remarks import counted

__all__ = ["Checks", "Stuck"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_MOST_LEG_A: Final = 600.0
_LEAST_MA: Final = 60.0
_LEAST_W: Final = 60.0
_MOST_KW: Final = 300.0
_LEAST_V, _MOST_V = 60.0, 500.0
_NEGATIVE_SHARE: Final = 0.005
_BACK_W: Final = -5.0
_LOW_FACTOR: Final = 0.3
_LOADED_A: Final = 2.0
_ENOUGH: Final = 10
_STUCK_S: Final = 86_400
"""Bounds of what a house's instruments show, and shares of what is odd: judgements, no source."""
_DEAD_LEG_S: Final = 6 * 3600
"""A leg of a house without any draw, or with one that does not move, for so long is odd. A
judgement."""
_DEAD: Final = {"A": 0.05, "W": 5.0, "VA": 5.0}
"""What a channel shows that is not clamped on anything: leakage and the last digit. [A], [W]"""
_BEYOND_ALL: Final = 1e7


@dataclass(slots=True, eq=False)
class _Seen:
    """What was seen of a column, in its own unit, and in which lines."""

    column: Column
    there: int = 0
    most: float = 0.0
    most_line: int = 0
    negative: int = 0
    first_negative: float = 0.0
    negative_line: int = 0

    def take(self, values: Floats, line: Ints) -> None:
        self.there += values.size - int(np.isnan(values).sum())
        least = _BACK_W if self.column.kind == "W" else 0.0
        below = np.flatnonzero(values < least)
        if below.size and not self.negative:
            self.first_negative = float(values[below[0]])
            self.negative_line = int(line[below[0]])
        self.negative += below.size
        for at in _ends(values):
            if abs(values[at]) > self.most or not self.most_line:
                self.most, self.most_line = float(abs(values[at])), int(line[at])

    @property
    def dead(self) -> bool:
        return self.most * self.column.scale <= _DEAD[self.column.kind]


def _ends(values: Floats) -> tuple[int, ...]:
    """Where the highest and the lowest value stand; no copy is made."""
    if np.isnan(values).all():
        return ()
    return int(np.nanargmax(values)), int(np.nanargmin(values))


class Checks:
    """Watches the columns of a log; ``refuse`` judges them at its end."""

    def __init__(self, columns: Sequence[Column], path: str) -> None:
        self._path = path
        self._seen = {column: _Seen(column) for column in columns}
        kinds: dict[str, dict[str, Column]] = {}
        for column in columns:
            kinds.setdefault(column.place, {})[column.kind] = column
        self._phased = [one for one in kinds.values() if {"A", "V", "W"} <= one.keys()]
        self._factors = {one["W"]: _Factor() for one in self._phased}

    def take(self, values: Mapping[Column, Floats], line: Ints) -> None:
        """The next stretch: values in the columns' own units, and their lines, shape (n,)."""
        for column, data in values.items():
            self._seen[column].take(data, line)
            self._refuse_endless(self._seen[column])
        for kinds in self._phased:
            scaled = {kind: values[one] * one.scale for kind, one in kinds.items()}
            self._factors[kinds["W"]].take(scaled)

    def refuse(self) -> None:
        """Raise DataError for what can't be.

        Raises
        ------
        DataError
            with the line or column.
        """
        for seen in self._seen.values():
            if not seen.there:
                raise self._wrong(f"column {seen.column.heading!r} is empty")
            # Where amps were logged too, few watts are a matter of phase, not of unit.
            if not (seen.column.kind == "W" and self._has_amps(seen.column.place)):
                self._refuse_unit(seen)
            self._refuse_negative(seen)
        self._refuse_dead()
        self._refuse_wrong_phase()

    def _wrong(self, what: str, line: int | None = None, hint: str | None = None) -> DataError:
        return DataError(what, path=self._path, line=line, hint=hint)

    def _has_amps(self, place: str) -> bool:
        return any(one.place == place and one.kind == "A" for one in self._seen)

    def _refuse_endless(self, seen: _Seen) -> None:
        if seen.most > _BEYOND_ALL:
            raise self._wrong(
                f"column {seen.column.heading!r}: a value of {seen.most:g} {seen.column.unit}",
                seen.most_line,
                "Correct the cell or leave it empty.",
            )

    def _refuse_unit(self, seen: _Seen) -> None:
        """A unit in the heading that the values contradict."""
        column, most = seen.column, seen.most
        if column.unit == "V" and not _LEAST_V < most < _MOST_V:
            raise self._wrong(
                f"column {column.heading!r}: up to {most:g} V",
                seen.most_line,
                "Is it another quantity? Leave it out by stating it as ignore.",
            )
        if meant := _meant(column, most):
            raise self._wrong(
                f"column {column.heading!r}: up to {most:g} {column.unit}; the heading says "
                f"{column.unit}, the values look like {meant}",
                seen.most_line,
                f"Put {meant} into the heading if it is that.",
            )

    def _refuse_negative(self, seen: _Seen) -> None:
        few = seen.column.kind == "W" and seen.negative <= _NEGATIVE_SHARE * seen.there
        if seen.negative and not few:
            what = "amps" if seen.column.kind == "A" else "values"
            raise self._wrong(
                f"column {seen.column.heading!r}: {counted(seen.negative, 'negative value')} of "
                f"{what}, first {seen.first_negative:g}",
                seen.negative_line,
                "The clamp is reversed, or energy is fed back (solar off?). Amps have no sign.",
            )

    def _refuse_dead(self) -> None:
        """A leg without any current while another has some was not clamped."""
        alive = any(not seen.dead for seen in self._seen.values() if seen.column.kind != "V")
        for column, seen in self._seen.items():
            watched = column.place.startswith(("leg ", "whole")) and column.kind != "V"
            if alive and watched and seen.dead:
                most = (
                    f"never above {seen.most:g} {column.unit}" if seen.most else "zero throughout"
                )
                raise self._wrong(
                    f"column {column.heading!r} is {most} while others are not: a dead channel",
                    hint="Check clamp and battery. To use the rest, state this column as ignore.",
                )

    def _refuse_wrong_phase(self) -> None:
        """Watts far below volts × amps on the same leg: reversed, or the volts of another leg."""
        for column, factor in self._factors.items():
            middle = factor.median()
            if middle is not None and middle < _LOW_FACTOR:
                raise self._wrong(
                    f"column {column.heading!r}: watts are {middle:.2f} of volts × amps above 2 A",
                    hint="The clamp is reversed, or the voltage lead is on another leg.",
                )


def _meant(column: Column, most: float) -> str:
    """The unit that the values look like, where it is not the heading's."""
    if column.unit == "A" and most > _MOST_LEG_A:
        return "mA"
    if column.unit == "mA" and 0.0 < most < _LEAST_MA:
        return "A"
    if column.unit == "W" and 0.0 < most < _LEAST_W and column.place in ("whole", "leg A"):
        return "kW"
    if column.unit in ("kW", "kVA") and most > _MOST_KW:
        return column.unit.removeprefix("k")
    return ""


class _Factor:
    """Watts over volts × amps of one place above 2 A, counted in bins of a thousandth."""

    _EDGES = np.linspace(-2.0, 2.0, 4001)

    def __init__(self) -> None:
        self._counts = np.zeros(self._EDGES.size + 1, np.int64)

    def take(self, kinds: Mapping[str, Floats]) -> None:
        loaded = kinds["A"] > _LOADED_A
        with np.errstate(divide="ignore", invalid="ignore"):
            share = kinds["W"][loaded] / (kinds["A"][loaded] * kinds["V"][loaded])
        at = np.searchsorted(self._EDGES, share[~np.isnan(share)])
        self._counts += np.bincount(at, minlength=self._counts.size)

    def median(self) -> float | None:
        """Middle of what was seen; None for too few."""
        total = int(self._counts.sum())
        if total < _ENOUGH:
            return None
        at = int(np.searchsorted(np.cumsum(self._counts), (total + 1) // 2))
        return float(self._EDGES[min(at, self._EDGES.size - 1)])


class Stuck:
    """The longest stretch of one and the same value of a place, followed slot by slot."""

    def __init__(self, place: str, step_s: int) -> None:
        self._place = place
        self._leg = place.startswith(("leg ", "whole"))
        self._step_s = step_s
        self._value = float("nan")
        self._run = 0
        self._alive = False
        self.longest = 0

    def take(self, values: Floats, *, follows: bool) -> None:
        """The next stretch; ``follows`` says that no slot is missing before it."""
        same = follows and values[0] == self._value
        change = np.flatnonzero(values[1:] != values[:-1]) + 1
        runs = np.diff(np.concatenate(([0], change, [values.size])))
        runs[0] += self._run if same else 0
        first = np.concatenate(([0], change))
        odd = runs if self._leg else np.where(values[first] != 0.0, runs, 0)
        self.longest = max(self.longest, int(odd.max()))
        self._value, self._run = float(values[-1]), int(runs[-1])
        self._alive = self._alive or bool((values > 0.0).any())

    def notes(self) -> list[str]:
        """A remark when a value stood still for more than a day, or six hours on a leg.

        What is always zero is none, nor is an appliance or circuit that was off.
        """
        least_s = _DEAD_LEG_S if self._leg else _STUCK_S
        if self.longest * self._step_s <= least_s or not self._alive:
            return []
        hours = self.longest * self._step_s / 3600.0
        return [f"{self._place}: the same value for {hours:.0f} h: stuck, or clamped on nothing?"]
