"""Truth on real houses: ranges at each stage of evidence against sub-metered energy and peaks.

Each house is given as a plain list of appliances, as a visitor would note it, without any
sub-meter data; then twelve bills; then a week of intervals; then plug-meter readings of two
circuits. Printed: truth and 90 % range at each stage, and the pooled hit rate with its 90 %
interval (Jeffreys), with the median width (high / low) beside it. Several experiments differ
in the year and in the week that is given.

Data: AMPds release 1 (Makonin S. et al. 2013; CC BY 4.0), house in British Columbia, two years
of hourly energy of 19 circuits; REFIT house 20 (Murray D. et al. 2017, doi
10.15129/9ab14b0e-19ac-4279-938f-27f643078cec; CC BY 4.0), minute power of the house, clipped
at 6 kW, and of four appliances, so energy only.
"""

from __future__ import annotations

import argparse
import gzip
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import partial
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta

from loadlib.core.claims import DemandClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, House
from loadlib.core.ranges import Range
from loadlib.core.series import BillPeriod, Series
from loadlib.estimating import evidence_of, hear
from loadlib.estimators.assemble import demand_of
from loadlib.estimators.evidence_peaks import evidence_peaks
from loadlib.estimators.peaks import model_peaks
from loadlib.estimators.settle import settle
from loadlib.host import Host

Array = NDArray[np.float64]
STAGES = ("list", "+ 12 bills", "+ a week of intervals", "+ 2 plug meters")


@dataclass(frozen=True)
class Case:
    """One experiment: a house, its hourly demand over a year, circuits, what was read."""

    name: str
    house: House
    start: datetime
    whole_w: Array
    circuits: dict[str, tuple[Array, tuple[str, ...]]]
    week: int
    plugs: tuple[str, ...]
    peak: bool


def appliances(*rows: tuple[str, str, int]) -> tuple[Appliance, ...]:
    return tuple(
        Appliance(key, key.replace("-", " "), category, count) for key, category, count in rows
    )


CANADIAN = House(
    "house in British Columbia",
    timezone="America/Vancouver",
    appliances=appliances(
        ("heat-pump", "heat_pump_air_source", 1),
        ("blower", "furnace_blower", 1),
        ("refrigerator", "refrigerator_freezer", 1),
        ("dryer", "clothes_dryer_electric", 1),
        ("washer", "clothes_washer", 1),
        ("dishwasher", "dishwasher", 1),
        ("oven", "electric_oven", 1),
        ("microwave", "microwave_oven", 1),
        ("coffee", "coffee_maker", 1),
        ("toaster", "toaster", 1),
        ("hot-tap", "instant_hot_water_dispenser", 1),
        ("television", "television", 1),
        ("set-top-box", "cable_set_top_box", 1),
        ("audio", "home_theater_audio", 1),
        ("computer", "desktop_computer", 1),
        ("screen", "computer_monitor", 1),
        ("laptop", "laptop_computer", 2),
        ("router", "network_router", 1),
        ("modem", "network_modem", 1),
        ("alarm", "security_system", 1),
        ("switch", "network_switch", 1),
        ("lamps", "cfl_lamp", 30),
        ("bulbs", "incandescent_lamp", 8),
        ("garage-door", "garage_door_opener", 1),
        ("hair-dryer", "hair_dryer", 1),
        ("vacuum", "vacuum_cleaner", 1),
        ("iron", "clothes_iron", 1),
    ),
)
CANADIAN_CIRCUITS = {
    "heat pump": ("HPE", ("heat-pump",)),
    "blower": ("FRE", ("blower",)),
    "refrigerator": ("FGE", ("refrigerator",)),
    "dryer": ("CDE", ("dryer",)),
    "washer": ("CWE", ("washer",)),
    "dishwasher": ("DWE", ("dishwasher",)),
    "oven": ("WOE", ("oven",)),
    "hot tap": ("HTE", ("hot-tap",)),
    "television and sound": ("TVE", ("television", "set-top-box", "audio")),
    "office": ("OFE", ("computer", "screen", "laptop")),
    "network and alarm": ("EQE", ("router", "modem", "alarm", "switch")),
}
BRITISH = House(
    "British house",
    system="230",
    timezone="Europe/London",
    appliances=appliances(
        ("kettle", "electric_kettle_230v", 1),
        ("dishwasher", "dishwasher_230v", 1),
        ("washer", "clothes_washer_heating_230v", 1),
        ("microwave", "microwave_oven", 1),
        ("fridge", "fridge_freezer_230v", 1),
        ("freezer", "freezer_chest_230v", 1),
        ("dryer", "tumble_dryer_230v", 1),
        ("oven", "electric_oven_230v", 1),
        ("television", "television_230v", 2),
        ("computer", "computer_230v", 1),
        ("router", "network_router", 1),
        ("lamps", "cfl_lamp", 25),
        ("vacuum", "vacuum_cleaner", 1),
        ("iron", "clothes_iron", 1),
        ("toaster", "toaster", 1),
    ),
)
BRITISH_CIRCUITS = {
    "kettle": ("Kettle", ("kettle",)),
    "dishwasher": ("Dishwasher", ("dishwasher",)),
    "washing machine": ("WashingMachine", ("washer",)),
    "microwave": ("Microwave", ("microwave",)),
}


