"""What each figure stands for: its dimension, its name, the circuit it belongs to."""

from __future__ import annotations

from collections.abc import Iterable

from loadlib.labels.bind import Figure
from loadlib.labels.groups import Group, system_of
from loadlib.labels.parts import assign_parts
from loadlib.labels.sides import assign_sides

__all__ = ["assign_roles", "level_of", "split_systems"]

_SUPPLY = frozenset({"V", "HZ", "PH"})
_LEVELS = (
    (100, 100),
    (105, 125),
    (127, 127),
    (200, 200),
    (208, 250),
    (277, 277),
    (347, 347),
    (380, 415),
    (440, 480),
    (550, 600),
)
_PARTS = frozenset(
    [
        "heater",
        "electric heat",
        "element",
        "upper element",
        "lower element",
        "fan",
        "blower",
        "inducer",
        "pump",
        "compressor",
        "motor",
        "light",
        "oven",
        "crankcase heater",
        "control",
    ]
)
_MODES = frozenset(
    [
        "defrost",
        "ignition",
        "grill",
        "broil",
        "bake",
        "convection",
        "run",
        "cooling",
        "heating",
        "standby",
        "high",
        "low",
        "medium",
        "boost",
        "eco",
        "spin",
        "wash",
        "dry",
        "warm",
        "fan only",
        "microwave",
        "charging",
    ]
)


def level_of(volts: float) -> int | float:
    """Number of the nominal level; a voltage outside all levels is a level of its own."""
    for number, (low, high) in enumerate(_LEVELS):
        if low <= volts <= high:
            return number
    return -volts


def split_systems(figures: list[Figure]) -> list[Figure]:
    """'208/230-1-60' becomes volts, phases and hertz; so do the columns '115 60 1'."""
    out: list[Figure] = []
    at = 0
    while at < len(figures):
        run = _bare_run(figures, at)
        figure = figures[at]
        pieces = _system(run) if len(run) > 1 else None
        if pieces is not None:
            out += _as_figures(figure, pieces)
            at += len(run)
            continue
        pieces = _system([figure]) if figure.dim in {"", *_SUPPLY} else None
        out += _as_figures(figure, pieces) if pieces is not None else [figure]
        at += 1
    return out


def _bare_run(figures: list[Figure], at: int) -> list[Figure]:
    """Two or three bare numbers that may be the columns volts, hertz, phase."""
    run = [figures[at]]
    if figures[at].dim not in {"", "V"} or len(figures[at].values) > 2:
        return run
    for figure in figures[at + 1 : at + 3]:
        if figure.dim or len(figure.values) > 1 or figure.values[0] not in {1.0, 3.0, 50.0, 60.0}:
            break
        if figure.keys:
            break
        run.append(figure)
    return run if len(run) == 3 else run[:1]


def _system(run: list[Figure]) -> tuple[list[float], list[float], list[float]] | None:
    return system_of([value for figure in run for value in figure.values])


def _as_figures(
    figure: Figure, pieces: tuple[list[float], list[float], list[float]]
) -> list[Figure]:
    made = []
    for dim, values in zip(("V", "PH", "HZ"), pieces, strict=True):
        if not values:
            continue
        group = Group(
            figure.group.numbers[: len(values)],
            figure.group.seps[: len(values) - 1] if dim == "V" else ["/"] * (len(values) - 1),
            figure.group.start,
            figure.group.end,
            current_kind="ac" if dim == "V" else None,
        )
        made.append(Figure(group, figure.index, dim, tuple(values), gap_before=figure.gap_before))
    return made


def assign_roles(
    figures: list[Figure], circuits: list[tuple[int, str]], *, appliance_named: bool
) -> None:
    """Fill in tags, sides, circuits, parts and modes, in this order."""
    for figure in figures:
        if figure.dim not in _SUPPLY:
            figure.circuit = _circuit(figure, circuits)
    _find_wires(figures)
    _adopt_dimensions(figures)
    _name_currents(figures)
    assign_sides(figures)
    assign_parts(figures, appliance_named=appliance_named)


def _circuit(figure: Figure, circuits: list[tuple[int, str]]) -> str:
    place = figure.group.numbers[0].start
    label = ""
    for start, name in circuits:
        if start < place:
            label = name
    return "" if circuits and label == circuits[0][1] else label


def _find_wires(figures: list[Figure]) -> None:
    """In '120/240V 1PH 3W' the W stands for wires."""
    system = any(f.dim == "PH" or len(f.values) > 1 for f in figures if f.dim in {"PH", "V"})
    for figure in figures:
        few = figure.dim == "W" and figure.values in {(2.0,), (3.0,), (4.0,)}
        if few and system and any(f.dim in {"W", "A"} for f in figures if f is not figure):
            figure.dim = "WIRES"


def _adopt_dimensions(figures: list[Figure]) -> None:
    """'UPPER 4500 LOWER 4500 TOTAL 9000 W' and '5500 W @ 240 V, 4125 @ 208 V'."""
    for at, figure in enumerate(figures):
        if figure.dim:
            continue
        wanted = figure.keys & (_PARTS | _MODES | {"input", "output", "total"})
        if wanted:
            figure.dim = _next_load(figures[at + 1 :]) or _next_load(reversed(figures[:at]))
            if figure.dim and not _same_size(figure, figures):
                figure.dim = ""
        elif at + 1 < len(figures) and figures[at + 1].dim == "V" and figures[at + 1].group.linked:
            figure.dim = _next_load(reversed(figures[:at]))


def _next_load(figures: Iterable[Figure]) -> str:
    return next((figure.dim for figure in figures if figure.dim in {"W", "BTU"}), "")


def _same_size(figure: Figure, figures: list[Figure]) -> bool:
    others = [f.values[0] for f in figures if f.dim == figure.dim and f is not figure]
    return any(0.1 <= figure.values[0] / other <= 10.0 for other in others if other > 0.0)


def _name_currents(figures: list[Figure]) -> None:
    for figure in figures:
        if figure.dim in {"A", ""}:
            name = _current_name(figure)
            if name:
                figure.dim = "A"
                figure.tags.add(name)
    _with_and_without(figures)


def _with_and_without(figures: list[Figure]) -> None:
    """'Starts at 24 A with soft starter, 77 A without': both are starts."""
    started = any({"option"} <= f.keys and "lra" in f.tags for f in figures)
    locked = any("lra" in f.tags for f in figures)
    for figure in figures:
        plain = figure.dim in {"", "A"} and not figure.tags - {"amps"}
        if locked and plain and "option" in figure.keys:
            figure.dim, figure.tags = "A", {"lra"}
        if started and "without" in figure.keys and "amps" in figure.tags:
            figure.tags = {"lra"}


def _current_name(figure: Figure) -> str:
    keys = figure.keys
    for name, needed in (
        ("mca", {"mca"}),
        ("mca", {"min", "circuit"}),
        ("mca", {"min", "conductor"}),
        ("mca", {"conductor"}),
        ("mocp", {"mocp"}),
        ("sfa", {"sfa"}),
        ("lra", {"lra"}),
        ("rla", {"rla"}),
        ("fla", {"fla"}),
    ):
        if needed <= keys:
            return name
    if figure.dim == "A":
        for name in ("peak", "start", "circuit"):
            if name in keys:
                return {"start": "lra"}.get(name, name)
        return "amps"
    return ""
