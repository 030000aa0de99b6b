"""Supplies, ratings and conductors."""

from __future__ import annotations

import pytest

from loadlib import InputError
from loadlib_service.ratings import (
    dwelling_conductor,
    lighting_circuits,
    next_rating_a,
    service_rating_a,
    whole_a,
)
from loadlib_service.supply import parse_supply


def test_supplies_are_read() -> None:
    assert parse_supply("120/240").kind == "split phase"
    assert parse_supply("115/230 V").line_v == 230.0
    assert parse_supply("120/208").kind == "two legs of a wye"
    assert parse_supply("208y/120").legs == ("A", "B", "C")


@pytest.mark.parametrize("text", ["", "230", "120/200", "240/120", "208Y/240", "120-240"])
def test_other_supplies_are_refused(text: str) -> None:
    with pytest.raises(InputError, match="supply") as caught:
        parse_supply(text)
    assert "120/240" in (caught.value.hint or "")


def test_amperes_by_supply() -> None:
    assert parse_supply("120/240").amps(12_000, 12_000) == 100.0
    assert parse_supply("120/208").amps(2_400, 2_080) == pytest.approx(20.0)
    assert parse_supply("208Y/120").amps(36_026.7, 0.0) == pytest.approx(100.0, abs=0.01)


@pytest.mark.parametrize(
    ("amps", "whole"), [(77.4, 77), (77.5, 78), (60.6, 61), (121.67, 122), (100.4, 100)]
)
def test_fractions_below_half_are_dropped(amps: float, whole: int) -> None:
    assert whole_a(amps) == whole


@pytest.mark.parametrize(
    ("amps", "rating"), [(77.5, 80), (100.4, 100), (100.5, 110), (122, 125), (151, 175)]
)
def test_next_standard_rating(amps: float, rating: float) -> None:
    assert next_rating_a(amps) == rating


def test_beyond_the_largest_rating() -> None:
    with pytest.raises(InputError, match="largest standard rating"):
        next_rating_a(7000)


def test_a_one_family_service_has_at_least_100_a() -> None:
    assert service_rating_a(57.0, "2017", one_family=True) == 100.0
    assert service_rating_a(57.0, "2017", one_family=False) == 60.0


@pytest.mark.parametrize(
    ("rating", "copper", "aluminium"),
    [
        # Table 310.12 of the 2020 edition, read on a distributor's reference page.
        (100, "4 AWG", "2 AWG"),
        (110, "3 AWG", "1 AWG"),
        (125, "2 AWG", "1/0 AWG"),
        (150, "1 AWG", "2/0 AWG"),
        (175, "1/0 AWG", "3/0 AWG"),
        (200, "2/0 AWG", "4/0 AWG"),
        (225, "3/0 AWG", "250 kcmil"),
        (250, "4/0 AWG", "300 kcmil"),
        (300, "250 kcmil", "350 kcmil"),
        (350, "350 kcmil", "500 kcmil"),
        (400, "400 kcmil", "600 kcmil"),
    ],
)
def test_dwelling_conductors_agree_with_the_table(
    rating: float, copper: str, aluminium: str
) -> None:
    found = dwelling_conductor(rating, "Cu", "2020")
    assert found.size == copper
    assert found.least_a == pytest.approx(0.83 * rating)
    assert dwelling_conductor(rating, "Al", "2020").size == aluminium


def test_large_sizes_are_marked_as_from_memory() -> None:
    assert "from memory" in dwelling_conductor(400, "Cu", "2023").value.mark("2023")
    assert dwelling_conductor(100, "Cu", "2023").value.mark("2023") == ""


@pytest.mark.parametrize(("rating", "material"), [(60, "Cu"), (600, "Cu"), (100, "Fe")])
def test_outside_the_83_percent_rule(rating: float, material: str) -> None:
    with pytest.raises(InputError):
        dwelling_conductor(rating, material, "2020")


def test_lighting_circuits_round_up_and_no_further() -> None:
    assert lighting_circuits(4500, 120, 15) == 3
    assert lighting_circuits(3600, 120, 15) == 2
