"""Derive use by hour and by month, and energy a year, of one house's circuits.

Input: the hourly table ``AMPdsR1_1hr_Wh.csv`` of AMPds release 1 (Makonin et al. 2013; one house
in British Columbia, April 2012 to March 2014; CC BY 4.0 in its later release). The table is not
part of this project; the numbers derived here are, with attribution. Run:

    python seed_data/make/measure_circuits.py AMPdsR1_1hr_Wh.csv > OUTPUT.csv

Hours and months are local time; each profile has a mean of 1.
"""

from __future__ import annotations

import csv
import sys
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

ZONE = ZoneInfo("America/Vancouver")
CIRCUITS = {
    "CDE": "clothes_dryer",
    "CWE": "clothes_washer",
    "DWE": "dishwasher",
    "FGE": "refrigerator",
    "FRE": "furnace_fan",
    "HPE": "heat_pump",
    "HTE": "instant_hot_water",
    "OFE": "home_office",
    "TVE": "entertainment",
    "WOE": "wall_oven",
}


def profile(values: np.ndarray, keys: np.ndarray, groups: range) -> list[str]:
    """Return the mean of ``values`` by group, scaled to a mean of 1."""
    means = np.array([values[keys == group].mean() for group in groups])
    return [f"{value:.3g}" for value in means / means.mean()]


def main(path: Path) -> None:
    """Write one row a circuit to standard output."""
    with path.open(encoding="ascii", newline="") as file:
        rows = list(csv.DictReader(file))
    local = [datetime.fromtimestamp(int(row["TimeStamp"]), ZONE) for row in rows]
    hours = np.array([moment.hour for moment in local])
    months = np.array([moment.month for moment in local])
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(
        [
            "circuit",
            "annual_kwh",
            *(f"h{hour:02d}" for hour in range(24)),
            *(f"m{month:02d}" for month in range(1, 13)),
        ]
    )
    for column, name in CIRCUITS.items():
        energy_wh = np.array([float(row[column]) for row in rows])
        out.writerow(
            [
                name,
                f"{energy_wh.mean() * 8.76:.0f}",
                *profile(energy_wh, hours, range(24)),
                *profile(energy_wh, months, range(1, 13)),
            ]
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
