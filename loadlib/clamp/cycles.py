"""From edges to times on: each rise is closed by the next fall of the same size."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.steps import Samples, Steps

__all__ = ["Cycles", "on_off", "pair_edges"]

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

_SIZE_SHARE = 0.12
_SIGMAS = 4.0
_SHORT_SLOTS = 10
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


def pair_edges(
    steps: Steps, power_w: Samples, step_s: float, longest_s: float = 6 * 3600.0
) -> Cycles:
    """Pair rises with falls of a log of which ``steps`` were found, shape (n,). [W]

    A fall closes the latest open rise whose size it matches within 12 % (or the noise), as it
    rose or as it has drifted since (a compressor draws less and less); when one fall closes
    two open rises at once, their sum is tried. Rises that stay open longer than ``longest_s``
    are forgotten. [s]
    """
    open_rises: list[int] = []
    pairs: list[tuple[int, int]] = []
    size = steps.size_w
    drift = _drift(steps)
    longest = longest_s / step_s
    for k in range(size.size):
        if size[k] > 0.0:
            open_rises.append(k)
            continue
        at = int(steps.at[k])
        open_rises = [j for j in open_rises if at - steps.at[j] <= longest]
        since = {j: float(drift[k] - drift[j]) for j in open_rises}
        match = _match(open_rises, size, since, -float(size[k]), steps.sigma_w)
        pairs += [(j, k) for j in match]
        open_rises = [j for j in open_rises if j not in match]
    pairs.sort()
    rise = np.array([j for j, _ in pairs], dtype=np.int64)
    fall = np.array([k for _, k in pairs], dtype=np.int64)
    start, end = steps.at[rise], steps.at[fall]
    share = np.ones(rise.size)
    for k in map(int, np.flatnonzero(end - start <= _SHORT_SLOTS)):
        share[k] = _part_on(power_w[start[k] : end[k] + 1], steps, int(rise[k]), int(fall[k]))
    surge = steps.surge_w[rise] - steps.before_w[rise]
    return Cycles(start, end, size[rise], surge, share)


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


def _part_on(part_w: Array, steps: Steps, rise: int, fall: int) -> float:
    """Share of its samples that a short time on was on, from the area over the old level.

    The last sample is the first of the new level and may hold a rest of the time on.
    """
    size = float(steps.size_w[rise])
    above = np.append(part_w[:-1] - steps.before_w[rise], part_w[-1] - steps.after_w[fall])
    area = float(np.clip(np.nan_to_num(above), 0.0, size).sum())
    return area / (size * (part_w.size - 1))


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
