"""Fit the calibrated peak model on measured homes and write its seed tables.

    python seed_data/make/fit_peak.py --data DIR [--out seed_data]

DIR holds the open data sets (not part of this repository, see ``SOURCES``); the tables
written are ``peak_model.csv`` (coefficients and the fitted homes' ranges), ``peak_ratio.csv``
(from one window to a shorter one), ``peak_cv.csv`` (ten-fold cross-validation over homes and
tests on other populations) and ``peak_sources.csv``. About a minute on one core.

Method. For each kind of evidence (``loadlib.peak.features.LEVELS``) a weighted least squares
line for ln(peak), one vote a home; its errors on homes left out one by one; a log-linear
spread for errors above and for errors below; then the 5, 50 and 95 % points of the scaled
left-out errors, again one vote a home (the pooled-CDF form of conformal prediction for
grouped data: Dunn, Wasserman, Ramdas, "Distribution-Free Prediction Sets for Two-Layer
Hierarchical Models", JASA 118, 2023), separately for each length of span and of stretch.
"""

from __future__ import annotations

import argparse
import csv
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from loadlib.peak import features
from loadlib.peak.features import LEVELS, Level
from loadlib.peak.model import Fitted, Points, terms

Array = NDArray[np.float64]

SOURCES = {
    "london": "Low Carbon London trial, 58 homes, calendar 2013, kWh per half hour "
    "(UK Power Networks / Greater London Authority, CC BY)",
    "california": "5 all-electric homes, Fontana, California, 2016-17, kWh per hour "
    "(CityLearn Challenge 2022, MIT; primary: EPRI, Grid Integration of Zero Net Energy "
    "Communities, 2017)",
    "switzerland": "243 meters, Switzerland, 7 winter weeks, kWh per quarter hour (R package "
    "ResidentialEnergyConsumption 1.1.0, CC BY-SA 4.0; Weigert, Hopf, Weinig, Staake 2020)",
    "columbia": "one house, British Columbia, 2012-14, Wh per hour (AMPds release 1, "
    "CC BY 4.0 / MPL-2.0; Makonin, doi 10.7910/DVN/FIE0S4)",
}
USES = {
    "london": "fit of peak_model.csv and its cross-validation; ratio of 60 to 30 min",
    "california": "test of transfer only",
    "switzerland": "test of transfer, and the choice of the widening outside the fitted range; "
    "ratios to 15 min and of 60 to 30 min",
    "columbia": "test of transfer only",
}
MONTH_STARTS = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
SPANS = {
    "month": [(int(a), int(b)) for a, b in pairwise(MONTH_STARTS)],
    "quarter": [(int(MONTH_STARTS[i]), int(MONTH_STARTS[i + 3])) for i in (0, 3, 6, 9)],
    "half": [(int(MONTH_STARTS[i]), int(MONTH_STARTS[i + 6])) for i in (0, 3, 6)],
    "year": [(0, 365)],
}
SPAN_DAYS = {
    "day": 1,
    "week": 7,
    "fortnight": 14,
    "month": 30,
    "quarter": 91,
    "half": 182,
    "year": 365,
}
STRETCHES = (7, 14, 28, 91)
STRETCH_LEVELS = ("stretch", "bill_stretch", "bills_stretch")
COMPLETE = 0.97  # share of a day's or a span's readings that must be there
RIDGE = 1e-4
HUBER = (
    0.2  # ln: errors beyond it (somewhat under one standard deviation) count linearly, not squared
)
SPREAD_RIDGE = 0.03
SPREAD_FLOOR = 0.03  # added to |error| before its logarithm, so that a lucky hit does not rule


def tail(level: str, cell: str, cases_a_home: float) -> float:
    """Share of the left-out homes' votes outside each end of the band.

    With n homes and one vote each, the next home falls outside their own 5 % point with a
    chance of up to (0.05 n + 1) / (n + 1), 0.066 for n = 58, so a share below 5 % is taken:
    all of that surplus for a year from bills, where a home has one vote indeed; less where it
    has twelve months or several stretches; none where it has hundreds of cases. Chosen so that
    cross-validation of the whole procedure comes to 90 % in each.
    """
    if cases_a_home <= 1.0:
        return 0.0375
    if level == "bills" or cell.startswith("year"):
        return 0.044
    return 0.0475 if cases_a_home <= 24.0 else 0.05


