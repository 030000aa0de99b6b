"""Heaps of like times on, and which appliance each is."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from loadlib.clamp import identity
from loadlib.clamp.background import background
from loadlib.clamp.identity import Heap, chances, fit, heap_sizes, identify
from loadlib.clamp.patterns import Signature, pattern_of
from loadlib.core.ranges import Range
from tests.clamp.points import points_of, scattered, times_on

KETTLE = Signature("kettle", Range(1400, 2000, 2800), Range(120, 180, 300), Range(1, 4, 8))
TOASTER = Signature("toaster", Range(700, 1100, 1600), Range(80, 120, 240), Range(0.4, 1.3, 4))


def kettles(watts: float, days: int, each: int, seed: int = 3) -> list[tuple[int, int, float]]:
    rng = np.random.default_rng(seed)
    at = rng.integers(0, 86_400, (days, each)) + 86_400 * np.arange(days)[:, None]
    sizes = watts * np.exp(rng.normal(0.0, 0.02, at.size))
    return [
        (int(t), int(n), float(w))
        for t, n, w in zip(at.ravel(), rng.integers(120, 240, at.size), sizes, strict=True)
    ]


def test_a_heap_stands_out_of_scattered_times_on() -> None:
    points = points_of(times_on(scattered(600, 60, 2) + kettles(2400.0, 60, 3)), 60.0)
    sizes = np.exp(heap_sizes(points))
    assert np.abs(sizes / 2400.0 - 1.0).min() < 0.02


def test_scattered_times_on_are_nobody() -> None:
    points = points_of(times_on(scattered(300, 60, 4)), 60.0)
    rate = background(points, np.full(len(points), 0.5))
    assert identify([pattern_of(KETTLE)], points, rate)[1][0] < 0.1


def test_too_few_are_no_heap() -> None:
    points = points_of(times_on([(90_000 * k, 180, 2000.0) for k in range(2)]), 60.0)
    rate = background(points, np.full(2, 0.5))
    assert fit(0, pattern_of(KETTLE), points, rate) is None


def test_the_heap_is_the_appliance_with_its_own_power() -> None:
    points = points_of(times_on(scattered(600, 60, 2) + kettles(2400.0, 60, 3)), 60.0)
    rate = background(points, np.full(len(points), 0.5))
    (kettle, toaster), sure = identify([pattern_of(KETTLE), pattern_of(TOASTER)], points, rate)
    assert math.exp(kettle.centre) == pytest.approx(2400.0, rel=0.01)
    assert sure[0] == identity._MOST_SURE
    assert sure[1] == 0.0
    assert toaster.centre == pattern_of(TOASTER).centre


def test_a_heap_far_from_its_kind_is_doubted() -> None:
    """A kettle of 3.6 kW that boils once in three days: perhaps, perhaps something else."""
    near, far = (
        points_of(times_on(scattered(600, 60, 2) + rows), 60.0)
        for rows in (kettles(2100.0, 60, 3), kettles(3600.0, 60, 3)[::9])
    )
    sure = [
        identify([pattern_of(KETTLE)], points, background(points, np.full(len(points), 0.5)))[1][0]
        for points in (near, far)
    ]
    assert sure[1] < 0.6 < sure[0]


def test_a_use_that_comes_in_bursts_is_no_kettle() -> None:
    """A dryer's heater on a thermostat: twenty times in an hour, of a kettle's size and length."""
    rows = [
        (86_400 * day + 50_000 + 320 * k, 170, 2400.0) for day in range(0, 60, 3) for k in range(20)
    ]
    points = points_of(times_on(scattered(300, 60, 2) + rows), 60.0)
    sure = identify([pattern_of(KETTLE)], points, background(points, np.full(len(points), 0.5)))[1]
    assert sure[0] < 0.3


def heaps(scores: list[tuple[int, float]], members: list[list[int]]) -> list[Heap]:
    own = np.zeros((len(scores), 12))
    for row, inside in zip(own, members, strict=True):
        row[inside] = 1.0
    pattern = pattern_of(KETTLE)
    return [Heap(k, pattern, row, score) for (k, score), row in zip(scores, own, strict=True)]


def by_enumeration(found: list[Heap]) -> np.ndarray:
    """Sum over every assignment, one by one."""
    odds = identity._SHOWS / (1.0 - identity._SHOWS)
    groups = [[None, *(j for j, h in enumerate(found) if h.who == k)] for k in range(4)]
    total, chance = 0.0, np.zeros(len(found))
    for choice in itertools.product(*groups):
        taken = [j for j in choice if j is not None]
        pairs = itertools.combinations(taken, 2)
        if any(identity._overlap(found[a], found[b]) > 0.5 for a, b in pairs):
            continue
        weight = math.prod(odds * math.exp(found[j].score) for j in taken)
        total += weight
        chance[taken] += weight
    return chance / total


def test_chances_are_exact_sums_over_all_assignments() -> None:
    found = heaps(
        [(0, 1.0), (0, -1.0), (1, 2.0), (1, 0.3), (2, 0.5), (3, -0.2), (3, 1.5)],
        [[0, 1, 2], [3, 4], [0, 1], [5, 6], [3, 4, 5], [9, 10], [5, 6]],
    )
    assert chances(found) == pytest.approx(by_enumeration(found))


def test_two_that_claim_one_heap_share_the_chance() -> None:
    found = heaps([(0, 2.0), (1, 2.0)], [[0, 1, 2], [0, 1, 2]])
    first, second = chances(found)
    assert first == pytest.approx(second)
    assert first + second < 1.0


def test_of_very_many_assignments_the_likeliest_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty appliances in a ring of claims: the sum is cut, the chances stay chances."""
    monkeypatch.setattr(identity, "_KEPT", 20)
    members = [[k % 12, (5 * k + 1) % 12, (7 * k + 3) % 12] for k in range(40) for _ in range(2)]
    scores = [(k, 0.3 * ((k + j) % 5)) for k in range(40) for j in range(2)]
    chance = chances(heaps(scores, members))
    assert (chance >= 0.0).all()
    assert (chance[0::2] + chance[1::2] <= 1.0 + 1e-9).all()
    assert chance.max() > 0.05


def test_no_heap_no_chance() -> None:
    assert chances([]).size == 0
