"""Pictures in the terminal: load-duration, month × hour map, energy by month.

Characters tell things apart, never colour, and every row has its numbers beside it. They fit
into 45 columns and use the room of 120; where the encoding has no blocks, plain ASCII serves.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loadlib.cli.profile_text import watts

__all__ = ["MONTHS", "Marks", "duration_lines", "energy_lines", "map_lines", "marks"]

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

SHARES = (0.0, 0.001, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Rows of a load-duration curve."""


@dataclass(frozen=True, slots=True)
class Marks:
    """Characters: ``parts`` for base, heating, cooling; ``shades`` from least to most."""

    parts: tuple[str, str, str]
    shades: str

    @property
    def bar(self) -> str:
        """A full bar."""
        return self.parts[0]


def marks() -> Marks:
    """Blocks where stdout can show them, else plain ASCII."""
    encoding = (sys.stdout.encoding or "ascii").lower()
    if "utf" in encoding:
        return Marks(("█", "▒", "░"), "·░▒▓█")
    return Marks(("#", "+", "-"), ".:+*#")


def duration_lines(
    share: NDArray[np.float64], power_w: NDArray[np.float64], width: int
) -> Iterator[str]:
    """Demand that is passed for a share of the time, a bar a share.

    Parameters
    ----------
    share, power_w : array
        rising shares of the time and the demand passed for them, shape (n,). [W]
    width : int
        columns of the terminal.
    """
    power = np.interp(SHARES, share, power_w)
    most = max(float(power.max()), 1.0)
    room = _room(width, 8 + 8)
    yield "Load-duration: passed for a share of time"
    for at, value in zip(SHARES, power, strict=True):
        label = "highest" if at == 0.0 else f"{100.0 * at:g} %"
        bar = marks().bar * round(room * max(float(value), 0.0) / most)
        yield f"{label:>7} {bar:<{room}} {watts(float(value)):>7}"


def map_lines(power_w: NDArray[np.float64], width: int) -> Iterator[str]:
    """Mean demand by month (rows) and hour (columns), as shades; NaN is left blank.

    From 110 columns on the number, in kW, stands beside each shade; below that the month's
    mean and highest hour stand at the end of its row.
    """
    from loadlib.figures.hours import heat_edges_w

    shades = marks().shades
    edges = heat_edges_w(power_w, len(shades))
    columns = 4 if width >= 110 else 2 if width >= 70 else 1
    yield "Mean demand by month and hour of the day"
    hours = "".join(f"{hour:<{6 * columns}d}" for hour in range(0, 24, 6))
    yield f"    {hours}{_map_head(columns)}".rstrip()
    for name, row in zip(MONTHS, power_w, strict=True):
        cells = "".join(_cell(value, edges, shades, columns) for value in row)
        yield f"{name} {cells}{_month_end(row, columns)}".rstrip()
    legend = [
        f"{shade} {low / 1000:g} to {high / 1000:g}"
        for shade, (low, high) in zip(shades, pairwise(edges), strict=True)
    ]
    yield from textwrap.wrap(
        "kW:  " + "   ".join(legend), max(width, 30), subsequent_indent="     "
    )


def _map_head(columns: int) -> str:
    return "" if columns == 4 else f" {'mean':>6} {'most':>6}"


def _month_end(row: NDArray[np.float64], columns: int) -> str:
    known = row[np.isfinite(row)]
    if columns == 4 or not known.size:
        return ""
    return f" {watts(float(known.mean())):>6} {watts(float(known.max())):>6}"


def _cell(value: float, edges: NDArray[np.float64], shades: str, columns: int) -> str:
    if not np.isfinite(value):
        return " " * columns
    step = int(np.clip(np.searchsorted(edges, value, side="right") - 1, 0, len(shades) - 1))
    if columns < 4:
        return shades[step] * columns
    return f"{shades[step]}{_three(value / 1000.0)}"


def _three(kw: float) -> str:
    """Kilowatts in three characters: ``1.2``, ``-.3``, `` 12``."""
    text = f"{kw:.1f}" if -0.95 < kw < 9.95 else f"{kw:.0f}"
    return f"{text.replace('-0.', '-.'):>3}"


def energy_lines(
    labels: Sequence[str],
    energy_wh: Sequence[float],
    parts_wh: Sequence[Sequence[float]],
    width: int,
) -> Iterator[str]:
    """Energy of each period as a bar of base, heating and cooling.

    Parameters
    ----------
    labels : sequence of str
        name of each period, length n.
    energy_wh : sequence of float
        energy as billed or measured, length n. [Wh]
    parts_wh : sequence of sequences
        base, heating, cooling of each period, three of length n; empty when not split. [Wh]
    width : int
        columns; from 70 on the three parts stand beside the bar as numbers.
    """
    wide = width >= 70 and bool(parts_wh)
    label_room = max(map(len, labels), default=0)
    room = _room(width, label_room + 9 + (24 if wide else 0))
    stacks = [list(part) for part in zip(*parts_wh, strict=True)] or [[one] for one in energy_wh]
    most = max([*(sum(stack) for stack in stacks), *energy_wh, 1.0])
    signs = marks().parts
    yield "Energy by period, kWh"
    if parts_wh:
        yield f"{signs[0]} base  {signs[1]} heating  {signs[2]} cooling"
        if wide:
            heads = "".join(f"{name:>8}" for name in ("base", "heating", "cooling"))
            yield " " * (label_room + room + 2) + f"{'in all':>7}{heads}"
    for label, total, stack in zip(labels, energy_wh, stacks, strict=True):
        ends = [round(room * sum(stack[: i + 1]) / most) for i in range(len(stack))]
        bar = "".join(
            sign * (end - start) for sign, start, end in zip(signs, [0, *ends], ends, strict=False)
        )
        numbers = "".join(f"{part / 1000.0:>8,.0f}" for part in stack) if wide else ""
        yield f"{label:<{label_room}} {bar:<{room}} {total / 1000.0:>7,.0f}{numbers}"


def _room(width: int, taken: int) -> int:
    """Columns for a bar: what is left, at most 60."""
    return max(8, min(width - taken - 1, 60))
