"""Texts that are no load: sources, wiring devices, services, instructions, nothing at all."""

from __future__ import annotations

from dataclasses import dataclass

from loadlib.labels.bind import Figure
from loadlib.labels.lexicon import STANDARD_AMPS
from loadlib.labels.reading import Reading
from loadlib.labels.scan import Number, Sep, Token, Word

__all__ = ["Words", "gather_words", "why_refused"]

_LOAD_FACTS = (
    "amps", "watts", "va", "hp", "rla", "lra", "fla", "sfa", "mca", "btu_h", "kwh_per_year",
    "kwh_per_cycle",
)  # fmt: skip
_INVERTER_LOADS = frozenset(
    [
        "microwave",
        "air conditioner",
        "heat pump",
        "cold",
        "freezer",
        "washer",
        "welder",
        "dehumidifier",
        "dryer",
        "dishwasher",
        "pump",
        "well pump",
        "furnace",
        "hair dryer",
    ]
)
_DEVICE_AMPS = STANDARD_AMPS | {2.5, 3.0, 5.0, 6.0, 6.3, 7.0, 8.0, 10.0, 13.0, 16.0, 32.0, 63.0}
_MOST_WATTS = 1.0e6
_MOST_AMPS = 5000.0
_MOST_VOLTS = 40000.0


@dataclass(frozen=True, slots=True)
class Words:
    """Words of the whole text that decide whether it is a load, in the order of the text."""

    appliances: tuple[tuple[int, str], ...] = ()
    """(token place, name)"""
    sources: tuple[str, ...] = ()
    wiring: tuple[str, ...] = ()
    tags: frozenset[str] = frozenset()
    season: bool = False
    breaker: bool = False
    wire_gauge: bool = False
    battery_hours: bool = False


def gather_words(tokens: list[Token], upper: str) -> Words:
    """What the text speaks of."""
    atoms = [(at, t.atom, t.text) for at, t in enumerate(tokens) if isinstance(t, Word) and t.atom]
    tags = {text for _, atom, text in atoms if atom.kind == "mark"}
    tags |= {atom.key for _, atom, _ in atoms if atom.kind in {"mark", "mode", "part"}}
    if any(atom.dim == "RPM" for _, atom, _ in atoms):
        tags.add("rpm")
    if any(word in upper for word in ("BULB", "TYPE A", "SOCKET", "E26", "E27", "LAMPHOLDER")):
        tags.add("bulb")
    if any(isinstance(t, Number | Sep) and t.text in {"1~", "3~", "~"} for t in tokens):
        tags.add("tilde")
    if any(word in upper for word in ("PUMP", "SUBMERSIBLE")):
        tags.add("pump")
    sources = [atom.key for _, atom, _ in atoms if atom.kind == "source"]
    if any(text.startswith("SURGE") and atom.kind == "mark" for _, atom, text in atoms):
        sources.append("surge")
    return Words(
        tuple((at, atom.key) for at, atom, _ in atoms if atom.kind == "appliance"),
        tuple(sources),
        tuple(atom.key for _, atom, _ in atoms if atom.kind == "wiring"),
        frozenset(tags),
        any(atom.key == "season" for _, atom, _ in atoms),
        any(atom.key == "mocp" for _, atom, _ in atoms),
        any(atom.dim == "AWG" for _, atom, _ in atoms),
        any(atom.dim == "SOURCE" for _, atom, _ in atoms),
    )


def why_refused(figures: list[Figure], reading: Reading, words: Words) -> str | None:
    """The reason in plain words, or None when the text is a load."""
    return (
        _impossible(figures)
        or _source(figures, reading, words)
        or _service(figures, reading, words)
        or _wiring_device(figures, reading, words)
        or _two_appliances(figures, words)
        or _nothing(figures, reading, words)
    )


def _impossible(figures: list[Figure]) -> str | None:
    for figure in figures:
        if figure.dim not in {"V", "A", "W", "VA", "HP", "KWH", "BTU", "HZ"}:
            continue
        if any(number.negative for number in figure.group.numbers):
            return "impossible: a negative figure"
        if figure.dim in {"V", "A"} and figure.side == "main" and max(figure.values) == 0.0:
            return f"impossible: 0 {figure.dim}, so there is no load"
        limit = {"V": _MOST_VOLTS, "A": _MOST_AMPS, "W": _MOST_WATTS, "VA": _MOST_WATTS}
        if max(figure.values) > limit.get(figure.dim, float("inf")):
            return f"impossible: {max(figure.values):,.0f} {figure.dim} in a house"
    return None


