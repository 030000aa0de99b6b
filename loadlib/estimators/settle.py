"""From claims to one load model: which value each load gets, and how far each claim was off.

Two steps. For each quantity of a load the first prior heard counts (estimators say the best
they know first) and evidence about that load is joined to it. Then the claims about demand
(energy, means, quantiles, instants, changes; whole house, leg, circuit or appliance) are
fitted by all loads and by what nobody listed together; see ``posterior``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import Claim, DemandClaim, LoadClaim
from loadlib.core.degree_hours import COOLING_BALANCE_C, HEATING_BALANCE_C
from loadlib.core.evidence import Evidence
from loadlib.core.load import Load
from loadlib.core.profile import ClaimRecord
from loadlib.core.ranges import Z95, Range
from loadlib.estimators.claim_rows import linear_rows, spell_of, value_w
from loadlib.estimators.combine import Combined, combine, sigmas_apart
from loadlib.estimators.energy import DAYS_IN_MONTH
from loadlib.estimators.loads import build_loads
from loadlib.estimators.outdoor import Outdoor, Spell
from loadlib.estimators.posterior import DRAWS, Posterior, fit
from loadlib.estimators.products import times
from loadlib.estimators.reshape import hours_measured, posterior_loads, rest_load
from loadlib.estimators.robust import LEAST_BLUNDER, soundness
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
Key = tuple[str, str]
Unused = tuple[DemandClaim, str]
"""A claim that was not used, and why; "" where no load is at its place."""

_FAR = 2.5
"""A claim further than this many sigmas from the result is a finding."""

_BELIEVED = 0.5

_DISBELIEVED = 2.0
"""A measurement's variance in the fit over its own: above 2 it is more likely wrong than not."""

_EDGE_SHARE = 0.02
"""A month that a claim only touches (an hour beyond midnight) is not measured."""

_REST_SHARE = 0.1
"""Typical share of the house's mean demand that a walk through it leaves out: a judgement, no
source; the fit takes it from a fiftieth to a half of the demand without much ado."""

_WEATHER_METHOD = (
    "Statements at an outdoor temperature: about the hours in which the stored temperature lay in "
    "their span. What heats or cools by thermostat takes energy there by degree-hours over those "
    "usual in that month at that hour, from balance temperatures of "
    f"{HEATING_BALANCE_C.typical:g} °C ({HEATING_BALANCE_C.low:g}–{HEATING_BALANCE_C.high:g}) for "
    f"heating and {COOLING_BALANCE_C.typical:g} °C ({COOLING_BALANCE_C.low:g}–"
    f"{COOLING_BALANCE_C.high:g}) for cooling; that span, sun, wind and stored heat are part of "
    "how closely such a statement is held to."
)

_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]


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
    records = [_load_record(who, claim, combined, posterior) for who, claim in heard]
    records += _demand_records(evidence, demand, posterior)
    notes = (*notes, *_remarks(evidence, posterior, first.unused))
    month_wh = _month_draws(posterior)
    return Settlement(loads, tuple(records), _disagreements(records), notes, posterior, month_wh)


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
        for part, quantity in _parts(u)
        for i, load in enumerate(u.loads)
        if posterior.prior_variance[part.start + i] > _DISBELIEVED
    )


