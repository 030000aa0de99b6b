"""Files of the command line: facts, profiles and intervals in, the page out."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from loadlib import (
    DataError,
    InputError,
    LoadProfile,
    ReadOptions,
    Series,
    house_from_toml,
    read_text,
    read_usage,
)
from loadlib_service.compare import MeasuredFacts
from loadlib_service.demand import from_profile, maximum_demand
from loadlib_service.derive import dwelling_from_house, dwelling_from_profile
from loadlib_service.facts import Facts, read_facts

__all__ = ["parse_purpose", "read_source", "with_intervals"]

HOUSE_MARK = re.compile(r'^format\s*=\s*"loadlib-house"', re.MULTILINE)


def read_source(path: Path, *, record_days: float = 0.0, route: str = "") -> Facts:
    """Facts from a facts file, a house file or a profile document (it begins with ``{``).

    ``route`` stands above the one in a facts file; without either it is a year.
    """
    text = read_text(path)
    if HOUSE_MARK.search(text):
        return Facts(dwelling_from_house(house_from_toml(text, path=str(path))))
    if not text.lstrip().startswith("{"):
        facts = read_facts(text, path=str(path))
        if route and facts.record is not None:
            facts = replace(facts, record=replace(facts.record, route=route))
        return facts
    profile = LoadProfile.from_json(text)
    record = None
    if record_days > 0.0:
        demand = from_profile(profile, record_days=record_days)
        record = MeasuredFacts(demand=demand, route=route or "year")
    return Facts(dwelling_from_profile(profile), record=record)


def with_intervals(facts: Facts, path: Path, *, route: str = "", timezone: str = "") -> Facts:
    """The facts with the maximum demand of a usage file as their record.

    Any usage file that loadlib reads will do. What the ``[measured]`` table says of the
    record (occupied, power factor …) is kept; energy sent out marks generation on the meter.
    """
    result, _ = read_usage(path, ReadOptions(timezone=timezone))
    series, sends_out = _whole(result.series, path)
    demand = replace(maximum_demand(series), source=path.name)
    known = facts.record or MeasuredFacts(demand=demand)
    if known.demand is not None and known.demand.instrument:
        demand = replace(demand, instrument=known.demand.instrument)
    generation = True if sends_out else known.generation
    route = route or known.route
    return replace(facts, record=replace(known, demand=demand, route=route, generation=generation))


def _whole(series: tuple[Series, ...], path: Path) -> tuple[Series, bool]:
    """The longest series of the whole house, and whether the meter also counts export."""
    sends_out = any(
        bool((s.mean_w > 0.0).any()) if s.flow == "export" else bool((s.mean_w < 0.0).any())
        for s in series
        if s.flow in ("export", "net")
    )
    whole = [s for s in series if s.place == "whole" and s.flow in ("import", "load", "net")]
    if not whole:
        raise DataError(
            "no interval data of the whole house in it",
            path=str(path),
            hint="The measured method needs interval data, not bills.",
        )
    return max(whole, key=lambda s: s.span_s), sends_out


def parse_purpose(text: str) -> tuple[str, tuple[float, ...]]:
    """``cooking=30,12`` as purpose and currents."""
    purpose, _, amounts = text.partition("=")
    try:
        return purpose.strip(), tuple(float(a) for a in amounts.split(","))
    except ValueError:
        raise InputError(
            f"{text!r} is not PURPOSE=A,A,...", hint="For example cooking=30 lighting=8."
        ) from None
