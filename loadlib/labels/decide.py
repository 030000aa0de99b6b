"""Figures -> the facts of a label, by the conventions of plates."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from loadlib.labels.bind import Figure
from loadlib.labels.rating import LabelPart
from loadlib.labels.supply import Supply, find_supply

__all__ = ["STANDARD_AMPS", "Reading", "decide"]

STANDARD_AMPS = frozenset(
    {15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200}
)
"""Standard ratings of fuses and breakers from 15 A up (NEC 240.6(A), from memory). [A]"""

KW_PER_HP = 0.7457
_PERIODS = {"year": 1.0, "month": 12.0, "week": 52.0, "day": 365.0}
_NAMED = ("rla", "lra", "fla", "sfa", "mca", "mocp")
_NOT_LOAD = frozenset({"equiv", "bound"})


@dataclass(slots=True)
class Reading:
    """A label being read: main facts by name, further parts, doubts."""

    facts: dict[str, Any] = field(default_factory=dict)
    parts: list[LabelPart] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    ask: bool = False
    supply: Supply = field(default_factory=Supply)
    pairs: dict[float, dict[str, float]] = field(default_factory=dict)
    energy_without_period: bool = False
    ask_value: bool = False
    """A figure was printed that only the person can place."""

    def doubt(self, text: str, ask: bool = False) -> None:
        """Note a doubt once."""
        if text not in self.doubts:
            self.doubts.append(text)
        self.ask = self.ask or ask


def decide(figures: list[Figure], tags: set[str]) -> Reading:
    """The facts; ``tags`` are words of the whole text that matter (motor, pump, rpm...)."""
    reading = Reading()
    figures = [figure for figure in figures if not _set_aside(figure, reading)]
    main = [figure for figure in figures if figure.side == "main" and not figure.circuit]
    _counts_of_things(main)
    _simple_facts(main, reading)
    volts, main = _volts_and_limits(main, reading)
    counts = _value_counts(main)
    reading.supply = find_supply(volts, counts, reading.facts.get("phases"))
    _note_supply(volts, reading)
    linked = _linked_pairs(main, volts, reading)
    main = [figure for figure in main if figure not in linked or "total" in figure.keys]
    _bare_columns(main, reading)
    _currents(main, reading)
    _powers(main, reading, tags)
    _heat(main, reading)
    _energy(main, reading)
    _voltage_parts(reading)
    _other_sides(figures, reading)
    _other_circuits(figures, reading)
    _motor_power(figures, reading, tags)
    _only_parts(reading)
    return reading


def _set_aside(figure: Figure, reading: Reading) -> bool:
    """Bounds, equivalents and numbers that can't be decided are no facts."""
    written = " ".join(number.text for number in figure.group.numbers)
    if any(number.unclear for number in figure.group.numbers) and _point_matters(figure):
        reading.doubt(f"{written}: a decimal point or a thousands mark?", ask=True)
        reading.ask_value = True
        return True
    if figure.slip:
        reading.doubt("watts per hour is a slip: read as watts", ask=True)
    if "mocp" in figure.tags or not figure.keys & _NOT_LOAD:
        return False
    if "bound" in figure.keys:
        reading.doubt(f"{written} is a bound, not the figure itself", ask=True)
        _add(reading, figure, "bound")
    elif figure.dim == "W":
        _add(reading, figure, "equivalent")
    return True


def _point_matters(figure: Figure) -> bool:
    """1.000 W may be 1 or 1000; 1.725 kW and 2.125 A can only be one of them."""
    number = next(n for n in figure.group.numbers if n.unclear)
    zeros = number.text.endswith(".000")
    if figure.dim in {"W", "BTU", "VA"} and figure.values[0] < 1000.0:
        return True
    return zeros and figure.dim in {"W", "BTU", "VA", "A", "HP", "KWH", "RPM"}


def _add(reading: Reading, figure: Figure, role: str, name: str | None = None) -> None:
    """A further rating, joined to one of the same role and name where there is one."""
    key = _attribute(figure)
    if key is None:
        return
    for value in figure.values[:1] if role != "dc" else figure.values:
        _join(reading, role, name, key, value)


def _join(reading: Reading, role: str, name: str | None, key: str, value: float) -> None:
    for at, part in enumerate(reading.parts):
        if (part.role, part.name) == (role, name) and getattr(part, key) is None:
            values = {field_: getattr(part, field_) for field_ in _FIELDS} | {key: value}
            reading.parts[at] = LabelPart(role, name, **values)
            return
    reading.parts.append(LabelPart(role, name, **{key: value}))


