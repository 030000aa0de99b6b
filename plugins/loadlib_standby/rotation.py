"""Turns by the clock, for circuits that find no room beside the plan.

For the hands in the dark there is one list of what goes off first, the same in every turn,
and for each circuit its hours.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.branches import Branch, is_automatic
from loadlib_standby.restore import RestorePlan, planning_excess
from loadlib_standby.sequence import minimise
from loadlib_standby.setting import Setting
from loadlib_standby.stack import SURE
from loadlib_standby.swap import pause_h

__all__ = ["Rotation", "Turn", "hour_spans", "turns"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Turn:
    """A branch and the clock hours in which it is on (5 for 05–06), in order of the night.

    ``sure`` is the share of belief in which it starts and runs within every limit then.
    """

    branch: Branch
    hours: tuple[int, ...]
    sure: float

    @property
    def label(self) -> str:
        """Slots and name, with (?) where the start is in doubt."""
        return self.branch.label + (" (?)" if self.sure < SURE else "")

    def words(self) -> str:
        """In one line."""
        return f"{self.label}: {', '.join(hour_spans(self.hours))}"


@dataclass(frozen=True, slots=True)
class Rotation:
    """``off`` goes off before every turn and on again after it; ``turns`` have their hours."""

    off: tuple[Branch, ...]
    turns: tuple[Turn, ...]

    def __bool__(self) -> bool:
        return bool(self.turns)

    def lines(self) -> tuple[str, ...]:
        """What the hands do, in their order; empty when there are no turns."""
        if not self.turns:
            return ()
        labels = ", ".join(branch.label for branch in self.off)
        first = (f"FIRST OFF: {labels}.",) if self.off else ()
        after = "HOUR OVER: OFF AGAIN." + (" THE OTHERS ON, ORDER AS ABOVE." if self.off else "")
        return (*first, *(f"THEN ON: {turn.words()}" for turn in self.turns), after)


def hour_spans(hours: tuple[int, ...]) -> list[str]:
    """Clock hours as spans: ``(5, 6, 9)`` gives ``["05–07", "09–10"]``; midnight is no break."""
    spans: list[list[int]] = []
    for hour in hours:
        if spans and spans[-1][1] == hour:
            spans[-1][1] = (hour + 1) % 24
        else:
            spans.append([hour, (hour + 1) % 24])
    return [f"{first:02d}–{after:02d}" for first, after in spans]


def turns(plan: RestorePlan, limit_s: float = 3.0) -> Rotation:
    """Turns over 24 clock hours for circuits that the plan leaves off for want of room.

    A circuit that switches itself needs its usual daily time on, another one hour; a must-have
    is also brought back each time before it has been off longer than it may. What is used by
    hand has no hours: ``swap`` says what goes off for it. In a turn others are paused: wanted
    ones, and must-haves that may be off for an hour or more, never medical ones, and none for
    longer than it may be off; the list of them is the same in every turn. Hours in which the
    circuit is usually used are preferred. An integer program: most hours served (a
    must-have's count tenfold), an hour of a paused must-have counting 0.3 against it and of a
    wanted one 0.05; the best found within ``limit_s`` [s]. Starts are taken at the plan's
    point, or at the highest lower one that the source carries.
    """
    setting = plan.setting
    left = [
        setting.branches.index(x.branch)
        for x in plan.left_off
        if "no room" in x.why and not x.branch.hand
    ]
    if not left:
        return Rotation((), ())
    program = _Turns(plan, left)
    solution = program.solve(limit_s)
    return _rotation(plan, program, solution) if solution is not None else Rotation((), ())


class _Turns:
    """Columns, 24 for each row of them: hours on[X, h] of left-off branches, pauses off[Y, h]
    of those on, late[X, h] (X has been off too long in the window that begins at h), taken[h]
    (some turn in this hour), and once for each Y listed[Y]."""

    hours = 24

    def __init__(self, plan: RestorePlan, left: list[int]) -> None:
        self.setting, self.left, self.on = plan.setting, left, plan.on
        self.pausable = [i for i in self.on if pause_h(self.setting.branches[i]) >= 1]
        start = self.setting.case.start
        self.first_hour = (start.hour + bool(start.minute)) % self.hours
        self.need = {i: _need_h(self.setting, i) for i in left}
        stack, points = self.setting.stack, (0.95, 0.5)
        room = np.maximum(stack.surge - stack.typical_background(), 0.0)
        count = range(len(self.setting.branches))
        self.starts = np.array([planning_excess(stack, i, room, plan.point) for i in count])
        running, _ = stack.together(self.on)
        self.on_at = {x: np.quantile(running, x, axis=0) for x in points}
        self.each_at = {x: np.quantile(stack.running_draws, x, axis=0) for x in points}
        # A start that is planned below the plan's point: its hours are judged at the median.
        asked = np.quantile(stack.closing_draws, plan.point, axis=0)
        self.doubtful = [bool(np.any(row)) for row in self.starts < asked * 0.999 - 1e-9]
        self.rows: list[tuple[dict[int, float], float]] = []
        self._capacity()
        self._once()
        self._pauses()
        self._one_list()
        self._in_time()

    def turn(self, k: int, h: int) -> int:
        return k * self.hours + h % self.hours

    def pause(self, k: int, h: int) -> int:
        return (len(self.left) + k) * self.hours + h % self.hours

    def late(self, k: int, h: int) -> int:
        return (len(self.left) + len(self.pausable) + k) * self.hours + h % self.hours

    def taken(self, h: int) -> int:
        return (2 * len(self.left) + len(self.pausable)) * self.hours + h

    def listed(self, k: int) -> int:
        return (2 * len(self.left) + len(self.pausable) + 1) * self.hours + k

    def solve(self, limit_s: float) -> Array | None:
        month = (self.setting.case.start.month - 1) % 12
        cost = np.zeros(self.listed(len(self.pausable)))
        cost[self.late(0, 0) : self.taken(0)] = 20.0
        for k, i in enumerate(self.left):
            use = _use_by_hour(self.setting, i, month)
            must = self.setting.branches[i].priority == "must"
            first = self.turn(k, 0)
            cost[first : first + self.hours] = -(10.0 if must else 1.0) * (1.0 + 0.1 * use)
        for k, i in enumerate(self.pausable):
            must = self.setting.branches[i].priority == "must"
            first = self.pause(k, 0)
            cost[first : first + self.hours] = 0.3 if must else 0.05
        return minimise(cost, self.rows, limit_s)[0]

    def _capacity(self) -> None:
        """Every hour: what runs within the running limits, and any one start on top of it."""
        stack = self.setting.stack
        spare = stack.surge - stack.run
        for h in range(self.hours):
            for d in range(stack.run.size):
                self.rows.append((self._hour_terms(h, d, 0.95), self._room(d, 0.95)))
                for k, i in enumerate(self.left):
                    share = 0.5 if self.doubtful[i] else 0.95
                    terms = self._hour_terms(h, d, share)
                    for lift in self._starts_on_top(k, i, h, d, float(spare[d])):
                        both = {c: terms.get(c, 0.0) + lift.get(c, 0.0) for c in {**terms, **lift}}
                        self.rows.append((both, self._room(d, share)))

    def _room(self, d: int, share: float) -> float:
        """What the plan leaves free while running, at a point of belief."""
        return float(self.setting.stack.run[d] - self.on_at[share][d])

    def _starts_on_top(
        self, k: int, i: int, h: int, d: int, spare: float
    ) -> Iterator[dict[int, float]]:
        """In an hour of left-off branch i: its own start, and that of any that is not paused."""
        starts = self.starts[:, d] - spare
        if starts[i] > 0.0:
            yield {self.turn(k, h): float(starts[i])}
        for j in self.on:
            if starts[j] > 0.0:
                lift = {self.turn(k, h): float(starts[j])}
                if j in self.pausable:
                    lift[self.pause(self.pausable.index(j), h)] = -float(starts[j])
                yield lift

    def _hour_terms(self, h: int, d: int, share: float) -> dict[int, float]:
        terms: dict[int, float] = {}
        for k, i in enumerate(self.left):
            terms[self.turn(k, h)] = float(self.each_at[share][i, d])
        for k, i in enumerate(self.pausable):
            terms[self.pause(k, h)] = -float(self.setting.stack.counted[i, d])
        return terms

    def _once(self) -> None:
        """No more hours than are needed."""
        for k, i in enumerate(self.left):
            row = {self.turn(k, h): 1.0 for h in range(self.hours)}
            self.rows.append((row, float(self.need[i])))

    def _pauses(self) -> None:
        """None is paused for longer than it may be off."""
        for k, i in enumerate(self.pausable):
            most = pause_h(self.setting.branches[i])
            if most >= self.hours:
                continue
            for h in range(self.hours):
                window = {self.pause(k, h + j): 1.0 for j in range(most + 1)}
                self.rows.append((window, float(most)))

    def _one_list(self) -> None:
        """An hour with a turn is taken; in taken hours exactly what is listed is paused."""
        for h in range(self.hours):
            taken = self.taken(h)
            for k in range(len(self.left)):
                self.rows.append(({self.turn(k, h): 1.0, taken: -1.0}, 0.0))
            for k in range(len(self.pausable)):
                pause, listed = self.pause(k, h), self.listed(k)
                self.rows.append(({pause: 1.0, taken: -1.0}, 0.0))
                self.rows.append(({pause: 1.0, listed: -1.0}, 0.0))
                self.rows.append(({listed: 1.0, taken: 1.0, pause: -1.0}, 1.0))

    def _in_time(self) -> None:
        """A must-have is on at least once in every window as long as it may be off, and for
        the first time before it has been off for that long since the power went."""
        for k, i in enumerate(self.left):
            branch = self.setting.branches[i]
            if branch.priority != "must" or branch.may_be_off_s is None:
                continue
            most = min(int(branch.may_be_off_s // 3600), self.hours - 1)
            for h in range(self.hours):
                window = {self.turn(k, h + j): -1.0 for j in range(most + 1)}
                window[self.late(k, h)] = -1.0
                self.rows.append((window, -1.0))
            soon = {self.turn(k, self.first_hour + j): -1.0 for j in range(self._left_h(branch))}
            soon[self.late(k, self.first_hour)] = -1.0
            self.rows.append((soon, -1.0))

    def _left_h(self, branch: Branch) -> int:
        """Hours from the first full one in which the first turn is still in time; 1 at least."""
        case = self.setting.case
        lost_h = case.off_h + (60 - case.start.minute) % 60 / 60.0
        left_h = (branch.may_be_off_s or 0.0) / 3600.0 - lost_h
        return min(max(int(left_h) + 1, 1), self.hours)


def _rotation(plan: RestorePlan, program: _Turns, solution: Array) -> Rotation:
    """Hours in the order of the clock from the start of the case."""
    clock = [(program.first_hour + h) % program.hours for h in range(program.hours)]
    branches, stack = plan.setting.branches, plan.setting.stack
    on = {
        i: tuple(h for h in clock if solution[program.turn(k, h)] > 0.5)
        for k, i in enumerate(program.left)
    }
    paused = [
        i
        for k, i in enumerate(program.pausable)
        if any(
            solution[program.pause(k, h)] > 0.5 for h in clock if any(h in x for x in on.values())
        )
    ]
    rest = [i for i in plan.on if i not in paused]
    found = []
    for i, hours in on.items():
        if hours:
            beside = [j for j, other in on.items() if j != i and set(other) & set(hours)]
            found.append(Turn(branches[i], hours, stack.sure(i, [*rest, *beside])))
    return Rotation(tuple(branches[i] for i in paused), tuple(found))


def _need_h(setting: Setting, i: int) -> int:
    """Hours a day that a branch needs: its usual time on if it switches itself, else one."""
    hours = np.unique(setting.case.hours)
    usual = [
        24.0 * float(load.duty_array().ravel()[hours].mean())
        for load in setting.branches[i].loads
        if is_automatic(load)
    ]
    branch = setting.branches[i]
    if branch.priority == "must" and branch.may_be_off_s is not None:
        usual.append(24.0 * 3600.0 / max(branch.may_be_off_s, 3600.0))
    return int(np.ceil(min(max(usual, default=1.0), 24.0)))


def _use_by_hour(setting: Setting, i: int, month: int) -> Array:
    use: Array = sum(
        (load.duty_array()[month] * load.running_w.typical for load in setting.branches[i].loads),
        np.zeros(24),
    )
    return use / use.max() if use.max() > 0.0 else use
