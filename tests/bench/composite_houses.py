"""Appliances proposed in houses put together from traces of single appliances.

Truth is known to the second: plug traces of appliances and days drawn at random (tracebase,
Reinhardt A. et al. 2012, ODbL 1.0: derived numbers only) are moved by up to two hours, added
up and given some noise of a meter. The list of a house names what is there and what is not;
more is there that nobody listed. Each house is looked at in seconds and in minutes, as one log
and as two legs. Shown: how many of those present were proposed and how many of those absent,
times on that were right against the stated chance, energy, and whether the claimed ranges hold
the truth. The catalog's figures for European kettles, dishwashers, washing machines and
refrigerators come from the same collection, so the ranges are no strangers to these devices.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from plug_traces import Array, holds, trace

from loadlib.clamp.cycles import Cycles, on_off
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, House
from loadlib.core.series import Series
from loadlib.estimating import evidence_of
from loadlib.estimators.clamp_logs import Proposal, assigned_of, candidates_of, proposal

SEED, HOUSES, DAYS, DAY_S = 20, 12, 10, 86_400
START_S = 1_767_571_200
METER_NOISE_W, METER_NOISE_SHARE = 2.0, 0.003
PRESENT, USED, MOVED_S = 0.6, 0.85, 7200
SURE = 0.6

CATEGORIES = {
    "WaterKettle": "electric_kettle_230v",
    "Dishwasher": "dishwasher_230v",
    "Washingmachine": "clothes_washer_heating_230v",
    "MicrowaveOven": "microwave_oven",
    "Refrigerator": "fridge_freezer_230v",
    "Freezer": "freezer_chest_230v",
    "LaundryDryer": "tumble_dryer_230v",
    "Iron": "clothes_iron",
    "Toaster": "toaster",
    "VacuumCleaner": "vacuum_cleaner",
}
UNLISTED = ("Coffeemaker", "Cookingstove", "TV-LCD", "PC-Desktop", "Monitor-TFT", "Lamp", "Router")
EVERY_DAY = {"Refrigerator", "Freezer"}
EMPTY_WH = 5.0
"""A day with less is no day of use."""


def devices(folder: Path, kind: str) -> dict[str, list[Path]]:
    """Files of each device of a kind."""
    found: dict[str, list[Path]] = {}
    for path in sorted((folder / "plug_1s" / kind).glob("*.xz")):
        found.setdefault(path.name[:5], []).append(path)
    return found


class Traces:
    """Days of devices, read once."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._days: dict[Path, Array] = {}

    def day(self, path: Path) -> Array:
        """One day of a device, zero where nothing was recorded. [W]"""
        if path not in self._days:
            power = np.nan_to_num(trace(path))[:DAY_S]
            self._days[path] = np.pad(power, (0, DAY_S - power.size)).astype(np.float32)
        return self._days[path]

    def device(self, kind: str, rng: np.random.Generator) -> Array:
        """Some days of one device, each moved in time. [W]"""
        known = devices(self.folder, kind)
        days = [self.day(path) for path in known[str(rng.choice(sorted(known)))]]
        used = [one for one in days if one.sum() / 3600.0 > EMPTY_WH]
        power = np.zeros(DAYS * DAY_S, dtype=np.float32)
        for at in range(DAYS):
            if used and (kind in EVERY_DAY or rng.random() < USED):
                moved = np.roll(used[rng.integers(len(used))], rng.integers(-MOVED_S, MOVED_S))
                power[at * DAY_S : (at + 1) * DAY_S] = moved
        return power


@dataclass
class Made:
    """A house put together: its legs [W], and what each listed appliance really drew."""

    house: House
    legs: dict[str, Array]
    truth: dict[str, Array]


def made(traces: Traces, seed: list[int], system: str) -> Made:
    """One house; in a house of two legs what is made for 230 V lies across both."""
    rng = np.random.default_rng(seed)
    names = ("A", "B") if system == "120/240" else ("A",)
    legs = {leg: np.zeros(DAYS * DAY_S) for leg in names}
    truth = {}
    for kind in (*CATEGORIES, *UNLISTED):
        if rng.random() > PRESENT:
            continue
        power = traces.device(kind, rng)
        across = CATEGORIES.get(kind, "").endswith("230v")
        for leg in names if across else (str(rng.choice(names)),):
            legs[leg] += power / (len(names) if across else 1)
        if kind in CATEGORIES:
            truth[kind] = power
    for leg in legs:
        legs[leg] *= 1.0 + rng.normal(0.0, METER_NOISE_SHARE, DAYS * DAY_S)
        legs[leg] += rng.normal(0.0, METER_NOISE_W, DAYS * DAY_S)
    listed = tuple(Appliance(kind, kind, key) for kind, key in CATEGORIES.items())
    return Made(
        House(f"made {seed[-1]}", system=system, timezone="Etc/UTC", appliances=listed), legs, truth
    )


@dataclass(frozen=True)
class Row:
    """One listed appliance in one house."""

    kind: str
    present: bool
    real: int
    chance: Array
    right: NDArray[np.bool_]
    recall: float
    real_wh: float
    expected_wh: float
    running_w: float
    found: Proposal | None

    @property
    def proposed(self) -> bool:
        return self.found is not None and self.found.sure >= SURE


