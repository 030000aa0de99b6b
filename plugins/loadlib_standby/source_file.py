"""The source file: TOML with ``format = "loadlib-source"``.

Tables: ``[generator]`` with two ``[[generator.fuel_use]]`` points, ``[battery]``, ``[cord]``,
``[inlet]``, ``[panel_breaker]``, ``[transfer]``, ``[[outlet]]``, ``[site]``. Lengths in ft or
m, temperatures in °F or °C, tanks in gal or L. Examples lie in ``seed_data/examples``.
"""

from __future__ import annotations

from pathlib import Path

from loadlib_standby.derate import DEFAULT_RULE, GAS_SHARES, rules
from loadlib_standby.engine import DataError, InputError
from loadlib_standby.fuel import FuelLine
from loadlib_standby.source import (
    NEUTRALS,
    SUPPLIES,
    Battery,
    Cord,
    Generator,
    Outlet,
    Site,
    Source,
    refuse_connection,
)
from loadlib_standby.tables import table
from loadlib_standby.toml_file import Section, read_toml

__all__ = ["FT_PER_M", "read_source"]

FT_PER_M = 1.0 / 0.3048


def read_source(path: str | Path) -> Source:
    """Read a source file.

    Raises DataError naming file, line and key for anything missing, unknown or impossible.
    """
    top = read_toml(Path(path), "loadlib-source")
    connection = top.text_of("connection", "interlock")
    try:
        refuse_connection(connection)
    except InputError as error:
        raise top.error("connection", error.message, error.hint) from None
    transfer = top.section("transfer")
    circuits = transfer.texts("circuits") if transfer else ()
    _finish(transfer)
    parts = {
        "generator": _generator(top.section("generator")),
        "battery": _battery(top.section("battery")),
        "cord": _cord(top.section("cord")),
        "inlet_a": _rating(top.section("inlet")),
        "panel_breaker_a": _rating(top.section("panel_breaker")),
        "outlets": tuple(_outlet(part) for part in top.sections("outlet")),
        "site": _site(top.section("site")),
    }
    name = top.text_of("name", Path(path).stem)
    top.done()
    try:
        return Source(name=name, connection=connection, circuits=circuits, **parts)  # type: ignore[arg-type]  # the dict is made just above
    except InputError as error:
        raise DataError(error.message, path=str(path), hint=error.hint) from None


def _generator(part: Section | None) -> Generator | None:
    if part is None:
        return None
    running_w = part.needed("running_w", most=1e6)
    unit = "L" if part.raw("tank_l") is not None else "gal"
    found = {
        "starting_w": _starting(part, running_w),
        "starting_s": part.number("starting_s", 5.0, above=0.0),
        "supply": part.text_of("supply", "120/240", tuple(SUPPLIES)),
        "leg_a": part.number("leg_a", above=0.0),
        "breaker_a": part.number("breaker_a", above=0.0),
        "outlet": _configuration(part),
        "neutral": part.text_of("neutral", "unknown", NEUTRALS),
        "fuel": part.text_of("fuel", "gasoline", tuple(GAS_SHARES)),
        "fuel_is_rated": part.text_of("rated_on", "this fuel", ("this fuel", "gasoline"))
        == "this fuel",
        "tank": part.number("tank_l" if unit == "L" else "tank_gal", above=0.0),
        "usable_share": part.number("usable_share", 0.95, above=0.0, most=1.0),
        "rule": part.text_of("derating", DEFAULT_RULE, tuple(rules())),
    }
    line = _fuel_line(part, unit)
    part.done()
    return Generator(running_w=running_w, tank_unit=unit, line=line, **found)  # type: ignore[arg-type]  # checked key by key above


def _starting(part: Section, running_w: float) -> float:
    starting_w = part.number("starting_w", running_w, above=0.0, most=1e6)
    assert starting_w is not None  # there is a default
    if starting_w < running_w:
        raise part.error(
            "starting_w",
            f"{starting_w:g} W is below running_w {running_w:g} W",
            "Were the two swapped? If no starting rating is known, leave it out.",
        )
    return starting_w


def _fuel_line(part: Section, unit: str) -> FuelLine | None:
    rate_key = "rate_l_per_h" if unit == "L" else "rate_gal_per_h"
    points = []
    for point in part.sections("fuel_use"):
        points.append((point.needed("load_w", above=-1.0), point.needed(rate_key)))
        point.done()
    if not points:
        return None
    try:
        return FuelLine.through(points, unit)
    except InputError as error:
        raise part.error("fuel_use", error.message, error.hint) from None


def _battery(part: Section | None) -> Battery | None:
    if part is None:
        return None
    running_w = part.needed("running_w", most=1e6)
    found = {
        "starting_w": _starting(part, running_w),
        "capacity_kwh": part.needed("capacity_kwh", most=1e5),
        "starting_s": part.number("starting_s", 5.0, above=0.0),
        "supply": part.text_of("supply", "120/240", tuple(SUPPLIES)),
        "leg_a": part.number("leg_a", above=0.0),
        "usable_share": part.number("usable_share", 0.9, above=0.0, most=1.0),
        "efficiency": part.number("efficiency", 0.9, above=0.0, most=1.0),
        "idle_w": part.number("idle_w", 0.0, least=0.0),
        "charge_w": part.number("charge_w", above=0.0),
        "outlet": _configuration(part),
        "neutral": part.text_of("neutral", "unknown", NEUTRALS),
    }
    part.done()
    return Battery(running_w=running_w, **found)  # type: ignore[arg-type]  # checked key by key above


def _configuration(part: Section) -> str:
    return part.text_of("outlet", "", ("", *(row["configuration"] for row in table("receptacles"))))


def _cord(part: Section | None) -> Cord | None:
    if part is None:
        return None
    gauge = part.raw("gauge")
    known = tuple(row["awg"] for row in table("cord_ampacity"))
    if str(gauge) not in known:
        raise part.error("gauge", f"{gauge!r} is unknown", "One of: " + ", ".join(known) + ".")
    conductors = part.number("conductors", 4.0, least=2.0, most=5.0)
    cord = Cord(str(gauge), _length_ft(part), int(conductors or 4), part.text_of("type"))
    part.done()
    return cord


def _length_ft(part: Section) -> float:
    metres = part.number("length_m", above=0.0, most=1000.0)
    return metres * FT_PER_M if metres is not None else part.needed("length_ft", most=3000.0)


def _rating(part: Section | None) -> float | None:
    if part is None:
        return None
    rating_a = part.needed("rating_a", most=1000.0)
    part.done()
    return rating_a


def _outlet(part: Section) -> Outlet:
    rating_a = part.needed("rating_a", most=1000.0)
    volts_v = part.number("volts_v", 120.0, above=0.0, most=500.0)
    outlet = Outlet(
        part.text_of("name", "outlet"),
        rating_a,
        volts_v or 120.0,
        _cord(part.section("cord")),
        part.texts("loads"),
    )
    part.done()
    return outlet


def _site(part: Section | None) -> Site:
    if part is None:
        return Site()
    metres = part.number("altitude_m", least=-500.0, most=6000.0)
    feet = part.number("altitude_ft", 0.0, least=-1500.0, most=20000.0)
    celsius = part.number("outdoor_c", least=-70.0, most=60.0)
    fahrenheit = part.number("outdoor_f", 60.0, least=-90.0, most=140.0)
    part.done()
    return Site(
        metres * FT_PER_M if metres is not None else feet or 0.0,
        celsius * 1.8 + 32.0 if celsius is not None else 60.0 if fahrenheit is None else fahrenheit,
    )


def _finish(part: Section | None) -> None:
    if part is not None:
        part.done()