# ---- homes -----------------------------------------------------------------------------


@dataclass
class Home:
    """One home's days: highest and mean demand [kW], shape (days,), NaN where incomplete."""

    name: str
    peak_kw: dict[int, Array]  # window [min] -> highest mean of each day
    mean_kw: Array


def make_home(name: str, kw: Array, step_min: int) -> Home:
    """From readings in kW on a whole number of days, NaN where missing."""
    per_day = 1440 // step_min
    days = kw.reshape(-1, per_day)
    whole = np.isfinite(days).mean(axis=1) >= COMPLETE
    mean = np.full(len(days), np.nan)
    mean[whole] = np.nanmean(days[whole], axis=1)
    peaks = {}
    for window in (15, 30, 60):
        if window < step_min:
            continue
        blocks = days.reshape(len(days), 1440 // window, window // step_min).mean(axis=2)
        peak = np.full(len(days), np.nan)
        good = whole & np.isfinite(blocks).any(axis=1)
        peak[good] = np.nanmax(blocks[good], axis=1)
        peaks[window] = peak
    return Home(name, peaks, mean)


def read_text(path: Path) -> Iterator[str]:
    data = path.read_bytes()
    if path.suffix == ".gz":
        data = zlib.decompress(data, wbits=47)
    yield from data.decode("ascii").splitlines()


def read_london(folder: Path) -> list[Home]:
    start = np.datetime64("2013-01-01T00:00", "m")
    homes: dict[str, Array] = {}
    rows = read_text(folder / "london_2013_30min.csv.gz")
    next(rows)
    stamps: dict[str, int] = {}
    for row in rows:
        home, stamp, kwh = row.split(",")
        slot = stamps.get(stamp)
        if slot is None:
            slot = int((np.datetime64(stamp.replace(" ", "T"), "m") - start).astype(int)) // 30
            stamps[stamp] = slot
        if home not in homes:
            homes[home] = np.full(365 * 48, np.nan)
        homes[home][slot] = 2.0 * float(kwh)
    return [make_home(name, kw, 30) for name, kw in sorted(homes.items())]


def read_california(folder: Path) -> list[Home]:
    homes: dict[str, list[float]] = {}
    rows = read_text(folder / "california_2016_60min.csv.gz")
    next(rows)
    for row in rows:
        home, _, kwh = row.split(",")
        homes.setdefault(home, []).append(float(kwh))
    # The first reading is 23:00: drop it and the last 23 so that days are whole.
    return [make_home(n, np.array(kw[1:])[: 364 * 24], 60) for n, kw in sorted(homes.items())]


def read_switzerland(folder: Path) -> list[Home]:
    rows = csv.reader(read_text(folder / "switzerland_winter_15min_wide.csv.gz"))
    names = next(rows)[1:]
    kw = 4.0 * np.array([row[1:] for row in rows], dtype=np.float64)
    return [make_home(name, kw[:, i], 15) for i, name in enumerate(names)]


def read_columbia(folder: Path) -> list[Home]:
    rows = csv.DictReader(read_text(folder / "houses" / "AMPdsR1_1hr_Wh.csv"))
    kw = np.full(730 * 24, np.nan)
    first = None
    for row in rows:
        stamp = int(row["TimeStamp"])
        first = stamp if first is None else first
        slot = (stamp - first) // 3600
        if slot < kw.size:
            kw[slot] = float(row["WHE"]) / 1000.0
    return [make_home(f"columbia year {i + 1}", half, 60) for i, half in enumerate(np.split(kw, 2))]


# ---- cases -----------------------------------------------------------------------------


@dataclass
class Cases:
    """Rows to fit or test: one span of one home with one set of evidence each."""

    home: list[int] = field(default_factory=list)
    cell: list[str] = field(default_factory=list)  # "month/28" and the like
    quantities: list[dict[str, float]] = field(default_factory=list)
    rest: list[float] = field(default_factory=list)  # ln highest demand of the unmeasured days
    known: list[float] = field(default_factory=list)  # ln highest measured one, or -inf
    total: list[float] = field(default_factory=list)  # ln highest of all

    def freeze(self) -> Frozen:
        names = sorted({name for row in self.quantities for name in row})
        return Frozen(
            np.array(self.home),
            np.array(self.cell),
            {n: np.array([row.get(n, np.nan) for row in self.quantities]) for n in names},
            np.array(self.rest),
            np.array(self.known),
            np.array(self.total),
        )


@dataclass
class Frozen:
    home: NDArray[np.int64]
    cell: NDArray[np.str_]
    quantities: dict[str, Array]
    rest: Array
    known: Array
    total: Array

    def take(self, chosen: NDArray[np.bool_]) -> Frozen:
        return Frozen(
            self.home[chosen],
            self.cell[chosen],
            {k: v[chosen] for k, v in self.quantities.items()},
            self.rest[chosen],
            self.known[chosen],
            self.total[chosen],
        )

    @property
    def span_days(self) -> Array:
        days: Array = features.MONTH_DAYS * np.exp(self.quantities["span_len"])
        return days

    @property
    def stretch_days(self) -> Array:
        if "stretch_len" not in self.quantities:
            return np.zeros(len(self.home))
        days: Array = 28.0 * np.exp(self.quantities["stretch_len"])
        return days


@dataclass(frozen=True)
class Plan:
    """Which spans to ask for and which stretches to give, in days from the first."""

    spans: dict[str, list[tuple[int, int]]]
    stretches: tuple[int, ...] = STRETCHES
    places: int = 8  # how many stretches of each length, spread over the days
    seasons: bool = False  # instead: four weeks, one in each quarter of the year
    days: int = 365


YEAR = Plan(SPANS)
SEVEN_WEEKS = Plan({"month": [(0, 30), (19, 49)]}, (7, 14), 3, days=49)


def short_spans(rng: np.random.Generator) -> dict[str, list[tuple[int, int]]]:
    """Twenty random places each of a day, a week and a fortnight."""
    return {
        name: [(int(d), int(d) + days) for d in rng.integers(0, 365 - days, 20)]
        for name, days in (("day", 1), ("week", 7), ("fortnight", 14))
    }


def plan_for(level: str, plan: Plan, rng: np.random.Generator) -> Plan:
    """What a level is fitted on: a year from bills has one span, the short one its own."""
    if level == "short":
        return replace(plan, spans=short_spans(rng))
    if level == "bills_year":
        return replace(plan, spans={"year": plan.spans["year"]})
    return plan


def monthly(home: Home) -> tuple[list[float], list[float]] | None:
    """Twelve bills (mean kW, days) of a home with at least 11 usable months, else None."""
    kw, days = [], []
    for first, after in SPANS["month"]:
        part = home.mean_kw[first:after]
        good = np.isfinite(part)
        if part.size and good.mean() >= COMPLETE:
            kw.append(float(part[good].mean()))
            days.append(float(after - first))
    return (kw, days) if len(kw) >= 11 else None


def covered_days(plan: Plan, rng: np.random.Generator) -> Iterator[tuple[int, NDArray[np.bool_]]]:
    """Stretches of interval data as masks of days, each with its length."""
    if plan.seasons:
        for _ in range(plan.places):
            mask = np.zeros(plan.days, dtype=bool)
            for quarter in range(4):
                first = min(quarter * 91 + int(rng.integers(0, 85)), plan.days - 7)
                mask[first : first + 7] = True
            yield 28, mask
        return
    for length in plan.stretches:
        for k in range(plan.places):
            first = int((k + rng.random()) * (plan.days - length) / plan.places)
            mask = np.zeros(plan.days, dtype=bool)
            mask[first : first + length] = True
            yield length, mask


def quantities_of(
    home: Home,
    bills: tuple[list[float], list[float]] | None,
    level: str,
    window: int,
    rest: NDArray[np.bool_],
    held: NDArray[np.bool_],
) -> dict[str, float] | None:
    """What a level sees of one case; None when the home lacks the evidence."""
    mean_kw = float(home.mean_kw[rest].mean())
    found = features.energy(mean_kw, float(rest.sum()))
    if level.startswith("bills"):
        if bills is None:
            return None
        found |= features.year(mean_kw, *bills)
    if level == "days":
        found |= features.daily(home.mean_kw[rest])
    if level in STRETCH_LEVELS:
        peak = home.peak_kw[window][held]
        if not features.telling(peak):
            return None
        anchors = {
            "stretch": None,
            "bill_stretch": found["span_mean"],
            "bills_stretch": found.get("year_mean"),
        }
        found |= features.stretch(
            peak, home.mean_kw[held], anchor=anchors[level], span_mean=found["span_mean"]
        )
    return found


def cases_of(
    cases: Cases,
    index: int,
    home: Home,
    level: str,
    window: int,
    plan: Plan,
    rng: np.random.Generator,
) -> None:
    """Every span of one home under every stretch (or none), added to ``cases``."""
    bills = monthly(home)
    peak = home.peak_kw[window]
    good = np.isfinite(peak)
    stretches = (
        list(covered_days(plan, rng))
        if level in STRETCH_LEVELS
        else [(0, np.zeros(plan.days, dtype=bool))]
    )
    for length, covered in stretches:
        held = covered & good
        if held.sum() < 0.9 * length:
            continue
        for name, places in plan.spans.items():
            for first, after in places:
                there = np.zeros(plan.days, dtype=bool)
                there[first:after] = good[first:after]
                if there.sum() < 0.95 * (after - first):
                    continue
                rest, known = there & ~covered, there & covered
                if not rest.any() or not peak[rest].max() > 0.0:
                    continue
                found = quantities_of(home, bills, level, window, rest, held)
                if found is None:
                    continue
                seen = float(peak[known].max()) if known.any() else 0.0
                cases.home.append(index)
                cases.cell.append(f"{name}/{length}")
                cases.quantities.append(found)
                cases.rest.append(float(np.log(peak[rest].max())))
                cases.known.append(float(np.log(seen)) if seen > 0.0 else -np.inf)
                cases.total.append(float(np.log(peak[there].max())))


def build(homes: list[Home], level: Level, window: int, plan: Plan = YEAR) -> Frozen:
    """Every case of a level over some homes."""
    rng = np.random.default_rng(0)
    plan = plan_for(level.name, plan, rng)
    cases = Cases()
    for index, home in enumerate(homes):
        cases_of(cases, index, padded(home, plan.days), level.name, window, plan, rng)
    return cases.freeze()


def padded(home: Home, days: int) -> Home:
    """The same home on exactly ``days`` days: cut, or filled with missing ones."""

    def fitted(values: Array) -> Array:
        missing = np.full(max(days - len(values), 0), np.nan)
        return np.concatenate([values[:days], missing])

    return Home(home.name, {w: fitted(p) for w, p in home.peak_kw.items()}, fitted(home.mean_kw))


# ---- the fit ---------------------------------------------------------------------------


def votes(home: NDArray[np.int64]) -> Array:
    """One vote a home: 1 / its number of cases."""
    _, place, count = np.unique(home, return_inverse=True, return_counts=True)
    weight: Array = 1.0 / count[place]
    return weight


def least_squares(x: Array, y: Array, weight: Array, ridge: float) -> Array:
    penalty = ridge * weight.sum() * np.r_[0.0, np.ones(x.shape[1] - 1)]
    solved: Array = np.linalg.solve((x.T * weight) @ x + np.diag(penalty), x.T @ (weight * y))
    return solved


def robust_weights(x: Array, y: Array, weight: Array) -> Array:
    """Huber's weights by iteration: a few strange homes must not tilt the line for all."""
    robust = weight
    for _ in range(6):
        line = least_squares(x, y, robust, RIDGE)
        robust = weight * np.minimum(1.0, HUBER / np.maximum(np.abs(y - x @ line), 1e-9))
    return robust


def left_out(x: Array, y: Array, weight: Array, home: NDArray[np.int64], ridge: float) -> Array:
    """Error of each case under the line fitted without its home, shape (cases,)."""
    penalty = ridge * weight.sum() * np.r_[0.0, np.ones(x.shape[1] - 1)]
    square = (x.T * weight) @ x + np.diag(penalty)
    right = x.T @ (weight * y)
    error = np.empty_like(y)
    for one in np.unique(home):
        rows = home == one
        part = x[rows].T * weight[rows]
        line = np.linalg.solve(square - part @ x[rows], right - part @ y[rows])
        error[rows] = y[rows] - x[rows] @ line
    return error


def weighted_points(values: Array, weight: Array, shares: Iterable[float]) -> list[float]:
    """Quantiles of weighted values, midpoints joined by straight lines."""
    order = np.argsort(values)
    mass = weight[order]
    place = np.cumsum(mass) - 0.5 * mass
    return [float(np.interp(s * mass.sum(), place, values[order])) for s in shares]


def standardise(x: Array) -> tuple[Array, Array, Array]:
    centre, width = x.mean(axis=0), x.std(axis=0) + 1e-9
    return np.column_stack([np.ones(len(x)), (x - centre) / width]), centre, width


def raw(line: Array, centre: Array, width: Array) -> Array:
    """Coefficients on the terms themselves, constant first."""
    slopes = line[1:] / width
    return np.r_[line[0] - slopes @ centre, slopes]


def scaled_points(level: Level, cases: Frozen, score: Array) -> Points:
    """The points of the scaled error for each cell, as a grid of lengths."""
    spans = sorted({SPAN_DAYS[c.split("/")[0]] for c in cases.cell})
    lengths = sorted({int(c.split("/")[1]) for c in cases.cell})
    grid = np.zeros((len(spans), len(lengths), 3))
    for cell in np.unique(cases.cell):
        rows = cases.cell == cell
        share = tail(level.name, str(cell), rows.sum() / len(np.unique(cases.home[rows])))
        name, length = str(cell).split("/")
        grid[spans.index(SPAN_DAYS[name]), lengths.index(int(length))] = weighted_points(
            score[rows], votes(cases.home[rows]), (share, 0.5, 1.0 - share)
        )
    return Points(tuple(map(float, spans)), tuple(map(float, lengths)), grid)


def home_ranges(level: Level, cases: Frozen) -> dict[str, tuple[float, float, float, float]]:
    """2.5, 5, 95 and 97.5 % points over the homes of what the level watches or spreads by."""
    names = {
        part for term in (*level.spread, *level.watch, *level.remark) for part in term.split("*")
    }
    weight = votes(cases.home)
    return {
        name: tuple(weighted_points(cases.quantities[name], weight, (0.025, 0.05, 0.95, 0.975)))
        for name in sorted(names - {"span_len", "stretch_len"})
    }


def fit(level: Level, cases: Frozen) -> Fitted:
    x, x0, x1 = standardise(terms(level.centre, cases.quantities)[:, 1:])
    z, z0, z1 = standardise(terms(level.spread, cases.quantities)[:, 1:])
    weight = robust_weights(x, cases.rest, votes(cases.home))
    error = left_out(x, cases.rest, weight, cases.home, RIDGE)
    sides = []
    for rows in (error < 0.0, error >= 0.0):
        size = np.log(np.abs(error[rows]) + SPREAD_FLOOR)
        sides.append(least_squares(z[rows], size, votes(cases.home[rows]), SPREAD_RIDGE))
    nothing = Points((30.0,), (0.0,), np.zeros((1, 1, 3)))
    one = Fitted(
        level,
        raw(least_squares(x, cases.rest, weight, RIDGE), x0, x1),
        raw(sides[0], z0, z1),
        raw(sides[1], z0, z1),
        home_ranges(level, cases),
        nothing,
    )
    below, above = one.sizes(cases.quantities)
    score = error / np.where(error < 0.0, below, above)
    return replace(one, points=scaled_points(level, cases, score))


def predict(one: Fitted, cases: Frozen) -> Array:
    """ln of the 5, 50 and 95 % points, shape (cases, 3), measured days counted in."""
    found = one.predict(cases.quantities, cases.span_days, cases.stretch_days)
    return np.maximum(found, cases.known[:, None])


def usable(level: Level, cases: Frozen) -> Frozen:
    """Cases with every quantity there (a stretch of an empty house has no logarithm)."""
    names = {
        part for term in (*level.centre, *level.spread, *level.watch) for part in term.split("*")
    }
    there = np.all([np.isfinite(cases.quantities[name]) for name in names], axis=0)
    return cases.take(there & np.isfinite(cases.rest))


# ---- cross-validation --------------------------------------------------------------------


@dataclass
class Score:
    """How the bands did on homes that the fit had not seen."""

    homes: int
    cases: int
    coverage: float
    coverage_se: float
    below: float
    median_error: float
    factor: float  # geometric mean of high / low, one vote a home
    factor_median: float
    factor_apart: float  # geometric mean over cases that share no day with the stretch


def score(points: Array, cases: Frozen, rng: np.random.Generator, repeats: int = 1) -> Score:
    low, middle, high = points.T
    truth, home = cases.total, cases.home
    names, place = np.unique(home, return_inverse=True)
    inside = (truth >= low - 1e-9) & (truth <= high + 1e-9)

    def by_home(values: Array, rows: NDArray[np.bool_]) -> Array:
        count = np.bincount(place[rows], minlength=len(names)).astype(float)
        total = np.bincount(place[rows], weights=values[rows], minlength=len(names))
        return (total / np.where(count > 0, count, np.nan))[count > 0]

    every = np.ones(len(truth), dtype=bool)
    cover = by_home(inside.astype(float), every)
    draws = rng.integers(0, len(cover), (2000, len(cover)))
    apart = cases.known == -np.inf
    weight = votes(home)
    return Score(
        len(names),
        len(truth) // repeats,
        float(cover.mean()),
        float(cover[draws].mean(axis=1).std()),
        float(by_home((truth < low - 1e-9).astype(float), every).mean()),
        weighted_points(np.abs(np.exp(middle - truth) - 1.0), weight, (0.5,))[0],
        float(np.exp(by_home(high - low, every).mean())),
        float(np.exp(weighted_points(high - low, weight, (0.5,))[0])),
        float(np.exp(by_home(high - low, apart).mean())) if apart.any() else float("nan"),
    )


def cross_validate(
    level: Level, cases: Frozen, *, folds: int = 10, repeats: int = 2, test: Frozen | None = None
) -> dict[str, Score]:
    """Ten folds over homes, the whole fit redone in each; the scores of each cell."""
    cases = usable(level, cases)
    judged = cases if test is None else usable(level, test)
    names = np.unique(cases.home)
    kept: list[tuple[Array, Frozen]] = []
    for repeat in range(repeats):
        rng = np.random.default_rng(100 + repeat)
        part = dict(zip(rng.permutation(names).tolist(), range(len(names)), strict=True))
        for fold in range(folds):
            out = [n for n, k in part.items() if k % folds == fold]
            one = fit(level, cases.take(~np.isin(cases.home, out)))
            seen = judged.take(np.isin(judged.home, out))
            kept.append((predict(one, seen), seen))
    points = np.vstack([p for p, _ in kept])
    joined = Frozen(
        np.concatenate([c.home for _, c in kept]),
        np.concatenate([c.cell for _, c in kept]),
        {},
        np.concatenate([c.rest for _, c in kept]),
        np.concatenate([c.known for _, c in kept]),
        np.concatenate([c.total for _, c in kept]),
    )
    rng = np.random.default_rng(7)
    return {
        str(cell): score(
            points[joined.cell == cell], joined.take(joined.cell == cell), rng, repeats
        )
        for cell in np.unique(joined.cell)
    }


# ---- from one window to a shorter one ------------------------------------------------------


def ratio_cases(
    homes: list[Home], coarse: int, fine: int
) -> tuple[Array, Array, NDArray[np.int64]]:
    """ln(coarse peak [kW]), ln(fine peak / coarse peak) and the home, for spans of 30 days."""
    level, rise, owner = [], [], []
    for index, home in enumerate(homes):
        if fine not in home.peak_kw:
            continue
        days = len(home.mean_kw)
        step = 30 if days >= 60 else days - 30
        for first in range(0, days - 29, step):
            big, small = (home.peak_kw[w][first : first + 30] for w in (coarse, fine))
            if np.isfinite(big).mean() < 0.95 or np.nanmax(big) < 0.3:
                continue
            level.append(np.log(np.nanmax(big)))
            rise.append(np.log(np.nanmax(small) / np.nanmax(big)))
            owner.append(index)
    return np.array(level), np.array(rise), np.array(owner)


def quantile_line(x: Array, y: Array, weight: Array, share: float) -> tuple[float, float]:
    """Constant and slope of the linear quantile regression, by linear programming."""
    from scipy.optimize import linprog

    design = np.column_stack([np.ones_like(x), x])
    solved = linprog(
        -y,
        A_eq=design.T,
        b_eq=(1.0 - share) * (design.T @ weight),
        bounds=np.column_stack([np.zeros_like(weight), weight]),
        method="highs",
    )
    constant, slope = -solved.eqlin.marginals
    return float(constant), float(slope)


RATIOS = {
    (60, 30): ("london", "switzerland"),
    (30, 15): ("switzerland",),
    (60, 15): ("switzerland",),
}


def ratio_data(homes: dict[str, list[Home]], coarse: int, fine: int) -> tuple[Array, ...]:
    """Cases of all populations that have both windows; one vote a home, populations equal."""
    level, rise, owner, weight = [], [], [], []
    for k, name in enumerate(RATIOS[coarse, fine]):
        x, y, home = ratio_cases(homes[name], coarse, fine)
        vote = votes(home)
        level.append(x)
        rise.append(y)
        owner.append(home + 1000 * k)
        weight.append(vote / vote.sum())
    return tuple(np.concatenate(part) for part in (level, rise, owner, weight))


def ratio_lines(x: Array, y: Array, weight: Array) -> list[tuple[float, float]]:
    return [quantile_line(x, y, weight, share) for share in (0.05, 0.5, 0.95)]


def ratio_rows(homes: dict[str, list[Home]]) -> tuple[list[list[object]], list[list[object]]]:
    """Rows of ``peak_ratio.csv`` and their ten-fold cross-validation for ``peak_cv.csv``."""
    rows: list[list[object]] = []
    checks: list[list[object]] = []
    for coarse, fine in RATIOS:
        x, y, owner, weight = ratio_data(homes, coarse, fine)
        least, most = weighted_points(x, weight, (0.05, 0.95))
        lines = ratio_lines(x, y, weight)
        source = "; ".join(SOURCES[name] for name in RATIOS[coarse, fine])
        for point, (constant, slope) in zip(("low", "typical", "high"), lines, strict=True):
            rows.append([coarse, fine, point, *map(short, (constant, slope, least, most)), source])
        checks.append(ratio_check(coarse, fine, x, y, owner, weight))
    return rows, checks


def ratio_check(
    coarse: int, fine: int, x: Array, y: Array, owner: Array, weight: Array
) -> list[object]:
    names = np.random.default_rng(3).permutation(np.unique(owner))
    fold = {name: k % 10 for k, name in enumerate(names.tolist())}
    part = np.array([fold[name] for name in owner.tolist()])
    points = np.zeros((len(x), 3))
    for k in range(10):
        fitted = part != k
        least, most = weighted_points(x[fitted], weight[fitted], (0.05, 0.95))
        held = np.clip(x[~fitted], least, most)
        for j, (constant, slope) in enumerate(ratio_lines(x[fitted], y[fitted], weight[fitted])):
            points[~fitted, j] = np.clip(constant + slope * held, 0.0, np.log(coarse / fine))
    cell = np.full(len(x), "ratio/0")
    judged = Frozen(owner, cell, {}, y, np.full(len(x), -np.inf), y)
    found = score(np.sort(points, axis=1), judged, np.random.default_rng(7))
    return cv_row(
        "ratio",
        fine,
        "month",
        coarse,
        "both" if coarse == 60 and fine == 30 else "switzerland",
        found,
        f"{coarse} min measured, {fine} min asked for",
    )


# ---- tables ----------------------------------------------------------------------------------


def short(value: float) -> str:
    return f"{value:.6g}"


def cv_row(
    evidence: str,
    window: int,
    span: str,
    stretch: object,
    tested_on: str,
    found: Score,
    note: str = "",
) -> list[object]:
    rounded = (
        found.coverage,
        found.coverage_se,
        found.below,
        found.median_error,
        found.factor,
        found.factor_median,
        found.factor_apart,
    )
    return [
        evidence,
        window,
        span,
        stretch,
        tested_on,
        found.homes,
        found.cases,
        *("" if np.isnan(v) else f"{v:.3f}" for v in rounded),
        note,
    ]


CV_HEAD = [
    "evidence", "window_min", "span", "stretch_days", "tested_on", "homes", "cases", "coverage",
    "coverage_se", "below", "median_error", "factor", "factor_median", "factor_apart", "note",
]  # fmt: skip


def model_rows(one: Fitted, window: int) -> Iterator[list[object]]:
    """Rows of ``peak_model.csv`` for one level and window."""
    level = one.level
    for part, names, values in (
        ("centre", level.centre, one.centre),
        ("below", level.spread, one.below),
        ("above", level.spread, one.above),
    ):
        for name, value in zip(("one", *names), values, strict=True):
            yield [level.name, window, part, name, "", "", short(float(value))]
    for name, edges in one.ranges.items():
        for part, value in zip(("p2.5", "p5", "p95", "p97.5"), edges, strict=True):
            yield [level.name, window, part, name, "", "", short(value)]
    for i, span in enumerate(one.points.span_days):
        for j, length in enumerate(one.points.stretch_days):
            for part, value in zip(("q5", "q50", "q95"), one.points.values[i, j], strict=True):
                yield [level.name, window, part, "error", f"{span:g}", f"{length:g}", short(value)]


def write(path: Path, head: list[str], rows: Iterable[list[object]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(head)
        out.writerows(rows)


def read_all(folder: Path) -> dict[str, list[Home]]:
    return {
        "london": read_london(folder),
        "california": read_california(folder),
        "switzerland": read_switzerland(folder),
        "columbia": read_columbia(folder),
    }


def judge(
    level: Level, window: int, homes: dict[str, list[Home]]
) -> tuple[Fitted, list[list[object]]]:
    """The fit on all London homes, and how the procedure does on homes it has not seen."""
    london = usable(level, build(homes["london"], level, window))
    rows = [
        cv_row(level.name, window, *cell.split("/"), "london", found, "ten folds by home")
        for cell, found in cross_validate(level, london).items()
    ]
    if level.name in STRETCH_LEVELS:
        seasons = build(homes["london"], level, window, replace(YEAR, seasons=True))
        for cell, found in cross_validate(level, london, test=seasons).items():
            note = "ten folds by home; four weeks, one in each quarter of the year"
            rows.append(
                cv_row(level.name, window, cell.split("/")[0], "4x7", "london", found, note)
            )
    one = fit(level, london)
    for name, plan in (("california", YEAR), ("columbia", YEAR), ("switzerland", SEVEN_WEEKS)):
        if window < 60 and name != "switzerland":
            continue
        if name == "switzerland" and level.name.startswith(("bills", "short")):
            continue
        cases = usable(level, build(homes[name], level, window, plan))
        points = predict(one, cases)
        for cell in np.unique(cases.cell):
            found = score(
                points[cases.cell == cell], cases.take(cases.cell == cell), np.random.default_rng(7)
            )
            note = "fitted on London, tested on the other population"
            rows.append(cv_row(level.name, window, *str(cell).split("/"), name, found, note))
    return one, rows


def main() -> None:
    parser = argparse.ArgumentParser(description="Fit the calibrated peak model.")
    parser.add_argument("--data", type=Path, required=True, help="folder of the open data sets")
    parser.add_argument("--out", type=Path, default=Path(__file__).parents[1], help="seed_data")
    chosen = parser.parse_args()
    homes = read_all(chosen.data)
    model: list[list[object]] = []
    checks: list[list[object]] = []
    for window in (30, 60):
        for level in LEVELS.values():
            one, rows = judge(level, window, homes)
            model.extend(model_rows(one, window))
            checks.extend(rows)
            print(f"{level.name}, {window} min: {len(rows)} cells")
    ratios, ratio_checks = ratio_rows(homes)
    head = ["evidence", "window_min", "part", "name", "span_days", "stretch_days", "value"]
    write(chosen.out / "peak_model.csv", head, model)
    write(chosen.out / "peak_cv.csv", CV_HEAD, checks + ratio_checks)
    ratio_head = [
        "coarse_min",
        "fine_min",
        "point",
        "constant",
        "slope",
        "least_ln_kw",
        "most_ln_kw",
        "source",
    ]
    write(chosen.out / "peak_ratio.csv", ratio_head, ratios)
    write(
        chosen.out / "peak_sources.csv",
        ["population", "citation", "used_for"],
        [[name, text, USES[name]] for name, text in SOURCES.items()],
    )


if __name__ == "__main__":
    main()
