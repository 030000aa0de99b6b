"""Each claim beside what came out, contradictions, and what was not used or not measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from loadlib.core.claims import DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.profile import ClaimRecord
from loadlib.core.ranges import Range
from loadlib.estimators.combine import Combined, sigmas_apart
from loadlib.estimators.posterior import Posterior
from loadlib.estimators.robust import LEAST_BLUNDER, soundness
from loadlib.estimators.unknowns import Unknowns

__all__ = [
    "FAR_SIGMAS",
    "Key",
    "Unused",
    "demand_records",
    "disagreements",
    "fitted_parts",
    "load_record",
    "remarks",
]

Key = tuple[str, str]
"""Load and quantity."""

Unused = tuple[DemandClaim, str]
"""A claim that was not used, and why; "" where no load is at its place."""

FAR_SIGMAS = 2.5
"""A claim further than this many sigmas from the result is a finding."""

_BELIEVED = 0.5

_EDGE_SHARE = 0.02
"""A month that a claim only touches (an hour beyond midnight) is not measured."""

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


def fitted_parts(u: Unknowns) -> tuple[tuple[slice, str], ...]:
    """Where the fitted quantities of loads stand among the unknowns."""
    return ((u.run, "running_w"), (u.use, "duty_share"), (u.off, "standby_w"))


def load_record(
    who: str, claim: LoadClaim, combined: Mapping[Key, Combined], posterior: Posterior
) -> ClaimRecord:
    """A claim about a load beside the settled number that it speaks of."""
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
        sigmas=sigmas_apart(claim.value, result, claim.unit),
        weight=_belief_in(claim, posterior) if used else 0.0,
        standing=claim.standing,
        source=claim.source,
    )


def _index(claim: LoadClaim, posterior: Posterior) -> tuple[int, int] | None:
    """Number of the claim's load and place among the unknowns; None for what is not fitted."""
    u = posterior.unknowns
    part = next((part for part, quantity in fitted_parts(u) if quantity == claim.quantity), None)
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


def demand_records(
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


def disagreements(records: Sequence[ClaimRecord]) -> tuple[str, ...]:
    """Claims that cannot be true together with the result, in words."""
    return tuple(
        f"{r.text.split(':')[0]}, {r.text.split(': ', 1)[1]}: {r.source}; the result is "
        f"{_spoken(r.result)} {r.unit} ({r.sigmas:+.1f} sigma)"
        for r in records
        if _disagrees(r)
    )


def _disagrees(record: ClaimRecord) -> bool:
    if record.standing == "prior":
        return abs(record.sigmas) > FAR_SIGMAS
    by_hours = ", hours " in record.text
    return record.weight < _BELIEVED or (abs(record.sigmas) > FAR_SIGMAS and not by_hours)


def remarks(evidence: Evidence, posterior: Posterior, unused: Sequence[Unused]) -> tuple[str, ...]:
    """What was not used and why, months that were not measured, energy fed back."""
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


def _spoken(value: Range) -> str:
    if value.is_exact:
        return f"{value.typical:.4g}"
    return f"{value.typical:.4g} ({value.low:.4g}–{value.high:.4g})"
