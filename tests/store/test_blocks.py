"""Blocks of float32 values by UTC month."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.errors import DataError
from loadlib.store import blocks


@given(st.lists(st.floats(width=32), max_size=300))
@settings(max_examples=200, deadline=None)
def test_round_trip_is_exact_within_float32(values: list[float]) -> None:
    given_w = np.array(values, dtype=np.float32)
    read_w = blocks.unpack(blocks.pack(given_w), given_w.size)
    assert read_w.tobytes() == given_w.tobytes()


@given(
    start_s=st.integers(0, 4_000_000_000),
    step_s=st.integers(1, 86_400),
    slots=st.integers(0, 40_000),
)
@settings(max_examples=100, deadline=None)
def test_every_slot_is_in_the_month_in_which_it_starts(
    start_s: int, step_s: int, slots: int
) -> None:
    end = 0
    months = []
    for month, part in blocks.month_slices(start_s, step_s, slots):
        assert part.start == end
        assert part.stop > part.start
        for slot in (part.start, part.stop - 1):
            at = datetime.fromtimestamp(start_s + slot * step_s, UTC)
            assert at.year * 100 + at.month == month
        end = part.stop
        months.append(month)
    assert end == slots
    assert months == sorted(set(months))


def test_a_year_of_quarter_hours_is_far_below_a_megabyte() -> None:
    rng = np.random.default_rng(3)
    year_w = rng.gamma(2.0, 400.0, 35_040).astype(np.float32)  # all 24 bits of noise: the worst
    assert sum(len(blocks.pack(part)) for part in np.array_split(year_w, 12)) < 150_000


@pytest.mark.parametrize(
    "packed",
    [b"", b"\x01", b"\x07abc", blocks.pack(np.ones(4, np.float32))[:-3], b"\x01junk"],
)
def test_damage_is_named(packed: bytes) -> None:
    with pytest.raises(DataError, match="damaged"):
        blocks.unpack(packed, 4)


def test_a_block_never_swells_beyond_its_slots() -> None:
    bomb = blocks.pack(np.zeros(5_000_000, np.float32))
    with pytest.raises(DataError, match="damaged"):
        blocks.unpack(bomb, 4)


def test_a_long_month_is_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blocks, "MOST_SLOTS", 1000)
    cut = list(blocks.month_slices(1_767_225_600, 60, 2500))
    assert [(month, part.start, part.stop) for month, part in cut] == [
        (202601, 0, 1000),
        (202601, 1000, 2000),
        (202601, 2000, 2500),
    ]
