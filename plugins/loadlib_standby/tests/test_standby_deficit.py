"""What the case says is to be made up for: hot water drawn, and water that ran into a pit."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from loadlib import DataError, InputError, NotFound, inflow_deficit_s
from loadlib_standby.case import HotWater, OutageCase, Pit
from loadlib_standby.case_file import read_case
from loadlib_standby.check import check
from loadlib_standby.commands import app
from loadlib_standby.deficit import deficits, pickup_s
from loadlib_standby.overload import overloads
from loadlib_standby.restore import restoration_plan
from loadlib_standby.rotation import turns
from loadlib_standby.setting import Setting, setting_of
from loadlib_standby.show import check_text, plan_text
from loadlib_standby.tests.farmhouse import example, profile, setting

WATER = HotWater("water heater", 20.0, 70.0)
PIT = Pit("sump pump", 60.0, 2000.0, 12.0)


def house(water: HotWater | None = WATER, pit: Pit | None = PIT, off_h: float = 2.0) -> Setting:
    there = setting()
    case = replace(
        there.case,
        off_h=off_h,
        hot_water=(water,) if water else (),
        pits=(pit,) if pit else (),
    )
    return setting_of(profile(), there.source, case)


def squashed(text: str) -> str:
    return " ".join(text.split())


def test_hot_water_against_the_recovery_of_an_element() -> None:
    """A gallon is 8.34 lb and takes 1 Btu per lb and °F; 3.412 Btu are a Wh (ASHRAE Handbook,
    service water heating): 4,500 W warm 26.3 gal an hour by 70 °F, less what goes on being
    drawn."""
    there = house(replace(WATER, drawn_gal=40.0), None)
    (found,) = deficits(there.feed.loads, there.case)
    heater = next(x for x in there.feed.loads if x.name == "water heater")
    duty = float(heater.duty_array().ravel()[there.case.hours].mean())
    recovery_gal_per_h = 4500 * 3.412 / (8.34 * 70)
    assert recovery_gal_per_h == pytest.approx(26.3, abs=0.05)
    assert found.on_s / 3600 == pytest.approx(40 / recovery_gal_per_h / (1 - duty), rel=1e-3)
    assert found.energy_wh == pytest.approx(40 * 8.34 * 70 / 3.412, rel=1e-3)


def test_a_heat_pump_puts_in_less() -> None:
    plain, pump = (house(replace(WATER, drawn_gal=90.0, cop=cop), None) for cop in (1.0, 3.0))
    (a,), (b,) = (deficits(x.feed.loads, x.case) for x in (plain, pump))
    assert a.on_s == pytest.approx(3.0 * b.on_s)


def test_usual_duty_counts_where_it_asks_for_more() -> None:
    there = house(replace(WATER, drawn_gal=1.0), None, off_h=48.0)
    (found,) = deficits(there.feed.loads, there.case)
    heater = next(x for x in there.feed.loads if x.name == "water heater")
    assert found.on_s == pickup_s(heater, there.case)
    assert "which counts" in found.text


def emptied_s(inflow: float, pump: float, off_s: float, room: float) -> float:
    """Second by second: the pit fills while the power is off, then the pump empties it."""
    level = 0.0
    for _ in range(int(off_s)):
        level = min(level + inflow, room)
    seconds = 0
    while level > 0.0:
        level += inflow - pump
        seconds += 1
    return float(seconds)


@pytest.mark.parametrize(("off_h", "room"), [(0.1, 12.0), (2.0, 12.0), (2.0, math.inf)])
def test_a_pit_against_its_balance_second_by_second(off_h: float, room: float) -> None:
    there = house(None, replace(PIT, room=room), off_h)
    (found,) = deficits(there.feed.loads, there.case)
    by_hand = emptied_s(60 / 3600, 2000 / 3600, off_h * 3600, room)
    assert found.on_s == pytest.approx(by_hand, abs=1.5)
    assert found.on_s == inflow_deficit_s(60 / 3600, 2000 / 3600, off_h * 3600, room)


def test_when_the_pit_is_full() -> None:
    """12 gal at 60 an hour: 12 min. The farmhouse has its pump down as off for an hour."""
    (found,) = deficits(house(None).feed.loads, house(None).case)
    assert found.full_after_s == pytest.approx(720.0)
    assert "full after 12 min: it runs over before power returns" in found.text
    assert "may be off for 60 min" in found.text
    short = house(None, off_h=0.1)
    (found,) = deficits(short.feed.loads, short.case)
    assert "power returns before that" in found.text


def test_a_pump_that_cannot_keep_up() -> None:
    there = house(None, Pit("sump pump", 2500.0, 2000.0))
    (found,) = deficits(there.feed.loads, there.case)
    assert math.isinf(found.on_s)
    assert "the water rises" in found.text
    i = next(k for k, b in enumerate(there.branches) if b.name == "sump pump")
    assert there.stack.hold_s[i] == there.case.length_h * 3600.0


def test_the_cold_draw_lasts_as_long_as_stated() -> None:
    usual, stated = setting(), house(replace(WATER, drawn_gal=60.0))
    for name, longer in (("water heater", True), ("sump pump", False)):
        i = next(k for k, b in enumerate(usual.branches) if b.name == name)
        assert bool(stated.stack.hold_s[i] > usual.stack.hold_s[i]) is longer
    kept = [b.name not in ("water heater", "sump pump") for b in usual.branches]
    assert (stated.stack.hold_s[kept] == usual.stack.hold_s[kept]).all()


def test_check_and_plan_say_it() -> None:
    there = house()
    answer = check(there, replicates=50)
    assert [one.name for one in answer.cold.deficits] == ["water heater", "sump pump"]
    assert "20 gal were drawn; to warm as much by 70 °F takes 3.4 kWh" in squashed(
        check_text(answer)
    )
    plan = restoration_plan(there)
    over = overloads(there.feed, there.loads_on(plan.on), there.case, replicates=50)
    text = squashed(plan_text(plan, over, (), turns(plan)))
    assert "Making up for the outage: " in text
    assert "sump pump: on for 23 s to empty its pit" in text
    assert "Carbon monoxide" in text


def test_nothing_stated_says_nothing() -> None:
    assert check(setting(), replicates=50).cold.deficits == ()


def test_loads_that_are_not_there_or_not_one() -> None:
    with pytest.raises(NotFound, match="bilge pump"):
        house(None, replace(PIT, pump="bilge pump"))
    with pytest.raises(InputError, match="fits several loads: well pump, sump pump"):
        house(None, replace(PIT, pump="pump"))


def test_impossible_amounts() -> None:
    with pytest.raises(InputError, match="hot water"):
        HotWater("water heater", -1.0, 70.0)
    with pytest.raises(InputError, match="pit of sump pump"):
        Pit("sump pump", 60.0, 0.0)


TABLES = """
[[hot_water]]
heater = "water heater"
drawn_l = 75.708
rise_c = 38.8889

