"""Legs that changes tell: what was switched off is on the leg whose demand fell.

Only for loads of which nothing else tells the leg (``legs.place_all`` guessed it), and only from
changes of one leg when such a load alone was switched. A change may be a mistake, as in
``robust``; a leg is taken when it is likelier than ``SURE`` after all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.load import Load
from loadlib.core.ranges import Z95
from loadlib.estimators.legs import LEG_NOT_KNOWN
from loadlib.estimators.robust import blunder_ratio, loss

__all__ = ["SURE", "legs_from_changes"]

Array = NDArray[np.float64]

SURE = 0.9
"""A judgement: below it the guess stands, and is still named as one."""

_LEAST_SIGMA_W = 5.0
"""What else changes on a leg between two looks, at the least: a judgement. [W]"""


def legs_from_changes(
    loads: Sequence[Load],
    remarks: Sequence[str],
    claims: Sequence[DemandClaim],
    legs: Sequence[str],
) -> tuple[tuple[Load, ...], tuple[str, ...]]:
    """Loads on the legs that changes tell, and the remarks without those guesses.

    ``legs`` are the supply's. What does not decide anything leaves a load as it is.
    """
    found = tuple(_placed(load, claims, legs) for load in loads)
    left = {note for load in found for note in load.notes}
    told = {note for load in loads for note in load.notes} - left
    return found, tuple(remark for remark in remarks if remark not in told)


def _placed(load: Load, claims: Sequence[DemandClaim], legs: Sequence[str]) -> Load:
    if not any(LEG_NOT_KNOWN in note for note in load.notes):
        return load
    about = [claim for claim in claims if _is_about(claim, load, legs)]
    if not about:
        return load
    score = np.array([sum(_log_density(claim, load, leg) for claim in about) for leg in legs])
    chance = np.exp(score - score.max())
    chance /= chance.sum()
    best = int(chance.argmax())
    if chance[best] < SURE:
        return load
    share = tuple(float(k == best) for k in range(len(legs)))
    sources = tuple(dict.fromkeys(f"leg {legs[best]}: {claim.source}" for claim in about))
    notes = tuple(note for note in load.notes if LEG_NOT_KNOWN not in note)
    return replace(load, leg_share=share, sources=(*load.sources, *sources), notes=notes)


def _is_about(claim: DemandClaim, load: Load, legs: Sequence[str]) -> bool:
    return (
        claim.quantity == "change_w"
        and claim.place in [f"leg {leg}" for leg in legs]
        and claim.when.off == (load.id,)
    )


def _log_density(claim: DemandClaim, load: Load, leg: str) -> float:
    """Of the change, up to a constant, if the load is on ``leg``: its rise there, else nothing."""
    here = claim.place == f"leg {leg}"
    running, value = load.running_w, claim.value
    change_w = load.count * max(running.typical - load.standby_w.typical, 0.0) if here else 0.0
    own_w = load.count * (running.high - running.low) / (2.0 * Z95) if here else 0.0
    sigma = float(np.hypot(own_w, (value.high - value.low) / (2.0 * Z95)))
    sigma = max(sigma, _LEAST_SIGMA_W)
    size = np.array([max(abs(value.typical), load.count * running.typical)])
    off = np.array([(value.typical - change_w) / sigma])
    blunder = blunder_ratio(size, np.array([sigma]))
    return -float(loss(off, blunder)[0]) - float(np.log(sigma))
