"""What the columns of a log were clamped on, in the house's own names, and at which volts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from loadlib.errors import InputError, NotFound

if TYPE_CHECKING:
    from loadlib.core.household import Appliance, House

__all__ = ["place_in", "volts_by_name"]

_HINT = (
    'Say what the column is: --column "appliance ID=HEADING", "circuit NAME=HEADING" or '
    '"ignore=HEADING", with its heading as the file has it.'
)


def place_in(home: House, place: str) -> str:
    """``"whole"``, ``"neutral"``, ``"leg A"``, ``"circuit NAME"`` or ``"appliance ID"``.

    A bare name, or one that a heading gave a circuit, may be an appliance too.

    Raises
    ------
    NotFound, InputError
        for what the house does not have.
    """
    kind, _, name = place.strip().partition(" ")
    kind = kind.casefold()
    if kind in ("whole", "neutral") and not name:
        return kind
    if kind == "leg":
        return f"leg {_leg(home, name)}"
    if kind == "appliance":
        return f"appliance {_appliance(home, name).id}"
    wanted = name if kind == "circuit" else place.strip()
    for circuit in home.circuits:
        if circuit.name.casefold() == wanted.casefold():
            return f"circuit {circuit.name}"
    try:
        return f"appliance {_appliance(home, wanted).id}"
    except NotFound:
        near = ", ".join([*(c.name for c in home.circuits), *(a.id for a in home.appliances)][:8])
        told = f"It has: {near}. " if near else ""
        raise NotFound("circuit or appliance", wanted, hint=told + _HINT) from None


def _leg(home: House, name: str) -> str:
    try:
        found = home.supply.legs_of(name)
    except InputError as wrong:
        raise InputError(wrong.message, hint=f"{wrong.hint} {_HINT}") from None
    if len(found) > 1:
        raise InputError(f"a column of the legs {name}", hint="State each leg's own column.")
    return found[0]


def _appliance(home: House, name: str) -> Appliance:
    wanted = _plain(name)
    for one in home.appliances:
        if _plain(one.id) == wanted:
            return one
    return home.appliance(name)


def _plain(name: str) -> str:
    return name.replace("_", " ").casefold()


def volts_by_name(home: House) -> Mapping[str, float]:
    """Nominal volts of circuits and appliances by every name that a column may give. [V]"""
    from loadlib.clamp.mistakes import target_of
    from loadlib.estimators.rated import label_of, volts_of
    from loadlib.store.catalog import many

    supply = home.supply
    categories = many({one.category for one in home.appliances})
    found: dict[str, float] = {}
    for one in home.appliances:
        own_v = volts_of(label_of(one), categories.get(one.category), supply)
        volts = supply.volts(target_of(f"appliance {one.id}", home, volts=own_v).legs)
        for name in (one.id, _plain(one.id), one.name):
            found |= {f"{kind}{name}": volts for kind in ("appliance ", "circuit ", "")}
    for circuit in home.circuits:
        volts = supply.volts(supply.legs_of(circuit.legs))
        found |= {f"circuit {circuit.name}": volts, circuit.name: volts}
    return found
