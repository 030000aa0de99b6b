"""Load: one on/off process, with what it draws, how it starts and when it is on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.ranges import Range
from loadlib.errors import InputError

__all__ = ["UNLISTED", "Grid", "Load", "flat", "grid"]

Grid = tuple[tuple[float, ...], ...]
"""12 months × 24 hours."""

UNLISTED = "unlisted"
"""Id of the load that stands for everything nobody entered; never negative."""


def grid(values: NDArray[np.float64]) -> Grid:
    """A 12 × 24 array as nested tuples, so that documents stay plain and hashable."""
    if values.shape != (12, 24):
        raise InputError(f"expected 12 months of 24 hours, got shape {values.shape}")
    return tuple(tuple(float(x) for x in month) for month in values)


def flat(value: float) -> Grid:
    """The same number in every month and hour."""
    return ((float(value),) * 24,) * 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """One on/off process of the house's sum.

    ``running_w`` is drawn while on, over all legs; ``leg_share`` says which share of it
    lies on each leg of the system (sum 1). ``start_va`` is the whole draw at a start, not
    the step; ``None`` means that there is no start above running. ``duty`` and
    ``starts_per_h`` are at typical values, by month and hour; ``duty_belief`` is the
    belief about a factor on ``duty`` (typical 1). ``standby_w`` is drawn while off.
    ``count`` alike ones switch independently of each other. ``line_to_line`` loads put
    nothing on the neutral. ``time_constant_s`` and ``restart_delay_s`` serve cold-load
    pickup. ``known`` is ``"measured"``, ``"label"``, ``"catalog"`` or ``"guess"``.
    ``outdoor_w`` is running power against outdoor temperature, pairs (°C, W), if claimed.
    """

    id: str
    name: str
    category: str
    kind: str
    leg_share: tuple[float, ...]
    line_to_line: bool
    running_w: Range
    power_factor: Range
    start_va: Range | None
    start_s: Range
    standby_w: Range
    duty: Grid
    duty_belief: Range
    starts_per_h: Grid
    count: int = 1
    room: str = ""
    circuit: str = ""
    priority: str = "wanted"
    medical: bool = False
    may_be_off_s: float | None = None
    if_off: str = ""
    thermostatic: bool = False
    voltage_v: float | None = None
    time_constant_s: Range | None = None
    restart_delay_s: float = 0.0
    outdoor_w: tuple[tuple[float, float], ...] = ()
    known: str = "guess"
    sources: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.running_w.low < 0.0:
            raise InputError(f"load {self.id}: running_w is negative")
        if abs(sum(self.leg_share) - 1.0) > 1e-6:
            raise InputError(f"load {self.id}: leg shares add to {sum(self.leg_share):g}, not 1")

    def with_(self, **changes: object) -> Load:
        """A copy with some fields changed."""
        return replace(self, **changes)  # type: ignore[arg-type]  # field names checked at run time

    @property
    def running_va(self) -> Range:
        """Apparent power while on, at the typical power factor. [VA]"""
        return self.running_w.scaled(1.0 / max(self.power_factor.typical, 0.05))

    @property
    def largest_va(self) -> Range:
        """What it asks for at a start; its running VA where it has no start step. [VA]"""
        return self.start_va if self.start_va is not None else self.running_va

    def duty_array(self) -> NDArray[np.float64]:
        """Share of each hour on, shape (12, 24)."""
        return np.array(self.duty)

    def starts_array(self) -> NDArray[np.float64]:
        """Starts per clock hour, shape (12, 24). [1/h]"""
        return np.array(self.starts_per_h)
