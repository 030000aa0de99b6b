"""Changes to a house, as pure functions: a House in, a checked House out."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from loadlib.core.household import Appliance, Circuit, House
from loadlib.errors import InputError, NotFound

__all__ = [
    "add_appliance",
    "add_circuit",
    "add_room",
    "change_appliance",
    "change_circuit",
    "new_id",
    "remove_appliance",
    "remove_circuit",
    "remove_room",
    "rename_circuit",
    "rename_room",
]


def new_id(house: House, name: str) -> str:
    """A short id made from ``name`` that no appliance of the house has yet."""
    base = re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_")[:40] or "appliance"
    taken = {appliance.id for appliance in house.appliances}
    number = 2
    key = base
    while key in taken:
        key, number = f"{base}_{number}", number + 1
    return key


def add_appliance(house: House, appliance: Appliance) -> House:
    """Append an appliance; an empty id is made from its name, its room is added if new."""
    if not appliance.id:
        appliance = replace(appliance, id=new_id(house, appliance.name or appliance.category))
    return _with_room(house, appliance.room).with_(appliances=(*house.appliances, appliance))


def change_appliance(house: House, key: str, **changes: object) -> House:
    """Change fields of one appliance (room and circuit move it); its id stays."""
    old = house.appliance(key)
    if changes.get("id", old.id) != old.id:
        raise InputError(f"{old.name}: the id can't be changed", hint="Change its name instead.")
    new = replace(old, **changes)  # type: ignore[arg-type]  # names are checked at run time
    return _with_room(house, new.room).with_(
        appliances=tuple(new if a.id == old.id else a for a in house.appliances)
    )


def remove_appliance(house: House, key: str) -> House:
    """Take one appliance out."""
    gone = house.appliance(key).id
    return house.with_(appliances=tuple(a for a in house.appliances if a.id != gone))


def add_circuit(house: House, circuit: Circuit) -> House:
    """Append a circuit; two of one name are refused."""
    _refuse_taken("circuit", circuit.name, [c.name for c in house.circuits])
    return house.with_(circuits=(*house.circuits, circuit))


def change_circuit(house: House, key: str, **changes: object) -> House:
    """Change fields of one circuit; for its name there is ``rename_circuit``."""
    old = house.circuit(key)
    if changes.get("name", old.name) != old.name:
        raise InputError("change_circuit: use rename_circuit for the name")
    new = replace(old, **changes)  # type: ignore[arg-type]  # names are checked at run time
    return house.with_(circuits=tuple(new if c is old else c for c in house.circuits))


def rename_circuit(house: House, name: str, new: str) -> House:
    """Rename a circuit wherever the house names it."""
    old = house.circuit(name).name
    _refuse_taken("circuit", new, [c.name for c in house.circuits if c.name != old])
    return _each_circuit_name(house, lambda text: new if text == old else text)


def remove_circuit(house: House, name: str) -> House:
    """Take a circuit out; its appliances stay, without a circuit."""
    gone = house.circuit(name)
    rest = house.with_(
        appliances=tuple(
            replace(a, circuit="") if a.circuit == gone.name else a for a in house.appliances
        )
    )
    kept = (
        replace(c, depends_on=tuple(d for d in c.depends_on if d != gone.name))
        for c in rest.circuits
        if c is not gone
    )
    return rest.with_(circuits=tuple(kept))


def add_room(house: House, name: str) -> House:
    """Append a room; one that is there already is no error."""
    return _with_room(house, name)


def rename_room(house: House, name: str, new: str) -> House:
    """Rename a room wherever the house names it."""
    if name not in house.rooms:
        raise NotFound("room", name, near=house.rooms[:5])
    _refuse_taken("room", new, [room for room in house.rooms if room != name])
    return house.with_(
        rooms=tuple(new if room == name else room for room in house.rooms),
        appliances=tuple(replace(a, room=new) if a.room == name else a for a in house.appliances),
    )


def remove_room(house: House, name: str) -> House:
    """Take a room out; its appliances stay, without a room."""
    if name not in house.rooms:
        raise NotFound("room", name, near=house.rooms[:5])
    return house.with_(
        rooms=tuple(room for room in house.rooms if room != name),
        appliances=tuple(replace(a, room="") if a.room == name else a for a in house.appliances),
    )


def _with_room(house: House, room: str) -> House:
    return house if not room or room in house.rooms else house.with_(rooms=(*house.rooms, room))


def _refuse_taken(what: str, name: str, taken: list[str]) -> None:
    if not name.strip():
        raise InputError(f"the {what} has no name")
    if name.casefold() in {other.casefold() for other in taken}:
        raise InputError(f"there is a {what} {name!r} already")


def _each_circuit_name(house: House, renamed: Callable[[str], str]) -> House:
    # Circuits and appliances are exchanged in one step: in between, one names the other's past.
    return house.with_(
        circuits=tuple(
            replace(c, name=renamed(c.name), depends_on=tuple(map(renamed, c.depends_on)))
            for c in house.circuits
        ),
        appliances=tuple(replace(a, circuit=renamed(a.circuit)) for a in house.appliances),
    )