[[pit]]
pump = "sump pump"
inflow_per_h = 60
pump_per_h = 2000
room = 12
"""


def case_with(tmp_path: Path, tables: str) -> Path:
    path = tmp_path / "case.toml"
    path.write_text(example("case_ice_storm").read_text("utf-8") + tables, encoding="utf-8")
    return path


def test_the_case_file_in_either_unit(tmp_path: Path) -> None:
    case: OutageCase = read_case(case_with(tmp_path, TABLES))
    assert case.pits == (PIT,)
    (water,) = case.hot_water
    assert water.drawn_gal == pytest.approx(20.0, rel=1e-4)
    assert water.rise_f == pytest.approx(70.0, rel=1e-4)
    assert math.isinf(read_case(case_with(tmp_path, TABLES.replace("room = 12", ""))).pits[0].room)


def test_the_example_holds_them_behind_comment_marks(tmp_path: Path) -> None:
    text = example("case_ice_storm").read_text("utf-8")
    head, mark, tables = text.partition("# [[hot_water]]")
    path = tmp_path / "case.toml"
    bare = (mark + tables).replace("# ", "").replace("#\n", "\n")
    path.write_text(head + bare, encoding="utf-8")
    case = read_case(path)
    assert case.hot_water == (WATER,)
    assert case.pits == (PIT,)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('heater = "water heater"', "", "is missing"),
        ("drawn_l = 75.708", "", "drawn_gal or drawn_l"),
        ("drawn_l = 75.708", "drawn_l = 75\ndrawn_gal = 20", "both drawn_gal and drawn_l"),
        ("rise_c = 38.8889", "rise_c = -3", "below 0"),
        ("inflow_per_h = 60", "", "is missing"),
        ("pump_per_h = 2000", "pump_per_h = 0", "not above"),
        ("room = 12", "rooms = 12", "unknown key"),
    ],
)
def test_errors_name_file_line_and_key(tmp_path: Path, old: str, new: str, words: str) -> None:
    with pytest.raises(DataError, match=words) as told:
        read_case(case_with(tmp_path, TABLES.replace(old, new)))
    assert told.value.path
    assert told.value.line


def test_as_json_with_the_cautions(tmp_path: Path) -> None:
    document = tmp_path / "p.json"
    document.write_text(profile().to_json(), encoding="utf-8")
    words = ["--source", str(example("source_generator_7200"))]
    words += ["--case", str(case_with(tmp_path, TABLES)), "--json"]
    done = CliRunner().invoke(app, ["plan", str(document), *words])
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    (pump,) = told["deficits"]  # the water heater stays off on this source
    assert pump["name"] == "sump pump"
    assert pump["full_after_s"] == pytest.approx(720.0)
    assert told["cautions"]
