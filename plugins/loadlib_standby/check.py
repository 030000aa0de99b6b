"""Check: will the source carry these circuits. Everything as ranges, the verdict in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loadlib_standby.chain import Link, cord_drop, cord_links, smallest
from loadlib_standby.circuits import crowded_circuits, long_starts
from loadlib_standby.deficit import Deficit, deficits
from loadlib_standby.doubt import StartDoubt, start_doubts
from loadlib_standby.engine import Range
from loadlib_standby.facts import not_watts
from loadlib_standby.overload import Overloads, overloads
from loadlib_standby.setting import Setting
from loadlib_standby.source import Cord
from loadlib_standby.verdict import NOT, Verdict, judge
from loadlib_standby.wire import Drop

__all__ = ["Cold", "CordDrops", "LimitUse", "SourceCheck", "check", "deficits_of"]


@dataclass(frozen=True, slots=True)
class LimitUse:
    """One limit: what runs together and the peak with the largest start on top, against it.

    ``place`` is ``"the whole"`` (W; the peak adds VA of the start) or a leg or outlet (A).
    """

    place: str
    unit: str
    running: Range
    running_limit: float
    peak: Range
    starting_limit: float


@dataclass(frozen=True, slots=True)
class Cold:
    """Everything cold: what calls at once, for how long the last one does, and whether the
    95 % point is within the limits; ``deficits`` are those that the case states."""

    together_w: Range
    peak_va: float
    lasts_s: float
    last: str
    within: bool
    deficits: tuple[Deficit, ...] = ()


@dataclass(frozen=True, slots=True)
class CordDrops:
    """Voltage lost on a cord, stranded copper at 75 °C, at running and at start current."""

    cord: str
    running_a: float
    running: Drop
    start_a: float
    start: Drop


@dataclass(frozen=True, slots=True)
class SourceCheck:
    """The answer. ``verdict.value`` is one of three; all else is what stands behind it."""

    house: str
    source: str
    case: str
    chosen: tuple[str, ...]
    verdict: Verdict
    links: tuple[Link, ...]
    smallest: str
    limits: tuple[LimitUse, ...]
    all_starts_va: float
    neutral_a: float
    neutral_one_leg_a: float
    cold: Cold
    drops: tuple[CordDrops, ...]
    overloads: Overloads
    doubts: tuple[StartDoubt, ...]
    mismatches: tuple[str, ...]
    derating: str
    notes: tuple[str, ...]

    @property
    def negative(self) -> bool:
        """True for "does not fit"."""
        return self.verdict.value == NOT


def check(
    setting: Setting, names: Sequence[str] = (), *, seed: int = 1, replicates: int = 2000
) -> SourceCheck:
    """Check the named circuits; without names all that are not to be left off.

    Parameters
    ----------
    setting : Setting
        house, source, case.
    names : sequence of str
        circuits or loads.
    seed : int
        of the simulation of nights.
    replicates : int
        nights simulated; the chance of none has a standard error of at most 0.5/√replicates.
    """
    chosen = setting.positions(names)
    usable = [i for i in chosen if not setting.branches[i].blocked]
    links = setting.feed.chain.links if setting.feed.chain else cord_links(setting.source)
    return SourceCheck(
        house=setting.profile.house,
        source=setting.source.name,
        case=setting.case.words(),
        chosen=tuple(setting.branches[i].label for i in chosen),
        verdict=judge(setting.stack, chosen),
        links=links,
        smallest=smallest(links).name,
        limits=_limit_uses(setting, usable),
        all_starts_va=_all_starts_va(setting, usable),
        neutral_a=_neutral(setting, usable, one_leg=False),
        neutral_one_leg_a=_neutral(setting, usable, one_leg=True),
        cold=_cold(setting, usable),
        drops=_drops(setting, usable),
        overloads=overloads(
            setting.feed, setting.loads_on(usable), setting.case, seed=seed, replicates=replicates
        ),
        doubts=start_doubts(setting, (i for i in usable if not setting.branches[i].hand)),
        mismatches=tuple(
            dict.fromkeys(b.blocked for b in (setting.branches[i] for i in chosen) if b.blocked)
        ),
        derating=setting.source.derating_words(),
        notes=(
            *crowded_circuits(setting, usable),
            *long_starts(setting, usable),
            *setting.feed.notes,
            *not_watts(setting),
        ),
    )


def _limit_uses(setting: Setting, usable: list[int]) -> tuple[LimitUse, ...]:
    stack = setting.stack
    running, peak = stack.ranges(usable)
    return tuple(
        LimitUse(
            name,
            "W" if d == 0 else "A",
            running[d],
            float(stack.run[d]),
            peak[d],
            float(stack.surge[d]),
        )
        for d, name in enumerate(stack.names)
    )


def _all_starts_va(setting: Setting, usable: list[int]) -> float:
    """Every start at the same instant on top of everything: shown beside, never the verdict."""
    stack = setting.stack
    running = stack.typical_background() + stack.counted[usable].sum(axis=0)
    return float(running[0] + stack.excess[usable, 0].sum())


def _neutral(setting: Setting, usable: list[int], *, one_leg: bool) -> float:
    """Neutral current, typical, of line-to-neutral loads: all on, or only the fuller leg."""
    feed = setting.feed
    amps = np.zeros(len(feed.places))
    for i in usable:
        for load in setting.branches[i].loads:
            if not load.line_to_line:
                share = setting.branches[i].counted_share * load.count
                amps += share * load.running_va.typical * np.array(feed.amps_per_va(load))
    if one_leg:
        return float(amps.max(initial=0.0)) if len(amps) > 1 else float(amps.sum())
    return feed.neutral(tuple(float(x) for x in amps))


def _cold(setting: Setting, usable: list[int]) -> Cold:
    stack = setting.stack
    if not usable:
        return Cold(Range.exact(0.0), 0.0, 0.0, "", True)
    share = stack.cold[usable] / np.maximum(stack.counted[usable], 1e-12)
    draws = stack.background + (stack.running_draws[:, usable] * share).sum(axis=1)
    peak = draws + stack.start_draws[:, usable].max(axis=1)
    within = bool(
        np.all(np.quantile(draws, 0.95, axis=0) <= stack.run)
        and np.all(np.quantile(peak, 0.95, axis=0) <= stack.surge)
    )
    last = max(usable, key=lambda i: stack.hold_s[i])
    return Cold(
        together_w=Range.of_samples(draws[:, 0]),
        peak_va=float(np.median(peak[:, 0])),
        lasts_s=float(stack.hold_s[last]),
        last=setting.branches[last].label,
        within=within,
        deficits=deficits_of(setting, usable),
    )


def deficits_of(setting: Setting, positions: Sequence[int]) -> tuple[Deficit, ...]:
    """What the case says that loads on these branches make up for."""
    on = {load.id for i in positions for load in setting.branches[i].loads}
    return tuple(one for one in deficits(setting.feed.loads, setting.case) if one.load in on)


def _drops(setting: Setting, usable: list[int]) -> tuple[CordDrops, ...]:
    """One for the cord into the panel (fuller leg, over line volts), or one an outlet.

    No more current than the chain lets pass.
    """
    if not usable:
        return ()
    running, peak = setting.stack.ranges(usable)
    if setting.source.connection == "cords":
        return tuple(
            _drop(f"cord of {outlet.name}", outlet.cord, running[k].typical, peak[k].typical,
                  outlet.volts_v, 1)
            for k, outlet in enumerate(setting.source.outlets, start=1)
            if outlet.cord is not None
        )  # fmt: skip
    cord, supply = setting.source.cord, setting.source.supply
    if cord is None:
        return ()
    place = setting.feed.places[0]
    running_a = min(max(x.typical for x in running[1:]), place.running_a)
    start_a = min(max(x.typical for x in peak[1:]), place.starting_a)
    return (_drop("cord", cord, running_a, start_a, supply.line_v, 3 if supply.legs == 3 else 1),)


def _drop(
    name: str, cord: Cord, running_a: float, start_a: float, volts_v: float, phases: int
) -> CordDrops:
    running = cord_drop(cord, running_a, volts_v, phases=phases)
    start = cord_drop(cord, start_a, volts_v, phases=phases)
    words = f"{name}, {cord.gauge} AWG, {cord.length_ft:.0f} ft"
    return CordDrops(words, running_a, running, start_a, start)
