"""Steps, cycles and matching against real traces.

1. Single appliances at one second (tracebase, Reinhardt A. et al. 2012, ODbL 1.0: derived
   numbers only): running watts, share of time on and length of a time on,
   beside an independent computation (a plain level of watts).
2. Start surges that are claimed from such traces, beside the plain highest second of a start.
3. Kettle, microwave oven, dishwasher and washing machine found in the minute data of a whole
   house (REFIT house 20, Murray D. et al. 2017, CC BY 4.0) against their own sub-meters:
   precision and recall of times on, error of the energy, whether the stated chance is honest
   and whether the claimed ranges hold the truth. The judgements in the product that name this
   house were made on the first half of its 16 months; the second half is held out. The log
   reads 0 W for weeks on end; that is taken as missing, and the sub-meters count only where
   the house's meter ran.
"""

from __future__ import annotations

import argparse
import gzip
import lzma
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from loadlib.clamp.cycles import Cycles, on_off, pair_edges
from loadlib.clamp.steps import find_steps
from loadlib.core.household import Appliance, House
from loadlib.core.ranges import Range
from loadlib.core.series import Series
from loadlib.estimating import evidence_of
from loadlib.estimators.clamp_logs import Proposal, assigned_of, candidates_of, log_claims, proposal

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
SURE = 0.6
"""As in the product: what is proposed."""


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
    return cycles.some(np.flatnonzero(cycles.size_w > 0.5 * np.quantile(cycles.size_w, 0.8)))


def overlaps(found: Cycles, real: Cycles) -> int:
    """How many real times on overlap a found one, each used once, a minute of slack."""
    used: set[int] = set()
    for begin, end in zip(real.start, real.end, strict=True):
        for k in np.flatnonzero((found.start <= end + 1) & (found.end >= begin - 1)):
            if int(k) not in used:
                used.add(int(k))
                break
    return len(used)


def right(found: Cycles, own: Array) -> NDArray[np.bool_]:
    """Which times on are right: the sub-meter drew a quarter of their energy meanwhile."""
    total = np.concatenate(([0.0], np.cumsum(np.nan_to_num(own))))
    first, last = np.maximum(found.start - 1, 0), np.minimum(found.end + 1, own.size)
    drawn: NDArray[np.bool_] = (total[last] - total[first]) * 60.0 > 0.25 * found.size_w * (
        found.on_s(60.0)
    )
    return drawn


def first_seconds(power: Array, level_w: float) -> Array:
    """Highest second of the first four of each start over the level just before it. [W]"""
    on = np.nan_to_num(power) > level_w
    begin = np.flatnonzero(on[1:] & ~on[:-1]) + 1
    long = [b for b in begin if b > 10 and on[b : b + 60].sum() > 50]
    starts = [power[b - 10 : b + 4] for b in long]
    return np.array([s[10:].max() - np.median(s[:10]) for s in starts if np.isfinite(s).all()])


def surges(folder: Path) -> None:
    """Claimed starts of refrigerators and freezers beside the plain highest second."""
    print("\nstarts, VA: claimed / plain median and 90 % point of the highest second / running W")
    kinds = {"Refrigerator": "fridge_freezer_230v", "Freezer": "freezer_chest_230v"}
    for kind, key in kinds.items():
        house = House("one", system="230", appliances=(Appliance("it", "it", key),))
        for path in sorted((folder / "plug_1s" / kind).glob("*.xz")):
            power = trace(path)
            log = Series("log", "appliance it", "load", 0, 1, power, "Etc/UTC", "log", ())
            evidence = replace(evidence_of(house), series=(log,))
            said = {claim.quantity: claim.value for claim in log_claims(evidence)}
            plain = first_seconds(power, LEVEL_W[kind])
            if "running_w" not in said or plain.size < 5:
                continue
            start, watts = said.get("start_va"), said["running_w"].typical
            claimed = f"{start.low:.0f}-{start.typical:.0f}-{start.high:.0f}" if start else "none"
            middle, top = np.quantile(plain, (0.5, 0.9))
            print(
                f"{kind:13}{path.stem.removesuffix('.csv'):18}{claimed:>18}{middle:>8.0f}{top:>7.0f}"
                f"{watts:>7.0f}   {middle / watts:.1f} x running, claimed up to "
                f"{start.high / watts if start else float('nan'):.1f} x"
            )


@dataclass(frozen=True)
class Row:
    """One appliance in one stretch of the log.

    ``running_w`` is the upper quartile of the sub-meter's times on: most of the short ones
    do not fill a minute.
    """

    name: str
    real: int
    found: int
    precision: float
    recall: float
    real_kwh: float
    expected_kwh: float
    chance: Array
    right: NDArray[np.bool_]
    proposal: Proposal | None
    running_w: float


def stretch(first: int, columns: dict[str, Array], house: House) -> list[Row]:
    """What is found in a stretch of the log against the sub-meters."""
    power = columns["Aggregate"]
    log = Series("log", "whole", "load", first, 60, power, house.timezone, "log", ())
    evidence = evidence_of(house)
    candidates, _ = candidates_of("whole", evidence)
    assigned = assigned_of(log, {}, candidates, evidence)
    rows = []
    for k, appliance in enumerate(candidates):
        if appliance.id not in SUBMETERS:
            continue
        own = np.where(np.isnan(power), np.nan, columns[SUBMETERS[appliance.id]])
        real = real_times_on(own)
        mine = np.flatnonzero(assigned.who == k)
        found = assigned.cycles.some(mine)
        hits = right(found, own)
        rows.append(
            Row(
                appliance.id,
                len(real),
                mine.size,
                float(hits.mean()) if mine.size else float("nan"),
                overlaps(found, real) / max(len(real), 1),
                float(np.nansum(own)) / 60e3,
                float(assigned.energy_wh[k]) / 1e3,
                assigned.chance[mine],
                hits,
                proposal(k, appliance, assigned, log, evidence),
                float(np.quantile(real.size_w, 0.75)) if len(real) else float("nan"),
            )
        )
    return rows


