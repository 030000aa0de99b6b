"""House, circuits and appliances as a person enters them: facts, not estimates."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from loadlib.core.electrical import System, system
from loadlib.core.ranges import Range
from loadlib.errors import InputError, NotFound

__all__ = ["PRIORITIES", "Appliance", "Circuit", "House"]

PRIORITIES = ("must", "wanted", "off")
"""What a load is to the household in an outage: must run, wanted if there is room, stays off."""


@dataclass(frozen=True, slots=True)
class Circuit:
    """A branch circuit. ``legs`` as ``"A"``, ``"B"`` or ``"AB"``; ``slots`` in the panel.

    ``leg_guessed`` is true while the leg only follows from the slot number.
    ``depends_on`` names circuits without which this one does nothing (boiler and circulator).
    """

    name: str
    slots: tuple[int, ...] = ()
    legs: str = "A"
    breaker_a: float | None = None
    leg_guessed: bool = False
    depends_on: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Appliance:
    """One appliance, or ``count`` alike, as entered; ``label`` is the text as typed.

    ``medical`` loads are never shed by default. ``may_be_off_s`` is how long it may be
    without power and ``if_off`` what happens then. ``running_w`` is a person's own figure
    and stands above the label.
    """

    id: str
    name: str
    category: str
    count: int = 1
    room: str = ""
    label: str = ""
    circuit: str = ""
    legs: str = ""
    priority: str = "wanted"
    medical: bool = False
    may_be_off_s: float | None = None
    if_off: str = ""
    running_w: Range | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if self.priority not in PRIORITIES:
            raise InputError(
                f"{self.name}: priority {self.priority!r}",
                hint="Use one of: " + ", ".join(PRIORITIES) + ".",
            )
        if not 1 <= self.count <= 10_000:
            raise InputError(f"{self.name}: count {self.count} is not between 1 and 10,000")
        if self.may_be_off_s is not None and self.may_be_off_s < 0:
            raise InputError(f"{self.name}: may_be_off_s is negative")


@dataclass(frozen=True, slots=True)
class House:
    """A house: its supply, circuits, rooms and appliances."""

    name: str
    system: str = "120/240"
    service_a: float | None = None
    area_ft2: float | None = None
    timezone: str = ""
    rooms: tuple[str, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    appliances: tuple[Appliance, ...] = ()
    note: str = ""
    _by_id: dict[str, Appliance] = field(
        init=False, repr=False, compare=False, default_factory=dict
    )

    def __post_init__(self) -> None:
        supply = system(self.system)
        for circuit in self.circuits:
            supply.legs_of(circuit.legs)
        for appliance in self.appliances:
            if appliance.legs:
                supply.legs_of(appliance.legs)
            if appliance.id in self._by_id:
                raise InputError(f"two appliances have the id {appliance.id!r}")
            self._by_id[appliance.id] = appliance
        names = [circuit.name for circuit in self.circuits]
        twice = {name for name in names if names.count(name) > 1}
        if twice:
            raise InputError(f"two circuits have the name {sorted(twice)[0]!r}")
        for appliance in self.appliances:
            if appliance.circuit and appliance.circuit not in names:
                raise NotFound("circuit", appliance.circuit, near=tuple(names))

    @property
    def supply(self) -> System:
        """The voltage system, resolved."""
        return system(self.system)

    def appliance(self, key: str) -> Appliance:
        """The appliance of that id, or of that name if only one has it."""
        if key in self._by_id:
            return self._by_id[key]
        named = [a for a in self.appliances if a.name.casefold() == key.casefold()]
        if len(named) == 1:
            return named[0]
        raise NotFound("appliance", key, near=tuple(a.id for a in named or self.appliances)[:5])

    def circuit(self, name: str) -> Circuit:
        """The circuit of that name."""
        for circuit in self.circuits:
            if circuit.name.casefold() == name.casefold():
                return circuit
        raise NotFound("circuit", name, near=tuple(c.name for c in self.circuits)[:5])

    def with_(self, **changes: object) -> House:
        """A copy with some fields changed and everything checked again."""
        return replace(self, **changes)  # type: ignore[arg-type]  # field names checked at run time
