"""Neutral of a feeder or service, 220.61, by the calculation of Part III."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib_service.dwelling import Dwelling, Item
from loadlib_service.parts import (
    appliance_group,
    cooking_of,
    dryers_of,
    general_lines,
    largest_motor,
    lighting_net_va,
)
from loadlib_service.supply import WYE, WYE_LEGS
from loadlib_service.tables import constant, percent
from loadlib_service.worksheet import Line, Piece, Sheet

__all__ = ["Neutral", "neutral"]


@dataclass(frozen=True, slots=True)
class Neutral:
    """Lines of the neutral; VA and amperes before and after the 70 % above 200 A."""

    lines: tuple[Line, ...]
    va: float
    basic_a: float
    amps: float
    sheet: Sheet


def _reduced(sheet: Sheet, key: str, text: str, line_va: float) -> None:
    share = sheet.const("neutral_share")
    sheet.count(
        f"neutral_{key}",
        text,
        f"{line_va:,.0f} VA × {percent(share)}",
        "70 % of the load by its table",
        "neutral",
        line_va * share,
    )


def neutral(
    dwelling: Dwelling, edition: str, season: Sequence[Item], cooking_rule: str = "least"
) -> Neutral:
    """Neutral load of the dwelling; ``season`` are the heating or cooling items counted.

    Line-to-neutral loads whole, cooking appliances and dryers at 70 % of their table demand,
    line-to-line loads not at all. Loads whose leg is given are left to the leg sheet.
    """
    sheet = Sheet(edition)
    total = general_lines(Sheet(edition), dwelling, counted=False)
    net = lighting_net_va(total, edition)
    sheet.count(
        "neutral_general",
        "General load after demand factors",
        "",
        "line to neutral",
        "neutral",
        net,
        [Piece(net, neutral=True)],
    )
    if dwelling.cooking:
        demand = cooking_of(dwelling, edition, cooking_rule)
        _reduced(sheet, "cooking", "Cooking appliances", demand.va)
    if dwelling.dryers:
        _reduced(sheet, "dryers", "Clothes dryers", dryers_of(dwelling, edition).va)
    group = appliance_group(dwelling.appliances, edition)
    single = [(i, group.share if i in group.reduced else 1.0) for i in dwelling.appliances]
    single += [(i, 1.0) for i in (*dwelling.motors, *dwelling.evse, *season)]
    for one, share in single:
        if one.neutral and not one.legs:
            load = one.total_va * share
            sheet.count(
                f"neutral {one.name}",
                one.name,
                f"{one.total_va:,.0f} VA" + (f" × {percent(share)}" if share < 1.0 else ""),
                "line to neutral",
                "neutral",
                load,
                [Piece(load, neutral=True)],
            )
    motor = largest_motor(i for i, _ in single if i.neutral and not i.legs)
    if motor is not None:
        extra = motor.largest_motor_va * sheet.const("motor_extra_share")
        sheet.count(
            "neutral_motor",
            f"Largest line-to-neutral motor: {motor.name}",
            f"25 % of {motor.largest_motor_va:,.0f} VA",
            "25 % of the largest motor added",
            "largest_motor",
            extra,
            [Piece(extra, neutral=True)],
        )
    basic_a = _amps(sheet, dwelling)
    return Neutral(
        tuple(sheet.lines), sheet.subtotal_va, basic_a, above_200(sheet, dwelling, basic_a), sheet
    )


def _amps(sheet: Sheet, dwelling: Dwelling) -> float:
    to_neutral = sum(p.va for p in sheet.pieces if p.neutral)
    return dwelling.supply.amps(to_neutral, sheet.subtotal_va - to_neutral)


def above_200(sheet: Sheet, dwelling: Dwelling, basic_a: float) -> float:
    """Amperes after the further 70 % on the part above 200 A, where 220.61 permits it. [A]"""
    first = constant("neutral_first_a", sheet.edition).amount
    share = constant("neutral_share", sheet.edition).amount
    if basic_a <= first or dwelling.supply.kind == WYE_LEGS:
        return basic_a
    if dwelling.supply.kind == WYE:
        sheet.choose(
            "Neutral above 200 A at 70 %: not permitted for the part that is nonlinear load on a "
            "wye system; the load is taken as linear here."
        )
    return first + (basic_a - first) * share
