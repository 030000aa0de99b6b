"""What each figure stands for: its name, its side, the part or mode it belongs to."""

from __future__ import annotations

from collections.abc import Iterable

from loadlib.labels.bind import Figure
from loadlib.labels.groups import Group, system_of

__all__ = ["LOADS", "assign_roles", "level_of", "split_systems"]

LOADS = frozenset({"W", "A", "VA", "HP", "BTU", "TON"})
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
    "heater,electric heat,element,upper element,lower element,fan,blower,inducer,pump,"
    "compressor,motor,light,oven,crankcase heater,control".split(",")
)
_MODES = frozenset(
    "defrost,ignition,grill,broil,bake,convection,run,cooling,heating,standby,high,low,medium,"
    "boost,eco,spin,wash,dry,warm,fan only,microwave,charging".split(",")
)
_DRIVES = frozenset({"motor"})


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
        made.append(
            Figure(group, figure.index, dim, tuple(values), gap_before=figure.gap_before)
        )
    return made


def assign_roles(figures: list[Figure], circuits: list[tuple[int, str]]) -> None:
    """Fill in tags, sides, circuits, parts and modes, in this order."""
    for figure in figures:
        if figure.dim not in _SUPPLY:
            figure.circuit = _circuit(figure, circuits)
    _find_wires(figures)
    _adopt_dimensions(figures)
    _name_currents(figures)
    _assign_sides(figures)
    _assign_parts(figures)


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
    for figure in figures:
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


def _assign_sides(figures: list[Figure]) -> None:
    side = "main"
    output_volts = False
    for at, figure in enumerate(figures):
        kind = figure.group.current_kind
        if figure.gap_before == ";" or "input" in figure.pre:
            side, output_volts = "main", False
        if figure.pre & {"output", "usb"}:
            side, output_volts = "output", False
        elif figure.dim == "V":
            side, output_volts = _side_of_volts(figure, kind, side, output_volts)
        figure.side = side
        if figure.dim == "A" and kind == "dc" and side == "main":
            figure.side = "dc"
        if figure.post & {"output", "usb"}:
            figure.side = "output"
            _look_back(figures, at, "output")
        if "shaft" in figure.keys:
            figure.side = "shaft"
    _amps_before_dc_volts(figures)
    _secondary(figures)


def _side_of_volts(
    figure: Figure, kind: str | None, side: str, output_volts: bool
) -> tuple[str, bool]:
    if side == "output":
        again = output_volts and (kind == "ac" or figure.values[0] >= 90.0)
        return ("main", False) if again else ("output", True)
    if kind == "dc":
        return "dc", False
    return "main", False


def _look_back(figures: list[Figure], at: int, side: str) -> None:
    """'19.5 V 3.34 A OUTPUT': the low or direct voltage before it is of the output too."""
    while at > 0 and figures[at].gap_before == "":
        at -= 1
        figure = figures[at]
        low = figure.dim == "V" and (figure.group.current_kind == "dc" or figure.values[0] < 60.0)
        if not low and not (figure.dim in {"A", "W"} and figure.side == "dc"):
            return
        figure.side = side


def _amps_before_dc_volts(figures: list[Figure]) -> None:
    """'2 A 12 V DC': a current before the first voltage goes with it."""
    for at, figure in enumerate(figures[:-1]):
        if figure.dim == "V":
            return
        if figure.dim in {"A", "W"} and figures[at + 1].dim == "V":
            if figures[at + 1].side == "dc" and not figure.group.current_kind:
                figure.side = "dc"
            return


def _secondary(figures: list[Figure]) -> None:
    """Below 60 V beside a mains voltage: the low-voltage side of the appliance."""
    volts = [figure for figure in figures if figure.dim == "V" and figure.side == "main"]
    if not any(figure.values[-1] >= 90.0 for figure in volts):
        return
    side = "main"
    for figure in figures:
        if figure.dim == "V":
            side = "dc" if figure.side == "main" and figure.values[-1] < 60.0 else "main"
        if figure.side == "main" and side == "dc" and figure.dim in {"V", "A", "W", "VA"}:
            figure.side = "dc"


