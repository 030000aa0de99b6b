"""Rows read from their bytes at once: the same as text by text, or not at all."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.errors import InputError
from loadlib.readers.delimited.quick import PlainTable
from loadlib.readers.delimited.stamps import Stamps

FIRST = datetime(2023, 12, 31, 22, 30)
FORMS = (
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M:%S",
    "%Y-%m-%dT%H:%M:%SZ",
    "%Y-%m-%d %H:%M-05:00",
    "%Y/%m/%d %H:%M",
    "%m/%d/%Y %H:%M:%S",
    "%d.%m.%Y %H:%M",
    "%-m/%-d/%Y %-H:%M:%S",
    "%-d/%-m/%y %-H:%M",
)


@st.composite
def tables(draw: st.DrawFn) -> tuple[str, list[str], list[datetime], list[str]]:
    """Rows of a stamp, a note and a number; stamps in any order, sometimes in a second form."""
    steps = draw(st.lists(st.integers(0, 60 * 24 * 40), min_size=1, max_size=30))
    moments = [FIRST + timedelta(minutes=step) for step in steps]
    decimals = draw(st.integers(0, 6))
    values = [f"{draw(st.floats(-9999, 9999)):.{decimals}f}" for _ in range(len(moments))]
    form = draw(st.sampled_from(FORMS))
    stamps = [f"{moment:{form}}" for moment in moments]
    if draw(st.booleans()):
        stamps[-1] = f"{moments[-1]:{draw(st.sampled_from(FORMS))}}"
    rows = [f"{stamp},x,{value}" for stamp, value in zip(stamps, values, strict=True)]
    return "\n".join(rows), stamps, moments, values


def told(stamps: Stamps) -> tuple[list[int], list[bool]] | str:
    try:
        seconds, utc, _ = stamps.seconds(False)
    except InputError as wrong:
        return wrong.message
    return seconds.tolist(), utc.tolist()


@given(tables())
@settings(max_examples=300, deadline=None)
def test_the_same_as_text_by_text(
    table: tuple[str, list[str], list[datetime], list[str]],
) -> None:
    text, cells, _, values = table
    rows = PlainTable.of(text, ",", 3)
    assert rows is not None
    quick, slow = Stamps(cells[:1], separate=False), Stamps(cells[:1], separate=False)
    if quick.take_plain(rows, 0):
        slow.take(cells)
        assert told(quick) == told(slow)
        assert quick.has_clock
    numbers = rows.numbers(2)
    if numbers is None:  # a longest number that reaches before the first row's
        assert len(values[0]) < max(map(len, values))
    else:
        assert np.array_equal(numbers, [float(value) for value in values])


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_read_quickly_and_right(form: str) -> None:
    moments = [FIRST + timedelta(minutes=7 * k, seconds=0) for k in range(2000)]
    cells = [f"{moment:{form}}" for moment in moments]
    rows = PlainTable.of("\n".join(f"{cell};1" for cell in cells), ";", 2)
    assert rows is not None
    stamps = Stamps(cells[:5], separate=False)
    assert stamps.is_plain
    assert stamps.take_plain(rows, 0)
    seconds, utc, _ = stamps.seconds(form[1:3] in ("d.", "-d"))
    shift_s = 18_000 if form.endswith("05:00") else 0
    assert seconds.tolist() == [
        int(moment.replace(tzinfo=UTC).timestamp()) + shift_s for moment in moments
    ]
    assert set(utc.tolist()) == {form.endswith(("Z", "00"))}


def test_moments_of_the_epoch_in_seconds_and_milliseconds() -> None:
    for scale in (1, 1000):
        cells = [str((1_767_571_200 + k) * scale) for k in range(50)]
        rows = PlainTable.of("\n".join(f"{cell},1" for cell in cells), ",", 2)
        stamps = Stamps(cells[:3], separate=False)
        assert rows is not None
        assert stamps.take_plain(rows, 0)
        seconds, utc, _ = stamps.seconds(None)
        assert seconds.tolist() == list(range(1_767_571_200, 1_767_571_250))
        assert utc.all()


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
        "2024-01-31 12:00Z,0.250",
        "2024-01-31  2:00,0.250",
        "24-01-31 12:00,0.250",
        "12:00,0.250",
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
    def taken(text: str) -> bool:
        rows = PlainTable.of(text, ",", 2)
        stamps = Stamps(["2024-01-31 12:00"], separate=False)
        return rows is not None and rows.numbers(1) is not None and stamps.take_plain(rows, 0)

    assert taken(f"{ROW}\n{ROW}")
    assert not taken(f"{ROW}\n{row}\n{ROW}")


def test_cells_of_other_lines_make_no_row() -> None:
    """As many delimiters as there should be, but not in each line."""
    assert PlainTable.of(f"{ROW},1\n{ROW[:16]}0.250", ",", 2) is None


def test_numbers_without_decimals_and_below_zero() -> None:
    text = "2024-01-31 12:00,-7\n2024-01-31 12:15,1200\n2024-01-31 12:30,0"
    rows = PlainTable.of(text, ",", 2)
    assert rows is not None
    found = rows.numbers(1)
    assert found is not None
    assert found.tolist() == [-7.0, 1200.0, 0.0]
