"""Facts of a dwelling that the methods read: frozen, checked, without any rule in them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from loadlib import InputError
from loadlib_service.supply import Supply, parse_supply
from loadlib_service.tables import rows

__all__ = ["Cooking", "Dryer", "Dwelling", "Heating", "Item", "combine", "item", "motor_current_a"]

HEATING_KINDS = ("central", "separate", "heat pump", "storage")
"""Electric space heating: central system, separately controlled units, heat pump, thermal
storage (and other heating that runs continuously at its full nameplate)."""

UNITS = {"va": "VA", "w": "W", "kw": "kW", "kva": "kVA", "amps": "A", "hp": "hp"}
FT2_PER_M2 = 1.0 / 0.3048**2


def positive(what: str, value: float, unit: str, hint: str = "") -> float:
    """``value`` if it is a finite number above zero, else InputError naming ``what``."""
    if not math.isfinite(value) or value <= 0.0:
        raise InputError(
            f"{what}: {value:g} {unit} is not a rating",
            hint=hint or "Read the nameplate, or leave the appliance out if it is not there.",
        )
    return float(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A nameplate, or ``count`` alike.

    ``va`` is what one of them is calculated at; ``plate_a`` its plate current if it was
    given; ``basis`` says in words how ``va`` came about. ``legs`` is empty while nobody
    knows the leg. ``motor`` marks a motor load (25 % of the largest), ``motor_va`` the part of
    it that its own largest motor takes (a compressor, without the fan); ``hp`` is shaft power.
    ``continuous`` marks a load of three hours or more, taken at 125 % once.
    """

    name: str
    va: float
    volts: float
    count: int = 1
    plate_a: float | None = None
    hp: float | None = None
    legs: str = ""
    motor: bool = False
    motor_va: float | None = None
    continuous: bool = False
    neutral: bool = False
    basis: str = ""

    @property
    def largest_motor_va(self) -> float:
        """The largest motor in it, all of it where that is not known apart; 0 if none. [VA]"""
        if not self.motor:
            return 0.0
        return self.va if self.motor_va is None else self.motor_va

    @property
    def total_va(self) -> float:
        """All of them together. [VA]"""
        return self.va * self.count

    @property
    def amps(self) -> float:
        """Current of one of them: the plate's, else VA over volts. [A]"""
        return self.plate_a if self.plate_a is not None else self.va / self.volts

    def at_nominal(self, supply: Supply) -> Item:
        """The same with plate amperes taken at the supply's nominal volts, not the plate's."""
        if self.plate_a is None:
            return self
        volts = supply.leg_v if self.volts < 0.75 * supply.line_v else supply.line_v
        basis = f"{self.plate_a:g} A × {volts:g} V (nominal)"
        motor_va = None if self.motor_va is None else self.motor_va * volts / self.volts
        return replace(self, va=self.plate_a * volts, volts=volts, basis=basis, motor_va=motor_va)


def motor_current_a(hp: float, volts: float) -> float:
    """Full-load current of a single-phase motor, NEC Table 430.248. [A]

    Raises InputError for a size that the table lacks.
    """
    column = {115.0: "115v", 120.0: "115v", 208.0: "208v", 230.0: "230v", 240.0: "230v"}.get(volts)
    if column is None:
        raise InputError(f"motor: no table column for {volts:g} V", hint="Use 115, 208 or 230 V.")
    for row in rows("motor_currents"):
        if abs(float(row["hp"]) - hp) < 0.01:
            return float(row[f"full_load_{column}_a"])
    sizes = ", ".join(row["hp_words"] for row in rows("motor_currents"))
    raise InputError(f"motor: {hp:g} hp is not in the table", hint=f"Sizes: {sizes} hp.")


