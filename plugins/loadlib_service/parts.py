"""Lines that several methods share: lighting, circuits, appliances, cooking, dryers, motors."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loadlib_service.cooking import Demand, cooking_demand, dryer_demand
from loadlib_service.dwelling import Dwelling, Item
from loadlib_service.supply import WYE
from loadlib_service.tables import constant, has_constant, section
from loadlib_service.worksheet import Piece, Sheet

__all__ = ["AppliancesGroup", "appliance_group", "general_lines", "pieces_of"]


def cooking_of(dwelling: Dwelling, edition: str, rule: str = "least") -> Demand:
    """Demand of all cooking appliances of the dwelling."""
    ratings = [c.rating_w for c in dwelling.cooking for _ in range(c.count)]
    wye = dwelling.supply.kind == WYE
    return cooking_demand(ratings, edition, rule=rule, three_phase=wye)


def dryers_of(dwelling: Dwelling, edition: str) -> Demand:
    """Demand of all clothes dryers of the dwelling."""
    ratings = [d.rating_w for d in dwelling.dryers for _ in range(d.count)]
    return dryer_demand(ratings, edition, three_phase=dwelling.supply.kind == WYE)


def pieces_of(items: Iterable[Item], share: float = 1.0) -> list[Piece]:
    """Each item as it lies on the supply, at ``share`` of its rating."""
    return [
        Piece(i.total_va * share, i.neutral, i.name, i.legs, i.amps * i.count * share)
        for i in items
    ]


def quantity_of(one: Item) -> str:
    """How an item's VA came about, in words."""
    return f"{one.count} × {one.basis}" if one.count > 1 else one.basis


def lighting_load_va(area_ft2: float, va_per_ft2: float) -> float:
    """General lighting: floor area times a unit load. [VA]"""
    return area_ft2 * va_per_ft2


def few_circuits(sheet: Sheet, dwelling: Dwelling) -> None:
    """State it where there are fewer circuits than 210.11(C) asks of each dwelling unit."""
    small, laundry = dwelling.small_appliance_circuits, dwelling.laundry_circuits
    number = section("circuits", sheet.edition).number
    if small < 2 * dwelling.units:
        sheet.choose(
            f"{small} small-appliance circuits are fewer than the two of each dwelling unit that "
            f"{number} asks for; the load of those that are missing is not counted."
        )
    if laundry < dwelling.units:
        sheet.choose(
            f"{laundry} laundry circuits are fewer than the one of each dwelling unit that "
            f"{number} asks for; none is needed where the premises have a laundry for all tenants "
            "(210.52(F))."
        )


def general_lines(sheet: Sheet, dwelling: Dwelling, *, counted: bool) -> float:
    """Lighting, small-appliance and laundry lines; their sum before demand factors. [VA]"""

    def write(key: str, text: str, quantity: str, rule: str, topic: str, va: float) -> None:
        if counted:
            sheet.count(key, text, quantity, rule, topic, va, [Piece(va, neutral=True)])
        else:
            sheet.show(key, text, quantity, rule, topic, va)

    unit = sheet.const("lighting_va_per_ft2")
    lighting = lighting_load_va(dwelling.area_ft2, unit)
    write(
        "general_lighting",
        "General lighting and general-use receptacles",
        f"{dwelling.area_ft2:,.0f} ft² × {unit:g} VA/ft²",
        "floor area by outside dimensions × unit load",
        "lighting_unit",
        lighting,
    )
    total = lighting
    for key, text, n in (
        ("small_appliance", "Small-appliance circuits", dwelling.small_appliance_circuits),
        ("laundry", "Laundry circuits", dwelling.laundry_circuits),
    ):
        each = sheet.const(f"{key}_va")
        write(key, text, f"{n} × {each:,.0f} VA", "each circuit at 1,500 VA", key, n * each)
        total += n * each
    return total


def lighting_net_va(total_va: float, edition: str) -> float:
    """General load after the demand factors of dwelling lighting, Table 220.42 / 220.45. [VA]"""
    first = constant("lighting_first_va", edition).amount
    second = constant("lighting_second_va", edition).amount
    second_share = constant("lighting_second_share", edition).amount
    rest_share = constant("lighting_rest_share", edition).amount
    return (
        min(total_va, first)
        + max(0.0, min(total_va, second) - first) * second_share
        + max(0.0, total_va - second) * rest_share
    )


@dataclass(frozen=True, slots=True)
class AppliancesGroup:
    """Appliances fastened in place: those that share the demand factor and those that do not."""

    reduced: tuple[Item, ...]
    whole: tuple[Item, ...]
    share: float
    counted: int

    @property
    def va(self) -> float:
        """Demand of the group. [VA]"""
        return self.share * sum(i.total_va for i in self.reduced) + sum(
            i.total_va for i in self.whole
        )


def _big_enough(one: Item, edition: str) -> bool:
    if not has_constant("appliance_floor_va", edition):
        return True
    if one.hp is not None:
        return one.hp >= constant("appliance_floor_hp", edition).amount
    return one.va >= constant("appliance_floor_va", edition).amount


def appliance_group(appliances: Sequence[Item], edition: str) -> AppliancesGroup:
    """Split by 220.53: 75 % with four or more; from 2020 only those of ¼ hp or 500 W and up."""
    counting = tuple(a for a in appliances if _big_enough(a, edition))
    n = sum(a.count for a in counting)
    share = 1.0
    if n >= constant("appliance_least", edition).amount:
        share = constant("appliance_share", edition).amount
    rest = tuple(a for a in appliances if a not in counting)
    return AppliancesGroup(counting, rest, share, n)


def largest_motor(items: Iterable[Item]) -> Item | None:
    """The item with the motor of most VA; None when there is none."""
    motors = (i for i in items if i.motor)
    return max(motors, key=lambda i: i.largest_motor_va, default=None)
