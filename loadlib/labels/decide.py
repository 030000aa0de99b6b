"""Figures -> the facts of a label, by the conventions of plates."""

from __future__ import annotations

from loadlib.labels.bind import Figure
from loadlib.labels.lexicon import STANDARD_AMPS
from loadlib.labels.powers import energy, heat, motor_power, powers
from loadlib.labels.rating import LabelPart
from loadlib.labels.reading import (
    NAMED,
    Reading,
    add,
    attribute,
    choose,
    retag,
)
from loadlib.labels.supply import find_supply

__all__ = ["decide"]

_NOT_LOAD = frozenset({"equiv", "replaces", "bound"})


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
    powers(main, reading, tags)
    heat(main, reading)
    energy(main, reading)
    _voltage_parts(reading)
    _other_sides(figures, reading)
    _other_circuits(figures, reading)
    motor_power(figures, reading, tags)
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
        add(reading, figure, "bound")
    elif figure.dim == "W":
        add(reading, figure, "equivalent")
    return True


def _point_matters(figure: Figure) -> bool:
    """1.000 W may be 1 or 1000; 1.725 kW and 2.125 A can only be one of them."""
    number = next(n for n in figure.group.numbers if n.unclear)
    zeros = number.text.endswith(".000")
    if figure.dim in {"W", "BTU", "VA"} and figure.values[0] < 1000.0:
        return True
    return zeros and figure.dim in {"W", "BTU", "VA", "A", "HP", "KWH", "RPM"}


def _counts_of_things(figures: list[Figure]) -> None:
    """'60 W x 4' and 'FOUR 40 W LAMPS': the count goes to the figure it counts."""
    for at, figure in enumerate(figures):
        if figure.dim != "COUNT" and (figure.dim or figure.keys):
            continue
        neighbours = [*figures[max(at - 1, 0) : at], *figures[at + 1 : at + 2]]
        counted = next((other for other in neighbours if _is_counted(figure, other)), None)
        if counted is not None:
            counted.group.count = figure.values[0]
            figure.dim = "COUNT"


def _is_counted(count: Figure, figure: Figure) -> bool:
    whole = len(count.values) == 1 and count.values[0].is_integer() and count.values[0] <= 100
    if not whole or figure.dim != "W" or figure.group.count is not None:
        return False
    if count.index > figure.index:
        return count.gap_before == "x"
    spelled = count.group.numbers[0].text.isalpha()
    if spelled and not figure.gap_before and not figure.pre:
        return True
    things = figure.keys & {"each", "element", "light", "simultaneous", "nonsimultaneous"}
    return bool(things) and (spelled or "each" in figure.keys or "light" in count.keys | things)


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


def _volts_and_limits(main: list[Figure], reading: Reading) -> tuple[list[Figure], list[Figure]]:
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
    reading.facts["volts_printed"] = tuple(sorted(set(supply.stated)))
    if supply.doubt:
        reading.doubt(supply.doubt, ask=supply.ask)
    elif len(supply.levels) > 1 and supply.volts is not None:
        names = "/".join(f"{volts:g}" for volts in sorted(supply.printed))
        reading.doubt(f"{names} V is a supply with a neutral: {supply.volts:g} V is taken")
    elif len(supply.printed) > 1 and supply.volts is not None:
        reading.doubt(f"{supply.volts:g} V is taken, the higher of those printed")


def _linked_pairs(main: list[Figure], volts: list[Figure], reading: Reading) -> list[Figure]:
    """'5500 W @ 240 V, 4125 @ 208 V': figures tied to one voltage by the text itself."""
    tied = {f.index: f for f in main if f.dim in {"W", "A", "VA"}}
    linked: list[Figure] = []
    for supply in volts:
        figure = tied.get(supply.index - 1) if supply.group.linked else None
        key = attribute(figure) if figure is not None else None
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
        names: tuple[str, ...] = ("amps", "mca", "mocp")
        reading.doubt("bare columns read as amps, minimum ampacity, maximum fuse")
    elif len(bare) == 1 and all(f.dim == "HP" for f in named) and facts.get("volts") is not None:
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
        retag(low[0], "mca")
        mca = True
    if high and not mocp and mca and high[0].values[0] in STANDARD_AMPS:
        retag(high[0], "mocp")


def _currents(main: list[Figure], reading: Reading) -> None:
    amps = [f for f in main if f.dim == "A"]
    for name in NAMED:
        _named_current(name, [f for f in amps if name in f.tags], reading)
    for figure in amps:
        if "peak" in figure.tags:
            reading.doubt("a peak current may be a start: is it one?", ask=True)
            add(reading, figure, "peak")
        elif "circuit" in figure.tags:
            reading.facts.setdefault("circuit_a", figure.values[0])
    plain = [f for f in amps if "amps" in f.tags]
    choose("amps", plain, reading)


def _named_current(name: str, figures: list[Figure], reading: Reading) -> None:
    with_option = [f for f in figures if "option" in f.keys and "without" not in f.keys]
    for figure in with_option:
        add(reading, figure, "option", "soft starter")
    figures = [f for f in figures if f not in with_option]
    if len(figures) < 2 or name == "fla":
        choose(name, figures, reading, keep_parts=True)
        return
    largest = max(figures, key=lambda f: max(f.values))
    choose(name, [largest], reading, keep_parts=True)
    for figure in figures:
        if figure is not largest and figure.values != largest.values:
            add(reading, figure, "part", figure.part or "second motor")


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
            add(reading, figure, role)


def _other_circuits(figures: list[Figure], reading: Reading) -> None:
    for figure in figures:
        if figure.circuit:
            if not figure.dim and "max" in figure.keys and figure.values[0] in STANDARD_AMPS:
                retag(figure, "mocp")
            add(reading, figure, "circuit", figure.circuit)


def _only_parts(reading: Reading) -> None:
    """Parts with power or current, but no figure of the whole."""
    parts = [p for p in reading.parts if p.role == "part" and (p.watts or p.amps)]
    whole = any(key in reading.facts for key in ("amps", "watts", "va", "rla", "fla", "sfa"))
    if len(parts) > 1 and not whole:
        reading.doubt("only parts are stated, not the whole", ask=True)
