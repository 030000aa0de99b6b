"""Parts and modes of an appliance: which figure belongs to the heater, which to the whole."""

from __future__ import annotations

import itertools

from loadlib.labels.bind import Figure

__all__ = ["LOADS", "assign_parts"]

LOADS = frozenset({"W", "A", "VA", "HP", "BTU", "TON"})
_DRIVES = frozenset({"motor"})
_PAUSES = frozenset({"standby", "defrost"})
_LEVELS = frozenset({"high", "medium", "low"})
_COOKING = frozenset({"grill", "broil", "bake", "convection"})


def assign_parts(figures: list[Figure], *, appliance_named: bool) -> None:
    """Part and mode of each figure; a name at the head of the text is the appliance's."""
    scope: tuple[str, str] | None = None
    seen: set[str] = set()
    scope_watts: float | None = None
    leading: list[Figure] = []
    volts = _first_volts(figures)
    cooled = {figure.dim for figure in figures if "cooling" in figure.keys}
    for figure in figures:
        if figure.dim == "V":
            seen = set()  # another connection states power and current again
        own = _own_scope(figure)
        if own is not None and own[1] == "electric heat" and figure.dim in cooled:
            own = ("mode", "heating", own[2])
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
        if (own is not None and figure.index == 0) or (own is None and _is_headed(figures, figure)):
            leading.append(figure)
        seen.add(figure.dim)
        scope_watts = figure.values[0] if figure.dim == "W" else scope_watts
    _free_leading(figures, leading)
    _share_with_neighbour(figures, volts)
    _free_only_part(figures)
    if not appliance_named:
        _free_motor(figures)


def _own_scope(figure: Figure) -> tuple[str, str, str] | None:
    """(kind, name, 'pre' or 'post') of the part or mode that the figure's words name."""
    for words, where in ((figure.pre, "pre"), (figure.post, "post")):
        parts = [a.key for a in figure.atoms if a.kind == "part" and a.key in words]
        modes = [a.key for a in figure.atoms if a.kind == "mode" and a.key in words]
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
    figures = [f for f in figures if not f.keys & {"equiv", "replaces", "bound"}]
    others = {f.part or f.mode for f in figures if f not in leading and (f.part or f.mode)}
    headed = {f.part or f.mode for f in leading}
    whole = any(
        f.dim in LOADS
        and not (f.part or f.mode)
        and not f.tags & {"mca", "mocp", "lra"}
        and f.side == "main"
        and f.dim in {x.dim for x in leading}
        for f in figures
    )
    compressor = any(f.tags & {"rla", "lra"} for f in figures)
    if headed == {"electric heat"} and compressor:
        return
    if (others - headed - _beside(headed)) or whole:
        return
    for figure in leading:
        figure.part = None
        figure.mode = next(iter(figure.keys & _LEVELS), None)


def _beside(headed: set[str | None]) -> frozenset[str]:
    """Modes that leave the part at the head of the text the whole appliance."""
    return _PAUSES | _LEVELS | (_COOKING if headed == {"oven"} else frozenset())


def _free_only_part(figures: list[Figure]) -> None:
    """'240 V 1500 W HEATER 12.5 A', '40 W fan': the only part that is named is the whole."""
    loads = [f for f in figures if f.dim in {"A", "W", "VA"} and f.side == "main"]
    loads = [f for f in loads if not f.keys & {"equiv", "replaces", "bound"}]
    named = {f.part for f in loads}
    units = any(f.tags & {"mca", "rla", "lra"} for f in loads)
    stays = {None, "electric heat", "element", "upper element", "lower element"}
    if len(named) == 1 and not named & stays and not units:
        for figure in loads:
            figure.part = None


def _free_motor(figures: list[Figure]) -> None:
    """'1/2 hp pump': with no appliance named and no second part, the pump is the whole."""
    named = {f.part for f in figures if f.part}
    units = any(f.tags & {"mca", "rla", "lra"} and f.dim == "A" for f in figures if f.part is None)
    if len(named) == 1 and not units:
        for figure in figures:
            figure.part = None if figure.dim == "HP" else figure.part


def _share_with_neighbour(figures: list[Figure], volts: float | None) -> None:
    """'4.5 kW ELEMENT 19.2 A': one part's power and current, on either side of its name."""
    for before, figure in itertools.pairwise(figures):
        fits = before.dim == "W" and figure.dim == "A" and figure.part and not before.part
        if not fits or volts is None or before.mode or "total" in before.keys:
            continue
        apparent = volts * figure.values[0]
        if abs(before.values[0] - apparent) <= 0.05 * apparent and before.gap_before != ";":
            before.part = figure.part