def placed(table: Array, slots: NDArray[np.int64], hours: int, name: str) -> Array:
    """One column on the hours of the year, NaN where it has none."""
    values = np.full(hours, np.nan)
    inside = (slots >= 0) & (slots < hours)
    values[slots[inside]] = table[name][inside]
    return values


def canadian_cases(folder: Path) -> Iterator[Case]:
    path = folder / "houses" / "AMPdsR1_1hr_Wh.csv"
    table = np.genfromtxt(path, delimiter=",", names=True)
    zone = ZoneInfo("America/Vancouver")
    times = table["TimeStamp"].astype(np.int64)
    for year in (2012, 2013):
        start = datetime(year, 4, 1, tzinfo=zone)
        first = int(start.timestamp())
        slots = (times - first) // 3600
        hours = (int(datetime(year + 1, 4, 1, tzinfo=zone).timestamp()) - first) // 3600

        column = partial(placed, table, slots, hours)
        circuits = {words: (column(name), ids) for words, (name, ids) in CANADIAN_CIRCUITS.items()}
        for week in (2, 15, 28, 41):
            yield Case(
                f"British Columbia {year}, week {week}",
                CANADIAN,
                start,
                column("WHE"),
                circuits,
                week,
                ("refrigerator", "washer") if week % 2 else ("refrigerator", "blower"),
                True,
            )


def british_cases(folder: Path) -> Iterator[Case]:
    zone = ZoneInfo("Europe/London")
    start = datetime(2014, 6, 1, tzinfo=zone)
    end = datetime(2015, 6, 1, tzinfo=zone)
    first, hours = int(start.timestamp()), int((end - start).total_seconds()) // 3600
    sums: dict[str, Array] = {}
    counts: dict[str, Array] = {}
    for path in sorted((folder / "houses" / "uk_1min").glob("REFIT_House20_*.gzip")):
        import polars as pl

        table = pl.read_csv(gzip.decompress(path.read_bytes()), try_parse_dates=True)
        stamps = table["Time"].dt.epoch("s").to_numpy()
        slots = (stamps - first) // 3600
        inside = (slots >= 0) & (slots < hours)
        for name in table.columns[1:]:
            values = table[name].to_numpy().astype(float)
            use = inside & ~np.isnan(values)
            sums.setdefault(name, np.zeros(hours))
            counts.setdefault(name, np.zeros(hours))
            sums[name] += np.bincount(slots[use], values[use], minlength=hours)
            counts[name] += np.bincount(slots[use], minlength=hours)
    with np.errstate(invalid="ignore"):
        means = {
            name: np.where(counts[name] >= 45, sums[name] / counts[name], np.nan) for name in sums
        }
    circuits = {words: (means[name], ids) for words, (name, ids) in BRITISH_CIRCUITS.items()}
    for week in (3, 16, 29, 42):
        yield Case(
            f"Britain 2014, week {week}",
            BRITISH,
            start,
            means["Aggregate"],
            circuits,
            week,
            ("kettle", "dishwasher") if week % 2 else ("washing machine", "microwave"),
            False,
        )


def bills(case: Case) -> tuple[BillPeriod, ...]:
    """Twelve bills from the 12th of a month to the 11th of the next; gaps at the mean."""
    found = []
    zone = case.start.tzinfo
    filled = np.where(np.isnan(case.whole_w), np.nanmean(case.whole_w), case.whole_w)
    marks = [case.start.date()]
    while len(marks) < 13:
        last = marks[-1]
        marks.append(date(last.year + (last.month == 12), last.month % 12 + 1, 1))
    for begin, after in pairwise(marks):
        low, high = (
            int((datetime(d.year, d.month, d.day, tzinfo=zone) - case.start).total_seconds())
            // 3600
            for d in (begin, after)
        )
        found.append(BillPeriod(begin, after, float(filled[low:high].sum()), source="bill"))
    return tuple(found)


def week_slice(case: Case) -> slice:
    return slice(case.week * 168, (case.week + 1) * 168)


