"""Worksheet facts: a small TOML file with what a code calculation asks and no more.

    area_ft2 = 1500
    small_appliance_circuits = 2
    laundry_circuits = 1
    supply = "120/240"
    service_a = 100

    [[cooking]]
    name = "range"
    kw = 12

    [[appliance]]
    name = "dishwasher"
    kw = 1.2
    volts = 120

    [[heating]]
    kind = "separate"
    units = 5
    kw = 9

    [[added]]
    kind = "charger"
    name = "car charger"
    amps = 48
    volts = 240

    [measured]
    power_kw = 4.7
    window_min = 15
    days = 365

Tables: appliance, cooking, dryer, motor, cooling, heating, charger, added (several each) and
measured (one; without power, interval and days when the record comes as a usage file). A
nameplate is one of va, kva, w, kw, amps (with volts), hp (with volts) or label, the text of
the rating label as it is printed.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from loadlib import DataError, InputError
from loadlib_service.added import AddedLoad
from loadlib_service.compare import MeasuredFacts
from loadlib_service.demand import DAY_S, MaximumDemand
from loadlib_service.dwelling import FT2_PER_M2, Cooking, Dryer, Dwelling, Heating, Item, item
from loadlib_service.plates import item_from_label
from loadlib_service.supply import parse_supply

__all__ = ["Facts", "read_facts"]

MOST_BYTES = 1024 * 1024
PLATE = ("va", "kva", "w", "kw", "amps", "hp")
ITEM = ("name", "label", *PLATE, "volts", "count", "legs", "motor", "continuous", "neutral")
TOP = (
    "name",
    "area_ft2",
    "area_m2",
    "small_appliance_circuits",
    "laundry_circuits",
    "supply",
    "service_a",
    "heat_and_cool_together",
)
TABLES: dict[str, tuple[str, ...]] = {
    "appliance": ITEM,
    "motor": ITEM,
    "cooling": ITEM,
    "charger": ITEM,
    "cooking": ("name", "kw", "w", "kva", "va", "count"),
    "dryer": ("name", "kw", "w", "kva", "va", "count"),
    "heating": (*ITEM, "kind", "units", "supplementary_kw", "together"),
    "added": (*ITEM, "kind", "supplementary_kw"),
}
MEASURED = (
    "power_kw",
    "current_a",
    "window_min",
    "days",
    "at",
    "place",
    "instrument",
    "route",
    "power_factor",
    "occupied",
    "seasonal_w",
    "generation",
    "peak_shaving",
)
RECORD = ("power_kw", "current_a", "window_min", "days", "at", "place")
NUMBERS = {*PLATE, "volts", "area_ft2", "area_m2", "service_a", "supplementary_kw", "power_kw"}
NUMBERS |= {"current_a", "window_min", "days", "power_factor", "seasonal_w"}
COUNTS = {"count", "units", "small_appliance_circuits", "laundry_circuits"}
FLAGS = {"motor", "continuous", "neutral", "together", "heat_and_cool_together"}
FLAGS |= {"occupied", "generation", "peak_shaving"}

T = TypeVar("T")
Table = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Facts:
    """What a facts file holds: the dwelling, loads to be added, a record if there is one."""

    dwelling: Dwelling
    added: tuple[AddedLoad, ...] = ()
    record: MeasuredFacts | None = None


def read_facts(text: str, *, path: str = "facts") -> Facts:
    """Read a facts file.

    Raises DataError naming file, table and key: not TOML, an unknown key, a wrong type, or
    facts that can't be (no floor area, a range of 0 kW).
    """
    if len(text) > MOST_BYTES:
        raise DataError(f"larger than {MOST_BYTES // 1024} KiB", path=path)
    try:
        document = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise DataError(f"not TOML: {error}", path=path, hint="See the example in the help.") from (
            None
        )
    return _Reader(path).facts(document)


class _Reader:
    def __init__(self, path: str) -> None:
        self.path = path
        self.told: list[str] = []

    def fault(self, where: str, message: str, hint: str | None = None) -> DataError:
        return DataError(f"{where}: {message}" if where else message, path=self.path, hint=hint)

    def guarded(self, where: str, make: Callable[[], T]) -> T:
        """``make()``, its InputError as a DataError that names file and table."""
        try:
            return make()
        except InputError as error:
            raise self.fault(where, error.message, error.hint) from None

    def keys(self, where: str, table: Table, known: tuple[str, ...]) -> None:
        for key, value in table.items():
            if key not in known:
                near = difflib.get_close_matches(key, known, n=1)
                hint = f"Meant {near[0]}?" if near else "Known: " + ", ".join(known) + "."
                raise self.fault(where, f"unknown key {key!r}", hint)
            self.type(where, key, value)

    def type(self, where: str, key: str, value: object) -> None:
        name = f"{where} {key}".strip()
        if key in FLAGS:
            if not isinstance(value, bool):
                raise self.fault(name, f"{value!r} is neither true nor false")
        elif key in COUNTS:
            if isinstance(value, bool) or not isinstance(value, int):
                raise self.fault(name, f"{value!r} is not a whole number")
        elif key in NUMBERS:
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise self.fault(name, f"{value!r} is not a number", "Write it without quotes.")
        elif not isinstance(value, str):
            raise self.fault(name, f"{value!r} is not a text", "Write it in quotes.")

    def facts(self, document: dict[str, Any]) -> Facts:
        if document.get("format") == "loadlib-house":
            raise self.fault(
                "",
                "this is a house file, not a facts file",
                "Estimate it first: loadlib profile make FILE --out profile.json",
            )
        known = (*TOP, *TABLES, "measured")
        top = {k: v for k, v in document.items() if k in TOP}
        for key in document:
            if key not in known:
                self.keys("", {key: document[key]}, known)
        self.keys("", top, TOP)
        tables = {name: self.tables(document, name) for name in TABLES}
        dwelling = self.guarded("", lambda: self.dwelling(top, tables))
        added = tuple(self.added(*one) for one in tables["added"])
        dwelling = dwelling.with_(assumptions=(*dwelling.assumptions, *self.told))
        return Facts(dwelling, added, self.measured(document.get("measured")))

    def tables(self, document: dict[str, Any], name: str) -> list[tuple[str, Table]]:
        """(where, table) of every ``[[name]]``."""
        found = document.get(name, [])
        if not isinstance(found, list) or not all(isinstance(t, dict) for t in found):
            raise self.fault(name, f"write each as a table headed [[{name}]]")
        listed = []
        for number, table in enumerate(found, 1):
            where = f"{name} {number}" + (f" ({table['name']})" if "name" in table else "")
            self.keys(where, table, TABLES[name])
            listed.append((where, table))
        return listed

    def dwelling(self, top: Table, tables: dict[str, list[tuple[str, Table]]]) -> Dwelling:
        assumptions = []
        counts = {"small_appliance_circuits": 2, "laundry_circuits": 1}
        for key, least in counts.items():
            if key not in top:
                words = key.replace("_", " ").replace("small appliance", "small-appliance")
                assumptions.append(
                    f"{words}: not stated, taken as {least}, the least of 210.11(C)."
                )
        return Dwelling(
            area_ft2=self.area(top, assumptions),
            small_appliance_circuits=top.get("small_appliance_circuits", 2),
            laundry_circuits=top.get("laundry_circuits", 1),
            appliances=tuple(self.item(*one) for one in tables["appliance"]),
            motors=tuple(self.item(*one, motor=True) for one in tables["motor"]),
            cooling=tuple(self.item(*one, motor=True) for one in tables["cooling"]),
            evse=tuple(self.item(*one) for one in tables["charger"]),
            cooking=tuple(self.plate(Cooking, "range", *one) for one in tables["cooking"]),
            dryers=tuple(self.plate(Dryer, "clothes dryer", *one) for one in tables["dryer"]),
            heating=tuple(self.heating(*one) for one in tables["heating"]),
            heat_and_cool_together=top.get("heat_and_cool_together", False),
            supply=parse_supply(top.get("supply", "120/240")),
            service_a=top.get("service_a"),
            name=top.get("name", ""),
            assumptions=tuple(assumptions),
        )

    def area(self, top: Table, assumptions: list[str]) -> float:
        if "area_ft2" in top and "area_m2" in top:
            raise self.fault("", "both area_ft2 and area_m2", "Give one of them.")
        if "area_m2" in top:
            assumptions.append(f"Floor area {top['area_m2']:g} m² turned into ft².")
            return float(top["area_m2"]) * FT2_PER_M2
        if "area_ft2" not in top:
            raise self.fault(
                "",
                "no floor area",
                "Add area_ft2 (or area_m2): outside dimensions, without open porches, garages and "
                "unusable spaces. Every calculated method starts from it.",
            )
        return float(top["area_ft2"])

    def item(self, where: str, table: Table, motor: bool | None = None) -> Item:
        """One nameplate; ``motor`` is the default where the table does not say."""
        if "label" in table:
            return self.labelled(where, table, motor)
        given = {k: table[k] for k in ITEM if k in table and k != "name"}
        if motor is not None:
            given.setdefault("motor", motor)
        if "volts" not in given and ("amps" in given or "hp" in given):
            raise self.fault(where, "amps or hp without volts", "Add volts, e.g. volts = 240.")
        name = table.get("name", where)
        return self.guarded(where, lambda: item(name, **given))

    def labelled(self, where: str, table: Table, motor: bool | None) -> Item:
        both = [k for k in PLATE if k in table]
        if both:
            raise self.fault(where, f"label and {both[0]}", "Give one of them.")
        given = {k: table[k] for k in ("volts", "count", "legs") if k in table}
        name, text = table.get("name", where), table["label"]
        found, doubts = self.guarded(
            where,
            lambda: item_from_label(name, text, motor=table.get("motor", motor), **given),
        )
        self.told.append(f"{name}: label {text!r} read as {found.basis}.")
        self.told += doubts
        changes = {k: table[k] for k in ("continuous", "neutral") if k in table}
        return replace(found, **changes)

    def plate(self, kind: Callable[[float, int, str], T], name: str, where: str, table: Table) -> T:
        given = {k: v for k, v in table.items() if k not in ("name", "count")}
        one = self.guarded(where, lambda: item(table.get("name", name), **given))
        count = table.get("count", 1)
        return self.guarded(where, lambda: kind(one.va, count, one.name))

    def supplementary(self, where: str, table: Table) -> tuple[Item, ...]:
        if "supplementary_kw" not in table:
            return ()
        kw = table["supplementary_kw"]
        return (self.guarded(where, lambda: item("supplementary heat", kw=kw)),)

    def heating(self, where: str, table: Table) -> Heating:
        kind = table.get("kind")
        if kind is None:
            raise self.fault(
                where, "no kind", 'One of "central", "separate", "heat pump", "storage".'
            )
        return self.guarded(
            where,
            lambda: Heating(
                kind=kind,
                items=(self.item(where, table, motor=kind == "heat pump"),),
                units=table.get("units", table.get("count", 1) if kind == "separate" else 1),
                supplementary=self.supplementary(where, table),
                together=table.get("together", True),
            ),
        )

    def added(self, where: str, table: Table) -> AddedLoad:
        kind = table.get("kind")
        if kind is None:
            raise self.fault(where, "no kind", 'For example "charger", "heat pump", "appliance".')
        motor = True if kind in ("cooling", "heat pump", "motor") else None
        one = self.item(where, table, motor=motor)
        extra = self.supplementary(where, table)
        return self.guarded(where, lambda: AddedLoad(kind, one, extra))

    def measured(self, table: object) -> MeasuredFacts | None:
        if table is None:
            return None
        if not isinstance(table, dict):
            raise self.fault("measured", "write it as one table headed [measured]")
        self.keys("measured", table, MEASURED)
        choices = {k: table[k] for k in MEASURED[MEASURED.index("route") :] if k in table}
        if not any(key in table for key in RECORD):
            # The record itself is to come from a usage file.
            instrument = table.get("instrument", "")
            return MeasuredFacts(demand=None, instrument=instrument, **choices)
        for key in ("window_min", "days"):
            if key not in table:
                raise self.fault("measured", f"no {key}", "State interval and length of record.")
        power = table.get("power_kw")
        facts = {k: table[k] for k in ("at", "place", "instrument", "current_a") if k in table}
        return self.guarded(
            "measured",
            lambda: MeasuredFacts(
                demand=MaximumDemand(
                    window_s=round(float(table["window_min"]) * 60.0),
                    record_s=float(table["days"]) * DAY_S,
                    power_w=None if power is None else float(power) * 1000.0,
                    **facts,
                ),
                **choices,
            ),
        )
