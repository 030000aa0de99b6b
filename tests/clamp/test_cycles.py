"""Pairs of edges that a simple last-in rule would miss."""

from __future__ import annotations

import numpy as np
import pytest

from loadlib.clamp.cycles import pair_edges
from loadlib.clamp.steps import find_steps


def log(n: int, base: float = 200.0) -> np.ndarray:
    return np.full(n, base)


def test_two_that_come_on_together_and_go_off_one_by_one() -> None:
    power = log(1000)
    power[100:400] += 3000.0
    power[100:700] += 1300.0
    cycles = pair_edges(find_steps(power, 1.0), power, 1.0)
    assert cycles.size_w == pytest.approx([3000.0, 1300.0])
    assert (cycles.start.tolist(), cycles.end.tolist()) == ([100, 100], [400, 700])


def test_energy_of_two_that_come_on_together_in_minutes() -> None:
    """Two and a half minutes of 3 kW, five and a half of 1.3 kW, from the same moment."""
    seconds = log(1800)
    seconds[630:780] += 3000.0
    seconds[630:960] += 1300.0
    power = seconds.reshape(-1, 60).mean(axis=1)
    cycles = pair_edges(find_steps(power, 60.0), power, 60.0)
    energy = float((cycles.size_w * cycles.on_s(60.0)).sum()) / 3600.0
    assert len(cycles) == 2
    assert energy == pytest.approx((3000.0 * 150 + 1300.0 * 330) / 3600.0, rel=0.03)


def test_a_rise_in_parts_is_one_rise() -> None:
    """Kettles of tracebase take two steps: 1,150 W, and two seconds later 840 W more."""
    power = log(600)
    power[100:260] += 1150.0
    power[102:258] += 840.0
    cycles = pair_edges(find_steps(power, 1.0), power, 1.0)
    assert cycles.size_w == pytest.approx([1990.0])
    assert (cycles.start[0], cycles.end[0]) == (100, 258)


def test_a_lost_second_does_not_end_a_time_on() -> None:
    power = log(600)
    power[100:260] += 2000.0
    power[180] = 200.0
    cycles = pair_edges(find_steps(power, 1.0), power, 1.0)
    assert (cycles.start.tolist(), cycles.end.tolist()) == ([100], [260])


def test_in_minutes_every_sample_counts() -> None:
    """What is tidied in seconds is real in minutes: off for a minute, then on again."""
    power = log(60)
    power[10:20] += 2000.0
    power[21:30] += 2000.0
    assert len(pair_edges(find_steps(power, 60.0), power, 60.0)) == 2


def test_some_and_parts_of_times_on() -> None:
    power = log(1000)
    power[100:200] += 1000.0
    power[300:500] += 2000.0
    cycles = pair_edges(find_steps(power, 1.0), power, 1.0)
    assert cycles.some(np.array([1])).start.tolist() == [300]
    assert cycles.scaled(np.array([0.5, 0.25])).size_w == pytest.approx([500.0, 500.0])
    assert cycles.scaled(np.array([0.5, 0.25])).end.tolist() == cycles.end.tolist()


MICROWAVE_AND_KETTLE = [386, 386, 382, 383, 4708, 4068, 1706, 549, 381, 380, 377]
DISHWASHER = [
    *(468, 454, 412, 303, 1453, 2513, 2520, 2472, 2479, 2456, 2506, 2447),
    *(2402, 2382, 2380, 2404, 2507, 2439, 787, 271, 277, 163, 161),
]
"""Minutes of the whole house, REFIT house 20 (Murray D. et al. 2017, CC BY 4.0): [W]."""


def test_a_kettle_and_a_microwave_oven_of_a_real_house() -> None:
    """Both came on in one minute. Their own meters: 1,322, 1,311, 1,175 W for the oven."""
    power = np.array([*MICROWAVE_AND_KETTLE[:4] * 3, *MICROWAVE_AND_KETTLE], dtype=np.float64)
    cycles = pair_edges(find_steps(power, 60.0, 100.0), power, 60.0)
    energy = float((cycles.size_w * cycles.on_s(60.0)).sum()) / 3600.0
    above = sum(MICROWAVE_AND_KETTLE[4:8]) - 4 * 382
    assert energy == pytest.approx(above / 60.0, rel=0.07)


def test_a_heat_of_a_real_dishwasher() -> None:
    """Its own meter: 30,144 Wmin in the fifteen minutes, so 502 Wh; the power 2,130 W."""
    power = np.array([303.0] * 10 + [float(x) for x in DISHWASHER[3:]] + [161.0] * 10)
    cycles = pair_edges(find_steps(power, 60.0, 100.0), power, 60.0)
    (found,) = np.flatnonzero(cycles.size_w > 1000.0)
    assert cycles.size_w[found] == pytest.approx(2130.0, rel=0.06)
    energy = cycles.size_w[found] * cycles.on_s(60.0)[found] / 3600.0
    assert energy == pytest.approx(502.0, rel=0.07)
