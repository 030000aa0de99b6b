"""Each load in words: its ranges, its sources, and what was believed of the claims about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loadlib import Load, LoadProfile, Range
from loadlib_report.amounts import often, plain, power, powers

__all__ = ["Believed", "LoadRow", "believed", "hardest", "load_rows", "yearly_wh"]

KNOWN = {
    "measured": "measured",
    "label": "its label",
    "user": "as entered",
    "catalog": "catalog",
    "guess": "a guess",
}
"""Where the running watts come from, in words."""

QUANTITIES = {
    "running_w": "running",
    "power_factor": "power factor",
    "start_va": "at a start",
    "start_s": "length of a start",
    "duty_share": "share of time on",
    "starts_per_h": "starts an hour",
    "on_s": "on for",
    "standby_w": "standby",
    "energy_per_cycle_wh": "energy of a cycle",
    "energy_wh": "energy",
    "mean_w": "mean demand",
    "max_w": "highest demand",
    "quantile_w": "demand passed for a share of the time",
    "at_w": "demand at an instant",
    "change_w": "change when switched",
}

PRIORITIES = {"must": "must run", "wanted": "wanted", "off": "stays off"}


@dataclass(frozen=True, slots=True)
class Believed:
    """One claim as it was heard, in words; ``doubted`` where it is far from the result."""

    about: str
    quantity: str
    said: str
    result: str
    belief: str
    source: str
    doubted: bool


@dataclass(frozen=True, slots=True)
class LoadRow:
    """One load, in words. ``anchor`` is the id of its details on the page."""

    anchor: str
    name: str
    running: str
    start: str
    kwh_per_year: str
    known: str
    facts: tuple[tuple[str, str], ...]
    sources: tuple[str, ...]
    believed: tuple[Believed, ...]


def yearly_wh(load: Load) -> float:
    """Energy of a year at typical values: running and standby, all of ``count``. [Wh]"""
    duty = min(float(load.duty_array().mean()) * load.duty_belief.typical, 1.0)
    mean_w = load.running_w.typical * duty + load.standby_w.typical * (1.0 - duty)
    return load.count * mean_w * 8760.0


def hardest(profile: LoadProfile, most: int) -> list[Load]:
    """The loads that ask for most at a start, largest first."""
    return sorted(profile.loads, key=lambda load: (-load.largest_va.typical, load.id))[:most]


def believed(profile: LoadProfile) -> list[Believed]:
    """Every claim of the document, in its order."""
    return [
        Believed(
            about=claim.about,
            quantity=QUANTITIES.get(claim.quantity, claim.quantity),
            said=_amount(claim.value, claim.unit),
            result=_amount(claim.result, claim.unit),
            belief=_belief(claim.weight, claim.sigmas),
            source=f"{claim.estimator}: {claim.source}",
            doubted=claim.weight < 0.5 or claim.sigmas > 2.0,
        )
        for claim in profile.claims
    ]


def load_rows(profile: LoadProfile, heard: list[Believed]) -> list[LoadRow]:
    """Every load, by energy of a year; ``heard`` are the claims of the document."""
    about: dict[str, list[Believed]] = {}
    for claim in heard:
        about.setdefault(claim.about, []).append(claim)
    loads = sorted(profile.loads, key=lambda load: (-yearly_wh(load), load.name, load.id))
    return [_row(number, load, about.get(load.id, [])) for number, load in enumerate(loads, 1)]


def _row(number: int, load: Load, heard: list[Believed]) -> LoadRow:
    return LoadRow(
        anchor=f"load-{number}",
        name=load.name if load.count == 1 else f"{load.name} × {load.count}",
        running=powers(load.running_w),
        start=powers(load.start_va, "VA") if load.start_va is not None else "no step",
        kwh_per_year=plain(yearly_wh(load) / 1000.0),
        known=KNOWN.get(load.known, load.known),
        facts=tuple(_facts(load)),
        sources=tuple(_source(text) for text in load.sources),
        believed=tuple(heard),
    )


def _source(text: str) -> str:
    """``running_w: label …`` as ``running: label …``."""
    quantity, colon, rest = text.partition(": ")
    return f"{QUANTITIES[quantity]}: {rest}" if colon and quantity in QUANTITIES else text


def _facts(load: Load) -> Iterator[tuple[str, str]]:
    on_share = min(float(load.duty_array().mean()) * load.duty_belief.typical, 1.0)
    starts_per_day = 24.0 * float(load.starts_array().mean())
    yield "Runs at", f"{power(load.running_w.typical)} ({powers(load.running_w)})"
    if load.start_va is not None:
        yield (
            "At a start",
            f"{power(load.start_va.typical, 'VA')} ({powers(load.start_va, 'VA')}) for "
            f"{plain(load.start_s.typical)} s",
        )
    yield "Power factor", plain(load.power_factor.typical)
    yield "On", f"{plain(100.0 * on_share)} % of the time; starts {often(starts_per_day)}"
    if load.standby_w.high > 0.0:
        yield "While off", powers(load.standby_w)
    if load.circuit or load.room:
        yield "Circuit, room", ", ".join(filter(None, (load.circuit, load.room)))
    yield "In an outage", _outage(load)
    for note in load.notes:
        yield "Note", note


def _outage(load: Load) -> str:
    text = PRIORITIES.get(load.priority, load.priority)
    if load.may_be_off_s is not None:
        text += f", may be off for {plain(load.may_be_off_s / 3600.0)} h"
    if load.if_off:
        text += f"; if off: {load.if_off}"
    return text + ("; medical: never shed by default" if load.medical else "")


def _amount(value: Range, unit: str) -> str:
    """Typical value and range in the unit of the claim."""
    if unit in ("W", "VA", "Wh"):
        typical = power(value.typical, unit)
        return typical if value.is_exact else f"{typical} ({powers(value, unit)})"
    unit = "" if unit == "share" else f" {unit}"
    typical = f"{plain(value.typical)}{unit}"
    if value.is_exact:
        return typical
    return f"{typical} ({plain(value.low)} to {plain(value.high)}{unit})"


def _belief(weight: float, sigmas: float) -> str:
    words = "believed" if weight >= 0.8 else "in part" if weight >= 0.3 else "hardly believed"
    share = "" if weight >= 0.8 else f" ({plain(100.0 * weight)} %)"
    return f"{words}{share}, {plain(sigmas)} σ off"
