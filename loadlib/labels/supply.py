"""Which supply voltage, and which of several printed values goes with it."""

from __future__ import annotations

from dataclasses import dataclass, field

from loadlib.labels.bind import Figure
from loadlib.labels.roles import level_of

__all__ = ["Supply", "find_supply"]

_THREE_WIRE = (
    frozenset({120.0, 240.0}),
    frozenset({120.0, 208.0}),
    frozenset({125.0, 250.0}),
)
_FOUR_WIRE = (
    frozenset({230.0, 400.0}),
    frozenset({220.0, 380.0}),
    frozenset({240.0, 415.0}),
    frozenset({277.0, 480.0}),
    frozenset({127.0, 220.0}),
    frozenset({120.0, 208.0}),
)


@dataclass(slots=True)
class Supply:
    """The voltage chosen, with all that are printed, in the order of the text."""

    printed: list[float] = field(default_factory=list)
    levels: list[list[int]] = field(default_factory=list)
    """Places in ``printed``, grouped by nominal level."""
    chosen: int | None = None
    wide: bool = False
    """A span over several countries' levels: the home decides."""
    stated: list[float] = field(default_factory=list)
    """Every voltage of the text; ``printed`` leaves out the legs of three-wire supplies."""
    separate: int = 0
    """Number of voltage figures in the text that name a new voltage (a slash pair is one)."""
    doubt: str | None = None
    ask: bool = False

    @property
    def volts(self) -> float | None:
        """The main voltage. [V]"""
        return None if self.chosen is None else self.printed[self.chosen]

    def pick(self, values: list[float]) -> float | None:
        """The value that goes with the main voltage; None when they are no match."""
        if self.chosen is None or len(values) < 2:
            return None
        if len(values) == len(self.printed):
            return values[self.chosen]
        if len(values) == len(self.levels):
            at = next(i for i, level in enumerate(self.levels) if self.chosen in level)
            return values[at]
        return None

    def others(self, values: list[float]) -> list[tuple[float, float]]:
        """(volts, value) of the connections that are not the main one."""
        if self.chosen is None or len(values) < 2:
            return []
        if len(values) == len(self.printed):
            pairs = list(zip(self.printed, values, strict=True))
            return [pair for at, pair in enumerate(pairs) if at != self.chosen]
        if len(values) == len(self.levels):
            return [
                (max(self.printed[i] for i in level), value)
                for level, value in zip(self.levels, values, strict=True)
                if self.chosen not in level
            ]
        return []


def find_supply(figures: list[Figure], counts: set[int], phases: int | None) -> Supply:
    """Choose the main voltage.

    ``counts`` holds how many values the currents and powers of the text have: two values
    with two voltages are pairs.
    """
    supply = Supply()
    for figure in figures:
        fresh = [v for v in _line_volts(figure, figures) if v not in supply.printed]
        supply.printed += dict.fromkeys(fresh)
        supply.stated += figure.values
        supply.separate += bool(fresh)
    if not supply.printed:
        return supply
    supply.levels = _levels(supply.printed)
    if len(supply.levels) == 1:
        supply.chosen = supply.printed.index(max(supply.printed))
        return supply
    _choose_level(supply, figures, counts, phases)
    return supply


def _line_volts(figure: Figure, figures: list[Figure]) -> tuple[float, ...]:
    """'120/208 V 9.4 kW, 120/240 V 12.5 kW': the 120 V is the leg, not a connection."""
    others = {value for other in figures if other is not figure for value in other.values}
    top = max(figure.values)
    if frozenset(figure.values) in _THREE_WIRE and any(value >= 200.0 for value in others):
        return (top,)
    return figure.values


def _levels(printed: list[float]) -> list[list[int]]:
    levels: list[list[int]] = []
    for at, value in enumerate(printed):
        if levels and level_of(printed[levels[-1][-1]]) == level_of(value):
            levels[-1].append(at)
        else:
            levels.append([at])
    return levels


def _choose_level(
    supply: Supply, figures: list[Figure], counts: set[int], phases: int | None
) -> None:
    printed = supply.printed
    names = " and ".join(f"{value:g} V" for value in printed)
    spans = any(_spans_levels(figure) for figure in figures)
    if spans:
        supply.wide = True
        supply.ask = True
        supply.doubt = f"{names}: made for several countries; the home's voltage decides"
    elif counts & {len(printed), len(supply.levels)}:
        first = supply.levels[0]
        supply.chosen = max(first, key=lambda at: printed[at])
        supply.doubt = f"{names} are alternative connections; the first one is taken"
    elif _is_system(printed, figures, phases):
        supply.chosen = printed.index(max(printed))
    else:
        supply.ask = True
        supply.doubt = f"{names} with one figure: which voltage is it connected for?"


def _spans_levels(figure: Figure) -> bool:
    """A range with a dash, or with 'to', that crosses from one level into another."""
    pairs = zip(figure.values, figure.values[1:], figure.seps, strict=False)
    return any(sep == "-" and level_of(a) != level_of(b) for a, b, sep in pairs)


def _is_system(printed: list[float], figures: list[Figure], phases: int | None) -> bool:
    """120/240 V and its kin, written as one pair: a supply with a neutral."""
    if len(figures) > 1 and not any(len(figure.values) > 1 for figure in figures):
        return False
    pair = frozenset(printed)
    return pair in _THREE_WIRE or (phases == 3 and pair in _FOUR_WIRE)
