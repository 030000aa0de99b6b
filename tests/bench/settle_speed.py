"""Settling 60 loads with twelve bills, a year of hourly data and twenty readings.

Floor: numpy alone solving, once for each draw and step of the fit, the linear systems of that
many claims. Printed: milliseconds and the ratio to the floor; warm, imports excluded.
"""

from __future__ import annotations

import csv
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np

from loadlib.core.claims import Claim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.readings import Reading
from loadlib.core.series import BillPeriod, Series
from loadlib.estimating import evidence_of, hear
from loadlib.estimators.posterior import DRAWS
from loadlib.estimators.settle import settle
from loadlib.host import Host
from loadlib.store.seed import seed_root

LOADS, READINGS = 60, 20
START = datetime(2025, 1, 1, tzinfo=UTC)


def house() -> House:
    """Sixty appliances of sixty kinds, on twenty circuits."""
    with (seed_root() / "categories.csv").open(encoding="utf-8") as table:
        kinds = [row["category"] for row in csv.DictReader(table)][:: 289 // LOADS]
    circuits = tuple(Circuit(f"circuit {k}", (k + 1,), "AB"[k % 2], 20.0) for k in range(20))
    appliances = tuple(
        Appliance(f"a{k}", kinds[k], kinds[k], circuit=f"circuit {k % 20}") for k in range(LOADS)
    )
    return House("sixty loads", circuits=circuits, appliances=appliances)


def evidence() -> Evidence:
    rng = np.random.default_rng(1)
    hours = np.arange(8760)
    mean_w = 1200.0 + 400.0 * np.sin(hours * 2 * np.pi / 24) + rng.gamma(2.0, 150.0, hours.size)
    start_s = int(START.timestamp())
    series = Series("meter", "whole", "import", start_s, 3600, mean_w, "", "made up")
    bills = []
    for month in range(1, 13):
        first = date(2025, month, 1)
        after = date(2025 + month // 12, month % 12 + 1, 1)
        low, high = ((day - date(2025, 1, 1)).days * 24 for day in (first, after))
        bills.append(BillPeriod(first, after, float(mean_w[low:high].sum())))
    readings = tuple(
        Reading(
            f"circuit circuit {k}",
            "clamp",
            "running",
            amps=float(rng.uniform(1.0, 9.0)),
            legs=("AB"[k % 2],),
            at=START + timedelta(hours=400 * k),
        )
        for k in range(READINGS)
    )
    return replace(evidence_of(house()), bills=tuple(bills), series=(series,), readings=readings)


def best_of(work: Callable[[], object], times: int = 3) -> float:
    took = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        took.append(time.perf_counter() - started)
    return min(took)


def main() -> None:
    given = evidence()
    claims: tuple[tuple[str, Claim], ...] = hear(given, Host.load()).claims
    found = settle(given, claims, 1)
    rows, size = found.posterior.jacobian.shape
    jacobian = np.random.default_rng(0).normal(size=(25, rows, size))

    def floor() -> None:
        for _ in range(DRAWS // 25 * 8):
            inner = jacobian @ np.swapaxes(jacobian, 1, 2) + np.eye(rows)
            np.linalg.solve(inner, np.ones((25, rows, 1)))

    base, whole = best_of(floor), best_of(lambda: settle(given, claims, 1))
    print(f"{len(given.house.appliances)} loads, {rows} claims about demand, {size} unknowns")
    print(f"floor (the linear systems alone)  {base * 1e3:7.0f} ms")
    print(f"settle                            {whole * 1e3:7.0f} ms   {whole / base:.2f} x floor")


if __name__ == "__main__":
    main()