def right(found: Cycles, own: Array, step_s: int) -> NDArray[np.bool_]:
    """Which times on are right: the appliance drew a quarter of their energy meanwhile."""
    total = np.concatenate(([0.0], np.cumsum(own, dtype=np.float64)))
    slack = max(5 // step_s, 1)
    first = np.maximum(found.start - slack, 0)
    last = np.minimum(found.end + slack, own.size)
    energy = found.size_w * found.on_s(float(step_s))
    hits: NDArray[np.bool_] = (total[last] - total[first]) * step_s > 0.25 * energy
    return hits


def recalled(found: Cycles, own: Array) -> float:
    """Share of the appliance's energy that was drawn during the times on found."""
    during = np.zeros(own.size + 1)
    np.add.at(during, found.start, 1.0)
    np.add.at(during, found.end, -1.0)
    on = np.cumsum(during)[:-1] > 0.0
    return float(own[on].sum() / max(own.sum(), 1e-9))


def running_w(seconds: Array) -> float:
    """Mean over the times on of a trace of seconds, by energy. [W]"""
    if not seconds.any():
        return float("nan")
    real = on_off(seconds.astype(np.float64), 1.0)
    on_s = real.on_s(1.0)
    return float((real.size_w * on_s).sum() / on_s.sum())


def averaged(power: Array, step_s: int) -> Array:
    """Means of steps, in float64."""
    return power.reshape(-1, step_s).mean(axis=1, dtype=np.float64)


def looked_at(one: Made, step_s: int) -> Iterator[Row]:
    """What the product says of each listed appliance."""
    legs = {leg: averaged(power, step_s) for leg, power in one.legs.items()}
    whole = np.sum(list(legs.values()), axis=0)
    log = Series("log", "whole", "load", START_S, step_s, whole, "Etc/UTC", "log", ())
    evidence: Evidence = evidence_of(one.house)
    candidates, _ = candidates_of("whole", evidence)
    assigned = assigned_of(log, legs if len(legs) > 1 else {}, candidates, evidence)
    for k, appliance in enumerate(candidates):
        seconds = one.truth.get(appliance.id, np.zeros(DAYS * DAY_S))
        own = averaged(seconds, step_s)
        mine = np.flatnonzero(assigned.who == k)
        found = assigned.cycles.some(mine)
        real = on_off(own, float(step_s)) if own.any() else found.some(np.empty(0, np.int64))
        yield Row(
            appliance.id,
            appliance.id in one.truth and len(real) >= 5,
            len(real),
            assigned.chance[mine],
            right(found, own, step_s),
            recalled(found, own),
            float(own.sum()) * step_s / 3600.0,
            float(assigned.energy_wh[k]),
            running_w(seconds),
            proposal(k, appliance, assigned, log, evidence),
        )


def share(hits: Sequence[float]) -> str:
    return f"{np.mean(hits):.0%}" if hits else "-"


def table(rows: list[Row]) -> None:
    heads = f"{'':16}{'there':>6}{'proposed':>9}{'right':>7}{'stated':>8}{'recall':>8}{'energy':>8}"
    print(heads + f"{'W held':>8}{'Wh held':>8}{'absent':>8}{'proposed':>9}")
    for kind in (*CATEGORIES, "all"):
        mine = [row for row in rows if kind in (row.kind, "all")]
        there = [row for row in mine if row.present]
        absent = [row for row in mine if row.real == 0]
        shown = [row for row in there if row.proposed]
        hits = np.concatenate([np.empty(0), *(row.right for row in shown)])
        chance = np.concatenate([np.empty(0), *(row.chance for row in shown)])
        ratio = [row.expected_wh / row.real_wh for row in shown]
        print(
            f"{kind:16}{len(there):>6}{len(shown):>9}{share(list(hits)):>7}{share(list(chance)):>8}"
            f"{share([row.recall for row in shown]):>8}"
            f"{f'{np.median(ratio) - 1.0:+.0%}' if ratio else '-':>8}"
            f"{share([holds(r.found.running, r.running_w) == 'yes' for r in shown if r.found]):>8}"
            f"{share([holds(r.found.energy, r.real_wh) == 'yes' for r in shown if r.found]):>8}"
            f"{len(absent):>8}{sum(row.proposed for row in absent):>9}"
        )
    honest(rows)


def honest(rows: list[Row]) -> None:
    """Stated chance against the share right, for times on and for whole proposals."""
    chance = np.concatenate([row.chance for row in rows])
    hits = np.concatenate([row.right for row in rows])
    cells = []
    for low in (0.0, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9):
        high = low + (0.3 if low == 0.0 else 0.2 if low == 0.3 else 0.1)
        inside = (chance >= low) & (chance < high)
        if inside.sum() >= 5:
            cells.append(
                f"{chance[inside].mean():.2f} -> {hits[inside].mean():.2f} ({inside.sum()})"
            )
    print("times on, stated -> right: " + "   ".join(cells))
    cells = []
    for low, high in ((0.0, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 1.0)):
        inside_rows = [row for row in rows if row.found and low <= row.found.sure < high]
        if inside_rows:
            stated = np.mean([row.found.sure for row in inside_rows if row.found])
            mostly = np.mean([row.right.mean() for row in inside_rows])
            cells.append(f"{stated:.2f} -> {mostly:.2f} ({len(inside_rows)})")
    print("appliances, mean stated -> mean share right: " + "   ".join(cells))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--houses", type=int, default=HOUSES)
    parser.add_argument("--seed", type=int, default=SEED)
    asked = parser.parse_args()
    traces = Traces(asked.data)
    for system, words in (("230", "one log"), ("120/240", "two legs")):
        houses = [made(traces, [asked.seed, k], system) for k in range(asked.houses)]
        for step_s in (1, 60):
            rows = [row for one in houses for row in looked_at(one, step_s)]
            print(f"\n{asked.houses} houses of {DAYS} days, {step_s} s, {words}")
            table(rows)


if __name__ == "__main__":
    main()
