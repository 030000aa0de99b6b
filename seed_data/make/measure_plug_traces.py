"""Derive running watts, on-time, cycles and standby from 1-s traces of single appliances.

Input: a folder ``TYPE/devNN_DATE.csv.xz`` of the tracebase collection (Reinhardt et al. 2012,
ODbL 1.0; 230 V 50 Hz, Germany), each line ``dd/mm/yyyy HH:MM:SS;W``. The traces are not part
of this project; only the numbers derived here are, with attribution. Run:

    python seed_data/make/measure_plug_traces.py FOLDER_OF_TRACES > OUTPUT.csv

An appliance is on while it draws more than its type's threshold. On-times closer together
than the type's gap are one use, so that a thermostat inside a use does not split it. The
running draw of a device is the median of its on samples (for ``plateau`` types, the median
of the samples above half of the 99th percentile: the heater's own draw, without the pauses).
The range of a type is the lowest, the median and the highest device.
"""

from __future__ import annotations

import csv
import lzma
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Kind:
    """How one device type is read: name, threshold [W], gap joined into one use [s]."""

    name: str
    threshold_w: float
    gap_s: float
    plateau: bool = False


KINDS = {
    "Coffeemaker": Kind("coffee_maker", 100, 60, plateau=True),
    "Cookingstove": Kind("electric_cooktop", 100, 300, plateau=True),
    "DigitalTvReceiver": Kind("set_top_box", 8, 60),
    "Dishwasher": Kind("dishwasher", 30, 900, plateau=True),
    "Freezer": Kind("freezer", 40, 30),
    "Iron": Kind("clothes_iron", 100, 300, plateau=True),
    "Lamp": Kind("lamp", 5, 60),
    "LaundryDryer": Kind("clothes_dryer", 50, 900, plateau=True),
    "MicrowaveOven": Kind("microwave_oven", 200, 10, plateau=True),
    "Monitor-TFT": Kind("computer_monitor", 8, 60),
    "PC-Desktop": Kind("desktop_computer", 20, 60),
    "PC-Laptop": Kind("laptop_computer", 8, 60),
    "Refrigerator": Kind("refrigerator", 30, 30),
    "Router": Kind("network_router", 2, 60),
    "TV-CRT": Kind("television_crt", 20, 60),
    "TV-LCD": Kind("television_lcd", 20, 60),
    "Toaster": Kind("toaster", 100, 10, plateau=True),
    "VacuumCleaner": Kind("vacuum_cleaner", 100, 10),
    "Washingmachine": Kind("clothes_washer_heating", 20, 900, plateau=True),
    "WaterBoiler": Kind("water_heater_small", 100, 10, plateau=True),
    "WaterKettle": Kind("electric_kettle", 200, 10, plateau=True),
}
COLUMNS = [
    "type", "device", "days", "running_w", "p95_w", "standby_w", "on_min", "uses",
    "duty_share", "energy_wh_per_day",
]  # fmt: skip


def read_trace(path: Path) -> tuple[Array, Array]:
    """Return seconds of the day and watts [W] of one trace, doubled seconds dropped."""
    seconds, watts = [], []
    with lzma.open(path, "rt", encoding="ascii", errors="replace") as lines:
        for line in lines:
            stamp, _, value = line.strip().partition(";")
            clock = stamp[-8:].split(":")
            if len(clock) == 3 and value:
                seconds.append(int(clock[0]) * 3600 + int(clock[1]) * 60 + int(clock[2]))
                watts.append(float(value))
    first = np.unique(np.array(seconds), return_index=True)
    return first[0].astype(float), np.array(watts)[first[1]]


def uses(second: Array, on: NDArray[np.bool_], gap_s: float) -> Array:
    """Return the length [s] of each use, on-times closer than ``gap_s`` joined."""
    times = second[on]
    if times.size == 0:
        return np.empty(0)
    breaks = np.flatnonzero(np.diff(times) > gap_s + 5)
    starts = np.concatenate(([0], breaks + 1))
    ends = np.concatenate((breaks, [times.size - 1]))
    return times[ends] - times[starts] + 1


def device_row(kind: Kind, name: str, days: list[tuple[Array, Array]]) -> list[str] | None:
    """Return one device's row, or None when it was never on."""
    watts = np.concatenate([w for _, w in days])
    on = watts > kind.threshold_w
    if on.sum() < 30:
        return None
    level = 0.5 * np.percentile(watts[on], 99) if kind.plateau else kind.threshold_w
    lengths = np.concatenate([uses(s, w > kind.threshold_w, kind.gap_s) for s, w in days])
    seen_s = sum(s.size for s, _ in days)
    idle = watts[~on]
    return [
        kind.name,
        name,
        str(len(days)),
        f"{np.median(watts[watts > level]):.0f}",
        f"{np.percentile(watts[on], 95):.0f}",
        f"{np.median(idle):.1f}" if idle.size > 60 else "",
        f"{np.median(lengths) / 60:.1f}",
        str(lengths.size),
        f"{on.sum() / seen_s:.3f}",
        f"{watts.sum() / seen_s * 24:.0f}",
    ]


def main(folder: Path) -> None:
    """Write one row a device to standard output."""
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(COLUMNS)
    for type_name, kind in sorted(KINDS.items()):
        groups: dict[str, list[Path]] = {}
        for path in sorted((folder / type_name).glob("*.csv.xz")):
            groups.setdefault(path.name.split("_")[0], []).append(path)
        for device, paths in groups.items():
            row = device_row(kind, device, [read_trace(path) for path in paths])
            if row is not None:
                out.writerow(row)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
