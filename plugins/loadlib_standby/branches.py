"""Branches: what one hand can switch. A circuit of the panel, a plug-in load on a cord, or an
appliance that somebody uses by hand.

On a circuit with other loads, or on no known circuit, appliances of 300 W and more that only
run when a person uses them (a microwave oven beside the incubator) are branches of their own:
nobody has to switch a circuit off to hold them back.

A branch is counted at the greater of its largest load and the 95 % point of its own demand
over the hours of the case: a circuit of thirty lamps is not thirty lamps at once, a water
heater is a water heater. When it is switched on cold, everything that switches itself calls
at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loadlib_standby.case import OutageCase
from loadlib_standby.engine import (
    UNLISTED,
    Circuit,
    Load,
    LoadProfile,
    NotFound,
    distribution,
    processes,
)
from loadlib_standby.feed import Feed

__all__ = [
    "ALWAYS_ON",
    "HAND_W",
    "Branch",
    "branches_of",
    "is_automatic",
    "is_by_hand",
    "named_branches",
    "surge_excess_va",
]

ALWAYS_ON = 0.95
"""A load that is on for this share of the time counts as always on."""

HAND_W = 300.0
"""From this power on an appliance is worth holding back by hand. A choice of ours."""

_RANK = {"must": 0, "wanted": 1, "off": 2}


@dataclass(frozen=True, slots=True)
class Branch:
    """One circuit or plug-in load.

    ``counted_share`` is the share of all its loads on at once that is counted while running,
    ``cold_share`` the same just after it is switched on. ``blocked`` says why it cannot run
    here at all; ``unwired`` that it is merely not connected to the source; ``hand`` that it is
    an appliance used by hand that may be held back. ``may_be_off_s`` is the least of its
    loads'.
    """

    name: str
    slots: tuple[int, ...]
    loads: tuple[Load, ...]
    priority: str
    medical: bool
    may_be_off_s: float | None
    if_off: str
    depends_on: tuple[str, ...]
    counted_share: float
    cold_share: float
    blocked: str = ""
    unwired: bool = False
    hand: bool = False
    leg_guessed: bool = False

    @property
    def label(self) -> str:
        """Slots and name in capitals, as on the card."""
        slots = "-".join(str(slot) for slot in self.slots)
        if not slots:
            return self.name.upper()
        if self.hand:
            return f"{self.name.upper()} (SLOT {slots})"
        return f"SLOT {slots} {self.name.upper()}"

    @property
    def all_on_w(self) -> float:
        """Every load of it on, typical. [W]"""
        return sum(load.running_w.typical * load.count for load in self.loads)

    @property
    def restart_delay_s(self) -> float:
        """Longest delay before one of its compressors starts. [s]"""
        return max((load.restart_delay_s for load in self.loads), default=0.0)

    @property
    def start_s(self) -> float:
        """Longest start, high end. [s]"""
        starts = [load.start_s.high for load in self.loads if load.start_va is not None]
        return max(starts, default=0.0)

    @property
    def restarts_itself(self) -> bool:
        """True when a motor on it starts again without a hand."""
        return any(load.start_va is not None and is_automatic(load) for load in self.loads)


def is_automatic(load: Load) -> bool:
    """A load that switches itself: thermostat, float, pressure switch, or always on.

    Pumps follow a float or a pressure switch whether their category says so or not.
    """
    always = bool(load.duty_array().mean() >= ALWAYS_ON)
    pump = "pump" in load.category.casefold()
    return load.thermostatic or load.time_constant_s is not None or always or pump


def is_by_hand(load: Load) -> bool:
    """A load of 300 W or more that runs only when a person uses it and may be held back."""
    vital = load.medical or load.priority == "must"
    lighting = load.kind == "lighting" or load.count > 1
    return not (vital or lighting or is_automatic(load)) and load.running_w.typical >= HAND_W


def surge_excess_va(load: Load) -> float:
    """Start less running, typical; 0 where there is no start step. [VA]"""
    return max(load.largest_va.typical - load.running_va.typical, 0.0)


def branches_of(profile: LoadProfile, feed: Feed, case: OutageCase) -> tuple[Branch, ...]:
    """Branches of a house as the source meets it, must-haves first.

    Loads without a circuit become branches of their own; the unlisted remainder is left out
    (it has no breaker) and counted as background.
    """
    groups: dict[str, list[Load]] = {}
    circuits = {c.name.casefold(): c for c in profile.circuits}
    for load in feed.loads:
        if load.id != UNLISTED:
            key = load.circuit.casefold() if load.circuit else f"load:{load.id}"
            groups.setdefault(key, []).append(load)
    found = []
    for key, loads in groups.items():
        hand = [load for load in loads if is_by_hand(load)]
        rest = [load for load in loads if load not in hand]
        plugged = bool(hand) and not hand[0].circuit
        if rest or plugged:
            found += [_by_hand(circuits.get(key), load, feed, case) for load in hand]
        if rest or not plugged:
            found.append(_branch(circuits.get(key), rest or hand, feed, case))
    return tuple(sorted(found, key=lambda b: (_RANK[b.priority], not b.medical)))


def named_branches(branches: Sequence[Branch], names: Sequence[str]) -> list[Branch]:
    """Branches by circuit name (with what is used by hand on it) or by one of their loads.

    NotFound for a stranger.
    """
    found = []
    for name in names:
        key = name.strip().casefold()
        hits = [
            b for b in branches if key in (b.name.casefold(), b.loads[0].circuit.casefold())
        ] or [
            b for b in branches if any(key in (x.id.casefold(), x.name.casefold()) for x in b.loads)
        ]
        if not hits:
            raise NotFound("circuit", name, near=tuple(b.name for b in branches)[:10])
        found += hits
    return found


def _branch(circuit: Circuit | None, loads: list[Load], feed: Feed, case: OutageCase) -> Branch:
    name = circuit.name if circuit else (loads[0].circuit or loads[0].name)
    counted, cold = _shares(loads, case)
    ordered = [_priority(load, case) for load in loads]
    limits = [load.may_be_off_s for load in loads if load.may_be_off_s is not None]
    reasons = [feed.blocked[load.id] for load in loads if load.id in feed.blocked]
    left_off = bool({"off"} == set(ordered))
    return Branch(
        name=name,
        slots=circuit.slots if circuit else (),
        loads=tuple(loads),
        priority="off" if left_off else min((x for x in ordered), key=_RANK.__getitem__),
        medical=any(load.medical for load in loads),
        may_be_off_s=min(limits, default=None),
        if_off="; ".join(dict.fromkeys(load.if_off for load in loads if load.if_off)),
        depends_on=circuit.depends_on if circuit else (),
        counted_share=counted,
        cold_share=cold,
        blocked=" ".join(dict.fromkeys(reasons)),
        unwired=any(load.id in feed.unwired for load in loads),
        leg_guessed=circuit.leg_guessed if circuit else False,
    )


def _by_hand(circuit: Circuit | None, load: Load, feed: Feed, case: OutageCase) -> Branch:
    return replace(_branch(circuit, [load], feed, case), name=load.name, hand=True)


def _priority(load: Load, case: OutageCase) -> str:
    keys = {load.id.casefold(), load.name.casefold(), load.circuit.casefold()}
    if load.medical or keys & {word.casefold() for word in case.must}:
        return "must"
    if keys & {word.casefold() for word in case.leave_off}:
        return "off"
    return load.priority


def _shares(loads: list[Load], case: OutageCase) -> tuple[float, float]:
    """Counted and cold share of everything on at once."""
    all_w = sum(load.running_w.typical * load.count for load in loads)
    if all_w <= 0.0:
        return 1.0, 1.0
    hours = np.unique(case.hours)
    law = distribution(processes(loads).at(hours), _step_w(all_w))
    usual_w = float(law.quantiles_w((0.95,)).max())
    largest_w = max(load.running_w.typical for load in loads)
    counted = min(max(usual_w, largest_w) / all_w, 1.0)
    automatic_w = sum(x.running_w.typical * x.count for x in loads if is_automatic(x))
    rest_w = sum(
        x.running_w.typical * x.count * float(x.duty_array().ravel()[hours].max())
        for x in loads
        if not is_automatic(x)
    )
    return counted, min(max((automatic_w + rest_w) / all_w, counted), 1.0)


def _step_w(all_w: float) -> float:
    """A grid of some two hundred steps over the branch. [W]"""
    return float(np.clip(all_w / 200.0, 1.0, 25.0))
