"""What goes off for what, and what is used one at a time."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loadlib_standby.branches import Branch
from loadlib_standby.restore import RestorePlan
from loadlib_standby.setting import Setting
from loadlib_standby.stack import SURE
from loadlib_standby.verdict import apart_group, breaks

__all__ = ["Swap", "host_of", "one_at_a_time", "pause_h", "swap_for"]

_MOST_SWAPPED = 3


@dataclass(frozen=True, slots=True)
class Swap:
    """To add ``branch``, ``off`` has to go off; None when no three others are enough.

    ``sure`` is the share of belief in which it then runs and starts within every limit.
    """

    branch: Branch
    off: tuple[Branch, ...] | None
    sure: float = 0.0

    def words(self) -> str:
        """In one line."""
        if self.off is None:
            return f"{self.branch.label}: no three others make room for it."
        mark = " (?)" if self.sure < SURE else ""
        if not self.off:
            return f"{self.branch.label}{mark}: there may be room as it is."
        return f"{self.branch.label}{mark}: FIRST OFF {', '.join(b.label for b in self.off)}."


def swap_for(plan: RestorePlan, name: str) -> Swap:
    """What would have to go off to add a branch: the fewest, least important ones.

    Medical loads are never given up for it, must-haves only if they may be off for an hour or
    more. Tested at the 95 % point of belief, or at the highest point that the branch alone keeps.
    """
    setting = plan.setting
    (wanted,) = setting.positions([name])[:1]
    on = [i for i in plan.on if i != wanted]
    share = next((x for x in (0.95, 0.5) if not breaks(setting.stack, [wanted], x)), 0.05)
    host = host_of(setting, wanted)
    loose = [i for i in on if i != host and pause_h(setting.branches[i]) >= 1]
    loose.sort(key=lambda i: (setting.branches[i].priority == "must", -_size(setting, i)))
    for count in range(_MOST_SWAPPED + 1):
        groups = itertools.combinations(loose, count)
        ranked = sorted(groups, key=lambda group: _cost(setting, group))
        for group in ranked:
            rest = [i for i in on if i not in group]
            if _typical_fits(setting, [*rest, wanted]) and not breaks(
                setting.stack, [*rest, wanted], share
            ):
                off = tuple(setting.branches[i] for i in group)
                return Swap(setting.branches[wanted], off, setting.stack.sure(wanted, rest))
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


def host_of(setting: Setting, i: int) -> int | None:
    """Position of the circuit that an appliance used by hand is plugged into."""
    branch = setting.branches[i]
    circuit = branch.loads[0].circuit.casefold()
    if not branch.hand or not circuit:
        return None
    for j, other in enumerate(setting.branches):
        if not other.hand and other.loads[0].circuit.casefold() == circuit:
            return j
    return None


def pause_h(branch: Branch) -> int:
    """Whole hours for which a branch may be paused in a turn."""
    if branch.medical or (branch.priority == "must" and branch.may_be_off_s is None):
        return 0
    if branch.may_be_off_s is None:
        return 24
    return int(branch.may_be_off_s // 3600)


def _cost(setting: Setting, group: Sequence[int]) -> tuple[int, float]:
    musts = sum(setting.branches[i].priority == "must" for i in group)
    return musts, sum(_size(setting, i) for i in group)


def _typical_fits(setting: Setting, chosen: Sequence[int]) -> bool:
    stack = setting.stack
    total = stack.typical_background() + stack.counted[list(chosen)].sum(axis=0)
    return bool(np.all(total <= stack.run))


def _size(setting: Setting, i: int) -> float:
    return float((setting.stack.counted[i] / setting.stack.run).max())
