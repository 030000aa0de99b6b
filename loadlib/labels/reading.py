"""A label being read: facts, parts and doubts as they are found."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from loadlib.labels.bind import Figure
from loadlib.labels.rating import LabelPart
from loadlib.labels.supply import Supply

__all__ = ["NAMED", "Reading", "add", "attribute", "choose", "join", "retag"]

NAMED = ("rla", "lra", "fla", "sfa", "mca", "mocp")
_FIELDS = (
    "volts", "amps", "watts", "va", "hp", "rla", "lra", "fla", "sfa", "mca", "mocp", "btu_h", "eer"
)  # fmt: skip


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


def add(reading: Reading, figure: Figure, role: str, name: str | None = None) -> None:
    """A further rating, joined to one of the same role and name where there is one."""
    key = attribute(figure)
    if key is None:
        return
    for value in figure.values[:1] if role != "dc" else figure.values:
        join(reading, role, name, key, value)


def join(reading: Reading, role: str, name: str | None, key: str, value: float) -> None:
    for at, part in enumerate(reading.parts):
        if (part.role, part.name) == (role, name) and getattr(part, key) is None:
            values = {field_: getattr(part, field_) for field_ in _FIELDS} | {key: value}
            reading.parts[at] = LabelPart(role, name, **values)
            return
    reading.parts.append(LabelPart(role, name, **{key: value}))


def attribute(figure: Figure) -> str | None:
    if figure.dim == "A":
        return next((name for name in NAMED if name in figure.tags), "amps")
    if figure.dim == "RATIO" and "eer" in figure.keys:
        return "eer"
    return {
        "V": "volts", "W": "watts", "VA": "va", "HP": "hp", "BTU": "btu_h", "TON": "btu_h"
    }.get(figure.dim)  # fmt: skip


def retag(figure: Figure, name: str) -> None:
    figure.dim = "A"
    figure.tags.discard("amps")
    figure.tags.add(name)


def choose(key: str, figures: list[Figure], reading: Reading, *, keep_parts: bool = False) -> None:
    """The figure of the whole into the facts, parts and other modes beside it."""
    whole = [f for f in figures if not (f.part and not keep_parts)]
    for figure in figures:
        if figure not in whole:
            add(reading, figure, "part", figure.part)
    if len(whole) < len(figures) and whole and all(f.mode and f.mode != "run" for f in whole):
        reading.doubt("only parts and modes are stated, not the whole", ask=True)
        chosen = []
    else:
        chosen = _rank(whole)
    for figure in whole:
        if figure not in chosen and figure.values != (chosen[0].values if chosen else ()):
            role = "mode" if figure.mode else "part"
            add(reading, figure, role, figure.mode or figure.part or "further figure")
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
        lambda f: (
            not f.mode and "option" not in f.keys and "rated" not in f.keys - _if_alone(figures)
        ),
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
    if reading.supply.wide and key == "amps" and any(value != top for value in values):
        reading.doubt("the larger current belongs to the lowest voltage")
        return top
    different = [value for value in values if abs(value - top) > 0.02 * top]
    if different:
        reading.doubt(f"several figures for {key}: the largest is taken")
        for value in different:
            join(reading, "mode", "lower figure", key, value)
    return top
