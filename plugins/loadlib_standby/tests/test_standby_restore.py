"""The plan of the farmhouse: order, what stays off, turns, errors."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from loadlib import InputError, NotFound, Range
from loadlib_standby.case import OutageCase
from loadlib_standby.choose import bare_source
from loadlib_standby.restore import restoration_plan
from loadlib_standby.rotation import Rotation, hour_spans, turns
from loadlib_standby.setting import Setting, setting_of
from loadlib_standby.source import Generator, Source
from loadlib_standby.swap import one_at_a_time, swap_for
from loadlib_standby.tests.farmhouse import a_load, loads, profile, setting


def bare(running_w: float, starting_w: float, *some: object, supply: str = "120/240") -> Setting:
    whole = profile(extra=tuple(some))  # type: ignore[arg-type]
    kept = whole.loads[len(loads()) :] if some else whole.loads
    generator = Generator(running_w=running_w, starting_w=starting_w, supply=supply)
    return setting_of(replace(whole, loads=kept), Source(name="bare", generator=generator))


@pytest.fixture(scope="module")
def farm() -> Setting:
    return setting()


def test_order_is_by_excess_then_medical_then_the_rest(farm: Setting) -> None:
    plan = restoration_plan(farm)
    names = [step.branch.name for step in plan.steps]
    excess = [float(np.quantile(farm.stack.closing_draws[:, i, 0], 0.95)) for i in plan.on]
    assert names[:3] == ["well pump", "sump pump", "furnace"]
    assert excess == sorted(excess, reverse=True)
    assert names.index("oxygen concentrator") < names.index("lights")
    assert plan.steps[0].why == "hardest start goes first"
    assert plan.schedule.proven


def test_no_step_goes_over_a_limit(farm: Setting) -> None:
    plan = restoration_plan(farm)
    for step in plan.steps:
        assert step.total_w <= farm.stack.run[0]
        assert max(step.legs_high_a) <= farm.stack.run[1]
        assert step.peak_va.typical <= farm.stack.surge[0]
        assert step.sure > 0.9


def test_leg_amps_add_up_step_by_step(farm: Setting) -> None:
    plan = restoration_plan(farm)
    totals = [sum(step.legs_a) for step in plan.steps]
    assert totals == sorted(totals)
    assert plan.steps[0].legs_a[0] == pytest.approx(plan.steps[0].legs_a[1])


def test_pauses_hold_for_restart_delays(farm: Setting) -> None:
    by_name = {step.branch.name: step for step in restoration_plan(farm).steps}
    assert by_name["refrigerator"].pause_s >= 180.0
    assert by_name["lights"].pause_s == 5.0


def test_medical_loads_are_never_shed(farm: Setting) -> None:
    plan = restoration_plan(farm)
    assert "oxygen concentrator" in [step.branch.name for step in plan.steps]
    for name in ("water heater", "range", "dryer"):
        swap = swap_for(plan, name)
        assert "oxygen concentrator" not in [b.name for b in swap.off or ()]


def test_every_branch_is_on_or_has_a_reason(farm: Setting) -> None:
    plan = restoration_plan(farm)
    on = {step.branch.name for step in plan.steps}
    off = {left.branch.name: left.why for left in plan.left_off}
    assert on | set(off) == {branch.name for branch in farm.branches}
    assert off["dryer"] == "on the off list"
    assert off["water heater"] == "no room beside the others"


def test_without_a_branch(farm: Setting) -> None:
    plan = restoration_plan(farm, without=["well pump"])
    assert "well pump" not in [step.branch.name for step in plan.steps]
    assert next(x.why for x in plan.left_off if x.branch.name == "well pump").startswith("taken")
    with pytest.raises(NotFound):
        restoration_plan(farm, without=["ferris wheel"])


def test_swaps_name_what_has_to_go(farm: Setting) -> None:
    plan = restoration_plan(farm)
    swap = swap_for(plan, "kitchen")
    assert [b.name for b in swap.off or ()] == ["well pump"]
    assert "FIRST OFF" in swap.words()
    assert swap_for(plan, "dryer").off is None


def test_turns_respect_how_long_things_may_be_off(farm: Setting) -> None:
    found = turns(restoration_plan(farm))
    assert found
    taken = {h for turn in found.turns for h in turn.hours}
    assert not any(b.medical for b in found.off)
    for branch in found.off:
        if branch.may_be_off_s is not None:
            most = int(branch.may_be_off_s // 3600)
            assert not any({(h + k) % 24 for k in range(most + 1)} <= taken for h in range(24))


def test_turns_have_one_list_and_a_line_of_hours_each(farm: Setting) -> None:
    found = turns(restoration_plan(farm))
    lines = found.lines()
    assert lines[0].startswith("FIRST OFF: ")
    assert [line.startswith("THEN ON: ") for line in lines[1:-1]] == [True] * len(found.turns)
    assert lines[-1].startswith("HOUR OVER")
    assert Rotation((), ()).lines() == ()


def test_hours_are_told_as_spans_of_the_clock() -> None:
    assert hour_spans((4, 5, 9, 22, 23, 0)) == ["04–06", "09–10", "22–01"]


def test_in_every_turn_the_limits_hold(farm: Setting) -> None:
    plan = restoration_plan(farm)
    found = turns(plan)
    off = {farm.branches.index(b) for b in found.off}
    for hour in {h for turn in found.turns for h in turn.hours}:
        also = [farm.branches.index(t.branch) for t in found.turns if hour in t.hours]
        running, _ = farm.stack.together([i for i in plan.on if i not in off] + also)
        assert np.all(np.quantile(running, 0.95, axis=0) <= farm.stack.run * 1.01)
    assert all(turn.sure > 0.9 for turn in found.turns)


def test_a_must_have_without_room_gets_its_turns_in_time() -> None:
    """Two musts too big together, each may be off six hours: the smaller is in the plan, the
    other is never off for more than six hours on end."""
    heaters = [
        a_load(name, 3500, legs="AB", priority="must", may_be_off_s=6 * 3600.0, thermostatic=True)
        for name in ("heater north", "heater south")
    ]
    plan = restoration_plan(bare(5000, 5000, *heaters))
    (left,) = [x.branch.name for x in plan.left_off]
    hours_on = {h for turn in turns(plan).turns if turn.branch.name == left for h in turn.hours}
    for h in range(24):
        assert hours_on & {(h + k) % 24 for k in range(7)}


def test_the_first_turn_is_in_time_since_the_power_went() -> None:
    """Off for two hours at 03:40, may be off four: by 05:40, so in the turn of 04 or 05."""
    heaters = tuple(
        a_load(name, 3500, legs="AB", priority="must", may_be_off_s=4 * 3600.0, thermostatic=True)
        for name in ("heater north", "heater south")
    )
    case = OutageCase(start=datetime(2027, 1, 14, 3, 40), length_h=48.0, off_h=2.0)
    source = bare_source(5000, 5000, "120/240")
    plan = restoration_plan(
        setting_of(replace(profile(extra=heaters), loads=heaters), source, case)
    )
    (turn,) = turns(plan).turns
    assert turn.hours[0] in (4, 5)
    (left,) = plan.left_off
    assert left.by == datetime(2027, 1, 14, 5, 40)
    assert left.by_words() == "by Thu 14 Jan 05:40"


def test_what_is_used_by_hand_is_one_at_a_time() -> None:
    some = (
        a_load("furnace", 600, priority="must", thermostatic=True, duty=0.5, circuit="kitchen"),
        a_load("kettle", 1400, circuit="kitchen"),
        a_load("toaster", 900, circuit="kitchen"),
        a_load("iron", 2400, circuit="kitchen"),
    )
    plan = restoration_plan(bare(5000, 5000, *some))
    assert [b.name for b in plan.by_hand] == ["kettle", "toaster"]
    assert [b.name for b in one_at_a_time(plan)] == ["kettle", "toaster"]
    assert "iron" in [x.branch.name for x in plan.left_off]


def test_nobody_uses_a_kettle_on_a_circuit_that_is_off() -> None:
    some = (
        a_load("heater", 1500, may_be_off_s=8 * 3600.0, priority="must", thermostatic=True,
               circuit="kitchen"),
        a_load("kettle", 1200, circuit="kitchen"),
        a_load("lamp", 800, legs="A"),
    )  # fmt: skip
    plan = restoration_plan(bare(6000, 6000, *some))
    assert [x.branch.name for x in plan.left_off] == ["kettle"]
    swap = swap_for(plan, "kettle")
    assert [b.name for b in swap.off or ()] == ["lamp"]
    assert not turns(plan)  # what is used by hand has no hours


def test_a_group_of_circuits_of_which_one_at_a_time_runs() -> None:
    some = (
        a_load("furnace", 500, priority="must", thermostatic=True, duty=0.5),
        a_load("water heater", 4500, legs="AB", thermostatic=True),
        a_load("range", 4400, legs="AB"),
    )
    plan = restoration_plan(bare(6500, 6500, *some))
    assert {b.name for b in one_at_a_time(plan)} == {"water heater", "range"}


def test_a_cold_circuit_makes_the_plan_wait() -> None:
    """Eight alike heaters on one circuit all call when cold; the other circuit waits for it."""
    some = (
        a_load("radiators", 500, legs="AB", count=8, thermostatic=True, duty=0.3, priority="must",
               time_constant_s=Range.exact(7200.0)),
        a_load("water heater", 2500, legs="AB", thermostatic=True, duty=0.1),
    )  # fmt: skip
    plan = restoration_plan(bare(6000, 6000, *some))
    assert [step.branch.name for step in plan.steps] == ["radiators", "water heater"]
    assert plan.steps[1].wait_s >= 0.8 * plan.setting.stack.hold_s[0]


def test_a_wanted_load_that_may_not_be_off_longer_outranks_others() -> None:
    some = (
        a_load("freezer", 2500, may_be_off_s=600.0, legs="AB"),
        a_load("lamp one", 1300),
        a_load("lamp two", 1300, legs="B"),
    )
    plan = restoration_plan(bare(3000, 3000, *some))
    assert [step.branch.name for step in plan.steps] == ["freezer"]


def test_no_plan_for_a_must_that_cannot_be_fed() -> None:
    with pytest.raises(InputError, match=r"must-have SLOT 2-4 WELL PUMP cannot be fed"):
        restoration_plan(bare(9000, 9000, supply="120"))


def test_no_plan_for_a_must_that_can_never_start() -> None:
    pump = a_load("well pump", 1900, legs="AB", start_va=Range(9000, 12000, 15000), priority="must")
    with pytest.raises(InputError, match="can never start"):
        restoration_plan(bare(4000, 5000, pump))


def test_no_plan_for_a_source_that_carries_nothing() -> None:
    with pytest.raises(InputError, match="cannot carry any"):
        restoration_plan(bare(500, 500, a_load("heater", 1500)))


def test_a_doubtful_start_is_planned_first_and_marked() -> None:
    pump = a_load("well pump", 1000, legs="AB", start_va=Range(4000, 9000, 14000), priority="must")
    lamp = a_load("lamp", 100, priority="must")
    plan = restoration_plan(bare(5000, 6000, pump, lamp))
    assert plan.steps[0].branch.name == "well pump"
    assert plan.steps[0].sure < 0.5


def test_later_restarts_are_counted_where_that_is_possible() -> None:
    pump = a_load("sump pump", 800, start_va=Range.exact(2400), priority="must", thermostatic=True)
    lamps = [a_load(f"lamp {k}", 400, duty=1.0, starts=0.0) for k in range(6)]
    plan = restoration_plan(bare(8000, 8000, pump, *lamps))
    assert plan.restarts_counted
    total_w = plan.steps[-1].total_w
    assert total_w + 1600 <= 4000  # all on leg A: half of the source
    assert "Motors that start again" in plan.notes[-1]


def test_same_plan_twice(farm: Setting) -> None:
    first, second = restoration_plan(farm), restoration_plan(setting())
    assert [s.branch.name for s in first.steps] == [s.branch.name for s in second.steps]
    assert [s.sure for s in first.steps] == [s.sure for s in second.steps]
