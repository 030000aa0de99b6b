"""The shipped tables of the peak model, read once and kept.

``seed_data/make/fit_peak.py`` writes them; this is the only module of the package that opens
a file.
"""

from __future__ import annotations

import csv
import functools
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from loadlib.errors import DataError
from loadlib.peak.features import LEVELS
from loadlib.peak.model import Array, Fitted, Points

__all__ = ["Check", "checks", "fitted", "read", "rise"]

RANGE_PARTS = ("p2.5", "p5", "p95", "p97.5")
POINT_PARTS = ("q5", "q50", "q95")


def read(name: str) -> list[dict[str, str]]:
    """Rows of a seed table, from the installed package or else the repository.

    Raises
    ------
    DataError
        when the table is missing: a broken installation.
    """
    package = Path(__file__).parents[1]
    for folder in (package / "seed_data", package.parent / "seed_data"):
        path = folder / name
        if path.is_file():
            with path.open(newline="", encoding="utf-8") as file:
                return list(csv.DictReader(file))
    raise DataError(
        "a table shipped with loadlib is missing", path=name, hint="Install loadlib again."
    )


@functools.cache
def _model() -> dict[tuple[str, int], list[dict[str, str]]]:
    found: dict[tuple[str, int], list[dict[str, str]]] = {}
    for row in read("peak_model.csv"):
        found.setdefault((row["evidence"], int(row["window_min"])), []).append(row)
    return found


@functools.cache
def fitted(level_name: str, window_min: int) -> Fitted:
    """The fitted model of a kind of evidence for a window of 30 or 60 minutes."""
    rows = _model()[level_name, window_min]
    level = LEVELS[level_name]
    return Fitted(
        level,
        _coefficients(rows, "centre", ("one", *level.centre)),
        _coefficients(rows, "below", ("one", *level.spread)),
        _coefficients(rows, "above", ("one", *level.spread)),
        _ranges(rows),
        _points(rows),
    )


def _coefficients(rows: list[dict[str, str]], part: str, names: Iterable[str]) -> Array:
    values = {row["name"]: float(row["value"]) for row in rows if row["part"] == part}
    return np.array([values[name] for name in names])


def _ranges(rows: list[dict[str, str]]) -> dict[str, tuple[float, float, float, float]]:
    edges: dict[str, dict[str, float]] = {}
    for row in rows:
        if row["part"] in RANGE_PARTS:
            edges.setdefault(row["name"], {})[row["part"]] = float(row["value"])
    return {
        name: (four["p2.5"], four["p5"], four["p95"], four["p97.5"]) for name, four in edges.items()
    }


def _points(rows: list[dict[str, str]]) -> Points:
    kept = [row for row in rows if row["part"] in POINT_PARTS]
    spans = sorted({float(row["span_days"]) for row in kept})
    lengths = sorted({float(row["stretch_days"]) for row in kept})
    grid = np.zeros((len(spans), len(lengths), 3))
    for row in kept:
        i, j = spans.index(float(row["span_days"])), lengths.index(float(row["stretch_days"]))
        grid[i, j, POINT_PARTS.index(row["part"])] = float(row["value"])
    return Points(tuple(spans), tuple(lengths), grid)


@functools.cache
def _ratios() -> dict[tuple[int, int, str], tuple[float, float, float, float]]:
    return {
        (int(row["coarse_min"]), int(row["fine_min"]), row["point"]): (
            float(row["constant"]),
            float(row["slope"]),
            float(row["least_ln_kw"]),
            float(row["most_ln_kw"]),
        )
        for row in read("peak_ratio.csv")
    }


def rise(coarse_min: int, fine_min: int, peak_kw: float) -> tuple[float, float, float]:
    """ln(peak over ``fine_min`` / peak over ``coarse_min``): its 5, 50 and 95 % points.

    From measured homes, by quantile regression on ln(coarse peak [kW]): the larger the peak,
    the longer it lasts. Never below 0 nor above ln(coarse / fine), which arithmetic forbids.
    """
    most = float(np.log(coarse_min / fine_min))
    found = []
    for point in ("low", "typical", "high"):
        constant, slope, least, top = _ratios()[coarse_min, fine_min, point]
        value = constant + slope * float(np.clip(np.log(max(peak_kw, 1e-3)), least, top))
        found.append(float(np.clip(value, 0.0, most)))
    low, typical, high = sorted(found)
    return low, typical, high


@dataclass(frozen=True, slots=True)
class Check:
    """One row of the cross-validation table: how wide and how true a band was on unseen homes."""

    evidence: str
    window_min: int
    span: str
    stretch_days: str
    tested_on: str
    homes: int
    coverage: float
    coverage_se: float
    median_error: float
    factor: float
    factor_median: float


@functools.cache
def checks() -> tuple[Check, ...]:
    """The cross-validation table that ships with the model."""
    return tuple(
        Check(
            row["evidence"],
            int(row["window_min"]),
            row["span"],
            row["stretch_days"],
            row["tested_on"],
            int(row["homes"]),
            *(
                float(row[name])
                for name in ("coverage", "coverage_se", "median_error", "factor", "factor_median")
            ),
        )
        for row in read("peak_cv.csv")
    )
