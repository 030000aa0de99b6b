"""Edges, surges and times on, on made-up logs whose truth is known."""

from __future__ import annotations

import numpy as np
import pytest

from loadlib.clamp import steps as steps_module
from loadlib.clamp.cycles import on_off, pair_edges
from loadlib.clamp.steps import find_steps, noise_w


def log(n: int, base: float, sigma: float = 0.0, seed: int = 0) -> np.ndarray:
    return base + np.random.default_rng(seed).normal(0.0, sigma, n) if sigma else np.full(n, base)


@pytest.mark.parametrize("sigma", [0.0, 2.0, 8.0])
def test_a_heater_in_noise_has_one_rise_and_one_fall(sigma: float) -> None:
    power = log(2000, 300.0, sigma)
    power[700:1300] += 1500.0
    steps = find_steps(power, 1.0)
    assert steps.at.tolist() == [700, 1300]
    assert steps.size_w == pytest.approx([1500.0, -1500.0], abs=3.0)


def test_noise_is_estimated_under_edges() -> None:
    power = log(20_000, 100.0, 5.0)
    power[5000:9000] += 1000.0
    assert noise_w(power) == pytest.approx(5.0, rel=0.05)
    assert noise_w(np.array([1.0])) == 0.0


def test_a_start_keeps_its_surge_and_is_one_edge() -> None:
    power = log(600, 50.0)
    power[100:400] += 130.0
    power[100:102] += 900.0
    steps = find_steps(power, 1.0)
    assert steps.at.tolist() == [100, 400]
    assert steps.surge_w[0] == pytest.approx(1080.0)
    cycles = pair_edges(steps, power, 1.0)
    assert cycles.surge_w.tolist() == [pytest.approx(1030.0)]


def test_an_edge_on_the_way_is_one_edge() -> None:
    """A minute sample that holds the moment of switching lies between the levels."""
    power = np.array([200.0] * 5 + [1100.0] + [2200.0] * 5 + [900.0] + [200.0] * 5)
    steps = find_steps(power, 60.0)
    assert steps.size_w == pytest.approx([2000.0, -2000.0])


def test_a_gap_is_no_edge() -> None:
    power = log(300, 100.0)
    power[100:150] = np.nan
    power[150:] = 900.0
    assert find_steps(power, 1.0).at.size == 0


def test_nothing_happens_in_a_steady_or_empty_log() -> None:
    for power in (log(100, 50.0), np.empty(0), np.full(10, np.nan)):
        steps = find_steps(power, 1.0)
        assert steps.at.size == 0
        assert len(pair_edges(steps, power, 1.0)) == 0


def test_overlapping_loads_are_told_apart() -> None:
    power = log(1000, 100.0, 1.0)
    power[100:600] += 800.0
    power[300:800] += 1500.0
    cycles = pair_edges(find_steps(power, 1.0), power, 1.0)
    assert sorted(zip(cycles.start, cycles.end, strict=True)) == [(100, 600), (300, 800)]
    assert cycles.size_w == pytest.approx([800.0, 1500.0], abs=3.0)


def test_two_loads_that_go_off_together() -> None:
    power = log(1000, 100.0)
    power[100:600] += 800.0
    power[300:600] += 500.0
    cycles = pair_edges(find_steps(power, 1.0), power, 1.0)
    assert cycles.end.tolist() == [600, 600]


def test_a_load_that_draws_less_and_less_is_still_closed() -> None:
    """A compressor falls from 172 to 124 W while it runs."""
    power = log(5000, 0.0)
    power[1000:4000] = np.linspace(172.0, 124.0, 3000)
    cycles = pair_edges(find_steps(power, 1.0), power, 1.0)
    assert (cycles.start.tolist(), cycles.end.tolist()) == ([1000], [4000])


def test_a_rise_that_never_falls_is_forgotten() -> None:
    power = log(2000, 100.0)
    power[500:] += 700.0
    assert len(pair_edges(find_steps(power, 1.0), power, 1.0)) == 0


def test_part_of_a_minute_counts_as_a_part() -> None:
    """A kettle on for two and a half minutes at 3 kW: 125 Wh."""
    power = np.array([400.0] * 10 + [1900.0, 3400.0, 3400.0] + [400.0] * 10)
    cycles = pair_edges(find_steps(power, 60.0), power, 60.0)
    energy = float((cycles.size_w * cycles.on_s(60.0)).sum()) / 3600.0
    assert energy == pytest.approx(125.0, rel=0.02)


@pytest.mark.parametrize("standby", [0.0, 4.0])
def test_one_appliance_alone(standby: float) -> None:
    power = log(86_400, standby, 0.3, seed=3)
    for begin in range(1000, 80_000, 2400):
        power[begin : begin + 800] += 130.0
        power[begin : begin + 2] += 900.0
    cycles = on_off(power, 1.0)
    assert len(cycles) == 33
    assert cycles.on_s(1.0) == pytest.approx([800.0] * 33, abs=2.0)
    assert np.median(cycles.size_w) == pytest.approx(130.0, rel=0.05)
    assert np.median(cycles.surge_w) == pytest.approx(1030.0, rel=0.02)


def test_one_appliance_that_never_runs() -> None:
    assert len(on_off(np.zeros(100), 1.0)) == 0


class Slices:
    """A log that gives slices only, as one in a store does."""

    def __init__(self, power: np.ndarray) -> None:
        self._power = power
        self.longest = 0

    @property
    def size(self) -> int:
        return self._power.size

    def __getitem__(self, at: slice) -> np.ndarray:
        part = self._power[at]
        self.longest = max(self.longest, part.size)
        return part


@pytest.mark.parametrize("block", [1, 7, 100, 1 << 17])
def test_a_log_is_stepped_block_by_block_with_the_same_result(
    monkeypatch: pytest.MonkeyPatch, block: int
) -> None:
    power = log(3000, 100.0, 4.0, seed=5)
    for begin in range(150, 2800, 400):
        power[begin : begin + 130] += 700.0
        power[begin : begin + 2] += 900.0
    power[1200:1260] = np.nan
    power[-1] = np.nan
    whole = find_steps(power, 1.0)
    monkeypatch.setattr(steps_module, "_BLOCK", block)
    slices = Slices(power)
    found = find_steps(slices, 1.0)
    assert slices.longest <= block
    assert found.at.tolist() == whole.at.tolist()
    assert found.sigma_w == whole.sigma_w
    for name in ("before_w", "after_w", "surge_w"):
        np.testing.assert_allclose(getattr(found, name), getattr(whole, name), rtol=1e-12)
    cycles, known = pair_edges(found, slices, 1.0), pair_edges(whole, power, 1.0)
    assert cycles.start.tolist() == known.start.tolist()


@pytest.mark.parametrize("size", [2, 3, 1000, 1001])
def test_noise_is_the_median_that_sorting_finds(size: int) -> None:
    """The lower median of the differences, by numpy's sort."""
    power = np.random.default_rng(size).normal(500.0, 30.0, size)
    apart = np.sort(np.abs(np.diff(power)))
    middle = float(apart[(apart.size - 1) // 2])
    assert noise_w(power) == pytest.approx(middle * 1.4826 / np.sqrt(2.0), rel=1 / 2000)