def _parts(u: Unknowns) -> tuple[tuple[slice, str], ...]:
    """Where the fitted quantities of loads stand among the unknowns."""
    return ((u.run, "running_w"), (u.use, "duty_share"), (u.off, "standby_w"))


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

    Means at an outdoor temperature count where there are no others.
    """
    means, at_temperature = [], []
    for claim in claims:
        if claim.quantity not in ("energy_wh", "mean_w") or claim.place != "whole":
            continue
        spell = spell_of(claim, outdoor)
        if isinstance(spell, Spell):
            at_temperature.append(value_w(claim, spell.length_h).typical)
        elif not claim.when.hours:
            means.append(value_w(claim).typical)
    whole = means or at_temperature
    return _REST_SHARE * float(np.median(whole)) if whole else 0.0


def _doubtful(unknowns: Unknowns, combined: Mapping[Key, Combined]) -> Array:
    """Blunder ratio of each unknown whose range is a measurement, else 0; shape (size,)."""
    doubtful = np.zeros(unknowns.size)
    for part, quantity in _parts(unknowns):
        for i, load in enumerate(unknowns.loads):
            found = combined.get((load.id, quantity))
            if found is None or all(claim.standing == "prior" for claim in found.used):
                continue
            value = found.value
            if value.low > 0.0 and not value.is_exact:
                sigma = math.log(value.high / value.low) / (2.0 * Z95)
                doubtful[part.start + i] = max(LEAST_BLUNDER, math.log(10.0) / sigma)
    return doubtful


def _load_record(
    who: str, claim: LoadClaim, combined: Mapping[Key, Combined], posterior: Posterior
) -> ClaimRecord:
    found = combined.get((claim.load_id, claim.quantity))
    result = _posterior_value(claim, found, posterior)
    used = found is not None and any(claim is one for one in found.used)
    return ClaimRecord(
        estimator=who,
        text=f"{claim.load_id}: {claim.quantity} {_spoken(claim.value)} {claim.unit}",
        about=claim.load_id,
        quantity=claim.quantity,
        unit=claim.unit,
        value=claim.value,
        result=result,
        sigmas=sigmas_apart(claim.value, result),
        weight=_belief_in(claim, posterior) if used else 0.0,
        standing=claim.standing,
        source=claim.source,
    )


def _index(claim: LoadClaim, posterior: Posterior) -> tuple[int, int] | None:
    """Number of the claim's load and place among the unknowns; None for what is not fitted."""
    u = posterior.unknowns
    part = next((part for part, quantity in _parts(u) if quantity == claim.quantity), None)
    if part is None:
        return None
    i = [load.id for load in u.loads].index(claim.load_id)
    return i, part.start + i


def _posterior_value(claim: LoadClaim, found: Combined | None, posterior: Posterior) -> Range:
    """The settled number that a claim speaks of, after the claims about demand."""
    place = _index(claim, posterior)
    known = found.value if found is not None else claim.value
    if place is None or not posterior.predicted.size:
        return known
    i, u = place[0], posterior.unknowns
    if claim.quantity == "running_w":
        return posterior.belief(u.running_laws, u.run, i)
    if claim.quantity == "standby_w":
        return posterior.belief(u.standby_laws, u.off, i)
    factor = posterior.belief(u.factor_laws, u.use, i)
    mean = float(u.duty[i].mean()) * float(posterior.active[i])
    return factor.scaled(mean).clipped(0.0, 1.0)


def _belief_in(claim: LoadClaim, posterior: Posterior) -> float:
    place = _index(claim, posterior)
    if place is None or claim.standing == "prior":
        return 1.0
    return float(soundness(posterior.z[place[1]][None], np.array([LEAST_BLUNDER]))[0])


def _demand_records(
    evidence: Evidence, demand: Sequence[tuple[str, DemandClaim]], posterior: Posterior
) -> list[ClaimRecord]:
    """Claims about demand beside what the loads give, what is not listed among them."""
    fitted = [*posterior.rows.claims, *(tail.claim for tail in posterior.tails)]
    places = {id(claim): j for j, claim in enumerate(fitted)}
    records = []
    for who, claim in demand:
        j = places.get(id(claim))
        if j is None:
            continue
        power_w = _power_w(posterior, j, claim)
        scale = claim.value.typical / power_w if power_w else 1.0
        draws = np.maximum(posterior.predicted_draws[:, j], 0.0) * scale
        records.append(
            ClaimRecord(
                estimator=who,
                text=f"{claim.place}: {_about(claim, evidence.house.timezone)} "
                f"{_spoken(claim.value)} {claim.unit}",
                about=claim.place,
                quantity=claim.quantity,
                unit=claim.unit,
                value=claim.value,
                result=Range.of_samples(draws),
                sigmas=float(posterior.sigmas[j]),
                weight=float(posterior.weights[j]),
                standing="evidence",
                source=claim.source,
            )
        )
    return records


def _power_w(posterior: Posterior, j: int, claim: DemandClaim) -> float:
    """What a fitted claim says as power: a row's own, a tail's value. [W]"""
    rows = posterior.rows
    return float(rows.typical[j]) if j < len(rows) else claim.value.typical