def _source(figures: list[Figure], reading: Reading, words: Words) -> str | None:
    names = {name for _, name in words.appliances}
    for source in words.sources:
        if source == "inverter" and (names & _INVERTER_LOADS or _cools(reading, words)):
            continue
        if source == "surge" and not any(f.dim in {"W", "VA"} for f in figures):
            continue
        return f"a source rating ({source}), not a load"
    if words.battery_hours and not _has_mains_load(reading):
        return "a battery or panel rating, not a load"
    facts = reading.facts
    kva = any(f.dim == "VA" and f.unit_text.startswith("K") for f in figures)
    if kva and "power_factor" in facts:
        return "kVA with a power factor is an alternator's plate, not a load"
    watts = [f for f in figures if f.dim in {"W", "VA"}]
    rated = any("max" in f.keys for f in watts) and any("rated" in f.keys for f in watts)
    if rated and _ac_and_dc_outlets(figures, words):
        return "a source rating (maximum and rated power, AC and DC outlets), not a load"
    started = any("start" in f.keys for f in watts) and any(
        f.mode == "run" or "rated" in f.keys for f in watts
    )
    if started and not names and not any(f.dim in {"HP", "BTU"} for f in figures):
        return "running and starting watts of a source, not a load"
    return None


def _ac_and_dc_outlets(figures: list[Figure], words: Words) -> bool:
    volts = [f for f in figures if f.dim == "V"]
    direct = "dc" in words.tags or any(f.side == "dc" for f in volts)
    return direct and any(f.side == "main" for f in volts)


def _cools(reading: Reading, words: Words) -> bool:
    return "btu_h" in reading.facts or "rla" in reading.facts or "compressor" in words.tags


def _has_mains_load(reading: Reading) -> bool:
    volts = reading.facts.get("volts_printed") or (0.0,)
    return volts[-1] >= 90.0 and any(key in reading.facts for key in ("amps", "watts", "va"))


def _service(figures: list[Figure], reading: Reading, words: Words) -> str | None:
    amps = max((v for f in figures if f.dim == "A" for v in f.values), default=0.0)
    wires = any(f.dim == "WIRES" for f in figures) or any(
        f.dim == "W" and f.values[0] in {2.0, 3.0, 4.0} for f in figures
    )
    if "service" in words.wiring or (wires and amps >= 100.0):
        return "a service rating, not a load"
    return None


def _wiring_device(figures: list[Figure], reading: Reading, words: Words) -> str | None:
    if "fuse" in words.wiring:
        return "a fuse rating, not a load"
    facts = reading.facts
    if any(key in facts for key in ("mca", "rla", "fla", "sfa", "lra", "hp", "btu_h")):
        return None
    supplied = "watts" in facts and ("phases" in facts or bool(words.appliances))
    if words.wire_gauge and "hz" not in facts and not supplied:
        return "a cord or wire rating, not a load"
    device = _has_device_size(reading) and not words.appliances
    watts = any(f.dim in {"W", "VA", "BTU", "KWH", "W_SQFT", "W_SQM", "W_FT"} for f in figures)
    plain = not watts and "hz" not in facts
    if words.wiring and not words.appliances and (plain or device):
        return f"a {words.wiring[0]} rating, not a load"
    breaker = words.breaker and "mocp" not in facts and not words.appliances
    if plain and breaker and facts.get("amps") in STANDARD_AMPS:
        return "a breaker rating, not a load"
    if plain and device:
        return "a plug, receptacle or connector rating, not a load"
    return None


def _has_device_size(reading: Reading) -> bool:
    """125 or 250 V with a size of plugs, receptacles and connectors."""
    facts = reading.facts
    printed = set(facts.get("volts_printed") or ())
    amps = facts.get("amps", facts.get("mocp"))
    return bool(printed) and printed <= {125.0, 250.0} and amps in _DEVICE_AMPS


def _two_appliances(figures: list[Figure], words: Words) -> str | None:
    """Two appliances, each with a figure of its own behind or before its name."""
    # A microwave with a grill or an output is one oven with several figures.
    oven = any(f.keys & {"input", "output", "grill", "microwave"} for f in figures)
    names = [(at, name) for at, name in words.appliances if name != "microwave" or not oven]
    if len({name for _, name in names}) < 2:
        return None
    loads = [f for f in figures if f.dim in {"W", "A", "VA", "HP"} and f.side == "main"]
    places = [f.group.start for f in loads]
    first, second = names[0], next(pair for pair in names if pair[1] != names[0][1])
    after_first = any(first[0] < place < second[0] for place in places)
    before_first = any(place < first[0] for place in places)
    after_second = any(place > second[0] for place in places)
    own_figures = (after_first and after_second) or (before_first and after_first)
    dims = [f.dim for f in loads]
    if own_figures and any(dims.count(dim) > 1 for dim in ("W", "A", "VA")):
        return f"two appliances in one text ({first[1]}, {second[1]}): give each its own line"
    return None


def _nothing(figures: list[Figure], reading: Reading, words: Words) -> str | None:
    facts = reading.facts
    if any(key in facts for key in _LOAD_FACTS) or reading.parts or reading.ask_value:
        return None
    if reading.energy_without_period:
        return "kWh without a period is energy, not power"
    if words.season or "eer" in facts:
        return "efficiency ratings only, no electrical rating"
    supplied = bool(words.appliances) and facts.get("volts") is not None
    if "circuit_a" in facts or ("mocp" in facts and "max" not in words.tags and not supplied):
        return "a circuit or breaker size, not a load"
    if "mocp" in facts:
        return None
    if any(f.dim in {"V", "HZ", "PH"} for f in figures):
        return "supply voltage only: no current and no power"
    return "nothing electrical to read in this text"
