"""Claims that hold at an outdoor temperature: which hours they speak of, and how cold those are.

The hours that count are those of the period in which the stored outdoor temperature lay in the
claim's span. Heating and cooling in them, relative to what is usual in that month and at that
hour of the day, go with degree-hours (``core.degree_hours``). The reference is the same hour of
the same calendar month, so that over a whole month the usual comes out again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.category import Category
from loadlib.core.claims import DemandClaim
from loadlib.core.degree_hours import COOLING_BALANCE_C, HEATING_BALANCE_C, cooling_k, heating_k
from loadlib.core.load import Load
from loadlib.core.ranges import Z95
from loadlib.core.series import Temperatures
from loadlib.estimators.bonds import Bond, Use, bonds_of, use_of
from loadlib.estimators.clockhours import CELLS, cells_of, hour_marks, local_s, when_mask
from loadlib.estimators.energy import DAYS_IN_MONTH

__all__ = ["Outdoor", "Spell"]

Array = NDArray[np.float64]

DEPARTURE = 0.3
"""How far heating departs from degree-hours in a single spell, as a share of what these add or
take away: sun, wind, stored heat, a heat pump that works worse in the cold. A judgement."""

UNSURE_SHARE = 0.5
"""Where it is not known whether a load follows the weather, and for what is not listed: as
doubtful as if half of it did. A judgement."""

BLUR_K = 1.0
"""Added to degree-hours on both sides of a ratio, so that a month with hardly any says nothing:
the dead band of a thermostat, common practice, no source. [K]"""

DAILY_BLUR_K = 3.5
"""An hour's temperature about its day's mean: a day's swing of 10 K over √8. A judgement. [K]"""

COLD_SPELL_DAYS = 4.0
"""Days in a row that are alike, for the doubt of a month of which only a part is stored: weather
changes within a week. A judgement."""

LEAST_SHARE = 0.75
"""Share of a claim's hours whose temperature must be known."""

_HOUR_S, _DAY_S = 3600, 86_400
_MEND = "store them with 'loadlib usage add FILE', a table of outdoor temperatures by hour or day"


@dataclass(frozen=True, slots=True, eq=False)
class Spell:
    """The hours that a claim at an outdoor temperature speaks of.

    ``hours`` (288,) of each month-hour; ``days`` (12,) different days of each month; ``known``
    the share of the period's hours of which the temperature is stored;
    ``outdoor_c`` (288,) mean temperature, NaN where there are no hours; ``relative`` and
    ``sigma`` (5, 288) energy of loads of each ``Bond`` relative to that month-hour's usual, and
    its doubt. [h], [°C]
    """

    hours: Array
    days: Array
    outdoor_c: Array
    relative: Array
    sigma: Array
    known: float = 1.0

    @property
    def length_h(self) -> float:
        """All hours that count, those of which no temperature is stored in proportion. [h]"""
        return float(self.hours.sum()) / self.known


class Outdoor:
    """Stored outdoor temperatures of a house, hour by hour, and how its loads follow them."""

    def __init__(
        self,
        temperatures: Temperatures | None,
        timezone: str,
        loads: Sequence[Load] = (),
        categories: Mapping[str, Category] | None = None,
    ) -> None:
        self._stored = temperatures
        self._timezone = timezone
        self._loads, self._categories = tuple(loads), categories or {}
        self._grid: _Grid | None = None
        self._found: dict[DemandClaim, Spell | str | None] = {}
        self._bonds: NDArray[np.intp] | None = None

    @property
    def bonds(self) -> NDArray[np.intp]:
        """Bond of each load to the weather, shape (n,)."""
        if self._bonds is None:
            self._bonds = bonds_of(self._loads, self._categories)
        return self._bonds

    def spell(self, claim: DemandClaim) -> Spell | str | None:
        """The hours of a claim; why it cannot be used; None where it names no temperature.

        A span that leaves out none of the period's hours says nothing, and counts as none.
        """
        if claim.when.outdoor_c is None:
            return None
        if claim not in self._found:
            self._found[claim] = self._spell(claim)
        return self._found[claim]

    def use(self, spell: Spell) -> Use:
        """What each load does in the hours of a spell."""
        return use_of(self._loads, self.bonds, spell.relative, spell.sigma, spell.outdoor_c)

    def _spell(self, claim: DemandClaim) -> Spell | str | None:
        stored = self._stored
        if stored is None or not np.isfinite(stored.outdoor_c).any():
            return f"no outdoor temperatures are stored for this house; {_MEND}"
        if self._grid is None:
            self._grid = _Grid.of(stored, self._timezone)
        if claim.start_s is not None and claim.end_s is not None:
            return _over_period(claim, self._grid)
        if claim.at is not None:
            return _at_time(claim, self._grid, int(claim.at.timestamp()))
        return _whenever(claim, self._grid)


