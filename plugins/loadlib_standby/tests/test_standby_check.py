"""Check, overloads, endurance, choose: numbers against independent arithmetic."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from loadlib import InputError, Processes, Range
from loadlib_standby.case import OutageCase
from loadlib_standby.check import check
from loadlib_standby.choose import RatingPair, bare_source, choose
from loadlib_standby.endurance import endurance, mean_w, saving
from loadlib_standby.overload import causes_together, overloads, overloads_per_day
from loadlib_standby.setting import Setting, setting_of
from loadlib_standby.show import check_text
from loadlib_standby.source import Battery
from loadlib_standby.source_file import read_source
from loadlib_standby.tests.farmhouse import a_load, cords_source, example, loads, profile, setting

CASE = OutageCase(start=datetime(2027, 1, 14, 0, 0), length_h=24.0)


def two_heaters() -> Setting:
    """Two heaters of 4,000 W, on a tenth and a fifth of the time, on 6,000 W."""
    some = (
        a_load("one", 4000, legs="AB", duty=0.1, starts=0.5, spread=1.0),
        a_load("two", 4000, legs="AB", duty=0.2, starts=1.0, spread=1.0),
    )
    whole = replace(profile(extra=some), loads=some)
    return setting_of(whole, bare_source(6000, 6000, "120/240"), CASE)


def test_overloads_of_two_heaters_by_hand() -> None:
    """Entries: one starts while two is on (0.5 × 0.2) or two while one is on (1.0 × 0.1): 0.2
    an hour, 4.8 a day; over for 0.1 × 0.2 of the time, so 360 s each."""
    house = two_heaters()
    found = overloads(house.feed, house.loads_on([0, 1]), CASE)
    whole = found.places[0]
    assert whole.per_day == pytest.approx(4.8)
    assert whole.above_share == pytest.approx(0.02)
    assert whole.mean_length_s == pytest.approx(360.0)
    assert found.per_day_least == pytest.approx(4.8)
    assert found.per_day_most == pytest.approx(3 * 4.8)  # each leg breaks in the same moment
    assert [(t.loads, round(t.per_day, 6)) for t in found.together] == [(("one", "two"), 4.8)]
    assert found.together[0].words() == "one with two: 4.8 a day"
    assert 0.0 < found.none_in_night_most < 0.5


def test_the_simulated_night_agrees_with_the_expected_number() -> None:
    """No chance of none can lie below one minus the expected number of overloads."""
    house = two_heaters()
    mild = house.loads_on([0, 1])
    mild = tuple(x.with_(starts_per_h=((0.01,) * 24,) * 12) for x in mild)
    found = overloads(house.feed, mild, CASE, replicates=4000)
    expected = found.places[0].per_day / 24 * CASE.night_hours.size
    assert found.places[0].none_in_night >= 1 - expected - 3 * found.places[0].error


def test_pairs_only_count_what_is_needed() -> None:
    """1 and 2 together break the limit of 5,000; a third of 500 W is on all the same, but the
    overload would come without it."""
    rates = np.array([[1.0], [1.0], [1.0]])
    there = Processes(
        names=("a", "b", "c"), base_w=0.0, rise_w=np.array([3000.0, 3000.0, 500.0]),
        surge_w=np.array([3000.0, 3000.0, 500.0]), duty=np.array([[0.1], [0.1], [0.5]]),
        starts_per_h=rates, count=np.ones(3, dtype=np.int64),
    )  # fmt: skip
    found = causes_together(there, 5000.0, 5000.0)
    assert [row.loads for row in found] == [("a", "b")]
    assert found[0].per_day == pytest.approx(24 * 0.2)


def test_a_start_that_is_too_much_by_itself_is_named_alone() -> None:
    """a starts at 6,000 VA, once an hour, on a source of 5,000 W for seconds; b never matters."""
    there = Processes(
        names=("a", "b"), base_w=0.0, rise_w=np.array([1000.0, 500.0]),
        surge_w=np.array([6000.0, 500.0]), duty=np.array([[0.1], [0.5]]),
        starts_per_h=np.array([[1.0], [1.0]]), count=np.ones(2, dtype=np.int64),
    )  # fmt: skip
    found = causes_together(there, 5000.0, 5000.0)
    assert [row.loads for row in found] == [("a",)]
    assert found[0].per_day == pytest.approx(24.0)
    assert "a alone" in found[0].words()


def test_triples_by_hand() -> None:
    """Three of 2,000 W on 5,000 W: only all three break it. Each starts once an hour with the
    two others on (0.5 × 0.5): 0.75 an hour, 18 a day."""
    ones = np.ones(3)
    there = Processes(
        names=("a", "b", "c"), base_w=0.0, rise_w=2000 * ones, surge_w=2000 * ones,
        duty=0.5 * ones[:, None], starts_per_h=ones[:, None], count=np.ones(3, dtype=np.int64),
    )  # fmt: skip
    found = causes_together(there, 5000.0, 5000.0)
    assert [row.loads for row in found] == [("a", "b", "c")]
    assert found[0].per_day == pytest.approx(18.0)


def test_conditions_weigh_as_often_as_they_occur() -> None:
    duty = np.array([[0.0, 0.5], [0.0, 0.5]])
    there = Processes(
        names=("a", "b"), base_w=0.0, rise_w=np.array([3000.0, 3000.0]),
        surge_w=np.array([3000.0, 3000.0]), duty=duty, starts_per_h=np.ones((2, 2)),
        count=np.ones(2, dtype=np.int64),
    )  # fmt: skip
    (row,) = causes_together(there, 5000.0, 5000.0, np.array([3, 1]))
    assert row.per_day == pytest.approx(24 * 1.0 * 0.25)


def test_a_start_that_breaks_three_limits_at_once_is_one_overload() -> None:
    pump = a_load("pump", 1000, legs="AB", duty=0.1, starts=2.0, start_va=Range.exact(9000))
    house = setting_of(
        replace(profile(extra=(pump,)), loads=(pump,)), bare_source(5000, 6000, "120/240"), CASE
    )
    found = overloads(house.feed, house.loads_on([0]), CASE, replicates=50)
    assert [row.per_day for row in found.places] == pytest.approx([48.0, 48.0, 48.0])
    assert found.per_day_least == pytest.approx(48.0)
    assert found.per_day_most == pytest.approx(48.0)


def test_what_is_always_above_is_not_told_as_no_overload() -> None:
    heater = a_load("heater", 3000, legs="AB", duty=1.0, starts=0.0, priority="must", spread=1.0)
    house = setting_of(
        replace(profile(extra=(heater,)), loads=(heater,)), bare_source(2000, 2000, "120/240"), CASE
    )
    text = check_text(check(house, replicates=50))
    assert "above its running limit 100% of the time" in " ".join(text.split())


def test_quick_rate_is_the_rate() -> None:
    house = two_heaters()
    found = overloads_per_day(house.loads_on([0, 1]), CASE, [(None, 6000.0, 6000.0)])
    assert found == pytest.approx(4.8)


def test_check_of_the_farmhouse() -> None:
    answer = check(setting(), replicates=500)
    assert answer.verdict.value == "fits only if"
    assert not answer.negative
    assert answer.limits[0].place == "the whole"
    assert answer.limits[0].running.low < answer.limits[0].running.high
    assert answer.all_starts_va > answer.limits[0].peak.typical
    assert answer.links[0].name == answer.smallest
    assert not answer.cold.within
    assert answer.cold.last == "SLOT 6-8 WATER HEATER" or answer.cold.lasts_s > 0
    (drop,) = answer.drops
    assert drop.start.drop_v > drop.running.drop_v > 0
    assert any("floats" in note for note in answer.notes)
    assert any("flame" in note for note in answer.notes)


def test_check_of_named_circuits() -> None:
    answer = check(setting(), ["furnace", "lights"], replicates=200)
    assert answer.verdict.value == "fits"
    assert len(answer.chosen) == 2
    assert answer.overloads.per_day_most == 0.0


def test_neutral_is_worst_with_one_leg_idle() -> None:
    some = (a_load("a", 1200, duty=1.0), a_load("b", 1200, legs="B", duty=1.0))
    house = setting_of(replace(profile(extra=some), loads=some), bare_source(5000, 5000, "120/240"))
    answer = check(house, replicates=100)
    assert answer.neutral_a == pytest.approx(0.0, abs=0.01)
    assert answer.neutral_one_leg_a == pytest.approx(10.0, abs=0.01)


def test_check_on_cords_has_a_drop_for_each_cord() -> None:
    answer = check(setting_of(profile(), cords_source()), replicates=100)
    assert [drop.cord.split(",")[0] for drop in answer.drops] == ["cord of one", "cord of two"]
    assert answer.verdict.value == "fits"
    assert any("MEDICAL" in note for note in answer.notes)


def test_same_seed_same_answer() -> None:
    first, second = (check(setting(), seed=3, replicates=200) for _ in range(2))
    assert first.overloads == second.overloads
    assert first.limits == second.limits


def test_mean_demand_by_hand() -> None:
    lamp = a_load("lamp", 100, duty=0.25, spread=1.0, duty_belief=Range.exact(1.0))
    sleeper = a_load("box", 50, duty=0.5, standby_w=Range.exact(10), spread=1.0,
                     duty_belief=Range.exact(1.0), count=2)  # fmt: skip
    found = mean_w([lamp, sleeper], CASE.hours)
    assert found.typical == pytest.approx(25 + 2 * (25 + 5))
    assert found.is_exact


def test_fuel_of_the_farmhouse_lies_between_its_bounds() -> None:
    house = setting()
    chosen = house.positions(["furnace", "refrigerator", "incubator"])
    answer = endurance(house, chosen)
    line = house.source.generator.line  # type: ignore[union-attr]  # the example has one
    assert line is not None
    three_days = next(p for p in answer.periods if p.name == "three days")
    assert three_days.fuel is not None
    mean = three_days.energy_wh.typical / 72
    # The mean lies below both points: the line is the least, the lower point the most.
    assert mean < line.low_w
    assert 72 * line.rate_per_h(three_days.energy_wh.low / 72) == pytest.approx(
        three_days.fuel.low, rel=1e-6
    )
    assert three_days.fuel.high == pytest.approx(72 * line.rate_per_h(line.low_w), rel=1e-6)
    assert answer.tank_h is not None
    assert answer.tank_h.low == pytest.approx(6.6 * 0.95 / line.rate_per_h(line.low_w))
    first = (answer.refills[0] - house.case.start).total_seconds() / 3600
    assert first == pytest.approx(0.9 * answer.tank_h.low)
    assert "below the two fuel points" in answer.notes[0]


def test_a_smaller_list_saves_less_than_its_share() -> None:
    house = setting()
    everything = house.positions()
    less, per_day = saving(house, everything, house.positions(["furnace"]))
    assert less.typical < 500
    line = house.source.generator.line  # type: ignore[union-attr]  # the example has one
    assert line is not None
    whole = 24 * line.rate_per_h(mean_w(house.loads_on(everything), house.case.hours).typical)
    assert 0 <= per_day.low <= per_day.high < whole


def test_battery_alone_and_with_a_charging_set() -> None:
    battery = Battery(running_w=6000, starting_w=9000, capacity_kwh=15, charge_w=2500)
    both = replace(read_source(example("source_generator_7200")), battery=battery)
    house = setting_of(profile(), both, CASE)
    chosen = house.positions(["furnace", "router"])
    answer = endurance(house, chosen)
    assert house.feed.running_w == 6000.0  # the inverter carries the house
    assert answer.set_share is not None
    assert answer.set_share.typical == pytest.approx(answer.mean_w.typical / 0.9 / 2500, rel=0.02)
    alone = setting_of(profile(), replace(both, generator=None), CASE)
    lasts = endurance(alone, chosen)
    assert lasts.battery_h is not None
    assert lasts.battery_h.typical == pytest.approx(15000 * 0.81 / answer.mean_w.typical, rel=0.02)
    assert lasts.periods[0].fuel is None


def test_no_fuel_points_no_fuel_answer() -> None:
    house = setting_of(profile(), bare_source(7000, 9000, "120/240"), CASE)
    with pytest.raises(InputError, match="no fuel use"):
        endurance(house, house.positions())
    with pytest.raises(InputError, match="no fuel use"):
        saving(house, [0], [0])


def test_choose_gives_a_curve_that_falls() -> None:
    house = two_heaters()
    choice = choose(house, most_per_day=1.0, step_w=1000)
    assert [p.running_w for p in choice.points][:3] == [1000.0, 2000.0, 3000.0]
    assert choice.wishes_any_time == RatingPair(8000.0, 8000.0)
    assert choice.points[0].off == ("SLOT 25 ONE", "SLOT 27 TWO")
    by_rating = {p.running_w: p.per_day_all for p in choice.points}
    assert by_rating[6000.0] == pytest.approx(4.8)
    assert by_rating[8000.0] == 0.0
    assert choice.wishes == choice.wishes_any_time
    assert choice.musts is None  # there are none
    assert [p.running_w for p in choice.turning_points()] == [1000.0, 4000.0, 8000.0]


def test_choose_finds_the_smallest_starting_rating() -> None:
    """A motor of 1,000 W that starts at 4,000 VA once an hour beside a heater of 2,000 W that
    is on half of the time: with 3,000 W running none from 6,000 W starting on, 12 a day below,
    24 below 4,000 W; with 2,000 W running 14.4 a day."""
    some = (
        a_load("motor", 1000, legs="AB", duty=0.1, starts=1.0, start_va=Range.exact(4000)),
        a_load("heater", 2000, legs="AB", duty=0.5, starts=1.0, spread=1.0),
    )
    house = setting_of(
        replace(profile(extra=some), loads=some), bare_source(3000, 3000, "120/240"), CASE
    )
    few = choose(house, most_per_day=0.1, step_w=1000)
    some_more = choose(house, most_per_day=13.0, step_w=1000)
    assert few.wishes == RatingPair(3000.0, 6000.0)
    assert some_more.wishes is not None
    assert some_more.wishes.starting_w == 4000.0


def test_choose_for_the_farmhouse() -> None:
    choice = choose(setting(), step_w=1000)
    assert choice.wishes is not None
    assert choice.musts is not None
    assert choice.musts_any_time is not None
    assert choice.wishes_any_time is not None
    assert choice.musts.running_w <= choice.musts_any_time.running_w
    assert choice.musts_any_time.running_w < choice.wishes_any_time.running_w
    assert choice.musts_any_time.starting_w > choice.musts_any_time.running_w
    offs = [len(point.off) for point in choice.points]
    assert offs[0] > offs[-1] == 0
    starting = [p.starting_all_w for p in choice.points if p.starting_all_w is not None]
    assert starting == sorted(starting, reverse=True) or starting[-1] == choice.points[-1].running_w


def test_choose_refusals() -> None:
    with pytest.raises(InputError, match="step"):
        choose(two_heaters(), step_w=0)
    with pytest.raises(InputError, match="points"):
        choose(two_heaters(), step_w=1)
    house = setting_of(profile(), bare_source(2000, 2000, "120"), CASE)
    with pytest.raises(InputError, match="nothing to choose"):
        choose(house, ["well pump"])
    assert choose(house, step_w=1000).blocked


def test_the_farmhouse_has_loads() -> None:
    assert len(loads()) == 12


def test_propane_in_the_cold_is_said() -> None:
    house = setting()
    generator = house.source.generator
    assert generator is not None
    source = replace(house.source, generator=replace(generator, fuel="propane"))
    cold = setting_of(profile(), source, replace(CASE, outdoor_c=-10.0))
    mild = setting_of(profile(), source, replace(CASE, outdoor_c=10.0))
    assert any("Propane" in note for note in endurance(cold, cold.positions()).notes)
    assert not any("Propane" in note for note in endurance(mild, mild.positions()).notes)
