"""Existing load by measured maximum demand, NEC 220.87.

References: NFPA 70 (NEC) 220.87 with its exceptions.
"""

from __future__ import annotations

from collections.abc import Sequence

from loadlib import InputError
from loadlib_service.added import AddedLoad
from loadlib_service.demand import MaximumDemand
from loadlib_service.dwelling import positive
from loadlib_service.ratings import next_rating_a
from loadlib_service.supply import Supply
from loadlib_service.tables import check_edition, constant, percent, section
from loadlib_service.worksheet import AUTHORITY, Piece, Sheet, Worksheet

__all__ = ["ROUTES", "measured"]

ROUTES = ("year", "30 days")
"""One year of maximum-demand data, or 30 days of continuous recording (the exception)."""

RECORDER = (
    "A recorder on panel or service conductors is fitted by a qualified person: an open panel "
    "means shock and arc flash.",
)


def measured(
    demand: MaximumDemand,
    edition: str,
    *,
    supply: Supply,
    service_a: float | None = None,
    added: Sequence[AddedLoad] = (),
    route: str = "year",
    power_factor: float = 1.0,
    occupied: bool | None = None,
    seasonal_w: float | None = None,
    generation: bool | None = None,
    peak_shaving: bool | None = None,
    name: str = "",
) -> Worksheet:
    """125 % of the measured maximum demand plus the new load.

    Parameters
    ----------
    demand : the maximum and the record behind it.
    edition : ``"2017"``, ``"2020"`` or ``"2023"``.
    route : ``"year"`` or ``"30 days"``.
    power_factor : turns kW of the record into kVA; the text of the rule leaves it open.
    occupied : whether the house was lived in as usual; the 30-day route asks for it.
    seasonal_w : heating, cooling or other seasonal load added by calculation; 0.0 says that
        the record holds the larger of heating and cooling itself. [W]
    generation, peak_shaving : solar or wind, or storage that shaves peaks; refused when
        true, asked for in words when not stated (None).

    Raises InputError when the record is too short, its interval too long for the route, the
    house was empty, or there is generation or peak shaving on the meter.
    """
    edition = check_edition(edition)
    if route not in ROUTES:
        raise InputError(f"route {route!r}", hint="One of: " + ", ".join(ROUTES) + ".")
    if generation or peak_shaving:
        what = "solar or wind generation" if generation else "peak shaving"
        raise InputError(
            f"there is {what} on this meter: {section('measured', edition).number} does not apply",
            hint="Its exception shuts the method out; use a calculated method.",
        )
    if not 0.0 < power_factor <= 1.0:
        raise InputError(f"power factor {power_factor:g}", hint="Use a number up to 1.")
    sheet = Sheet(edition)
    if generation is None or peak_shaving is None:
        sheet.choose(
            "Not stated: whether there is solar, wind or peak shaving on this meter. With any of "
            "them the method does not apply."
        )
    _check_record(sheet, demand, route, occupied, seasonal_w)
    amps = _demand_lines(sheet, demand, supply, power_factor, seasonal_w or 0.0)
    added_va = 0.0
    for load in added:
        va = load.demand_va(edition)
        added_va += va
        sheet.count(
            f"added {load.item.name}",
            f"New: {load.item.name}",
            load.quantity(edition),
            "new load, continuous load at 125 % once",
            "measured",
            va,
        )
    total_a = sheet.subtotal_va / supply.capacity_va(1.0)
    return _worksheet(sheet, demand, supply, service_a, route, amps, added_va, total_a, name)


def _worksheet(
    sheet: Sheet,
    demand: MaximumDemand,
    supply: Supply,
    service_a: float | None,
    route: str,
    amps: float,
    added_va: float,
    total_a: float,
    name: str,
) -> Worksheet:
    factor = constant("measured_factor", sheet.edition).amount
    results = [
        ("maximum_a", amps),
        ("factored_a", amps * factor),
        ("added_a", added_va / supply.capacity_va(1.0)),
        ("total_a", total_a),
    ]
    if service_a is not None:
        positive("service_a", service_a, "A")
        results.append(("headroom_a", service_a - total_a))
    sheet.choose(
        "Overcurrent protection of the feeder (240.4) and overload protection of the service "
        "(230.90) must be in place: not seen here, for the electrician to confirm."
    )
    rating = next_rating_a(total_a)
    return Worksheet(
        method="measured",
        title=f"Existing load by measured maximum demand, {route}",
        edition=sheet.edition,
        section=section("measured", sheet.edition).number,
        supply=supply,
        name=name,
        lines=tuple(sheet.lines),
        total_va=sheet.subtotal_va,
        legs_a=tuple((leg, total_a) for leg in supply.legs),
        leg_lines=(),
        line_a=total_a,
        next_rating_a=rating,
        service_rating_a=rating,
        neutral_lines=(),
        neutral_va=None,
        neutral_a=None,
        choices=tuple(sheet.choices),
        doubts=sheet.doubts(),
        cautions=(*AUTHORITY, *RECORDER),
        results=tuple(results),
        facts=_facts(demand, supply, service_a, name),
    )


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'s' * (number != 1)}"


