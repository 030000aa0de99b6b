"""Watts, VA, horsepower, heat and energy of a label."""

from __future__ import annotations

from typing import Any

from loadlib.labels.bind import Figure
from loadlib.labels.reading import Reading, add, choose, join

__all__ = ["energy", "heat", "motor_power", "powers"]

KW_PER_HP = 0.7457
_PERIODS = {"year": 1.0, "month": 12.0, "week": 52.0, "day": 365.0}


def powers(main: list[Figure], reading: Reading, tags: set[str]) -> None:
    watts = [f for f in main if f.dim == "W"]
    _count_pieces(watts, reading, tags)
    kept = [f for f in watts if not _is_no_input(f, watts, main, reading, tags)]
    _area(main, kept, reading)
    choose("watts", kept, reading)
    choose("va", [f for f in main if f.dim == "VA"], reading)
    _horsepower([f for f in main if f.dim == "HP"], reading)


def _count_pieces(watts: list[Figure], reading: Reading, tags: set[str]) -> None:
    """'4 x 60 W' is 240 W, unless only one at a time is on."""
    total = any("total" in f.keys for f in watts)
    parts = {f.part for f in watts if f.part}
    for figure in watts:
        if figure.part == "element" and "nonsimultaneous" in tags and not total:
            figure.part = None
            reading.doubt("one element at a time: the watts of one are taken")
        elif figure.group.count and "max" not in figure.keys:
            count = figure.group.count
            figure.values = tuple(value * count for value in figure.values)
            if not total:
                reading.doubt(f"{count:g} pieces counted together", ask=figure.part == "element")
                alone = parts == {figure.part} and figure.part in {"light", "element"}
                figure.part = None if alone else figure.part


def _is_no_input(
    figure: Figure, watts: list[Figure], main: list[Figure], reading: Reading, tags: set[str]
) -> bool:
    """Lamp-holder limits, peaks and capacities are noted, and are no input power."""
    if "max" in figure.keys and (figure.group.count or "bulb" in tags):
        _lamp_limit(figure, reading)
    elif figure.keys & {"peak", "start"}:
        reading.doubt("a starting or peak power is no running power")
        add(reading, figure, "peak")
    elif _is_capacity(figure, watts, main):
        reading.doubt("a cooling or heating capacity is no electrical power")
        add(reading, figure, "capacity", figure.mode)
    else:
        return False
    return True


def _lamp_limit(figure: Figure, reading: Reading) -> None:
    count = figure.group.count or 1.0
    reading.doubt(f"lamp-holder limit: at most {count * figure.values[0]:g} W", ask=True)
    join(reading, "bound", "lamp holders", "watts", count * figure.values[0])


def _is_capacity(figure: Figure, watts: list[Figure], main: list[Figure]) -> bool:
    if "capacity" in figure.keys and "input" not in figure.keys:
        return True
    if "input" in figure.keys or figure.mode not in {"cooling", "heating"}:
        return False
    inputs = any("input" in f.keys for f in watts)
    cooling = any(f.mode == "cooling" for f in watts)
    kilowatts = figure.unit_text.startswith("K")
    heat_printed = any(f.dim in {"BTU", "TON"} for f in main)
    return inputs or (cooling and kilowatts and not heat_printed)


def _area(main: list[Figure], kept: list[Figure], reading: Reading) -> None:
    """Watts per area or length times the area or length."""
    for density, extent in (("W_SQFT", "SQFT"), ("W_SQM", "SQM"), ("W_FT", "FT"), ("W_M", "M")):
        per = next((f for f in main if f.dim == density), None)
        size = next((f for f in main if f.dim == extent), None)
        if per is not None and size is not None and not kept:
            reading.facts["watts"] = per.values[0] * size.values[0]
            reading.doubt("watts per area or length times its size")


def _horsepower(figures: list[Figure], reading: Reading) -> None:
    kept = []
    for figure in figures:
        if "total_hp" in figure.keys or "total" in figure.keys:
            add(reading, figure, "part", "total hp")
        elif "peak" in figure.keys:
            reading.doubt(
                "peak horsepower is advertising: not taken", ask="amps" not in reading.facts
            )
        elif figure.part in {"fan", "blower", "inducer", "pump", "compressor"}:
            add(reading, figure, "part", figure.part)
        else:
            figure.part = None
            kept.append(figure)
    choose("hp", kept, reading)


