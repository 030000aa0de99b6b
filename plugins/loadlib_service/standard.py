"""Standard calculation of a dwelling, NEC Article 220 Part III.

References: NFPA 70 (NEC) 220.40 to 220.61; worked numbers in Informative Annex D, Examples
D1(a), D1(b), D4(a), D5(a).
"""

from __future__ import annotations

from collections.abc import Sequence

from loadlib_service.cooking import Demand
from loadlib_service.dwelling import Dwelling, Item
from loadlib_service.finish import finish
from loadlib_service.hvac import chosen_season
from loadlib_service.parts import (
    appliance_group,
    cooking_of,
    dryers_of,
    few_circuits,
    general_lines,
    largest_motor,
    lighting_net_va,
    pieces_of,
    quantity_of,
)
from loadlib_service.ratings import lighting_circuits
from loadlib_service.tables import check_edition, constant, has_constant, percent, section
from loadlib_service.worksheet import Piece, Sheet, Worksheet

__all__ = ["standard"]


def standard(
    dwelling: Dwelling, edition: str, *, cooking_rule: str = "least", nominal: bool = False
) -> Worksheet:
    """Calculated load of a service or feeder by the standard method, with its neutral.

    Parameters
    ----------
    dwelling : facts of the dwelling (or several, see ``combine``).
    edition : ``"2017"``, ``"2020"`` or ``"2023"``; InputError for another.
    cooking_rule : ``"least"``, ``"column C"`` or ``"note 3"`` of Table 220.55.
    nominal : take plate amperes at nominal instead of plate volts.

    Returns a worksheet; heating and cooling are counted once, the larger, unless the
    dwelling says that both run together.
    """
    edition = check_edition(edition)
    if nominal:
        dwelling = dwelling.at_nominal()
    sheet = Sheet(edition)
    few_circuits(sheet, dwelling)
    circuits = _lighting(sheet, dwelling)
    _appliances(sheet, dwelling)
    _dryers(sheet, dwelling)
    _cooking(sheet, dwelling, cooking_rule)
    evse_lines(sheet, dwelling)
    for motor in dwelling.motors:
        sheet.count(
            f"motor {motor.name}",
            motor.name,
            quantity_of(motor),
            "permanently connected motor at 100 %",
            "motors",
            motor.total_va,
            pieces_of([motor]),
        )
    counted = _heating_and_cooling(sheet, dwelling)
    _largest_motor(sheet, (*dwelling.appliances, *dwelling.motors, *counted))
    return finish(
        sheet,
        dwelling,
        method="standard",
        title="Standard calculation",
        topic_section="Article 220 Part III",
        season=counted,
        cooking_rule=cooking_rule,
        nominal=nominal,
        results=circuits,
    )


def _circuits(sheet: Sheet, dwelling: Dwelling) -> tuple[tuple[str, float], ...]:
    """Lighting current and the least number of lighting circuits, stated in words too."""
    lighting_va = dwelling.area_ft2 * constant("lighting_va_per_ft2", sheet.edition).amount
    volts = dwelling.supply.leg_v
    few, many = (lighting_circuits(lighting_va, volts, a) for a in (20.0, 15.0))
    sheet.choose(
        f"General lighting is {lighting_va / volts:,.1f} A at {volts:g} V: at least {many} "
        f"circuits of 15 A or {few} of 20 A ({section('circuits', sheet.edition).number})."
    )
    return (
        ("lighting_a", lighting_va / volts),
        ("lighting_circuits_15a", float(many)),
        ("lighting_circuits_20a", float(few)),
    )


def _lighting(sheet: Sheet, dwelling: Dwelling) -> tuple[tuple[str, float], ...]:
    total = general_lines(sheet, dwelling, counted=False)
    sheet.show(
        "general_sum",
        "Sum of lighting, small-appliance and laundry",
        "",
        "added before the demand factors",
        "lighting_demand",
        total,
    )
    first, second = sheet.const("lighting_first_va"), sheet.const("lighting_second_va")
    share, rest = sheet.const("lighting_second_share"), sheet.const("lighting_rest_share")
    tiers = [f"first {min(total, first):,.0f} VA at 100 %"]
    if total > first:
        tiers.append(f"next {min(total, second) - first:,.0f} VA at {percent(share)}")
    if total > second:
        tiers.append(f"remaining {total - second:,.0f} VA at {percent(rest)}")
    net = lighting_net_va(total, sheet.edition)
    sheet.count(
        "general_net",
        "General load after demand factors",
        "; ".join(tiers),
        "lighting demand factors",
        "lighting_demand",
        net,
        [Piece(net, neutral=True)],
    )
    return _circuits(sheet, dwelling) if dwelling.units == 1 else ()


def _appliances(sheet: Sheet, dwelling: Dwelling) -> None:
    group = appliance_group(dwelling.appliances, sheet.edition)
    least = constant("appliance_least", sheet.edition).amount
    for one in dwelling.appliances:
        share = group.share if one in group.reduced else 1.0
        sheet.used([constant("appliance_share", sheet.edition)] if share < 1.0 else [])
        sheet.count(
            f"appliance {one.name}",
            one.name,
            quantity_of(one) + (f" × {percent(share)}" if share < 1.0 else ""),
            f"fastened in place, {group.counted} that count: "
            + ("demand factor 75 %" if share < 1.0 else f"100 % (75 % from {least:g})"),
            "appliances",
            one.total_va * share,
            pieces_of([one], share),
        )
    blowers = [i.name for i in dwelling.appliances if _is_blower(i)]
    if blowers:
        sheet.choose(
            "220.53 leaves out space-heating equipment; opinions differ on the blower of a fuel "
            f"furnace. Counted with the fixed appliances here, as listed: {', '.join(blowers)}."
        )
    if group.whole:
        sheet.choose(
            "Appliances below 500 W and ¼ hp neither count towards four nor take the 75 % "
            f"(wording of {sheet.edition}): " + ", ".join(i.name for i in group.whole) + "."
        )


