"""One voice for one place: what was logged twice over the same time counts once.

The same place at another step, at other seconds of the clock or under another name is no second
witness. Import of the house and a clamp's load are different measurements (the ``flow``) and
both speak.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.series import Series

__all__ = ["one_voice"]

_LEAST_REST_S = 3 * 3600
"""A stretch that only the coarser series has speaks from this length on: a judgement. [s]"""

_LEAST_COVER = 0.5


def one_voice(series: Sequence[Series]) -> tuple[Series, ...]:
    """Series of which no two of a place and flow have values at the same time.

    The finest step speaks; of one step the one with more values. Of the others only stretches
    of some hours that it lacks are left, the rest is NaN and the ends are cut off. Legs of one
    log that were both logged more finely are cut alike, so that they still add up. What was
    left out is said in ``source``; series that share no time are returned as they are.
    """
    if len({(one.place, one.flow) for one in series}) == len(series):
        return tuple(series)
    spoken: list[Series] = []
    for log in _finest_first(series):
        others = [[x for x in spoken if _meet(x, one)] for one in log]
        covers = [_covered(one, finer) for one, finer in zip(log, others, strict=True)]
        touched = [cover for cover in covers if cover.any()]
        for one, finer, cover in zip(log, others, covers, strict=True):
            if not cover.any():
                spoken.append(one)
                continue
            rest = _rest(one, np.logical_or.reduce(touched), finer)
            if rest is not None:
                spoken.append(rest)
            else:
                spoken = [_instead(x, one) if x in finer else x for x in spoken]
    return tuple(spoken)


def _finest_first(series: Sequence[Series]) -> list[list[Series]]:
    """Logs: legs of one start, step and length together, any other series by itself."""
    logs: dict[tuple[object, ...], list[Series]] = {}
    for at, one in enumerate(series):
        span = (one.flow, one.start_s, one.step_s, one.mean_w.size)
        key = (*span, "legs") if one.place.startswith("leg ") else (*span, at)
        if any(one.place == other.place for other in logs.get(key, ())):
            key = (*key, at)
        logs.setdefault(key, []).append(one)
    return sorted(logs.values(), key=_rank)


def _rank(log: Sequence[Series]) -> tuple[int, int]:
    return log[0].step_s, -sum(one.mean_w.size - one.missing for one in log)


def _meet(one: Series, other: Series) -> bool:
    same = (one.place, one.flow) == (other.place, other.flow)
    return same and one.start_s < other.end_s and other.start_s < one.end_s


def _covered(one: Series, finer: Sequence[Series]) -> NDArray[np.bool_]:
    """Slots of a series of which others have at least half, shape (n,)."""
    if not finer:
        return np.zeros(one.mean_w.size, np.bool_)
    edges_s = one.start_s + one.step_s * np.arange(one.mean_w.size + 1, dtype=np.int64)
    known_s = np.zeros(one.mean_w.size, np.int64)
    for other in finer:
        before = np.zeros(other.mean_w.size + 1, np.int64)
        np.cumsum(~np.isnan(other.mean_w), out=before[1:])
        at = np.clip((edges_s - other.start_s) // other.step_s, 0, other.mean_w.size)
        known_s += np.diff(before[at]) * other.step_s
    return known_s >= _LEAST_COVER * one.step_s


def _rest(one: Series, covered: NDArray[np.bool_], finer: Sequence[Series]) -> Series | None:
    """What is left in stretches long enough; None where that is too little."""
    turns = np.flatnonzero(np.diff(covered, prepend=True, append=True))
    runs = [
        (int(first), int(after))
        for first, after in zip(turns[::2], turns[1::2], strict=True)
        if (after - first) * one.step_s >= _LEAST_REST_S
    ]
    if not runs:
        return None
    begin, end = runs[0][0], runs[-1][1]
    mean_w = np.full(end - begin, np.nan)
    for first, after in runs:
        mean_w[first - begin : after - begin] = one.mean_w[first:after]
    if np.count_nonzero(~np.isnan(mean_w)) * one.step_s < _LEAST_REST_S:
        return None
    steps = " and ".join(f"{step} s" for step in sorted({x.step_s for x in finer}))
    left = replace(one, start_s=one.start_s + begin * one.step_s, mean_w=mean_w)
    return _told(left, f"without the time that is there at {steps}")


def _instead(speaker: Series, silent: Series) -> Series:
    return _told(speaker, f"counted in place of what is there at {silent.step_s} s")


def _told(one: Series, words: str) -> Series:
    if words in one.source:
        return one
    return replace(one, source=f"{one.source}, {words}" if one.source else words)
