"""Steps, cycles and matching against real traces.

1. Single appliances at one second (tracebase, Reinhardt A. et al. 2012, ODbL 1.0: derived
   numbers only): running watts, share of time on and length of a time on,
   beside an independent computation (a plain level of watts).
2. Kettle, microwave oven, dishwasher and washing machine found in the minute data of a whole
   house (REFIT house 20, Murray D. et al. 2017, CC BY 4.0) against their own sub-meters:
   precision and recall of times on, error of the energy.
"""

from __future__ import annotations

import argparse
import gzip
import lzma
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from loadlib.clamp.cycles import Cycles, on_off, pair_edges
from loadlib.clamp.matching import assign
from loadlib.clamp.steps import find_steps
from loadlib.core.household import Appliance, House
from loadlib.estimating import evidence_of
from loadlib.estimators.clamp_logs import signature_of

Array = NDArray[np.float64]

LEVEL_W = {
    "Refrigerator": 40.0,
    "Freezer": 40.0,
    "LaundryDryer": 800.0,
    "Dishwasher": 800.0,
    "Washingmachine": 800.0,
    "WaterKettle": 800.0,
}
"""Kinds that are looked at, and what counts as on: compressor, or heater. [W]"""
_SHORT_GAP_S = 5


def trace(path: Path) -> Array:
    """One-second power of a day; gaps of a few seconds are filled with the last value. [W]"""
    with lzma.open(path, "rt") as stream:
        rows = [line.split(";") for line in stream.read().split("\n") if ";" in line]
    stamps = np.array(
        [f"{r[0][6:10]}-{r[0][3:5]}-{r[0][0:2]}T{r[0][11:19]}" for r in rows], "datetime64[s]"
    ).astype(np.int64)
    power = np.full(stamps[-1] - stamps[0] + 1, np.nan)
    power[stamps - stamps[0]] = [float(r[1]) for r in rows]
    for _ in range(_SHORT_GAP_S):
        hole = np.flatnonzero(np.isnan(power[1:])) + 1
        power[hole] = power[hole - 1]
    return power


def by_watts(power: Array, level_w: float) -> tuple[float, float, float, int]:
    """Running W (mean while on), share of time on, mean length of a time on [s], number.

    On is whatever lies above a plain level chosen for the kind by eye; times on apart by less
    than 20 s are one, shorter ones are left out.
    """
    on = (np.nan_to_num(power) > level_w).astype(np.int8)
    edges = np.diff(np.concatenate(([0], on, [0])))
    begin, end = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    if begin.size == 0:
        return 0.0, 0.0, 0.0, 0
    near = begin[1:] - end[:-1] < 20
    begin, end = begin[np.append(True, ~near)], end[np.append(~near, True)]
    real = end - begin >= 20
    length = (end - begin)[real]
    kept = [np.nan_to_num(power[b:e]) for b, e in zip(begin[real], end[real], strict=True)]
    mean = float(np.concatenate(kept).mean())
    return mean, float(length.sum() / power.size), float(length.mean()), int(real.sum())


def single(folder: Path) -> Iterator[tuple[str, ...]]:
    for kind in LEVEL_W:
        for path in sorted((folder / "plug_1s" / kind).glob("*.xz")):
            power = trace(path)
            cycles = on_off(power, 1.0)
            if len(cycles) < 2:
                continue
            watts, share, length, count = by_watts(power, LEVEL_W[kind])
            if count == 0:
                continue
            base = float(np.nanquantile(power, 0.05))
            on_s = cycles.on_s(1.0)
            size = float((cycles.size_w * on_s).sum() / on_s.sum()) + base
            duty = float(on_s.sum() / power.size)
            yield (
                kind,
                path.stem.removesuffix(".csv"),
                f"{size:.0f} / {watts:.0f}",
                f"{duty:.3f} / {share:.3f}",
                f"{on_s.mean():.0f} / {length:.0f}",
                f"{on_s.size} / {count}",
                f"{size / watts - 1:+.1%}",
                f"{duty / share - 1:+.1%}",
            )


