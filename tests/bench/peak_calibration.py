"""How wide and how true the calibrated peak bands are, on homes that the fit has not seen.

    python tests/bench/peak_calibration.py --data DIR

DIR holds the open data sets named in ``seed_data/peak_sources.csv``. Ten folds by home: the
whole fit, calibration included, is redone without the homes that it is judged on; standard
errors are bootstrapped by home. Then the shipped table, through the public functions: London
homes (which it was fitted on) and homes of other populations (which it was not). About a
minute on one core. "Factor" is the 95 % over the 5 % point: geometric mean and median over
homes; "apart" is the geometric mean where the measured days lie outside the period asked for.
"""

from __future__ import annotations

import argparse
import importlib.util
import sys
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import numpy as np

from loadlib.peak import Interval, peak_from_bills

ROOT = Path(__file__).parents[2]

TARGETS = (
    ("a month's 30-min peak from its bill alone", "bill", 30, "month/0", False, 3.2),
    ("the same among a year of bills", "bills", 30, "month/0", False, 3.2),
    ("with one week of half-hourly data", "bills_stretch", 30, "month/7", False, 2.5),
    ("with four weeks in a row", "bills_stretch", 30, "month/28", False, 2.2),
    ("with four weeks, one in each season", "bills_stretch", 30, "month/28", True, 2.2),
    ("with daily energies", "days", 30, "month/0", False, None),
    ("the year's 30-min peak from twelve bills", "bills_year", 30, "year/0", False, 2.4),
    ("the year's, with one week", "bills_stretch", 30, "year/7", False, None),
    ("the year's, with four weeks in a row", "bills_stretch", 30, "year/28", False, None),
    ("a month's 60-min peak from its bill alone", "bill", 60, "month/0", False, None),
    ("the same among a year of bills", "bills", 60, "month/0", False, None),
    ("the year's 60-min peak from twelve bills", "bills_year", 60, "year/0", False, None),
)


