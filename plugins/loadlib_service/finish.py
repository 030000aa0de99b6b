"""From the lines of a sheet to a finished worksheet: legs, ratings, neutral, choices, facts."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib_service.dwelling import Dwelling, Item
from loadlib_service.legs import LEG_CHOICES, leg_lines
from loadlib_service.neutral import Neutral, neutral
from loadlib_service.ratings import next_rating_a, service_rating_a
from loadlib_service.supply import WYE, WYE_LEGS
from loadlib_service.tables import section
from loadlib_service.worksheet import LegLine, Sheet, Worksheet, balanced_a

__all__ = ["facts_of", "finish"]


def facts_of(dwelling: Dwelling) -> tuple[tuple[str, str], ...]:
    """The facts a reader must see above the lines."""
    facts = [
        ("Floor area", f"{dwelling.area_ft2:,.0f} ft²"),
        ("Supply", f"{dwelling.supply.name} V, {dwelling.supply.kind}"),
        ("Dwelling units", str(dwelling.units)),
    ]
    if dwelling.name:
        facts.insert(0, ("Dwelling", dwelling.name))
    if dwelling.service_a is not None:
        rating = f"{dwelling.service_a:g} A (a limit, not a load)"
        facts.append(("Rating of the service or feeder", rating))
    return tuple(facts)


def _plate_volts(sheet: Sheet, dwelling: Dwelling, nominal: bool) -> None:
    """State plate against nominal volts where it makes a difference."""
    differ = [i for i in dwelling.all_items() if i.at_nominal(dwelling.supply).va != i.va]
    if nominal:
        number = section("nominal_voltage", sheet.edition).number
        sheet.choose(f"Plate amperes are taken at nominal volts ({number}).")
    elif differ:
        by = sum((i.at_nominal(dwelling.supply).va - i.va) * i.count for i in differ)
        sheet.choose(
            "Plate amperes are taken at the plate's volts ("
            + ", ".join(i.name for i in differ)
            + f"); at nominal volts they would be {by:,.0f} VA more. NEC Annex D does it one "
            "way in Example D2(a) and the other in D2(b)."
        )


def finish(
    sheet: Sheet,
    dwelling: Dwelling,
    *,
    method: str,
    title: str,
    topic_section: str,
    season: Sequence[Item] = (),
    cooking_rule: str = "least",
    nominal: bool = False,
    with_neutral: bool = True,
    results: Sequence[tuple[str, float]] = (),
) -> Worksheet:
    """Work out legs, neutral and ratings, and freeze the sheet."""
    supply = dwelling.supply
    found = neutral(dwelling, sheet.edition, season, cooking_rule) if with_neutral else None
    assigned = [p for p in sheet.pieces if p.legs]
    lines: tuple[LegLine, ...] = ()
    if assigned:
        base_a = balanced_a((p for p in sheet.pieces if not p.motor_extra), supply)
        motors = [*dwelling.appliances, *dwelling.motors, *season]
        base_neutral = found.amps if found else 0.0
        lines = leg_lines(base_a, base_neutral, assigned, motors, supply, sheet.edition)
        legs = tuple(sum(x) for x in zip(*(line.legs_a for line in lines), strict=True))
        for text in LEG_CHOICES:
            sheet.choose(text)
    else:
        legs = (balanced_a(sheet.pieces, supply),) * len(supply.legs)
    neutral_a = found.amps if found else None
    if lines and found:
        neutral_a = sum(line.neutral_a for line in lines)
    _plate_volts(sheet, dwelling, nominal)
    _system_choices(sheet, dwelling, found)
    line_a = max(legs)
    return Worksheet(
        method=method,
        title=title,
        edition=sheet.edition,
        section=topic_section,
        supply=supply,
        name=dwelling.name,
        lines=tuple(sheet.lines),
        total_va=sheet.subtotal_va,
        legs_a=tuple(zip(supply.legs, legs, strict=True)),
        leg_lines=lines,
        line_a=line_a,
        next_rating_a=next_rating_a(line_a),
        service_rating_a=service_rating_a(line_a, sheet.edition, one_family=dwelling.one_family),
        neutral_lines=found.lines if found else (),
        neutral_va=found.va if found else None,
        neutral_a=neutral_a,
        choices=(*dwelling.assumptions, *sheet.choices),
        doubts=_doubts(sheet, found),
        results=tuple(results),
        facts=facts_of(dwelling),
    )


def _system_choices(sheet: Sheet, dwelling: Dwelling, found: Neutral | None) -> None:
    if dwelling.supply.kind == WYE_LEGS:
        sheet.choose(
            "Two legs of a wye: line-to-neutral load ÷ (2 × leg volts) plus line-to-line load ÷ "
            "line volts (NEC Annex D, Example D5(b)); no 70 % on the neutral above 200 A."
        )
    if dwelling.supply.kind == WYE and (dwelling.cooking or dwelling.dryers):
        sheet.choose(
            "Single-phase cooking appliances and dryers are taken as spread evenly over the phases "
            "on the basis of 220.54 and 220.55. NEC Annex D does so in Example D5(a), not for the "
            "neutral of Example D5(b)."
        )
    if found and found.amps < found.basic_a:
        sheet.choose(
            f"Neutral: {found.basic_a:,.1f} A, the part above 200 A at 70 %: {found.amps:,.1f} A."
        )
        for text in found.sheet.choices:
            sheet.choose(text)
    sheet.choose(
        "Amperes are VA ÷ volts; fractions below 0.5 A are dropped before the next standard "
        f"rating ({section('rounding', sheet.edition).number}, "
        f"{section('standard_ratings', sheet.edition).number})."
    )


def _doubts(sheet: Sheet, found: Neutral | None) -> tuple[str, ...]:
    if found:
        sheet.memory.update(found.sheet.memory)
        sheet.carried.update(found.sheet.carried)
        sheet.unseen.update(found.sheet.unseen)
    return sheet.doubts()
