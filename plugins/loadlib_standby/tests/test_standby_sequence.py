"""The optimiser against brute force, and the exchange argument against all orders."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib import InputError
from loadlib_standby.greedy import RULES, best_greedy, in_order, rule_order
from loadlib_standby.problem import (
    Problem,
    Schedule,
    draws,
    failing_slot,
    holds,
    order_in_slot,
    unserved,
)
from loadlib_standby.sequence import best_schedule


def a_problem(seed: int, branches: int, slots: int, *, dims: int = 3) -> Problem:
    """Random branches on a random source; starts, cold draws, restarts and needs at random."""
    rng = np.random.default_rng(seed)
    counted = rng.uniform(0.0, 5.0, (branches, dims)) * (rng.random((branches, dims)) < 0.8)
    cold = counted * rng.uniform(1.0, 2.0, (branches, 1))
    excess = rng.uniform(0.0, 6.0, (branches, dims)) * (rng.random((branches, 1)) < 0.5)
    run = rng.uniform(4.0, 14.0, dims)
    weight = rng.choice([1.0, 10.0, 100.0], branches)[:, None] * np.ones(slots)
    weight[:, slots // 2 :] *= rng.choice([1.0, 10.0], (branches, 1))
    needs = ((0, branches - 1),) if rng.random() < 0.3 else ()
    return Problem(
        cold=cold,
        counted=counted,
        hold=rng.integers(0, slots + 1, branches),
        excess=excess,
        restart=excess * (rng.random((branches, 1)) < 0.4),
        weight=weight,
        run=run,
        surge=run * rng.uniform(1.0, 1.6),
        needs=needs,
    )


def brute_force(problem: Problem) -> float:
    """The least price over every assignment of slots."""
    best = float("inf")
    for slots in itertools.product(range(problem.slots + 1), repeat=problem.branches):
        plan = np.array(slots)
        price = unserved(problem, plan)
        if price < best and holds(problem, plan):
            best = price
    return best


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 5), st.integers(1, 3))
def test_brute_force_agrees_on_all_small_cases(seed: int, branches: int, slots: int) -> None:
    problem = a_problem(seed, branches, slots)
    plan = best_schedule(problem)
    assert holds(problem, plan.slots)
    assert plan.proven
    assert plan.unserved == pytest.approx(brute_force(problem), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 6))
def test_the_exact_test_of_a_slot_agrees_with_all_orders(seed: int, branches: int) -> None:
    problem = a_problem(seed, branches, 1)
    members = list(range(branches))
    base = np.zeros(problem.run.size)
    first = np.where((problem.hold > 0)[:, None], problem.cold, problem.counted)

    def possible(order: tuple[int, ...]) -> bool:
        total = base.copy()
        for i in order:
            total = total + first[i]
            if np.any(total + problem.excess[i] > problem.surge * (1 + 1e-9)):
                return False
        return True

    any_order = any(possible(order) for order in itertools.permutations(members))
    found = order_in_slot(problem, members, base)
    assert (found is not None) == any_order
    if found is not None:
        assert possible(tuple(found))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 6))
def test_on_one_limit_largest_excess_first_is_best(seed: int, branches: int) -> None:
    """If any order keeps a single surge limit, the order by excess keeps it."""
    problem = a_problem(seed, branches, 1, dims=1)
    found = order_in_slot(problem, list(range(branches)), np.zeros(1))
    if found is not None:
        excess = problem.excess[found, 0]
        first = np.where((problem.hold > 0)[:, None], problem.cold, problem.counted)
        order = np.argsort(-problem.excess[:, 0], kind="stable")
        tops = np.cumsum(first[order, 0]) + problem.excess[order, 0]
        assert np.all(tops <= problem.surge[0] * (1 + 1e-6))
        assert excess.size == branches


def test_largest_start_first_is_not_always_possible() -> None:
    """A: runs 8, starts 10 (excess 2); B: runs 1, starts 6 (excess 5). Limit 10.5 at starts.

    Largest start first puts B on top of A: 8 + 6 = 14. Largest excess first: B, then 1 + 10 = 11.
    With limit 11 only the second order works.
    """
    draw, excess = np.array([[8.0], [1.0]]), np.array([[2.0], [5.0]])
    problem = Problem(
        draw, draw, np.zeros(2, dtype=np.int64), excess, np.zeros((2, 1)),
        np.ones((2, 1)), np.array([10.0]), np.array([11.0]),
    )  # fmt: skip
    assert order_in_slot(problem, [0, 1], np.zeros(1)) == [1, 0]


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_the_plan_is_never_worse_than_the_rules_of_thumb(seed: int) -> None:
    problem = a_problem(seed, 8, 4)
    plan = best_schedule(problem)
    for rule in RULES:
        thumb = in_order(problem, rule_order(problem, rule))
        assert holds(problem, thumb)
        assert plan.unserved <= unserved(problem, thumb) + 1e-6


def test_a_plan_is_there_at_once() -> None:
    problem = a_problem(5, 10, 6)
    plan = best_schedule(problem, limit_s=0.0)
    assert holds(problem, plan.slots)
    assert plan.bound <= plan.unserved
    assert plan.unserved == unserved(problem, best_greedy(problem)[0])


def test_waiting_for_a_cold_draw_to_end() -> None:
    """A cold load of 8 that settles at 4 after two slots lets the other of 5 in then."""
    problem = Problem(
        cold=np.array([[8.0], [5.0]]),
        counted=np.array([[4.0], [5.0]]),
        hold=np.array([2, 0]),
        excess=np.zeros((2, 1)),
        restart=np.zeros((2, 1)),
        weight=np.array([[100.0] * 4, [1.0] * 4]),
        run=np.array([10.0]),
        surge=np.array([10.0]),
    )
    plan = best_schedule(problem)
    assert plan.slots.tolist() == [0, 2]
    assert draws(problem, plan.slots)[:, 0].tolist() == [8.0, 8.0, 9.0, 9.0]
    assert failing_slot(problem, np.array([0, 1])) == 1


def test_what_is_needed_goes_on_no_later() -> None:
    problem = Problem(
        cold=np.ones((2, 1)), counted=np.ones((2, 1)), hold=np.zeros(2, dtype=np.int64),
        excess=np.zeros((2, 1)), restart=np.zeros((2, 1)), weight=np.ones((2, 2)),
        run=np.array([1.0]), surge=np.array([1.0]), needs=((0, 1),),
    )  # fmt: skip
    plan = best_schedule(problem)
    assert plan.slots.tolist() == [2, 0]
    assert not holds(problem, np.array([0, 2]))


def test_gap_and_proof() -> None:
    plan = Schedule(np.array([0]), 10.0, 9.0, "test")
    assert plan.gap == pytest.approx(0.1)
    assert not plan.proven
    assert Schedule(np.array([0]), 0.0, 0.0, "test").proven


def test_problems_that_cannot_be() -> None:
    good = a_problem(1, 2, 2)
    with pytest.raises(InputError, match="limits"):
        Problem(
            good.cold, good.counted, good.hold, good.excess, good.restart, good.weight,
            good.run, good.run * 0.5,
        )  # fmt: skip
    with pytest.raises(InputError, match="cold draw"):
        Problem(
            good.counted * 0.5, good.counted + 1, good.hold, good.excess, good.restart,
            good.weight, good.run, good.surge,
        )  # fmt: skip


def test_nothing_to_restore() -> None:
    empty = np.zeros((0, 1))
    problem = Problem(
        empty, empty, np.zeros(0, dtype=np.int64), empty, empty, np.zeros((0, 1)),
        np.array([1.0]), np.array([1.0]),
    )  # fmt: skip
    assert best_schedule(problem).unserved == 0.0