def labelled(house: House) -> House:
    """The same list with the input watts that a label would show, to the nearest 50 W."""
    watts = {
        "kettle": 2750,
        "dishwasher": 2200,
        "washing machine": 2200,
        "microwave oven": 1300,
    }
    appliances = tuple(
        replace(one, running_w=Range.around(watts[one.id], 1.1)) if one.id in watts else one
        for one in house.appliances
    )
    return replace(house, appliances=appliances)


def cut(columns: dict[str, Array], first: int, last: int) -> dict[str, Array]:
    return {name: values[first:last] for name, values in columns.items()}


def holds(value: Range, truth: float) -> str:
    return "yes" if value.low <= truth <= value.high else "no"


def show(title: str, rows: list[Row]) -> None:
    print(f"\n{title}")
    heads = f"{'':17}{'real':>5}{'found':>6}{'right':>7}{'stated':>8}{'recall':>8}"
    print(heads + f"{'kWh':>6}{'claimed':>8}{'error':>7}  proposed, ranges hold W, kWh")
    for row in rows:
        found = row.proposal
        said = "no"
        if found is not None and found.sure >= SURE:
            watts, wh = found.running, found.energy
            said = (
                f"{watts.low:.0f}-{watts.high:.0f} W ({row.running_w:.0f}: "
                f"{holds(watts, row.running_w)}), {wh.low / 1e3:.0f}-{wh.high / 1e3:.0f} kWh "
                f"({holds(wh, 1e3 * row.real_kwh)})"
            )
        stated = float(row.chance.mean()) if row.found else float("nan")
        print(
            f"{row.name:17}{row.real:>5}{row.found:>6}{row.precision:>7.0%}{stated:>8.0%}"
            f"{row.recall:>8.0%}{row.real_kwh:>6.0f}{row.expected_kwh:>8.0f}"
            f"{row.expected_kwh / row.real_kwh - 1.0:>+7.0%}  {said}"
        )


BINS = ((0.0, 0.3), (0.3, 0.5), (0.5, 0.6), (0.6, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 1.0))


def reliability(title: str, rows: list[Row]) -> None:
    """Stated chance of times on against the share that was right."""
    print(f"\n{title}: stated chance -> share right (times on)")
    for name in (*SUBMETERS, "all"):
        mine = [row for row in rows if name in (row.name, "all")]
        chance = np.concatenate([row.chance for row in mine])
        hits = np.concatenate([row.right for row in mine])
        cells = []
        for low, high in BINS:
            inside = (chance >= low) & (chance < high)
            if inside.sum() >= 5:
                cells.append(
                    f"{chance[inside].mean():.2f} -> {hits[inside].mean():.2f} ({inside.sum()})"
                )
        print(f"{name:17}" + "   ".join(cells))


def proposed(title: str, rows: list[Row]) -> None:
    """Of the proposals made: times on right against stated, and ranges that hold the truth."""
    made = [row for row in rows if row.proposal is not None and row.proposal.sure >= SURE]
    if not made:
        print(f"\n{title}: none")
        return
    hits = np.concatenate([row.right for row in made])
    chance = np.concatenate([row.chance for row in made])
    watts = [holds(row.proposal.running, row.running_w) == "yes" for row in made if row.proposal]
    wh = [holds(row.proposal.energy, 1e3 * row.real_kwh) == "yes" for row in made if row.proposal]
    print(
        f"\n{title}: {len(made)} of {len(rows)} possible; times on right {hits.mean():.0%}, "
        f"stated {chance.mean():.0%}; running_w holds {np.mean(watts):.0%}, "
        f"energy_wh {np.mean(wh):.0%}"
    )


def whole_house(folder: Path) -> None:
    first, columns = minute_data(folder)
    columns["Aggregate"][columns["Aggregate"] == 0.0] = np.nan
    middle, end = columns["Aggregate"].size // 2, columns["Aggregate"].size
    month = 30 * 1440
    for words, house in (("list only", HOUSE), ("with label watts", labelled(HOUSE))):
        halves = (("first half", 0, middle), ("second half, held out", middle, end))
        for name, low, high in halves:
            rows = stretch(first + 60 * low, cut(columns, low, high), house)
            show(f"REFIT house 20, {name}, {words}", rows)
            reliability(f"{name}, {words}", rows)
        for name, low, high in halves:
            starts = range(low, high - month + 1, month)
            monthly = [
                row
                for at in starts
                if np.isfinite(columns["Aggregate"][at : at + month]).sum() > month // 2
                for row in stretch(first + 60 * at, cut(columns, at, at + month), house)
            ]
            reliability(f"months of the {name}, {words}", monthly)
            proposed(f"proposals from 30 days, {name}, {words}", monthly)
    show("REFIT house 20, all, list only", stretch(first, columns, HOUSE))


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
    surges(asked.data)
    whole_house(asked.data)


if __name__ == "__main__":
    main()
