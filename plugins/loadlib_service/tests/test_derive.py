"""A dwelling from a load profile."""

from __future__ import annotations

import pytest

from loadlib import Appliance, House, InputError, Range, house_from_toml, seed_root
from loadlib_service.derive import ROLES, dwelling_from_house, dwelling_from_profile
from loadlib_service.standard import standard
from loadlib_service.tests.profiles import small_profile


def test_categories_find_their_place() -> None:
    house = dwelling_from_profile(small_profile())
    assert house.cooking[0].rating_w == 12_000  # its plate was not read: see below
    assert house.dryers[0].rating_w == 5500
    assert [i.name for i in house.appliances] == ["water heater"]
    assert {i.name for i in house.motors} == {"well pump", "sump pump"}
    assert all(i.motor for i in house.motors)
    assert house.motors[0].va == pytest.approx(1600 / 0.8)
    assert house.evse[0].va == 7200
    pump, baseboard = house.heating
    assert (pump.items_va, pump.supplementary_va) == (3600, 9600)
    assert (baseboard.units, baseboard.items_va) == (2, 3000)
    assert house.service_a == 200


def test_every_assumption_is_told_on_the_worksheet() -> None:
    sheet = standard(dwelling_from_profile(small_profile()), "2023")
    told = " ".join(sheet.choices)
    assert "well pump: no nameplate in the profile" in told
    assert "Covered by general lighting, receptacle and small-appliance load: lamp" in told
    assert "2 small-appliance and 1 laundry circuits" in told
    assert "separately controlled" in told
    assert "Read the plates" in told


def test_legs_are_kept_when_asked() -> None:
    by_name = {i.name: i for i in dwelling_from_profile(small_profile(), use_legs=True).motors}
    assert by_name["sump pump"].legs == "B"
    assert by_name["well pump"].legs == ""


def test_a_profile_without_area_is_refused() -> None:
    with pytest.raises(InputError, match="no floor area") as caught:
        dwelling_from_profile(small_profile(area_ft2=None))
    assert "area_ft2" in (caught.value.hint or "")


def test_every_category_named_here_is_in_the_catalog() -> None:
    lines = (seed_root() / "categories.csv").read_text("utf-8").splitlines()[1:]
    known = {line.split(",", 1)[0] for line in lines}
    assert {category for listed in ROLES.values() for category in listed} <= known


def house(*appliances: Appliance, **more: object) -> House:
    facts: dict[str, object] = {"name": "Farmhouse", "area_ft2": 1800.0, "service_a": 100.0}
    return House(appliances=appliances, **(facts | more))  # type: ignore[arg-type]


def appliance(key: str, category: str, label: str = "", **more: object) -> Appliance:
    return Appliance(key, key.replace("-", " "), category, label=label, **more)  # type: ignore[arg-type]


def test_a_house_gives_its_labels() -> None:
    found = dwelling_from_house(
        house(
            appliance("water-heater", "water_heater_electric_storage", "240V 4500W"),
            appliance("condenser", "central_air_conditioner", "208/230V RLA 14.1 FLA 0.7"),
            appliance("well-pump", "well_pump_submersible_1_hp", "1HP 230V 9.8A"),
            appliance("range", "electric_range", "120/240V 12.1KW"),
            appliance("refrigerator", "refrigerator_freezer", "115V 6.5A"),
            appliance("dryer", "clothes_dryer_electric", running_w=Range(5000, 5200, 5600)),
        )
    )
    assert found.appliances[0].va == 4500
    assert found.cooling[0].va == pytest.approx(14.8 * 230)
    assert found.cooling[0].motor
    assert found.motors[0].va == pytest.approx(9.8 * 230)
    assert found.cooking[0].rating_w == 12_100
    assert found.dryers[0].rating_w == 5600
    told = " ".join(found.assumptions)
    assert "water heater: from its label" in told
    assert "dryer: no label" in told
    assert "load: refrigerator" in told


def test_a_house_with_plates_missing_names_them() -> None:
    with pytest.raises(InputError, match="water heater, dryer") as caught:
        dwelling_from_house(
            house(
                appliance("water-heater", "water_heater_electric_storage"),
                appliance("dryer", "clothes_dryer_electric"),
            )
        )
    assert "loadlib house change" in (caught.value.hint or "")
    with pytest.raises(InputError, match="no floor area") as no_area:
        dwelling_from_house(house(area_ft2=None))
    assert "loadlib house set --area" in (no_area.value.hint or "")


@pytest.mark.parametrize(
    ("running", "rating_w"), [(None, 12_000), (Range(2000, 3000, 5000), 12_000)]
)
def test_a_range_whose_plate_nobody_read(running: Range | None, rating_w: float) -> None:
    # Column C of NEC Table 220.55 covers one range up to 12 kW with 8 kW; what a range draws
    # while it cooks (5 kW here) would halve that by Note 3 without anybody having read a plate.
    found = dwelling_from_house(house(appliance("range", "electric_range", running_w=running)))
    assert found.cooking[0].rating_w == rating_w
    assert standard(found, "2023").va("cooking") == 8000
    assert "nobody has read its plate" in " ".join(found.assumptions)


def test_a_range_that_draws_more_than_12_kw_counts_with_what_it_draws() -> None:
    drawn = Range(9000, 12_000, 13_500)
    found = dwelling_from_house(house(appliance("range", "electric_range", running_w=drawn)))
    assert found.cooking[0].rating_w == 13_500


def test_the_demo_house_file_gives_a_worksheet() -> None:
    text = (seed_root() / "demo" / "farmhouse.toml").read_text("utf-8")
    found = dwelling_from_house(house_from_toml(text))
    sheet = standard(found, "2023")
    assert sheet.va("general_lighting") == 3 * 2200
    assert sheet.va("cooking") == 8000
