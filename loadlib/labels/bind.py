"""Which words belong to which number: figures out of groups and gaps.

Plates write '115 V' or 'V 115', '1000 W HEATER' or 'HEATER 1000 W', and mix both. Each
gap between two groups is cut once: words before the cut belong to the number before it,
words behind to the number behind. The cuts that make the best sense of the whole text
are found by dynamic programming (Viterbi), in time linear in the number of groups.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from loadlib.labels.groups import Group, Layout, system_of
from loadlib.labels.lexicon import STANDARD_AMPS, Atom
from loadlib.labels.scan import Sep, Token, Word

__all__ = ["Figure", "bind"]

_NOMINAL_V = frozenset(
    {100, 110, 115, 120, 125, 127, 200, 208, 220, 230, 240, 250, 277, 380, 400, 415, 440, 460, 480}
    | {12, 24, 575, 600, 4160}
)
_MAINS_V = frozenset({100, 110, 115, 120, 127, 200, 208, 220, 230, 240, 277})
_BREAKER_SIZES = STANDARD_AMPS | {6, 10, 13, 16, 32, 63}
_SUPPLY_MARKS = frozenset({"input", "output", "usb", "max", "min", "rated"})
_BINDS = frozenset({"unit", "name", "mark", "part", "mode", "period"})
_ONLY_BEHIND = frozenset({"X", "FT", "M", "SQFT", "SQM", "WIRES", "AWG", "SOURCE"})
_SEP_COST = {
    ",": 1.5,
    ";": 4.0,
    "/": 0.4,
    "-": 0.2,
    ":": 0.6,
    ")": 2.0,
    "(": 0.5,
    "+": 1.5,
    "&": 1.5,
}
_CONTRASTS = frozenset({"high", "low", "medium"})
_CONTRASTING = (_CONTRASTS, frozenset({"cooling", "heating", "electric heat"}))
"""Words that stand all before or all behind their figures; behind, if the text leaves it open."""
_MOST_ATOMS = 12
"""Words of one gap that are weighed; in a longer gap the middle is left out."""
_COMPATIBLE = frozenset({("V", "VDC"), ("VDC", "V"), ("A", "ADC"), ("ADC", "A"), ("RATIO", "PCT")})
_EXCLUSIVE = (
    frozenset({"input", "output"}),
    frozenset({"input", "shaft"}),
    frozenset({"run", "start"}),
    frozenset({"run", "ignition"}),
    frozenset({"max", "min"}),
    frozenset({"cooling", "heating"}),
    frozenset({"high", "low"}),
    frozenset({"max", "rated"}),
    frozenset({"rated", "peak"}),
    frozenset({"option", "without"}),
)


@dataclass(slots=True)
class Figure:
    """One printed figure: numbers, dimension, and the words that belong to it."""

    group: Group
    index: int
    dim: str = ""
    values: tuple[float, ...] = ()
    atoms: tuple[Atom, ...] = ()
    pre: frozenset[str] = frozenset()
    post: frozenset[str] = frozenset()
    unit_text: str = ""
    gap_before: str = ""
    """The strongest separator between the figure before and this one."""
    slip: bool = False
    side: str = "main"
    part: str | None = None
    mode: str | None = None
    circuit: str = ""
    tags: set[str] = field(default_factory=set)

    @property
    def keys(self) -> frozenset[str]:
        """Keys of all words that belong to the figure."""
        return self.pre | self.post

    @property
    def seps(self) -> list[str]:
        """How the numbers are joined: '/' or '-'."""
        return self.group.seps


@dataclass(slots=True)
class _Item:
    """An atom in a gap with what lies between it and the groups on either side."""

    atom: Atom
    text: str
    to_left: float = 0.0
    to_right: float = 0.0
    in_brackets: bool = False
    leads: bool = False
    """A contrast that stands before its figure, as all of the text do."""


def bind(layout: Layout) -> list[Figure]:
    """Figures in the order of the text."""
    gaps = [_items(gap, at, len(layout.groups)) for at, gap in enumerate(layout.gaps)]
    for family in _CONTRASTING:
        _note_leading(layout.groups, gaps, family)
    cuts = _best_cuts(layout.groups, gaps)
    figures = []
    for at, group in enumerate(layout.groups):
        pre, post = gaps[at][cuts[at] :], gaps[at + 1][: cuts[at + 1]]
        figures.append(_figure(group, at, pre, post, _strongest(layout.gaps[at])))
    return figures


def _items(gap: list[Token], at: int, last: int) -> list[_Item]:
    items: list[_Item] = []
    costs: list[float] = []
    running = 0.0
    bracket = 0
    for place, token in enumerate(gap):
        if isinstance(token, Sep):
            running += _SEP_COST.get(token.text, 0.0)
            if token.text == ":":
                for item in items:
                    item.to_right -= _SEP_COST[":"]
            bracket += {"(": 1, ")": -1}.get(token.text, 0)
        elif token_atom := _binding_atom(token, place, gap, at):
            assert isinstance(token, Word)
            items.append(_Item(token_atom, token.text, running, in_brackets=bracket > 0))
            costs.append(running)
            running += 0.05
        elif not (isinstance(token, Word) and token.text in {"AC", "DC"}):
            running += 0.15
    closed = bracket == 0 and at > 0
    for item in items:
        item.to_right += running - item.to_left
        item.in_brackets = item.in_brackets and closed
    if len(items) > _MOST_ATOMS:
        half = _MOST_ATOMS // 2
        items = items[:half] + items[-half:]
    return items


def _note_leading(groups: list[Group], gaps: list[list[_Item]], family: frozenset[str]) -> None:
    """'0.65 A HIGH 55 W LOW 30 W': more watts follow these words than stand before them."""
    before: Counter[str] = Counter()
    behind: Counter[str] = Counter()
    found: list[_Item] = []
    for at, gap in enumerate(gaps):
        here = [item for item in gap if item.atom.key in family]
        found += here
        if here and at > 0:
            before[_unit_dim(groups[at - 1], gap)] += 1
        if here and at < len(groups):
            behind[_unit_dim(groups[at], gaps[at + 1])] += 1
    pair = len({item.atom.key for item in found}) > 1
    lead = max(behind.values(), default=0) > max(before.values(), default=0)
    for item in found:
        item.leads = pair and lead


def _unit_dim(group: Group, following: list[_Item]) -> str:
    if group.unit is not None:
        return group.unit.dim
    return following[0].atom.dim if following else ""


def _binding_atom(token: Token, place: int, gap: list[Token], at: int) -> Atom | None:
    if not isinstance(token, Word) or token.atom is None:
        return None
    atom = token.atom
    if atom.kind == "appliance" and atom.key == "microwave" and _in_brackets(place, gap):
        return Atom("mode", "microwave")
    if atom.kind not in _BINDS or atom.key in {"ac", "dc"}:
        return None
    if atom.dim in _ONLY_BEHIND and (place > 0 or at == 0):
        return None
    return atom


def _in_brackets(place: int, gap: list[Token]) -> bool:
    return place > 0 and isinstance(gap[place - 1], Sep) and gap[place - 1].text == "("


def _strongest(gap: list[Token]) -> str:
    seps = [token.text for token in gap if isinstance(token, Sep)]
    return next((sign for sign in (";", ",", "x", "/", "(", ")") if sign in seps), "")


def _best_cuts(groups: list[Group], gaps: list[list[_Item]]) -> list[int]:
    """For each gap how many of its words belong to the group before it."""
    best: list[tuple[float, list[int]]] = [(0.0, [0])]
    for at, group in enumerate(groups):
        final = at == len(groups) - 1
        following = gaps[at + 1]
        options = [len(following)] if final else range(len(following) + 1)
        fresh: list[tuple[float, list[int]]] = []
        for cut in options:
            post = following[:cut]
            scored = [
                (score + _score(group, gaps[at][before[-1] :], post), before)
                for score, before in best
            ]
            score, before = max(scored, key=lambda pair: pair[0])
            fresh.append((score, [*before, cut]))
        best = fresh
    return max(best, key=lambda pair: pair[0])[1] if groups else [0]


def _score(group: Group, pre: list[_Item], post: list[_Item]) -> float:
    """How well the words fit the number; higher is better."""
    dim, score = _dimension(group, pre, post)
    score += _marks(pre, post, dim, set(group.values) <= _NOMINAL_V)
    if not set(group.values) <= _BREAKER_SIZES and any(i.atom.key == "mocp" for i in [*pre, *post]):
        score -= 1.0
    if dim == "V" and len(group.values) > 1 and any(i.atom.key == "output" for i in pre):
        score -= 1.5
    if not dim:
        return score - _without_unit(group, pre, post)
    return score + _plausible(group, dim)


def _without_unit(group: Group, pre: list[_Item], post: list[_Item]) -> float:
    """Cost of a number without a unit; least for the supply limits MAX 253 MIN 187."""
    for words, cost in ((pre, 0.5), (post, 1.5)):
        if group.values[0] >= 90.0 and any(i.atom.key in {"max", "min"} for i in words):
            return cost
    return 3.0


def _dimension(group: Group, pre: list[_Item], post: list[_Item]) -> tuple[str, float]:
    score = 0.0
    dim = ""
    if group.unit is not None:
        dim, score = group.unit.dim, 3.0
    elif system_of(group.values) is not None:
        dim, score = "V", 3.0
    elif len(group.values) > 1 and set(group.values) <= _MAINS_V:
        dim, score = "V", 1.0
    name = ""
    near_first = [(item, item.to_left, 2.0, 1.2, 0.7) for item in post]
    near_first += [(item, item.to_right, 1.2, 2.0, 0.5) for item in reversed(pre)]
    for order, (item, cost, as_unit, as_name, far) in enumerate(near_first):
        atom = item.atom
        rank = order if order < len(post) else order - len(post)
        if atom.kind not in {"unit", "name"}:
            continue
        fits = not dim or dim == atom.dim or (dim, atom.dim) in _COMPATIBLE
        fits = fits or (atom.dim, dim) in _COMPATIBLE
        if not fits or (atom.kind == "name" and name not in {"", atom.key}):
            score -= 4.0
        elif atom.kind == "name":
            score += (as_name if not name else 0.2) - 0.3 * rank - cost
            name = atom.key
        else:
            score += (as_unit - far * rank if not dim else 0.2) - cost
        if not dim:
            dim = atom.dim
    return dim, score


def _marks(pre: list[_Item], post: list[_Item], dim: str, nominal: bool) -> float:
    score = 0.0
    keys: set[str] = set()
    parts: set[str] = set()
    periods = sum(item.atom.kind == "period" for item in [*pre, *post])
    named = False
    for item, side in [(i, "post") for i in post] + [(i, "pre") for i in pre]:
        atom = item.atom
        named = named or atom.key in {"mca", "mocp"}
        if atom.kind in {"unit", "name"}:
            continue
        keys.add(atom.key)
        if atom.kind in {"part", "mode"}:
            parts.add(atom.key)
        score += _mark(item, side, dim, nominal)
    score -= 2.0 * (max(0, len(parts) - 1) + max(0, periods - 1))
    score -= sum(2.0 for pair in _EXCLUSIVE if pair <= keys)
    if parts and "total" in keys:
        score -= 2.5
    if "input" in keys and parts & {"cooling", "heating"}:
        score -= 0.4
    if parts and (named or dim in {"V", "HZ", "PH"}):
        score -= 1.0
    return score


def _mark(item: _Item, side: str, dim: str, nominal: bool) -> float:
    key = item.atom.key
    if dim in {"V", "HZ", "PH"} and item.atom.kind == "mark":
        if dim != "V" or key not in _SUPPLY_MARKS:
            return -0.6
        if key in {"max", "min"} and nominal:
            return 0.1 - (item.to_left if side == "post" else item.to_right)
    if item.atom.kind == "period":
        return (1.0 if dim == "KWH" else -1.0) - (item.to_left if side == "post" else item.to_right)
    if side == "post":
        heat = 0.6 if dim == "BTU" else 0.2
        bonus = {
            "input": heat,
            "output": heat,
            "equiv": 0.9,
            "bound": -2.0,
            "replaces": -2.0,
            "each": 0.8,
            "without": -0.5,
        }.get(key, 0.2)
        if key in _CONTRASTS or (key == "electric heat" and dim == "W"):
            bonus = 0.7
        if key in {"cooling", "heating"} and dim == "W":
            bonus = 0.6
        bonus = 0.0 if item.leads else bonus
        return bonus - item.to_left + (2.0 if item.in_brackets else 0.0)
    bonus = 0.15 if dim == "A" and key in {"input", "output"} else 0.5
    return bonus - item.to_right - (3.0 if item.in_brackets else 0.0)


def _plausible(group: Group, dim: str) -> float:
    values = group.values
    if dim == "HZ":
        return 1.0 if all(v in {25, 50, 60, 400} for v in values) else -6.0
    if dim == "PH":
        return 1.0 if all(v in {1, 2, 3} for v in values) else -6.0
    if dim == "V":
        return 0.8 if values[0] in _NOMINAL_V else -0.5
    if dim == "RATIO":
        return 0.2 if values[0] <= 100 else -4.0
    if dim == "HP":
        return 0.2 if values[0] <= 500 else -4.0
    return 0.0


def _figure(
    group: Group, index: int, pre: list[_Item], post: list[_Item], gap_before: str
) -> Figure:
    dim, factor, text = "", 1.0, group.unit_text
    if group.unit is not None:
        dim, factor = group.unit.dim, group.unit.factor
    near_first = [*post, *reversed(pre)]
    for item in near_first:
        if item.atom.kind == "unit" and not dim:
            dim, factor, text = item.atom.dim, item.atom.factor, item.text
    names = [item.atom for item in near_first if item.atom.kind == "name"]
    if names and not dim:
        dim = names[0].dim
    figure = Figure(group, index, dim, gap_before=gap_before, unit_text=text)
    figure.atoms = tuple(item.atom for item in [*pre, *post])
    figure.pre = _keys(pre, dim)
    figure.post = _keys(post, dim)
    _normalise(figure, factor)
    return figure


def _keys(items: list[_Item], dim: str) -> frozenset[str]:
    """Keys of marks, and of names that fit the dimension."""
    fitting = (i.atom for i in items if i.atom.kind != "unit")
    return frozenset(
        atom.key
        for atom in fitting
        if atom.kind != "name" or atom.dim == dim or (atom.dim, dim) in _COMPATIBLE
    )


def _normalise(figure: Figure, factor: float) -> None:
    """Values in base units; written slips and direct current noted."""
    if figure.dim == "W_SLIP":
        figure.dim, figure.slip = "W", True
    if figure.dim in {"VDC", "ADC"}:
        figure.dim = figure.dim[:-2]
        figure.group.current_kind = "dc"
    if figure.dim == "PCT" and figure.keys & {"pf", "eff"}:
        figure.dim, factor = "RATIO", 0.01
    figure.values = tuple(value * factor for value in figure.group.values)
