"""The survey of circuits: breaker by breaker, what went dark.

Nothing is opened: only handles are moved, and only after asking who depends on them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from loadlib.core.cautions import SURVEY
from loadlib.core.household import MOST_SLOTS, Appliance, Circuit, House
from loadlib.errors import InputError, LoadlibError, NotFound

if TYPE_CHECKING:
    from loadlib.walk.session import Desk

__all__ = ["guessed_circuit", "slots_of", "survey"]

Say = Callable[[Sequence[str]], None]
Ask = Callable[[str], str | None]


def survey(desk: Desk, say: Say, ask: Ask) -> None:
    """Ask for slots until Enter; each answer is stored at once."""
    say(["Which breaker is what. Nothing is opened: only handles are moved.", *SURVEY])
    answer = (ask("Is none of these on it, or are they cared for? [y/n] ") or "n").strip()
    if not answer.casefold().startswith("y"):
        say(["Then leave all on, and come back when they are."])
        return
    while True:
        slot = (ask("Slot to switch off next (Enter to end): ") or "").strip()
        if not slot:
            return
        try:
            _survey_slot(desk, say, ask, slots_of(slot))
        except LoadlibError as error:
            say(str(error).splitlines())


def _survey_slot(desk: Desk, say: Say, ask: Ask, slots: tuple[int, ...]) -> None:
    house = desk.house()
    circuit = next((c for c in house.circuits if set(c.slots) & set(slots)), None)
    if circuit is not None and (medical := _medical_on(house, circuit.name)):
        say([f"Leave it on: {', '.join(medical)} is on {circuit.name}."])
        return
    if circuit is not None and (vital := _must_on(house, circuit.name)):
        say([f"Keep it short: {', '.join(vital)} is on {circuit.name}."])
    dark = ask("Switch it off, walk, come back. What went dark? (names, commas): ") or ""
    if circuit is None:
        new = circuit = guessed_circuit(house, slots)
        desk.edit(lambda h: h.with_(circuits=(*h.circuits, new)), f"found {new.name}")
        say([f"{new.name}: leg {new.legs}, guessed from the slot."])
    moved = []
    for name in filter(None, (part.strip() for part in dark.split(","))):
        try:
            moved.append(desk.house().appliance(name))
        except NotFound as error:
            say([f"{error}. Enter it first; its breaker can be said then with @."])
    _move(desk, say, moved, circuit.name)


def _medical_on(house: House, circuit: str) -> list[str]:
    return [a.name for a in house.appliances if a.medical and a.circuit == circuit]


def _must_on(house: House, circuit: str) -> list[str]:
    return [a.name for a in house.appliances if a.priority == "must" and a.circuit == circuit]


def _move(desk: Desk, say: Say, moved: list[Appliance], circuit: str) -> None:
    ids = {appliance.id for appliance in moved}
    if moved:
        desk.edit(
            lambda house: house.with_(
                appliances=tuple(
                    replace(a, circuit=circuit) if a.id in ids else a for a in house.appliances
                )
            ),
            f"put {len(ids)} on {circuit}",
        )
        say([f"On {circuit}: {', '.join(appliance.name for appliance in moved)}."])
    if any(appliance.medical for appliance in moved):
        say(["A medical device is among them: switch it on again now."])
    else:
        say(["Switch it on again before the next one."])


def slots_of(text: str) -> tuple[int, ...]:
    """Slots of a panel as written: ``11``, ``2-4``."""
    parts = text.replace("-", " ").replace(",", " ").split()
    if not parts or not all(
        part.isascii() and part.isdigit() and 0 < int(part) <= MOST_SLOTS for part in parts
    ):
        raise InputError(f"{text!r} is no slot", hint="Write 11, or 2-4 for a double one.")
    return tuple(int(part) for part in parts)


def guessed_circuit(house: House, slots: tuple[int, ...], name: str = "") -> Circuit:
    """A circuit with its leg guessed: in most panels slots 1, 2 are on one leg, 3, 4 on the
    other, and so on down (common practice, no source)."""
    legs = house.supply.legs
    guessed = sorted({legs[((slot - 1) // 2) % len(legs)] for slot in slots})
    name = name or "slot " + "-".join(str(slot) for slot in slots)
    return Circuit(name, slots, "".join(guessed), None, leg_guessed=True)
