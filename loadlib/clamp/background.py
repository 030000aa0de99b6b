"""How often a log holds times on of some size and length that no listed appliance explains.

Learnt from the log itself, from what the listed appliances leave over. Two parts: an even
rate by size and length, smoothed more widely than one appliance spreads; and an echo, since
what nobody listed often comes in bursts (a hob on a thermostat makes twenty like times on in
half an hour): each makes others like it near it in time, a self-exciting process
(Hawkes A. G. 1971, Biometrika 58, 83-90), here looking both ways since the log is complete.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.patterns import Points

__all__ = ["background"]

Array = NDArray[np.float64]

_CELL_SIZE, _CELL_LENGTH = 0.05, 0.1
_WIDTH_SIZE, _WIDTH_LENGTH = 0.2, 0.4
"""Spreads of the smoothing: several times that of one heater (0.03 to 0.06), a judgement."""
_LOW_SIZE, _LOW_LENGTH = math.log(10.0), math.log(0.05)
_CELLS = 150
_FLOOR_PER_DAY = 0.5
"""Times on a day, spread evenly over all sizes and lengths, that may always come; a judgement."""
_EVEN_HOURS = 24.0

_ECHO_S, _ECHO_SIZE, _ECHO_LENGTH = 600.0, 0.25, 0.5
"""How near in time (mean), log size and log length (spreads) an echo is; judgements."""
_NEIGHBOURS = 10
_FIRST_SHARE, _LEAST_SHARE, _MOST_SHARE = 0.3, 0.01, 0.95
_ROUNDS = 4
_DAY_S = 86_400.0


def background(points: Points, free: Array) -> Array:
    """Rate per day and unit of log size and log length at each of n points, shape (n,).

    ``free`` (n,) is the chance that a point belongs to no listed appliance. A point does not
    count for itself.
    """
    echo = _echo(points, free)
    share, own = _FIRST_SHARE, np.full(free.size, 0.5)
    rate = np.empty(free.size)
    for _ in range(_ROUNDS):
        even = _even(points, free * own)
        rate = even + share * echo
        own = even / rate
        share = float((free * (1.0 - own)).sum() / max(free.sum(), 1e-9))
        share = min(max(share, _LEAST_SHARE), _MOST_SHARE)
    return rate


def _echo(points: Points, free: Array) -> Array:
    """Rate at which neighbours in time would make each point, if all of them did."""
    rate = np.zeros(free.size)
    for lag in range(1, min(_NEIGHBOURS + 1, free.size)):
        apart_s = points.start_s[lag:] - points.start_s[:-lag]
        near = np.exp(-apart_s / _ECHO_S) / (2.0 * _ECHO_S) * _DAY_S
        near *= _normal(points.log_size[lag:] - points.log_size[:-lag], _ECHO_SIZE)
        near *= _normal(points.log_on[lag:] - points.log_on[:-lag], _ECHO_LENGTH)
        rate[lag:] += near * free[:-lag]
        rate[:-lag] += near * free[lag:]
    return rate


def _even(points: Points, weight: Array) -> Array:
    """Smoothed rate by size and length, times relative use by clock hour."""
    row, column = (
        _cells(points.log_size, _LOW_SIZE, _CELL_SIZE),
        _cells(points.log_on, _LOW_LENGTH, _CELL_LENGTH),
    )
    counts = np.zeros((_CELLS, _CELLS))
    np.add.at(counts, (row, column), weight)
    across, along = _kernel(_WIDTH_SIZE / _CELL_SIZE), _kernel(_WIDTH_LENGTH / _CELL_LENGTH)
    smooth = _smoothed(counts, across, along)[row, column]
    others = np.maximum(smooth - weight * across.max() * along.max(), 0.0)
    area = _CELL_SIZE * _CELL_LENGTH
    floor = _FLOOR_PER_DAY / (area * _CELLS * _CELLS)
    hours = np.bincount(points.hour, weight, 24) + _EVEN_HOURS
    rate: Array = (others / (area * points.days) + floor) * (hours / hours.mean())[points.hour]
    return rate


def _cells(x: Array, low: float, width: float) -> NDArray[np.int64]:
    cells: NDArray[np.int64] = np.clip((x - low) / width, 0, _CELLS - 1).astype(np.int64)
    return cells


def _normal(x: Array, spread: float) -> Array:
    density: Array = np.exp(-0.5 * (x / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))
    return density


def _kernel(cells: float) -> Array:
    """Normal weights within three spreads, sum one."""
    reach = math.ceil(3.0 * cells)
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / cells) ** 2)
    result: Array = weights / weights.sum()
    return result


def _smoothed(table: Array, across: Array, along: Array) -> Array:
    """A table smoothed along both axes."""
    rows = np.apply_along_axis(np.convolve, 0, table, across, mode="same")
    result: Array = np.apply_along_axis(np.convolve, 1, rows, along, mode="same")
    return result
