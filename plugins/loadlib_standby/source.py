"""Source: generator, inverter with battery, or both, and what lies between it and the house."""

from __future__ import annotations

from dataclasses import dataclass

from loadlib_standby.derate import DEFAULT_RULE, GAS_SHARES, derated_w, remaining_share
from loadlib_standby.engine import InputError
from loadlib_standby.fuel import FuelLine

__all__ = [
    "CONNECTIONS",
    "NEUTRALS",
    "SUPPLIES",
    "Battery",
    "Cord",
    "Generator",
    "Outlet",
    "Site",
    "Source",
    "Supply",
    "refuse_connection",
]

CONNECTIONS = {
    "interlock": "inlet with interlocked breaker",
    "fixed circuits": "transfer equipment for fixed circuits",
    "cords": "cords only, no panel",
}
"""The ways in which a source may meet the loads. Anything else is refused."""

NEUTRALS = ("bonded", "floating", "unknown")


@dataclass(frozen=True, slots=True)
class Supply:
    """What comes out of a source: legs, leg-to-neutral and line volts, neutral or not."""

    legs: int
    leg_v: float
    line_v: float
    neutral: bool = True


SUPPLIES = {
    "120/240": Supply(2, 120.0, 240.0),
    "120": Supply(1, 120.0, 120.0),
    "240": Supply(1, 240.0, 240.0, neutral=False),
    "120/208": Supply(2, 120.0, 208.0),
    "230": Supply(1, 230.0, 230.0),
    "230/400": Supply(3, 230.0, 400.0),
    "100/200": Supply(2, 100.0, 200.0),
}
"""Supplies by name; ``"240"`` is two hot conductors without neutral."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Generator:
    """A generating set as its data plate says. Watts at the rating point, not derated.

    ``starting_w`` holds for ``starting_s`` seconds only. ``leg_a`` is the rated current of
    one leg, None for the rating spread evenly. ``neutral`` is a fact of the set (bonded to
    its frame, floating). ``tank`` in ``tank_unit``.
    """

    running_w: float
    starting_w: float
    starting_s: float = 5.0
    supply: str = "120/240"
    leg_a: float | None = None
    breaker_a: float | None = None
    outlet: str = ""
    neutral: str = "unknown"
    fuel: str = "gasoline"
    fuel_is_rated: bool = True
    tank: float | None = None
    tank_unit: str = "gal"
    usable_share: float = 0.95
    line: FuelLine | None = None
    rule: str = DEFAULT_RULE

    def __post_init__(self) -> None:
        _ratings("generator", self.running_w, self.starting_w, self.supply)
        if self.neutral not in NEUTRALS:
            raise InputError(f"neutral {self.neutral!r}", hint="One of: " + ", ".join(NEUTRALS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Battery:
    """An inverter with its battery. ``charge_w`` is what it takes from a set when charging."""

    running_w: float
    starting_w: float
    capacity_kwh: float
    starting_s: float = 5.0
    supply: str = "120/240"
    leg_a: float | None = None
    usable_share: float = 0.9
    efficiency: float = 0.9
    idle_w: float = 0.0
    charge_w: float | None = None
    outlet: str = ""
    neutral: str = "unknown"

    def __post_init__(self) -> None:
        _ratings("battery", self.running_w, self.starting_w, self.supply)
        if self.capacity_kwh <= 0.0:
            raise InputError(f"battery: capacity {self.capacity_kwh:g} kWh")


@dataclass(frozen=True, slots=True)
class Cord:
    """A cord: gauge, one-way length, number of conductors (ground included) and type."""

    gauge: str
    length_ft: float
    conductors: int = 4
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Outlet:
    """One outlet of the source in cords-only use, and the loads that hang on its cord."""

    name: str
    rating_a: float
    volts_v: float = 120.0
    cord: Cord | None = None
    loads: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Site:
    """Where the set stands: altitude and air temperature, for derating. [ft], [°F]"""

    altitude_ft: float = 0.0
    outdoor_f: float = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """All that stands between fuel and loads.

    With both a generator and a battery the inverter carries the house and the generator
    charges the battery. ``circuits`` are those of fixed-circuit transfer equipment.
    """

    name: str
    connection: str = "interlock"
    generator: Generator | None = None
    battery: Battery | None = None
    cord: Cord | None = None
    inlet_a: float | None = None
    panel_breaker_a: float | None = None
    circuits: tuple[str, ...] = ()
    outlets: tuple[Outlet, ...] = ()
    site: Site = Site()

    def __post_init__(self) -> None:
        refuse_connection(self.connection)
        if self.generator is None and self.battery is None:
            raise InputError("a source needs a generator or a battery")
        if self.connection == "fixed circuits" and not self.circuits:
            raise InputError("fixed-circuit equipment needs the list of its circuits")
        if self.connection == "cords" and not self.outlets:
            raise InputError("cords only: name the outlets and what hangs on each")

    @property
    def carrier(self) -> Generator | Battery:
        """What feeds the house: the inverter where there is one, else the generator."""
        carrier = self.battery or self.generator
        assert carrier is not None  # checked in __post_init__
        return carrier

    @property
    def supply(self) -> Supply:
        """Legs and volts."""
        return SUPPLIES[self.carrier.supply]

    @property
    def remaining_share(self) -> float:
        """What altitude, heat and fuel leave of the rating; 1 for an inverter."""
        carrier = self.carrier
        if not isinstance(carrier, Generator):
            return 1.0
        gas = 1.0 if carrier.fuel_is_rated else GAS_SHARES[carrier.fuel]
        share = remaining_share(carrier.rule, self.site.altitude_ft, self.site.outdoor_f)
        return derated_w(1.0, share, gas)

    @property
    def running_w(self) -> float:
        """Running rating after derating. [W]"""
        return self.carrier.running_w * self.remaining_share

    @property
    def starting_w(self) -> float:
        """Starting rating after derating, for seconds only. [W]"""
        return self.carrier.starting_w * self.remaining_share

    def derating_words(self) -> str:
        """Which rule was used and what it left."""
        carrier = self.carrier
        if not isinstance(carrier, Generator):
            return "Inverter rating as given; no derating."
        gas = "" if carrier.fuel_is_rated else f", {carrier.fuel} {GAS_SHARES[carrier.fuel]:.0%}"
        return (
            f"Rule “{carrier.rule}” at {self.site.altitude_ft:,.0f} ft and "
            f"{self.site.outdoor_f:.0f} °F{gas}: {self.remaining_share:.1%} of the rating is left."
        )


def refuse_connection(text: str) -> None:
    """Raise InputError for a way of connecting that is not one of ``CONNECTIONS``.

    A cord into a wall outlet feeds the house backwards and kills people on the line.
    """
    if text in CONNECTIONS:
        return
    if "wall" in text.casefold() or "backfeed" in text.casefold() or "two plugs" in text:
        raise InputError(
            f"connection {text!r}: backfeed",
            hint="Never. Only an interlock, transfer equipment, or cords straight to appliances "
            "(OSHA 3277; NEC 702.5).",
        )
    raise InputError(f"connection {text!r}", hint="One of: " + ", ".join(CONNECTIONS) + ".")


def _ratings(what: str, running_w: float, starting_w: float, supply: str) -> None:
    if not running_w > 0.0:
        raise InputError(f"{what}: running rating {running_w:g} W", hint="It must be above zero.")
    if starting_w < running_w:
        raise InputError(
            f"{what}: starting rating {starting_w:g} W is below running {running_w:g} W",
            hint="Were the two swapped? If no starting rating is known, give the running one.",
        )
    if supply not in SUPPLIES:
        raise InputError(f"{what}: supply {supply!r}", hint="One of: " + ", ".join(SUPPLIES))
