"""From claims to one load model: which value each load gets, and how far each claim was off.

Two steps. For each quantity of a load the first prior heard counts (estimators say the best
they know first) and evidence about that load is joined to it. Then the claims about demand
(energy, means, quantiles, instants, changes; whole house, leg, circuit or appliance) are
fitted by all loads and by what nobody listed together; see ``posterior``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import ALWAYS, Claim, DemandClaim, LoadClaim
from loadlib.core.degree_hours import COOLING_BALANCE_C, HEATING_BALANCE_C
from loadlib.core.evidence import Evidence
from loadlib.core.load import Load
from loadlib.core.profile import ClaimRecord
from loadlib.core.ranges import Z95
from loadlib.estimators.claim_rows import linear_rows, spell_of, value_w
from loadlib.estimators.combine import Combined, combine
from loadlib.estimators.energy import DAYS_IN_MONTH
from loadlib.estimators.loads import build_loads
from loadlib.estimators.outdoor import Outdoor, Spell
from loadlib.estimators.posterior import DRAWS, Posterior, fit
from loadlib.estimators.products import times
from loadlib.estimators.records import (
    Key,
    Unused,
    demand_records,
    disagreements,
    fitted_parts,
    load_record,
    remarks,
)
from loadlib.estimators.reshape import hours_measured, posterior_loads, rest_load
from loadlib.estimators.robust import LEAST_BLUNDER
from loadlib.estimators.switched_legs import legs_from_changes
from loadlib.estimators.tails import tail_of
from loadlib.estimators.unknowns import (
    ACTIVITY_SIGMA,
    Unknowns,
    log_normal,
    switched_by_people,
    with_habits,
)

__all__ = ["Settlement", "fit_method", "settle"]

Array = NDArray[np.float64]

_DISBELIEVED = 2.0
"""A measurement's variance in the fit over its own: above 2 it is more likely wrong than not."""

_REST_SHARE = 0.1
"""Typical share of the house's mean demand that a walk through it leaves out: a judgement, no
source; the fit takes it from a fiftieth to a half of the demand without much ado."""

_LEAST_SPAN_H = 1.0
"""A mean over less says nothing of the house's level: a judgement. [h]"""

_MOST_MEAN_W = 8_000.0
"""Mean demand of a large house heated by electricity: common practice, no source. [W]"""

_WEATHER_METHOD = (
    "Statements at an outdoor temperature: about the hours in which the stored temperature lay in "
    "their span. What heats or cools by thermostat takes energy there by degree-hours over those "
    "usual in that month at that hour, from balance temperatures of "
    f"{HEATING_BALANCE_C.typical:g} °C ({HEATING_BALANCE_C.low:g}–{HEATING_BALANCE_C.high:g}) for "
    f"heating and {COOLING_BALANCE_C.typical:g} °C ({COOLING_BALANCE_C.low:g}–"
    f"{COOLING_BALANCE_C.high:g}) for cooling; that span, sun, wind and stored heat are part of "
    "how closely such a statement is held to."
)


@dataclass(frozen=True, slots=True, eq=False)
class Settlement:
    """What came out: the loads, each claim beside its result, contradictions, remarks.

    ``posterior`` is the fit with its covariance and draws (``None`` in a house without
    loads); ``month_draws_wh`` the energy of each month of a common year in each draw, shape
    (D, 12). [Wh]
    """

    loads: tuple[Load, ...]
    records: tuple[ClaimRecord, ...]
    disagreements: tuple[str, ...]
    notes: tuple[str, ...]
    posterior: Posterior
    month_draws_wh: Array


def settle(evidence: Evidence, claims: Sequence[tuple[str, Claim]], seed: int) -> Settlement:
    """The loads that agree best with the claims.

    Parameters
    ----------
    evidence : Evidence
        house, catalog and interval data; what nobody claimed about a load is taken from here.
    claims : sequence of (estimator, Claim)
        in the order they were heard; their order changes nothing but which prior stands.
    seed : int
        of the draws of the posterior.

    Returns
    -------
    Settlement
        loads in the order of the house's appliances, then those that only claims name, then
        what is not listed if the claims ask for it.
    """
    heard = [(who, claim) for who, claim in claims if isinstance(claim, LoadClaim)]
    demand = [(who, claim) for who, claim in claims if isinstance(claim, DemandClaim)]
    said = ([claim for _, claim in heard], [claim for _, claim in demand])
    combined = _combine_all(heard)
    first = _fitted(evidence, *said, combined, seed)
    overruled = _overruled(first.posterior)
    if overruled:
        combined = _combine_all(heard, overruled)
        first = _fitted(evidence, *said, combined, seed)
    posterior, notes = first.posterior, first.notes
    loads = _settled_loads(evidence, first)
    records = [load_record(who, claim, combined, posterior) for who, claim in heard]
    records += demand_records(evidence, demand, posterior)
    notes = (*notes, *remarks(evidence, posterior, first.unused))
    month_wh = _month_draws(posterior)
    return Settlement(loads, tuple(records), disagreements(records), notes, posterior, month_wh)