_FIELDS = (
    "volts", "amps", "watts", "va", "hp", "rla", "lra", "fla", "sfa", "mca", "mocp", "btu_h", "eer"
)  # fmt: skip


def _attribute(figure: Figure) -> str | None:
    if figure.dim == "A":
        return next((name for name in _NAMED if name in figure.tags), "amps")
    if figure.dim == "RATIO" and "eer" in figure.keys:
        return "eer"
    return {
        "V": "volts", "W": "watts", "VA": "va", "HP": "hp", "BTU": "btu_h", "TON": "btu_h"
    }.get(figure.dim)  # fmt: skip


def _counts_of_things(figures: list[Figure]) -> None:
    """'60 W x 4' and 'FOUR 40 W LAMPS': the count goes to the figure it counts."""
    for at, figure in enumerate(figures):
        if figure.dim == "COUNT" or (not figure.dim and not figure.keys):
            for neighbour in (figures[at - 1] if at else None, *figures[at + 1 : at + 2]):
                if neighbour is not None and _is_counted(figure, neighbour, neighbour is not None):
                    neighbour.group.count = figure.values[0]
                    figure.dim = "COUNT"
                    break


def _is_counted(count: Figure, figure: Figure, near: bool) -> bool:
    whole = len(count.values) == 1 and count.values[0].is_integer() and count.values[0] <= 100
    if not (near and whole and figure.dim == "W" and figure.group.count is None):
        return False
    before = count.index < figure.index
    plural = bool(figure.keys & {"each", "element", "light", "simultaneous", "nonsimultaneous"})
    if before:
        return plural and (count.group.numbers[0].text.isalpha() or "each" in figure.keys
                           or "light" in count.keys | figure.keys)
    return count.gap_before == "x"


def _simple_facts(main: list[Figure], reading: Reading) -> None:
    facts = reading.facts
    for figure in main:
        value = figure.values[0]
        if figure.dim == "HZ" and "hz" not in facts:
            facts["hz"] = value if len(set(figure.values)) == 1 else figure.values
        elif figure.dim == "PH" and value in {1.0, 3.0}:
            facts.setdefault("phases", int(value))
        elif figure.dim == "RATIO":
            _ratio(figure, value, reading)
        elif figure.dim == "HP" and figure.keys & {"total_hp"}:
            _add(reading, figure, "part", "total hp")


def _ratio(figure: Figure, value: float, reading: Reading) -> None:
    facts, keys = reading.facts, figure.keys
    names = [atom.key for atom in figure.atoms if atom.kind == "name"]
    if "eer" in keys and (not keys & {"season"} or names[0] == "eer"):
        return
    if "pf" in keys:
        value = value / 100.0 if value > 1.5 else value
        if 0.0 < value <= 1.0:
            facts.setdefault("power_factor", value)
    elif "eff" in keys:
        value = value / 100.0 if value > 1.5 else value
        if 0.0 < value <= 1.0:
            facts.setdefault("efficiency", value)
    elif "sf" in keys and 1.0 <= value <= 2.0:
        facts.setdefault("service_factor", value)


def _volts_and_limits(
    main: list[Figure], reading: Reading
) -> tuple[list[Figure], list[Figure]]:
    """Voltage figures, and the rest without permitted supply limits (MAX 253 MIN 187)."""
    volts = [f for f in main if f.dim == "V" and not f.keys & {"max", "min"}]
    rated = [value for figure in volts for value in figure.values]
    if not rated:
        volts = [f for f in main if f.dim == "V"]
        rated = [value for figure in volts for value in figure.values]
    rest = [f for f in main if f not in volts and f.dim != "V"]
    kept = [f for f in rest if not (f.keys & {"max", "min"} and _is_limit(f, rated))]
    if not volts:
        nominal = next((f for f in kept if _is_nominal(f)), None)
        loads = any(f.dim for f in kept) or len(kept) > 1
        if nominal is not None and loads:
            nominal.dim = "V"
            volts = [nominal]
            kept = [f for f in kept if f is not nominal]
            reading.doubt(f"{nominal.values[0]:g} has no unit: taken as volts")
    return volts, kept


def _is_limit(figure: Figure, rated: list[float]) -> bool:
    near = any(0.75 * volts <= figure.values[0] <= 1.3 * volts for volts in rated)
    return near and (not figure.dim or figure.unit_text == "V") and not figure.tags


def _is_nominal(figure: Figure) -> bool:
    nominal = {110.0, 115.0, 120.0, 127.0, 208.0, 220.0, 230.0, 240.0}
    return not figure.dim and not figure.keys and set(figure.values) <= nominal