def evidence_at(case: Case, stage: int) -> tuple[Evidence, tuple[DemandClaim, ...]]:
    evidence = evidence_of(case.house)
    missing = {a.category for a in case.house.appliances} - set(evidence.categories)
    assert not missing, missing
    claims: list[DemandClaim] = []
    start_s = int(case.start.timestamp())
    part = week_slice(case)
    if stage >= 1:
        evidence = replace(evidence, bills=bills(case))
    if stage >= 2:
        week = Series(
            "meter",
            "whole",
            "import",
            start_s + part.start * 3600,
            3600,
            case.whole_w[part],
            case.house.timezone,
            "meter",
        )
        evidence = replace(evidence, series=(week,))
    if stage >= 3:
        for name in case.plugs:
            values, ids = case.circuits[name]
            energy = float(np.nansum(values[part]))
            claims.append(
                DemandClaim(
                    "energy_wh",
                    Range(energy * 0.97, energy, energy * 1.03),
                    "plug meter, a week",
                    f"appliance {ids[0]}",
                    start_s + part.start * 3600,
                    start_s + part.stop * 3600,
                )
            )
    return evidence, tuple(claims)


@dataclass(frozen=True)
class Outcome:
    """One range beside its truth."""

    stage: int
    what: str
    truth: float
    value: Range

    @property
    def hit(self) -> bool:
        return self.value.low <= self.truth <= self.value.high


def outcomes(case: Case, stage: int, host: Host) -> Iterator[Outcome]:
    evidence, extra = evidence_at(case, stage)
    heard = hear(evidence, host)
    found = settle(evidence, (*heard.claims, *(("clamp", c) for c in extra)), 1)
    hours = case.whole_w.size
    year = float(np.nanmean(case.whole_w)) * hours
    yield Outcome(
        stage, "energy of the year", year / 1e3, Range.of_samples(found.month_draws_wh.sum(1) / 1e3)
    )
    if case.peak:
        months = tuple(Range.of_samples(found.month_draws_wh[:, m]) for m in range(12))
        peaks = evidence_peaks(evidence, months)
        if not peaks:
            demand, _ = demand_of(found.loads, case.house.supply.legs)
            peaks = model_peaks(found.loads, case.house.supply.legs, demand[0], 1)
        hour = next(p for p in peaks if (p.place, p.window_s, p.period) == ("whole", 3600, "year"))
        yield Outcome(
            stage, "peak hour", float(np.nanmax(case.whole_w)) / 1e3, hour.power_w.scaled(1e-3)
        )
    draws = found.posterior.load_draws_wh() / 1e3
    ids = [load.id for load in found.posterior.unknowns.loads]
    for words, (values, members) in case.circuits.items():
        truth = float(np.nanmean(values)) * hours / 1e3
        total = draws[:, [ids.index(m) for m in members]].sum(axis=1)
        yield Outcome(stage, words, truth, Range.of_samples(total))


def interval(hits: int, of: int) -> tuple[float, float]:
    low, high = beta.ppf([0.05, 0.95], hits + 0.5, of - hits + 0.5)
    return float(low), float(high)


def print_case(case: Case, found: Sequence[Outcome]) -> None:
    print(f"\n{case.name} (kWh; peak in kW; * = truth outside)")
    print(f"{'':22}{'truth':>8}  " + "".join(f"{name:>24}" for name in STAGES))
    for what in dict.fromkeys(one.what for one in found):
        row = [one for one in found if one.what == what]
        cells = "".join(
            f"{one.value.low:>9.4g} to {one.value.high:>8.4g}{' ' if one.hit else '*'}  "
            for one in row
        )
        print(f"{what:22}{row[0].truth:>8.4g}  {cells}")


def summary(title: str, found: Sequence[Outcome]) -> None:
    print(f"\n{title}")
    print(
        f"{'stage':24}{'hits':>9}  {'rate':>5}  {'90 % interval':>14}  "
        "median high/low, all | loads | year"
    )
    for stage, name in enumerate(STAGES):
        rows = [one for one in found if one.stage == stage]
        if not rows:
            continue
        hits = sum(one.hit for one in rows)
        low, high = interval(hits, len(rows))

        def width(rows: Sequence[Outcome]) -> str:
            return (
                f"{np.median([r.value.high / max(r.value.low, 1e-3) for r in rows]):.2f}"
                if rows
                else "-"
            )

        loads = [r for r in rows if r.what not in ("energy of the year", "peak hour")]
        year = [r for r in rows if r.what == "energy of the year"]
        print(
            f"{name:24}{hits:>4}/{len(rows):<4}  {hits / len(rows):>5.0%}  "
            f"{low:>6.0%} to {high:>4.0%}  "
            f"{width(rows):>12} | {width(loads)} | {width(year)}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--all", action="store_true", help="print every experiment")
    asked = parser.parse_args()
    host = Host.load()
    pooled: list[Outcome] = []
    for cases in (list(canadian_cases(asked.data)), list(british_cases(asked.data))):
        of_house: list[Outcome] = []
        for index, case in enumerate(cases):
            found = [one for stage in range(4) for one in outcomes(case, stage, host)]
            if index == 0 or asked.all:
                print_case(case, found)
            of_house += found
        summary(f"{cases[0].house.name}: {len(cases)} experiments", of_house)
        pooled += of_house
    summary("both houses, pooled (experiments of one house are not independent)", pooled)


if __name__ == "__main__":
    main()
