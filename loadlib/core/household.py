"""House, circuits and appliances as a person enters them: facts, not estimates."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from loadlib.core.electrical import System, system
from loadlib.core.ranges import Range
from loadlib.errors import InputError, NotFound

__all__ = ["PRIORITIES", "Appliance", "Circuit", "House"]

PRIORITIES = ("must", "wanted", "off")
"""What a load is to the household in an outage: must run, wanted if there is room, stays off."""

MOST_SLOTS = 199
MOST_SERVICE_A = 4_000.0
MOST_AREA_FT2 = 1_000_000.0
MOST_RUNNING_W = 1_000_000.0
"""Above these a figure is a slip of the keyboard, not a house (our choice)."""


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

    def __post_init__(self) -> None:
        _refuse_odd(f"circuit {self.name}: breaker_a", self.breaker_a, MOST_SERVICE_A, "A")
        odd = [slot for slot in self.slots if not 1 <= slot <= MOST_SLOTS]
        if odd or len(set(self.slots)) < len(self.slots):
            raise InputError(
                f"circuit {self.name}: slots {', '.join(map(str, self.slots))}",
                hint=f"Each slot once, from 1 to {MOST_SLOTS}.",
            )


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
        if self.may_be_off_s is not None and not 0.0 <= self.may_be_off_s < math.inf:
            raise InputError(
                f"{self.name}: may_be_off_s {self.may_be_off_s:g} is no length of time"
            )
        own = self.running_w
        if own is not None and not 0.0 <= own.low <= own.high <= MOST_RUNNING_W:
            raise InputError(
                f"{self.name}: running_w {own.low:g} to {own.high:g} W is impossible",
                hint=f"Give watts from 0 to {MOST_RUNNING_W:,.0f}.",
            )


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
            _check_legs(supply, f"circuit {circuit.name}", circuit.legs)
        for appliance in self.appliances:
            if appliance.legs:
                _check_legs(supply, appliance.name, appliance.legs)
            if appliance.id in self._by_id:
                raise InputError(f"two appliances have the id {appliance.id!r}")
            self._by_id[appliance.id] = appliance
        self._check_circuits()
        _refuse_odd(f"{self.name}: service_a", self.service_a, MOST_SERVICE_A, "A")
        _refuse_odd(f"{self.name}: area_ft2", self.area_ft2, MOST_AREA_FT2, "ft²")

    def _check_circuits(self) -> None:
        names = [circuit.name for circuit in self.circuits]
        folded = [name.casefold() for name in names]
        twice = [name for name in names if folded.count(name.casefold()) > 1]
        if twice:
            raise InputError(f"two circuits have the name {twice[0]!r}")
        named = [a.circuit for a in self.appliances if a.circuit]
        for name in [*named, *(needed for c in self.circuits for needed in c.depends_on)]:
            if name not in names:
                raise NotFound("circuit", name, near=tuple(names))
        for circuit in self.circuits:
            if circuit.name in circuit.depends_on:
                raise InputError(f"circuit {circuit.name} depends on itself")

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


def _check_legs(supply: System, who: str, legs: str) -> None:
    try:
        supply.legs_of(legs)
    except InputError as error:
        raise InputError(f"{who}: {error.message}", hint=error.hint) from None


def _refuse_odd(what: str, value: float | None, most: float, unit: str) -> None:
    """A figure that is given must be above zero and no more than ``most``; NaN is neither."""
    if value is not None and not 0.0 < value <= most:
        raise InputError(
            f"{what} is {value:g} {unit}", hint=f"Give more than 0 and at most {most:,.0f} {unit}."
        )
