"""Branches, their numbers, and the verdict."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loadlib import NotFound, Range
from loadlib_standby.branches import is_automatic, is_by_hand, named_branches
from loadlib_standby.setting import Setting, setting_of
from loadlib_standby.source import Generator, Source
from loadlib_standby.stack import hold_s
from loadlib_standby.tests.farmhouse import a_load, flat, loads, profile, setting
from loadlib_standby.verdict import FITS, NOT, ONLY_IF, apart_group, breaks, judge


def house_on(running_w: float, starting_w: float, *some: object) -> Setting:
    """A house of the given loads only, on a bare source."""
    whole = profile(extra=tuple(some))  # type: ignore[arg-type]
    kept = whole.loads[len(loads()) :]
    source = Source(name="bare", generator=Generator(running_w=running_w, starting_w=starting_w))
    return setting_of(replace(whole, loads=kept), source)


def test_a_circuit_of_lamps_is_not_all_lamps_and_a_heater_is_a_heater() -> None:
    found = {b.name: b for b in setting().branches}
    assert 0.3 < found["lights"].counted_share < 0.9
    assert found["water heater"].counted_share == 1.0


def test_must_haves_come_first_and_medical_before_them() -> None:
    order = setting().branches
    assert order[0].name == "oxygen concentrator"
    ranks = [{"must": 0, "wanted": 1, "off": 2}[b.priority] for b in order]
    assert ranks == sorted(ranks)


def test_slots_and_names_in_capitals() -> None:
    labels = [b.label for b in setting().branches]
    assert "SLOT 2-4 WELL PUMP" in labels


def test_what_is_used_by_hand_beside_others_is_a_branch_of_its_own() -> None:
    kettle = a_load("kettle", 1500, circuit="furnace")
    house = setting_of(profile(extra=(kettle,)), setting().source)
    found = {b.name: b for b in house.branches}
    assert found["kettle"].hand
    assert found["kettle"].label == "KETTLE (SLOT 5)"
    assert [x.name for x in found["furnace"].loads] == ["furnace"]
    assert not found["kitchen"].hand  # alone on its circuit: switched by its breaker


def test_automatic_or_by_hand() -> None:
    by_name = {load.name: load for load in loads()}
    assert is_automatic(by_name["router"])
    assert is_automatic(by_name["well pump"].with_(thermostatic=False))
    assert is_by_hand(by_name["microwave"])
    assert not is_by_hand(by_name["microwave"].with_(medical=True))
    assert not is_by_hand(by_name["lights"])


def test_names_of_circuits_and_of_loads_find_the_branch() -> None:
    house = setting()
    assert [b.name for b in named_branches(house.branches, ["KITCHEN", "router"])] == [
        "kitchen",
        "router",
    ]
    with pytest.raises(NotFound, match="circuit 'attic'"):
        named_branches(house.branches, ["attic"])


def test_numbers_of_a_pump_on_both_legs() -> None:
    house = setting()
    k = next(i for i, b in enumerate(house.branches) if b.name == "well pump")
    stack = house.stack
    assert stack.counted[k] == pytest.approx([1900, 1900 / 0.85 / 240, 1900 / 0.85 / 240])
    assert stack.excess[k, 0] == pytest.approx(6200 - 1900)
    assert stack.excess[k, 1] == pytest.approx((6200 - 1900 / 0.85) / 240)
    starts = stack.start_draws[:, k, 0] + stack.running_draws[:, k, 0]
    low, high = np.quantile(starts, (0.05, 0.95))
    assert low == pytest.approx(0.7 * 5000, rel=0.2)  # the low end counts on a voltage dip
    assert high == pytest.approx(7800, rel=0.06)


def test_alike_motors_on_a_circuit_start_together_when_it_is_closed() -> None:
    fans = a_load("fan", 100, count=3, start_va=Range.exact(400), thermostatic=True)
    stack = house_on(5000, 6000, fans).stack
    assert stack.excess[0, 0] == pytest.approx(900)
    assert stack.restart[0, 0] == pytest.approx(300)


def test_pickup_lasts_longer_after_a_longer_outage() -> None:
    house = setting()
    heater = next(b for b in house.branches if b.name == "water heater")
    router = next(b for b in house.branches if b.name == "router")
    short, long = (hold_s(heater, replace(house.case, off_h=h)) for h in (1.0, 8.0))
    assert 0 < short < long
    assert hold_s(router, house.case) == 0.0


def test_fits() -> None:
    house = house_on(5000, 6000, a_load("lamp", 500, duty=1.0))
    assert judge(house.stack, [0]).value == FITS


def test_does_not_fit_when_a_must_is_too_much_alone() -> None:
    house = house_on(2000, 2500, a_load("heater", 4000, legs="AB", priority="must"))
    verdict = judge(house.stack, [0])
    assert verdict.value == NOT
    assert "alone is too much" in verdict.reasons[0]


def test_does_not_fit_when_must_haves_together_are_too_much() -> None:
    musts = [a_load(f"heater {k}", 1500, legs="AB", priority="must") for k in range(4)]
    verdict = judge(house_on(4000, 5000, *musts).stack, [0, 1, 2, 3])
    assert verdict.value == NOT
    assert "must-haves together" in verdict.reasons[0]


def test_fits_only_if_two_big_ones_do_not_run_together() -> None:
    """A 6,500 W source carries a house without its dryer if the water heater and the range do
    not run together (common practice, no source)."""
    some = (
        a_load("furnace", 500, priority="must", thermostatic=True, duty=0.5),
        a_load("refrigerator", 150, legs="B", priority="must", thermostatic=True, duty=0.4),
        a_load("water heater", 4500, legs="AB", thermostatic=True, duty=0.1),
        a_load("range", 3000, legs="AB", duty=0.1),
    )
    house = house_on(6500, 8000, *some)
    verdict = judge(house.stack, house.positions())
    assert verdict.value == ONLY_IF
    assert set(verdict.apart) == {"SLOT 6-8 WATER HEATER", "SLOT 10-12 RANGE"}
    assert "only one of these runs at a time" in verdict.condition


def test_fits_only_if_the_unknown_start_is_small_enough() -> None:
    pump = a_load("well pump", 1000, legs="AB", priority="must", start_va=Range(3000, 5000, 9000))
    verdict = judge(house_on(5000, 6000, pump).stack, [0])
    assert verdict.value == ONLY_IF
    assert "SLOT 2-4 WELL PUMP asks for no more than" in verdict.decides


def test_fits_only_if_the_unknown_running_draw_is_small_enough() -> None:
    heater = a_load("heater", 4500, legs="AB", priority="must", spread=1.4)
    verdict = judge(house_on(5000, 9000, heater).stack, [0])
    assert verdict.value == ONLY_IF
    assert "the draw of SLOT 25 HEATER decides" in verdict.decides


def test_a_leg_breaks_before_the_whole() -> None:
    some = [a_load(f"heater {k}", 1400, priority="must") for k in range(2)]
    house = house_on(5000, 6000, *some)
    assert breaks(house.stack, [0, 1], 0.05)[0].startswith("leg A")


def test_a_must_that_the_source_cannot_feed_is_no_question_of_watts() -> None:
    source = Source(name="x", generator=Generator(running_w=9000, starting_w=9000, supply="120"))
    house = setting_of(profile(), source)
    verdict = judge(house.stack, house.positions())
    assert verdict.value == NOT
    assert "240 V" in verdict.reasons[0]


def test_wanted_loads_that_cannot_be_fed_stay_off() -> None:
    heater = a_load("water heater", 4500, legs="AB")
    whole = profile(extra=(heater, a_load("lamp", 100)))
    source = Source(name="x", generator=Generator(running_w=2000, starting_w=2000, supply="120"))
    house = setting_of(replace(whole, loads=whole.loads[-2:]), source)
    verdict = judge(house.stack, house.positions())
    assert verdict.value == ONLY_IF
    assert verdict.off == ("SLOT 6-8 WATER HEATER",)


def test_apart_group_is_as_small_as_it_can_be() -> None:
    some = (
        a_load("water heater", 4500, legs="AB"),
        a_load("range", 3000, legs="AB"),
        a_load("toaster", 300),
    )
    house = house_on(6500, 6500, *some)
    group = apart_group(house.stack, [0, 1, 2])
    assert [house.branches[i].name for i in group or []] == ["water heater", "range"]


def test_an_always_on_load_counts_in_full() -> None:
    lamp = a_load("lamp", 60, count=10, duty=1.0, starts=0.0)
    assert house_on(5000, 5000, lamp).stack.counted[0, 0] == pytest.approx(600)
    assert flat(1.0)[0][0] == 1.0
