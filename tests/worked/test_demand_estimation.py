"""Published formulas and worked examples of demand estimation; the source stands at each."""

from __future__ import annotations

from datetime import date

import pytest

from loadlib.errors import InputError
from loadlib.peak import formulas, peak_from_bills


def test_monthly_load_factor() -> None:
    """65,000 kWh, 125 kW, 30 days: 72.2 % (energy-cost article on load factor; read there)."""
    assert 100.0 * formulas.load_factor(65e6, 125e3, 720.0) == pytest.approx(72.2, abs=0.05)


def test_diversity_of_four_customers_on_a_transformer() -> None:
    """Kersting, Distribution System Modeling and Analysis, ch. 2: 16.16 kW together (read in a
    copy), 24.98 kW as the sum of their peaks (from memory)."""
    peaks = [24_980.0]
    assert formulas.diversity_factor(peaks, 16_160.0) == pytest.approx(1.546, abs=0.001)
    assert formulas.coincidence_factor(peaks, 16_160.0) == pytest.approx(0.647, abs=0.001)


@pytest.mark.parametrize(
    ("k1", "k2", "kw"), [(0.0003, 0.0375, 10.65), (0.0003, 0.05, 12.35), (0.0002, 0.07, 13.22)]
)
def test_velander_swedish_detached_house(k1: float, k2: float, kw: float) -> None:
    """18,500 kWh a year; constants read in a residential grid model
    (github.com/ehartvigs/residential-low-voltage-grid-model, EV/network_model_SWE_EV_2022.m)."""
    assert formulas.velander_peak_w(18_500.0, k1, k2) / 1000.0 == pytest.approx(kw, abs=0.02)


def test_every_published_velander_row_is_shown_and_they_conflict() -> None:
    rows = formulas.velander_rows(18_500.0)
    assert len(rows) == 9
    detached = [row.peak_w for row in rows if "detached" in row.method]
    assert max(detached) / min(detached) == pytest.approx(1.24, abs=0.005)
    assert all(row.source and row.obtained for row in rows)


def test_velander_for_twenty_houses() -> None:
    """Same source, its coincidence expression: 133.8 kW, 0.628."""
    group = formulas.velander_group_w(18_500.0, 20, 0.0003, 0.0375)
    one = formulas.velander_peak_w(18_500.0, 0.0003, 0.0375)
    assert group / 1000.0 == pytest.approx(133.8, abs=0.2)
    assert formulas.coincidence_factor([one] * 20, group) == pytest.approx(0.628, abs=0.002)


def test_rea_one_consumer() -> None:
    """REA Bulletin 45-2, A × B at 1,000 kWh a month: 3.1612 × 2.6772 = 8.46 kW (from memory)."""
    assert formulas.rea_peak_w(1, 1000.0) / 1000.0 == pytest.approx(8.46, abs=0.02)


def test_rea_ten_consumers() -> None:
    """Same, 800 kWh a month each: 17.329 × 2.1975 = 38.1 kW, coincidence 0.548 (from memory)."""
    ten, one = formulas.rea_peak_w(10, 800.0), formulas.rea_peak_w(1, 800.0)
    assert ten / 1000.0 == pytest.approx(38.1, abs=0.1)
    assert formulas.coincidence_factor([one] * 10, ten) == pytest.approx(0.548, abs=0.002)


@pytest.mark.parametrize(("houses", "share"), [(1, 1.0), (5, 0.5578), (50, 0.3131)])
def test_rusck(houses: int, share: float) -> None:
    """Rusck 1956 with C∞ = 0.2 (from memory)."""
    assert formulas.rusck_coincidence(houses, 0.2) == pytest.approx(share, abs=0.001)


def test_load_survey_line() -> None:
    """Kersting, ch. 2: 0.1058 + 0.005014 × 2,000 kWh = 10.13 kW (from memory)."""
    assert formulas.survey_peak_w(2000.0) / 1000.0 == pytest.approx(10.13, abs=0.02)


def test_one_minute_load_factor() -> None:
    """Wright & Firth, eight UK houses at one minute: load factor 0.1, so 3,500 kWh a year make
    4.0 kW: an order of magnitude (read in the abstract)."""
    peak_w = formulas.load_factor_peak_w(3_500_000.0, 8760.0, 0.1)
    assert peak_w / 1000.0 == pytest.approx(4.0, abs=0.05)


def test_a_bill_gives_bounds_only_and_every_estimate_lies_inside() -> None:
    """900 kWh in 30 days, 100 A at 240 V: 1.25 to 24.0 kW (arithmetic)."""
    least, most = formulas.peak_bounds_w(900_000.0, 720.0, 100.0, 240.0)
    assert (least, most) == (1250.0, 24_000.0)
    bill = [(date(2025, 6, 1), date(2025, 7, 1), 900.0)]
    for window in (15, 30, 60):
        found = peak_from_bills(bill, window).overall
        assert least <= found.low <= found.high <= most
    for row in formulas.published_peaks(900.0, 10_800.0):
        assert least <= row.peak_w <= most, row.method


def test_two_classes_of_load() -> None:
    """Gönen, Electric Power Distribution System Engineering, Example 2.5, p. 48 (read in a
    textbook companion): two of 2,000 kW, 3,000 kW together."""
    peaks = [2e6, 2e6]
    assert formulas.diversity_factor(peaks, 3e6) == pytest.approx(1.333, abs=0.001)
    assert sum(peaks) - 3e6 == 1e6
    assert formulas.coincidence_factor(peaks, 3e6) == 0.75


def test_annual_load_and_loss_factor() -> None:
    """Gönen, Example 2.9, p. 58: 5.61 GWh, 2,000 kW, 100 kW of loss at peak."""
    factor = formulas.load_factor(5.61e9, 2e6, 8760.0)
    loss = formulas.loss_factor(factor)
    assert factor == pytest.approx(0.3202, abs=0.0005)
    assert loss == pytest.approx(0.1678, abs=0.0005)
    assert loss * 100.0 * 8760.0 == pytest.approx(147_022, abs=20)


def test_diversified_demand_by_appliance() -> None:
    """Gönen, Example 2.11, p. 62 (Arvidson's charts): dryer, range, refrigerator, lighting."""
    six = formulas.diversified_demand_w([1600.0, 800.0, 66.0, 610.0], 6)
    many = formulas.diversified_demand_w([1200.0, 530.0, 44.0, 520.0], 900)
    assert six / 1000.0 == pytest.approx(18.456, abs=0.01)
    assert many / 1000.0 == pytest.approx(2064.6, abs=0.5)


def test_same_energy_different_peaks() -> None:
    """Gönen, Example 2.12, p. 72: 7,000 kWh in 730 h; 22 kW at 0.9, 39 kW at 0.76."""
    assert formulas.load_factor(7e6, 22e3, 730.0) == pytest.approx(0.436, abs=0.001)
    assert formulas.load_factor(7e6, 39e3, 730.0) == pytest.approx(0.246, abs=0.001)
    assert pytest.approx(24.4, abs=0.1) == 22.0 / 0.9
    assert pytest.approx(51.3, abs=0.1) == 39.0 / 0.76


def test_impossible_numbers_are_refused() -> None:
    with pytest.raises(InputError, match="load factor"):
        formulas.load_factor_peak_w(1.0, 1.0, 1.5)
    with pytest.raises(InputError, match="hours"):
        formulas.peak_bounds_w(1.0, 0.0, 100.0, 240.0)
    with pytest.raises(InputError, match="consumers"):
        formulas.rea_peak_w(0, 100.0)
