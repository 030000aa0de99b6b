"""Energy by month: bars with their range, or bars made of base, heating and cooling."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.core.ranges import Range
from loadlib.errors import InputError
from loadlib.figures.svg import canvas, svg_text
from loadlib.figures.theme import MONTHS, light

__all__ = ["energy_by_month"]

_PARTS = (("base", "band", ""), ("heating", "second", "////"), ("cooling", "third", "\\\\\\\\"))
"""Part of the energy, its colour and its hatching."""


def energy_by_month(
    energy_wh: Sequence[Range | None],
    parts_wh: Sequence[Sequence[float]] = (),
    *,
    labels: Sequence[str] = MONTHS,
    size: str = "wide",
    key: str = "months",
    title: str = "Energy by month",
) -> str:
    """Bars of energy; whiskers from the 5 % to the 95 % point where there is doubt.

    With parts the bars are stacked from them, and a diamond marks the energy as it is: a fit
    need not add up to it.

    Parameters
    ----------
    energy_wh : sequence of Range or None
        energy of each month, length n; None leaves a gap. [Wh]
    parts_wh : sequence of sequences
        base, heating and cooling of each month, three of length n; empty where unknown. [Wh]
    labels : sequence of str
        name of each month, length n; drawn as given.

    Returns
    -------
    str
        one ``<svg>`` element.
    """
    if len(energy_wh) != len(labels) or any(len(part) != len(labels) for part in parts_wh):
        raise InputError(f"{len(energy_wh)} months of energy for {len(labels)} labels")
    at = list(range(len(labels)))
    with canvas(size, 250.0) as (figure, axes):
        bottom = [0.0] * len(labels)
        if parts_wh:
            for part, (name, role, hatch) in zip(parts_wh, _PARTS, strict=True):
                height = [value / 1000.0 for value in part]
                if any(height):
                    axes.bar(
                        at, height, 0.72, bottom, color=light(role), hatch=hatch, label=name,
                        edgecolor=light("ink"), linewidth=0.6,
                    )  # fmt: skip
                bottom = [a + b for a, b in zip(bottom, height, strict=True)]
            exact = [(i, e.typical / 1000.0) for i, e in enumerate(energy_wh) if e is not None]
            axes.plot(
                [i for i, _ in exact],
                [kwh for _, kwh in exact],
                "D",
                color=light("ink"),
                markersize=4.5,
                label="in all" if size == "wide" else "all",
            )
            axes.legend(
                frameon=False,
                ncols=4,
                columnspacing=1.0,
                loc="lower left",
                bbox_to_anchor=(0.0, 1.0),
            )
        else:
            typical = [0.0 if e is None else e.typical / 1000.0 for e in energy_wh]
            axes.bar(at, typical, 0.72, color=light("band"), edgecolor=light("main"), linewidth=1.0)
        known = [(i, e) for i, e in zip(at, energy_wh, strict=True) if e is not None]
        doubtful = [(i, e) for i, e in known if not e.is_exact]
        if doubtful:
            axes.vlines(
                [i for i, _ in doubtful],
                [e.low / 1000.0 for _, e in doubtful],
                [e.high / 1000.0 for _, e in doubtful],
                colors=light("ink"),
                linewidth=1.6,
            )
        axes.set_xticks(at, [f"@{i}" for i in at])
        axes.set_ylabel("kWh")
        axes.set_ylim(bottom=0.0)
        axes.tick_params(axis="x", length=0.0, labelsize=11.0 if size == "wide" else 8.5)
        axes.grid(axis="y")
        return svg_text(
            figure, key=key, title=title, description=_words(known, labels), names=labels
        )


def _words(known: Sequence[tuple[int, Range]], labels: Sequence[str]) -> str:
    if not known:
        return "No month is known."
    most = max(known, key=lambda pair: pair[1].typical)
    least = min(known, key=lambda pair: pair[1].typical)
    return (
        f"Most in {labels[most[0]]}, {most[1].typical / 1000:,.0f} kWh "
        f"({most[1].low / 1000:,.0f} to {most[1].high / 1000:,.0f}); least in "
        f"{labels[least[0]]}, {least[1].typical / 1000:,.0f} kWh."
    )
