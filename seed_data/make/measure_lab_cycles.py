"""Derive running watts from recorded cycles of a range, an induction range and a dryer (240 V).

Input: the folder ``defaults`` of a public Python package of NREL (0.9.2, BSD-3), in which
``Cooking Range/*Event Schedules.csv`` and ``Clothes Dryer/Event Schedules.csv`` hold one
recorded cycle a column, kW every 0.2 s or 1 s. The recordings are not part of this project;
only the numbers derived here are. Run:

    python seed_data/make/measure_lab_cycles.py --data FOLDER > OUTPUT.csv

The draw of a cycle is the median of its samples above half of their 99th percentile: the
element's own draw, without the pauses of its thermostat. ``share_on`` is the share of samples
above that level.
"""

from __future__ import annotations

import argparse
import csv
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FILES = {
    "range": Path("Cooking Range/Event Schedules.csv"),
    "induction_range": Path("Cooking Range/Induction Event Schedules.csv"),
    "dryer": Path("Clothes Dryer/Event Schedules.csv"),
}
COLUMNS = ["appliance", "cycle", "step_s", "running_w", "largest_w", "share_on"]


def read_cycles(path: Path) -> tuple[float, dict[str, Array]]:
    """Return the step [s] and the draw [W] of each recorded cycle."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        head, *rows = csv.reader(file)
    step_s = float(rows[1][0]) - float(rows[0][0])
    columns = {
        name: np.array([1e3 * float(row[place]) for row in rows if row[place]])
        for place, name in enumerate(head)
        if place > 0
    }
    return step_s, columns


def cycle_row(appliance: str, cycle: str, step_s: float, watts: Array) -> list[str]:
    """Return one line of the output."""
    on = watts > 0.5 * np.percentile(watts[watts > 0.05 * watts.max()], 99)
    return [
        appliance,
        cycle,
        f"{step_s:g}",
        f"{np.median(watts[on]):.0f}",
        f"{watts.max():.0f}",
        f"{on.mean():.3f}",
    ]


def main() -> None:
    """Write one row a cycle to standard output."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--data", type=Path, required=True, help="folder of the recordings")
    folder = parser.parse_args().data
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(COLUMNS)
    for appliance, path in FILES.items():
        step_s, cycles = read_cycles(folder / path)
        for cycle, watts in cycles.items():
            out.writerow(cycle_row(appliance, cycle, step_s, watts))


if __name__ == "__main__":
    main()
