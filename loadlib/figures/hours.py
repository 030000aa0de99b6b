"""Demand over the hours: a month × hour map, and the curve of a day with its band."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError
from loadlib.figures.svg import canvas, shortened, svg_text
from loadlib.figures.theme import HEAT, MONTHS, light

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["clock_hours", "day_curve", "heat_edges_w", "month_hour_map"]


def heat_edges_w(power_w: NDArray[np.float64], steps: int = len(HEAT)) -> NDArray[np.float64]:
    """Edges of ``steps`` equal steps from 0 (or the least, if negative) to a round top. [W]

    NaN is left out. Returns shape (steps + 1,).
    """
    known = power_w[np.isfinite(power_w)]
    top = float(known.max()) if known.size else 0.0
    low = min(float(known.min()) if known.size else 0.0, 0.0)
    width = max((top - low) / steps, 1e-9)
    scale = 10.0 ** np.floor(np.log10(width))
    width = scale * next(nice for nice in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
                         if nice * scale >= width * (1.0 - 1e-9))  # fmt: skip
    start = np.floor(low / width) * width
    edges: NDArray[np.float64] = start + width * np.arange(steps + 1)
    return edges


def month_hour_map(
    power_w: Sequence[Sequence[float]] | NDArray[np.float64],
    *,
    size: str = "wide",
    key: str = "map",
    title: str = "Mean demand by month and hour",
) -> str:
    """A map of 12 months × 24 hours in seven steps of lightness; NaN stays blank.

    Parameters
    ----------
    power_w : array
        mean demand, shape (12, 24). [W]
    size : str
        ``"wide"`` writes the number into each cell, ``"narrow"`` does not.

    Returns
    -------
    str
        one ``<svg>`` element; the highest cell is framed.
    """
    values = np.asarray(power_w, dtype=np.float64)
    if values.shape != (12, 24):
        raise InputError(f"expected 12 months of 24 hours, got shape {values.shape}")
    edges = heat_edges_w(values)
    step = np.clip(np.searchsorted(edges, values, side="right") - 1, 0, len(HEAT) - 1)
    with canvas(size, 320.0 if size == "wide" else 250.0) as (figure, axes):
        from matplotlib.patches import Patch, Rectangle

        _cells(axes, step, np.isfinite(values))
        if size == "wide":
            _numbers(axes, values, step)
        if np.isfinite(values).any():
            month, hour = divmod(int(np.nanargmax(values)), 24)
            axes.add_patch(
                Rectangle(
                    (hour, month), 1.0, 1.0, fill=False, edgecolor=light("accent"), linewidth=2.0
                )
            )
        axes.set_xlim(0.0, 24.0)
        axes.set_ylim(12.0, 0.0)
        axes.set_yticks(np.arange(12) + 0.5, MONTHS)
        hours = range(0, 25, 3 if size == "wide" else 6)
        axes.set_xticks(list(hours), [f"{hour:d}" for hour in hours])
        axes.set_xlabel("hour of the day" + (" (cells: mean demand, kW)" if size == "wide" else ""))
        axes.spines[["left", "bottom"]].set_visible(False)
        axes.tick_params(axis="y", length=0.0)
        figure.legend(
            handles=[
                Patch(facecolor=light(role), edgecolor=light("muted"), linewidth=0.5)
                for role in HEAT
            ],
            labels=[f"{a / 1000.0:g}–{b / 1000.0:g}" for a, b in pairwise(edges)],
            title="kW",
            loc="outside upper left",
            ncols=7 if size == "wide" else 4,
            frameon=False,
            fontsize=9.0,
            handlelength=1.4,
            columnspacing=0.9,
            handletextpad=0.4,
            alignment="left",
        )
        return svg_text(figure, key=key, title=title, description=_map_words(values))


def _cells(axes: Axes, step: NDArray[np.int64], known: NDArray[np.bool_]) -> None:
    """One shape for each step of lightness."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    for level, role in enumerate(HEAT):
        squares = [
            Path([(h, m), (h + 1, m), (h + 1, m + 1), (h, m + 1), (h, m)], closed=True)
            for m, h in np.argwhere(known & (step == level))
        ]
        if squares:
            shape = Path.make_compound_path(*squares)
            axes.add_patch(PathPatch(shape, color=light(role), linewidth=0.0))


def _numbers(axes: Axes, values: NDArray[np.float64], step: NDArray[np.int64]) -> None:
    for month, hour in np.argwhere(np.isfinite(values)):
        axes.text(
            hour + 0.5, month + 0.5, _cell_kw(values[month, hour]), fontsize=8.5,
            ha="center", va="center",
            color=light("on-high" if step[month, hour] >= len(HEAT) - 2 else "on-low"),
        )  # fmt: skip


def _map_words(values: NDArray[np.float64]) -> str:
    if not np.isfinite(values).any():
        return "No hour is known."
    month, hour = divmod(int(np.nanargmax(values)), 24)
    low_month, low_hour = divmod(int(np.nanargmin(values)), 24)
    return (
        f"Highest in {MONTHS[month]} from {hour}:00, {_kw(values[month, hour])} kW; lowest in "
        f"{MONTHS[low_month]} from {low_hour}:00, {_kw(values[low_month, low_hour])} kW."
    )


