"""Evidence: everything that is known about one house, read once and frozen.

It is the single argument of every estimator, so new kinds of evidence never break an
old plugin.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from loadlib.core.category import Category
from loadlib.core.household import House
from loadlib.core.readings import Reading
from loadlib.core.series import BillPeriod, Series, Temperatures

__all__ = ["Evidence"]


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What is known: house, catalog entries of its appliances, bills, series, readings.

    ``categories`` holds the catalog entry of every category that the house names; a
    category that the catalog lacks is absent. ``seed`` makes whatever is drawn at random
    the same each time. ``files`` are further files that the user handed to a plugin (paths
    by plugin name).
    """

    house: House
    categories: Mapping[str, Category] = field(default_factory=dict)
    bills: tuple[BillPeriod, ...] = ()
    series: tuple[Series, ...] = ()
    readings: tuple[Reading, ...] = ()
    temperatures: Temperatures | None = None
    files: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    seed: int = 1
