"""Existing dwelling unit with load to be added, NEC 220.83(A) and (B).

References: NFPA 70 (NEC) 220.83.
"""

from __future__ import annotations

from loadlib import InputError
from loadlib_service.dwelling import Dwelling
from loadlib_service.finish import finish
from loadlib_service.hvac import seasons
from loadlib_service.optional import nameplate_lines, reduce_general, refuse_together
from loadlib_service.parts import few_circuits, general_lines
from loadlib_service.supply import WYE
from loadlib_service.tables import check_edition
from loadlib_service.worksheet import Sheet, Worksheet

__all__ = ["HVAC_RULES", "existing"]

HVAC_RULES = ("whole", "appliance")
"""Heating and cooling that are there already, under (A): counted whole (the larger), or as
appliances in the load that takes the 40 %."""


def existing(
    dwelling: Dwelling,
    edition: str,
    *,
    hvac_added: bool = False,
    hvac_rule: str = "whole",
    nominal: bool = False,
) -> Worksheet:
    """Load of an existing dwelling with the new load already among its facts.

    Parameters
    ----------
    dwelling : existing facts plus the added ones (see ``added``).
    edition : ``"2017"``, ``"2020"`` or ``"2023"``.
    hvac_added : whether heating or cooling is among the additions; then (B) applies.
    hvac_rule : under (A), ``"whole"`` or ``"appliance"`` for heating and cooling that exist.

    Raises InputError for several units, a three-phase supply, heating and cooling together.
    """
    edition = check_edition(edition)
    if dwelling.units != 1 or dwelling.supply.kind == WYE:
        raise InputError(
            "220.83 is for one dwelling unit on a 3-wire service",
            hint="Use the standard method, or the measured maximum demand.",
        )
    if hvac_rule not in HVAC_RULES:
        raise InputError(f"hvac rule {hvac_rule!r}", hint="One of: " + ", ".join(HVAC_RULES) + ".")
    refuse_together(dwelling, "existing-dwelling")
    if nominal:
        dwelling = dwelling.at_nominal()
    topic = "existing_b" if hvac_added else "existing_a"
    sheet = Sheet(edition)
    few_circuits(sheet, dwelling)
    general_lines(sheet, dwelling, counted=True)
    nameplate_lines(sheet, dwelling, topic)
    as_appliance = hvac_rule == "appliance" and not hvac_added
    if as_appliance:
        _hvac_as_appliances(sheet, dwelling, topic)
    others = sheet.subtotal_va
    first, share = sheet.const("existing_first_va"), sheet.const("existing_rest_share")
    net = reduce_general(sheet, others, first, share, topic)
    if not as_appliance:
        _hvac_whole(sheet, dwelling, topic, hvac_added)
    return finish(
        sheet,
        dwelling,
        method="existing",
        title=f"Existing dwelling unit, {'(B)' if hvac_added else '(A)'}",
        topic_section=f"220.83{'(B)' if hvac_added else '(A)'}",
        nominal=nominal,
        with_neutral=False,
        results=(("general", others), ("general_net", net)),
    )


def _hvac_as_appliances(sheet: Sheet, dwelling: Dwelling, topic: str) -> None:
    heat, cool = seasons(dwelling)
    larger = max((heat, cool), key=lambda s: s.va)
    if larger.items:
        rule = "as an appliance, nameplate (a reading; see the choices)"
        sheet.count(larger.name, larger.name.capitalize(), larger.quantity, rule, topic, larger.va)
        _dispute(sheet)


def _dispute(sheet: Sheet) -> None:
    sheet.choose(
        "220.83(A) does not say how heating and cooling that exist are counted: one published "
        "answer takes them as appliances (40 % above 8 kVA), several inspectors count the larger "
        "at 100 %. Ask the authority having jurisdiction which it wants."
    )


def _hvac_whole(sheet: Sheet, dwelling: Dwelling, topic: str, hvac_added: bool) -> None:
    heat, cool = seasons(dwelling)
    larger, other = (heat, cool) if heat.va >= cool.va else (cool, heat)
    if not larger.items:
        return
    rule = "the larger of cooling and electric heating, not both, at 100 %"
    sheet.count(larger.name, larger.name.capitalize(), larger.quantity, rule, topic, larger.va)
    if other.items:
        sheet.show(
            f"{other.name}_omitted",
            f"{other.name.capitalize()} (left out)",
            other.quantity,
            "the smaller of the two",
            topic,
            other.va,
        )
    if not hvac_added:
        _dispute(sheet)
    elif sum(h.units for h in dwelling.heating if h.kind == "separate") >= 4:
        sheet.choose(
            "220.83(B) names fewer than four separately controlled heating units; four or more "
            "are counted at 100 % here as well."
        )