def day_curve(
    mean_w: Sequence[float],
    low_w: Sequence[float],
    high_w: Sequence[float],
    highest_w: Sequence[float],
    *,
    top_w: float | None = None,
    size: str = "wide",
    key: str = "day",
    title: str = "Demand over a day",
) -> str:
    """Demand by hour of one month: mean, band from 5 % to 95 % of the time, and 99 %.

    Parameters
    ----------
    mean_w, low_w, high_w, highest_w : sequence of float
        mean, 5 %, 95 % and 99 % point of each clock hour, length 24. [W]
    top_w : float
        top of the scale, so that several curves share one. [W] Default: from the numbers.

    Returns
    -------
    str
        one ``<svg>`` element.
    """
    rows = [np.asarray(row, dtype=np.float64) for row in (mean_w, low_w, high_w, highest_w)]
    if any(row.shape != (24,) for row in rows):
        raise InputError("a day has 24 hours")
    mean, low, high, highest = (np.append(row, row[-1]) / 1000.0 for row in rows)
    hour = np.arange(25)
    with canvas(size, 230.0) as (figure, axes):
        axes.fill_between(
            hour, low, high, step="post", color=light("band"), linewidth=0.0,
            label="nine moments in ten" if size == "wide" else "9 in 10",
        )  # fmt: skip
        axes.step(
            hour, highest, where="post", color=light("accent"), linewidth=1.2,
            linestyle=(0, (2.0, 2.0)),
            label="passed 1 % of the time" if size == "wide" else "passed 1 %",
        )  # fmt: skip
        axes.step(hour, mean, where="post", color=light("main"), linewidth=2.0, label="mean")
        axes.set_xlim(0.0, 24.0)
        axes.set_ylim(0.0, None if top_w is None else 1.05 * top_w / 1000.0)
        axes.set_xticks(range(0, 25, 3 if size == "wide" else 6))
        axes.set_xlabel("hour of the day")
        axes.set_ylabel("kW")
        axes.grid(axis="y")
        axes.legend(
            frameon=False, ncols=3, loc="lower left", bbox_to_anchor=(0.0, 1.0), fontsize=9.5,
            columnspacing=1.0, handlelength=1.6, borderaxespad=0.0,
        )  # fmt: skip
        top = int(np.argmax(rows[0]))
        words = (
            f"The mean is highest from {top}:00, {_kw(rows[0][top])} kW; the 95 % point reaches "
            f"{_kw(float(rows[2].max()))} kW and the 99 % point {_kw(float(rows[3].max()))} kW."
        )
        return svg_text(figure, key=key, title=title, description=words)


_LINES = (
    ("main", "solid", 2.2),
    ("accent", (0, (5.0, 2.0)), 1.8),
    ("ink", (0, (1.5, 1.5)), 1.8),
    ("muted", (0, (6.0, 2.0, 1.0, 2.0)), 1.8),
)
"""Colour, dashes and width of the first, second … line of a figure that holds several."""


def clock_hours(
    names: Sequence[str],
    mean_w: Sequence[Sequence[float] | NDArray[np.float64]],
    *,
    unit: str = "kW",
    size: str = "wide",
    key: str = "clock",
    title: str = "Mean by clock hour",
) -> str:
    """Mean demand by clock hour of up to four places, told apart by dashes; NaN leaves a gap.

    Parameters
    ----------
    names : sequence of str
        what each line is, length n, 1 to 4.
    mean_w : sequence
        mean of each clock hour, shape (n, 24). [W, or VA with ``unit="kVA"``]
    unit : str
        name of a thousand of them, for the axis and the words.

    Returns
    -------
    str
        one ``<svg>`` element.
    """
    rows = np.asarray(mean_w, dtype=np.float64)
    if rows.shape != (len(names), 24) or not 1 <= len(names) <= len(_LINES):
        raise InputError(f"expected 1 to {len(_LINES)} rows of 24 hours, got shape {rows.shape}")
    with canvas(size, 240.0) as (figure, axes):
        for k, (row, (role, dashes, width)) in enumerate(zip(rows, _LINES, strict=False)):
            axes.step(
                np.arange(25), np.append(row, row[-1]) / 1000.0, where="post", label=f"@{k}",
                color=light(role), linestyle=dashes, linewidth=width,
            )  # fmt: skip
        axes.set_xlim(0.0, 24.0)
        axes.set_ylim(bottom=min(float(np.nanmin(rows, initial=0.0)) / 1000.0, 0.0))
        axes.set_xticks(range(0, 25, 3 if size == "wide" else 6))
        axes.set_xlabel("hour of the day")
        axes.set_ylabel(unit)
        axes.grid(axis="y")
        axes.legend(
            frameon=False, ncols=1, loc="lower left", bbox_to_anchor=(0.0, 1.0), fontsize=9.5,
            handlelength=2.6, borderaxespad=0.0,
        )  # fmt: skip
        shown = [shortened(name, 60 if size == "wide" else 32) for name in names]
        return svg_text(
            figure, key=key, title=title, description=_clock_words(shown, rows, unit), names=shown
        )


def _clock_words(names: Sequence[str], rows: NDArray[np.float64], unit: str) -> str:
    words = []
    for name, row in zip(names, rows, strict=True):
        if not np.isfinite(row).any():
            words.append(f"{name}: no hour is known.")
            continue
        top, low = int(np.nanargmax(row)), int(np.nanargmin(row))
        words.append(
            f"{name}: highest from {top}:00, {_kw(row[top])} {unit}; "
            f"lowest from {low}:00, {_kw(row[low])} {unit}."
        )
    return " ".join(words)


def _kw(power_w: float) -> str:
    """Kilowatts with two or three digits."""
    kw = power_w / 1000.0
    return f"{kw:.2g}" if abs(kw) < 10.0 else f"{kw:.0f}"


def _cell_kw(power_w: float) -> str:
    """Kilowatts for a narrow cell: ``.8``, ``1.2``, ``12``."""
    kw = power_w / 1000.0
    return f"{kw:.1f}".removeprefix("0") if abs(kw) < 9.95 else f"{kw:.0f}"