def fit_method(posterior: Posterior) -> tuple[str, ...]:
    """How loads and energy were settled, in words."""
    tails = any(tail.use is not None for tail in posterior.tails)
    weather = (_WEATHER_METHOD,) if tails or posterior.rows.at_temperature.any() else ()
    return (
        "Loads: each has unknown factors on running power, share of time on and standby, large "
        "ones also on each month; what is not listed has a level by month and is never "
        "negative. All claims about demand are fitted together (maximum a posteriori, each "
        "claim may be a mistake); typical values are the best fit, ranges are Laplace's.",
        f"Energy: {DRAWS} draws of all unknowns together, each fitted to the claims within their "
        "doubts, for a year of 365 days. The ranges of single loads do not show that their "
        "errors offset each other; the energies of months and year do.",
        *weather,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Fitted:
    """Loads at their ranges before demand, which of them people switch, and the fit."""

    loads: tuple[Load, ...]
    switched: NDArray[np.bool_]
    posterior: Posterior
    unused: tuple[Unused, ...]
    notes: tuple[str, ...]


def _combine_all(
    heard: Sequence[tuple[str, LoadClaim]], overruled: frozenset[Key] = frozenset()
) -> dict[Key, Combined]:
    """One belief for each quantity of each load; of ``overruled`` ones without the evidence."""
    groups: dict[Key, list[LoadClaim]] = {}
    for _, claim in heard:
        key = (claim.load_id, claim.quantity)
        if key not in overruled or claim.standing == "prior":
            groups.setdefault(key, []).append(claim)
    return {key: combine(group) for key, group in groups.items()}


def _fitted(
    evidence: Evidence,
    heard: Sequence[LoadClaim],
    demand: Sequence[DemandClaim],
    combined: Mapping[Key, Combined],
    seed: int,
) -> _Fitted:
    loads, notes = build_loads(evidence, heard, combined)
    loads, notes = legs_from_changes(loads, notes, demand, evidence.house.supply.legs)
    switched = np.array([_habitual(load, combined) for load in loads], dtype=np.bool_)
    pairs = zip(loads, switched, strict=True)
    loads = tuple(with_habits(load) if people else load for load, people in pairs)
    posterior, unused = _fit(evidence, loads, switched, combined, demand, seed)
    return _Fitted(loads, switched, posterior, unused, notes)


def _overruled(posterior: Posterior) -> frozenset[Key]:
    """Measured quantities of loads that the claims about demand do not believe.

    What label, catalog or rule say beforehand takes their place.
    """
    u = posterior.unknowns
    return frozenset(
        (load.id, quantity)
        for part, quantity in fitted_parts(u)
        for i, load in enumerate(u.loads)
        if posterior.prior_variance[part.start + i] > _DISBELIEVED
    )


def _settled_loads(evidence: Evidence, fitted: _Fitted) -> tuple[Load, ...]:
    posterior = fitted.posterior
    if not posterior.predicted.size:
        pairs = zip(fitted.loads, fitted.switched, strict=True)
        return tuple(_with_activity(load, people) for load, people in pairs)
    measured = hours_measured(evidence.series, evidence.house.timezone)
    loads, rest = posterior_loads(posterior, measured)
    sources = tuple(dict.fromkeys(claim.source for claim in posterior.rows.claims))
    extra = rest_load(posterior, rest, evidence.house.supply.legs, sources[:3])
    return loads if extra is None else (*loads, extra)


def _habitual(load: Load, combined: Mapping[Key, Combined]) -> bool:
    """Switched by people, and its use not measured in this house."""
    found = combined.get((load.id, "duty_share"))
    measured = found is not None and any(c.standing == "evidence" for c in found.used)
    return switched_by_people(load) and not measured


def _with_activity(load: Load, switched: bool) -> Load:
    """Without claims about demand: the household's activity is one more doubt of each load."""
    if not switched:
        return load
    most = max(1.0 / max(float(load.duty_array().mean()), 1e-9), 1.0)
    belief = times(load.duty_belief, log_normal(ACTIVITY_SIGMA)).clipped(0.0, most)
    return load.with_(duty_belief=belief)


def _fit(
    evidence: Evidence,
    loads: Sequence[Load],
    switched: NDArray[np.bool_],
    combined: Mapping[Key, Combined],
    claims: Sequence[DemandClaim],
    seed: int,
) -> tuple[Posterior, tuple[Unused, ...]]:
    house = evidence.house
    outdoor = Outdoor(evidence.temperatures, house.timezone, loads, evidence.categories)
    ordered, unused = [], []
    for claim in sorted(claims, key=_order):
        spell = spell_of(claim, outdoor)
        unused.append((claim, spell)) if isinstance(spell, str) else ordered.append(claim)
    rest_w = _rest_level(ordered, outdoor)
    unknowns = Unknowns(loads, rest_w, len(house.supply.legs), switched)
    tails = []
    for claim in ordered:
        if claim.quantity in ("max_w", "quantile_w"):
            tail = tail_of(claim, unknowns, house, outdoor)
            tails.append(tail) if tail is not None else unused.append((claim, ""))
    rows, left_out = linear_rows(ordered, unknowns, house, outdoor)
    doubtful = _doubtful(unknowns, combined)
    unused += [(claim, "") for claim in left_out]
    return fit(unknowns, rows, tails, doubtful, seed), tuple(unused)


def _order(claim: DemandClaim) -> tuple[object, ...]:
    """Claims in an order of their own, so that the order heard changes nothing."""
    at = claim.at.timestamp() if claim.at is not None else -1.0
    value = (claim.value.low, claim.value.typical, claim.value.high)
    return (
        claim.quantity,
        claim.place,
        claim.start_s or 0,
        claim.end_s or 0,
        at,
        value,
        repr(claim),
    )


def _rest_level(claims: Sequence[DemandClaim], outdoor: Outdoor) -> float:
    """Typical level of what is not listed, from the mean demand that was measured. [W]

    The middle over the time that was measured, of the whole house and under no condition; means
    at an outdoor temperature count where there are no others. A single claim beyond what houses
    draw is left to the fit: it does not set the level.
    """
    means: list[tuple[float, float]] = []
    at_temperature: list[tuple[float, float]] = []
    for claim in claims:
        if claim.quantity not in ("energy_wh", "mean_w") or claim.place != "whole":
            continue
        spell = spell_of(claim, outdoor)
        if isinstance(spell, Spell):
            at_temperature.append((value_w(claim, spell.length_h).typical, spell.length_h))
        elif _always(claim) and claim.start_s is not None and claim.end_s is not None:
            means.append((value_w(claim).typical, (claim.end_s - claim.start_s) / 3600.0))
    found = [pair for pair in means or at_temperature if pair[1] >= _LEAST_SPAN_H]
    return _REST_SHARE * min(_middle(found), _MOST_MEAN_W)


def _always(claim: DemandClaim) -> bool:
    """Whether no hour of its period is left out: a span that leaves none out is no condition."""
    return replace(claim.when, outdoor_c=None) == ALWAYS


def _middle(weighted: Sequence[tuple[float, float]]) -> float:
    """Median of values with their weights, 0 without any."""
    if not weighted:
        return 0.0
    values, weights = np.array(sorted(weighted)).T
    reached = np.cumsum(weights) / weights.sum()
    at = int(np.searchsorted(reached, 0.5 - 1e-9))
    # Exactly half of the weight at a value: the middle lies between it and the next.
    level = abs(reached[at] - 0.5) < 1e-9
    return float(values[at : at + 2].mean() if level else values[at])


def _doubtful(unknowns: Unknowns, combined: Mapping[Key, Combined]) -> Array:
    """Blunder ratio of each unknown whose range is a measurement, else 0; shape (size,)."""
    doubtful = np.zeros(unknowns.size)
    for part, quantity in fitted_parts(unknowns):
        for i, load in enumerate(unknowns.loads):
            found = combined.get((load.id, quantity))
            if found is None or all(claim.standing == "prior" for claim in found.used):
                continue
            value = found.value
            if value.low > 0.0 and not value.is_exact:
                sigma = math.log(value.high / value.low) / (2.0 * Z95)
                doubtful[part.start + i] = max(LEAST_BLUNDER, math.log(10.0) / sigma)
    return doubtful


def _month_draws(posterior: Posterior) -> Array:
    """Energy of each month of a common year in each draw, shape (D, 12). [Wh]"""
    u = posterior.unknowns
    mean = u.mean_w(u.state(posterior.draws)).reshape(-1, 12, 24)
    energy: Array = mean.sum(axis=2) * DAYS_IN_MONTH
    return energy
