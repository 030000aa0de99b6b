"""Restoration plan: which branches, in which order, with what waits.

Planning point: running draws and starts at the 95 % point of belief, and motors that start by
themselves later counted on top of everything. If that leaves a must-have off, later starts are
left to the expected overloads, then the 50 % point is tried, and taken if it serves every
must-have; the plan says which it used. The
margin between the point and the typical sum is taken off the limits, so that sums stay sums.
A start so doubtful that the point could never be carried is planned lower, first and alone.
Every step is checked again on the draws of belief and says how sure it is.

Price of a slot without power: 10,000 for a branch with a medical load, 100 for a must-have,
10 for a wanted one that has been off longer than it may, 1 for any other wanted one.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.branches import Branch
from loadlib_standby.doubt import start_doubt
from loadlib_standby.engine import InputError, Range
from loadlib_standby.greedy import best_greedy
from loadlib_standby.problem import Problem, Schedule, draws, failing_slot, order_in_slot
from loadlib_standby.sequence import best_schedule
from loadlib_standby.setting import Setting
from loadlib_standby.stack import SURE, Stack

__all__ = [
    "NOT_CONNECTED",
    "LeftOff",
    "RestorePlan",
    "Step",
    "planning_excess",
    "problem_of",
    "restoration_plan",
    "wait_after_trip_s",
]

Array = NDArray[np.float64]

_LEAST_WAIT_S = 300.0
"""After a trip wait five minutes at least: pressures in compressors even out (common
practice, no source), and longer where a load's restart delay is longer."""

NOT_CONNECTED = "not connected to this source"

_SLOT_LENGTHS_S = (60, 120, 300, 600, 900, 1800, 3600)
_MOST_SLOTS = 36
_LONGEST_WAIT_S = 6 * 3600.0
_LEAST_PAUSE_S = 5.0
"""Listen before the next breaker: about five seconds, common practice, no source."""


@dataclass(frozen=True, slots=True)
class Step:
    """One breaker. ``legs_a`` and ``total_w`` run after it (everything that may call is
    counted); ``legs_high_a`` is the 95 % point. ``peak_va`` is the sum at its start. ``sure``
    is the share of belief in which every limit holds at this step. ``wait_s`` comes before
    the step, ``pause_s`` after it."""

    number: int
    branch: Branch
    wait_s: float
    pause_s: float
    at_s: float
    total_w: float
    legs_a: tuple[float, ...]
    legs_high_a: tuple[float, ...]
    peak_va: Range
    sure: float
    why: str = ""


@dataclass(frozen=True, slots=True)
class LeftOff:
    """A branch that stays off, why, and ``by`` when harm begins (None: no limit is known)."""

    branch: Branch
    why: str
    by: datetime | None = None

    def by_words(self) -> str:
        """``"by Thu 14 Jan 07:40 (the cellar floods)"``, or nothing."""
        if self.by is None:
            return ""
        harm = f" ({self.branch.if_off})" if self.branch.if_off else ""
        return f"by {self.by:%a %d %b %H:%M}{harm}"


@dataclass(frozen=True, slots=True, eq=False)
class RestorePlan:
    """Steps in order, what stays off, and how good the plan is.

    ``gap`` is the proven distance from the best possible in priority-time (0: none is
    better). ``restarts_counted`` tells whether motors that start again by themselves were
    held within the surge limit on top of everything else; ``point`` the planning point (0.95
    or 0.5). ``by_hand`` are appliances on its
    circuits of which any one at a time may be used on top of everything.
    """

    setting: Setting
    steps: tuple[Step, ...]
    by_hand: tuple[Branch, ...]
    left_off: tuple[LeftOff, ...]
    schedule: Schedule
    slot_s: float
    restarts_counted: bool
    point: float
    notes: tuple[str, ...]

    @property
    def on(self) -> list[int]:
        """Positions of the branches that the plan switches on."""
        return [self.setting.branches.index(step.branch) for step in self.steps]

    @property
    def gap(self) -> float:
        """Share by which a better plan could lie below, at most."""
        return self.schedule.gap

    @property
    def longest_restart_delay_s(self) -> float:
        """Longest delay before a compressor starts again. [s]"""
        return max((step.branch.restart_delay_s for step in self.steps), default=0.0)


