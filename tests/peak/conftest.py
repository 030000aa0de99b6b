"""Measured homes for the peak tests; see SOURCES.md beside this file."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest

from loadlib.peak.periods import Period

Home = tuple[list[Period], dict[int, list[float]]]
HERE = Path(__file__).parent


def month_after(year: int, month: int) -> date:
    return date(year + month // 12, month % 12 + 1, 1)


@pytest.fixture(scope="session")
def london() -> dict[str, Home]:
    """Home -> (twelve bills, window [min] -> highest demand of each month [W])."""
    homes: dict[str, Home] = {}
    with (HERE / "london_months.csv").open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            bills, peaks = homes.setdefault(row["home"], ([], {30: [], 60: []}))
            month = int(row["month"])
            bills.append((date(2013, month, 1), month_after(2013, month), float(row["energy_kwh"])))
            for window in (30, 60):
                peaks[window].append(1000.0 * float(row[f"peak_{window}min_kw"]))
    return homes
