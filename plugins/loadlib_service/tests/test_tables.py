"""Editions, section numbers and table values with their standing."""

from __future__ import annotations

import pytest

from loadlib import InputError
from loadlib_service.tables import (
    EDITIONS,
    Value,
    check_edition,
    constant,
    count_row,
    has_constant,
    percent,
    rows,
    section,
    standard_ratings_a,
)

TABLES = (
    "conductors",
    "constants",
    "cooking",
    "diversity_230",
    "dryers",
    "group_demand",
    "motor_currents",
    "multifamily",
    "ratings",
    "sections",
)
OBTAINED = {"read_in_source", "cross_checked_by_two_pages", "derived_from_rule", "from_memory"}


@pytest.mark.parametrize("edition", [None, "", "  "])
def test_the_edition_must_be_chosen(edition: str | None) -> None:
    with pytest.raises(InputError, match="no edition") as caught:
        check_edition(edition)
    assert "2017, 2020, 2023" in (caught.value.hint or "")


def test_2026_is_refused_with_the_reason() -> None:
    with pytest.raises(InputError, match="Article 120") as caught:
        check_edition("2026")
    assert "2023" in (caught.value.hint or "")


def test_an_unknown_edition_is_refused() -> None:
    with pytest.raises(InputError, match="edition 2019"):
        check_edition(2019)


@pytest.mark.parametrize(
    ("topic", "numbers"),
    [
        # Section numbers that moved between the editions.
        ("lighting_unit", ("220.12 / Table 220.12", "220.14(J)", "220.41")),
        ("lighting_demand", ("220.42 / Table 220.42",) * 2 + ("220.45 / Table 220.45",)),
        ("dwelling_conductors", ("310.15(B)(7)", "310.12", "310.12")),
        ("ems", ("Article 750", "Article 750", "220.70")),
        ("measured", ("220.87",) * 3),
    ],
)
def test_section_numbers_follow_the_edition(topic: str, numbers: tuple[str, ...]) -> None:
    assert tuple(section(topic, edition).number for edition in EDITIONS) == numbers


@pytest.mark.parametrize("name", TABLES)
def test_every_row_says_how_it_was_obtained_and_from_where(name: str) -> None:
    for row in rows(name):
        assert row["obtained"] in OBTAINED, row
        assert row["source"], row
        assert None not in row.values(), row


@pytest.mark.parametrize("name", ["cooking", "dryers", "multifamily"])
def test_count_tables_have_no_hole(name: str) -> None:
    least = 3 if name == "multifamily" else 1
    for count in range(least, 200):
        row = count_row(name, count)
        assert int(row["from_count"]) <= count
    with pytest.raises(InputError, match="no row"):
        count_row(name, least - 1)


@pytest.mark.parametrize(
    ("name", "column"),
    [
        ("cooking", "column_a_percent"),
        ("cooking", "column_b_percent"),
        ("dryers", "percent"),
        ("multifamily", "percent"),
    ],
)
def test_factors_fall_with_the_number(name: str, column: str) -> None:
    factors = [float(row[column]) for row in rows(name)]
    assert factors == sorted(factors, reverse=True)


def test_a_value_from_memory_is_marked() -> None:
    known = Value(1.0, "Table X, row 1", "read_in_source", ("2017",))
    assert known.mark("2017") == ""
    assert "taken as unchanged in 2023" in known.mark("2023")
    assert "from memory" in Value(1.0, "Table X, row 2", "from_memory", ()).mark("2017")


def test_values_that_came_in_later() -> None:
    assert [has_constant("evse_floor_va", e) for e in EDITIONS] == [False, False, True]
    assert [has_constant("appliance_floor_va", e) for e in EDITIONS] == [False, True, True]
    assert constant("dryer_floor_va", "2020").amount == 5000.0


def test_standard_ratings_rise() -> None:
    ratings = standard_ratings_a()
    assert ratings == tuple(sorted(set(ratings)))
    assert {15, 90, 100, 110, 125, 150, 200, 400} <= set(ratings)


def test_percent() -> None:
    assert [percent(x) for x in (0.35, 1.25, 0.475)] == ["35 %", "125 %", "47.5 %"]
