"""From claims to one load model: which value each load gets, and how far each claim was off.

For each quantity of a load the first prior heard counts (estimators say the best they know
first). Evidence is joined to it by precision on a log scale; claims that contradict each
other widen the result and are named. Claims about demand are compared with the model.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loadlib.core.claims import Claim, DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.load import Load
from loadlib.core.profile import ClaimRecord
from loadlib.core.ranges import Range
from loadlib.estimators.combine import Combined, combine, sigmas_apart
from loadlib.estimators.energy import mean_draws_w
from loadlib.estimators.loads import build_loads
from loadlib.estimators.unlisted import comparable, modelled, unlisted_load

__all__ = ["Settlement", "settle"]

_FAR = 2.5
"""A claim further than this many of its own sigmas from the result is a finding."""


@dataclass(frozen=True, slots=True)
class Settlement:
    """What came out: the loads, each claim beside its result, contradictions, remarks."""

    loads: tuple[Load, ...]
    records: tuple[ClaimRecord, ...]
    disagreements: tuple[str, ...]
    notes: tuple[str, ...]


def settle(evidence: Evidence, claims: Sequence[tuple[str, Claim]], seed: int) -> Settlement:
    """The loads that agree best with the claims.

    Parameters
    ----------
    evidence : Evidence
        house and catalog; what nobody claimed about a load is taken from here.
    claims : sequence of (estimator, Claim)
        in the order they were heard.
    seed : int
        of the draws that compare energy with the loads.

    Returns
    -------
    Settlement
        loads in the order of the house's appliances, then those that only claims name.
    """
    heard = [(who, claim) for who, claim in claims if isinstance(claim, LoadClaim)]
    demand = [(who, claim) for who, claim in claims if isinstance(claim, DemandClaim)]
    combined = _combine_all(heard)
    loads, notes = build_loads(evidence, [claim for _, claim in heard], combined)
    rest = unlisted_load(evidence, loads, [claim for _, claim in demand], seed)
    if rest is not None:
        loads = (*loads, rest)
    records = [_record(who, claim, combined) for who, claim in heard]
    records += _demand_records(evidence, demand, loads, seed)
    unused = sum(not comparable(claim) for _, claim in demand)
    if unused:
        notes = (*notes, f"{unused} statements about demand were heard but not used")
    return Settlement(loads, tuple(records), _disagreements(records), notes)


def _combine_all(heard: Sequence[tuple[str, LoadClaim]]) -> dict[tuple[str, str], Combined]:
    groups: dict[tuple[str, str], list[LoadClaim]] = {}
    for _, claim in heard:
        groups.setdefault((claim.load_id, claim.quantity), []).append(claim)
    return {key: combine(group) for key, group in groups.items()}


def _record(
    who: str, claim: LoadClaim, combined: Mapping[tuple[str, str], Combined]
) -> ClaimRecord:
    result = combined[(claim.load_id, claim.quantity)]
    used = any(claim is one for one in result.used)
    return ClaimRecord(
        estimator=who,
        text=f"{claim.load_id}: {claim.quantity} {_spoken(claim.value)} {claim.unit}",
        about=claim.load_id,
        quantity=claim.quantity,
        unit=claim.unit,
        value=claim.value,
        result=result.value,
        sigmas=sigmas_apart(claim.value, result.value),
        weight=1.0 if used else 0.0,
        standing=claim.standing,
        source=claim.source,
    )


def _demand_records(
    evidence: Evidence,
    demand: Sequence[tuple[str, DemandClaim]],
    loads: Sequence[Load],
    seed: int,
) -> list[ClaimRecord]:
    """Claims about energy beside what the loads give, the unlisted one among them."""
    usable = [(who, claim) for who, claim in demand if comparable(claim)]
    if not usable:
        return []
    draws_w = mean_draws_w(loads, seed)
    records = []
    for who, claim in usable:
        result = Range.of_samples(modelled(claim, draws_w, evidence.house.timezone))
        record = ClaimRecord(
            estimator=who,
            text=f"{claim.place}: {claim.quantity} {_spoken(claim.value)} {claim.unit}",
            about=claim.place,
            quantity=claim.quantity,
            unit=claim.unit,
            value=claim.value,
            result=result,
            sigmas=sigmas_apart(claim.value, result),
            weight=1.0,
            standing="evidence",
            source=claim.source,
        )
        records.append(record)
    return records


def _disagreements(records: Sequence[ClaimRecord]) -> tuple[str, ...]:
    return tuple(
        f"{r.about}, {r.quantity}: {r.source} says {_spoken(r.value)} {r.unit}, the result is "
        f"{_spoken(r.result)} {r.unit} ({r.sigmas:.1f} sigma apart)"
        for r in records
        if abs(r.sigmas) > _FAR and (r.standing == "evidence" or r.weight == 0.0)
    )


def _spoken(value: Range) -> str:
    if value.is_exact:
        return f"{value.typical:.4g}"
    return f"{value.typical:.4g} ({value.low:.4g}–{value.high:.4g})"
