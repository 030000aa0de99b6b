"""Starts that may never succeed: a branch alone on the source, against its limits.

A motor whose start asks for more than the source gives stands, hums and grows hot. The plan
may still try it alone, but says so, and what would settle or mend it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from loadlib_standby.branches import Branch
from loadlib_standby.engine import Range
from loadlib_standby.setting import Setting
from loadlib_standby.stack import SURE

if TYPE_CHECKING:
    from loadlib_standby.restore import RestorePlan

__all__ = ["StartDoubt", "doubts_of_plan", "start_doubt", "start_doubts"]

_STEP_W = 500.0


@dataclass(frozen=True, slots=True)
class StartDoubt:
    """A branch that may not start even alone.

    ``chance`` is the share of belief in which it starts with nothing else on; ``place`` the
    limit that is most often broken, with what is asked of it and what it gives, in ``unit``;
    ``needed_w`` the starting rating that would do at the 95 % point. [W]
    """

    branch: Branch
    chance: float
    place: str
    unit: str
    asked: Range
    limit: float
    needed_w: float

    def words(self) -> str:
        """What is in doubt, in one sentence."""
        odds = "it will most likely not start" if self.chance < 0.05 else "it may not start"
        if self.chance >= 0.5:
            odds = "it will probably start"
        return (
            f"{self.branch.label} alone asks for {self.asked.low:,.0f} to {self.asked.high:,.0f} "
            f"{self.unit} at its start on {self.place}, and {self.limit:,.0f} are there: {odds} "
            f"(chance {self.chance:.0%})."
        )

    def mends(self) -> tuple[str, ...]:
        """What would settle the doubt or mend it, nearest first."""
        pump = any("pump" in f"{x.name} {x.category}".casefold() for x in self.branch.loads)
        deep = any(
            word in f"{x.name} {x.category}".casefold()
            for x in self.branch.loads
            for word in ("well", "submersible")
        )
        found = ["Its plate: locked-rotor amps (LRA) or a code letter narrow the start."]
        if pump and deep:
            found.insert(
                0,
                "Two-wire or three-wire pump? A three-wire one, with a control box on the wall, "
                "starts softer.",
            )
        found += [
            "A reading of its inrush by an electrician.",
            "A soft starter, counted only once it is fitted.",
            f"A source of {self.needed_w:,.0f} W starting.",
        ]
        return tuple(found)


def start_doubts(setting: Setting, positions: Iterable[int]) -> tuple[StartDoubt, ...]:
    """Doubts among the branches at ``positions``, the worst first; blocked ones left out."""
    stack = setting.stack
    found = []
    for i in positions:
        branch = setting.branches[i]
        if branch.blocked or not any(load.start_va is not None for load in branch.loads):
            continue
        if stack.sure(i) < SURE:
            found.append(start_doubt(setting, i))
    return tuple(sorted(found, key=lambda doubt: doubt.chance))


def doubts_of_plan(plan: RestorePlan) -> tuple[StartDoubt, ...]:
    """Doubts about what the plan switches on and about what must run at some time."""
    setting = plan.setting
    asked = [
        i
        for i in setting.positions()
        if i in plan.on or setting.branches[i].priority == "must" or setting.branches[i].medical
    ]
    return start_doubts(setting, asked)


def start_doubt(setting: Setting, i: int) -> StartDoubt:
    """What branch ``i`` alone asks at its start, at the limit that it breaks most often."""
    stack = setting.stack
    _, peak = stack.switching_on(i, ())
    d = int(np.argmin((peak <= stack.surge).mean(axis=0)))
    high = np.quantile(peak, 0.95, axis=0)
    legs = [high[0]]
    if setting.source.connection != "cords":
        places = setting.feed.places
        legs += [len(places) * a * place.volts_v for a, place in zip(high[1:], places, strict=True)]
    return StartDoubt(
        branch=setting.branches[i],
        chance=stack.sure(i),
        place=stack.names[d],
        unit="VA" if d == 0 else "A",
        asked=Range.of_samples(peak[:, d]),
        limit=float(stack.surge[d]),
        needed_w=math.ceil(float(max(legs)) / _STEP_W) * _STEP_W,
    )
