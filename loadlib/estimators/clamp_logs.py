"""Claims from logs: demand of what was logged, and appliances that its steps look like."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.cycles import Cycles, on_off, pair_edges
from loadlib.clamp.matching import Assigned, Programme, Signature, assign
from loadlib.clamp.steps import find_steps
from loadlib.core.claims import Claim, DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance
from loadlib.core.ranges import Range
from loadlib.core.readings import APPARENT
from loadlib.core.series import Series
from loadlib.errors import NotFound
from loadlib.estimators.bill import series_claims
from loadlib.estimators.clockhours import cells_of
from loadlib.estimators.nameplate import claims_about

__all__ = ["log_claims", "proposals", "signature_of"]

Array = NDArray[np.float64]

_CLAMP_SHARE = 0.04
_APPARENT_FACTOR, _APPARENT_SHARE = 0.93, 0.1
"""Watts over volt-amperes of a house and its doubt, where only amps were logged; as the power
factor of a house in ``clamp``."""

_LONGEST_STEP_S = 60
_SURGE_STEP_S = 1
_LEAST_HOUSE_EDGE_W = 100.0
_ENOUGH = 5
_SURE = 0.7
_INDIVIDUAL = 1.4
"""One appliance's draw against its kind's typical figure: at least this factor either way when
steps are matched. A judgement."""

_BOTH_SHARE = 0.25
_AROUND = 3

_PROGRAMMES = {
    "dishwasher": Programme(Range(1.0, 2.0, 3.5), Range(0.25, 0.5, 0.75)),
    "clothes_washer": Programme(Range(1.0, 1.5, 4.0), Range(0.02, 0.15, 0.45)),
    "washer_dryer": Programme(Range(1.0, 1.5, 4.0), Range(0.02, 0.15, 0.45)),
    "clothes_dryer": Programme(Range(1.0, 4.0, 30.0), Range(0.05, 0.3, 0.6)),
    "tumble_dryer": Programme(Range(1.0, 4.0, 30.0), Range(0.05, 0.3, 0.6)),
    "electric_oven": Programme(Range(2.0, 6.0, 20.0), Range(0.2, 0.5, 0.8)),
    "electric_range": Programme(Range(1.0, 4.0, 20.0), Range(0.1, 0.4, 0.8)),
}
"""Heats of a programme and idle time between them: read off the dishwashers, washing machines
and dryer of the tracebase data (Reinhardt A. et al. 2012), 14 days; ovens and ranges judged."""


def log_claims(evidence: Evidence) -> Iterator[Claim]:
    """Claims from every log (flow ``"load"``), those of the legs of one log taken together."""
    logs = [one for one in evidence.series if one.flow == "load"]
    for one in logs:
        share = _CLAMP_SHARE
        if APPARENT in one.notes:
            one = replace(one, mean_w=one.mean_w * _APPARENT_FACTOR)
            share = _APPARENT_SHARE
        yield from series_claims(one, one.timezone or evidence.house.timezone, share)
    for found in proposals(evidence):
        yield from _of_proposal(found)


@dataclass(frozen=True, slots=True)
class Proposal:
    """What steps of a log say about one appliance."""

    appliance: Appliance
    log: Series
    source: str
    cycles: Cycles
    chance: Array
    alone: bool

    @property
    def sure(self) -> float:
        """Mean chance that the times on are its own."""
        return float(self.chance.mean())


def proposals(evidence: Evidence) -> Iterator[Proposal]:
    """Appliances that the steps of logs of a minute or less may be, with enough times on."""
    for log, legs in _joined(evidence):
        if log.step_s > _LONGEST_STEP_S:
            continue
        candidates, alone = _candidates(log.place, evidence)
        if not candidates:
            continue
        cycles, assigned = _assigned(log, legs, candidates, evidence, alone=alone)
        for k, appliance in enumerate(candidates):
            mine = np.flatnonzero(assigned.who == k)
            if mine.size < _ENOUGH or float(assigned.chance[mine].mean()) < _SURE:
                continue
            yield Proposal(
                appliance, log, _source(log), _picked(cycles, mine), assigned.chance[mine], alone
            )


def _source(log: Series) -> str:
    days = log.mean_w.size * log.step_s / 86_400.0
    return f"steps in the log {log.channel}, {log.place}, {days:.0f} days of {log.step_s} s"


def _joined(evidence: Evidence) -> Iterator[tuple[Series, dict[str, Array]]]:
    """Logs; the legs of one start and step as a log of the whole house."""
    logs = [one for one in evidence.series if one.flow == "load"]
    names = [f"leg {leg}" for leg in evidence.house.supply.legs]
    groups: dict[tuple[int, int, int], list[Series]] = {}
    for one in logs:
        if one.place in names:
            groups.setdefault((one.start_s, one.step_s, one.mean_w.size), []).append(one)
        else:
            yield one, {}
    for group in groups.values():
        if len(group) == len(names) > 1:
            legs = {one.place.removeprefix("leg "): one.mean_w for one in group}
            total = np.sum([one.mean_w for one in group], axis=0)
            yield replace(group[0], place="whole", mean_w=total), legs
        else:
            for one in group:
                yield one, {}


def _candidates(place: str, evidence: Evidence) -> tuple[list[Appliance], bool]:
    """Appliances that may switch at a place, and whether it is one alone."""
    house = evidence.house
    kind, _, name = place.partition(" ")
    try:
        if kind == "appliance":
            return [house.appliance(name)], True
        if kind == "circuit":
            circuit = house.circuit(name).name
            found = [one for one in house.appliances if one.circuit == circuit]
            return found, len(found) == 1
    except NotFound:
        return [], False
    if kind == "leg":
        return [one for one in house.appliances if not one.legs or name in one.legs], False
    return list(house.appliances), False


def _assigned(
    log: Series,
    legs: dict[str, Array],
    candidates: Sequence[Appliance],
    evidence: Evidence,
    *,
    alone: bool,
) -> tuple[Cycles, Assigned]:
    signatures = [signature_of(one, evidence) for one in candidates]
    if alone:
        cycles = on_off(log.mean_w, float(log.step_s))
        n = len(cycles)
        return cycles, Assigned(np.zeros(n, np.int64), np.ones(n), tuple(signatures), np.arange(n))
    steps = find_steps(log.mean_w, float(log.step_s), _LEAST_HOUSE_EDGE_W)
    cycles = pair_edges(steps, log.mean_w, float(log.step_s))
    times = log.start_s + cycles.start * log.step_s
    zone = log.timezone or evidence.house.timezone
    hour = cells_of(times, zone) % 24 if len(cycles) else np.empty(0, np.int64)
    names = _legs_of(cycles, legs)
    days = log.mean_w.size * log.step_s / 86_400.0
    return cycles, assign(cycles, float(log.step_s), hour, names, days, signatures)


def _legs_of(cycles: Cycles, legs: dict[str, Array]) -> list[str]:
    """Leg of each time on, from where its rise shows; "" in a log without legs."""
    if len(legs) < 2:
        return [""] * len(cycles)
    names = list(legs)
    rises = []
    for values in legs.values():
        size = values.size
        before = np.stack([values[np.maximum(cycles.start - k, 0)] for k in range(1, _AROUND + 1)])
        after = np.stack(
            [values[np.minimum(cycles.start + k, size - 1)] for k in range(1, _AROUND + 1)]
        )
        rises.append(np.median(after, axis=0) - np.median(before, axis=0))
    share = np.stack(rises) / np.maximum(cycles.size_w, 1.0)
    both = "".join(names)
    return [
        both if (column > _BOTH_SHARE).sum() > 1 else names[int(np.argmax(column))]
        for column in share.T
    ]


def _picked(cycles: Cycles, mine: NDArray[np.int64]) -> Cycles:
    return Cycles(
        cycles.start[mine],
        cycles.end[mine],
        cycles.size_w[mine],
        cycles.surge_w[mine],
        cycles.share[mine],
    )


def signature_of(appliance: Appliance, evidence: Evidence) -> Signature:
    """What steps of an appliance should look like, from its label and its category."""
    category = evidence.categories.get(appliance.category)
    said = {
        claim.quantity: claim.value
        for claim in claims_about(appliance, category, evidence.house.supply)
    }
    running = said["running_w"]
    size = Range(
        min(running.low, running.typical / _INDIVIDUAL),
        running.typical,
        max(running.high, running.typical * _INDIVIDUAL),
    )
    programme = next(
        (one for key, one in _PROGRAMMES.items() if appliance.category.startswith(key)), None
    )
    per_day = 1.0
    hours: tuple[float, ...] = (1.0,) * 24
    on_s = said.get("on_s", Range(30.0, 600.0, 6000.0))
    if category is not None:
        per_day = max(category.cycles_per_day.typical, 0.02) * appliance.count
        hours = category.use_by_hour or hours
    leg = ""
    if len(appliance.legs) > 1 or (category is not None and category.voltage_v > 200.0):
        leg = "".join(evidence.house.supply.legs) if len(evidence.house.supply.legs) == 2 else ""
    return Signature(appliance.id, size, on_s, per_day, hours, leg, programme)


def _of_proposal(found: Proposal) -> Iterator[Claim]:
    """Running watts, energy, length and number of times on, and the start where it shows."""
    cycles, log = found.cycles, found.log
    step_s = float(log.step_s)
    doubt = 1.0 if found.alone else 1.0 / found.sure
    on_s = cycles.on_s(step_s)
    running = _middle(cycles.size_w, 0.05 * doubt)
    words = "" if found.alone else f", taken for it with a chance of {found.sure:.0%}"
    source = f"{found.source}, {on_s.size} times on{words}"
    about = found.appliance.id
    yield LoadClaim(about, "running_w", running, source)
    if found.alone:
        yield LoadClaim(about, "on_s", _middle(on_s, 0.1), source)
        days = log.mean_w.size * step_s / 86_400.0
        per_h = on_s.size / (24.0 * days)
        spread = 1.0 + 1.645 / np.sqrt(on_s.size) + 0.1
        yield LoadClaim(about, "starts_per_h", Range.around(per_h, float(spread)), source)
    else:
        energy = float((cycles.size_w * on_s).sum()) / 3600.0
        # Times on that were missed or taken from others: the share that was not sure, and a
        # third on top, as found in the minute data of REFIT house 20.
        band = 1.0 + 0.33 + (doubt - 1.0)
        yield DemandClaim(
            "energy_wh",
            Range.around(energy, band),
            source,
            f"appliance {about}",
            start_s=log.start_s,
            end_s=log.start_s + log.mean_w.size * log.step_s,
        )
    surge = cycles.surge_w
    if log.step_s <= _SURGE_STEP_S and float(np.median(surge)) > 1.5 * running.typical:
        top = float(np.quantile(surge, 0.9))
        # A mean over a second sees a part of an inrush that lasts a fraction of one.
        yield LoadClaim(about, "start_va", Range(top * 0.9, top * 1.3, top * 3.0), source)


def _middle(values: Array, least_share: float) -> Range:
    """Median of the times on, as doubtful as they spread and at least so much."""
    middle = float(np.median(values))
    low, high = (float(x) for x in np.quantile(values, (0.1, 0.9)))
    return Range(
        min(low, middle * (1.0 - least_share)), middle, max(high, middle * (1.0 + least_share))
    )