def _value_counts(main: list[Figure]) -> set[int]:
    """How many values the loads have, within one figure or as one figure a voltage."""
    loads = [f for f in main if f.dim in {"A", "W", "VA", "HP", "BTU", "TON"} and not f.part]
    counts = {len(figure.values) for figure in loads if len(figure.values) > 1}
    for dim in ("A", "W", "VA"):
        single = [f for f in loads if f.dim == dim and not f.mode and "mocp" not in f.tags]
        names = [frozenset(f.tags) for f in single]
        for name in set(names):
            if names.count(name) > 1:
                counts.add(names.count(name))
    return counts


def _note_supply(volts: list[Figure], reading: Reading) -> None:
    supply = reading.supply
    reading.facts["volts"] = supply.volts
    reading.facts["volts_printed"] = tuple(sorted(set(supply.printed)))
    if supply.doubt:
        reading.doubt(supply.doubt, ask=supply.ask)
    elif len(supply.printed) > 1 and supply.volts is not None:
        reading.doubt(f"{supply.volts:g} V is taken, the higher of those printed")


def _linked_pairs(main: list[Figure], volts: list[Figure], reading: Reading) -> list[Figure]:
    """'5500 W @ 240 V, 4125 @ 208 V': figures tied to one voltage by the text itself."""
    tied = {f.index: f for f in main if f.dim in {"W", "A", "VA"}}
    linked: list[Figure] = []
    for supply in volts:
        figure = tied.get(supply.index - 1) if supply.group.linked else None
        key = _attribute(figure) if figure is not None else None
        if figure is not None and key is not None:
            reading.pairs.setdefault(supply.values[0], {})[key] = figure.values[0]
            linked.append(figure)
    if len(reading.pairs) < 2:
        reading.pairs.clear()
        return []
    return linked


def _bare_columns(main: list[Figure], reading: Reading) -> None:
    """Numbers without any unit behind volts - hertz - phase, or behind a lone voltage."""
    bare = [f for f in main if not f.dim and not f.keys and len(f.values) == 1]
    named = [f for f in main if f.dim in {"A", "W", "HP", "VA"}]
    facts = reading.facts
    if "hz" in facts and "phases" in facts and len(bare) == 3 and not named:
        names = ("amps", "mca", "mocp")
        reading.doubt("bare columns read as amps, minimum ampacity, maximum fuse")
    elif len(bare) == 1 and not named and facts.get("volts") is not None:
        names = ("amps",)
        reading.doubt(f"{bare[0].values[0]:g} has no unit: taken as amps")
    else:
        return _minimum_and_maximum(main, reading)
    for figure, name in zip(bare, names, strict=False):
        figure.dim = "A"
        figure.tags.add(name)
    return None


def _minimum_and_maximum(main: list[Figure], reading: Reading) -> None:
    """'MCA 58 MAX 60', 'MINIMUM 21 MAXIMUM 35': ampacity and breaker."""
    low = [f for f in main if "min" in f.keys and f.dim in {"", "A"} and "mca" not in f.tags]
    high = [f for f in main if "max" in f.keys and not f.tags & {"mocp"} and f.dim in {"", "A"}]
    mca = any("mca" in f.tags for f in main)
    mocp = any("mocp" in f.tags for f in main)
    if low and (high or mocp) and not mca:
        _retag(low[0], "mca")
        mca = True
    if high and not mocp and mca and high[0].values[0] in STANDARD_AMPS:
        _retag(high[0], "mocp")


def _retag(figure: Figure, name: str) -> None:
    figure.dim = "A"
    figure.tags.discard("amps")
    figure.tags.add(name)


def _currents(main: list[Figure], reading: Reading) -> None:
    amps = [f for f in main if f.dim == "A"]
    for name in _NAMED:
        _named_current(name, [f for f in amps if name in f.tags], reading)
    for figure in amps:
        if "peak" in figure.tags:
            reading.doubt("a peak current may be a start: is it one?", ask=True)
            _add(reading, figure, "peak")
        elif "circuit" in figure.tags:
            reading.facts.setdefault("circuit_a", figure.values[0])
    plain = [f for f in amps if "amps" in f.tags]
    _choose("amps", plain, reading)


def _named_current(name: str, figures: list[Figure], reading: Reading) -> None:
    with_option = [f for f in figures if "option" in f.keys and "without" not in f.keys]
    for figure in with_option:
        _add(reading, figure, "option", "soft starter")
    figures = [f for f in figures if f not in with_option]
    if len(figures) < 2 or name == "fla":
        _choose(name, figures, reading, keep_parts=True)
        return
    largest = max(figures, key=lambda f: max(f.values))
    _choose(name, [largest], reading, keep_parts=True)
    for figure in figures:
        if figure is not largest and figure.values != largest.values:
            _add(reading, figure, "part", figure.part or "second motor")