def restoration_plan(
    setting: Setting, *, without: Sequence[str] = (), limit_s: float | None = None
) -> RestorePlan:
    """The plan for a setting.

    Parameters
    ----------
    setting : Setting
        house, source and case.
    without : sequence of str
        branches that cannot be used (failed at the panel, missing).
    limit_s : float or None
        time for the optimiser in all; None for 2, 6 or 15 s by the number of branches. [s]

    Raises
    ------
    InputError
        when a must-have cannot be fed or can never start, or nothing can be carried at all:
        a plan is not given then.
    """
    skipped = set(setting.positions(without)) if without else set()
    usable = [
        i
        for i in setting.positions()
        if i not in skipped and not (setting.branches[i].blocked or setting.branches[i].hand)
    ]
    _must_be_possible(setting, skipped)
    usable = [i for i in usable if _alone(setting.stack, i)]
    if not usable:
        raise InputError(
            "this source cannot carry any of the circuits, not even one alone",
            hint="No plan is given. Look at the check for what is too much.",
        )
    time_s = limit_s if limit_s is not None else _time_s(len(usable))
    plan = _best_of_points(setting, usable, time_s)
    if not plan.steps:
        raise InputError(
            "this source cannot carry the first step of any plan",
            hint="No plan is given. Look at the check for what is too much.",
        )
    by_hand = _by_hand(setting, plan, skipped)
    return replace(
        plan,
        by_hand=by_hand,
        left_off=_left_off(setting, plan, by_hand, skipped),
        notes=(*plan.notes, *_without_breaker(setting)),
    )


def wait_after_trip_s(plan: RestorePlan) -> float:
    """How long everything stays off after a trip. [s]"""
    return max(plan.longest_restart_delay_s, _LEAST_WAIT_S)


def problem_of(
    setting: Setting,
    usable: Sequence[int],
    margin: Array,
    restarts: bool,
    point: float = 0.95,
) -> tuple[Problem, float]:
    """Arrays for the optimiser and the length of a slot. [s]

    ``margin`` (2, D) is taken off the running and the surge limits; starts are at ``point`` of
    belief; ``restarts`` says whether motors that start by themselves are held within limits.
    """
    stack, rows = setting.stack, list(usable)
    waits = np.where((stack.cold > stack.counted + 1e-9).any(axis=1), stack.hold_s, 0.0)[rows]
    waits = np.where(waits > _LONGEST_WAIT_S, math.inf, waits)
    slot_s, slots = _grid(waits)
    hold = np.where(np.isinf(waits), slots, np.ceil(np.minimum(waits, 1e9) / slot_s))
    background = stack.typical_background()
    run = np.maximum(stack.run - background - margin[0], 1e-6)
    surge = np.maximum(stack.surge - background - margin[1], run)
    excess = np.array([planning_excess(stack, i, surge, point) for i in rows])
    restart = np.minimum(stack.restart[rows], excess) if restarts else np.zeros_like(excess)
    place = {setting.branches[i].name.casefold(): k for k, i in enumerate(rows)}
    needs = tuple(
        (k, place[name.casefold()])
        for k, i in enumerate(rows)
        for name in setting.branches[i].depends_on
        if name.casefold() in place
    )
    weight = np.array([_weights(setting, i, slots, slot_s) for i in rows])
    cold = np.where((hold > 0)[:, None], stack.cold[rows], stack.counted[rows])
    hardness = np.quantile(stack.closing_draws[:, rows, 0], 0.95, axis=0)
    problem = Problem(
        cold,
        stack.counted[rows],
        hold.astype(np.int64),
        excess,
        restart,
        weight,
        run,
        surge,
        needs,
        hardness,
    )
    return problem, slot_s


def _best_of_points(setting: Setting, usable: list[int], time_s: float) -> RestorePlan:
    """The first planning point at which every must-have is served. Where none serves them all,
    the one that leaves fewest medical loads off, then the surer point, then the cheaper plan:
    the rest has its turns, and nothing is gained by doubt about every step."""
    found: list[RestorePlan] = []
    ends_s = time.monotonic() + time_s
    for point, restarts in ((0.95, True), (0.95, False), (0.5, True), (0.5, False)):
        plan = _planned(setting, usable, restarts, point, ends_s)
        if all(b.priority != "must" for b in _missed(setting, usable, plan)):
            return plan
        if plan.steps:
            found.append(plan)
    if not found:
        return plan

    def worth(plan: RestorePlan) -> tuple[int, float, float]:
        medical = sum(b.medical for b in _missed(setting, usable, plan))
        return medical, -plan.point, plan.schedule.unserved

    return min(found, key=worth)


