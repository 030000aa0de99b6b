"""Logs without a missing second take a path of their own: it finds what the general one finds."""

from __future__ import annotations

import tempfile
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError
from loadlib.readers.clamp_log import ClampLogReader, _longest_same
from loadlib.readers.delimited import text as pieces
from loadlib.readers.delimited.stamps import Stamps

# Around the change of clocks in New York on 2026-03-08, and far from it.
STARTS = ("2026-01-05T00:00:00", "2026-03-07T23:58:00", "2026-03-08T01:59:30", "1979-12-31T23:59")
ZONES = ("Etc/UTC", "America/New_York")
VALUES = st.one_of(st.integers(0, 9).map(str), st.just(""))
ODD = ("-3", "900", "x")


def outcome(path: Path, zone: str) -> tuple[object, ...]:
    try:
        return told(ClampLogReader().read(path, ReadOptions(timezone=zone)))
    except DataError as wrong:
        return (wrong.message, wrong.line, wrong.hint)


def told(result: ReadResult) -> tuple[object, ...]:
    series = [
        (one.place, one.start_s, one.step_s, one.notes, one.mean_w.tobytes())
        for one in result.series
    ]
    return (series, result.notes)


@given(
    start=st.sampled_from(STARTS),
    zone=st.sampled_from(ZONES),
    steps=st.one_of(
        st.tuples(st.sampled_from((1, 60, 900, 1000)), st.integers(1, 60)).map(
            lambda pair: [pair[0]] * pair[1]
        ),
        st.lists(st.sampled_from((1, 1, 1, 0, 2, -1, -5)), min_size=1, max_size=60),
    ),
    values=st.lists(st.tuples(VALUES, VALUES), min_size=61, max_size=61),
    odd=st.one_of(st.none(), st.tuples(st.integers(0, 60), st.sampled_from(ODD))),
    chunk=st.sampled_from((60, 300, 1 << 20)),
)
@settings(max_examples=200, deadline=None)
def test_both_paths_find_the_same(
    start: str,
    zone: str,
    steps: list[int],
    values: list[tuple[str, str]],
    odd: tuple[int, str] | None,
    chunk: int,
) -> None:
    at = np.datetime64(start, "s") + np.cumsum([0, *steps]).astype("timedelta64[s]")
    if odd is not None:
        values[odd[0]] = (odd[1], "7")
    lines = [f"{t},{a},{b}" for t, (a, b) in zip(at, values, strict=False)]
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        path = Path(folder) / "log.csv"
        path.write_text("\n".join(["time,leg A (A),leg B (W)", *lines]) + "\n", "utf-8")
        patch.setattr(pieces, "_CHUNK", chunk)
        straight = outcome(path, zone)
        patch.setattr(Stamps, "regular", lambda _: None)
        assert outcome(path, zone) == straight


def test_a_regular_log_does_take_the_path_of_its_own() -> None:
    stamps = Stamps(["2026-01-05 00:00:00"], separate=False)
    stamps.take_seconds(np.arange(1_767_571_200, 1_767_571_300))
    stamps.take_seconds(np.arange(1_767_571_300, 1_767_571_301))
    assert stamps.regular() == range(1_767_571_200, 1_767_571_301)
    stamps.take_seconds(np.arange(1_767_571_302, 1_767_571_303))
    assert stamps.regular() is None


@given(
    values=st.lists(st.sampled_from((0.0, 1.0, np.nan)), min_size=1, max_size=40),
    block=st.integers(1, 8),
)
@settings(max_examples=200, deadline=None)
def test_the_longest_stretch_is_that_of_counting(values: list[float], block: int) -> None:
    longest = run = 1
    for before, value in pairwise(values):
        run = run + 1 if value == before else 1
        longest = max(longest, run)
    assert _longest_same(np.array(values), block) == longest