def _choose(
    key: str, figures: list[Figure], reading: Reading, *, keep_parts: bool = False
) -> None:
    """The figure of the whole into the facts, parts and other modes beside it."""
    whole = [f for f in figures if not (f.part and not keep_parts)]
    for figure in figures:
        if figure not in whole:
            _add(reading, figure, "part", figure.part)
    chosen = _rank(whole)
    for figure in whole:
        if figure not in chosen and figure.values != (chosen[0].values if chosen else ()):
            role = "mode" if figure.mode else "part"
            _add(reading, figure, role, figure.mode or figure.part or "further figure")
    if not chosen:
        return
    value = _value(key, chosen, reading)
    if value is not None:
        reading.facts[key] = value


def _rank(figures: list[Figure]) -> list[Figure]:
    """The figures that stand for the whole: total, input, maximum, unnamed, first mode."""
    tests = (
        lambda f: "total" in f.keys,
        lambda f: "input" in f.keys and not f.mode,
        lambda f: not f.mode and "without" in f.keys,
        lambda f: not f.mode and "option" not in f.keys and "rated" not in f.keys - _if_alone(figures),
        lambda f: not f.mode and "option" not in f.keys,
        lambda f: f.mode == "run",
        lambda f: f.mode == "high",
    )
    for test in tests:
        found = [figure for figure in figures if test(figure)]
        if found:
            return found
    modes = [f for f in figures if f.mode not in {"standby", "defrost", "ignition", None}]
    return modes[:1]


def _if_alone(figures: list[Figure]) -> set[str]:
    return {"rated"} if not any("max" in f.keys for f in figures) else set()


def _value(key: str, chosen: list[Figure], reading: Reading) -> float | None:
    """One value out of pairs, ranges and repeats."""
    supply = reading.supply
    if len(chosen) > 1 and all(len(f.values) == 1 for f in chosen):
        values = [f.values[0] for f in chosen]
        if supply.separate < 2 or len(values) != supply.separate:
            return _largest(key, values, reading)
    else:
        values = list(max(chosen, key=lambda f: len(f.values)).values)
    picked = supply.pick(values)
    if picked is not None:
        for volts, value in supply.others(values):
            reading.pairs.setdefault(volts, {})[key] = value
        return picked
    return _largest(key, values, reading)


def _largest(key: str, values: list[float], reading: Reading) -> float:
    top = max(values)
    different = [value for value in values if abs(value - top) > 0.02 * top]
    if different:
        reading.doubt(f"several figures for {key}: the largest is taken")
        for value in different:
            _join(reading, "mode", "lower figure", key, value)
    return top


def _powers(main: list[Figure], reading: Reading, tags: set[str]) -> None:
    watts = [f for f in main if f.dim == "W"]
    total = any("total" in f.keys for f in watts)
    kept = []
    for figure in watts:
        if "nonsimultaneous" in tags and figure.group.count:
            figure.group.count = None
        if figure.group.count and not total:
            if "max" in figure.keys:
                _lamp_limit(figure, reading)
                continue
            count = figure.group.count
            figure.part = None if figure.part in {"light", "element"} else figure.part
            figure.values = tuple(value * count for value in figure.values)
            reading.doubt(f"{count:g} pieces counted together")
        elif "max" in figure.keys and "bulb" in tags:
            _lamp_limit(figure, reading)
            continue
        if figure.keys & {"peak", "start"}:
            reading.doubt("a starting or peak power is no running power")
            _add(reading, figure, "peak")
            continue
        if _is_capacity(figure, watts, main):
            _add(reading, figure, "capacity", figure.mode)
            reading.doubt("a cooling or heating capacity is no electrical power")
            continue
        kept.append(figure)
    _area(main, kept, reading)
    _choose("watts", kept, reading)
    _choose("va", [f for f in main if f.dim == "VA"], reading)
    _horsepower([f for f in main if f.dim == "HP"], reading)


def _lamp_limit(figure: Figure, reading: Reading) -> None:
    count = figure.group.count or 1.0
    reading.doubt(f"lamp-holder limit: at most {count * figure.values[0]:g} W", ask=True)
    _join(reading, "bound", "lamp holders", "watts", count * figure.values[0])


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
            _add(reading, figure, "part", "total hp")
        elif "peak" in figure.keys:
            reading.doubt("peak horsepower is advertising: not taken", ask="amps" not in reading.facts)
        elif figure.part in {"fan", "blower", "inducer", "pump", "compressor"}:
            _add(reading, figure, "part", figure.part)
        else:
            figure.part = None
            kept.append(figure)
    _choose("hp", kept, reading)


