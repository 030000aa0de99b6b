"""Rows of the catalog as text and JSON for ``loadlib lookup``."""

from __future__ import annotations

import sqlite3
import textwrap
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from loadlib.errors import InputError, NotFound
from loadlib.store.catalog_rows import CategoryRow, ValueRow, all_names, rows_for
from loadlib.store.search import near_names, search

WIDTH = 45
"""The compact answer fits a phone's terminal."""

HEADERS = ("category", "name", "V", "running W", "start", "kWh/year")

BASIS = {
    "": "running",
    "none": "running",
    "running_w": "running W",
    "running_w_metered": "metered running W",
    "running_a": "running A",
    "full_load_a": "full-load A",
    "rated_load_a": "rated-load A",
}

OBTAINED = {
    "read_in_source": "read",
    "cross_checked_by_two_pages": "read twice",
    "measured_from_dataset": "measured",
    "derived_from_rule": "by rule",
    "from_memory": "from memory",
    "entered_by_user": "your own",
}


class Found(NamedTuple):
    """Rows, best first, and remarks on how the words were read."""

    rows: list[CategoryRow]
    remarks: list[str]


def find(connection: sqlite3.Connection, words: str, everything: bool, most: int) -> Found:
    """The rows that are asked for; NotFound with near names when there are none."""
    if everything:
        names = all_names(connection)
        return Found(list(rows_for(connection, names).values()), [])
    if not words.strip():
        raise InputError("no words given", hint='Say what it is, e.g.: loadlib lookup "well pump"')
    found = search(connection, words, most)
    if not found.hits:
        near = tuple(near_names(connection, words))
        hint = None if near else "See them all: loadlib lookup --all"
        raise NotFound("appliance", words, near=near, hint=hint)
    remarks = [f'"{word}" taken as "{other}"' for word, other in found.taken_as.items()]
    remarks += [f'"{word}" is not known here and was left out' for word in found.left_out]
    names = [hit.category for hit in found.hits]
    return Found(list(rows_for(connection, names).values()), remarks)


def number(value: float) -> str:
    """Three figures, thousands apart, no trailing zeros."""
    if abs(value) >= 100.0:
        return f"{value:,.0f}"
    return f"{value:.3g}"


def span(row: ValueRow, scale: float = 1.0) -> str:
    """``low - typical - high``, or one number when it is exact."""
    points = [number(x * scale) for x in (row.low, row.typical, row.high)]
    return points[0] if points[0] == points[2] else " - ".join(points)


def compact_lines(rows: Sequence[CategoryRow]) -> Iterator[str]:
    """The first row in a few lines, the others by their keys; at most ``WIDTH`` wide."""
    row, *others = rows
    poles = f", {row.poles} poles" if row.poles > 1 else ""
    yield from _wrapped(row.name)
    yield from _wrapped(f"{row.category}, {row.voltage_v:g} V{poles}")
    for heading, text in _facts(row):
        yield from _wrapped(text, heading)
    yield from _wrapped("low - typical - high (5, 50, 95 % points)")
    if row.note:
        yield from _wrapped(row.note)
    if others:
        yield from _wrapped(", ".join(other.category for other in others), "also")


def _facts(row: CategoryRow) -> Iterator[tuple[str, str]]:
    values = row.values
    running, start, energy = (values[q] for q in ("running_w", "start_multiplier", "annual_kwh"))
    yield "running", f"{span(running)} W ({how(running)})"
    yield "start", f"{start_words(start, values['start_s'])} ({how(start)})"
    yield "pf", span(values["power_factor"])
    yield "on", f"{span(values['duty_share'], 100.0)} % of the time"
    yield "standby", f"{span(values['standby_w'])} W"
    yield "a year", f"{span(energy)} kWh ({how(energy)})"


def how(value: ValueRow) -> str:
    """How the value was obtained, in a word or two."""
    return OBTAINED.get(value.obtained, value.obtained.replace("_", " "))


def start_words(multiplier: ValueRow, start_s: ValueRow) -> str:
    """The start as a multiple of what it is a multiple of."""
    if multiplier.low == multiplier.high == 1.0:
        return "no surge"
    basis = BASIS.get(multiplier.basis, multiplier.basis.replace("_", " "))
    seconds = "" if start_s.high == 0.0 else f" for {span(start_s)} s"
    return f"{span(multiplier)} x {basis}{seconds}"


def _wrapped(text: str, heading: str = "") -> list[str]:
    first = f"{heading:<8}" if heading else ""
    rest = " " * 8 if heading else ""
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest) or [""]


def detail_lines(row: CategoryRow, width: int) -> Iterator[str]:
    """Every value with range, basis, conditions and source."""
    width = max(WIDTH, min(width, 100))
    yield from textwrap.wrap(f"{row.name} ({row.category})", width)
    kind = f"{row.group}, {row.kind}, {row.voltage_v:g} V, poles: {row.poles}"
    yield kind + (", thermostatic" if row.thermostatic else "")
    if row.aliases:
        yield from textwrap.wrap("also called: " + ", ".join(row.aliases), width)
    for value in row.values.values():
        yield ""
        yield from _detail(value, row.shipped.get(value.quantity), width)
    if row.note:
        yield ""
        yield from textwrap.wrap(row.note, width)


def _detail(value: ValueRow, hidden: ValueRow | None, width: int) -> Iterator[str]:
    unit = "" if value.unit == "1" else f" {value.unit}"
    basis = f" ({BASIS.get(value.basis, value.basis)})" if value.basis not in ("", "none") else ""
    yield f"{value.quantity}: {span(value)}{unit}{basis}"
    # The citation of a remembered value says so already.
    citation = value.citation.removeprefix("From memory: ")
    for text in (value.conditions, f"{how(value)}: {citation}", value.note):
        yield from textwrap.wrap(text, width, initial_indent="  ", subsequent_indent="  ")
    if hidden:
        yield f"  shipped: {span(hidden)}{unit}"


def table_row(row: CategoryRow) -> tuple[str, ...]:
    """One line of the table of all categories."""
    values = row.values
    return (
        row.category,
        row.name,
        f"{row.voltage_v:g}",
        span(values["running_w"]),
        span(values["start_multiplier"]),
        span(values["annual_kwh"]),
    )


def _range(row: ValueRow) -> dict[str, float]:
    return {"low": row.low, "typical": row.typical, "high": row.high}


def json_of(row: CategoryRow, *, details: bool) -> dict[str, Any]:
    """One category for other programs; units stand in the keys."""
    values = row.values
    found = {
        "category": row.category,
        "name": row.name,
        "group": row.group,
        "kind": row.kind,
        "thermostatic": row.thermostatic,
        "medical": row.medical,
        "voltage_v": row.voltage_v,
        "poles": row.poles,
        "running_w": _range(values["running_w"]),
        "power_factor": _range(values["power_factor"]),
        "start_multiplier": _range(values["start_multiplier"]),
        "start_basis": values["start_multiplier"].basis,
        "start_s": _range(values["start_s"]),
        "duty_cycle": _range(values["duty_share"]),
        "on_min": _range(values["on_min"]),
        "cycles_per_day": _range(values["cycles_per_day"]),
        "standby_w": _range(values["standby_w"]),
        "annual_kwh": _range(values["annual_kwh"]),
        "label_share": _range(values["label_share"]),
        "label_rule": row.label_rule,
        "aliases": list(row.aliases),
        "sources": list(dict.fromkeys(value.citation for value in values.values())),
        "note": row.note,
    }
    if details:
        found["values"] = [value._asdict() for value in values.values()]
    return found
