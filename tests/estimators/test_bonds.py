"""Which loads follow the weather, and what they do in hours unlike their month's."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from loadlib.core.category import Category
from loadlib.core.load import Load, flat, grid
from loadlib.core.ranges import Range
from loadlib.estimators.bonds import Bond, bonds_of, use_of
from loadlib.store.seed import seed_root

WINTER = (2.4, 2.1, 1.6, 0.9, 0.3, 0.05, 0.0, 0.0, 0.1, 0.7, 1.5, 2.35)


def load(slug: str = "heater", *, months: tuple[float, ...] = WINTER, **changes: object) -> Load:
    duty = np.array(months)[:, None] * np.full((12, 24), 0.2)
    fields: dict[str, object] = {
        "id": slug,
        "name": slug,
        "category": slug,
        "kind": "heater",
        "leg_share": (0.5, 0.5),
        "line_to_line": True,
        "running_w": Range(1900, 2000, 2100),
        "power_factor": Range.exact(1.0),
        "start_va": None,
        "start_s": Range.exact(0.0),
        "standby_w": Range.exact(0.0),
        "duty": grid(duty),
        "duty_belief": Range(0.5, 1.0, 2.0),
        "starts_per_h": flat(1.0),
        "thermostatic": True,
    }
    return Load(**(fields | changes))  # type: ignore[arg-type]  # invented at run time


def bond(catalog: Mapping[str, Category], one: Load, group: str) -> Bond:
    """Bond of a load of a category of that group."""
    kind = replace(catalog["heater"], category=one.category, group=group)
    return Bond(int(bonds_of([one], {one.category: kind})[0]))


def test_a_thermostat_that_heats_or_cools_follows(catalog: Mapping[str, Category]) -> None:
    summer = tuple(reversed(WINTER[6:])) + WINTER[:6]
    assert bond(catalog, load(), "heating") == Bond.HEATING
    cooler = load("cooler", months=summer, kind="compressor")
    assert bond(catalog, cooler, "cooling") == Bond.COOLING
    pump = load("pump", kind="compressor")
    assert bond(catalog, pump, "heating") == Bond.BOTH


def test_what_is_alike_all_year_does_not_follow(catalog: Mapping[str, Category]) -> None:
    fridge = load("fridge", months=(1.0,) * 11 + (1.1,), kind="compressor")
    assert bond(catalog, fridge, "refrigeration") == Bond.NONE
    never = load("never", months=(0.0,) * 12)
    assert bond(catalog, never, "heating") == Bond.NONE


def test_seasons_without_a_room_thermostat_leave_it_open(catalog: Mapping[str, Category]) -> None:
    """A fan that people switch, a trough that freezes, moisture, a load no category knows."""
    fan = load("fan", thermostatic=False)
    assert bond(catalog, fan, "cooling") == Bond.UNSURE
    assert bond(catalog, load("trough"), "farm") == Bond.UNSURE
    drier = load("dehumidifier", kind="compressor")
    assert bond(catalog, drier, "cooling") == Bond.UNSURE
    assert bonds_of([load("unknown")], {}).tolist() == [Bond.UNSURE]


@pytest.mark.parametrize(
    ("slug", "expected"),
    [
        ("baseboard_heater", Bond.HEATING),
        ("furnace_blower", Bond.HEATING),
        ("heat_pump_air_source", Bond.BOTH),
        ("central_air_conditioner", Bond.COOLING),
        ("room_air_conditioner", Bond.COOLING),
        ("refrigerator_freezer", Bond.NONE),
        ("water_heater_electric_storage", Bond.NONE),
        ("waterbed_heater", Bond.NONE),
        ("television", Bond.NONE),
        ("dehumidifier", Bond.UNSURE),
        ("ceiling_fan", Bond.UNSURE),
        ("stock_tank_heater", Bond.UNSURE),
        ("incubator_egg", Bond.UNSURE),
    ],
)
def test_bonds_of_the_catalog(catalog: Mapping[str, Category], slug: str, expected: Bond) -> None:
    rows = {name: _table(name) for name in ("categories.csv", "seasons.csv")}
    row = next(one for one in rows["categories.csv"] if one["category"] == slug)
    season = next(one for one in rows["seasons.csv"] if one["season"] == row["season"])
    months = tuple(float(season[f"m{month:02}"]) for month in range(1, 13))
    thermostatic = row["thermostatic"] == "1"
    one = load(slug, months=months, kind=row["kind"], thermostatic=thermostatic)
    assert bond(catalog, one, row["group"]) == expected


def _table(name: str) -> list[dict[str, str]]:
    with (seed_root() / name).open(encoding="utf-8") as table:
        return list(csv.DictReader(table))


def ratios(value: float, sigma: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    relative, doubt = np.ones((5, 288)), np.zeros((5, 288))
    relative[Bond.HEATING], doubt[Bond.HEATING] = value, sigma
    doubt[Bond.UNSURE] = 0.5 * abs(value - 1.0)
    return relative, doubt


HEATED = np.array([Bond.HEATING])
COLD_C = np.full(288, -10.0)


def test_a_load_that_follows_is_on_for_longer_and_never_longer_than_always() -> None:
    relative, doubt = ratios(1.5, 0.2)
    use = use_of([load()], HEATED, relative, doubt, COLD_C)
    assert use.time[0, :24] == pytest.approx(1.5)
    assert (use.power == use.time).all()
    assert use.doubt[0] == pytest.approx(0.2)
    busy = load(months=(4.0,) * 6 + (0.5,) * 6)  # on for 80 % of the time in the first months
    use = use_of([busy], HEATED, relative, doubt, COLD_C)
    assert use.time[0, 0] == pytest.approx(1.0 / 0.8)
    assert use.time[0, -1] == pytest.approx(1.5)


def test_a_load_that_does_not_follow_stays_as_it_is() -> None:
    relative, doubt = ratios(1.5, 0.2)
    use = use_of([load(), load()], np.array([Bond.NONE, Bond.UNSURE]), relative, doubt, COLD_C)
    assert (use.power == 1.0).all()
    assert (use.doubt[0] == 0.0).all()
    assert use.doubt[1] == pytest.approx(0.25)


def test_running_watts_against_temperature_share_the_energy_with_the_time_on() -> None:
    """At −10 °C it draws 1.2 times as much: energy by degree-hours, so the time is the rest."""
    one = load(outdoor_w=((-10.0, 2400.0), (10.0, 1600.0)))
    relative, doubt = ratios(1.5)
    use = use_of([one], HEATED, relative, doubt, COLD_C)
    assert use.watts[0] == pytest.approx(1.2)
    assert use.time[0] == pytest.approx(1.25)
    assert use.power[0] == pytest.approx(1.5)
    steady = use_of([one], np.array([Bond.NONE]), relative, doubt, np.full(288, 0.0))
    assert steady.watts[0] == pytest.approx(1.0)
    cold = use_of([one], np.array([Bond.NONE]), relative, doubt, COLD_C)
    assert (cold.time == 1.0).all()
    assert cold.power[0] == pytest.approx(1.2)


def test_beyond_what_was_measured_the_watts_are_in_doubt() -> None:
    one = load(outdoor_w=((-10.0, 2400.0), (10.0, 1600.0)))
    relative, doubt = ratios(1.0)
    inside = use_of([one], HEATED, relative, doubt, np.full(288, 5.0))
    beyond = use_of([one], HEATED, relative, doubt, np.full(288, -20.0))
    assert inside.watts_doubt[0] == 0.0
    assert beyond.watts[0] == pytest.approx(1.2)
    assert beyond.watts_doubt[0] == pytest.approx(0.2)  # 10 K at 0.02 a kelvin
    single = use_of([load(outdoor_w=((5.0, 2400.0),))], HEATED, relative, doubt, COLD_C)
    assert (single.watts == 1.0).all()