def _is_blower(one: Item) -> bool:
    words = one.name.casefold()
    return any(word in words for word in ("furnace", "blower", "air handler"))


def _demand_line(sheet: Sheet, key: str, text: str, demand: Demand, topic: str, rule: str) -> None:
    sheet.used(demand.values)
    sheet.count(key, text, "; ".join(demand.steps), rule, topic, demand.va)
    if len(demand.ways) > 1:
        told = ", ".join(f"{name} {va:,.0f} VA" for name, va in demand.ways)
        sheet.choose(
            f"Table 220.55 permits more than one way here ({told}); {demand.va:,.0f} VA is used. "
            "Publications differ on which to take."
        )


def _dryers(sheet: Sheet, dwelling: Dwelling) -> None:
    if dwelling.dryers:
        rule = "5,000 VA or nameplate, the larger, × demand factor"
        demand = dryers_of(dwelling, sheet.edition)
        _demand_line(sheet, "dryers", "Clothes dryers", demand, "dryers", rule)


def _cooking(sheet: Sheet, dwelling: Dwelling, rule: str) -> None:
    if dwelling.cooking:
        demand = cooking_of(dwelling, sheet.edition, rule)
        text = "household cooking appliances by the table"
        _demand_line(sheet, "cooking", "Cooking appliances", demand, "cooking", text)


def evse_lines(sheet: Sheet, dwelling: Dwelling) -> None:
    """Vehicle supply equipment at its rating, then 25 % for continuous duty, once."""
    for one in dwelling.evse:
        each, rule = one.va, "nameplate rating"
        if has_constant("evse_floor_va", sheet.edition):
            each = max(each, sheet.const("evse_floor_va"))
            rule = "nameplate rating or 7,200 VA, the larger"
        load = each * one.count
        sheet.count(
            f"evse {one.name}",
            one.name,
            quantity_of(one),
            rule,
            "evse",
            load,
            [Piece(load, one.neutral, one.name, one.legs, load / one.volts)],
        )
        extra = load * sheet.const("continuous_extra_share")
        sheet.count(
            f"evse_continuous {one.name}",
            f"{one.name}: continuous duty",
            f"25 % of {load:,.0f} VA",
            "continuous load at 125 %, applied once",
            "continuous",
            extra,
            [Piece(extra, one.neutral, one.name, one.legs, extra / one.volts)],
        )


def _heating_and_cooling(sheet: Sheet, dwelling: Dwelling) -> tuple[Item, ...]:
    """Count the larger season, show the other; the items that were counted."""
    if not dwelling.heating and not dwelling.cooling:
        return ()
    others = (*dwelling.appliances, *dwelling.motors)
    share = constant("motor_extra_share", sheet.edition).amount
    counted, omitted = chosen_season(dwelling, others, share)
    topic = {"heating": "space_heat", "cooling": "air_conditioning"}
    sheet.count(
        counted.name,
        counted.name.capitalize(),
        counted.quantity,
        "connected load at 100 %",
        topic[counted.name],
        counted.va,
        pieces_of(counted.items),
    )
    if not omitted.items:
        return counted.items
    if dwelling.heat_and_cool_together:
        rest = tuple(i for i in omitted.items if i not in counted.items)
        sheet.choose(
            "Heating and cooling are claimed to run together, so both are counted; 220.60 lets "
            "the smaller be left out where that is unlikely. Check the claim."
        )
        sheet.count(
            omitted.name,
            omitted.name.capitalize(),
            omitted.quantity,
            "claimed to run at the same time: counted too",
            "noncoincident",
            sum(i.total_va for i in rest),
            pieces_of(rest),
        )
        return (*counted.items, *rest)
    sheet.show(
        f"{omitted.name}_omitted",
        f"{omitted.name.capitalize()} (left out)",
        omitted.quantity,
        "noncoincident: only the larger is counted",
        "noncoincident",
        omitted.va,
    )
    if sheet.edition != "2017":
        sheet.choose(
            f"220.60 ({sheet.edition}) on motors among noncoincident loads is read two ways; here "
            "each season is worked through with its own 25 % addition and the larger counts. "
            "Some add the omitted air conditioner's motor addition as well."
        )
    return counted.items


def _largest_motor(sheet: Sheet, items: Sequence[Item]) -> None:
    motor = largest_motor(items)
    if motor is None:
        if items:
            sheet.choose(
                "No load is marked as a motor, so nothing is added for the largest one "
                f"({section('largest_motor', sheet.edition).number})."
            )
        return
    extra = motor.largest_motor_va * sheet.const("motor_extra_share")
    sheet.count(
        "largest_motor",
        f"Largest motor: {motor.name}",
        f"25 % of {motor.largest_motor_va:,.0f} VA",
        "25 % of the largest motor added",
        "largest_motor",
        extra,
        [Piece(extra, motor.neutral, motor_extra=True)],
    )