def heat(main: list[Figure], reading: Reading) -> None:
    printed = [f for f in main if f.dim == "BTU" and "KCAL" not in f.unit_text]
    converted = [f for f in main if f.dim == "BTU" and "KCAL" in f.unit_text]
    tons = [f for f in main if f.dim == "TON"]
    for figures in (printed, tons, converted):
        for figure in figures:
            figure.part = None
            figure.mode = None if figure.mode in {"run"} else figure.mode
        if figures and "btu_h" not in reading.facts:
            choose("btu_h", figures, reading)
    if "btu_h" in reading.facts:
        reading.facts["btu_h"] = float(round(reading.facts["btu_h"]))
    eer = [f for f in main if f.dim == "RATIO" and "eer" in f.keys]
    eer = [f for f in eer if "season" not in f.keys or len(f.values) > 1]
    if eer:
        values = eer[0].values if "season" not in eer[0].keys else eer[0].values[:1]
        picked = reading.supply.pick(list(values))
        reading.facts["eer"] = picked if picked is not None else values[0]
        for volts, value in reading.supply.others(list(values)):
            reading.pairs.setdefault(volts, {})["eer"] = value


def energy(main: list[Figure], reading: Reading) -> None:
    for figure in main:
        if figure.dim != "KWH":
            continue
        value = figure.values[0]
        period = next((atom.key for atom in figure.atoms if atom.kind == "period"), None)
        if period in _PERIODS:
            reading.facts.setdefault("kwh_per_year", value * _PERIODS[period])
            if period != "year":
                reading.doubt(f"kWh a {period}, times {_PERIODS[period]:g} for a year")
        elif period in {"cycle", "cycles100"}:
            per_cycle = value / (100.0 if period == "cycles100" else 1.0)
            reading.facts.setdefault("kwh_per_cycle", per_cycle)
            reading.doubt("kWh a cycle: how many cycles a year?", ask=True)
        elif period == "hours1000":
            join(reading, "mode", "kWh per 1000 h", "watts", value)
            reading.doubt("kWh per 1000 hours: how many hours a year?", ask=True)
        else:
            reading.energy_without_period = True
            reading.doubt("kWh without a period is no power", ask=True)


def motor_power(figures: list[Figure], reading: Reading, tags: set[str]) -> None:
    """kW on a motor plate is shaft power: hp, not watts."""
    facts = reading.facts
    shaft = next((f for f in figures if f.side == "shaft" and f.dim == "W"), None)
    if shaft is not None:
        facts.setdefault("hp", shaft.values[0] / 1000.0 / KW_PER_HP)
        add(reading, shaft, "shaft")
        return
    watts, volts, amps = (
        facts.get("watts"),
        facts.get("volts"),
        facts.get("amps") or facts.get("fla"),
    )
    if watts is None or volts is None or amps is None or "hp" in facts:
        return
    chosen = [f for f in figures if f.dim == "W" and watts in f.values]
    if any("input" in f.keys for f in chosen):
        return
    apparent = volts * amps * (1.7321 if facts.get("phases") == 3 else 1.0)
    kilowatts = any(f.unit_text.startswith("K") for f in chosen)
    if watts < 0.75 * apparent and _is_motor_plate(facts, tags, kilowatts):
        facts["hp"] = watts / 1000.0 / KW_PER_HP
        del facts["watts"]
        join(reading, "shaft", None, "watts", watts)
        reading.doubt("kW on a motor plate is shaft power, not input")


def _is_motor_plate(facts: dict[str, Any], tags: set[str], kilowatts: bool) -> bool:
    motor = bool(tags & {"motor", "pump", "rpm"})
    if "efficiency" in facts:
        return True
    if "phase sign" in tags:
        return kilowatts or motor
    return kilowatts and motor and ("phases" in facts or "power_factor" in facts)