def item(
    name: str,
    *,
    va: float | None = None,
    w: float | None = None,
    kw: float | None = None,
    kva: float | None = None,
    amps: float | None = None,
    hp: float | None = None,
    volts: float = 240.0,
    count: int = 1,
    legs: str = "",
    motor: bool | None = None,
    continuous: bool = False,
    neutral: bool | None = None,
) -> Item:
    """An Item from whatever the plate says: VA, W, kW, kVA, amperes, or horsepower.

    W and kW are taken as VA (NEC 220.54 and 220.55 say so for dryers and cooking; elsewhere
    it holds for heaters). Amperes are multiplied by ``volts``; horsepower goes through
    Table 430.248. A load at or below 127 V is line to neutral unless ``neutral`` says
    otherwise. Raises InputError when no figure, more than one, or a figure of 0 is given.
    """
    given = {"va": va, "w": w, "kw": kw, "kva": kva, "amps": amps, "hp": hp}
    found = {key: value for key, value in given.items() if value is not None}
    if len(found) != 1:
        raise InputError(
            f"{name}: give one figure, not {len(found)}",
            hint="One of va, w, kw, kva, amps (with volts) or hp (with volts).",
        )
    unit, amount = next(iter(found.items()))
    positive(name, amount, UNITS[unit])
    positive(f"{name}: volts", volts, "V")
    if count < 1:
        raise InputError(f"{name}: count {count}", hint="Use 1 or more, or leave it out.")
    plate_a = motor_current_a(amount, volts) if unit == "hp" else amount if unit == "amps" else None
    if plate_a is not None:
        apparent_va, basis = plate_a * volts, f"{plate_a:g} A × {volts:g} V"
        basis = f"{amount:g} hp: {basis}" if unit == "hp" else basis
    else:
        apparent_va = amount * (1000.0 if unit in ("kw", "kva") else 1.0)
        basis = f"{apparent_va:,.0f} VA"
    return Item(
        name=name,
        va=apparent_va,
        volts=volts,
        count=count,
        plate_a=plate_a,
        hp=amount if unit == "hp" else None,
        legs=legs.upper(),
        motor=(unit == "hp") if motor is None else motor,
        continuous=continuous,
        neutral=volts <= 127.0 if neutral is None else neutral,
        basis=basis,
    )


@dataclass(frozen=True, slots=True)
class Cooking:
    """Household cooking appliance(s) of one rating; kW and kVA count as the same."""

    rating_w: float
    count: int = 1
    name: str = "range"

    def __post_init__(self) -> None:
        positive(self.name, self.rating_w, "W", "A cooking appliance of 0 kW: read its plate.")
        if self.count < 1:
            raise InputError(f"{self.name}: count {self.count}", hint="Use 1 or more.")


