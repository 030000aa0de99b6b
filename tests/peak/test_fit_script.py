"""The fitting script on synthetic homes with a known law: calibrated over homes, not months."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest


@pytest.fixture(scope="module")
def fit_peak() -> ModuleType:
    path = Path(__file__).parents[2] / "seed_data" / "make" / "fit_peak.py"
    spec = importlib.util.spec_from_file_location("fit_peak", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["fit_peak"] = module
    spec.loader.exec_module(module)
    return module


def homes(fit_peak: ModuleType, count: int, seed: int, lift: float = 0.0) -> list:
    """ln(daily peak) = 1.2 + 0.7 ln(mean) + home (sd 0.25) + day (sd 0.2)."""
    rng = np.random.default_rng(seed)
    season = 1.0 + 0.3 * np.cos(2.0 * np.pi * np.arange(365) / 365.0)
    made = []
    for k in range(count):
        mean = np.exp(rng.normal(-0.9, 0.6)) * season * np.exp(rng.normal(0.0, 0.1, 365))
        peak = np.exp(
            1.2 + lift + 0.7 * np.log(mean) + rng.normal(0, 0.25) + rng.normal(0, 0.2, 365)
        )
        made.append(fit_peak.Home(f"H{k}", {30: peak, 60: 0.8 * peak}, mean))
    return made


@pytest.mark.parametrize("name", ["bill", "bills", "bills_year", "days"])
def test_bands_hold_on_homes_that_the_fit_has_not_seen(fit_peak: ModuleType, name: str) -> None:
    level = fit_peak.LEVELS[name]
    fitted = fit_peak.fit(level, fit_peak.build(homes(fit_peak, 60, 1), level, 30))
    seen = fit_peak.build(homes(fit_peak, 120, 2), level, 30)
    points = fit_peak.predict(fitted, seen)
    cell = "year/0" if name == "bills_year" else "month/0"
    rows = seen.cell == cell
    found = fit_peak.score(points[rows], seen.take(rows), np.random.default_rng(0))
    assert abs(found.coverage - 0.9) < 3.0 * max(found.coverage_se, 0.02)
    assert found.factor < 4.0


def test_interval_data_sharpen_by_telling_the_home_apart(fit_peak: ModuleType) -> None:
    level = fit_peak.LEVELS["bills_stretch"]
    plan = fit_peak.replace(fit_peak.YEAR, places=2)
    cases = fit_peak.usable(level, fit_peak.build(homes(fit_peak, 40, 3), level, 30, plan))
    found = fit_peak.cross_validate(level, cases, repeats=1)
    assert 0.8 < found["month/28"].coverage < 0.97
    assert found["month/28"].factor < found["month/7"].factor < 2.4


def test_a_home_left_out_has_no_say_in_its_own_error(fit_peak: ModuleType) -> None:
    rng = np.random.default_rng(5)
    x = np.column_stack([np.ones(40), rng.normal(size=40)])
    y, home = rng.normal(size=40), np.repeat(np.arange(8), 5)
    weight = fit_peak.votes(home)
    error = fit_peak.left_out(x, y, weight, home, 0.0)
    kept = home != 3
    line = np.linalg.lstsq(
        x[kept] * np.sqrt(weight[kept])[:, None], y[kept] * np.sqrt(weight[kept]), rcond=None
    )[0]
    assert error[~kept] == pytest.approx(y[~kept] - x[~kept] @ line)


def test_one_vote_a_home(fit_peak: ModuleType) -> None:
    assert fit_peak.votes(np.array([1, 1, 1, 1, 2])).tolist() == [0.25] * 4 + [1.0]
    points = fit_peak.weighted_points(np.array([1.0, 2.0, 3.0]), np.ones(3), (0.5,))
    assert points == [2.0]


def test_days_from_readings(fit_peak: ModuleType) -> None:
    kw = np.full(3 * 48, 0.5)
    kw[10], kw[60] = 3.0, np.nan
    kw[100:120] = np.nan
    home = fit_peak.make_home("H", kw, 30)
    assert home.peak_kw[30][0] == 3.0
    assert home.peak_kw[60][0] == 1.75
    assert home.mean_kw[1] == 0.5  # one slot of 48 is missing
    assert np.isnan(home.mean_kw[2])  # twenty are