def fitting_script() -> ModuleType:
    """The script that made the tables, as a module."""
    path = ROOT / "seed_data" / "make" / "fit_peak.py"
    spec = importlib.util.spec_from_file_location("fit_peak", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["fit_peak"] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


def cross_validated(fit_peak: ModuleType, london: list[object]) -> Iterator[str]:
    """One line a target."""
    kept: dict[tuple[str, int], object] = {}
    for title, name, window, cell, seasons, target in TARGETS:
        level = fit_peak.LEVELS[name]
        if (name, window) not in kept:
            cases = fit_peak.build(london, level, window)
            kept[name, window] = fit_peak.usable(level, cases)
        test = None
        if seasons:
            plan = fit_peak.replace(fit_peak.YEAR, seasons=True)
            test = fit_peak.build(london, level, window, plan)
        found = fit_peak.cross_validate(level, kept[name, window], test=test)[cell]
        yield line(title, found, target)


def line(title: str, found: object, target: float | None) -> str:
    wish = f"≤ {target}" if target else ""
    return (
        f"{title:44s} {found.homes:4d} {found.coverage:6.3f} ± {found.coverage_se:.3f}"
        f" {found.median_error:7.3f} {found.factor:7.2f} {found.factor_median:7.2f}"
        f" {found.factor_apart:6.2f}  {wish}"
    )


def transfer(fit_peak: ModuleType, homes: dict[str, list[object]]) -> Iterator[str]:
    """Fitted on all of London, tested on each other population."""
    plans = {
        "switzerland": (30, fit_peak.SEVEN_WEEKS),
        "california": (60, fit_peak.YEAR),
        "columbia": (60, fit_peak.YEAR),
    }
    for place, (window, plan) in plans.items():
        for level in fit_peak.LEVELS.values():
            if place == "switzerland" and level.name.startswith(("bills", "short")):
                continue
            fitted = fit_peak.fit(
                level, fit_peak.usable(level, fit_peak.build(homes["london"], level, window))
            )
            cases = fit_peak.usable(level, fit_peak.build(homes[place], level, window, plan))
            points = fit_peak.predict(fitted, cases)
            for cell in ("week/0", "month/0", "month/7", "month/28", "year/0", "year/28"):
                rows = cases.cell == cell
                if rows.any():
                    seen = cases.take(rows)
                    found = fit_peak.score(points[rows], seen, np.random.default_rng(7))
                    yield line(f"{place}, {window} min, {level.name} {cell}", found, None)


def through_public_functions(homes: dict[str, list[object]]) -> Iterator[str]:
    """Twelve bills a home into ``peak_from_bills``, the shipped table, every month and the year."""
    for place, window in (("london", 30), ("london", 60), ("california", 60), ("columbia", 60)):
        for week in (False, True):
            inside, year_inside, factors, unlike = [], [], [], 0
            for home in homes[place]:
                found = one_home(home, window, week=week)
                if found is None:
                    continue
                months, year, width, strange = found
                inside.append(months)
                year_inside.append(year)
                factors.append(width)
                unlike += strange
            yield (
                f"{place}, {window} min, twelve bills{' and a week' if week else ''}: "
                f"{len(inside)} homes, months inside {np.mean(inside):.3f}, "
                f"year inside {np.mean(year_inside):.3f}, factor {np.exp(np.mean(factors)):.2f}, "
                f"{unlike} called unlike"
            )


def one_home(home: object, window: int, *, week: bool) -> tuple[float, bool, float, bool] | None:
    """Share of months inside, whether the year is, mean ln factor, and whether called unlike."""
    first = date(2013, 1, 1)
    starts = [date(2013, m, 1) for m in range(1, 13)] + [date(2014, 1, 1)]
    periods, truth = [], []
    for a, b in pairwise(starts):
        part = slice((a - first).days, (b - first).days)
        mean, peak = home.mean_kw[part], home.peak_kw[window][part]
        if mean.size == 0 or np.isfinite(mean).mean() < 0.97:
            continue
        periods.append((a, b, float(np.nanmean(mean)) * 24.0 * (b - a).days))
        truth.append(1000.0 * float(np.nanmax(peak)))
    if len(periods) < 11:
        return None
    interval = a_week(home, window, first) if week else None
    found = peak_from_bills(periods, window, interval=interval)
    inside = [r.low <= t <= r.high for r, t in zip(found.by_period, truth, strict=True)]
    widths = [np.log(r.factor) for r in found.by_period]
    year = found.overall.low <= max(truth) <= found.overall.high
    return float(np.mean(inside)), year, float(np.mean(widths)), found.unfamiliar


def a_week(home: object, window: int, first: date) -> Interval | None:
    """A week from early May that has each day's peak once, and its mean otherwise."""
    days = slice(125, 132)
    mean, peak = home.mean_kw[days], home.peak_kw[window][days]
    if not np.isfinite(mean).all():
        return None
    per_day = 1440 // window
    kw = np.repeat((mean * per_day - peak) / (per_day - 1), per_day).reshape(7, per_day)
    kw[:, per_day // 2] = peak
    start = datetime.combine(first + timedelta(days=125), datetime.min.time(), UTC)
    return Interval(start, window * 60, np.maximum(kw, 0.0).ravel() * window / 60.0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True, help="folder of the open data sets")
    chosen = parser.parse_args()
    fit_peak = fitting_script()
    homes = fit_peak.read_all(chosen.data)
    head = f"{'':44s} homes coverage ± se   error  factor  median  apart  wish"
    print("London, ten folds by home\n" + head)
    for text in cross_validated(fit_peak, homes["london"]):
        print(text, flush=True)
    print("\nFitted on London, tested elsewhere\n" + head)
    for text in transfer(fit_peak, homes):
        print(text, flush=True)
    print("\nThe shipped table through the public functions (London is what it was fitted on)")
    for text in through_public_functions(homes):
        print(text, flush=True)


if __name__ == "__main__":
    main()
