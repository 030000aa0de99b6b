"""Circuits and legs beside the source: what one breaker carries, and which leg is the fuller."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loadlib_standby.branches import Branch
from loadlib_standby.setting import Setting

__all__ = ["LegMove", "best_move", "crowded_circuits", "long_starts"]

_SLACK = 1.05
"""A breaker of 20 A is not called too small for 20.3 A that nobody has measured."""

_WORTH = 0.1
"""A move is told from a gain of a tenth of the leg's limit on. A choice of ours."""


def crowded_circuits(setting: Setting, positions: Sequence[int]) -> tuple[str, ...]:
    """Circuits whose appliances, all on at once, draw more than their own breaker carries.

    Typical running amps; a breaker rides through a start of seconds.
    """
    breakers = {c.name.casefold(): c for c in setting.profile.circuits if c.breaker_a}
    amps: dict[str, float] = {}
    for load in (x for i in positions for x in setting.branches[i].loads):
        most = max(setting.feed.amps_per_va(load))
        key = load.circuit.casefold()
        amps[key] = amps.get(key, 0.0) + load.count * load.running_va.typical * most
    found = []
    for key, circuit in breakers.items():
        drawn_a, carries_a = amps.get(key, 0.0), circuit.breaker_a or 0.0
        if drawn_a > _SLACK * carries_a:
            found.append(
                f"Circuit {circuit.name}: everything on it at once draws {drawn_a:.0f} A, its "
                f"breaker carries {carries_a:.0f} A. Not all of it together, also on the street."
            )
    return tuple(found)


def long_starts(setting: Setting, positions: Sequence[int]) -> tuple[str, ...]:
    """Loads whose start may last longer than the source gives its starting rating."""
    held_s = setting.source.carrier.starting_s
    return tuple(
        f"{load.name}: its start may last {load.start_s.high:.0f} s, the source gives its starting "
        f"rating for {held_s:.0f} s."
        for i in positions
        for load in setting.branches[i].loads
        if load.start_va is not None and load.start_s.high > held_s
    )


@dataclass(frozen=True, slots=True)
class LegMove:
    """A circuit on the fuller leg, and the amps per leg before and after it is moved."""

    branch: Branch
    to: str
    before_a: tuple[float, ...]
    after_a: tuple[float, ...]

    def words(self) -> str:
        """For the electrician, in one sentence."""
        before = " and ".join(f"{x:.0f}" for x in self.before_a)
        after = " and ".join(f"{x:.0f}" for x in self.after_a)
        return (
            f"Legs: {before} A. With {self.branch.label} on {self.to} they would be {after} A: a "
            "note for the electrician, nobody else moves a breaker."
        )


def best_move(setting: Setting, on: Sequence[int]) -> LegMove | None:
    """The one circuit whose move to another leg makes the fuller leg emptiest.

    None where there is one leg only, or nothing worth a tenth of the leg's limit.
    """
    stack, places = setting.stack, setting.feed.places
    if len(places) < 2 or setting.source.connection == "cords":
        return None
    legs_a = stack.typical_background()[1:] + stack.counted[list(on), 1:].sum(axis=0)
    most_a = legs_a.max() - _WORTH * places[0].running_a
    best: LegMove | None = None
    for i in on:
        own_a = stack.counted[i, 1:]
        here = np.flatnonzero(own_a > 0.0)
        if here.size != 1:
            continue
        for there in range(len(places)):
            after = legs_a.copy()
            after[here[0]] -= own_a[here[0]]
            after[there] += own_a[here[0]]
            if after.max() < (most_a if best is None else max(best.after_a)):
                best = LegMove(setting.branches[i], places[there].name, tuple(legs_a), tuple(after))
    return best