def _heat(main: list[Figure], reading: Reading) -> None:
    printed = [f for f in main if f.dim == "BTU" and "KCAL" not in f.unit_text]
    converted = [f for f in main if f.dim == "BTU" and "KCAL" in f.unit_text]
    tons = [f for f in main if f.dim == "TON"]
    for figures in (printed, tons, converted):
        for figure in figures:
            figure.part = None
            figure.mode = None if figure.mode in {"run"} else figure.mode
        if figures and "btu_h" not in reading.facts:
            _choose("btu_h", figures, reading)
    if "btu_h" in reading.facts:
        reading.facts["btu_h"] = float(round(reading.facts["btu_h"], 1))
    eer = [f for f in main if f.dim == "RATIO" and "eer" in f.keys]
    eer = [f for f in eer if "season" not in f.keys or len(f.values) > 1]
    if eer:
        values = eer[0].values if "season" not in eer[0].keys else eer[0].values[:1]
        picked = reading.supply.pick(list(values))
        reading.facts["eer"] = picked if picked is not None else values[0]
        for volts, value in reading.supply.others(list(values)):
            reading.pairs.setdefault(volts, {})["eer"] = value


def _energy(main: list[Figure], reading: Reading) -> None:
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
            _join(reading, "mode", "kWh per 1000 h", "watts", value)
            reading.doubt("kWh per 1000 hours: how many hours a year?", ask=True)
        else:
            reading.energy_without_period = True
            reading.doubt("kWh without a period is no power", ask=True)


def _voltage_parts(reading: Reading) -> None:
    chosen = reading.facts.get("volts")
    for volts, values in reading.pairs.items():
        if volts == chosen:
            for key, value in values.items():
                reading.facts.setdefault(key, value)
        else:
            reading.parts.append(LabelPart("voltage", None, volts, **values))


def _other_sides(figures: list[Figure], reading: Reading) -> None:
    """Outputs and direct current."""
    for role in ("output", "dc"):
        side = [f for f in figures if f.side == role]
        volts = [value for f in side if f.dim == "V" for value in f.values]
        amps = [value for f in side if f.dim == "A" for value in f.values]
        if len(volts) > 1 and len(volts) == len(amps):
            for pair in zip(volts, amps, strict=True):
                reading.parts.append(LabelPart(role, None, volts=pair[0], amps=pair[1]))
            side = [f for f in side if f.dim not in {"V", "A"}]
        for figure in side:
            _add(reading, figure, role)


def _other_circuits(figures: list[Figure], reading: Reading) -> None:
    for figure in figures:
        if figure.circuit:
            if not figure.dim and "max" in figure.keys and figure.values[0] in STANDARD_AMPS:
                _retag(figure, "mocp")
            _add(reading, figure, "circuit", figure.circuit)


def _motor_power(figures: list[Figure], reading: Reading, tags: set[str]) -> None:
    """kW on a motor plate is shaft power: hp, not watts."""
    facts = reading.facts
    shaft = next((f for f in figures if f.side == "shaft" and f.dim == "W"), None)
    if shaft is not None:
        facts.setdefault("hp", shaft.values[0] / 1000.0 / KW_PER_HP)
        _add(reading, shaft, "shaft")
        return
    watts, volts, amps = facts.get("watts"), facts.get("volts"), facts.get("amps") or facts.get("fla")
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
        _join(reading, "shaft", None, "watts", watts)
        reading.doubt("kW on a motor plate is shaft power, not input")


def _is_motor_plate(facts: dict[str, Any], tags: set[str], kilowatts: bool) -> bool:
    motor = bool(tags & {"motor", "pump", "rpm"})
    if "efficiency" in facts:
        return True
    if "phase sign" in tags:
        return kilowatts or motor
    return kilowatts and motor and ("phases" in facts or "power_factor" in facts)


def _only_parts(reading: Reading) -> None:
    """Parts with power or current, but no figure of the whole."""
    parts = [p for p in reading.parts if p.role == "part" and (p.watts or p.amps)]
    whole = any(key in reading.facts for key in ("amps", "watts", "va", "rla", "fla", "sfa"))
    if len(parts) > 1 and not whole:
        reading.doubt("only parts are stated, not the whole", ask=True)
