"""The law of demand, level crossings and their causes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from loadlib.core.demand import (
    Processes,
    causes,
    crossings,
    distribution,
    joint_bracket,
    processes,
)
from loadlib.core.load import Load, flat
from loadlib.core.ranges import Range
from loadlib.errors import InputError

Maker = Callable[..., Processes]

LEVEL_W = 6500.0


def load(key: str, **changes: object) -> Load:
    plain = Load(
        id=key,
        name=key,
        category="",
        kind="motor",
        leg_share=(1.0, 0.0),
        line_to_line=False,
        running_w=Range(80, 100, 120),
        power_factor=Range.exact(0.8),
        start_va=Range(400, 500, 600),
        start_s=Range.exact(0.5),
        standby_w=Range.exact(2.0),
        duty=flat(0.25),
        duty_belief=Range(0.5, 1.0, 2.0),
        starts_per_h=flat(1.0),
    )
    return plain.with_(**changes)


def by_states(loads: Processes) -> list[tuple[float, float]]:
    """(sum, probability) of every combination of single units, by plain enumeration."""
    units = [
        (float(w), float(d[0]))
        for w, d, n in zip(loads.rise_w, loads.duty, loads.count, strict=True)
        for _ in range(int(n))
    ]
    states = []
    for on in itertools.product((False, True), repeat=len(units)):
        chance = math.prod(d if k else 1.0 - d for k, (_, d) in zip(on, units, strict=True))
        power = loads.base_w + sum(w for k, (w, _) in zip(on, units, strict=True) if k)
        states.append((power, chance))
    return states


def test_eleven_loads_cross_at_the_known_rate(eleven: Maker) -> None:
    """1.2710 per hour and 0.08690: worked out beside this project on a 10 W grid, where an
    independent simulation of 200,000 h gave 1.2719 per hour."""
    found = crossings(eleven(), LEVEL_W, step_w=10.0)
    assert found.rate_per_h[0] == pytest.approx(1.2710, abs=5e-5)
    assert found.above_share[0] == pytest.approx(0.08690, abs=5e-6)
    assert found.mean_length_s[0] == pytest.approx(3600 * 0.08690 / 1.2710, rel=1e-4)


def test_rate_agrees_with_plain_enumeration(eleven: Maker) -> None:
    loads = eleven()
    rate = 0.0
    for i in range(11):
        rest = [k for k in range(11) if k != i]
        others = replace(
            loads,
            rise_w=loads.rise_w[rest],
            duty=loads.duty[rest],
            count=loads.count[rest],
        )
        inside = sum(p for s, p in by_states(others) if LEVEL_W - loads.rise_w[i] < s <= LEVEL_W)
        rate += loads.starts_per_h[i, 0] * inside
    assert crossings(loads, LEVEL_W, step_w=10.0).rate_per_h[0] == pytest.approx(rate, rel=1e-12)


def test_surge_limit_counts_each_start_once(eleven: Maker) -> None:
    loads = eleven(start_multiplier=3.0)
    run, surge = LEVEL_W, 9000.0
    rate = 0.0
    for i in range(11):
        rest = [k for k in range(11) if k != i]
        others = replace(
            loads, rise_w=loads.rise_w[rest], duty=loads.duty[rest], count=loads.count[rest]
        )
        least = min(run - loads.rise_w[i], surge - loads.surge_w[i])
        rate += loads.starts_per_h[i, 0] * sum(p for s, p in by_states(others) if least < s <= run)
    found = crossings(loads, run, surge, step_w=10.0)
    assert found.rate_per_h[0] == pytest.approx(rate, rel=1e-12)
    assert found.rate_per_h[0] > crossings(loads, run, step_w=10.0).rate_per_h[0]
    assert found.above_share[0] == pytest.approx(0.08690, abs=5e-6)


def test_law_agrees_with_enumeration_with_units_alike_and_a_base(made: Maker) -> None:
    loads = made([(100, 0.3, 1, 4), (250, 0.1, 1, 1), (75, 0.9, 1, 2)], base_w=33.0)
    law = distribution(loads, 25.0)
    for level in (0.0, 33.0, 133.0, 400.0, 908.0, 5000.0):
        expected = sum(p for s, p in by_states(loads) if s > level + 1e-9)
        assert law.above(level)[0] == pytest.approx(expected, abs=1e-12)
    assert law.mean_w[0] == pytest.approx(loads.mean_w[0], rel=1e-12)


def test_units_alike_cross_as_single_ones_do(made: Maker) -> None:
    together = made([(100, 0.3, 1.5, 3), (250, 0.1, 0.5, 1)])
    apart = made([(100, 0.3, 1.5, 1)] * 3 + [(250, 0.1, 0.5, 1)])
    for level in (150.0, 250.0, 400.0):
        a = crossings(together, level, step_w=50.0).rate_per_h[0]
        b = crossings(apart, level, step_w=50.0).rate_per_h[0]
        assert a == pytest.approx(b, rel=1e-12)


def test_many_units_by_fft_are_exact_to_1e_12(made: Maker) -> None:
    loads = made([(9, 0.3, 1, 200), (1500, 0.05, 1, 1)])
    law = distribution(loads, 9.0)
    k = np.arange(201)
    logs = np.array([math.lgamma(201) - math.lgamma(i + 1) - math.lgamma(201 - i) for i in k])
    binomial = np.exp(logs + k * math.log(0.3) + (200 - k) * math.log(0.7))
    whole, part = divmod(1500.0 / 9.0, 1.0)
    expected = np.zeros(int(whole) + 2 + k.size)
    expected[: k.size] += 0.95 * binomial
    expected[int(whole) : int(whole) + k.size] += 0.05 * (1 - part) * binomial
    expected[int(whole) + 1 : int(whole) + 1 + k.size] += 0.05 * part * binomial
    kept = law.share.shape[1]
    assert np.abs(law.share[0] - expected[:kept]).max() < 1e-12
    assert expected[kept:].sum() < 1e-13


def test_the_grid_ends_where_sums_are_next_to_impossible(made: Maker) -> None:
    """Fifty kettles of 2,000 W, each on 2 % of the time: all at once is never."""
    loads = made([(2000, 0.02, 1, 1)] * 50)
    law = distribution(loads)
    assert 1000 < law.share.shape[1] < 2500
    assert law.share.sum() == pytest.approx(1.0, abs=1e-13)


def test_splitting_keeps_the_mean_and_adds_the_stated_variance(made: Maker) -> None:
    loads = made([(137, 0.2, 1, 1), (1013, 0.4, 1, 1), (55, 0.5, 1, 1)])
    law = distribution(loads, 50.0)
    watts = law.base_w + law.step_w * np.arange(law.share.shape[1])
    mean = float(law.share[0] @ watts)
    variance = float(law.share[0] @ (watts - mean) ** 2)
    true = float((loads.rise_w**2 * loads.duty[:, 0] * (1 - loads.duty[:, 0])).sum())
    assert mean == pytest.approx(loads.mean_w[0], rel=1e-12)
    assert variance - true == pytest.approx(law.grid_error_w[0] ** 2, rel=1e-9)


def test_quantiles_are_the_smallest_value_not_exceeded(made: Maker) -> None:
    law = distribution(made([(100, 0.2, 1, 1)], conditions=3), 25.0)
    found = law.quantiles_w((0.05, 0.5, 0.8, 0.81, 1.0))
    assert found.shape == (5, 3)
    assert found[:, 0].tolist() == [0.0, 0.0, 0.0, 100.0, 100.0]


def test_empty_house() -> None:
    loads = processes([])
    law = distribution(loads)
    assert law.share.shape == (288, 1)
    assert law.mean_w.max() == 0.0
    assert crossings(loads, 100.0).rate_per_h.max() == 0.0
    assert crossings(loads, 100.0).mean_length_s.max() == 0.0


def test_base_over_the_limit_never_enters_and_is_always_above(made: Maker) -> None:
    loads = made([(100, 0.5, 1, 1)], base_w=7000.0)
    found = crossings(loads, 6500.0)
    assert (found.rate_per_h[0], found.above_share[0]) == (0.0, 1.0)


def test_processes_take_standby_out_and_legs_apart() -> None:
    loads = [load("a"), load("b", leg_share=(0.5, 0.5), line_to_line=True, count=2)]
    whole, leg_b = processes(loads), processes(loads, 1)
    assert whole.base_w == pytest.approx(6.0)
    assert whole.rise_w.tolist() == [98.0, 98.0]
    assert whole.mean_w[0] == pytest.approx(3 * (2 + 0.25 * 98))
    assert leg_b.names == ("b",)
    assert leg_b.rise_w.tolist() == [49.0]
    assert leg_b.surge_w.tolist() == [249.0]


def test_apparent_power_divides_by_the_power_factor_but_not_the_start() -> None:
    found = processes([load("a")], apparent=True)
    assert found.rise_w[0] == pytest.approx(98 / 0.8)
    assert found.surge_w[0] == pytest.approx(500 - 2 / 0.8)


def test_a_load_that_is_never_off_belongs_to_the_base() -> None:
    found = processes([load("a", duty=flat(1.0)), load("b")])
    assert found.names == ("b",)
    assert found.base_w == pytest.approx(100.0 + 2.0)


def test_legs_add_up_to_the_whole_on_average() -> None:
    loads = [load("a"), load("b", leg_share=(0.0, 1.0)), load("c", leg_share=(0.5, 0.5))]
    whole = distribution(processes(loads)).mean_w
    legs = distribution(processes(loads, 0)).mean_w + distribution(processes(loads, 1)).mean_w
    assert whole == pytest.approx(legs)


def test_joint_bracket_is_ordered() -> None:
    low, high = joint_bracket([np.array([0.1, 0.4]), np.array([0.3, 0.2])])
    assert low.tolist() == [0.3, 0.4]
    assert high == pytest.approx(np.array([0.4, 0.6]))


def test_causes_name_what_must_not_run_together(made: Maker) -> None:
    """Two large loads that pass the limit only together, and one that always runs."""
    loads = made([(4000, 0.1, 0.5, 1), (3500, 0.1, 0.4, 1), (50, 0.97, 0.3, 1)])
    found = causes(loads, 5000.0)
    pairs = [cause for cause in found if len(cause.others) == 1]
    assert pairs[0].rising == "4000 W"
    assert pairs[0].others == ("3500 W",)
    assert pairs[0].share == pytest.approx(0.5 * 0.1 / (0.5 * 0.1 + 0.4 * 0.1), rel=1e-9)
    assert all("50 W" not in cause.others for cause in found)


def test_causes_of_three_at_once(made: Maker) -> None:
    loads = made([(1000, 0.2, 1, 1)] * 3)
    loads = replace(loads, names=("a", "b", "c"))
    found = causes(loads, 2500.0)
    triples = [cause for cause in found if len(cause.others) == 2]
    assert triples[0].share == pytest.approx(1.0 / 3.0, rel=1e-9)
    assert triples[0].rate_per_h == pytest.approx(0.2 * 0.2, rel=1e-9)


def test_the_riser_of_a_triple_is_the_one_that_starts(made: Maker) -> None:
    loads = made([(1000, 0.2, 3, 1), (1010, 0.3, 1, 1), (1020, 0.4, 0.5, 1)])
    triples = {c.rising: c for c in causes(loads, 2500.0, step_w=10.0) if len(c.others) == 2}
    assert triples["1000 W"].others == ("1010 W", "1020 W")
    assert triples["1000 W"].rate_per_h == pytest.approx(3 * 0.3 * 0.4, rel=1e-9)
    assert triples["1010 W"].rate_per_h == pytest.approx(1 * 0.2 * 0.4, rel=1e-9)


def test_no_causes_where_nothing_can_cross(eleven: Maker) -> None:
    assert causes(eleven(), 1e6) == ()


def test_single_causes_add_up_to_the_whole(eleven: Maker) -> None:
    found = causes(eleven(), LEVEL_W, step_w=10.0, most=11)
    assert sum(c.share for c in found if not c.others) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("step_w", [0.0, -25.0, math.nan, math.inf])
def test_impossible_grid_steps_are_refused(step_w: float, eleven: Maker) -> None:
    with pytest.raises(InputError, match="grid step"):
        distribution(eleven(), step_w)
    with pytest.raises(InputError, match="grid step"):
        crossings(eleven(), LEVEL_W, step_w=step_w)
