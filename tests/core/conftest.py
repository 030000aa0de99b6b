"""Loads for the tests of the core, among them eleven whose crossing rate is known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from loadlib.core.demand import Processes

DUTY_AND_STARTS: dict[float, tuple[float, float]] = {
    4500: (0.10, 0.35),
    5500: (0.25, 0.6),
    150: (0.4, 1.2),
    120: (0.45, 1.0),
    600: (0.35, 3.0),
    1500: (0.02, 1.0),
    1000: (0.01, 0.8),
    800: (0.15, 2.0),
    200: (0.8, 0.1),
    1200: (0.03, 0.3),
    3000: (0.06, 0.5),
}
"""Running W: share of time on, starts per hour."""


def _eleven(start_multiplier: float = 1.0, conditions: int = 1) -> Processes:
    """The eleven loads, the same in every condition."""
    rows = [(w, d, s, 1) for w, (d, s) in DUTY_AND_STARTS.items()]
    return _made(rows, start_multiplier=start_multiplier, conditions=conditions)


def _made(
    rows: list[tuple[float, float, float, int]],
    *,
    base_w: float = 0.0,
    start_multiplier: float = 1.0,
    conditions: int = 1,
) -> Processes:
    """Processes from (watts, duty, starts per hour, count)."""
    watts = np.array([row[0] for row in rows], dtype=float)
    spread = np.ones(conditions)
    return Processes(
        names=tuple(f"{row[0]:g} W" for row in rows),
        base_w=base_w,
        rise_w=watts,
        surge_w=watts * start_multiplier,
        duty=np.outer([row[1] for row in rows], spread).reshape(len(rows), conditions),
        starts_per_h=np.outer([row[2] for row in rows], spread).reshape(len(rows), conditions),
        count=np.array([row[3] for row in rows], dtype=np.int64),
    )


@pytest.fixture
def eleven() -> Callable[..., Processes]:
    """Makes the eleven loads; ``start_multiplier`` and ``conditions`` may be given."""
    return _eleven


@pytest.fixture
def made() -> Callable[..., Processes]:
    """Makes processes from (watts, duty, starts per hour, count)."""
    return _made
