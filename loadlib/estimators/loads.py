"""Core loads from the house, the settled numbers and the catalog."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance
from loadlib.core.load import Load, grid
from loadlib.core.ranges import Range
from loadlib.errors import NotFound
from loadlib.estimators.combine import Combined, combine
from loadlib.estimators.legs import Placed, place_all
from loadlib.estimators.nameplate import claims_about
from loadlib.estimators.products import divided, times
from loadlib.estimators.rated import label_of, volts_of

__all__ = ["build_loads", "spread_duty"]

Numbers = dict[str, Combined]

_COMPRESSOR_DELAY_S = 300.0
"""Restart delay of a compressor: 3 to 5 minutes are common practice, no source; the longer."""

_SHORTEST_ON_S = 1.0

_UNKNOWN_ON_H = 0.5
"""Time on of a load of which nothing is known: a guess. [h]"""


def build_loads(
    evidence: Evidence,
    claims: Sequence[LoadClaim],
    combined: Mapping[tuple[str, str], Combined],
) -> tuple[tuple[Load, ...], tuple[str, ...]]:
    """Loads of every appliance and of everything else that claims speak of; and remarks.

    Numbers that nobody claimed are filled in from label and catalog.
    """
    things = [*evidence.house.appliances, *_further(evidence, claims)]
    numbers = {thing.id: _numbers(evidence, thing, combined) for thing in things}
    volts = {
        thing.id: volts_of(
            label_of(thing), evidence.categories.get(thing.category), evidence.house.supply
        )
        for thing in things
    }
    placed = place_all(
        evidence.house,
        [
            (thing, volts[thing.id], numbers[thing.id]["running_w"].value.typical)
            for thing in things
        ],
    )
    by_load: dict[str, list[LoadClaim]] = {thing.id: [] for thing in things}
    for claim in claims:
        by_load[claim.load_id].append(claim)
    loads = tuple(
        _load(
            evidence, thing, numbers[thing.id], placed[thing.id], by_load[thing.id], volts[thing.id]
        )
        for thing in things
    )
    return loads, tuple(where.guess for where in placed.values() if where.guess)


def _further(evidence: Evidence, claims: Sequence[LoadClaim]) -> list[Appliance]:
    """Appliances nobody entered that claims speak of, once each, in the order heard."""
    entered = {appliance.id for appliance in evidence.house.appliances}
    found: dict[str, Appliance] = {}
    for claim in claims:
        key = claim.load_id
        if key in entered:
            continue
        if key not in found:
            found[key] = _part_of(evidence, claim)
        if claim.category and not found[key].category:
            found[key] = replace(found[key], category=claim.category)
    return list(found.values())


def _part_of(evidence: Evidence, claim: LoadClaim) -> Appliance:
    """The load a claim adds: a part of an appliance keeps its place, else it stands alone."""
    name = claim.load_id
    try:
        whole = evidence.house.appliance(claim.about)
    except NotFound:
        return Appliance(name, name, claim.category, priority=claim.priority)
    return replace(
        whole,
        id=name,
        name=f"{whole.name}, {claim.part}",
        category=claim.category,
        label="",
        running_w=None,
        priority=claim.priority,
    )


def _numbers(
    evidence: Evidence, thing: Appliance, combined: Mapping[tuple[str, str], Combined]
) -> Numbers:
    numbers = {quantity: value for (key, quantity), value in combined.items() if key == thing.id}
    category = evidence.categories.get(thing.category)
    for claim in claims_about(thing, category, evidence.house.supply):
        if claim.quantity not in numbers:
            numbers[claim.quantity] = combine([claim])
    if "energy_per_cycle_wh" in numbers:
        _use_cycle_energy(numbers)
    return numbers


def _use_cycle_energy(numbers: Numbers) -> None:
    """Energy of a cycle over running watts is the time on; with the starts it is the duty."""
    energy, running = numbers["energy_per_cycle_wh"], numbers["running_w"]
    if running.value.low <= 0.0 or energy.value.low <= 0.0:
        return
    on_h = divided(energy.value, running.value)
    used = (*energy.used, *running.used)
    if not _measured(numbers, "on_s"):
        numbers["on_s"] = Combined(on_h.scaled(3600.0), used, None)
    if "starts_per_h" in numbers and not _measured(numbers, "duty_share"):
        starts = numbers["starts_per_h"]
        duty = times(on_h, starts.value).clipped(0.0, 1.0)
        numbers["duty_share"] = Combined(duty, (*used, *starts.used), starts.shape)


def _measured(numbers: Numbers, quantity: str) -> bool:
    found = numbers.get(quantity)
    return found is not None and any(claim.standing == "evidence" for claim in found.used)


def _load(
    evidence: Evidence,
    thing: Appliance,
    numbers: Numbers,
    placed: Placed,
    claims: Sequence[LoadClaim],
    volts: float,
) -> Load:
    category = evidence.categories.get(thing.category)
    kind = category.kind if category is not None else "mixed"
    duty, belief = _duty(numbers, claims)
    running = numbers["running_w"].value
    standby = numbers["standby_w"].value if "standby_w" in numbers else Range.exact(0.0)
    start = numbers["start_va"].value if "start_va" in numbers else None
    return Load(
        id=thing.id,
        name=thing.name,
        category=thing.category,
        kind=kind,
        leg_share=placed.leg_share,
        line_to_line=placed.line_to_line,
        running_w=running,
        power_factor=numbers["power_factor"].value,
        start_va=start,
        start_s=numbers["start_s"].value if "start_s" in numbers else Range.exact(0.0),
        standby_w=standby,
        duty=grid(duty),
        duty_belief=belief,
        starts_per_h=grid(_starts(numbers, duty)),
        count=thing.count,
        room=thing.room,
        circuit=thing.circuit,
        priority=thing.priority,
        medical=thing.medical or (category is not None and category.medical),
        may_be_off_s=thing.may_be_off_s,
        if_off=thing.if_off,
        thermostatic=category is not None and category.thermostatic,
        voltage_v=volts,
        restart_delay_s=_COMPRESSOR_DELAY_S if kind == "compressor" else 0.0,
        outdoor_w=_outdoor(claims),
        known=_known(numbers),
        sources=_sources(numbers),
        notes=(placed.guess,) if placed.guess else (),
    )


def _duty(numbers: Numbers, claims: Sequence[LoadClaim]) -> tuple[NDArray[np.float64], Range]:
    """Share of each hour on at the typical value, and the belief about a factor on it."""
    found = numbers["duty_share"]
    shape = np.array(found.shape) if found.shape is not None else np.ones((12, 24))
    duty = spread_duty(found.value.typical, shape)
    for claim in claims:
        if claim.quantity == "duty_share" and (claim.when.months or claim.when.hours):
            months = [m - 1 for m in claim.when.months or range(1, 13)]
            hours = list(claim.when.hours or range(24))
            duty[np.ix_(months, hours)] = claim.value.typical
    typical = found.value.typical
    belief = found.value.scaled(1.0 / typical) if typical > 0.0 else Range.exact(1.0)
    return duty, belief


def spread_duty(mean_share: float, shape: NDArray[np.float64]) -> NDArray[np.float64]:
    """Duty by month and hour with mean ``mean_share`` and the relative ``shape``, at most 1.

    What a cut at 1 takes away is put back on the other hours in proportion, so that the mean,
    and with it the energy, is kept; only where every hour of use is full it cannot be.
    """
    duty = mean_share * shape
    for _ in range(60):
        full = duty >= 1.0
        duty = np.minimum(duty, 1.0)
        lack = mean_share * duty.size - duty.sum()
        rest = float(duty[~full].sum())
        if lack <= 1e-9 * duty.size or rest <= 0.0:
            break
        duty = np.where(full, 1.0, duty * (1.0 + lack / rest))
    return np.clip(duty, 0.0, 1.0)


def _starts(numbers: Numbers, duty: NDArray[np.float64]) -> NDArray[np.float64]:
    """Starts per hour: as measured if so, else duty over on-time, else as the catalog says.

    A load that is on all the time never starts.
    """
    claimed = numbers.get("starts_per_h")
    mean_duty = float(duty.mean())
    if mean_duty <= 0.0 or mean_duty >= 1.0:
        return np.zeros((12, 24))
    if "on_s" in numbers and not _measured(numbers, "starts_per_h"):
        on_s = max(numbers["on_s"].value.typical, _SHORTEST_ON_S)
        per_h = duty * 3600.0 / on_s
    elif claimed is not None:
        per_h = duty * claimed.value.typical / mean_duty
    else:
        per_h = duty / _UNKNOWN_ON_H
    return np.where(duty >= 1.0, 0.0, per_h)


def _outdoor(claims: Sequence[LoadClaim]) -> tuple[tuple[float, float], ...]:
    """Running watts at the middle of each claimed span of outdoor temperature."""
    pairs = [
        (sum(claim.when.outdoor_c) / 2.0, claim.value.typical)
        for claim in claims
        if claim.quantity == "running_w" and claim.when.outdoor_c is not None
    ]
    return tuple(sorted(pairs))


def _known(numbers: Numbers) -> str:
    """How well the running power is known; a person's own figure ranks with a label."""
    if _measured(numbers, "running_w"):
        return "measured"
    source = numbers["running_w"].used[0].source
    if source.startswith(("label", "your figure")):
        return "label"
    return "guess" if source.startswith("guess") or "from memory" in source else "catalog"


def _sources(numbers: Numbers) -> tuple[str, ...]:
    return tuple(
        f"{quantity}: {claim.source}" for quantity, value in numbers.items() for claim in value.used
    )
