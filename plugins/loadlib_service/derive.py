"""A dwelling from a load profile, as far as its categories allow, every assumption stated.

A profile says what a load draws while it runs; the code asks for nameplates. Where only the
first is known, the upper end of the belief about running power is taken and said so.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from loadlib import InputError, Load, LoadProfile
from loadlib_service.dwelling import Cooking, Dryer, Dwelling, Heating, Item, item
from loadlib_service.supply import parse_supply

__all__ = ["dwelling_from_profile"]

ROLES: dict[str, tuple[str, ...]] = {
    "cooking": ("electric_range", "electric_oven"),
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

_ROLE = {category: role for role, listed in ROLES.items() for category in listed}


@dataclass(slots=True)
class _Found:
    by_role: dict[str, list[Item]] = field(default_factory=dict)
    told: list[str] = field(default_factory=list)
    general: list[str] = field(default_factory=list)


def _item(load: Load, profile: LoadProfile) -> tuple[Item, str]:
    """The load as a nameplate, and what was assumed."""
    volts = profile.supply.line_v if load.line_to_line else profile.supply.leg_v
    factor = max(load.power_factor.typical, 0.05)
    va = load.running_w.high / factor
    legs = "" if load.line_to_line else _leg(load, profile)
    one = item(load.name, va=va, volts=volts, count=load.count, legs=legs, motor=_is_motor(load))
    how = f"upper end of running power {load.running_w.high:,.0f} W ÷ power factor {factor:.2f}"
    return one, f"{load.name}: no nameplate in the profile; {how} taken ({load.known})."


def _is_motor(load: Load) -> bool:
    return load.kind in ("motor", "compressor")


def _leg(load: Load, profile: LoadProfile) -> str:
    """The leg that carries all of it, empty where it is spread or not known."""
    for leg, share in zip(profile.legs, load.leg_share, strict=True):
        if share > 0.999:
            return leg
    return ""


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
    if profile.area_ft2 is None:
        raise InputError(
            f"the profile of {profile.house} holds no floor area",
            hint="Add area_ft2 to the house and estimate again.",
        )
    found = _Found()
    for load in profile.loads:
        role = _ROLE.get(load.category)
        if role is None:
            found.general.append(load.name)
            continue
        one, told = _item(load, profile)
        kept = one if use_legs else replace(one, legs="")
        found.by_role.setdefault(role, []).append(kept)
        found.told.append(told)
    return _dwelling(profile, profile.area_ft2, found, small_appliance_circuits, laundry_circuits)


def _heating(found: _Found) -> tuple[Heating, ...]:
    pumps = tuple(found.by_role.get("heat pump", ()))
    extra = tuple(found.by_role.get("supplementary", ()))
    listed = []
    if pumps:
        listed.append(Heating(kind="heat pump", items=pumps, supplementary=extra))
        if extra:
            found.told.append("Supplementary heat is taken to run together with the heat pump.")
    elif extra:
        listed.append(Heating(kind="central", items=extra))
    separate = tuple(found.by_role.get("separate", ()))
    if separate:
        units = sum(i.count for i in separate)
        listed.append(Heating(kind="separate", items=separate, units=units))
        found.told.append(f"Each of {units} heaters is taken as separately controlled.")
    return tuple(listed)


def _dwelling(
    profile: LoadProfile, area_ft2: float, found: _Found, small: int, laundry: int
) -> Dwelling:
    roles = found.by_role
    heating = _heating(found)
    if found.general:
        found.told.append(
            "Covered by general lighting, receptacle and small-appliance load: "
            + ", ".join(found.general)
            + "."
        )
    found.told.append(
        f"{small} small-appliance and {laundry} laundry circuits are taken: the profile does not "
        "say."
    )
    return Dwelling(
        area_ft2=area_ft2,
        small_appliance_circuits=small,
        laundry_circuits=laundry,
        appliances=tuple(roles.get("appliance", ())),
        motors=tuple(roles.get("motor", ())),
        cooling=tuple(roles.get("cooling", ())),
        evse=tuple(roles.get("charger", ())),
        cooking=tuple(Cooking(i.va, i.count, i.name) for i in roles.get("cooking", ())),
        dryers=tuple(Dryer(i.va, i.count, i.name) for i in roles.get("dryer", ())),
        heating=heating,
        supply=parse_supply(profile.system),
        service_a=profile.service_a,
        name=profile.house,
        assumptions=tuple(found.told),
    )
