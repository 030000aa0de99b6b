"""The calibrated model: from quantities to the 5, 50 and 95 % points of the highest demand.

For one kind of evidence and one window: a straight line in its terms for ln(peak); the size
of the errors below and above it, log-linear in some quantities; and three points of the
scaled error, taken from homes left out of the fit, for each length of span and stretch.

Outside the fitted homes' range two rules hold. The size of the errors is taken at the edge of
their 5 to 95 % range, never smaller. And beyond their 2.5 to 97.5 % range the band is
widened by ``Level.widen``, reached at ``RAMP`` beyond the edge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.peak.features import Level

__all__ = ["RAMP", "Fitted", "Points", "product", "stack", "terms"]

Array = NDArray[np.float64]
HELD = ("least", "swing")
"""Quantities that tell absence: the lowest bill, and the swing between the bills."""
HOLD = float(np.log(2.0))
"""They count up to half or twice the edge of the fitted homes' range (ln); none lies beyond."""
RAMP = 0.1  # ln: 10 % beyond the range is enough to count as a different kind of home


def product(term: str, quantities: Mapping[str, Array]) -> Array:
    """Value of a term ``a*b`` from the quantities that it names, shape (cases,)."""
    value = np.ones_like(next(iter(quantities.values())))
    for name in term.split("*"):
        value = value * quantities[name]
    return value


def terms(names: Sequence[str], quantities: Mapping[str, Array]) -> Array:
    """A leading one and the terms side by side, shape (cases, 1 + terms)."""
    one = np.ones_like(next(iter(quantities.values())))
    return np.column_stack([one, *(product(name, quantities) for name in names)])


def stack(rows: Sequence[Mapping[str, float]]) -> dict[str, Array]:
    """Quantities of several cases as arrays, shape (cases,)."""
    return {name: np.array([row[name] for row in rows]) for name in rows[0]}


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """The 5, 50 and 95 % points of the scaled error on a grid of lengths.

    ``values`` has shape (spans, stretches, 3); between the lengths they are joined by straight
    lines in ln(days), beyond them the nearest serves.
    """

    span_days: tuple[float, ...]
    stretch_days: tuple[float, ...]
    values: Array

    def at(self, span_days: Array, stretch_days: Array) -> Array:
        """Points for each case, shape (cases, 3)."""
        i, u = _place(self.span_days, span_days)
        j, v = _place(self.stretch_days, stretch_days)
        grid = self.values
        i1, j1 = np.minimum(i + 1, grid.shape[0] - 1), np.minimum(j + 1, grid.shape[1] - 1)
        u, v = u[:, None], v[:, None]
        low = (1.0 - u) * grid[i, j] + u * grid[i1, j]
        high = (1.0 - u) * grid[i, j1] + u * grid[i1, j1]
        found: Array = (1.0 - v) * low + v * high
        return found


def _place(nodes: tuple[float, ...], days: Array) -> tuple[NDArray[np.intp], Array]:
    """Index of the node below and the share of the way to the next, on a scale of ln(days)."""
    if len(nodes) == 1:
        return np.zeros(days.shape, dtype=np.intp), np.zeros(days.shape)
    scale = np.log(np.maximum(nodes, 1e-6))
    spot = np.interp(np.log(np.maximum(days, 1e-6)), scale, np.arange(len(nodes)))
    below = np.minimum(spot.astype(np.intp), len(nodes) - 2)
    return below, spot - below


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """Numbers of one level and window.

    ``centre``, ``below`` and ``above`` are coefficients, the constant first; ``ranges`` gives
    the 2.5, 5, 95 and 97.5 % points of a quantity over the fitted homes.
    """

    level: Level
    centre: Array
    below: Array
    above: Array
    ranges: Mapping[str, tuple[float, float, float, float]]
    points: Points

    def strangeness(self, quantities: Mapping[str, Array]) -> Array:
        """How far, in ln, the watched quantities lie outside the fitted homes', shape (cases,)."""
        worst = np.zeros_like(next(iter(quantities.values())))
        for name in self.level.watch:
            low, _, _, high = self.ranges[name]
            value = quantities[name]
            worst = np.maximum(worst, np.maximum(value - high, low - value))
        return worst

    def sizes(self, quantities: Mapping[str, Array]) -> tuple[Array, Array]:
        """Size of the errors below and above the line, in ln, shape (cases,) each."""
        held = {
            name: np.clip(value, self.ranges[name][1], self.ranges[name][2])
            if name in self.ranges
            else value
            for name, value in quantities.items()
        }
        z = terms(self.level.spread, held)
        wide = 1.0 + (self.level.widen - 1.0) * np.minimum(self.strangeness(quantities) / RAMP, 1.0)
        return np.exp(z @ self.below) * wide, np.exp(z @ self.above) * wide

    def line(self, quantities: Mapping[str, Array]) -> Array:
        """The line itself: ln of the peak [kW], shape (cases,)."""
        held = {name: self._held(name, value) for name, value in quantities.items()}
        found: Array = terms(self.level.centre, held) @ self.centre
        return found

    def _held(self, name: str, value: Array) -> Array:
        """A quantity, kept near the fitted homes' range where it says how a home is used.

        An empty month or half a year away would otherwise be carried along a straight line to
        several times the peak.
        """
        if name not in HELD or name not in self.ranges:
            return value
        low, _, _, high = self.ranges[name]
        return np.clip(value, low - HOLD, high + HOLD)

    def predict(
        self, quantities: Mapping[str, Array], span_days: Array, stretch_days: Array
    ) -> Array:
        """ln of the 5, 50 and 95 % points of the peak [kW], shape (cases, 3)."""
        below, above = self.sizes(quantities)
        score = self.points.at(span_days, stretch_days)
        size = np.where(score < 0.0, below[:, None], above[:, None])
        found: Array = self.line(quantities)[:, None] + score * size
        return found
