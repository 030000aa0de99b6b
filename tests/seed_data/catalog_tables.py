"""The seed tables of the appliance catalog, read once for the tests of this folder."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

SEED = Path(__file__).resolve().parents[2] / "seed_data"
HERE = Path(__file__).resolve().parent
GROUNDED = {"read_in_source", "cross_checked_by_two_pages", "measured_from_dataset"}

Row = dict[str, str]


@cache
def table(name: str) -> tuple[Row, ...]:
    """Return the rows of ``seed_data/NAME.csv``."""
    return rows_of(SEED / f"{name}.csv")


def rows_of(path: Path) -> tuple[Row, ...]:
    """Return the rows of a CSV table."""
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


@cache
def by_key() -> dict[tuple[str, str], Row]:
    """Return the rows of ``values.csv`` by category and quantity."""
    return {(row["category"], row["quantity"]): row for row in table("values")}


def value(category: str, quantity: str, point: str = "typical") -> float:
    """Return one number of ``values.csv``."""
    return float(by_key()[category, quantity][point])


@cache
def season_share(season: str) -> float:
    """Return mean month over busiest month of a season."""
    row = next(row for row in table("seasons") if row["season"] == season)
    months = [float(row[f"m{month:02d}"]) for month in range(1, 13)]
    return sum(months) / 12 / max(months)