@dataclass(frozen=True, slots=True, eq=False)
class _Grid:
    """Hours from ``start_s`` on: temperature (NaN where missing), month-hour, month, day."""

    start_s: int
    outdoor_c: Array
    cells: NDArray[np.int64]
    months: NDArray[np.int64]
    days: NDArray[np.int64]
    blur_k: float
    timezone: str

    @classmethod
    def of(cls, stored: Temperatures, timezone: str) -> _Grid:
        daily = stored.step_s >= _DAY_S
        end_s = stored.start_s + stored.outdoor_c.size * stored.step_s
        pad_s = _DAY_S if daily else 0
        marks, _ = hour_marks(stored.start_s - pad_s, end_s + pad_s)
        local = local_s(marks, timezone)
        if stored.step_s <= _HOUR_S:
            outdoor_c = _hour_means(stored, int(marks[0]), marks.size)
        else:
            # A day's value stands at midnight UTC of its date, whatever the zone.
            stamp = local // _DAY_S * _DAY_S if daily else marks
            slot = (stamp - stored.start_s) // stored.step_s
            inside = (slot >= 0) & (slot < stored.outdoor_c.size)
            outdoor_c = np.where(inside, stored.outdoor_c[np.where(inside, slot, 0)], np.nan)
        months = local.astype("datetime64[s]").astype("datetime64[M]").astype(np.int64)
        return cls(
            int(marks[0]),
            outdoor_c,
            cells_of(marks, timezone),
            months,
            local // _DAY_S,
            DAILY_BLUR_K if daily else 0.0,
            timezone,
        )

    def at(self, marks: NDArray[np.int64]) -> tuple[Array, NDArray[np.intp]]:
        """Temperature at the hours of ``marks``, NaN where not stored; and their places."""
        place = (marks - self.start_s) // _HOUR_S
        inside = (place >= 0) & (place < self.outdoor_c.size)
        safe = np.where(inside, place, 0)
        return np.where(inside, self.outdoor_c[safe], np.nan), safe


def _hour_means(stored: Temperatures, start_s: int, size: int) -> Array:
    there = np.flatnonzero(np.isfinite(stored.outdoor_c))
    hour = (stored.start_s + there * stored.step_s - start_s) // _HOUR_S
    total = np.bincount(hour, weights=stored.outdoor_c[there], minlength=size)
    count = np.bincount(hour, minlength=size)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _inside(claim: DemandClaim, outdoor_c: Array) -> NDArray[np.bool_]:
    low, high = claim.when.outdoor_c or (-np.inf, np.inf)
    return (outdoor_c >= low) & (outdoor_c <= high)


def _over_period(claim: DemandClaim, grid: _Grid) -> Spell | str | None:
    marks, length = hour_marks(int(claim.start_s or 0), int(claim.end_s or 0))
    outdoor_c, place = grid.at(marks)
    asked = when_mask(claim.when)[cells_of(marks, grid.timezone)]
    if not asked.any():
        return "no hour of its period is in its months and hours; check the claim"
    known = asked & np.isfinite(outdoor_c)
    share = float(length[known].sum() / length[asked].sum())
    if share < LEAST_SHARE:
        if share == 0.0:
            return f"no outdoor temperatures are stored for its hours; {_MEND}"
        return f"outdoor temperatures are stored for only {share:.0%} of its hours; {_MEND}"
    counts = known & _inside(claim, outdoor_c)
    if not counts.any():
        return _never(claim, outdoor_c[known], "in its period")
    if counts.sum() == asked.sum():
        return None
    months = np.unique(grid.months[place[counts]])
    usual = np.isin(grid.months, months)
    found = _spell_of(grid, place[counts], length[counts], outdoor_c[counts], usual, grid.blur_k)
    return replace(found, known=share)


