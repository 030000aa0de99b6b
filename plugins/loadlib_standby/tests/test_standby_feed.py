"""How source and house meet: legs, one leg, cords, fixed circuits, mismatches; chain; case."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from loadlib import InputError, NotFound
from loadlib_standby.case import Habit, OutageCase, default_case, loads_in_case
from loadlib_standby.chain import Chain, chain_of, cord_drop, outlet_link, smallest
from loadlib_standby.feed import Feed, feed_of
from loadlib_standby.setting import setting_of
from loadlib_standby.source import SUPPLIES, Cord, Generator, Outlet, Source
from loadlib_standby.source_file import read_source
from loadlib_standby.tests.farmhouse import a_load, example, loads, profile, setting

CASE = OutageCase(start=datetime(2027, 1, 14, 3, 40))


def a_source(supply: str, **more: object) -> Source:
    generator = Generator(running_w=5000, starting_w=6000, supply=supply)
    return Source(name="test", generator=generator, **more)  # type: ignore[arg-type]


def feed_on(source: Source) -> Feed:
    return feed_of(profile(), source, loads())


def test_chain_prints_every_limit_and_names_the_smallest() -> None:
    chain = chain_of(read_source(example("source_generator_7200")))
    assert [link.name for link in chain.links] == [
        "source, running",
        "breaker of the source",
        "outlet L14-30",
        "cord",
        "inlet",
        "panel breaker",
    ]
    inlet = chain.links[4]
    assert (inlet.limit_va, inlet.continuous_va) == (7200.0, 5760.0)
    assert chain.limit_a == 30.0
    assert chain.continuous.continuous_a == 24.0


def test_the_weakest_link_governs() -> None:
    source = replace(read_source(example("source_generator_7200")), cord=Cord("14", 40.0))
    chain = chain_of(source)
    assert chain.smallest.name == "cord"
    assert chain.limit_a == 18.0
    feed = feed_on(source)
    assert feed.running_w == pytest.approx(18 * 240)
    assert feed.places[0].running_a == 18.0
    with pytest.raises(InputError, match="without links"):
        smallest(Chain(()).links)


def test_outlet_of_other_volts_or_without_neutral() -> None:
    with pytest.raises(InputError, match="is for 120 V"):
        outlet_link("L5-30", SUPPLIES["120/240"])
    with pytest.raises(InputError, match="no neutral"):
        outlet_link("L6-30", SUPPLIES["120/240"])
    with pytest.raises(NotFound, match="outlet"):
        outlet_link("L99", SUPPLIES["120/240"])


def test_cord_drop_at_start_is_larger_than_at_running() -> None:
    cord = Cord("10", 50.0)
    assert cord_drop(cord, 24, 240).drop_v == pytest.approx(2.976, abs=0.001)
    assert cord_drop(cord, 60, 240).drop_v == pytest.approx(7.44, abs=0.001)
    assert cord_drop(cord, 24, 240, temperature_c=20).drop_v < 2.976


def test_legs_of_the_house_are_the_places() -> None:
    feed = feed_on(a_source("120/240"))
    assert [place.name for place in feed.places] == ["leg A", "leg B"]
    pump = feed.loads[0]
    assert feed.amps_per_va(pump) == pytest.approx((1 / 240, 1 / 240))
    assert feed.neutral((15.0, 5.0)) == pytest.approx(10.0)


def test_line_to_line_amps_on_a_wye_are_those_of_the_line_volts() -> None:
    feed = feed_of(profile("120/208"), a_source("120/208"), loads())
    assert feed.amps_per_va(loads()[0]) == pytest.approx((1 / 208, 1 / 208))


def test_a_120_v_source_feeds_no_240_v_load_and_warns_of_shared_neutrals() -> None:
    feed = feed_on(a_source("120"))
    assert len(feed.places) == 1
    assert set(feed.blocked) == {"well-pump", "water-heater", "range", "dryer"}
    assert "whatever the watts" in feed.blocked["well-pump"]
    assert "share a neutral" in feed.notes[0]
    assert feed.neutral((12.0,)) == 12.0


@pytest.mark.parametrize(
    ("supply", "words"),
    [("230/400", "3 legs"), ("230", "another system"), ("240", "without neutral"),
     ("120/208", "another system"), ("100/200", "another system")],
)  # fmt: skip
def test_other_systems_are_refused(supply: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        feed_on(a_source(supply))


def test_fixed_circuits_leave_the_rest_unconnected() -> None:
    feed = feed_on(
        a_source("120/240", connection="fixed circuits", circuits=("Furnace", "sump pump"))
    )
    assert "furnace" not in feed.blocked
    assert "lights" in feed.unwired
    with pytest.raises(NotFound, match="circuit 'moon'"):
        feed_on(a_source("120/240", connection="fixed circuits", circuits=("moon",)))


def test_cords_only() -> None:
    cord = Cord("16", 50.0, 3)
    outlets = (
        Outlet("front", 20.0, cord=cord, loads=("refrigerator", "router")),
        Outlet("back", 15.0, loads=("lights", "well pump")),
    )
    feed = feed_on(a_source("120", connection="cords", outlets=outlets))
    assert [place.running_a for place in feed.places] == [13.0, 15.0]
    assert feed.places[0].link == "cord"
    assert "well-pump" in feed.blocked
    assert "well-pump" not in feed.unwired
    assert "furnace" in feed.unwired
    twice = (outlets[0], replace(outlets[1], loads=("router",)))
    with pytest.raises(InputError, match="two outlets"):
        feed_on(a_source("120", connection="cords", outlets=twice))
    stranger = (replace(outlets[0], loads=("piano",)),)
    with pytest.raises(NotFound, match="load 'piano'"):
        feed_on(a_source("120", connection="cords", outlets=stranger))


def test_habits_and_cold_reshape_duty_and_starts() -> None:
    case = replace(
        CASE,
        habits=(Habit(("range",), 0.0), Habit(("lights",), 2.0)),
        heating=("furnace",),
        outdoor_c=-10.0,
        usual_outdoor_c=0.0,
    )
    found = {load.id: load for load in loads_in_case(profile(), case)}
    assert found["range"].duty_array().max() == 0.0
    assert found["lights"].starts_array().max() == pytest.approx(2.0)
    assert found["furnace"].duty_array().max() == pytest.approx(0.5 * 28.33 / 18.33, abs=0.01)
    assert found["router"] == loads()[7]


def test_running_power_follows_the_outdoor_temperature_where_it_is_known() -> None:
    pump = a_load("heat pump", 2000, outdoor_w=((-20.0, 3000.0), (0.0, 2000.0)))
    found = loads_in_case(profile(extra=(pump,)), replace(CASE, outdoor_c=-10.0))
    assert found[-1].running_w.typical == pytest.approx(2500.0)


def test_habits_and_wishes_about_nothing_are_refused() -> None:
    with pytest.raises(NotFound, match="sauna"):
        loads_in_case(profile(), replace(CASE, habits=(Habit(("sauna",), 0.5),)))
    source = read_source(example("source_generator_7200"))
    with pytest.raises(NotFound, match="sauna"):
        setting_of(profile(), source, replace(CASE, must=("sauna",)))
    with pytest.raises(InputError, match="factor"):
        Habit(("range",), -1.0)
    with pytest.raises(InputError, match="outage of"):
        replace(CASE, length_h=0.0)
    with pytest.raises(InputError, match="without power"):
        replace(CASE, off_h=-1.0)


def test_without_a_case_the_hungriest_month_is_taken_and_said() -> None:
    case = default_case(profile())
    assert case.start.month == 1
    assert "needs most energy" in case.words()


def test_an_empty_house_is_refused() -> None:
    with pytest.raises(InputError, match="no loads"):
        setting_of(replace(profile(), loads=()), setting().source)
