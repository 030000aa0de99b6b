"""Plans at once: put branches on in a given order, each in the first slot that holds.

The starting point of the optimiser, and the rules that people are given ("biggest first",
"vital first") to compare it with.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loadlib_standby.problem import Problem, Slots, holds, unserved

__all__ = ["RULES", "best_greedy", "in_order", "rule_order"]

RULES = ("vital first", "biggest first", "excess first", "most for its size")


def rule_order(problem: Problem, rule: str) -> list[int]:
    """Order of the branches by one of ``RULES``."""
    weight = problem.weight.mean(axis=1)
    size = (problem.counted / problem.run).max(axis=1)
    keys = {
        "vital first": (-weight, size),
        "biggest first": (-size, -weight),
        "excess first": (-problem.excess[:, 0], -weight),
        "most for its size": (-weight / np.maximum(size, 1e-3), size),
    }
    first, second = keys[rule]
    order = [int(i) for i in np.lexsort((second, first))]
    return _after_needs(problem, order)


def in_order(problem: Problem, order: Sequence[int], slots: Slots | None = None) -> Slots:
    """Each branch of ``order`` in the first slot in which the plan still holds, else never.

    Branches that ``slots`` already has stay where they are.
    """
    plan = np.full(problem.branches, problem.slots) if slots is None else slots.copy()
    for i in order:
        if plan[i] < problem.slots:
            continue
        earliest = max((int(plan[j]) for k, j in problem.needs if k == i), default=0)
        for t in range(earliest, problem.slots):
            plan[i] = t
            if holds(problem, plan):
                break
            plan[i] = problem.slots
            if not _fits_later(problem, plan, i, t):
                break
    return plan


def best_greedy(problem: Problem) -> tuple[Slots, str]:
    """The best of the simple rules, and its name."""
    found = []
    for rule in RULES:
        plan = in_order(problem, rule_order(problem, rule))
        found.append((unserved(problem, plan), rule, plan))
    _, rule, plan = min(found, key=lambda item: (item[0], item[1]))
    return plan, rule


def _fits_later(problem: Problem, plan: Slots, i: int, t: int) -> bool:
    """False when nothing that could keep branch i out will change after slot t."""
    ends = plan + problem.hold
    moving = (plan < problem.slots) & ((ends > t) | (plan > t))
    return bool(moving.any())


def _after_needs(problem: Problem, order: list[int]) -> list[int]:
    """Move every branch behind the ones that it needs."""
    needed = {i: [j for k, j in problem.needs if k == i] for i in order}
    placed: list[int] = []

    def place(i: int, seen: tuple[int, ...]) -> None:
        if i in placed or i in seen:
            return
        for j in needed[i]:
            place(j, (*seen, i))
        placed.append(i)

    for i in order:
        place(i, ())
    return placed
