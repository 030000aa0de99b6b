"""A dwelling from a house or a load profile, as far as categories allow, all of it stated.

The code asks for nameplates. A house holds labels: they are read. A profile holds what a
load draws while it runs: the upper end of that belief is taken, and said so.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from loadlib import Appliance, House, InputError, Load, LoadProfile
from loadlib_service.dwelling import Cooking, Dryer, Dwelling, Heating, Item, item
from loadlib_service.plates import item_from_label
from loadlib_service.supply import parse_supply

__all__ = ["ROLES", "dwelling_from_house", "dwelling_from_profile"]

RANGE = "electric_range"

ROLES: dict[str, tuple[str, ...]] = {
    "cooking": (RANGE, "electric_oven"),
    "dryer": ("clothes_dryer_electric",),
    "charger": ("ev_charger_level2",),
    "heat pump": ("heat_pump_air_source", "mini_split_heat_pump"),
    "supplementary": ("heat_pump_aux_strip_heat",),
    "separate": ("baseboard_heater",),
    "cooling": (
        "central_air_conditioner",
        "central_air_conditioner_2_ton",
        "central_air_conditioner_3_ton",
        "central_air_conditioner_4_ton",
        "central_air_conditioner_5_ton",
    ),
    "appliance": (
        "dishwasher",
        "hot_tub_heater",
        "water_heater_electric_storage",
    ),
    "motor": (
        "boiler_circulator_pump",
        "furnace_blower",
        "furnace_gas",
        "jet_pump",
        "pool_pump",
        "septic_aerator",
        "sewage_ejector_pump",
        "sump_pump_1_2_hp",
        "sump_pump_1_3_hp",
        "well_pump_submersible",
        "well_pump_submersible_1_1_2_hp",
        "well_pump_submersible_1_2_hp",
        "well_pump_submersible_1_hp",
        "well_pump_submersible_2_hp",
        "well_pump_submersible_3_4_hp",
    ),
}
"""What a category is to the code: fastened in place or permanently connected. Everything
else is cord-and-plug load that the general lighting and receptacle load covers."""

UNREAD_RANGE_W = 12_000.0
"""Taken for a range whose plate nobody has read: what it draws says little of its rating. The
end of column C of Table 220.55 without increase (2017 text). [W]"""

_ROLE = {category: role for role, listed in ROLES.items() for category in listed}
_MOTORS = ("motor", "cooling", "heat pump")


@dataclass(slots=True)
class _Found:
    by_role: dict[str, list[Item]] = field(default_factory=dict)
    told: list[str] = field(default_factory=list)
    general: list[str] = field(default_factory=list)
    lacking: list[str] = field(default_factory=list)

    def add(self, role: str, one: Item, told: str) -> None:
        self.by_role.setdefault(role, []).append(one)
        self.told.append(told)

    def items(self, role: str) -> tuple[Item, ...]:
        return tuple(self.by_role.get(role, ()))


def dwelling_from_house(
    house: House, *, small_appliance_circuits: int = 2, laundry_circuits: int = 1
) -> Dwelling:
    """Facts for the methods from the labels of a house; ``assumptions`` lists what was assumed.

    Appliances without a label are taken at the upper end of their entered running power.
    Raises InputError without a floor area, or naming the appliances that have neither.
    """
    area_ft2 = _area(house.area_ft2, house.name)
    found = _Found()
    for appliance in house.appliances:
        role = _ROLE.get(appliance.category)
        if role is None:
            found.general.append(appliance.name)
        else:
            _from_appliance(found, role, appliance, house)
    if found.lacking:
        raise InputError(
            "no rating known: " + ", ".join(found.lacking),
            hint="Enter the text of each label (loadlib house change, or label = in the file), or "
            "estimate the house (loadlib profile make) and use its profile.",
        )
    facts = (house.name, house.system, house.service_a, area_ft2)
    return _dwelling(facts, found, small_appliance_circuits, laundry_circuits)


def _from_appliance(found: _Found, role: str, appliance: Appliance, house: House) -> None:
    motor = True if role in _MOTORS else None
    if appliance.label:
        one, doubts = item_from_label(
            appliance.name, appliance.label, count=appliance.count, motor=motor
        )
        found.add(role, one, f"{appliance.name}: from its label, {one.basis}.")
        found.told += doubts
    elif appliance.category == RANGE:
        entered = appliance.running_w
        one, told = _unread_range(appliance.name, entered.high if entered else 0.0, appliance.count)
        found.add(role, one, told)
    elif appliance.running_w is not None:
        volts = house.supply.volts(appliance.legs or "AB")
        watts = appliance.running_w.high
        one = item(appliance.name, w=watts, volts=volts, count=appliance.count, motor=motor)
        told = f"{appliance.name}: no label; upper end of its running power, {watts:,.0f} W, taken."
        found.add(role, one, told)
    else:
        found.lacking.append(appliance.name)


def dwelling_from_profile(
    profile: LoadProfile,
    *,
    small_appliance_circuits: int = 2,
    laundry_circuits: int = 1,
    use_legs: bool = False,
) -> Dwelling:
    """Facts for the methods from a profile; ``assumptions`` lists what was assumed.

    ``use_legs`` keeps the leg of each line-to-neutral load. Raises InputError when the
    profile holds no floor area or a supply that the methods do not know.
    """
    area_ft2 = _area(profile.area_ft2, profile.house)
    found = _Found()
    for load in profile.loads:
        role = _ROLE.get(load.category)
        if role is None:
            found.general.append(load.name)
            continue
        if load.category == RANGE and load.known != "label":
            one, told = _unread_range(load.name, load.running_w.high, load.count)
        else:
            one, told = _from_load(load, profile)
        found.add(role, one if use_legs else replace(one, legs=""), told)
    found.told.append(
        "Running power can lie well below the nameplate (a range, a charger at part load): the "
        "demand below is then too low. Read the plates before relying on it."
    )
    facts = (profile.house, profile.system, profile.service_a, area_ft2)
    return _dwelling(facts, found, small_appliance_circuits, laundry_circuits)


def _unread_range(name: str, running_w: float, count: int) -> tuple[Item, str]:
    """A range at 12 kW, or at what it draws where that is more; what was assumed."""
    watts = max(UNREAD_RANGE_W, running_w)
    told = (
        f"{name}: nobody has read its plate; {watts / 1000.0:g} kW taken, the largest range that "
        "Table 220.55 counts without increase. Enter its label: another rating changes the demand."
    )
    return item(name, w=watts, count=count), told


def _area(area_ft2: float | None, name: str) -> float:
    if area_ft2 is None:
        raise InputError(
            f"{name} has no floor area",
            hint="Every calculated method starts from it. In a house file add area_ft2; else "
            'loadlib house set --area "1,800 ft2", then loadlib profile make again.',
        )
    return area_ft2


def _from_load(load: Load, profile: LoadProfile) -> tuple[Item, str]:
    """The load as a nameplate, and what was assumed."""
    volts = profile.supply.line_v if load.line_to_line else profile.supply.leg_v
    factor = max(load.power_factor.typical, 0.05)
    va = load.running_w.high / factor
    legs = "" if load.line_to_line else _leg(load, profile)
    motor = load.kind in ("motor", "compressor")
    one = item(load.name, va=va, volts=volts, count=load.count, legs=legs, motor=motor)
    how = f"upper end of running power {load.running_w.high:,.0f} W ÷ power factor {factor:.2f}"
    return one, f"{load.name}: no nameplate in the profile; {how} taken ({load.known})."


def _leg(load: Load, profile: LoadProfile) -> str:
    """The leg that carries all of it, empty where it is spread or not known."""
    for leg, share in zip(profile.legs, load.leg_share, strict=True):
        if share > 0.999:
            return leg
    return ""


def _heating(found: _Found) -> tuple[Heating, ...]:
    pumps, extra = found.items("heat pump"), found.items("supplementary")
    separate = found.items("separate")
    listed = []
    if pumps:
        listed.append(Heating(kind="heat pump", items=pumps, supplementary=extra))
        if extra:
            found.told.append("Supplementary heat is taken to run together with the heat pump.")
    elif extra:
        listed.append(Heating(kind="central", items=extra))
    if separate:
        units = sum(i.count for i in separate)
        listed.append(Heating(kind="separate", items=separate, units=units))
        found.told.append(f"Each of {units} heaters is taken as separately controlled.")
    return tuple(listed)


def _dwelling(
    facts: tuple[str, str, float | None, float], found: _Found, small: int, laundry: int
) -> Dwelling:
    name, system, service_a, area_ft2 = facts
    heating = _heating(found)
    if found.general:
        found.told.append(
            "Covered by general lighting, receptacle and small-appliance load: "
            + ", ".join(found.general)
            + "."
        )
    found.told.append(
        f"{small} small-appliance and {laundry} laundry circuits are taken: nothing says how many."
    )
    return Dwelling(
        area_ft2=area_ft2,
        small_appliance_circuits=small,
        laundry_circuits=laundry,
        appliances=found.items("appliance"),
        motors=found.items("motor"),
        cooling=found.items("cooling"),
        evse=found.items("charger"),
        cooking=tuple(Cooking(i.va, i.count, i.name) for i in found.items("cooking")),
        dryers=tuple(Dryer(i.va, i.count, i.name) for i in found.items("dryer")),
        heating=heating,
        supply=parse_supply(system),
        service_a=service_a,
        name=name,
        assumptions=tuple(found.told),
    )
