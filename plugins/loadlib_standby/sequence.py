"""The best restoration plan, with a proven bound.

An integer program for HiGHS (scipy) in "on by slot t" variables z[i, t], which rise with t:
the draw of a branch is cold · z[i, t] − (cold − counted) · z[i, t − hold]. Two things make it
quick: rows are sparse, and for every slot a small knapsack, solved to proof, bounds the
weight that can be on at all. Order within a slot enters dimension by dimension ("largest
excess first" is best in one dimension); where several dimensions contradict each other the
exact test of ``problem`` fails, that assignment is cut off and the program solved again. A
greedy plan is there first and is never given up for a worse one.
"""

from __future__ import annotations

import time
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.greedy import best_greedy, in_order
from loadlib_standby.problem import Problem, Schedule, Slots, failing_slot, holds, unserved
from loadlib_standby.quiet import quiet_stdout

__all__ = ["best_schedule", "minimise"]

Array = NDArray[np.float64]


def best_schedule(problem: Problem, limit_s: float = 6.0) -> Schedule:
    """Least unserved priority-time.

    Parameters
    ----------
    problem : Problem
        what to restore within which limits.
    limit_s : float
        when to stop looking; the plan is then the best one found, with the true gap. [s]

    Returns
    -------
    Schedule
        feasible in every case (possibly empty), never worse than the simple rules.
    """
    began = time.perf_counter()
    plan, rule = best_greedy(problem)
    price, bound, method = unserved(problem, plan), 0.0, f"rule “{rule}”"
    if price <= 0.0:
        return Schedule(plan, price, price, method, time.perf_counter() - began)
    program = _Program(problem)
    program.served_at_least(float(problem.weight.sum()) - price)
    for members in _upper_classes(problem):
        program.class_bound(members, limit_s / 3.0)
    while price > bound + 1e-6 * max(price, 1.0):
        left_s = limit_s - (time.perf_counter() - began)
        if left_s <= 0.05:
            break
        found, low = program.solve(left_s)
        bound = max(bound, low)
        if found is None:
            break
        failed = failing_slot(problem, found)
        candidate = found if failed is None else _repaired(problem, found)
        if unserved(problem, candidate) < price - 1e-9 and holds(problem, candidate):
            plan, price, method = candidate, unserved(problem, candidate), "integer program"
        if failed is None:
            break
        program.forbid(found, failed)
    bound = min(bound, price)
    return Schedule(plan, price, bound, method, time.perf_counter() - began)


def _repaired(problem: Problem, slots: Slots) -> Slots:
    """A plan that holds, in the order of one that does not."""
    order = [int(i) for i in np.lexsort((-problem.excess[:, 0], slots)) if slots[i] < problem.slots]
    rest = [i for i in range(problem.branches) if i not in order]
    return in_order(problem, [*order, *rest])


def _upper_classes(problem: Problem) -> list[list[int]]:
    """Sets of branches whose weights are ten times those of all the others, or more."""
    mean = problem.weight.mean(axis=1)
    order = [int(i) for i in np.argsort(-mean, kind="stable")]
    cuts = [k for k in range(1, len(order)) if mean[order[k - 1]] >= 10.0 * mean[order[k]] > 0.0]
    return [order[:k] for k in cuts]


def _part(problem: Problem, members: list[int]) -> Problem:
    """The same problem with some of the branches only."""
    place = {i: k for k, i in enumerate(members)}
    return Problem(
        problem.cold[members],
        problem.counted[members],
        problem.hold[members],
        problem.excess[members],
        problem.restart[members],
        problem.weight[members],
        problem.run,
        problem.surge,
        tuple((place[i], place[j]) for i, j in problem.needs if i in place and j in place),
        None if problem.hardness is None else problem.hardness[members],
    )