def _assign_parts(figures: list[Figure]) -> None:
    """Part and mode of each figure; a name at the head of the text is the appliance's."""
    scope: tuple[str, str] | None = None
    seen: set[str] = set()
    scope_watts: float | None = None
    leading: list[Figure] = []
    volts = _first_volts(figures)
    for figure in figures:
        own = _own_scope(figure)
        if own is not None and own[2] == "pre":
            scope, seen, scope_watts = (own[0], own[1]), set(), None
        elif own is not None:
            _put_scope(figure, (own[0], own[1]))
            scope = None
            continue
        if figure.gap_before in {";", ","} and own is None:
            scope = None
        if scope is None or figure.dim not in LOADS or figure.tags & {"mca", "mocp"}:
            continue
        if figure.side != "main" or figure.keys & {"total"}:
            scope = None
            continue
        if own is None and not _continues(figure, seen, scope_watts, volts):
            scope = None
            continue
        _put_scope(figure, scope)
        if own is not None and figure.index == 0 or (own is None and _is_headed(figures, figure)):
            leading.append(figure)
        seen.add(figure.dim)
        scope_watts = figure.values[0] if figure.dim == "W" else scope_watts
    _free_leading(figures, leading)
    _share_with_neighbour(figures, volts)


def _own_scope(figure: Figure) -> tuple[str, str, str] | None:
    """(kind, name, 'pre' or 'post') of the part or mode that the figure's words name."""
    for words, where in ((figure.pre, "pre"), (figure.post, "post")):
        parts = [a.key for a in figure.atoms if a.kind == "part" and a.key in words]
        modes = [a.key for a in figure.atoms if a.kind == "mode" and a.key in words]
        if "electric heat" in parts and "cooling" in words:
            return "mode", "heating", where
        if parts:
            best = next((p for p in parts if p not in _DRIVES), parts[-1])
            return "part", best, where
        if modes:
            return "mode", modes[-1], where
    return None


def _put_scope(figure: Figure, scope: tuple[str, str]) -> None:
    if figure.dim not in LOADS or figure.tags & {"mca", "mocp"}:
        return
    if scope[0] == "part":
        figure.part = scope[1]
    else:
        figure.mode = scope[1]


def _continues(
    figure: Figure, seen: set[str], scope_watts: float | None, volts: float | None
) -> bool:
    """A second figure of the same part: 'ELEMENT 4.5 kW 19.2 A', but not a total behind it."""
    if figure.dim in seen:
        return False
    if figure.dim == "A" and "amps" in figure.tags and scope_watts is not None:
        apparent = (volts or 0.0) * figure.values[0]
        return 0.5 * apparent <= scope_watts <= 1.05 * apparent
    return True


def _first_volts(figures: list[Figure]) -> float | None:
    return next((max(f.values) for f in figures if f.dim == "V" and f.side == "main"), None)


def _is_headed(figures: list[Figure], figure: Figure) -> bool:
    """The scope was opened by a word before the first number of the text."""
    first = figures[0]
    return _own_scope(first) is not None and all(
        _own_scope(f) is None for f in figures if 0 < f.index <= figure.index
    )


def _free_leading(figures: list[Figure], leading: list[Figure]) -> None:
    """'PUMP 1/2 HP 115 V 9.5 A': the part word names the whole, unless others follow."""
    others = {f.part or f.mode for f in figures if f not in leading and (f.part or f.mode)}
    headed = {f.part or f.mode for f in leading}
    whole = any(
        f.dim in LOADS and not (f.part or f.mode) and not f.tags & {"mca", "mocp", "lra"}
        and f.side == "main" and f.dim in {x.dim for x in leading}
        for f in figures
    )
    if (others - headed - {"standby", "defrost"}) or whole:
        return
    for figure in leading:
        figure.part = figure.mode = None


def _share_with_neighbour(figures: list[Figure], volts: float | None) -> None:
    """'4.5 kW ELEMENT 19.2 A': one part's power and current, on either side of its name."""
    for before, figure in zip(figures, figures[1:], strict=False):
        fits = before.dim == "W" and figure.dim == "A" and figure.part and not before.part
        if not fits or volts is None or before.mode or "total" in before.keys:
            continue
        apparent = volts * figure.values[0]
        if abs(before.values[0] - apparent) <= 0.05 * apparent and before.gap_before != ";":
            before.part = figure.part

