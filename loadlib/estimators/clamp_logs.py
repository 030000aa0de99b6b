"""Claims from logs: demand of what was logged, and appliances that its steps look like."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from loadlib.clamp.cycles import Cycles, on_off, pair_edges
from loadlib.clamp.laws import law_of
from loadlib.clamp.matching import Assigned, Programme, Signature, assign
from loadlib.clamp.steps import LONGEST_STEP_S, find_steps
from loadlib.core.claims import Claim, DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance
from loadlib.core.ranges import Range
from loadlib.core.readings import APPARENT
from loadlib.core.series import Series
from loadlib.errors import NotFound
from loadlib.estimators.bill import LEAST_PRESENT, series_claims
from loadlib.estimators.clockhours import cells_of
from loadlib.estimators.nameplate import claims_about
from loadlib.estimators.overlap import one_voice

__all__ = [
    "Proposal",
    "assigned_of",
    "candidates_of",
    "either",
    "log_claims",
    "proposal",
    "proposals",
    "signature_of",
]

Array = NDArray[np.float64]

_CLAMP_SHARE = 0.04
_APPARENT_FACTOR, _APPARENT_SHARE = 0.93, 0.1
"""Watts over volt-amperes of a house and its doubt, where only amps were logged; as the power
factor of a house in ``clamp``."""

_SURGE_STEP_S = 1
_LEAST_HIDDEN, _MOST_HIDDEN = 1.5, 3.0
"""A start over its highest mean of a second: judgements; starts last 0.3 to 0.6 s."""
_USUAL_START = 12.0
"""Highest usual start over running watts: 4.8 to 10.8 (10 and 90 %) of eight refrigerators
(Gao J. et al., PLAID, BuildSys 2014); the 12 is judged from that."""
_LEAST_HOUSE_EDGE_W = 100.0
_ENOUGH = 5
_SURE = 0.6
"""Least mean chance of the times on for a claim: a judgement; the claims carry the doubt."""
_INDIVIDUAL, _INDIVIDUAL_ON = 1.4, 1.3
"""One appliance's draw against its kind's typical figure: at least the first factor either way
when steps are matched; the length of its times on goes the second beyond the kind's range.
Judgements."""
_METERS_APART = 1.1
"""Power in a whole log against the appliance's own meter: 0 to 9 % apart for the four
appliances of REFIT house 20 (Murray D. et al. 2017; first half of the log)."""
_FOUND_SHARE = Range(0.75, 1.2, 2.5)
"""Real energy over what was found of the right appliance: times on that nothing closed or that
another load hid are missing. Judged from REFIT house 20, first half (0.9 to 1.5), and twelve
houses put together from tracebase traces (0.8 to 2)."""
_YEAR_DAYS = 365.25

_BOTH_SHARE = 0.25
_AROUND = 3

_PROGRAMMES = {
    "dishwasher": Programme(Range(1.0, 2.0, 3.5), Range(0.25, 0.5, 0.75)),
    "clothes_washer": Programme(Range(1.0, 1.5, 4.0), Range(0.02, 0.15, 0.45)),
    "washer_dryer": Programme(Range(1.0, 1.5, 4.0), Range(0.02, 0.15, 0.45)),
    "clothes_dryer": Programme(Range(1.0, 6.0, 150.0), Range(0.05, 0.3, 0.6)),
    "tumble_dryer": Programme(Range(1.0, 6.0, 150.0), Range(0.05, 0.3, 0.6)),
    "electric_oven": Programme(Range(2.0, 6.0, 20.0), Range(0.2, 0.5, 0.8)),
    "electric_range": Programme(Range(1.0, 4.0, 20.0), Range(0.1, 0.4, 0.8)),
    "electric_hob": Programme(Range(1.0, 4.0, 20.0), Range(0.1, 0.4, 0.8), 600.0),
    "electric_cooktop": Programme(Range(1.0, 4.0, 20.0), Range(0.1, 0.4, 0.8), 600.0),
    "clothes_iron": Programme(Range(3.0, 10.0, 30.0), Range(0.5, 0.8, 0.95), 300.0),
    "vacuum_cleaner": Programme(Range(1.0, 5.0, 50.0), Range(0.05, 0.4, 0.8), 300.0),
    "microwave_oven": Programme(Range(1.0, 1.2, 6.0), Range(0.1, 0.4, 0.8), 60.0),
}
"""Heats of a programme and idle time between them: read off the dishwashers, washing machines,
dryer, iron, vacuum cleaner and microwave ovens (which beat at part power) of the tracebase
data (Reinhardt A. et al. 2012), 1 to 8 days each; ovens, ranges and hobs judged."""

_WITH_PAUSES = ("clothes_iron", "vacuum_cleaner")
"""Categories whose length of a time on is that of a use, with its pauses."""


def log_claims(evidence: Evidence) -> Iterator[Claim]:
    """Claims from every log (flow ``"load"``), those of the legs of one log taken together."""
    for one in _logs(evidence):
        share = _CLAMP_SHARE
        if APPARENT in one.notes:
            one = replace(one, mean_w=one.mean_w * _APPARENT_FACTOR)
            share = _APPARENT_SHARE
        yield from series_claims(one, one.timezone or evidence.house.timezone, share)
    for found in proposals(evidence):
        yield from _of_proposal(found)


def _logs(evidence: Evidence) -> tuple[Series, ...]:
    return one_voice([one for one in evidence.series if one.flow == "load"])


@dataclass(frozen=True, slots=True)
class Proposal:
    """What steps of a log say about one appliance.

    ``chance`` (n,) that each time on is its own; ``identity`` how sure it is that what was
    found is the appliance at all. ``running`` [W] and ``energy`` [Wh] have that doubt in them.
    """

    appliance: Appliance
    log: Series
    source: str
    cycles: Cycles
    chance: Array
    alone: bool
    identity: float
    running: Range
    energy: Range

    @property
    def sure(self) -> float:
        """Mean chance that the times on are its own."""
        return float(self.chance.mean())


def proposals(evidence: Evidence) -> Iterator[Proposal]:
    """Appliances that the steps of logs of a minute or less may be, with enough times on."""
    for log, legs in _joined(evidence):
        if log.step_s > LONGEST_STEP_S:
            continue
        candidates, alone = candidates_of(log.place, evidence)
        if alone:
            yield from _of_one(log, candidates[0])
        elif candidates:
            assigned = assigned_of(log, legs, candidates, evidence)
            for k, appliance in enumerate(candidates):
                found = proposal(k, appliance, assigned, log, evidence)
                if found is not None and found.sure >= _SURE:
                    yield found


def _of_one(log: Series, appliance: Appliance) -> Iterator[Proposal]:
    """Times on in the log of one appliance alone."""
    cycles = on_off(log.mean_w, float(log.step_s))
    if len(cycles) < _ENOUGH:
        return
    running = _middle(cycles.size_w, 0.05)
    energy_wh = float((cycles.size_w * cycles.on_s(float(log.step_s))).sum()) / 3600.0
    energy = Range.around(energy_wh, 1.05)
    chance = np.ones(len(cycles))
    yield Proposal(appliance, log, _source(log), cycles, chance, True, 1.0, running, energy)


def proposal(
    k: int, appliance: Appliance, assigned: Assigned, log: Series, evidence: Evidence
) -> Proposal | None:
    """What was found for candidate ``k``, sure or not; None for too few times on."""
    mine = np.flatnonzero(assigned.who == k)
    if mine.size < _ENOUGH:
        return None
    identity = float(assigned.identity[k])
    power_w = float(assigned.power_w[k])
    running = Range.around(power_w, _METERS_APART)
    energy = _FOUND_SHARE.scaled(float(assigned.energy_wh[k]))
    known_w, known_wh = _known(appliance, evidence, _days(log))
    return Proposal(
        appliance,
        log,
        _source(log),
        assigned.cycles.some(mine),
        assigned.chance[mine],
        False,
        identity,
        either(running, known_w, identity),
        either(energy, known_wh, identity),
    )


def _known(appliance: Appliance, evidence: Evidence, days: float) -> tuple[Range, Range]:
    """Running watts and energy of so many days, as known without the log. [W, Wh]"""
    category = evidence.categories.get(appliance.category)
    said = claims_about(appliance, category, evidence.house.supply)
    running = next(claim.value for claim in said if claim.quantity == "running_w")
    if category is None:
        return running, Range(0.01, 0.1, 1.0).scaled(running.typical * 24.0 * days)
    return running, category.annual_wh.scaled(days / _YEAR_DAYS * appliance.count)


def either(found: Range, known: Range, sure: float) -> Range:
    """5, 50 and 95 % points of a mixture: what was found with a chance, else what was known."""
    if sure >= 1.0:
        return found
    grid = np.geomspace(
        max(min(found.low, known.low), 1e-3) / 2.0, 2.0 * max(found.high, known.high), 2000
    )
    below = sure * _below(found, grid) + (1.0 - sure) * _below(known, grid)
    return Range(*(float(grid[np.searchsorted(below, share)]) for share in (0.05, 0.5, 0.95)))


def _below(value: Range, x: Array) -> Array:
    """Distribution function of a range of positive numbers at ``x``."""
    law = law_of(value, 1e-3)
    off = np.log(x) - law.centre
    score = np.where(off < 0.0, off / law.down, off / law.up)
    return np.array([NormalDist().cdf(z) for z in score])


def _days(log: Series) -> float:
    """Days that were logged, without what is missing."""
    return (log.mean_w.size - log.missing) * log.step_s / 86_400.0


def _source(log: Series) -> str:
    where = f"steps in the log {log.channel}, {log.place}"
    return f"{where}, {_days(log):.0f} days of {log.step_s} s"


def _joined(evidence: Evidence) -> Iterator[tuple[Series, dict[str, Array]]]:
    """Logs; the legs of one start and step as a log of the whole house."""
    names = [f"leg {leg}" for leg in evidence.house.supply.legs]
    groups: dict[tuple[int, int, int], list[Series]] = {}
    for one in _logs(evidence):
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


def candidates_of(place: str, evidence: Evidence) -> tuple[list[Appliance], bool]:
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


def assigned_of(
    log: Series, legs: dict[str, Array], candidates: Sequence[Appliance], evidence: Evidence
) -> Assigned:
    """Times on of a log of several appliances, each with who it may have been."""
    step_s = float(log.step_s)
    steps = find_steps(log.mean_w, step_s, _LEAST_HOUSE_EDGE_W)
    cycles = pair_edges(steps, log.mean_w, step_s)
    times = log.start_s + cycles.start * log.step_s
    zone = log.timezone or evidence.house.timezone
    hour = cells_of(times, zone) % 24 if len(cycles) else np.empty(0, np.int64)
    signatures = [signature_of(one, evidence) for one in candidates]
    return assign(cycles, step_s, hour, _legs_of(cycles, legs), _days(log), signatures)


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


def signature_of(appliance: Appliance, evidence: Evidence) -> Signature:
    """What steps of an appliance should look like, from its label and its category."""
    category = evidence.categories.get(appliance.category)
    said = {
        claim.quantity: claim.value
        for claim in claims_about(appliance, category, evidence.house.supply)
    }
    running = said["running_w"]
    of_kind = appliance.running_w is None and not appliance.label
    apart = _INDIVIDUAL if of_kind else _METERS_APART
    size = Range(
        min(running.low, running.typical / apart),
        running.typical,
        max(running.high, running.typical * apart),
    )
    programme = next(
        (one for key, one in _PROGRAMMES.items() if appliance.category.startswith(key)), None
    )
    per_day = Range(0.1, 1.0, 10.0)
    hours: tuple[float, ...] = (1.0,) * 24
    on_s = said.get("on_s", Range(30.0, 600.0, 6000.0))
    if category is not None:
        per_day = category.cycles_per_day.scaled(float(appliance.count))
        hours = category.use_by_hour or hours
    leg = ""
    if len(appliance.legs) > 1 or (category is not None and category.voltage_v > 200.0):
        leg = "".join(evidence.house.supply.legs) if len(evidence.house.supply.legs) == 2 else ""
    on_s = Range(on_s.low / _INDIVIDUAL_ON, on_s.typical, on_s.high * _INDIVIDUAL_ON)
    if programme is not None and appliance.category.startswith(_WITH_PAUSES):
        on_s = _without_pauses(on_s, programme.idle_share)
    count = appliance.count
    return Signature(appliance.id, size, on_s, per_day, hours, leg, programme, count)


def _without_pauses(on_s: Range, idle: Range) -> Range:
    return Range(
        on_s.low * (1.0 - idle.typical),
        on_s.typical * (1.0 - idle.typical),
        on_s.high * (1.0 - idle.low),
    )


def _of_proposal(found: Proposal) -> Iterator[Claim]:
    """Running watts, energy, length and number of times on, and the start where it shows."""
    on_s = found.cycles.on_s(float(found.log.step_s))
    words = "" if found.alone else f", taken for it with a chance of {found.sure:.0%}"
    source = f"{found.source}, {on_s.size} times on{words}"
    about = found.appliance.id
    yield LoadClaim(about, "running_w", found.running, source)
    if found.alone:
        yield LoadClaim(about, "on_s", _middle(on_s, 0.1), source)
        per_h = on_s.size / (24.0 * _days(found.log))
        spread = 1.0 + 1.645 / np.sqrt(on_s.size) + 0.1
        yield LoadClaim(about, "starts_per_h", Range.around(per_h, float(spread)), source)
    else:
        yield from _energy_claim(found, source)
    surge = found.cycles.surge_w
    if found.log.step_s <= _SURGE_STEP_S and float(np.median(surge)) > 1.5 * found.running.typical:
        start = _start_va(float(np.quantile(surge, 0.9)), found.running.typical)
        yield LoadClaim(about, "start_va", start, source)


def _energy_claim(found: Proposal, source: str) -> Iterator[DemandClaim]:
    """Energy over the log from end to end: what is missing is like the rest, if that is most."""
    log = found.log
    logged = _days(log) * 86_400.0 / log.span_s
    if logged >= LEAST_PRESENT:
        place = f"appliance {found.appliance.id}"
        energy = found.energy.scaled(1.0 / logged)
        yield DemandClaim("energy_wh", energy, source, place, log.start_s, log.end_s)


def _start_va(top_w: float, running_w: float) -> Range:
    """Start from the highest seconds: a mean over a second sees a part of a short inrush.

    The inrush may be three times the mean, but no more than usual starts are over running
    unless the mean shows it.
    """
    high = max(_LEAST_HIDDEN * top_w, min(_MOST_HIDDEN * top_w, _USUAL_START * running_w))
    return Range(0.9 * top_w, 1.3 * top_w, high)


def _middle(values: Array, least_share: float) -> Range:
    """Median of the times on, as doubtful as they spread and at least so much."""
    middle = float(np.median(values))
    low, high = (float(x) for x in np.quantile(values, (0.1, 0.9)))
    return Range(
        min(low, middle * (1.0 - least_share)), middle, max(high, middle * (1.0 + least_share))
    )