class _Program:
    """Rows of the integer program; columns are z[i, t], i-major."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.rows: list[tuple[dict[int, float], float]] = []
        self._monotone()
        for d in range(problem.run.size):
            self._running(d)
            self._starts(d)
            self._restarts(d)
        self._needs()
        self._knapsacks()

    def column(self, i: int, t: int) -> int:
        return i * self.problem.slots + t

    def served_at_least(self, served: float) -> None:
        """Nothing worse than a plan that is known."""
        weight = self.problem.weight.ravel()
        scale = float(weight.max(initial=1.0))
        terms = {k: -float(w) / scale for k, w in enumerate(weight)}
        # A little slack: the plan that is known must not sit on the edge of a tolerance.
        self.rows.append((terms, -served / scale + 1e-3))

    def class_bound(self, members: list[int], limit_s: float) -> None:
        """The heavier branches alone, solved as if the rest did not exist, bound their share.

        Their weights are some hundred times the rest: without this row the search spends its
        time on the small ones.
        """
        part = _part(self.problem, members)
        inner = _Program(part)
        plan, _ = best_greedy(part)
        inner.served_at_least(float(part.weight.sum()) - unserved(part, plan))
        least = inner.solve(limit_s)[1]
        scale = float(part.weight.max())
        terms = {
            self.column(i, t): float(self.problem.weight[i, t]) / scale
            for i in members
            for t in range(self.problem.slots)
        }
        self.rows.append((terms, (float(part.weight.sum()) - least) / scale + 1e-6))

    def forbid(self, slots: Slots, failed: int) -> None:
        """Cut off the assignments up to the slot that failed; more load never mends it."""
        terms: dict[int, float] = {}
        count = 0
        for i in np.flatnonzero(slots <= failed):
            s = int(slots[i])
            terms[self.column(int(i), s)] = terms.get(self.column(int(i), s), 0.0) + 1.0
            if s > 0:
                terms[self.column(int(i), s - 1)] = -1.0
            count += 1
        self.rows.append((terms, count - 1.0))

    def solve(self, limit_s: float) -> tuple[Slots | None, float]:
        """The plan found (or None) and a bound on unserved priority-time."""
        weight = self.problem.weight.ravel()
        solution, low = minimise(-weight, self.rows, limit_s)
        bound = float(weight.sum()) + low
        if solution is None:
            return None, bound
        on = solution.reshape(self.problem.branches, self.problem.slots) > 0.5
        return np.where(on.any(axis=1), on.argmax(axis=1), self.problem.slots), bound

    def _monotone(self) -> None:
        for i in range(self.problem.branches):
            for t in range(self.problem.slots - 1):
                self.rows.append(({self.column(i, t): 1.0, self.column(i, t + 1): -1.0}, 0.0))

    def _draw(self, terms: dict[int, float], i: int, t: int, d: int, upto: int) -> None:
        """Add the draw in slot t of branch i if it went on no later than ``upto``."""
        if upto < 0:
            return
        p = self.problem
        first = p.cold[i, d] if p.hold[i] > 0 else p.counted[i, d]
        _add(terms, self.column(i, upto), first / p.run[d])
        warm = t - int(p.hold[i])
        if p.hold[i] > 0 and warm >= 0:
            drop = (p.cold[i, d] - p.counted[i, d]) / p.run[d]
            _add(terms, self.column(i, min(warm, upto)), -drop)

    def _running(self, d: int) -> None:
        for t in range(self.problem.slots):
            terms: dict[int, float] = {}
            for i in range(self.problem.branches):
                self._draw(terms, i, t, d, t)
            self.rows.append((terms, 1.0))

    def _starts(self, d: int) -> None:
        """A start reads as a running limit with the part of its excess that surge room lacks."""
        p = self.problem
        rank = np.lexsort((np.arange(p.branches), -p.excess[:, d]))
        place = {int(i): k for k, i in enumerate(rank)}
        for i in range(p.branches):
            extra = (p.excess[i, d] - (p.surge[d] - p.run[d])) / p.run[d]
            if extra <= 0.0:
                continue
            for t in range(p.slots):
                self.rows.append((self._start_row(i, t, d, extra, place), 1.0))

    def _start_row(
        self, i: int, t: int, d: int, extra: float, place: Mapping[int, int]
    ) -> dict[int, float]:
        terms: dict[int, float] = {}
        self._draw(terms, i, t, d, t)
        _add(terms, self.column(i, t), extra)
        if t > 0:
            _add(terms, self.column(i, t - 1), -extra)
        for j in range(self.problem.branches):
            if j != i:
                self._draw(terms, j, t, d, t if place[j] < place[i] else t - 1)
        return terms

    def _restarts(self, d: int) -> None:
        p = self.problem
        for i in range(p.branches):
            extra = (p.restart[i, d] - (p.surge[d] - p.run[d])) / p.run[d]
            if extra <= 0.0:
                continue
            for t in range(p.slots):
                terms: dict[int, float] = {self.column(i, t): float(extra)}
                for j in range(p.branches):
                    self._draw(terms, j, t, d, t)
                self.rows.append((terms, 1.0))

    def _needs(self) -> None:
        for i, j in self.problem.needs:
            for t in range(self.problem.slots):
                self.rows.append(({self.column(i, t): 1.0, self.column(j, t): -1.0}, 0.0))

    def _knapsacks(self) -> None:
        """For each slot: weight on by then is at most what fits at all, with every branch as
        small as it can be by then. Slots with equal sizes and weights share one knapsack."""
        p = self.problem
        known: dict[bytes, float] = {}
        for t in range(p.slots):
            size = np.where((p.hold <= t)[:, None], p.counted, p.cold)
            key = size.tobytes() + p.weight[:, t].tobytes()
            if key not in known:
                known[key] = _most_weight(p, size, p.weight[:, t])
            scale = float(p.weight[:, t].max(initial=1.0))
            terms = {self.column(i, t): float(p.weight[i, t]) / scale for i in range(p.branches)}
            self.rows.append((terms, known[key] / scale + 1e-6))


def _most_weight(problem: Problem, size: Array, weight: Array) -> float:
    """Upper bound on the weight on at once: a knapsack in D dimensions, solved to proof."""
    rows: list[tuple[dict[int, float], float]] = []
    room = problem.surge - problem.run
    for d in range(problem.run.size):
        terms = {i: float(size[i, d] / problem.run[d]) for i in range(problem.branches)}
        rows.append((terms, 1.0))
        for i in np.flatnonzero(problem.restart[:, d] > room[d]):
            lifted = dict(terms)
            lifted[int(i)] += float((problem.restart[i, d] - room[d]) / problem.run[d])
            rows.append((lifted, 1.0))
    for child, parent in problem.needs:
        rows.append(({child: 1.0, parent: -1.0}, 0.0))
    return -minimise(-weight, rows, 1.0)[1]


def minimise(
    cost: Array, rows: list[tuple[dict[int, float], float]], limit_s: float
) -> tuple[Array | None, float]:
    """Minimise ``cost`` over binaries with rows ≤ limit: the solution and a proven bound."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_matrix

    counts = [len(terms) for terms, _ in rows]
    row = np.repeat(np.arange(len(rows)), counts)
    column = np.fromiter((k for terms, _ in rows for k in terms), dtype=np.int64)
    value = np.fromiter((v for terms, _ in rows for v in terms.values()), dtype=np.float64)
    matrix = csr_matrix((value, (row, column)), shape=(len(rows), cost.size))
    with quiet_stdout():
        result = milp(
            cost,
            constraints=LinearConstraint(matrix, -np.inf, np.array([limit for _, limit in rows])),
            integrality=np.ones(cost.size),
            bounds=Bounds(0, 1),
            options={"time_limit": limit_s, "mip_rel_gap": 1e-9},
        )
    low = result.mip_dual_bound
    # Status 2: nothing is as good as the plan that is known, so that plan is the best.
    if result.status == 2 or low is None or not np.isfinite(low):
        low = -np.inf if result.status != 2 else np.inf
    return result.x, max(float(low), float(cost[cost < 0].sum()))


def _add(terms: dict[int, float], column: int, value: float) -> None:
    if value != 0.0:
        terms[column] = terms.get(column, 0.0) + float(value)