def _planned(
    setting: Setting, usable: list[int], restarts: bool, point: float, ends_s: float
) -> RestorePlan:
    """Solve with the margin of the greedy plan's own set; again if the set found needs more."""
    margin = np.zeros((2, setting.stack.run.size))
    problem, slot_s = problem_of(setting, usable, margin, restarts, point)
    chosen = _chosen(usable, best_greedy(problem)[0], problem)
    for _ in range(3):
        margin = np.maximum(margin, _margin(setting.stack, chosen, point))
        problem, slot_s = problem_of(setting, usable, margin, restarts, point)
        # Half of what is left, so that a second look is possible; the last plan stays.
        schedule = best_schedule(problem, max((ends_s - time.monotonic()) / 2.0, 0.0))
        again = _chosen(usable, schedule.slots, problem)
        if np.all(_margin(setting.stack, again, point) <= margin * 1.02 + 1e-6):
            break
        chosen = again
    steps = _steps(setting, usable, problem, schedule, slot_s)
    notes = _notes(schedule, steps, restarts, point)
    return RestorePlan(setting, steps, (), (), schedule, slot_s, restarts, point, notes)


def _chosen(usable: list[int], slots: NDArray[np.int64], problem: Problem) -> list[int]:
    return [i for i, slot in zip(usable, slots, strict=True) if slot < problem.slots]


def _margin(stack: Stack, chosen: Sequence[int], point: float) -> Array:
    """How far the planning point of the sum lies above the sum of typical values, (2, D).

    The surge row carries the running margin too: starts have their own 95 % points.
    """
    running, _ = stack.together(chosen)
    typical = stack.typical_background() + stack.counted[list(chosen)].sum(axis=0)
    high = np.maximum(np.quantile(running, point, axis=0) - typical, 0.0)
    return np.stack((high, high))


def planning_excess(stack: Stack, i: int, surge: Array, point: float) -> Array:
    """The start's excess at ``point``, or at the highest lower one that could be carried."""
    shares = [share for share in (0.95, 0.5, 0.05) if share <= point]
    points: Array = np.quantile(stack.closing_draws[:, i], shares, axis=0)
    for carried in list(points):
        if np.all(stack.cold[i] + carried <= surge):
            return np.asarray(carried)
    # Only alone, on an empty source, and without the margin that the others need.
    alone: Array = np.clip(surge - stack.cold[i], 0.0, points[-1])
    return alone


def _grid(waits: Array) -> tuple[float, int]:
    """Slot length and number: the longest wait must fit into 36 slots."""
    finite = waits[np.isfinite(waits)]
    longest_s = float(finite.max(initial=0.0))
    if longest_s <= 0.0:
        return float(_SLOT_LENGTHS_S[0]), 1
    for length_s in _SLOT_LENGTHS_S:
        slots = math.ceil(longest_s / length_s) + 1
        if slots <= _MOST_SLOTS:
            return float(length_s), slots
    return float(_SLOT_LENGTHS_S[-1]), _MOST_SLOTS


def _weights(setting: Setting, i: int, slots: int, slot_s: float) -> Array:
    branch = setting.branches[i]
    if branch.medical:
        return np.full(slots, 10000.0)
    if branch.priority == "must":
        return np.full(slots, 100.0)
    price = np.ones(slots)
    if branch.may_be_off_s is not None:
        left_s = branch.may_be_off_s - setting.case.off_h * 3600.0
        price[np.arange(slots) * slot_s >= left_s] = 10.0
    return price


def _must_be_possible(setting: Setting, skipped: set[int]) -> None:
    for i, branch in enumerate(setting.branches):
        if branch.priority != "must" or branch.unwired or i in skipped:
            continue
        if branch.blocked:
            raise InputError(
                f"must-have {branch.label} cannot be fed: {branch.blocked}",
                hint="Another source; or make other provision and leave it out: " + _out(branch),
            )
        if not _alone(setting.stack, i):
            raise _never(setting, i)


