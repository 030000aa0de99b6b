"""The bill estimator: energies, means, base load, peaks; doubt where data lack."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import ClassVar

import numpy as np
import pytest

from loadlib.core.category import Category
from loadlib.core.evidence import Evidence
from loadlib.core.household import House
from loadlib.core.ranges import Range
from loadlib.core.series import BillPeriod, Series
from loadlib.estimators.bill import METER_SHARE, BillEstimator
from loadlib.estimators.evidence_peaks import evidence_peaks
from loadlib.testing import EstimatorContract

START_S = int(datetime(2025, 1, 1, tzinfo=UTC).timestamp())
BILL = BillPeriod(date(2025, 3, 1), date(2025, 4, 1), 640_000.0, source="paper bill")


def year(values: np.ndarray | None = None, **changes: object) -> Series:
    mean_w = np.full(8760, 400.0) if values is None else values
    series = Series("meter", "whole", "import", START_S, 3600, mean_w, "Etc/UTC", "file")
    return replace(series, **changes)  # type: ignore[arg-type]  # field names of a Series


def evidence(*series: Series, bills: tuple[BillPeriod, ...] = ()) -> Evidence:
    return Evidence(House("h", timezone="Etc/UTC"), series=series, bills=bills)


class TestBill(EstimatorContract):
    plausible: ClassVar[Mapping[str, tuple[float, float]]] = {
        "energy_wh": (1e3, 1e7),
        "mean_w": (10, 1e4),
        "max_w": (100, 1e5),
    }

    def make(self) -> BillEstimator:
        return BillEstimator()

    def evidence(self) -> Evidence:
        return evidence(year(), bills=(BILL,))


def test_a_bill_is_its_energy_within_the_meters_class() -> None:
    (claim,) = BillEstimator().claims(evidence(bills=(BILL,)))
    assert claim.value.typical == 640_000.0
    assert claim.value.high / claim.value.typical == pytest.approx(1.0 + METER_SHARE)
    assert claim.end_s is not None
    assert claim.start_s is not None
    assert claim.end_s - claim.start_s == 31 * 86_400
    assert "paper bill" in claim.source


def test_bills_begin_at_local_midnight() -> None:
    home = House("h", timezone="America/New_York")
    (claim,) = BillEstimator().claims(Evidence(home, bills=(BILL,)))
    assert claim.end_s is not None
    assert claim.start_s is not None
    assert claim.end_s - claim.start_s == 31 * 86_400 - 3600  # clocks go forward in March


def test_an_estimated_read_is_doubted() -> None:
    (claim,) = BillEstimator().claims(evidence(bills=(replace(BILL, estimated=True),)))
    assert claim.value.factor > 1.4
    assert claim.source.startswith("estimated bill")


def test_a_bill_of_nothing_has_a_doubt() -> None:
    (claim,) = BillEstimator().claims(evidence(bills=(replace(BILL, energy_wh=0.0),)))
    assert claim.value.high > 0.0


def test_interval_data_give_months_blocks_base_and_maximum() -> None:
    values = np.full(8760, 400.0)
    values[5000] = 5200.0
    claims = list(BillEstimator().claims(evidence(year(values))))
    months = [c for c in claims if c.quantity == "mean_w" and not c.when.hours]
    assert len(months) == 12
    assert months[0].value.typical == pytest.approx(400.0)
    blocks = [c for c in claims if c.when.hours]
    assert len(blocks) == 4 * 6
    (most,) = [c for c in claims if c.quantity == "max_w"]
    assert (most.value.typical, most.window_s) == (5200.0, 3600)
    (base,) = [c for c in claims if c.quantity == "quantile_w"]
    assert base.share == 0.05


def test_missing_slots_widen_and_are_not_filled() -> None:
    values = np.full(8760, 400.0)
    values[:200] = np.nan
    claims = [c for c in BillEstimator().claims(evidence(year(values))) if not c.when.hours]
    assert claims[0].value.typical == pytest.approx(400.0)
    assert claims[0].value.factor > 1.2 > claims[1].value.factor
    values[: 31 * 24 - 100] = np.nan
    months = [c for c in BillEstimator().claims(evidence(year(values))) if c.quantity == "mean_w"]
    assert len([c for c in months if not c.when.hours]) == 11


def test_a_house_that_feeds_back_is_not_its_import() -> None:
    exporting = year(flow="export", channel="solar")
    assert BillEstimator().needs(evidence(year(), exporting)) != []
    assert BillEstimator().needs(evidence()) == ["no bill and no interval data"]


def test_peaks_of_a_full_year_are_measured() -> None:
    values = np.full(8760, 400.0)
    values[5000] = 5200.0
    peaks = evidence_peaks(evidence(year(values)), months(400.0))
    highest = next(p for p in peaks if (p.window_s, p.period) == (3600, "year"))
    assert highest.basis == "measured"
    assert highest.power_w.low < 5200.0 < highest.power_w.high
    assert highest.power_w.factor < 1.05
    assert highest.at.startswith("2025-07-28 08:00")
    finer = next(p for p in peaks if (p.window_s, p.period) == (900, "year"))
    assert finer.basis == "calibrated"
    assert finer.power_w.typical >= 5200.0


def test_peaks_of_part_of_a_year_are_calibrated_for_the_year() -> None:
    values = np.abs(np.sin(np.arange(24 * 62))) * 900.0 + 200.0
    peaks = evidence_peaks(evidence(year(values)), months(700.0))
    by_period = {p.period: p for p in peaks if p.window_s == 3600}
    assert by_period["month 1"].basis == "measured"
    assert by_period["month 8"].basis == "calibrated"
    assert by_period["year"].basis == "calibrated"
    assert by_period["year"].power_w.low >= 1000.0


def test_peaks_from_bills_alone_are_calibrated() -> None:
    peaks = evidence_peaks(evidence(bills=(BILL,)), months(700.0))
    assert {p.basis for p in peaks} == {"calibrated"}
    assert len(peaks) == 3 * 13
    assert evidence_peaks(evidence(), months(700.0)) == ()


def test_a_measured_leg_has_its_own_peaks() -> None:
    values = np.full(8760, 200.0)
    values[100] = 2400.0
    peaks = evidence_peaks(evidence(year(values, place="leg A")), months(400.0))
    assert {p.place for p in peaks} == {"leg A"}
    assert max(p.power_w.typical for p in peaks) == pytest.approx(2400.0)


def months(watts: float) -> tuple[Range, ...]:
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    return tuple(Range.around(watts * 24.0 * count, 1.02) for count in days)


def test_categories_are_not_needed() -> None:
    nothing: Mapping[str, Category] = {}
    assert list(BillEstimator().claims(Evidence(House("h"), nothing, bills=(BILL,))))


def test_the_same_year_by_quarter_hours_and_hours_is_said_once() -> None:
    rng = np.random.default_rng(3)
    quarters = rng.uniform(200.0, 900.0, 4 * 8760)
    fine = year(quarters, step_s=900)
    coarse = year(quarters.reshape(-1, 4).mean(axis=1))
    alone = list(BillEstimator().claims(evidence(fine)))
    both = list(BillEstimator().claims(evidence(coarse, fine)))
    assert [(one.quantity, one.value) for one in both] == [
        (one.quantity, one.value) for one in alone
    ]
    assert all("counted in place of what is there at 3600 s" in one.source for one in both)
