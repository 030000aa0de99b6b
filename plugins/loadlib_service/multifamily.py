"""Three or more dwelling units, NEC 220.84, and two on one feeder, 220.85.

References: NFPA 70 (NEC) 220.84, Table 220.84, 220.85; worked numbers in Informative Annex D,
Example D4(b).
"""

from __future__ import annotations

from collections.abc import Sequence

from loadlib import InputError
from loadlib_service.dwelling import Dwelling, combine, positive
from loadlib_service.finish import finish
from loadlib_service.hvac import seasons
from loadlib_service.optional import nameplate_lines
from loadlib_service.parts import general_lines
from loadlib_service.standard import standard
from loadlib_service.supply import Supply
from loadlib_service.tables import check_edition, count_row, percent, row_value
from loadlib_service.worksheet import Piece, Sheet, Worksheet

__all__ = ["multifamily", "two_units"]

ASSUMED_COOKING_W = 8000.0
"""Electric cooking taken for a unit without it, exception to 220.84(A)(2). [W]"""


def multifamily(
    parts: Sequence[tuple[int, Dwelling]],
    edition: str,
    *,
    supply: Supply | None = None,
    house_load_va: float = 0.0,
) -> Worksheet:
    """Load of three or more dwelling units by the optional method, with Table 220.84.

    Parameters
    ----------
    parts : pairs of count and dwelling unit.
    edition : ``"2017"``, ``"2020"`` or ``"2023"``.
    supply : the supply of the feeder or service; default: that of the first unit.
    house_load_va : house loads worked out by Part III, added without the factor. [VA]

    Raises InputError below three units, where a unit lacks electric cooking, or has neither
    electric heating nor air conditioning: the method is not open to it.
    """
    edition = check_edition(edition)
    for _, unit in parts:
        if not unit.cooking:
            raise InputError(
                "220.84 asks for electric cooking in each unit",
                hint=f"Its exception: add cooking of {ASSUMED_COOKING_W / 1000:g} kW to each unit, "
                "and use the lesser of that and the standard calculation without it.",
            )
        if not unit.heating and not unit.cooling:
            raise InputError(
                "220.84 asks for electric heating or air conditioning in each unit",
                hint="Use the standard calculation.",
            )
    whole = combine(parts, supply)
    if whole.units < 3:
        raise InputError(
            f"220.84 is for three or more dwelling units, not {whole.units}",
            hint="For two units on one feeder use two_units (220.85).",
        )
    if house_load_va:
        positive("house load", house_load_va, "VA")
    return _worksheet(whole, edition, house_load_va)


def _worksheet(whole: Dwelling, edition: str, house_load_va: float) -> Worksheet:
    sheet = Sheet(edition)
    general_lines(sheet, whole, counted=True)
    nameplate_lines(sheet, whole, "multifamily")
    heat, cool = seasons(whole)
    larger, other = (heat, cool) if heat.va >= cool.va else (cool, heat)
    sheet.count(
        larger.name,
        larger.name.capitalize(),
        larger.quantity,
        "the larger of cooling and electric heating at nameplate",
        "multifamily",
        larger.va,
    )
    sheet.show(
        f"{other.name}_omitted",
        f"{other.name.capitalize()} (left out)",
        other.quantity,
        "the smaller of the two",
        "multifamily",
        other.va,
    )
    connected = sheet.subtotal_va
    row = count_row("multifamily", whole.units)
    share = float(row["percent"]) / 100.0
    sheet.used([row_value(row, share)])
    demand = connected * share
    sheet.pieces[:] = [Piece(demand)]
    sheet.subtotal_va = demand
    sheet.show(
        "units_net",
        f"Demand of {whole.units} dwelling units",
        f"{connected:,.0f} VA × {percent(share)}",
        "factor by number of dwelling units; carried on from here",
        "multifamily",
        demand,
    )
    if house_load_va:
        rule = "house loads by Part III, without the factor"
        sheet.count("house", "House loads", "", rule, "multifamily", house_load_va)
    return finish(
        sheet,
        whole,
        method="multifamily",
        title="Optional calculation, multifamily dwelling",
        topic_section="220.84",
        season=larger.items,
        results=(("connected", connected), ("share", share)),
    )


def two_units(unit: Dwelling, edition: str) -> tuple[Worksheet, Worksheet | None]:
    """Two alike units on one feeder: Part III, and 220.84 for three where that is less.

    The second worksheet is None when Part III gives the lesser load or 220.84 is not open.
    """
    part_iii = standard(combine([(2, unit)]), edition)
    if not unit.cooking or not (unit.heating or unit.cooling):
        return part_iii, None
    three = multifamily([(3, unit)], edition)
    return part_iii, three if three.total_va < part_iii.total_va else None
