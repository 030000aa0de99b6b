"""What a claim's place and names mean among the loads of a house."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim
from loadlib.core.household import House
from loadlib.core.load import Load
from loadlib.estimators.unknowns import Unknowns

__all__ = ["any_is", "members", "named", "place_legs"]

Array = NDArray[np.float64]


def members(claim_place: str, unknowns: Unknowns, house: House) -> Array | None:
    """How much of each load counts at a place, shape (n,); None for a place nobody knows."""
    loads = unknowns.loads
    kind, _, name = claim_place.partition(" ")
    if claim_place == "whole":
        return np.ones(len(loads))
    if kind == "leg" and name in house.supply.legs:
        return np.asarray(unknowns.share[:, house.supply.legs.index(name)])
    if kind == "circuit":
        found = [float(load.circuit.casefold() == name.casefold()) for load in loads]
    else:
        found = [float(_is(load, name)) for load in loads]
    return np.array(found) if any(found) else None


def place_legs(claim: DemandClaim, house: House) -> tuple[int, float]:
    """Index of the leg (−1 for none) and whether what is not listed counts at the place."""
    if claim.place == "whole":
        return -1, 1.0
    if claim.place.startswith("leg "):
        return house.supply.legs.index(claim.place.removeprefix("leg ")), 1.0
    return -1, 0.0


def named(names: Sequence[str], unknowns: Unknowns) -> NDArray[np.bool_]:
    """Loads that are named by id, or by their circuit, shape (n,)."""
    wanted = [name.casefold() for name in names]
    return np.array(
        [
            any(_is(load, name) for name in names) or load.circuit.casefold() in wanted
            for load in unknowns.loads
        ],
        dtype=bool,
    )


def any_is(load: Load, names: Sequence[str]) -> bool:
    """Whether one of the names is the load's id, or that of the appliance it is a part of."""
    return any(_is(load, name) for name in names)


def _is(load: Load, name: str) -> bool:
    return load.id == name or load.id.startswith(f"{name}/")
