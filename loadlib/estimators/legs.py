"""Which legs a load lies on: as entered, by its circuit, by its voltage, or as a guess."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loadlib.core.electrical import System
from loadlib.core.household import Appliance, House

__all__ = ["LEG_NOT_KNOWN", "Placed", "place_all"]

LEG_NOT_KNOWN = "leg not known"
"""In the guess of a load of which nothing tells the leg."""

_ACROSS_SHARE = 0.85
"""A load rated for at least this share of the line voltage is taken as line to line: 208 and
220 V on a 240 V supply count, 115 and 127 V do not."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Share on each leg, whether line to line, and what was guessed, in words."""

    leg_share: tuple[float, ...]
    line_to_line: bool
    guess: str = ""


def place_all(house: House, wants: Sequence[tuple[Appliance, float, float]]) -> dict[str, Placed]:
    """Legs of each (appliance, volts, watts while on), by id.

    Where nothing tells the leg of a load on one leg, the largest go first to the leg that has
    least so far: a guess that is named, since it makes the legs look balanced.
    """
    supply = house.supply
    placed: dict[str, Placed] = {}
    unknown: list[tuple[float, Appliance, tuple[str, ...]]] = []
    for appliance, volts, power_w in wants:
        legs, why = _legs_told(house, appliance)
        across = _across(supply, volts)
        if across and (not legs or len(legs) == 1):
            why = f"{appliance.name}: at {volts:g} V taken as on legs {'+'.join(supply.legs)}"
            legs = supply.legs
        if len(legs) == 1 or across:
            placed[appliance.id] = Placed(_even(supply, legs), across and len(legs) > 1, why)
        else:
            unknown.append((power_w * appliance.count, appliance, legs or supply.legs))
    watts = {appliance.id: power_w * appliance.count for appliance, _, power_w in wants}
    _spread(supply, placed, unknown, watts)
    return placed


def _legs_told(house: House, appliance: Appliance) -> tuple[tuple[str, ...], str]:
    """Legs that were entered for the appliance or its circuit; empty when none."""
    if appliance.legs:
        return house.supply.legs_of(appliance.legs), ""
    if appliance.circuit:
        circuit = house.circuit(appliance.circuit)
        legs = house.supply.legs_of(circuit.legs)
        guess = f"{appliance.name}: leg follows from the slot only" if circuit.leg_guessed else ""
        return legs, guess
    if len(house.supply.legs) == 1:
        return house.supply.legs, ""
    return (), ""


def _across(supply: System, volts: float) -> bool:
    return len(supply.legs) > 1 and volts >= _ACROSS_SHARE * supply.line_v


def _even(supply: System, legs: Sequence[str]) -> tuple[float, ...]:
    return tuple(1.0 / len(legs) if leg in legs else 0.0 for leg in supply.legs)


def _spread(
    supply: System,
    placed: dict[str, Placed],
    unknown: Sequence[tuple[float, Appliance, tuple[str, ...]]],
    watts: Mapping[str, float],
) -> None:
    """Put loads whose leg is not known on the leg that has least so far, largest first."""
    used_w = dict.fromkeys(supply.legs, 0.0)
    for key, where in placed.items():
        for leg, share in zip(supply.legs, where.leg_share, strict=True):
            used_w[leg] += share * watts[key]
    for power_w, appliance, legs in sorted(unknown, key=lambda row: (-row[0], row[1].id)):
        leg = min(legs, key=lambda name: (used_w[name], name))
        used_w[leg] += power_w
        guess = f"{appliance.name}: {LEG_NOT_KNOWN}, taken as {leg}"
        placed[appliance.id] = Placed(_even(supply, (leg,)), False, guess)
