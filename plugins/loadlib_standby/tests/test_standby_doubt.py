"""Starts in doubt: found, explained, and told in the plan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loadlib import Load, Range
from loadlib_standby.check import check
from loadlib_standby.choose import bare_source
from loadlib_standby.doubt import doubts_of_plan, start_doubts
from loadlib_standby.overload import overloads
from loadlib_standby.restore import restoration_plan
from loadlib_standby.rotation import turns
from loadlib_standby.setting import Setting, setting_of
from loadlib_standby.show import check_text, plan_text
from loadlib_standby.tests.farmhouse import a_load, profile

WELL = a_load(
    "deep-well pump", 2000, legs="AB", priority="must", may_be_off_s=4 * 3600.0, kind="motor",
    start_va=Range(7000, 10000, 14000), thermostatic=True,
)  # fmt: skip
FURNACE = a_load("furnace", 500, priority="must", duty=0.5, start_va=Range(900, 1300, 1900))


def house(*loads: Load, running_w: float = 7200, starting_w: float = 9000) -> Setting:
    source = bare_source(running_w, starting_w, "120/240")
    return setting_of(replace(profile(extra=loads), loads=loads), source)


def test_the_chance_is_the_share_of_belief_in_which_it_starts_alone() -> None:
    there = house(WELL)
    (doubt,) = start_doubts(there, [0])
    alone = there.stack.background + there.stack.running_draws[:, 0]
    peak = alone + there.stack.closing_draws[:, 0]
    assert doubt.chance == pytest.approx(float(np.mean(np.all(peak <= there.stack.surge, axis=1))))
    assert 0.05 < doubt.chance < 0.95
    assert doubt.asked.low < doubt.limit < doubt.asked.high


def test_a_big_enough_source_leaves_no_doubt_and_is_the_one_told() -> None:
    (doubt,) = start_doubts(house(WELL), [0])
    assert doubt.needed_w % 500 == 0
    assert f"{doubt.needed_w:,.0f} W starting" in doubt.mends()[-1]
    assert start_doubts(house(WELL, starting_w=doubt.needed_w), [0]) == ()


def test_a_well_pump_is_asked_about_its_wires_and_others_are_not() -> None:
    (well,) = start_doubts(house(WELL), [0])
    fan = a_load("attic fan", 900, start_va=Range(4000, 6000, 9000), priority="must", kind="motor")
    (other,) = start_doubts(house(fan), [0])
    assert "Two-wire or three-wire" in well.mends()[0]
    assert not any("three-wire" in text for text in other.mends())
    assert any("only once it is fitted" in text for text in other.mends())


def test_nothing_without_a_start_is_in_doubt() -> None:
    heater = a_load("heater", 6000, legs="AB", priority="must", spread=1.5)
    assert start_doubts(house(heater), [0]) == ()


def test_check_and_plan_say_it_in_words() -> None:
    there = house(WELL, FURNACE)
    plan = restoration_plan(there)
    doubts = doubts_of_plan(plan)
    assert [d.branch.name for d in doubts] == ["deep-well pump"]
    over = overloads(there.feed, there.loads_on(plan.on), there.case, replicates=50)
    text = plan_text(plan, over, [], turns(plan), doubts)
    assert "STARTS IN DOUBT" in text
    assert "DEEP-WELL PUMP alone asks for" in " ".join(text.split())
    assert "STARTS IN DOUBT" in check_text(check(there, replicates=50))


def test_a_doubtful_must_in_turns_carries_its_mark() -> None:
    """The pump is too much beside the heaters; in its hours it still may not start."""
    heaters = [
        a_load(f"heater {k}", 1500, legs="AB"[k], priority="must", duty=1.0, starts=0.0,
               may_be_off_s=3 * 3600.0) for k in range(2)
    ]  # fmt: skip
    plan = restoration_plan(house(WELL, FURNACE, *heaters, running_w=4500))
    found = turns(plan)
    assert [turn.branch.name for turn in found.turns] == ["deep-well pump"]
    assert found.turns[0].sure < 0.95
    assert "DEEP-WELL PUMP (?)" in found.turns[0].words()


def test_the_hardest_start_goes_first_also_when_it_is_in_doubt() -> None:
    plan = restoration_plan(house(WELL, FURNACE))
    assert [step.branch.name for step in plan.steps] == ["deep-well pump", "furnace"]
    assert plan.steps[0].why == "hardest start goes first"
    assert "but for SLOT" in " ".join(plan.notes)


def test_a_leg_without_room_later_is_said() -> None:
    """Leg B: a sump pump with a middling start must come before the load that fills the leg."""
    sump = a_load("sump pump", 800, legs="B", priority="must", kind="motor",
                  start_va=Range.exact(3000), spread=1.0)  # fmt: skip
    well = a_load("press", 2400, legs="AB", priority="must", kind="motor",
                  start_va=Range.exact(6000), spread=1.0, duty=1.0, starts=0.0)  # fmt: skip
    freezers = a_load("heater", 1300, legs="B", priority="must", duty=1.0, starts=0.0, spread=1.0)
    plan = restoration_plan(house(sump, well, freezers, running_w=7200, starting_w=7800))
    assert plan.steps[0].branch.name == "sump pump"
    assert plan.steps[0].why == "no room for its start on leg B later"
