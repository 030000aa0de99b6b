"""Methods beside each other, before and after an added load, never blended into one number."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from loadlib import InputError
from loadlib_service.added import AddedLoad, hvac_among, with_added
from loadlib_service.demand import MaximumDemand
from loadlib_service.dwelling import Dwelling
from loadlib_service.existing import HVAC_RULES, existing
from loadlib_service.measured import ROUTES, measured
from loadlib_service.optional import optional
from loadlib_service.standard import standard
from loadlib_service.tables import check_edition, section
from loadlib_service.worksheet import Worksheet

__all__ = ["METHODS", "Comparison", "MeasuredFacts", "Row", "compare", "sum_with_added_a"]


METHODS = ("standard", "optional", "existing", "measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredFacts:
    """A maximum demand with what its method must be told (see ``measured``).

    ``demand`` is None while only the circumstances are known and the record itself is still
    to come from a usage file; ``instrument`` stands where the record does not name its own.
    """

    demand: MaximumDemand | None
    instrument: str = ""
    route: str = "year"
    power_factor: float = 1.0
    occupied: bool | None = None
    seasonal_w: float | None = None
    generation: bool | None = None
    peak_shaving: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One method: demand before and after in VA and amperes, and against the rating.

    ``headroom_a`` is negative when the demand is above the rating; None without a rating.
    ``hold_off`` says what energy management would have to keep off, empty when nothing.
    """

    method: str
    section: str
    old_va: float
    new_va: float
    old_a: float
    new_a: float
    headroom_a: float | None
    hold_off: str
    sheets: tuple[Worksheet, ...] = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Rows by method, the methods that could not be used and why, the difference in words."""

    edition: str
    service_a: float | None
    rows: tuple[Row, ...]
    refused: tuple[tuple[str, str], ...]
    words: tuple[str, ...]


def sum_with_added_a(
    existing_a: float, added: Sequence[AddedLoad], line_v: float, edition: str
) -> float:
    """A demand known only in amperes plus added loads, continuous ones at 125 % once. [A]"""
    return existing_a + sum(load.demand_va(edition) for load in added) / line_v


def compare(
    dwelling: Dwelling,
    edition: str,
    *,
    added: Sequence[AddedLoad] = (),
    record: MeasuredFacts | None = None,
    methods: Sequence[str] = (),
    hvac_rule: str = "whole",
    nominal: bool = False,
) -> Comparison:
    """Every method that applies, before and after the added loads.

    A method that refuses these facts is listed with its reason; if none is left, its error
    is raised. ``methods`` limits and orders them; without it all are tried, ``"measured"``
    where there is a ``record``.
    """
    edition = check_edition(edition)
    if not methods:
        methods = METHODS if record is not None else METHODS[:3]
    after = with_added(dwelling, added)

    if record is not None:
        one_of("route", record.route, ROUTES)
    one_of("existing heating and cooling", hvac_rule, HVAC_RULES)

    def by_record(_: Dwelling, loads: Sequence[AddedLoad]) -> Worksheet:
        if record is None or record.demand is None:
            raise InputError(
                "no record of maximum demand",
                hint="Give a usage file (--intervals), or power_kw, window_min and days.",
            )
        demand = record.demand
        if not demand.instrument:
            demand = replace(demand, instrument=record.instrument)
        return measured(
            demand,
            edition,
            supply=dwelling.supply,
            service_a=dwelling.service_a,
            added=loads,
            route=record.route,
            power_factor=record.power_factor,
            occupied=record.occupied,
            seasonal_w=record.seasonal_w,
            generation=record.generation,
            peak_shaving=record.peak_shaving,
            name=dwelling.name,
        )

    def by_existing(facts: Dwelling, loads: Sequence[AddedLoad]) -> Worksheet:
        hvac = hvac_among(loads)
        return existing(facts, edition, hvac_added=hvac, hvac_rule=hvac_rule, nominal=nominal)

    ways: dict[str, Callable[[Dwelling, Sequence[AddedLoad]], Worksheet]] = {
        "standard": lambda facts, _: standard(facts, edition, nominal=nominal),
        "optional": lambda facts, _: optional(facts, edition, nominal=nominal),
        "existing": by_existing,
        "measured": by_record,
    }
    for name in methods:
        one_of("method", name, METHODS)
    rows: list[Row] = []
    refused: list[tuple[str, InputError]] = []
    for name in methods:
        try:
            old, new = ways[name](dwelling, ()), ways[name](after, added)
        except InputError as error:
            refused.append((name, error))
            continue
        rows.append(_row(name, old, new, dwelling, added, edition))
    if not rows:
        raise refused[0][1]
    return Comparison(
        edition=edition,
        service_a=dwelling.service_a,
        rows=tuple(rows),
        refused=tuple((name, _reason(error)) for name, error in refused),
        words=_words(rows),
    )


def one_of(what: str, given: str, known: Sequence[str]) -> None:
    """InputError when ``given`` is none of ``known``: a slip is no reason to leave a method out."""
    if given not in known:
        raise InputError(f"{what} {given!r}", hint="One of: " + ", ".join(known) + ".")


def _reason(error: InputError) -> str:
    """Message and hint of a refusal as sentences."""
    return f"{error.message}. {error.hint or ''}".strip()


def _row(
    name: str,
    old: Worksheet,
    new: Worksheet,
    dwelling: Dwelling,
    added: Sequence[AddedLoad],
    edition: str,
) -> Row:
    rating = dwelling.service_a
    headroom = None if rating is None else rating - new.line_a
    return Row(
        method=name,
        section=new.section,
        old_va=old.total_va,
        new_va=new.total_va,
        old_a=old.line_a,
        new_a=new.line_a,
        headroom_a=headroom,
        hold_off=_hold_off(headroom, old, new, added, dwelling, edition),
        sheets=(old, new) if added else (new,),
    )


def _hold_off(
    headroom: float | None,
    old: Worksheet,
    new: Worksheet,
    added: Sequence[AddedLoad],
    dwelling: Dwelling,
    edition: str,
) -> str:
    if headroom is None or headroom >= 0.0:
        return ""
    over = -headroom
    number = section("ems", edition).number
    text = f"{over:,.1f} A above the rating would have to be held off by energy management"
    text += f" ({number})"
    if not added:
        return text + "."
    grown = new.line_a - old.line_a
    if over >= grown:
        return text + ": more than the added load itself, so holding that off is not enough."
    names = ", ".join(load.item.name for load in added)
    text += (
        f"; the added load ({names}) counts {grown:,.1f} A here, {grown - over:,.1f} A would remain"
    )
    chargers = [load for load in added if load.kind == "charger"]
    if len(added) == 1 and chargers:
        left = (grown - over) / grown * chargers[0].plate_va(edition)
        # Down to the whole ampere: a setting above what is left would not hold.
        text += f" (a setting of about {math.floor(left / dwelling.supply.line_v):,} A)"
    return text + "."


def _words(rows: Sequence[Row]) -> tuple[str, ...]:
    """Why the methods differ, in words."""
    found = {row.method: row for row in rows}
    told = []
    calculated = [row for row in rows if row.method != "measured"]
    if "measured" in found and calculated:
        record = found["measured"]
        highest = max(calculated, key=lambda row: row.old_a)
        told.append(
            f"Measured {record.old_a:,.0f} A (with its 125 %) and calculated "
            f"{highest.old_a:,.0f} A ({highest.method}) are different statements: the first is "
            "what was drawn in the record by the people who lived there then, the second is "
            "connected load with fixed factors for any household. Neither corrects the other."
        )
    if "standard" in found and "optional" in found:
        told.append(
            "The standard method gives each kind of load its own factor and counts heating or "
            "cooling whole; the optional one takes 40 % of everything above 10 kVA and its own "
            "share of heating."
        )
    if "existing" in found:
        told.append(
            "The existing-dwelling method takes 40 % above 8 kVA; new load enters at the same "
            "rate, except heating and cooling."
        )
    told.append(
        "Demand factors and the 125 % are made for services and feeders. They do not say what a "
        "generator or battery must carry: that is judged by what is to run at the same time, and "
        "by its own rule (Article 702)."
    )
    return tuple(told)
