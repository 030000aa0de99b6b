"""Tables 220.54 and 220.55 with their notes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib import InputError
from loadlib_service.cooking import branch_circuit, cooking_demand, dryer_demand

ratings = st.lists(st.integers(1, 27_000).map(float), min_size=1, max_size=70)


def demand_kw(*kw: float, **more: object) -> float:
    return cooking_demand([1000 * k for k in kw], "2017", **more).va / 1000  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("count", "kw"),
    [
        (1, 8),
        (2, 11),
        (5, 20),
        (6, 21),
        (10, 25),
        (25, 40),
        (26, 41),
        (40, 55),
        (41, 55.75),
        (50, 62.5),
        (51, 63.25),
        (60, 70),
        (61, 70.75),
        (100, 100),
    ],
)
def test_column_c_by_number(count: int, kw: float) -> None:
    # NEC 2017 Table 220.55, column C, ranges of 12 kW.
    assert demand_kw(*[12] * count) == pytest.approx(kw)


@pytest.mark.parametrize(
    ("units", "kw"),
    [
        ([3.0], 2.4),  # A, 80 %
        ([3.0] * 10, 14.7),  # A, 49 %
        ([3.0] * 61, 54.9),  # A, 30 %: below column C
        ([3.5], 2.8),  # 3.5 kW is column B
        ([8.75], 7.0),  # 8.75 kW is column B still
        ([8.76], 8.0),  # above it column C
        ([8.0], 6.4),
        ([6.0] * 2, 7.8),  # B, 65 %
        ([6.0] * 5, 13.5),
        ([3.0, 3.0, 6.0], 2 * 3 * 0.75 + 6 * 0.8),  # Note 3, both columns added
    ],
)
def test_columns_a_and_b(units: list[float], kw: float) -> None:
    assert demand_kw(*units) == pytest.approx(kw)


@pytest.mark.parametrize(
    ("rating", "steps"), [(12.4, 0), (12.49, 0), (12.5, 1), (13, 1), (13.5, 2), (27, 15)]
)
def test_note_1_major_fraction(rating: float, steps: int) -> None:
    assert demand_kw(rating) == pytest.approx(8 * (1 + 0.05 * steps))


def test_note_2_takes_smaller_ones_as_12() -> None:
    # (12 + 16) / 2 = 14: two above 12.
    assert demand_kw(9, 16, rule="column C") == pytest.approx(11 * 1.1)


def test_every_permitted_way_is_told_and_the_least_used() -> None:
    found = cooking_demand([3000, 6000, 14000], "2023")
    ways = dict(found.ways)
    # Trainer forum, thread 40564: 2.4 + 4.8 + 8.8 kW by columns; column C for all is less.
    assert ways["Note 3 (columns A and B)"] == pytest.approx(16_000)
    assert ways["column C"] == pytest.approx(14_700)
    assert found.va == pytest.approx(14_700)
    by_note_3 = cooking_demand([3000, 6000, 14000], "2023", rule="note 3")
    assert by_note_3.va == pytest.approx(16_000)


def test_at_or_below_1_75_kw_is_outside_the_table() -> None:
    assert demand_kw(1.75) == 1.75
    assert demand_kw(1.76) == pytest.approx(1.76 * 0.8)
    assert demand_kw(1.5, 12) == pytest.approx(9.5)
    assert cooking_demand([], "2017").va == 0.0


@pytest.mark.parametrize("rating", [0.0, -1.0, math.nan, 27_001.0])
def test_ratings_that_the_table_does_not_cover(rating: float) -> None:
    with pytest.raises(InputError) as caught:
        cooking_demand([12_000.0, rating], "2020")
    assert caught.value.hint


def test_rules_are_checked() -> None:
    with pytest.raises(InputError, match="rule"):
        cooking_demand([12_000], "2017", rule="cheapest")
    with pytest.raises(InputError, match="Note 3 does not apply"):
        cooking_demand([12_000], "2017", rule="note 3")


def test_three_phase_basis() -> None:
    # NEC Annex D, Example D5(a): 20 ranges, 7 between two phases, 14 in the table.
    assert demand_kw(*[12] * 20, three_phase=True) == pytest.approx(43.5)
    assert demand_kw(12, three_phase=True) == 8


@settings(max_examples=60, deadline=None)
@given(ratings)
def test_demand_never_exceeds_the_nameplates_by_much_nor_depends_on_order(
    found: list[float],
) -> None:
    first = cooking_demand(found, "2017")
    assert first.va == pytest.approx(cooking_demand(found[::-1], "2017").va)
    assert 0 < first.va <= max(sum(found), 8000 * len(found) * 1.75) + 1e-6
    assert first.va <= min((va for _, va in first.ways), default=first.va) + 1e-6


@pytest.mark.parametrize(
    ("count", "percent"),
    [
        (1, 100),
        (4, 100),
        (5, 85),
        (6, 75),
        (7, 65),
        (8, 60),
        (9, 55),
        (10, 50),
        (11, 47),
        (12, 46),
        (23, 35),
        (24, 34.5),
        (42, 25.5),
        (43, 25),
        (80, 25),
    ],
)
def test_dryers_by_number(count: int, percent: float) -> None:
    # NEC 2017 Table 220.54.
    assert dryer_demand([5000.0] * count, "2017").va == pytest.approx(50.0 * count * percent)


def test_dryers_on_three_phases() -> None:
    # Ten dryers: four between two phases, eight in the table at 60 %.
    found = dryer_demand([5500.0] * 10, "2020", three_phase=True)
    assert found.va == pytest.approx(8 * 5500 * 0.60 / 2 * 3)
    assert dryer_demand([], "2020").va == 0.0


def test_branch_circuits_note_4() -> None:
    assert branch_circuit(ranges_w=[14_000], edition="2017").va == pytest.approx(8800)
    assert branch_circuit(ovens_w=[6_000], edition="2017").va == 6000
    assert branch_circuit(counter_units_w=[7_000], edition="2017").va == 7000
    # 6 + 4 + 4 = 14 kW as one range: 8.8 kW.
    both = branch_circuit(counter_units_w=[6_000], ovens_w=[4_000, 4_000], edition="2017")
    assert both.va == pytest.approx(8800)
    with pytest.raises(InputError, match="Note 4"):
        branch_circuit(ovens_w=[4_000, 4_000], edition="2017")
    with pytest.raises(InputError):
        branch_circuit(ovens_w=[0.0], edition="2017")
