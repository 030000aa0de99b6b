"""Optional calculation of one dwelling unit, NEC 220.82.

References: NFPA 70 (NEC) 220.82(A) to (C); worked numbers in Informative Annex D, Examples
D2(a), D2(b), D2(c).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loadlib import InputError
from loadlib_service.dwelling import Dwelling, Heating, Item
from loadlib_service.finish import finish
from loadlib_service.hvac import cooling_items
from loadlib_service.parts import few_circuits, general_lines, quantity_of
from loadlib_service.standard import evse_lines
from loadlib_service.supply import WYE
from loadlib_service.tables import check_edition, percent
from loadlib_service.worksheet import Piece, Sheet, Worksheet

__all__ = ["nameplate_lines", "optional"]


@dataclass(frozen=True, slots=True)
class Selection:
    """One selection of 220.82(C): its number, words, VA, and the items behind it."""

    number: str
    text: str
    quantity: str
    va: float
    items: tuple[Item, ...]


def nameplate_lines(sheet: Sheet, dwelling: Dwelling, topic: str) -> None:
    """Every appliance, cooking appliance, dryer, motor and charger at nameplate, counted."""
    if any(one.legs for one in dwelling.all_items()):
        sheet.choose(
            "Legs are taken as equally loaded: this method has one factor for all of the general "
            "load. For amperes leg by leg see the standard method."
        )
    for one in (*dwelling.appliances, *dwelling.motors):
        key = "motor" if one in dwelling.motors else "appliance"
        sheet.count(
            f"{key} {one.name}",
            one.name,
            quantity_of(one),
            "nameplate",
            topic,
            one.total_va,
            [Piece(one.total_va, one.neutral)],
        )
    for key, several in (("cooking", dwelling.cooking), ("dryer", dwelling.dryers)):
        for plate in several:
            load = plate.rating_w * plate.count
            quantity = f"{plate.count} × {plate.rating_w:,.0f} VA"
            sheet.count(f"{key} {plate.name}", plate.name, quantity, "nameplate", topic, load)
    evse_lines(sheet, dwelling)


def optional(dwelling: Dwelling, edition: str, *, nominal: bool = False) -> Worksheet:
    """Calculated load of one dwelling unit by the optional method; neutral by Part III.

    Parameters as in ``standard``. Raises InputError for several dwelling units, a
    three-phase supply, or heating and cooling claimed to run together, which the method
    does not cover.
    """
    edition = check_edition(edition)
    if dwelling.units != 1:
        raise InputError(
            f"the optional calculation is for one dwelling unit, not {dwelling.units}",
            hint="Use the multifamily or the standard method.",
        )
    if dwelling.supply.kind == WYE:
        raise InputError(
            f"the optional calculation is for a 3-wire supply, not {dwelling.supply.name}",
            hint='Use "120/240" or "120/208", or the standard method.',
        )
    refuse_together(dwelling, "optional")
    if nominal:
        dwelling = dwelling.at_nominal()
    sheet = Sheet(edition)
    few_circuits(sheet, dwelling)
    general_lines(sheet, dwelling, counted=True)
    nameplate_lines(sheet, dwelling, "optional_general")
    general = sheet.subtotal_va
    first, share = sheet.const("optional_first_va"), sheet.const("optional_rest_share")
    net = reduce_general(sheet, general, first, share, "optional_general")
    chosen = _hvac(sheet, dwelling)
    if dwelling.service_a is not None and dwelling.service_a < 100.0:
        sheet.choose(
            f"The method is for conductors of 100 A or more; the dwelling is said to have "
            f"{dwelling.service_a:g} A."
        )
    if dwelling.evse:
        sheet.choose(
            "Vehicle supply equipment is put into the general load at 125 % (continuous duty), and "
            "so takes the 40 %: the text does not say otherwise. Some count its nameplate only, "
            "some count it whole."
        )
    return finish(
        sheet,
        dwelling,
        method="optional",
        title="Optional calculation",
        topic_section="220.82",
        season=chosen,
        nominal=nominal,
        results=(("general", general), ("general_net", net)),
    )


def refuse_together(dwelling: Dwelling, method: str) -> None:
    """InputError when heating and cooling are claimed as coincident in ``method``."""
    if dwelling.heat_and_cool_together:
        raise InputError(
            f"heating and cooling are claimed to run together; the {method} method counts only "
            "the larger of them",
            hint="Drop heat_and_cool_together, name the pair as a heat pump with supplementary "
            "heat if that is what it is, or use the standard method, which can count both.",
        )


def reduce_general(sheet: Sheet, general: float, first: float, share: float, topic: str) -> float:
    """Replace the pieces so far by ``first`` VA whole and ``share`` of the rest; the net VA."""
    whole, rest = min(general, first), max(0.0, general - first)
    net = whole + share * rest
    factor = net / general if general else 0.0
    sheet.pieces[:] = [
        Piece(p.va * factor, p.neutral, p.text) for p in sheet.pieces if not p.motor_extra
    ]
    sheet.show(
        "general_first", f"First {first:,.0f} VA", f"{whole:,.0f} VA × 100 %", "", topic, whole
    )
    sheet.show(
        "general_rest",
        "Remainder",
        f"{rest:,.0f} VA × {percent(share)}",
        "",
        topic,
        share * rest,
    )
    sheet.subtotal_va = net
    sheet.show("general_net", "General load after demand", "", "carried on from here", topic, net)
    return net


def _heating_selection(sheet: Sheet, heating: Sequence[Heating]) -> list[Selection]:
    """One selection for each kind: several systems of a kind run at once and are added up."""
    found = []
    storage = [h for h in heating if h.kind == "storage"]
    pumps = [h for h in heating if h.kind == "heat pump"]
    plain = [h for h in heating if h.kind in ("central", "separate")]
    if storage:
        load = sum(h.items_va for h in storage)
        items = tuple(i for h in storage for i in h.items)
        found.append(Selection("(6)", "Thermal storage", f"{load:,.0f} VA × 100 %", load, items))
    if pumps:
        found.append(_pumps(sheet, pumps))
    if plain:
        found.append(_resistance(sheet, plain))
    return found


def _pumps(sheet: Sheet, pumps: Sequence[Heating]) -> Selection:
    """Heat pumps: (2) when none has supplementary heat, else (3) for all of them together."""
    extra = any(h.supplementary for h in pumps)
    share = sheet.const("optional_supplementary_share") if extra else 0.0
    parts = [_pump(h, share) for h in pumps]
    text = "Heat pump" if len(pumps) == 1 else f"Heat pumps, {len(pumps)} systems"
    if extra:
        apart = all(not h.together for h in pumps if h.supplementary)
        text += " or supplementary heat" if apart else " with supplementary heat"
    quantity = "; ".join(words for _, words in parts)
    items = tuple(i for h in pumps for i in h.running())
    return Selection("(3)" if extra else "(2)", text, quantity, sum(va for va, _ in parts), items)


def _pump(h: Heating, share: float) -> tuple[float, str]:
    """VA of one heat pump with ``share`` of its supplementary heat, and how it came about."""
    if not h.supplementary:
        return h.items_va, f"{h.items_va:,.0f} VA × 100 %"
    extra = share * h.supplementary_va
    words = f"{h.supplementary_va:,.0f} VA × {percent(share)}"
    if h.together:
        return h.items_va + extra, f"{h.items_va:,.0f} VA × 100 % + {words}"
    return max(h.items_va, extra), (
        f"compressor {h.items_va:,.0f} VA or {words}, which do not run together: the larger"
    )


def _resistance(sheet: Sheet, plain: Sequence[Heating]) -> Selection:
    """Central and separately controlled electric heating: 65 % below four units, else 40 %."""
    units = sum(h.units for h in plain)
    load = sum(h.items_va for h in plain)
    many = units >= sheet.const("optional_many_least")
    share = sheet.const("optional_many_share" if many else "optional_few_share")
    number = "(5)" if many else "(4)"
    text = f"Electric space heating, {units} separately controlled"
    items = tuple(i for h in plain for i in h.items)
    return Selection(number, text, f"{load:,.0f} VA × {percent(share)}", share * load, items)


def _hvac(sheet: Sheet, dwelling: Dwelling) -> tuple[Item, ...]:
    """Show every selection of 220.82(C), count the largest; its items."""
    cool = cooling_items(dwelling)
    selections = _heating_selection(sheet, dwelling.heating)
    if cool:
        load = sum(i.total_va for i in cool)
        words = "; ".join(f"{i.name} {quantity_of(i)}" for i in cool)
        selections.append(Selection("(1)", "Air conditioning and cooling", words, load, cool))
    if not selections:
        return ()
    largest = max(selections, key=lambda s: s.va)
    for s in selections:
        if s is not largest:
            sheet.show(
                f"selection {s.number} {s.text}",
                f"{s.text} (left out)",
                s.quantity,
                f"selection {s.number}, not the largest",
                "optional_hvac",
                s.va,
            )
    sheet.count(
        "hvac",
        largest.text,
        largest.quantity,
        f"selection {largest.number}: the largest",
        "optional_hvac",
        largest.va,
    )
    apart = [s for s in selections if s is not largest and s.number != "(1)"]
    if apart and largest.number != "(1)":
        sheet.choose(
            "Only the largest selection of 220.82(C) is counted, as its text says. Heating left "
            f"out ({sum(s.va for s in apart):,.0f} VA) that warms another part of the house at "
            "the same time would come on top by some readings: ask the authority having "
            "jurisdiction."
        )
    elif apart:
        sheet.choose("Only the largest selection of 220.82(C) is counted, as its text says.")
    return largest.items
