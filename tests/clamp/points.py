"""Times on whose maker is known, for the tests of matching."""

from __future__ import annotations

import numpy as np

from loadlib.clamp.cycles import Cycles
from loadlib.clamp.patterns import Points


def times_on(rows: list[tuple[int, int, float]]) -> Cycles:
    """(start, length, watts) in samples of a second, in any order."""
    rows = sorted(rows)
    start = np.array([row[0] for row in rows], dtype=np.int64)
    end = start + np.array([row[1] for row in rows], dtype=np.int64)
    size = np.array([row[2] for row in rows], dtype=np.float64)
    return Cycles(start, end, size, size, np.ones(len(rows)))


def points_of(cycles: Cycles, days: float, leg: str = "") -> Points:
    """As matched; the clock starts at midnight."""
    hour = cycles.start // 3600 % 24
    return Points.of(cycles, 1.0, hour, np.array([leg] * len(cycles), dtype=np.str_), days)


def scattered(number: int, days: int, seed: int) -> list[tuple[int, int, float]]:
    """Times on of any size and length at any time: nobody's."""
    rng = np.random.default_rng(seed)
    at = rng.integers(0, days * 86_400, number)
    length, watts = np.exp(rng.uniform(3.0, 8.0, number)), np.exp(rng.uniform(5.0, 8.3, number))
    return [(int(a), int(b), float(c)) for a, b, c in zip(at, length, watts, strict=True)]