def _about(claim: DemandClaim, timezone: str) -> str:
    """What a claim about demand states, with its period on the local clock."""
    zone = ZoneInfo(timezone) if timezone else UTC
    words = claim.quantity
    if claim.quantity == "quantile_w":
        words += f" {claim.share:.0%} of {claim.window_s} s"
    if claim.quantity == "max_w":
        words += f" of {claim.window_s} s"
    if claim.when.hours:
        words += f", hours {min(claim.when.hours)} to {max(claim.when.hours)}"
    if claim.when.outdoor_c is not None:
        words += ", outdoors {:g} to {:g} °C".format(*claim.when.outdoor_c)
    if claim.when.off:
        words += f", off {', '.join(claim.when.off)}"
    if claim.start_s is not None and claim.end_s is not None:
        first, last = (
            datetime.fromtimestamp(moment, UTC).astimezone(zone).date().isoformat()
            for moment in (claim.start_s, claim.end_s)
        )
        words += f", {first} to {last},"
    elif claim.at is not None:
        words += f", {claim.at.astimezone(zone).isoformat(' ', 'minutes')},"
    return words


def _disagreements(records: Sequence[ClaimRecord]) -> tuple[str, ...]:
    return tuple(
        f"{r.text.split(':')[0]}, {r.text.split(': ', 1)[1]}: {r.source}; the result is "
        f"{_spoken(r.result)} {r.unit} ({r.sigmas:+.1f} sigma)"
        for r in records
        if _disagrees(r)
    )


def _disagrees(record: ClaimRecord) -> bool:
    if record.standing == "prior":
        return abs(record.sigmas) > _FAR
    by_hours = ", hours " in record.text
    return record.weight < _BELIEVED or (abs(record.sigmas) > _FAR and not by_hours)


def _remarks(evidence: Evidence, posterior: Posterior, unused: Sequence[Unused]) -> tuple[str, ...]:
    notes = _unheard(unused)
    lacking = _months_lacking(posterior)
    if 0 < len(lacking) < 12:
        notes.append(
            f"not measured: {', '.join(lacking)}; these months rest on the list of appliances, "
            "scaled by what the measured months showed"
        )
    if any(series.flow in ("export", "net") for series in evidence.series):
        notes.append(
            "the meter also counts energy fed back (solar?): what it counts is not the load of "
            "the house, and was not used"
        )
    return tuple(notes)


def _unheard(unused: Sequence[Unused]) -> list[str]:
    """Claims that were not used: together, or by what is wrong with each."""
    notes = []
    for reason in sorted({reason for _, reason in unused}):
        claims = [claim for claim, why in unused if why == reason]
        places = sorted({_unheard_name(claim) for claim in claims})
        why = f": {reason}" if reason else ""
        notes.append(
            f"{len(claims)} statements about demand were heard but not used: "
            f"{', '.join(places)}{why}"
        )
    return notes


def _unheard_name(claim: DemandClaim) -> str:
    name = f"{claim.place} {claim.quantity}"
    if claim.when.outdoor_c is None:
        return name
    return name + " at {:g} to {:g} °C outdoors".format(*claim.when.outdoor_c)


def _months_lacking(posterior: Posterior) -> list[str]:
    """Months in which no energy of the whole house was measured."""
    covered = np.zeros(12)
    rows = posterior.rows
    for claim, rest, cold in zip(rows.claims, rows.rest, rows.at_temperature, strict=True):
        if claim.place == "whole" and claim.quantity in ("energy_wh", "mean_w") and not cold:
            covered += rest
    if not covered.any():
        return []
    return [name for name, share in zip(_MONTHS, covered, strict=True) if share <= _EDGE_SHARE]


def _month_draws(posterior: Posterior) -> Array:
    """Energy of each month of a common year in each draw, shape (D, 12). [Wh]"""
    u = posterior.unknowns
    mean = u.mean_w(u.state(posterior.draws)).reshape(-1, 12, 24)
    energy: Array = mean.sum(axis=2) * DAYS_IN_MONTH
    return energy


def _spoken(value: Range) -> str:
    if value.is_exact:
        return f"{value.typical:.4g}"
    return f"{value.typical:.4g} ({value.low:.4g}–{value.high:.4g})"
