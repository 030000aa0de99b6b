"""Edges in a log: where the power went from one steady level to another, robust to noise.

A sample belongs to a steady stretch when it differs little from its neighbour; between steady
stretches lies an edge, however many samples it takes. Levels are means of the stretches, so an
edge's size has the noise of many samples, not of two. Neighbouring stretches of nearly the
same level are joined. A short peak between two edges, as at a motor's start, is kept with the
edge as its surge.

A log is looked at block by block and may lie in a store: only its stretches are kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

__all__ = ["LONGEST_STEP_S", "Samples", "Steps", "find_steps", "noise_w"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

_MAD_TO_SIGMA = 1.4826
_NOISE_TIMES = 5.0
_LEVEL_SHARE = 0.015
_SURGE_S = 4.0
_ROUNDS = 6
LONGEST_STEP_S = 60
"""Logs of a longer step show means of several times on, not their edges: a judgement. [s]"""

_BLOCK = 1 << 17
"""Samples looked at together: a long log takes no more memory than a short one here."""

_COUNTED_BITS, _REST_BITS = 20, 12


class Samples(Protocol):
    """A log of power, NaN where missing: an array, or one that reads its slices when asked. [W]"""

    @property
    def size(self) -> int:
        """How many samples it has."""

    def __getitem__(self, at: slice, /) -> Array:
        """The samples of a slice without a step. [W]"""


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """Edges of a log, n of them.

    ``at`` (n,) index of the first sample of the new level; ``before_w`` and ``after_w`` (n,)
    the levels; ``surge_w`` (n,) the highest sample of an upward edge, its new level if there
    was no peak; ``sigma_w`` the noise of a sample. [W]
    """

    at: Indices
    before_w: Array
    after_w: Array
    surge_w: Array
    sigma_w: float

    @property
    def size_w(self) -> Array:
        """New level less the old one, shape (n,). [W]"""
        return self.after_w - self.before_w


@dataclass(frozen=True, slots=True, eq=False)
class _Stretches:
    """Stretches without an edge, m of them, each array of shape (m,).

    ``starts`` and ``counts`` in samples, ``level`` the mean (NaN for a gap), ``tops`` the
    highest sample. [W]
    """

    starts: Indices
    counts: Indices
    level: Array
    tops: Array


def noise_w(power_w: Samples) -> float:
    """Noise of one sample: from the median absolute difference of neighbours. [W]

    The median is found in one pass, by counting the upper 20 bits of the differences as
    float32, whose order is that of the numbers: right to a part in two thousand.
    """
    counts = np.zeros(1 << _COUNTED_BITS, np.int64)
    for bits in _differences(power_w):
        counts += np.bincount(bits >> _REST_BITS, minlength=counts.size)
    there = int(counts.sum())
    if there == 0:
        return 0.0
    middle = int(np.searchsorted(np.cumsum(counts), (there - 1) // 2, side="right"))
    median = np.uint32(middle << _REST_BITS).view(np.float32)
    return float(median) * _MAD_TO_SIGMA / float(np.sqrt(2.0))


def _differences(power_w: Samples) -> Iterator[NDArray[np.uint32]]:
    """Absolute differences of neighbours as the bits of float32, block by block."""
    for _, part, before in _blocks(power_w):
        apart = np.abs(np.diff(np.append(before, part)))
        yield apart[np.isfinite(apart)].astype(np.float32).view(np.uint32)


def _blocks(power_w: Samples) -> Iterator[tuple[int, Array, Array]]:
    """A log block by block: index of the first sample, the samples, the one before if any."""
    before = np.empty(0)
    for first in range(0, power_w.size, _BLOCK):
        part = power_w[first : first + _BLOCK]
        yield first, part, before
        before = part[-1:]


def find_steps(power_w: Samples, step_s: float, least_w: float = 30.0) -> Steps:
    """Edges of at least ``least_w`` in a log.

    Parameters
    ----------
    power_w : NDArray or Samples
        shape (n,), NaN where missing; a gap is never an edge. [W]
    step_s : float
        sampling. [s]
    least_w : float
        smallest edge that is looked for. [W]
    """
    sigma = noise_w(power_w)
    least = max(least_w, _NOISE_TIMES * sigma)
    found = _stretches(power_w, least)
    if found.starts.size < 2:
        empty = np.empty(0)
        return Steps(np.empty(0, np.int64), empty, empty, empty, sigma)
    surge_slots = round(_SURGE_S / step_s)
    for _ in range(_ROUNDS):
        before = found.starts.size
        found = _drop_ramps(_join_alike(found, least), surge_slots)
        if found.starts.size == before:
            break
    return _edges(found, least, sigma)


def _stretches(power_w: Samples, least_w: float) -> _Stretches:
    """Stretches whose neighbours differ by less than an edge; those cut by a block are joined."""
    starts, sums, tops, gaps, begins = [], [], [], [], []
    for first, part, before in _blocks(power_w):
        breaks = _breaks(np.append(before, part), least_w)
        if before.size == 0:
            breaks = np.append(True, breaks)
        heads = np.flatnonzero(breaks)
        if not breaks[0]:
            heads = np.append(0, heads)
        filled = np.nan_to_num(part)
        starts.append(first + heads)
        sums.append(np.add.reduceat(filled, heads))
        tops.append(np.maximum.reduceat(filled, heads))
        gaps.append(np.isnan(part[heads]))
        begins.append(breaks[heads])
    if not starts:
        return _Stretches(np.zeros(1, np.int64), np.zeros(1, np.int64), np.zeros(1), np.zeros(1))
    head = np.flatnonzero(np.concatenate(begins))
    at = np.concatenate(starts)[head]
    counts = np.diff(np.append(at, power_w.size))
    level = np.add.reduceat(np.concatenate(sums), head) / counts
    level[np.concatenate(gaps)[head]] = np.nan
    return _Stretches(at, counts, level, np.maximum.reduceat(np.concatenate(tops), head))


def _breaks(power_w: Array, least_w: float) -> NDArray[np.bool_]:
    """Which samples but the first differ from the one before by an edge, shape (n − 1,)."""
    missing = np.isnan(power_w)
    apart = np.abs(np.diff(power_w))
    tolerance = np.maximum(0.5 * least_w, _LEVEL_SHARE * np.abs(power_w[1:]))
    differ: NDArray[np.bool_] = (apart > tolerance) | (missing[1:] != missing[:-1])
    return differ


def _join_alike(found: _Stretches, least_w: float) -> _Stretches:
    """Join neighbours whose levels differ by less than an edge."""
    level = found.level
    apart = np.abs(np.diff(level))
    tolerance = np.maximum(0.5 * least_w, _LEVEL_SHARE * np.nan_to_num(np.abs(level[1:])))
    both_missing = np.isnan(level[1:]) & np.isnan(level[:-1])
    first = np.concatenate(([True], ~((apart < tolerance) | both_missing)))
    heads = np.flatnonzero(first)
    total = np.add.reduceat(found.counts, heads)
    mean = np.add.reduceat(level * found.counts, heads) / total
    return _Stretches(found.starts[heads], total, mean, np.maximum.reduceat(found.tops, heads))


def _drop_ramps(found: _Stretches, surge_slots: int) -> _Stretches:
    """Give up stretches that are part of an edge: a sample on the way, or a start's peak.

    A single sample between a lower and a higher level lies on the way; it goes to the later
    stretch and leaves its level alone. A stretch of a few seconds above both its neighbours is
    a surge: it goes to the later stretch too, which keeps its top.
    """
    starts, counts, level, tops = found.starts, found.counts, found.level, found.tops
    if level.size < 3:
        return found
    before, middle, after = level[:-2], level[1:-1], level[2:]
    on_the_way = ((middle - before) * (after - middle) > 0.0) & (counts[1:-1] == 1)
    peak = (middle > before) & (middle > after) & (after > before)
    surge = peak & (counts[1:-1] <= surge_slots)
    drop = np.concatenate(([False], on_the_way | surge, [False]))
    # Two neighbours are never dropped at once: the next round looks again.
    drop[1:] &= ~(drop[1:] & drop[:-1])
    kept = np.flatnonzero(~drop)
    new_starts = starts[kept].copy()
    given = np.flatnonzero(drop)
    takers = np.searchsorted(kept, given)
    new_starts[takers] = starts[given]
    new_tops = tops[kept].copy()
    new_tops[takers] = np.maximum(new_tops[takers], tops[given])
    return _Stretches(new_starts, counts[kept], level[kept], new_tops)


def _edges(found: _Stretches, least_w: float, sigma: float) -> Steps:
    before, after = found.level[:-1], found.level[1:]
    with np.errstate(invalid="ignore"):
        real = np.abs(after - before) >= least_w
    pick = np.flatnonzero(real)
    return Steps(
        found.starts[1:][pick],
        before[pick],
        after[pick],
        np.where(after[pick] > before[pick], found.tops[1:][pick], after[pick]),
        sigma,
    )