def _at_time(claim: DemandClaim, grid: _Grid, at_s: int) -> Spell | str:
    """The hour of that time; its temperature as stored, else as that month's in the span."""
    marks, _ = hour_marks(at_s, at_s + 1)
    outdoor_c, place = grid.at(marks)
    cell = int(cells_of(marks, grid.timezone)[0])
    alike = (grid.cells // 24 == cell // 24) & np.isfinite(grid.outdoor_c)
    if np.isfinite(outdoor_c[0]):
        if not _inside(claim, outdoor_c)[0]:
            return _never(claim, outdoor_c, "at that hour")
        usual = grid.months == grid.months[place[0]]
        return _spell_of(grid, place, np.ones(1), outdoor_c, usual, grid.blur_k)
    there = np.flatnonzero(alike & _inside(claim, grid.outdoor_c))
    if not there.size:
        return f"no outdoor temperature is stored for its hour or its month; {_MEND}"
    likely_c = grid.outdoor_c[there]
    blur_k = float(np.hypot(grid.blur_k, likely_c.std()))
    return _spell_of(grid, there, np.ones(there.size), likely_c, alike, blur_k, cell)


def _whenever(claim: DemandClaim, grid: _Grid) -> Spell | str | None:
    """All stored hours whose temperature lies in the span."""
    known = np.isfinite(grid.outdoor_c) & when_mask(claim.when)[grid.cells]
    counts = np.flatnonzero(known & _inside(claim, grid.outdoor_c))
    if not counts.size:
        return _never(claim, grid.outdoor_c[known], "in the stored temperatures")
    if counts.size == known.sum():
        return None
    everywhere = np.ones(grid.cells.size, dtype=bool)
    outdoor_c = grid.outdoor_c[counts]
    return _spell_of(grid, counts, np.ones(counts.size), outdoor_c, everywhere, grid.blur_k)


def _never(claim: DemandClaim, outdoor_c: Array, where: str) -> str:
    low, high = claim.when.outdoor_c or (0.0, 0.0)
    if not outdoor_c.size:
        return f"no outdoor temperatures are stored for its months and hours; {_MEND}"
    seen = f"{outdoor_c.min():.1f}"
    if outdoor_c.max() > outdoor_c.min():
        seen += f" to {outdoor_c.max():.1f}"
    return (
        f"it was never {low:g} to {high:g} °C outdoors {where} (stored: {seen} °C); "
        "check the claim's span and the stored temperatures"
    )


def _spell_of(
    grid: _Grid,
    place: NDArray[np.intp],
    length: Array,
    outdoor_c: Array,
    usual: NDArray[np.bool_],
    blur_k: float,
    cell: int | None = None,
) -> Spell:
    """The spell of some hours; ``usual`` marks the hours of the grid that they are held against.

    With ``cell`` all of them stand for that month-hour.
    """
    cells = grid.cells[place] if cell is None else np.full(place.size, cell)
    hours = np.bincount(cells, weights=length, minlength=CELLS).astype(np.float64)
    with np.errstate(invalid="ignore"):
        mean_c = np.bincount(cells, weights=length * outdoor_c, minlength=CELLS) / hours
    first = np.unique(grid.days[place], return_index=True)[1]
    days = np.bincount(cells[first] // 24, minlength=12).astype(np.float64)
    told = np.flatnonzero(usual & np.isfinite(grid.outdoor_c))
    held = _Held(cells, length, outdoor_c, grid.cells[told], grid.outdoor_c[told])
    relative, sigma = held.relative(blur_k, _lack(grid, told))
    return Spell(hours, days, mean_c, relative, sigma)


def _lack(grid: _Grid, told: NDArray[np.intp]) -> Array:
    """1/n − 1/N of each month's independent stretches of weather, n of N stored, shape (12,)."""
    stored = np.bincount(grid.cells[told] // 24, minlength=12) / 24.0
    whole = np.bincount(np.unique(grid.months[told]) % 12, minlength=12) * DAYS_IN_MONTH
    there = np.maximum(stored, 1.0)
    lack = 1.0 / there - 1.0 / np.maximum(whole, there)
    result: Array = COLD_SPELL_DAYS * np.where(stored > 0.0, lack, 0.0)
    return result


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """Hours of a spell, and the hours of the same months that they are held against."""

    cells: NDArray[np.int64]
    length: Array
    outdoor_c: Array
    usual_cells: NDArray[np.int64]
    usual_c: Array

    def relative(self, blur_k: float, lack: Array) -> tuple[Array, Array]:
        """Energy by bond and month-hour relative to usual, and its doubt, (5, 288) each."""
        heat, cool = HEATING_BALANCE_C, COOLING_BALANCE_C
        middle = self._ratio(heat.typical, cool.typical)
        sigma = (DEPARTURE * (middle - 1.0)) ** 2
        ends = [self._ratio(heat.low, cool.high), self._ratio(heat.high, cool.low)]
        sigma += (np.max([np.abs(end - middle) for end in ends], axis=0) / Z95) ** 2
        if blur_k > 0.0:
            shifted = [self._ratio(heat.typical, cool.typical, by) for by in (-blur_k, blur_k)]
            sigma += (0.5 * (shifted[1] - shifted[0])) ** 2
        if lack.any():
            sigma += (middle * self._usual_spread()) ** 2 * np.repeat(lack, 24)
        relative, doubt = np.ones((len(Bond), CELLS)), np.zeros((len(Bond), CELLS))
        relative[Bond.HEATING : Bond.UNSURE] = middle
        doubt[Bond.HEATING : Bond.UNSURE] = np.sqrt(sigma)
        doubt[Bond.UNSURE] = UNSURE_SHARE * np.abs(middle[-1] - 1.0)
        return relative, doubt

    def _ratio(self, heat_c: float, cool_c: float, shift_k: float = 0.0) -> Array:
        """Degree-hours of the spell over those usual in each month-hour, shape (3, 288).

        1 where there is nothing to compare.
        """
        here = _need_k(self.outdoor_c + shift_k, heat_c, cool_c) * self.length
        hours = np.bincount(self.cells, weights=self.length, minlength=CELLS)
        usual = _need_k(self.usual_c, heat_c, cool_c)
        count = np.bincount(self.usual_cells, minlength=CELLS)
        compared = (hours > 0.0) & (count > 0)
        top = _by_cell(here, self.cells) / np.maximum(hours, 1e-12) + BLUR_K
        base = _by_cell(usual, self.usual_cells) / np.maximum(count, 1) + BLUR_K
        return np.where(compared, top / base, 1.0)

    def _usual_spread(self) -> Array:
        """Spread of the usual degree-hours over their mean, shape (3, 288)."""
        need = _need_k(self.usual_c, HEATING_BALANCE_C.typical, COOLING_BALANCE_C.typical)
        count = np.maximum(np.bincount(self.usual_cells, minlength=CELLS), 1)
        mean = _by_cell(need, self.usual_cells) / count
        square = _by_cell(need**2, self.usual_cells) / count
        result: Array = np.sqrt(np.maximum(square - mean**2, 0.0)) / (mean + BLUR_K)
        return result


def _need_k(outdoor_c: Array, heat_c: float, cool_c: float) -> Array:
    """Degrees to heat, to cool, and both, shape (3, t). [K]"""
    heat, cool = heating_k(outdoor_c, heat_c), cooling_k(outdoor_c, cool_c)
    return np.array([heat, cool, heat + cool])


def _by_cell(values: Array, cells: NDArray[np.int64]) -> Array:
    return np.array([np.bincount(cells, weights=row, minlength=CELLS) for row in values])