def _never(setting: Setting, i: int) -> InputError:
    """A must-have that no order of things can serve: what it asks, what there is, what mends it."""
    stack, label = setting.stack, setting.branches[i].label
    running = np.quantile(stack.switching_on(i, ())[0], 0.5, axis=0)
    over = np.flatnonzero(running > stack.run)
    if over.size:
        d, unit = int(over[0]), "W" if over[0] == 0 else "A"
        return InputError(
            f"must-have {label} can never run: it draws {running[d]:,.0f} {unit}, "
            f"{stack.names[d]} carries {stack.run[d]:,.0f} {unit}",
            hint="No plan is given. Another source, or leave it out: " + _out(setting.branches[i]),
        )
    doubt = start_doubt(setting, i)
    return InputError(
        f"must-have {label} can never start: alone it asks for {doubt.asked.low:,.0f} to "
        f"{doubt.asked.high:,.0f} {doubt.unit} on {doubt.place}, and {doubt.limit:,.0f} are there",
        hint="No plan is given. "
        + " ".join(doubt.mends())
        + " Or leave it out: "
        + _out(setting.branches[i]),
    )


def _out(branch: Branch) -> str:
    return f'leave_off = ["{branch.name}"] in the case file.'


def _alone(stack: Stack, i: int) -> bool:
    """True when a branch alone, cold, runs at typical values and starts at the 5 % point."""
    draw = stack.typical_background() + np.maximum(stack.cold[i], stack.counted[i])
    start = draw + np.quantile(stack.closing_draws[:, i], 0.05, axis=0)
    return bool(np.all(draw <= stack.run) and np.all(start <= stack.surge))


def _missed(setting: Setting, usable: list[int], plan: RestorePlan) -> list[Branch]:
    on = set(plan.on)
    return [setting.branches[i] for i in usable if i not in on]


def _time_s(count: int) -> float:
    return 2.0 if count <= 16 else 6.0 if count <= 24 else 15.0


def _steps(
    setting: Setting, usable: list[int], problem: Problem, schedule: Schedule, slot_s: float
) -> tuple[Step, ...]:
    assert failing_slot(problem, schedule.slots) is None  # best_schedule gives plans that hold
    totals = draws(problem, schedule.slots)
    chosen = _chosen(usable, schedule.slots, problem)
    steps: list[Step] = []
    began: dict[int, float] = {}
    clock_s = 0.0
    for t in sorted({int(s) for s in schedule.slots if s < problem.slots}):
        members = [int(k) for k in np.flatnonzero(schedule.slots == t)]
        base = totals[t] - problem.cold[members].sum(axis=0)
        order = order_in_slot(problem, members, base)
        assert order is not None  # part of what holds() has checked
        wait_s = max(t * slot_s - clock_s, 0.0) if steps else 0.0
        for i in (usable[k] for k in order):
            step = _step(setting, i, began, wait_s, clock_s, chosen)
            steps.append(step)
            began[i] = step.at_s
            clock_s = step.at_s + step.pause_s
            wait_s = 0.0
    return tuple(steps)


def _step(
    setting: Setting,
    i: int,
    began: dict[int, float],
    wait_s: float,
    clock_s: float,
    chosen: Sequence[int],
) -> Step:
    """One step; ``began`` says what is on and since when, ``chosen`` what will be."""
    stack, branch, on = setting.stack, setting.branches[i], list(began)
    at_s = clock_s + wait_s
    cold = [j for j in on if at_s - began[j] < stack.hold_s[j]]
    running, peak = stack.switching_on(i, on, cold)
    middle = np.median(running, axis=0)
    return Step(
        number=len(on) + 1,
        branch=branch,
        wait_s=wait_s,
        pause_s=max(_LEAST_PAUSE_S, branch.restart_delay_s + branch.start_s + _LEAST_PAUSE_S),
        at_s=at_s,
        total_w=float(middle[0]),
        legs_a=tuple(float(x) for x in middle[1:]),
        legs_high_a=tuple(float(x) for x in np.quantile(running, 0.95, axis=0)[1:]),
        peak_va=Range.of_samples(peak[:, 0]),
        sure=stack.sure(i, on, cold),
        why=_why(stack, i, on, chosen),
    )


