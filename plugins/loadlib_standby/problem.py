"""The restoration problem in plain arrays, and the exact test whether a plan holds.

Time is cut into K slots. Branch i is switched on at the beginning of slot s_i, or never
(s_i = K), and stays on. It draws ``cold`` for its first ``hold`` slots and ``counted`` after
that. Within a slot branches go on one by one. Dimensions are the whole (W) and each leg or
outlet (A); all limits hold in every dimension:

* running: in every slot the draw of what is on is at most ``run``;
* start: when branch i goes on, what is already on, plus its cold draw, plus its surge excess
  is at most ``surge``;
* restart: at any later moment the draw of everything that is on, plus ``restart`` of any one
  branch that starts by itself, is at most ``surge``;
* a branch that needs another one is not switched on before it.

Objective: least unserved priority-time, Σ_i Σ_{t < s_i} weight[i, t].

Whether a set can be switched on within one slot is decided exactly: take off any branch that
could go last (it fits on top of all the others); taking it off never harms the rest. In one
dimension that is "largest surge excess first".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.engine import InputError

__all__ = ["Problem", "Schedule", "draws", "failing_slot", "holds", "order_in_slot", "unserved"]

Array = NDArray[np.float64]
Slots = NDArray[np.int64]

_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """n branches, K slots, D dimensions.

    Parameters
    ----------
    cold, counted, excess, restart : NDArray
        shape (n, D); ``cold`` ≥ ``counted``. [W, then A]
    hold : NDArray of int
        slots that the cold draw lasts, shape (n,).
    weight : NDArray
        price of a slot without branch i, shape (n, K).
    run, surge : NDArray
        limits, shape (D,), ``surge`` ≥ ``run``.
    needs : tuple of pairs
        (i, j): branch i is of no use before branch j.
    hardness : NDArray or None
        which of two starts that may come in either order comes first, shape (n,); None for
        the excess in the first dimension.
    """

    cold: Array
    counted: Array
    hold: Slots
    excess: Array
    restart: Array
    weight: Array
    run: Array
    surge: Array
    needs: tuple[tuple[int, int], ...] = ()
    hardness: Array | None = None

    def __post_init__(self) -> None:
        if np.any(self.run <= 0.0) or np.any(self.surge < self.run * (1 - _TOLERANCE)):
            raise InputError("plan: limits must be positive, starting not below running")
        if np.any(self.cold < self.counted * (1 - _TOLERANCE) - _TOLERANCE):
            raise InputError("plan: a cold draw is below the counted one")

    @property
    def branches(self) -> int:
        """n."""
        return int(self.cold.shape[0])

    @property
    def slots(self) -> int:
        """K."""
        return int(self.weight.shape[1])


@dataclass(frozen=True, slots=True, eq=False)
class Schedule:
    """A plan for a Problem: slot of each branch (K for never), its price, a proven bound.

    No plan is cheaper than ``bound``. ``method`` says who found it.
    """

    slots: Slots
    unserved: float
    bound: float
    method: str
    seconds: float = 0.0

    @property
    def gap(self) -> float:
        """(unserved − bound) / unserved; 0 is proven best."""
        if self.unserved <= self.bound + 1e-9:
            return 0.0
        return (self.unserved - self.bound) / self.unserved

    @property
    def proven(self) -> bool:
        """True when no plan can be better."""
        return self.gap <= 1e-6


def unserved(problem: Problem, slots: Slots) -> float:
    """Priority-time without power."""
    time = np.arange(problem.slots)
    return float(problem.weight[time[None, :] < slots[:, None]].sum())


def draws(problem: Problem, slots: Slots) -> Array:
    """Draw of what is on in each slot, shape (K, D)."""
    age = np.arange(problem.slots)[None, :] - slots[:, None]
    cold = (age >= 0) & (age < problem.hold[:, None])
    warm = age >= np.maximum(problem.hold, 0)[:, None]
    warm &= age >= 0
    total: Array = cold.T.astype(float) @ problem.cold + warm.T.astype(float) @ problem.counted
    return total


def order_in_slot(problem: Problem, members: list[int], base: Array) -> list[int] | None:
    """An order in which ``members`` can be switched on over ``base``, or None.

    Among those that could go last the one with the least ``hardness`` is taken (of equals the
    one that stands last in the problem), so that the order reads "largest surge excess first"
    wherever that is possible.
    """
    hardness = problem.excess[:, 0] if problem.hardness is None else problem.hardness
    draw = {i: _first_draw(problem, i) for i in members}
    limit = problem.surge * (1 + _TOLERANCE)
    rest = sorted(members, key=lambda i: (hardness[i], -i))
    order: list[int] = []
    total = base + sum(draw.values(), np.zeros_like(base))
    while rest:
        last = next((i for i in rest if np.all(total + problem.excess[i] <= limit)), None)
        if last is None:
            return None
        order.append(last)
        rest.remove(last)
        total = total - draw[last]
    return order[::-1]


def failing_slot(problem: Problem, slots: Slots) -> int | None:
    """First slot in which a limit breaks, or None when the plan holds."""
    total = draws(problem, slots)
    over = np.any(total > problem.run * (1 + _TOLERANCE), axis=1)
    on = slots[None, :] <= np.arange(problem.slots)[:, None]
    lift = np.where(on[:, :, None], problem.restart[None, :, :], 0.0).max(axis=1, initial=0.0)
    over |= np.any(total + lift > np.maximum(problem.surge, problem.run) * (1 + _TOLERANCE), axis=1)
    for t in range(problem.slots):
        if over[t]:
            return t
        members = [int(i) for i in np.flatnonzero(slots == t)]
        if members and _order_at(problem, members, total[t]) is None:
            return t
    return None


def holds(problem: Problem, slots: Slots) -> bool:
    """True when every limit and every dependency is kept."""
    if any(slots[i] < slots[j] for i, j in problem.needs):
        return False
    return failing_slot(problem, slots) is None


def _order_at(problem: Problem, members: list[int], total: Array) -> list[int] | None:
    base = total - sum((_first_draw(problem, i) for i in members), np.zeros_like(total))
    return order_in_slot(problem, members, base)


def _first_draw(problem: Problem, i: int) -> Array:
    first: Array = problem.cold[i] if problem.hold[i] > 0 else problem.counted[i]
    return first
