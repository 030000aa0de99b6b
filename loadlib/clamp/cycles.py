"""From edges to times on: each rise is closed by the next fall of the same size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.steps import Samples, Steps

__all__ = ["Cycles", "on_off", "pair_edges"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

_SIZE_SHARE = 0.12
_SIGMAS = 4.0
_SHORT_SLOTS = 10
_LATEST = 10
_TAIL_SLOTS, _TAIL_SHARE = 4, 0.02
_RAMP_S = 5.0
"""An appliance is fully on or off within so many seconds: kettles, dishwashers and washing
machines of tracebase (Reinhardt A. et al. 2012) took up to 4 s."""
_BASE_QUANTILE = 0.01
_BRIDGED_S = 20.0
_FIRST_S = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Cycles:
    """Times on, n of them, in the order of their starts.

    ``start`` and ``end`` (n,) are indices of samples, ``size_w`` (n,) what came on, ``surge_w``
    (n,) the peak at the start over the level before, ``share`` (n,) the part of the samples
    in between that it was on: samples of a minute hold ends of less. [W]
    """

    start: Indices
    end: Indices
    size_w: Array
    surge_w: Array
    share: Array

    def on_s(self, step_s: float) -> Array:
        """Length of each, shape (n,). [s]"""
        length: Array = np.maximum((self.end - self.start) * self.share, 0.1) * np.float64(step_s)
        return length

    def __len__(self) -> int:
        return int(self.start.size)

    def some(self, which: Indices) -> Cycles:
        """Some of them, by index."""
        start, end = self.start[which], self.end[which]
        return Cycles(start, end, self.size_w[which], self.surge_w[which], self.share[which])

    def scaled(self, part: Array) -> Cycles:
        """A part of the power of each, shape (n,)."""
        return Cycles(self.start, self.end, self.size_w * part, self.surge_w * part, self.share)


def pair_edges(
    steps: Steps, power_w: Samples, step_s: float, longest_s: float = 6 * 3600.0
) -> Cycles:
    """Pair rises with falls of a log of which ``steps`` were found, shape (n,). [W]

    A fall closes the latest open rise whose size it matches within 12 % (or the noise), as it
    rose or as it has drifted since (a compressor draws less and less); when one fall closes
    two open rises at once, their sum is tried, and so is one rise that two falls close, as
    when two appliances came on within one sample. Rises that stay open longer than
    ``longest_s`` are forgotten. [s] Only short slices of
    ``power_w`` are looked at.
    """
    steps = _tidied(steps, round(_RAMP_S / step_s))
    rises: list[int] = []
    falls: list[int] = []
    pairs: list[_Pair] = []
    size = steps.size_w
    drift = _drift(steps)
    longest = longest_s / step_s
    for k in range(size.size):
        if size[k] > 0.0:
            rises.append(k)
            continue
        first = int(steps.at[k]) - longest
        rises = [j for j in rises if steps.at[j] >= first]
        falls = [j for j in falls if steps.at[j] >= first]
        since = {j: float(drift[k] - drift[j]) for j in rises}
        closed = _match(rises, size, since, -float(size[k]), steps.sigma_w)
        new = [_Pair(j, k, float(size[j]), k) for j in closed]
        new = new or _two_falls(rises, falls, size, k)
        pairs += new
        falls = [j for j in falls if j not in {one.fall for one in new}]
        falls += [] if new else [k]
        rises = [j for j in rises if j not in {one.rise for one in new}]
    return _cycles(sorted(pairs), steps, power_w)


def _tidied(steps: Steps, most_slots: int) -> Steps:
    """Edges without what a log of seconds shows within ``most_slots`` samples of an edge.

    Rises that follow at once are one rise in parts, as are falls; a fall that is taken back at
    once is a lost sample.
    """
    kept: list[int] = []
    after_w, surge_w = steps.after_w.copy(), steps.surge_w.copy()
    last = -1
    for k in range(steps.at.size):
        close = bool(kept) and steps.at[k] - last <= most_slots
        last = int(steps.at[k])
        if close:
            j = kept[-1]
            before, parted = float(steps.before_w[j]), float(after_w[j] - steps.before_w[j])
            if (steps.size_w[k] > 0.0) == (parted > 0.0):
                after_w[j] = steps.after_w[k]
                surge_w[j] = max(surge_w[j], steps.surge_w[k])
                continue
            if parted < 0.0 and abs(steps.after_w[k] - before) <= -_SIZE_SHARE * parted:
                kept.pop()
                continue
        kept.append(k)
    return Steps(steps.at[kept], steps.before_w[kept], after_w[kept], surge_w[kept], steps.sigma_w)


class _Pair(NamedTuple):
    """A time on: its edges, its size [W], and the fall at which all that rose with it is off."""

    rise: int
    fall: int
    size_w: float
    last: int


def _two_falls(rises: list[int], falls: list[int], size: Array, k: int) -> list[_Pair]:
    """An open rise that fall ``k`` closes together with an earlier fall that closed nothing."""
    for j in reversed(rises[-_LATEST:]):
        for f in reversed(falls[-_LATEST:]):
            if f > j and abs(size[j] + size[f] + size[k]) <= 0.5 * _SIZE_SHARE * size[j]:
                return [_Pair(j, f, -float(size[f]), k), _Pair(j, k, -float(size[k]), k)]
    return []


def _cycles(pairs: list[_Pair], steps: Steps, power_w: Samples) -> Cycles:
    rise, fall, last = (
        np.array([one[field] for one in pairs], dtype=np.int64) for field in (0, 1, 3)
    )
    size = np.array([one.size_w for one in pairs])
    start, end = steps.at[rise], steps.at[fall]
    share = np.ones(rise.size)
    of_rise: dict[int, float] = {}
    for one in pairs:
        slots = float(steps.at[one.fall] - steps.at[one.rise])
        of_rise[one.rise] = of_rise.get(one.rise, 0.0) + one.size_w * slots
    for k in map(int, np.flatnonzero(steps.at[last] - start <= _SHORT_SLOTS)):
        first, off, j = int(start[k]), int(steps.at[last[k]]), int(rise[k])
        body_w, tail_w = power_w[first:off], power_w[off : off + _TAIL_SLOTS]
        share[k] = _area_w(body_w, tail_w, steps, j, int(last[k])) / of_rise[j]
    surge = steps.surge_w[rise] - steps.before_w[rise]
    return Cycles(start, end, size, surge, share)


def _drift(steps: Steps) -> Array:
    """What changed between edges in steps too small to be edges, up to each edge, shape (n,)."""
    moved = np.append(0.0, steps.before_w[1:] - steps.after_w[:-1])
    return np.cumsum(np.nan_to_num(moved))


def on_off(power_w: Array, step_s: float) -> Cycles:
    """Times on of a log of one appliance alone, by a threshold half way up.

    The level that counts is the one at which half of the energy over the base is drawn, so
    neither a start's peak nor a long standby moves it. Gaps of less than ``_BRIDGED_S`` are
    bridged, shorter times on dropped.
    """
    power = np.nan_to_num(power_w)
    base = float(np.nanquantile(power_w, _BASE_QUANTILE))
    above = np.maximum(power - base, 0.0)
    order = np.argsort(above)
    energy = np.cumsum(above[order])
    if energy.size == 0 or energy[-1] <= 0.0:
        empty = np.empty(0, np.int64)
        return Cycles(empty, empty, np.empty(0), np.empty(0), np.empty(0))
    level = float(above[order][np.searchsorted(energy, 0.5 * energy[-1])])
    on = (above > 0.5 * level).astype(np.int8)
    edges = np.diff(np.concatenate(([0], on, [0])))
    start, end = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    # Something is on, since energy was drawn above the base.
    near = (start[1:] - end[:-1]) * step_s < _BRIDGED_S
    start = start[np.append(True, ~near)]
    end = end[np.append(~near, True)]
    real = (end - start) * step_s >= min(_BRIDGED_S, 2.0 * step_s)
    start, end = start[real], end[real]
    total = np.concatenate(([0.0], np.cumsum(above)))
    mean = (total[end] - total[start]) / np.maximum(end - start, 1)
    first = max(round(_FIRST_S / step_s), 1)
    peak = np.array([above[b : b + first].max() for b in start])
    return Cycles(start.astype(np.int64), end.astype(np.int64), mean, peak, np.ones(start.size))


def _area_w(body_w: Array, tail_w: Array, steps: Steps, rise: int, fall: int) -> float:
    """Sum of the samples of a short time on over the old level. [W]

    ``tail_w`` are the first samples of the new level: those on the way down hold a rest of
    the time on.
    """
    size = float(steps.size_w[rise])
    rest = np.nan_to_num(tail_w - steps.after_w[fall])
    ended = np.flatnonzero(rest < _TAIL_SHARE * size)
    above = np.append(body_w - steps.before_w[rise], rest[: ended[0]] if ended.size else rest)
    return float(np.clip(np.nan_to_num(above), 0.0, size).sum())


def _match(
    open_rises: list[int], size: Array, since: dict[int, float], fall_w: float, sigma: float
) -> list[int]:
    """Open rises that a fall of ``fall_w`` closes: the closest in size, later ones first."""
    best: list[int] = []
    least = 1.0
    for j in reversed(open_rises):
        rise = float(size[j])
        tolerance = max(_SIZE_SHARE * max(rise, fall_w), _SIGMAS * sigma)
        off = min(abs(rise - fall_w), abs(rise + since[j] - fall_w)) / tolerance
        if off < 0.8 * least:
            best, least = [j], off
    if best:
        return best
    for a in reversed(open_rises):
        for b in reversed(open_rises):
            if b < a:
                total = float(size[a] + size[b])
                if abs(total - fall_w) <= 0.5 * _SIZE_SHARE * fall_w:
                    return [b, a]
    return []
