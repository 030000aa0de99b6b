"""Input and output, mains and direct current: the side that each figure stands on."""

from __future__ import annotations

from loadlib.labels.bind import Figure

__all__ = ["assign_sides"]


def assign_sides(figures: list[Figure]) -> None:
    """Set ``side`` of every figure: main, output, dc or shaft."""
    side = "main"
    for at, figure in enumerate(figures):
        side = _next_side(figure, side)
        figure.side = side
        if figure.dim == "A" and figure.group.current_kind == "dc" and side == "main":
            figure.side = "dc"
        if figure.post & {"output", "usb"}:
            figure.side = "output"
            _look_back(figures, at, "output")
        if "shaft" in figure.keys:
            figure.side = "shaft"
    _amps_before_dc_volts(figures)
    _secondary(figures)


def _next_side(figure: Figure, side: str) -> str:
    """OUTPUT holds until INPUT, a semicolon or the next mains voltage."""
    if figure.pre & {"output", "usb"}:
        return "output"
    if figure.gap_before == ";" or "input" in figure.pre:
        side = "main"
    if figure.dim != "V":
        return side
    if side == "output":
        return "main" if figure.values[0] >= 90.0 else "output"
    return "dc" if figure.group.current_kind == "dc" else "main"


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
