"""How far independence of loads, given month and hour, understates demand on a real house.

Not a speed: a bias, printed as the ratio of measured to independent. The measured hours of
one house are compared with the same circuits' hours shuffled within each month and hour, each
circuit by itself, so that every circuit keeps its law and only what links them is lost.

    python tests/bench/independence_bias.py --data DIR

Data: ``houses/AMPdsR1_1hr_Wh.csv``, AMPds release 1 (Makonin S. et al. 2013; CC BY 4.0 for the
later release): one house in British Columbia, 19 circuits and the whole, two years, Wh per
hour. What no circuit holds is one more circuit. The data are not part of this project.
"""

from __future__ import annotations

import argparse
import csv
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SHUFFLES = 30
NOT_CIRCUITS = ("TimeStamp", "WHE", "M_E", "RSE")
"""Time, the whole house, the mains (house and suite) and the rented suite."""


def read(path: Path) -> tuple[Array, list[NDArray[np.int64]], NDArray[np.int64]]:
    """Hours by circuit (n, circuits), rows of each month-hour, and the month of each row."""
    with path.open(encoding="utf-8", newline="") as file:
        heading, *rows = csv.reader(file)
    table = np.array([[float(x) for x in row] for row in rows])
    zone = ZoneInfo("America/Vancouver")
    local = [datetime.fromtimestamp(s, UTC).astimezone(zone) for s in table[:, 0]]
    month = np.array([moment.year * 12 + moment.month - 1 for moment in local])
    hour = np.array([moment.hour for moment in local])
    circuits = table[:, [k for k, name in enumerate(heading) if name not in NOT_CIRCUITS]]
    rest = table[:, heading.index("WHE")] - circuits.sum(axis=1)
    full = [m for m in np.unique(month) if (month == m).sum() > 600]
    cells = [np.flatnonzero((month == m) & (hour == h)) for m in full for h in range(24)]
    return np.column_stack([circuits, rest]), cells, month


def figures(whole: Array, cells: list[NDArray[np.int64]], month: NDArray[np.int64]) -> Array:
    """Variance and 50, 95, 99 % points, mean over month-hours, and the mean monthly maximum."""
    points = np.mean([np.quantile(whole[cell], (0.5, 0.95, 0.99)) for cell in cells], axis=0)
    variance = np.mean([whole[cell].var() for cell in cells])
    months = np.unique(month[np.concatenate(cells)])
    highest = np.mean([whole[month == m].max() for m in months])
    return np.array([variance, *points, highest])


def main() -> None:
    """Print measured over independent, with the spread between shuffles."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True, help="folder with the measured data")
    path = parser.parse_args().data / "houses" / "AMPdsR1_1hr_Wh.csv"
    circuits, cells, month = read(path)
    rng = np.random.default_rng(1)
    shuffled = []
    for _ in range(SHUFFLES):
        mixed = circuits.copy()
        for cell in cells:
            mixed[cell] = rng.permuted(circuits[cell], axis=0)
        shuffled.append(figures(mixed.sum(axis=1), cells, month))
    ratios = figures(circuits.sum(axis=1), cells, month) / np.array(shuffled)
    names = ("variance", "50 % point", "95 % point", "99 % point", "highest hour of a month")
    for name, column in zip(names, ratios.T, strict=True):
        print(f"{name}: measured is {column.mean():.3f} ± {column.std():.3f} x independent")


if __name__ == "__main__":
    main()
