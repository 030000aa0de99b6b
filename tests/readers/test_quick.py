"""Rows read from their bytes at once: the same numbers as text by text, or not at all."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.readers.delimited.quick import iso_rows

FIRST = datetime(2023, 12, 31, 22, 30)


@st.composite
def tables(draw: st.DrawFn) -> tuple[str, list[datetime], list[str]]:
    """Rows of a stamp, a note and a number; stamps in any order."""
    steps = draw(st.lists(st.integers(0, 60 * 24 * 40), min_size=1, max_size=30))
    moments = [FIRST + timedelta(minutes=step) for step in steps]
    decimals = draw(st.integers(0, 6))
    values = [f"{draw(st.floats(-9999, 9999)):.{decimals}f}" for _ in range(len(moments))]
    form = draw(st.sampled_from(["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S"]))
    rows = [f"{moment:{form}},x,{value}" for moment, value in zip(moments, values, strict=True)]
    return "\n".join(rows), moments, values


@given(tables())
@settings(max_examples=200, deadline=None)
def test_the_same_as_text_by_text(table: tuple[str, list[datetime], list[str]]) -> None:
    text, moments, values = table
    found = iso_rows(text, ",", 3, 0, [2])
    if found is None:  # a longest number that reaches before the first row's
        assert len(values[0]) < max(map(len, values))
        return
    stamp_s, numbers = found
    assert stamp_s.tolist() == [int(m.replace(tzinfo=UTC).timestamp()) for m in moments]
    assert np.array_equal(numbers[2], [float(value) for value in values])


ROW = "2024-01-31 12:00,0.250"


@pytest.mark.parametrize(
    "row",
    [
        "2024-02-30 12:00,0.250",
        "2024-01-31 24:00,0.250",
        "2024-01-31 12:60,0.250",
        "2024-01-31 1a:00,0.250",
        "2024/01/31 12:00,0.250",
        "2024-01-31_12:00,0.250",
        "2024-01-31 12.00,0.250",
        "2024-01-31 12:00:00,0.250",
        "2024-01-31 12:00,",
        "2024-01-31 12:00,-",
        "2024-01-31 12:00,.",
        "2024-01-31 12:00,0.25",
        "2024-01-31 12:00,1e-10",
        "2024-01-31 12:00,0,250",
        "2024-01-31 12:00 0.250",
        "2024-01-31 12:00,+0.25",
        "2024-01-31 12:00,nan",
        "2024-01-31 12:00,0.2 0",
        "2024-01-31 12:00,0.25é",
        "",
    ],
)
def test_anything_else_is_left_to_the_general_way(row: str) -> None:
    assert iso_rows(f"{ROW}\n{ROW}", ",", 2, 0, [1]) is not None
    assert iso_rows(f"{ROW}\n{row}\n{ROW}", ",", 2, 0, [1]) is None


def test_cells_of_other_lines_make_no_row() -> None:
    """As many delimiters as there should be, but not in each line."""
    assert iso_rows(f"{ROW},1\n{ROW[:16]}0.250", ",", 2, 0, [1]) is None


def test_numbers_without_decimals_and_below_zero() -> None:
    text = "2024-01-31 12:00,-7\n2024-01-31 12:15,1200\n2024-01-31 12:30,0"
    found = iso_rows(text, ",", 2, 0, [1])
    assert found is not None
    assert found[1][1].tolist() == [-7.0, 1200.0, 0.0]