HOUSE = House(
    "British house",
    system="230",
    timezone="Europe/London",
    appliances=tuple(
        Appliance(key, key, category)
        for key, category in (
            ("kettle", "electric_kettle_230v"),
            ("dishwasher", "dishwasher_230v"),
            ("washing machine", "clothes_washer_heating_230v"),
            ("microwave oven", "microwave_oven"),
            ("fridge", "fridge_freezer_230v"),
            ("freezer", "freezer_chest_230v"),
            ("dryer", "tumble_dryer_230v"),
            ("oven", "electric_oven_230v"),
            ("vacuum", "vacuum_cleaner"),
            ("iron", "clothes_iron"),
            ("toaster", "toaster"),
        )
    ),
)
SUBMETERS = {
    "kettle": "Kettle",
    "dishwasher": "Dishwasher",
    "washing machine": "WashingMachine",
    "microwave oven": "Microwave",
}


def minute_data(folder: Path) -> tuple[int, dict[str, Array]]:
    paths = sorted((folder / "houses" / "uk_1min").glob("REFIT_House20_*.gzip"))
    tables = [pl.read_csv(gzip.decompress(p.read_bytes()), try_parse_dates=True) for p in paths]
    table = pl.concat(tables)
    stamps = table["Time"].dt.epoch("s").to_numpy()
    first = int(stamps.min() // 60 * 60)
    slots = (stamps - first) // 60
    columns = {}
    for name in table.columns[1:]:
        values = np.full(int(slots.max()) + 1, np.nan)
        values[slots] = table[name].to_numpy()
        columns[name] = values
    return first, columns


def real_times_on(power: Array) -> Cycles:
    """Times on of a sub-meter that make at least half of its usual running power."""
    cycles = pair_edges(find_steps(power, 60.0, 100.0), power, 60.0)
    strong = cycles.size_w > 0.5 * float(np.quantile(cycles.size_w, 0.8))
    return some(cycles, np.flatnonzero(strong))


def some(cycles: Cycles, which: NDArray[np.int64]) -> Cycles:
    """Some of the times on."""
    fields = ("start", "end", "size_w", "surge_w", "share")
    return Cycles(*(getattr(cycles, name)[which] for name in fields))


def overlaps(found: Cycles, real: Cycles) -> int:
    """How many real times on overlap a found one, each used once, a minute of slack."""
    used: set[int] = set()
    for begin, end in zip(real.start, real.end, strict=True):
        for k in np.flatnonzero((found.start <= end + 1) & (found.end >= begin - 1)):
            if int(k) not in used:
                used.add(int(k))
                break
    return len(used)


def whole_house(folder: Path) -> None:
    first, columns = minute_data(folder)
    power = columns["Aggregate"]
    days = power.size / 1440.0
    cycles = pair_edges(find_steps(power, 60.0, 100.0), power, 60.0)
    evidence = evidence_of(HOUSE)
    signatures = [signature_of(one, evidence) for one in HOUSE.appliances]
    hour = ((first + cycles.start * 60) // 3600 % 24).astype(np.int64)
    assigned = assign(cycles, 60.0, hour, [""] * len(cycles), days, signatures)
    print(f"\nREFIT house 20: {days:.0f} days, {len(cycles)} times on in the whole house")
    heads = f"{'':18}{'real':>6}{'found':>7}{'precision':>11}{'recall':>8}"
    print(heads + f"{'kWh real':>10}{'found':>8}{'error':>8}")
    for k, appliance in enumerate(HOUSE.appliances):
        if appliance.id not in SUBMETERS:
            continue
        own = columns[SUBMETERS[appliance.id]]
        real = real_times_on(own)
        mine = np.flatnonzero(assigned.who == k)
        found = some(cycles, mine)
        hits = overlaps(found, real)
        energy = float(np.nansum(own)) / 60e3
        seen = float((found.size_w * found.on_s(60.0)).sum()) / 3.6e6
        print(
            f"{appliance.name:18}{len(real):>6}{len(found):>7}"
            f"{hits / max(len(found), 1):>11.0%}{hits / len(real):>8.0%}"
            f"{energy:>10.0f}{seen:>8.0f}{seen / energy - 1:>+8.0%}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    asked = parser.parse_args()
    print("single appliances at one second: by the product / by a plain level")
    rows = list(single(asked.data))
    heads = ("kind", "trace", "running W", "share on", "time on s", "times", "W off", "share off")
    for row in (heads, *rows):
        print(f"{row[0]:15}{row[1]:18}" + "".join(f"{cell:>16}" for cell in row[2:]))
    for name, column in (("running W", 6), ("share on", 7)):
        off = np.array([abs(float(row[column].rstrip("%"))) for row in rows])
        middle, most = np.median(off), np.quantile(off, 0.9)
        print(f"{name}: median difference {middle:.1f} %, 90 % below {most:.1f} %")
    whole_house(asked.data)


if __name__ == "__main__":
    main()
