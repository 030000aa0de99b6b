"""What each load asks for at a start, as a range beside what it draws running."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.figures.svg import canvas, shortened, svg_text
from loadlib.figures.theme import light

__all__ = ["start_ranges"]


def start_ranges(
    names: Sequence[str],
    start_va: Sequence[Range],
    running_va: Sequence[float],
    *,
    size: str = "wide",
    key: str = "starts",
    title: str = "What starts hardest",
) -> str:
    """One row a load: a line from the 5 % to the 95 % point of the start, a dot at the typical.

    Parameters
    ----------
    names : sequence of str
        any text, length n; long ones are shortened in the picture.
    start_va : sequence of Range
        the whole draw at a start, length n. [VA]
    running_va : sequence of float
        typical draw while on, length n; an upright mark. [VA]

    Returns
    -------
    str
        one ``<svg>`` element.
    """
    if not len(names) == len(start_va) == len(running_va) or not names:
        raise InputError(f"{len(names)} names, {len(start_va)} starts, {len(running_va)} runnings")
    rows = range(len(names))
    letters = 30 if size == "wide" else 15
    with canvas(size, 76.0 + 22.0 * len(names)) as (figure, axes):
        axes.hlines(
            rows, [r.low / 1000.0 for r in start_va], [r.high / 1000.0 for r in start_va],
            colors=light("main"), linewidth=5.0,
        )  # fmt: skip
        axes.plot(
            [r.typical / 1000.0 for r in start_va], rows, "o", color=light("ink"), markersize=6.0,
            label="at a start",
        )  # fmt: skip
        axes.plot(
            [va / 1000.0 for va in running_va], rows, "|", color=light("accent"), markersize=13.0,
            markeredgewidth=2.0, label="running",
        )  # fmt: skip
        axes.set_yticks(rows, [f"@{row}" for row in rows])
        # Room for the names, which are put in later: about 6 px a letter.
        shown = [shortened(name, letters) for name in names]
        axes.tick_params(axis="y", length=0.0, pad=4.0)
        gutter = _gutter(shown, size)
        figure.set_layout_engine("constrained", rect=(gutter, 0.0, 1.0 - gutter, 1.0))
        axes.set_ylim(len(names) - 0.5, -0.5)
        axes.set_xlim(left=0.0)
        axes.set_xlabel("kVA")
        axes.grid(axis="x")
        axes.legend(
            frameon=False, ncols=2, loc="lower left", bbox_to_anchor=(0.0, 1.0), fontsize=9.5,
            borderaxespad=0.0,
        )  # fmt: skip
        hardest = max(rows, key=lambda row: start_va[row].typical)
        most = start_va[hardest]
        words = (
            f"Hardest: {shortened(names[hardest], 60)}, {most.typical / 1000.0:.2g} kVA "
            f"({most.low / 1000.0:.2g} to {most.high / 1000.0:.2g}) at a start."
        )
        return svg_text(figure, key=key, title=title, description=words, names=shown)


def _gutter(shown: Sequence[str], size: str) -> float:
    """Share of the width that the names take, less the two letters of their place marks."""
    width = 640.0 if size == "wide" else 330.0
    return min(6.3 * max(map(len, shown)), 0.45 * width) / width