@dataclass(frozen=True, slots=True)
class Dryer:
    """Household clothes dryer(s) of one rating; kW and kVA count as the same."""

    rating_w: float
    count: int = 1
    name: str = "clothes dryer"

    def __post_init__(self) -> None:
        positive(self.name, self.rating_w, "W")
        if self.count < 1:
            raise InputError(f"{self.name}: count {self.count}", hint="Use 1 or more.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Heating:
    """Electric space heating of one kind.

    ``items`` are the heaters, or the compressor, blower and fans of a heat pump; ``units``
    is how many are separately controlled. ``supplementary`` is the resistance heat of a heat
    pump; ``together`` says whether it can run while the compressor does.
    """

    kind: str
    items: tuple[Item, ...]
    units: int = 1
    supplementary: tuple[Item, ...] = ()
    together: bool = True

    def __post_init__(self) -> None:
        if self.kind not in HEATING_KINDS:
            raise InputError(
                f"heating kind {self.kind!r}", hint="One of: " + ", ".join(HEATING_KINDS) + "."
            )
        if not self.items:
            raise InputError(f"heating ({self.kind}): nothing is rated", hint="Give its plate.")
        if self.units < 1:
            raise InputError(f"heating ({self.kind}): {self.units} units", hint="Use 1 or more.")
        if self.supplementary and self.kind != "heat pump":
            raise InputError(
                f"heating ({self.kind}): supplementary heat belongs to a heat pump",
                hint='Give it as a heating entry of its own, or set kind = "heat pump".',
            )

    @property
    def items_va(self) -> float:
        """Heaters, or the heat pump without its supplementary heat. [VA]"""
        return sum(i.total_va for i in self.items)

    @property
    def supplementary_va(self) -> float:
        """Supplementary heat. [VA]"""
        return sum(i.total_va for i in self.supplementary)

    @property
    def full_va(self) -> float:
        """All of it that can run at once, at 100 %. [VA]"""
        if self.supplementary and not self.together:
            return max(self.items_va, self.supplementary_va)
        return self.items_va + self.supplementary_va

    def running(self) -> tuple[Item, ...]:
        """The items behind ``full_va``."""
        if self.supplementary and not self.together:
            return max((self.items, self.supplementary), key=lambda s: sum(i.total_va for i in s))
        return self.items + self.supplementary


@dataclass(frozen=True, slots=True, kw_only=True)
class Dwelling:
    """A dwelling unit, or several alike added up by ``combine``.

    ``area_ft2`` is floor area by outside dimensions without open porches, garages and
    spaces not adaptable for use. ``appliances`` are fastened in place; ``motors`` are
    permanently connected motors that are none of them. ``heat_and_cool_together`` claims
    that both run at once. ``units`` counts dwelling units; ``one_family`` is true for a
    one-family service.
    """

    area_ft2: float
    small_appliance_circuits: int = 2
    laundry_circuits: int = 1
    appliances: tuple[Item, ...] = ()
    cooking: tuple[Cooking, ...] = ()
    dryers: tuple[Dryer, ...] = ()
    motors: tuple[Item, ...] = ()
    cooling: tuple[Item, ...] = ()
    heating: tuple[Heating, ...] = ()
    evse: tuple[Item, ...] = ()
    heat_and_cool_together: bool = False
    supply: Supply = field(default_factory=lambda: parse_supply("120/240"))
    service_a: float | None = None
    units: int = 1
    one_family: bool = True
    name: str = ""
    assumptions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not math.isfinite(self.area_ft2) or self.area_ft2 <= 0.0:
            raise InputError(
                f"floor area {self.area_ft2:g} ft2",
                hint="Every method starts from the floor area: give area_ft2 or area_m2, by "
                "outside dimensions, without open porches, garages and unusable spaces.",
            )
        for what, count in (
            ("small-appliance", self.small_appliance_circuits),
            ("laundry", self.laundry_circuits),
        ):
            if count < 0:
                raise InputError(f"{count} {what} circuits", hint="Use 0 or more.")
        if self.service_a is not None:
            positive("service_a", self.service_a, "A", "Give the rating of the main, e.g. 100.")
        for one in (*self.all_items(), *(i for h in self.heating for i in h.supplementary)):
            wrong = set(one.legs) - set(self.supply.legs)
            if wrong:
                raise InputError(
                    f"{one.name}: leg {''.join(sorted(wrong))!r} is not in a "
                    f"{self.supply.name} supply",
                    hint="It has: " + ", ".join(self.supply.legs) + ".",
                )
            if one.neutral and len(one.legs) > 1:
                raise InputError(
                    f"{one.name}: {one.volts:g} V on legs {one.legs}",
                    hint="A line-to-neutral load lies on one leg; correct volts or legs.",
                )

    def all_items(self) -> tuple[Item, ...]:
        """Every nameplate but cooking, dryers and supplementary heat."""
        heaters = tuple(i for h in self.heating for i in h.items)
        return (*self.appliances, *self.motors, *self.cooling, *self.evse, *heaters)

    def with_(self, **changes: object) -> Dwelling:
        """A copy with some fields changed and everything checked again."""
        return replace(self, **changes)  # type: ignore[arg-type]  # field names checked at run time

    def at_nominal(self) -> Dwelling:
        """Plate amperes taken at nominal volts throughout (NEC 220.5(A))."""

        def nominal(items: Sequence[Item]) -> tuple[Item, ...]:
            return tuple(i.at_nominal(self.supply) for i in items)

        heating = tuple(
            replace(h, items=nominal(h.items), supplementary=nominal(h.supplementary))
            for h in self.heating
        )
        return self.with_(
            appliances=nominal(self.appliances),
            motors=nominal(self.motors),
            cooling=nominal(self.cooling),
            evse=nominal(self.evse),
            heating=heating,
        )


def _times(items: Sequence[Item], n: int) -> tuple[Item, ...]:
    return tuple(replace(i, count=i.count * n, legs="") for i in items)


def combine(parts: Sequence[tuple[int, Dwelling]], supply: Supply | None = None) -> Dwelling:
    """``n`` of each dwelling unit on one feeder or service, as facts for Part III.

    The demand factors of Part III count circuits, appliances and volt-amperes of all units
    together (NEC Annex D, Examples D4(a) and D5(a)). Leg assignments do not carry over.
    """
    if not parts or any(n < 1 for n, _ in parts):
        raise InputError("no dwelling units to combine", hint="Give each kind of unit and a count.")

    def gather(kind: str) -> tuple[Item, ...]:
        return tuple(i for n, d in parts for i in _times(getattr(d, kind), n))

    return Dwelling(
        area_ft2=sum(n * d.area_ft2 for n, d in parts),
        small_appliance_circuits=sum(n * d.small_appliance_circuits for n, d in parts),
        laundry_circuits=sum(n * d.laundry_circuits for n, d in parts),
        appliances=gather("appliances"),
        motors=gather("motors"),
        cooling=gather("cooling"),
        evse=gather("evse"),
        cooking=tuple(replace(c, count=c.count * n) for n, d in parts for c in d.cooking),
        dryers=tuple(replace(c, count=c.count * n) for n, d in parts for c in d.dryers),
        heating=tuple(
            replace(
                h,
                items=_times(h.items, n),
                supplementary=_times(h.supplementary, n),
                units=h.units * n,
            )
            for n, d in parts
            for h in d.heating
        ),
        supply=supply or parts[0][1].supply,
        units=sum(n * d.units for n, d in parts),
        one_family=False,
        name=f"{sum(n * d.units for n, d in parts)} dwelling units",
    )
