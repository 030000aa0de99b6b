"""A log read in stretches of any length gives what it gives as a whole."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.series import ReadOptions
from loadlib.errors import DataError
from loadlib.readers.clamp_log import ClampLogReader, slots
from loadlib.readers.clamp_log.checks import Stuck
from loadlib.readers.delimited import text as pieces
from loadlib.readers.gaps import Gaps

# Around both changes of clocks in New York in 2026, and far from them.
STARTS = (
    "2026-01-05T00:00:00",
    "2026-03-08T06:58:00",
    "2026-11-01T04:59:00",
    "2026-11-01T05:58:00",
    "1979-12-31T23:59:00",
)
ZONES = ("Etc/UTC", "America/New_York")
VALUES = st.one_of(st.integers(0, 9).map(str), st.just(""))
ODD = ("-3", "900", "x")
REGULAR = st.tuples(st.sampled_from((1, 60, 900, 1000)), st.integers(1, 60)).map(
    lambda pair: [pair[0]] * pair[1]
)
UNEVEN = st.lists(st.sampled_from((1, 1, 1, 0, 2, -1, -5, 7000)), min_size=1, max_size=60)


def outcome(path: Path, zone: str) -> tuple[object, ...]:
    try:
        result = ClampLogReader().read(path, ReadOptions(timezone=zone))
    except DataError as wrong:
        return ("refused", wrong.message, wrong.line, wrong.hint)
    series = [
        (one.place, one.start_s, one.step_s, one.notes, one.mean_w.tobytes())
        for one in result.series
    ]
    return ("read", series, result.notes)


def local_texts(start: str, steps: Sequence[int], zone: str) -> list[str]:
    """What the clock on the wall shows, from a moment in UTC on."""
    at = datetime.fromisoformat(f"{start}+00:00")
    moments = [at + timedelta(seconds=int(s)) for s in np.cumsum([0, *steps])]
    return [f"{m.astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M:%S}" for m in moments]


@given(
    start=st.sampled_from(STARTS),
    zone=st.sampled_from(ZONES),
    steps=st.one_of(REGULAR, UNEVEN),
    values=st.lists(st.tuples(VALUES, VALUES), min_size=61, max_size=61),
    odd=st.one_of(st.none(), st.tuples(st.integers(0, 60), st.sampled_from(ODD))),
    chunk=st.sampled_from((60, 300)),
)
@settings(max_examples=200, deadline=None)
def test_stretches_give_what_the_whole_gives(
    start: str,
    zone: str,
    steps: list[int],
    values: list[tuple[str, str]],
    odd: tuple[int, str] | None,
    chunk: int,
) -> None:
    if odd is not None:
        values[odd[0]] = (odd[1], "7")
    texts = local_texts(start, steps, zone)
    lines = [f"{t},{a},{b}" for t, (a, b) in zip(texts, values, strict=False)]
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        path = Path(folder) / "log.csv"
        path.write_text("\n".join(["time,leg A (A),leg B (W)", *lines]) + "\n", "utf-8")
        whole = outcome(path, zone)
        patch.setattr(pieces, "_CHUNK", chunk)
        cut = outcome(path, zone)
    # Of two faults, the one that a stretch comes upon first is named.
    assert cut == whole or (odd is not None and cut[0] == whole[0] == "refused")


@given(
    start=st.sampled_from(STARTS[:4]),
    zone=st.sampled_from(ZONES),
    step=st.sampled_from((20, 60, 300)),
    missing=st.sets(st.integers(1, 298), max_size=5),
    chunk=st.sampled_from((100, 700, 1 << 20)),
)
@settings(max_examples=100, deadline=None)
def test_every_value_stands_at_its_moment(
    start: str, zone: str, step: int, missing: set[int], chunk: int
) -> None:
    """Python's zoneinfo writes the local stamps; also through a change of the clock.

    Rows missing within the hour that runs twice leave open which pass the others belong to,
    so rows are missing only where the clock does not change.
    """
    if zone != "Etc/UTC" and not start.startswith("2026-01"):
        missing = set()
    texts = local_texts(start, [step] * 299, zone)
    lines = [f"{text},{k}" for k, text in enumerate(texts) if k not in missing]
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        path = Path(folder) / "log.csv"
        path.write_text("\n".join(["time,whole (W)", *lines]) + "\n", "utf-8")
        patch.setattr(pieces, "_CHUNK", chunk)
        patch.setattr(slots, "_SETTLE_ROWS", 20)
        patch.setattr(slots, "_LONGEST_FILL", 2)
        (one,) = ClampLogReader().read(path, ReadOptions(timezone=zone)).series
    assert one.start_s == int(datetime.fromisoformat(f"{start}+00:00").timestamp())
    wanted = np.arange(300.0)
    wanted[list(missing)] = np.nan
    np.testing.assert_array_equal(one.mean_w, wanted)


@given(
    values=st.lists(st.sampled_from((0.0, 1.0, np.nan)), min_size=1, max_size=40),
    cut=st.integers(1, 8),
)
@settings(max_examples=200, deadline=None)
def test_stuck_values_and_gaps_are_those_of_counting(values: list[float], cut: int) -> None:
    longest = run = 1
    for before, value in pairwise(values):
        run = run + 1 if value == before else 1
        longest = max(longest, run)
    stuck, gaps = Stuck("leg A", 1), Gaps(0, 60)
    for first in range(0, len(values), cut):
        part = np.array(values[first : first + cut])
        stuck.take(part, follows=True)
        if not np.isnan(part).all():  # a stretch without values is not given at all
            gaps.take(60 * first, part)
    assert stuck.longest == longest
    there = np.flatnonzero(~np.isnan(values))
    within = values[: (there[-1] // cut + 1) * cut] if there.size else []
    missing = int(np.isnan(within).sum())
    runs = sum(
        bool(np.isnan(value)) and not (k and np.isnan(within[k - 1]))
        for k, value in enumerate(within)
    )
    notes = gaps.notes(str)
    if not missing:
        assert notes == []
        return
    assert notes[0].startswith(
        f"{missing} of {len(within)} slots missing in {runs} gap{'s' if runs > 1 else ''}, "
    )
