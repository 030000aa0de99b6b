"""Load-duration curve, and overloads against the size of a source."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError
from loadlib.figures.svg import canvas, svg_text
from loadlib.figures.theme import light

__all__ = ["OFTEN_PER_DAY", "duration_curve", "overload_curve"]

OFTEN_PER_DAY = {
    "10 an hour": 240.0,
    "1 an hour": 24.0,
    "1 a day": 1.0,
    "1 a week": 1.0 / 7.0,
    "1 a month": 12.0 / 365.0,
    "1 a year": 1.0 / 365.0,
}
"""Rates in words, for the axis."""


def duration_curve(
    share: Sequence[float] | NDArray[np.float64],
    power_w: Sequence[float] | NDArray[np.float64],
    *,
    size: str = "wide",
    key: str = "duration",
    title: str = "Load-duration curve",
) -> str:
    """Demand against the share of the time in which it is passed.

    Parameters
    ----------
    share : array
        shares of the time, rising from 0 to 1, shape (n,).
    power_w : array
        demand that is passed for that share, never rising, shape (n,). [W]

    Returns
    -------
    str
        one ``<svg>`` element; 1, 10 and 50 % are marked.
    """
    at = np.asarray(share, dtype=np.float64)
    power = np.asarray(power_w, dtype=np.float64)
    if at.shape != power.shape or at.size < 2 or np.any(np.diff(at) < 0.0):
        raise InputError("a load-duration curve needs two points or more, by rising share")
    marks = (0.01, 0.10, 0.50)
    marked = [float(np.interp(mark, at, power)) for mark in marks]
    with canvas(size, 240.0) as (figure, axes):
        axes.fill_between(100.0 * at, power / 1000.0, color=light("band"), linewidth=0.0)
        axes.plot(100.0 * at, power / 1000.0, color=light("main"), linewidth=2.0)
        for mark, value in zip(marks, marked, strict=True):
            axes.plot(
                [100.0 * mark], [value / 1000.0], "o", color=light("ink"), markersize=4.5,
                clip_on=False,
            )  # fmt: skip
            axes.annotate(
                f"{100.0 * mark:.0f} %: {value / 1000.0:.2g} kW",
                (100.0 * mark, value / 1000.0), (7.0, 4.0),
                textcoords="offset points", fontsize=10.0, color=light("ink"),
            )  # fmt: skip
        axes.set_xlim(0.0, 100.0)
        axes.set_ylim(0.0, 1.08 * max(float(power.max()), 1.0) / 1000.0)
        axes.set_xlabel("share of the time, %")
        axes.set_ylabel("kW")
        axes.grid(axis="y")
        words = "; ".join(
            f"above {value / 1000.0:.2g} kW for {100.0 * mark:.0f} % of the time"
            for mark, value in zip(marks, marked, strict=True)
        )
        return svg_text(figure, key=key, title=title, description=f"Demand is {words}.")


def overload_curve(
    size_w: Sequence[float] | NDArray[np.float64],
    least_per_day: Sequence[float] | NDArray[np.float64],
    most_per_day: Sequence[float] | NDArray[np.float64],
    no_reserve_per_day: Sequence[float] | NDArray[np.float64] = (),
    *,
    unit: str = "kVA",
    size: str = "wide",
    key: str = "overloads",
    title: str = "Expected overloads against the size of the source",
) -> str:
    """How often demand rises through a source's running limit, on a log scale.

    Parameters
    ----------
    size_w : array
        running limits, rising, shape (n,); W, or VA with ``unit="kVA"``. [W]
    least_per_day, most_per_day : array
        bracket of the expected overloads a day, shape (n,).
    no_reserve_per_day : array
        the same for a source that can give no more at a start than it gives steadily;
        shape (n,), or empty.

    Returns
    -------
    str
        one ``<svg>`` element; rates below one in two years lie below the scale.
    """
    limits = np.asarray(size_w, dtype=np.float64)
    rows = [np.asarray(row, dtype=np.float64) for row in (least_per_day, most_per_day)]
    extra = np.asarray(no_reserve_per_day, dtype=np.float64)
    if limits.size < 2 or any(row.shape != limits.shape for row in rows):
        raise InputError("overloads need two sizes or more, with two rates each")
    if extra.size and extra.shape != limits.shape:
        raise InputError(f"{extra.size} rates without reserve for {limits.size} sizes")
    floor = OFTEN_PER_DAY["1 a year"] / 2.0
    least, most = (np.maximum(row, floor) for row in rows)
    top = max(float(most.max()), float(extra.max()) if extra.size else 0.0, 1.0)
    with canvas(size, 270.0) as (figure, axes):
        axes.fill_between(limits / 1000.0, least, most, color=light("band"), linewidth=0.0)
        axes.plot(
            limits / 1000.0, most, color=light("main"), linewidth=2.0,
            label="source that carries every start",
        )  # fmt: skip
        if extra.size:
            axes.plot(
                limits / 1000.0, np.maximum(extra, floor), color=light("accent"), linewidth=1.6,
                linestyle=(0, (5.0, 2.0)), label="source with no reserve for starts",
            )  # fmt: skip
        axes.set_yscale("log")
        axes.set_ylim(floor, 2.0 * top)
        shown = {word: rate for word, rate in OFTEN_PER_DAY.items() if floor < rate < 2.0 * top}
        axes.set_yticks(list(shown.values()), list(shown))
        axes.minorticks_off()
        axes.set_xlim(float(limits[0]) / 1000.0, float(limits[-1]) / 1000.0)
        axes.set_xlabel(f"running limit of the source, {unit}")
        axes.grid()
        axes.legend(
            frameon=False, ncols=2 if size == "wide" else 1, loc="lower left",
            bbox_to_anchor=(0.0, 1.0), fontsize=9.5, borderaxespad=0.0,
        )  # fmt: skip
        return svg_text(
            figure, key=key, title=title, description=_overload_words(limits, rows[1], unit)
        )


def _overload_words(limits: NDArray[np.float64], most: NDArray[np.float64], unit: str) -> str:
    words = []
    for name in ("1 a day", "1 a week", "1 a month"):
        below = np.nonzero(np.maximum.accumulate(most[::-1])[::-1] <= OFTEN_PER_DAY[name])[0]
        if below.size:
            words.append(f"at most {name} from {limits[below[0]] / 1000.0:.2g} {unit}")
    if not words:
        return "More than one a day at every size shown."
    return "If the source carries every start: " + "; ".join(words) + "."
