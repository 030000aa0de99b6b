"""Amperes leg by leg."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib_service.dwelling import item
from loadlib_service.legs import leg_lines
from loadlib_service.parts import pieces_of
from loadlib_service.supply import parse_supply

SPLIT = parse_supply("120/240")
loads = st.lists(st.tuples(st.floats(0.5, 20), st.sampled_from(["A", "B"])), max_size=8)


@settings(max_examples=60, deadline=None)
@given(loads)
def test_the_neutral_lies_between_difference_and_sum(found: list[tuple[float, str]]) -> None:
    items = [item(f"i{n}", amps=a, volts=120, legs=leg) for n, (a, leg) in enumerate(found)]
    lines = leg_lines(0.0, 0.0, pieces_of(items), [], SPLIT, "2023")
    on_a = sum(a for a, leg in found if leg == "A")
    on_b = sum(a for a, leg in found if leg == "B")
    legs = [sum(line.legs_a[k] for line in lines) for k in (0, 1)]
    neutral = sum(line.neutral_a for line in lines)
    assert legs == pytest.approx([on_a, on_b])
    assert abs(on_a - on_b) - 1e-9 <= neutral <= on_a + on_b + 1e-9
    assert neutral >= max(on_a, on_b) - 1e-9


def test_a_line_to_line_load_is_on_both_legs_and_not_on_the_neutral() -> None:
    pump = item("well pump", hp=1, volts=230, legs="AB")
    lines = leg_lines(10.4, 5.6, pieces_of([pump]), [pump], SPLIT, "2023")
    assert lines[0].legs_a == (10.0, 10.0)
    assert lines[0].neutral_a == 6.0
    assert lines[1].legs_a == (8.0, 8.0)
    assert lines[1].neutral_a == 0.0
    assert lines[2].legs_a == (2.0, 2.0)
    assert lines[2].neutral_a == 0.0


def test_a_motor_of_unknown_leg_counts_on_every_leg() -> None:
    motor = item("pump", amps=8, volts=120, motor=True)
    fixed = item("lamp", amps=2, volts=120, legs="A")
    lines = leg_lines(0.0, 0.0, pieces_of([fixed]), [motor, fixed], SPLIT, "2023")
    assert lines[-1].legs_a == (2.0, 2.0)
    assert lines[-1].neutral_a == 2.0