def _why(stack: Stack, i: int, on: Sequence[int], chosen: Sequence[int]) -> str:
    """Why it stands here: hardest start first, or a limit that leaves it no room later."""
    high = np.quantile(stack.closing_draws[:, chosen], 0.95, axis=0)
    mine = high[list(chosen).index(i)]
    if not on and mine[0] > 0.0:
        if mine[0] >= high[:, 0].max():
            return "hardest start goes first"
        room = stack.surge - stack.typical_background() - stack.counted[list(chosen)].sum(axis=0)
        d = int(np.argmin((room - mine) / stack.surge))
        if mine[d] > room[d]:
            return f"no room for its start on {stack.names[d]} later"
    return "medical" if stack.branches[i].medical else ""


def _by_hand(setting: Setting, plan: RestorePlan, skipped: set[int]) -> tuple[Branch, ...]:
    """Appliances used by hand of which any one fits on top, at the 95 % point."""
    stack, on = setting.stack, plan.on
    alive = {load.circuit.casefold() for i in on for load in setting.branches[i].loads}
    base = stack.background + stack.running_draws[:, on].sum(axis=1)
    found = []
    for i, branch in enumerate(setting.branches):
        circuit = branch.loads[0].circuit.casefold()
        wanted = branch.hand and branch.priority != "off" and (not circuit or circuit in alive)
        if not wanted or i in skipped or branch.blocked:
            continue
        running = np.quantile(base + stack.running_draws[:, i], 0.95, axis=0)
        start = np.quantile(
            base + stack.running_draws[:, i] + stack.start_draws[:, i], 0.95, axis=0
        )
        if np.all(running <= stack.run) and np.all(start <= stack.surge):
            found.append(branch)
    return tuple(found)


def _left_off(
    setting: Setting, plan: RestorePlan, by_hand: tuple[Branch, ...], skipped: set[int]
) -> tuple[LeftOff, ...]:
    on, found = set(plan.on), []
    alive = {load.circuit.casefold() for i in on for load in setting.branches[i].loads}
    for i, branch in enumerate(setting.branches):
        if i in on or branch in by_hand:
            continue
        if i in skipped:
            why = "taken out: failed or missing"
        elif _on_dead_circuit(branch, alive):
            why = "its circuit is off"
        elif branch.unwired:
            why = NOT_CONNECTED
        elif branch.blocked:
            why = branch.blocked
        elif branch.priority == "off":
            why = "on the off list"
        elif not _alone(setting.stack, i):
            why = "too much for this source even alone"
        else:
            why = "no room beside the others"
        found.append(LeftOff(branch, why, _by(setting, branch)))
    return tuple(found)


def _by(setting: Setting, branch: Branch) -> datetime | None:
    """Until when a branch may be off, reckoned from when the power went."""
    if branch.may_be_off_s is None:
        return None
    case = setting.case
    return case.start - timedelta(hours=case.off_h) + timedelta(seconds=branch.may_be_off_s)


def _on_dead_circuit(branch: Branch, alive: set[str]) -> bool:
    """An appliance used by hand on a circuit that the plan leaves off."""
    circuit = branch.loads[0].circuit.casefold()
    return branch.hand and circuit != "" and circuit not in alive


def _without_breaker(setting: Setting) -> tuple[str, ...]:
    """Loads of a panel whose circuit nobody has entered."""
    if setting.source.connection == "cords":
        return ()
    names = [b.label for b in setting.branches if not b.slots and not b.loads[0].circuit]
    if not names:
        return ()
    return (
        "On no known circuit, and listed as if each had a breaker of its own: "
        f"{', '.join(names)}. Find their breakers and enter them.",
    )


def _notes(
    schedule: Schedule, steps: Sequence[Step], restarts: bool, point: float
) -> tuple[str, ...]:
    quality = (
        "No other choice and order serves more priority-time (proven)."
        if schedule.proven
        else f"A better plan could save at most {schedule.gap:.1%} of the unserved priority-time."
    )
    later = (
        "Motors that start again by themselves are held within the starting limit on top of "
        "everything in the plan."
        if restarts
        else "The order is within limits, but a motor that starts again by itself on top of "
        "everything may go over: see the expected overloads."
    )
    doubtful = ", ".join(step.branch.label for step in steps if step.sure < SURE)
    but = f", but for {doubtful}: in doubt (?)" if doubtful else ""
    planned = f"Planned at the {point:.0%} point of belief about draws and starts{but}."
    return (quality, planned, later)
