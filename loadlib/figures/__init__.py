"""Figures: pure functions from numbers to SVG text, for pages and for files of their own.

Each takes plain numbers in base units and returns one ``<svg>`` element as text: the same
bytes for the same numbers and version of matplotlib. It carries ``role="img"``, a title and
a description that says the main numbers in words; tells things apart by shape, hatching or
lightness as well as by colour; holds no style attribute, script or reference to the outside;
and sets its letters as text in the generic sans-serif family, so that it stays small and can
be searched. ``CSS`` turns every figure of a page dark with the reader's setting;
``standalone`` makes one a file of its own. ``size`` is ``"wide"`` (640 px) or ``"narrow"``
(330 px, for phones). ``key`` keeps ids apart when a page holds several.
"""

from __future__ import annotations

from loadlib.figures.curves import duration_curve, overload_curve
from loadlib.figures.hours import clock_hours, day_curve, month_hour_map
from loadlib.figures.months import energy_by_month
from loadlib.figures.starts import start_ranges
from loadlib.figures.svg import standalone
from loadlib.figures.theme import CSS

__all__ = [
    "CSS",
    "clock_hours",
    "day_curve",
    "duration_curve",
    "energy_by_month",
    "month_hour_map",
    "overload_curve",
    "standalone",
    "start_ranges",
]