def _facts(
    demand: MaximumDemand, supply: Supply, service_a: float | None, name: str
) -> tuple[tuple[str, str], ...]:
    period = f"{demand.days:,.1f} days recorded"
    if demand.first:
        period += f", {demand.first} to {demand.last}"
    gaps = "none"
    if demand.missing:
        gaps = (
            f"{_count(demand.missing, 'interval')} missing in {_count(demand.gaps, 'gap')}, the "
            f"longest {demand.longest_gap_s / 3600.0:,.1f} h; never filled in"
        )
    elif demand.span_s is None:
        gaps = "not shown by the record"
    facts = [
        ("Supply", f"{supply.name} V, {supply.kind}"),
        ("Period", period),
        ("Interval", f"{demand.window_s / 60.0:g} min means"),
        ("Gaps", gaps),
        ("Instrument", demand.instrument or "not stated"),
        ("Source", demand.source or "not stated"),
        ("Place", demand.place),
        ("Maximum at", demand.at or "not stated"),
    ]
    if name:
        facts.insert(0, ("Dwelling", name))
    if service_a is not None:
        rating = f"{service_a:g} A (a limit, not a load)"
        facts.append(("Rating of the service or feeder", rating))
    return tuple(facts)


def _check_record(
    sheet: Sheet, demand: MaximumDemand, route: str, occupied: bool | None, seasonal_w: float | None
) -> None:
    if route == "year":
        _check_year(sheet, demand)
    else:
        _check_short(sheet, demand, occupied, seasonal_w)
    if demand.missing:
        sheet.choose(
            f"The record has {_count(demand.gaps, 'gap')} ({_count(demand.missing, 'interval')}): "
            "the true maximum may lie where nothing was recorded."
        )
    for note in demand.notes:
        sheet.choose(note)
    if demand.bound_w is not None and demand.power_w is not None:
        sheet.choose(
            f"Clock intervals cut a peak in two: the true 15-minute maximum may lie between "
            f"{demand.power_w / 1000.0:,.2f} and {demand.bound_w / 1000.0:,.2f} kW."
        )
    if demand.place == "whole":
        sheet.choose(
            "The record is of the whole service: it does not show the legs. Legs are taken as "
            "equally loaded; a heavier leg stays unseen."
        )


def _check_year(sheet: Sheet, demand: MaximumDemand) -> None:
    need = constant("measured_year_days", sheet.edition).amount
    if demand.days < need and (demand.span_s is None or demand.span_s < need * 86_400.0):
        raise InputError(
            f"a record of {demand.days:,.1f} days is not a year",
            hint="Give 365 days, or 30 days of continuous 15-minute means by the 30-day route.",
        )
    if demand.months_missing:
        raise InputError(
            "the year has months without any reading: " + ", ".join(demand.months_missing),
            hint="A season may be missing; complete the record or use the 30-day route.",
        )
    if demand.window_s > 3600:
        raise InputError(
            f"intervals of {demand.window_s / 3600.0:g} h are too long for a maximum demand",
            hint="Use 15-minute (or at most hourly) data; ask the utility for its demand data.",
        )
    if demand.window_s > constant("measured_window_s", sheet.edition).amount:
        sheet.choose(
            f"Means over {demand.window_s / 60.0:g} min understate the 15-minute maximum demand: "
            "ask the utility for 15-minute data; the authority having jurisdiction may not take it."
        )


def _check_short(
    sheet: Sheet, demand: MaximumDemand, occupied: bool | None, seasonal_w: float | None
) -> None:
    need = constant("measured_short_days", sheet.edition).amount
    window_s = constant("measured_window_s", sheet.edition).amount
    if demand.days < need:
        raise InputError(
            f"a record of {demand.days:,.1f} days is short of 30",
            hint="Go on recording until 30 days are complete.",
        )
    if demand.window_s > window_s:
        raise InputError(
            f"means over {demand.window_s / 60.0:g} min are too long for the 30-day route",
            hint="It asks for 15-minute means on the highest-loaded phase.",
        )
    if occupied is False:
        raise InputError(
            "the house was not occupied during the 30 days",
            hint="The record must be taken while it is lived in.",
        )
    if occupied is None:
        sheet.choose("Whether the house was occupied during the record is not stated: confirm it.")
    if demand.place == "whole":
        sheet.choose(
            "The 30-day route asks for the highest-loaded phase; this record is of the whole "
            "service."
        )
    if demand.missing:
        sheet.choose("The 30-day route asks for continuous recording; this record has gaps.")
    if seasonal_w is None:
        sheet.choose(
            "Not stated: whether the record holds the larger of heating and cooling and other "
            "seasonal load. If not, it must be added by calculation."
        )


def _demand_lines(
    sheet: Sheet, demand: MaximumDemand, supply: Supply, power_factor: float, seasonal_w: float
) -> float:
    """Lines of the measured part; the maximum demand in amperes of a leg. [A]"""
    per_amp = supply.capacity_va(1.0)
    if demand.current_a is not None:
        if seasonal_w:
            raise InputError(
                "seasonal load in watts can't be added to a record in amperes",
                hint="Add it as a new load, or give the record in kW.",
            )
        load, quantity = demand.current_a * per_amp, f"{demand.current_a:g} A recorded"
    else:
        watts = (demand.power_w or 0.0) + seasonal_w
        quantity = f"{watts / 1000.0:,.3f} kW ÷ power factor {power_factor:g}"
        load = watts / power_factor
        if demand.place != "whole":
            load *= per_amp / supply.leg_v
            quantity += f" on {demand.place}, taken on every leg"
        sheet.choose(
            f"The rule does not say kW or kVA: kW is turned into kVA with power factor "
            f"{power_factor:g}."
        )
        if seasonal_w:
            quantity += f" (with {seasonal_w:,.0f} W seasonal load by calculation)"
    rule = f"highest mean over {demand.window_s / 60.0:g} min"
    sheet.show("maximum", "Maximum demand", quantity, rule, "measured", load)
    factor = sheet.const("measured_factor")
    sheet.count(
        "factored",
        "Maximum demand at 125 %",
        f"{load:,.0f} VA × {percent(factor)}",
        "existing load",
        "measured",
        load * factor,
        [Piece(load * factor)],
    )
    return load / per_amp
