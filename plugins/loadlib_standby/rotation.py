"""What does not fit at once: swaps, one-at-a-time groups, and turns by the hour."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib_standby.branches import Branch, is_automatic
from loadlib_standby.restore import RestorePlan, planning_excess
from loadlib_standby.sequence import minimise
from loadlib_standby.setting import Setting
from loadlib_standby.verdict import apart_group, breaks

__all__ = ["Swap", "Turn", "one_at_a_time", "swap_for", "turn_lines", "turns"]

Array = NDArray[np.float64]

_MOST_SWAPPED = 3


@dataclass(frozen=True, slots=True)
class Swap:
    """To add ``branch``, ``off`` has to go off; None when no three others are enough."""

    branch: Branch
    off: tuple[Branch, ...] | None

    def words(self) -> str:
        """In one line."""
        if self.off is None:
            return f"{self.branch.label}: no three others make room for it."
        if not self.off:
            return f"{self.branch.label}: there may be room as it is; its start is in doubt."
        return f"{self.branch.label} ON? FIRST OFF: {', '.join(b.label for b in self.off)}."


def swap_for(plan: RestorePlan, name: str) -> Swap:
    """What would have to go off to add a branch: the fewest, least important ones.

    Medical loads are never given up for it, must-haves only if they may be off for an hour or
    more. Tested at the 95 % point of belief, or at the highest point that the branch alone keeps.
    """
    setting = plan.setting
    (wanted,) = setting.positions([name])[:1]
    on = [i for i in plan.on if i != wanted]
    share = next((x for x in (0.95, 0.5) if not breaks(setting.stack, [wanted], x)), 0.05)
    host = _host(setting, wanted)
    loose = [i for i in on if i != host and _pause_h(setting.branches[i]) >= 1]
    loose.sort(key=lambda i: (setting.branches[i].priority == "must", -_size(setting, i)))
    for count in range(_MOST_SWAPPED + 1):
        groups = itertools.combinations(loose, count)
        ranked = sorted(groups, key=lambda group: _cost(setting, group))
        for group in ranked:
            rest = [i for i in on if i not in group]
            if _typical_fits(setting, [*rest, wanted]) and not breaks(
                setting.stack, [*rest, wanted], share
            ):
                return Swap(setting.branches[wanted], tuple(setting.branches[i] for i in group))
    return Swap(setting.branches[wanted], None)


def one_at_a_time(plan: RestorePlan) -> tuple[Branch, ...]:
    """What one at a time of runs together with the plan: appliances used by hand that fit on
    top, and a group of circuits of which any one may be on.

    Empty when there is nothing to choose between.
    """
    return (*plan.by_hand, *_circuit_group(plan))


def _circuit_group(plan: RestorePlan) -> tuple[Branch, ...]:
    """Branches of which one at a time runs together with the rest of plan and left-off list."""
    setting = plan.setting
    alone = [
        setting.branches.index(left.branch)
        for left in plan.left_off
        if left.why == "no room beside the others"
    ]
    if not alone:
        return ()
    group = apart_group(setting.stack, [*plan.on, *alone])
    return tuple(setting.branches[i] for i in group or ())


@dataclass(frozen=True, slots=True)
class Turn:
    """From one clock hour to another: ``on`` in addition, ``off`` in the meantime."""

    from_hour: int
    to_hour: int
    on: tuple[Branch, ...]
    off: tuple[Branch, ...]

    @property
    def hours(self) -> str:
        """From and to, clock hours."""
        return f"{self.from_hour:02d}–{self.to_hour:02d}"

    def words(self) -> str:
        """In one line."""
        return f"{self.hours} {self.change}"

    @property
    def change(self) -> str:
        """What goes on, and what goes off for it first."""
        on = " AND ".join(branch.label for branch in self.on)
        off = ", ".join(branch.label for branch in self.off)
        return f"{on} ON" + (f"; FIRST OFF: {off}" if off else "")


def turn_lines(by_clock: Sequence[Turn]) -> tuple[str, ...]:
    """A line for each change, with all the hours in which it is made."""
    hours: dict[str, list[str]] = {}
    for turn in by_clock:
        hours.setdefault(turn.change, []).append(turn.hours)
    lines = [f"{', '.join(times)}: {change}." for change, times in hours.items()]
    return (*lines, "Hour over: as before, hardest start first.") if lines else ()


def turns(plan: RestorePlan, limit_s: float = 3.0) -> tuple[Turn, ...]:
    """Turns over 24 clock hours for branches that the plan leaves off for want of room.

    A branch that switches itself needs its usual daily time on, one used by hand an hour; a
    must-have is also brought back each time before it has been off longer than it may. In
    the meantime others may be paused: wanted ones, and must-haves that may be off for an hour
    or more, never medical ones, and none for longer than it may be off. Hours in which the
    branch is usually used are preferred. An integer program: most hours served (a must-have's
    count tenfold), an hour of a paused must-have counting 0.3 against it and of a wanted one
    0.05; the best found within ``limit_s`` [s]. Starts are taken at the plan's point.
    """
    setting = plan.setting
    left = [setting.branches.index(x.branch) for x in plan.left_off if "no room" in x.why]
    if not left:
        return ()
    program = _Turns(plan, left)
    solution = program.solve(limit_s)
    return _merged(setting, program, solution) if solution is not None else ()


class _Turns:
    """Columns: hours on[X, h] of left-off branches, pauses off[Y, h] of those on, and late[X, h]:
    X has been off too long in the window that begins at h."""

    hours = 24

    def __init__(self, plan: RestorePlan, left: list[int]) -> None:
        self.setting, self.left, self.on = plan.setting, left, plan.on
        self.pausable = [i for i in self.on if _pause_h(self.setting.branches[i]) >= 1]
        self.first_hour = self.setting.case.start.hour
        self.need = {i: _need_h(self.setting, i) for i in left}
        room = np.maximum(self.setting.stack.surge - self.setting.stack.typical_background(), 0.0)
        self.starts = np.array(
            [
                planning_excess(self.setting.stack, i, room, plan.point)
                for i in range(len(self.setting.branches))
            ]
        )
        stack, points = self.setting.stack, (0.95, 0.5)
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
        self._in_time()
        self._hosts()

    def turn(self, k: int, h: int) -> int:
        return k * self.hours + h % self.hours

    def pause(self, k: int, h: int) -> int:
        return (len(self.left) + k) * self.hours + h % self.hours

    def late(self, k: int, h: int) -> int:
        return (len(self.left) + len(self.pausable) + k) * self.hours + h % self.hours

    def solve(self, limit_s: float) -> Array | None:
        month = (self.setting.case.start.month - 1) % 12
        cost = np.zeros((2 * len(self.left) + len(self.pausable), self.hours))
        cost[len(self.left) + len(self.pausable) :] = 20.0
        for k, i in enumerate(self.left):
            use = _use_by_hour(self.setting, i, month)
            must = self.setting.branches[i].priority == "must"
            cost[k] = -(10.0 if must else 1.0) * (1.0 + 0.1 * use)
        for k, i in enumerate(self.pausable):
            must = self.setting.branches[i].priority == "must"
            cost[len(self.left) + k] = 0.3 if must else 0.05
        return minimise(cost.ravel(), self.rows, limit_s)[0]

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
            most = _pause_h(self.setting.branches[i])
            if most >= self.hours:
                continue
            for h in range(self.hours):
                window = {self.pause(k, h + j): 1.0 for j in range(most + 1)}
                self.rows.append((window, float(most)))

    def _hosts(self) -> None:
        """The circuit of an appliance used by hand is not paused in its turn."""
        for k, i in enumerate(self.left):
            host = _host(self.setting, i)
            if host in self.pausable:
                j = self.pausable.index(host)
                for h in range(self.hours):
                    self.rows.append(({self.turn(k, h): 1.0, self.pause(j, h): 1.0}, 1.0))

    def _in_time(self) -> None:
        """A must-have is on at least once in every window as long as it may be off."""
        for k, i in enumerate(self.left):
            branch = self.setting.branches[i]
            if branch.priority != "must" or branch.may_be_off_s is None:
                continue
            most = min(int(branch.may_be_off_s // 3600), self.hours - 1)
            for h in range(self.hours):
                window = {self.turn(k, h + j): -1.0 for j in range(most + 1)}
                window[self.late(k, h)] = -1.0
                self.rows.append((window, -1.0))


def _merged(setting: Setting, program: _Turns, solution: Array) -> tuple[Turn, ...]:
    """Hours with equal members become one turn, in the order of the clock from the start."""
    on_off: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
    for h in range(program.hours):
        hour = (program.first_hour + h) % program.hours
        on = tuple(i for k, i in enumerate(program.left) if solution[program.turn(k, hour)] > 0.5)
        off = tuple(
            i for k, i in enumerate(program.pausable) if solution[program.pause(k, hour)] > 0.5
        )
        on_off.append((on, off if on else ()))
    found = []
    for key, group in itertools.groupby(range(program.hours), key=lambda h: on_off[h]):
        hours = [(program.first_hour + h) % program.hours for h in group]
        if key[0]:
            members = tuple(tuple(setting.branches[i] for i in side) for side in key)
            found.append(Turn(hours[0], (hours[-1] + 1) % program.hours, members[0], members[1]))
    return tuple(found)


def _host(setting: Setting, i: int) -> int | None:
    """Position of the circuit that an appliance used by hand is plugged into."""
    branch = setting.branches[i]
    if not branch.hand:
        return None
    circuit = branch.loads[0].circuit.casefold()
    for j, other in enumerate(setting.branches):
        if not other.hand and other.loads[0].circuit.casefold() == circuit:
            return j
    return None


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


def _pause_h(branch: Branch) -> int:
    """Whole hours for which a branch may be paused in a turn."""
    if branch.medical or (branch.priority == "must" and branch.may_be_off_s is None):
        return 0
    if branch.may_be_off_s is None:
        return 24
    return int(branch.may_be_off_s // 3600)


def _use_by_hour(setting: Setting, i: int, month: int) -> Array:
    use: Array = sum(
        (load.duty_array()[month] * load.running_w.typical for load in setting.branches[i].loads),
        np.zeros(24),
    )
    return use / use.max() if use.max() > 0.0 else use


def _cost(setting: Setting, group: Sequence[int]) -> tuple[int, float]:
    musts = sum(setting.branches[i].priority == "must" for i in group)
    return musts, sum(_size(setting, i) for i in group)


def _typical_fits(setting: Setting, chosen: Sequence[int]) -> bool:
    stack = setting.stack
    total = stack.typical_background() + stack.counted[list(chosen)].sum(axis=0)
    return bool(np.all(total <= stack.run))


def _size(setting: Setting, i: int) -> float:
    return float((setting.stack.counted[i] / setting.stack.run).max())
