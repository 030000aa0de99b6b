"""Energy that was measured but that no listed load explains."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.evidence import Evidence
from loadlib.core.load import UNLISTED, Load, flat
from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.estimators.energy import DRAWS, hours_of_period, mean_draws_w

__all__ = ["comparable", "modelled", "unlisted_load"]

Array = NDArray[np.float64]


def comparable(claim: DemandClaim) -> bool:
    """True for claims about the mean demand or energy of the whole house over a period."""
    return claim.place == "whole" and claim.quantity in ("energy_wh", "mean_w")


def modelled(claim: DemandClaim, draws_w: Array, timezone: str) -> Array:
    """What the loads give for ``claim``, in its unit, for each draw; shape (draws,)."""
    hours = _hours(claim, timezone)
    energy_wh: Array = draws_w @ hours
    return energy_wh if claim.quantity == "energy_wh" else energy_wh / hours.sum()


def unlisted_load(
    evidence: Evidence, loads: Sequence[Load], claims: Sequence[DemandClaim], seed: int
) -> Load | None:
    """A steady load for the energy that the listed loads do not explain; None if there is none.

    The claims' mean demand less the modelled one, weighted by length, never below zero.
    """
    usable = [claim for claim in claims if comparable(claim)]
    if not usable:
        return None
    rng = np.random.default_rng(seed)
    draws_w = mean_draws_w(loads, seed)
    lack_wh, length_h = np.zeros(DRAWS), 0.0
    for claim in usable:
        hours = float(_hours(claim, evidence.house.timezone).sum())
        scale = 1.0 if claim.quantity == "energy_wh" else hours
        said = claim.value.sample(rng, DRAWS)
        lack_wh += scale * (said - modelled(claim, draws_w, evidence.house.timezone))
        length_h += hours
    lack_w = Range.of_samples(np.maximum(lack_wh / length_h, 0.0))
    if lack_w.typical <= 0.0:
        return None
    return _steady(evidence, lack_w, tuple(claim.source for claim in usable))


def _hours(claim: DemandClaim, timezone: str) -> Array:
    if claim.start_s is None or claim.end_s is None:  # held by DemandClaim for these quantities
        raise InputError(f"claim about {claim.place!r}: {claim.quantity} has no period")
    return hours_of_period(claim.start_s, claim.end_s, timezone)


def _steady(evidence: Evidence, power_w: Range, sources: tuple[str, ...]) -> Load:
    legs = evidence.house.supply.legs
    return Load(
        id=UNLISTED,
        name="Not listed",
        category="",
        kind="mixed",
        leg_share=tuple(1.0 / len(legs) for _ in legs),
        line_to_line=False,
        running_w=power_w,
        power_factor=Range(0.8, 0.95, 1.0),
        start_va=None,
        start_s=Range.exact(0.0),
        standby_w=Range.exact(0.0),
        duty=flat(1.0),
        duty_belief=Range.exact(1.0),
        starts_per_h=flat(0.0),
        known="measured",
        sources=tuple(f"running_w: measured less listed loads, {source}" for source in sources),
        notes=("steady and even on the legs by assumption; its power factor is a guess",),
    )
