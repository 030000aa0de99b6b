"""Readers meet bytes that nobody meant: only the exceptions of the error tree come out."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import LoadlibError
from loadlib.readers import built_in_readers, read_usage
from loadlib.readers.bills import parse_bills
from loadlib.readers.espi.parse import parse_feed

DATA = Path(__file__).parents[1] / "data" / "espi"
SEED_FEED = (DATA / "electric_containerized.xml").read_bytes()
SEED_TABLE = (
    "Meter,Date,Time,kWh,Cost\n"
    + "".join(f"A,2023-03-{d:02d},{h:02d}:00,0.{h:02d},$1\n" for d in (11, 12) for h in range(24))
).encode()
MONTHS = "Jan,Feb,Mar,Apr,May,Jun,Jul,Aug,Sep,Oct,Nov,Dec"
SEED_LAYOUTS = tuple(
    text.encode()
    for text in (
        SEED_TABLE.decode(),
        f"Year,{MONTHS}\n2022,{','.join(['600'] * 12)}\n2023,{','.join(['5,0'] * 12)}\n",
        "Year;Month;Day;Hour;Usage (kWh)\n"
        + "".join(f"2023;3;{d};{h};0,{h:02d}\n" for d in (11, 12) for h in range(1, 25)),
        "Date,Period,Usage,Unit\n"
        + "".join(f"05/11/2023,{n},0.{n:02d},kWh\n" for n in range(1, 51)),
        "Bill Date,Days,kWh,Cost\n01/18/2023,31,912,$1\n02/16/2023,29,850,$2\n",
        "time;kWh\n" + "".join(f"2023-11-05 {h:02d}:00 EST;0,{h}\n" for h in range(24)),
        "20231105," + ",".join(["0.5"] * 48) + ",A\n20231106," + ",".join(["0.6"] * 48) + ",A\n",
    )
)
OPTIONS = ReadOptions(timezone="America/New_York")
PIECES = (
    b"<", b">", b"</", b"<!--", b"-->", b"<![CDATA[", b"]]>", b"&#0;", b"&x;", b"\0", b"\xff",
    b"<!DOCTYPE a>", b"9" * 400, b"-", b"1e999", b"</IntervalBlock>", b"<IntervalBlock>",
    b"<value>", b"</IntervalReading>", b",", b";", b'"', b"\n", b"\r", b"24:00", b"00/00/0000",
    b"2023-02-30", b"nan", b"Infinity", b"\xef\xbb\xbf", b"Total", b"now", b"\x1f", b"_",
)  # fmt: skip


@st.composite
def mutations(draw: st.DrawFn, seed: bytes) -> bytes:
    """The seed with some stretches cut out, doubled or replaced."""
    data = bytearray(seed)
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(data)))
        to = min(len(data), at + draw(st.integers(0, 80)))
        kind = draw(st.sampled_from(("cut", "double", "piece", "bytes")))
        if kind == "cut":
            del data[at:to]
        elif kind == "double":
            data[at:at] = data[at:to]
        elif kind == "piece":
            data[at:to] = draw(st.sampled_from(PIECES))
        else:
            data[at:to] = draw(st.binary(max_size=12))
    return bytes(data)


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("fuzz") / "usage.bin"


def is_sound(result: ReadResult) -> bool:
    """What comes out of a mutilated file is still finite, on a grid and in order."""
    series = all(
        s.step_s > 0 and s.mean_w.ndim == 1 and not np.isinf(s.mean_w).any() for s in result.series
    )
    bills = all(b.first_day < b.day_after and np.isfinite(b.energy_wh) for b in result.bills)
    return series and bills


def attempt(read: Callable[[], ReadResult]) -> None:
    try:
        result = read()
    except LoadlibError:
        return
    assert is_sound(result)


@settings(max_examples=200, deadline=None)
@given(data=mutations(SEED_FEED))
def test_mutilated_feeds(file: Path, data: bytes) -> None:
    file.write_bytes(data)
    attempt(lambda: read_usage(file, OPTIONS, reader="espi")[0])


@settings(max_examples=150, deadline=None)
@given(data=mutations(SEED_FEED))
def test_quick_way_never_differs_from_the_exact(file: Path, data: bytes) -> None:
    file.write_bytes(data)
    outcomes = []
    for quick in (True, False):
        try:
            feed = parse_feed(file, quick=quick)
        except LoadlibError as refused:
            outcomes.append(("refused", type(refused)))
        else:
            read = [(m.start_s, m.duration_s, m.value, m.cost) for m in feed.meters.values()]
            outcomes.append(("read", read))
    assert outcomes[0] == outcomes[1]


@settings(max_examples=200, deadline=None)
@given(data=st.sampled_from(SEED_LAYOUTS).flatmap(mutations))
def test_mutilated_tables(file: Path, data: bytes) -> None:
    file.write_bytes(data)
    for reader in ("delimited", "bills", "temperatures"):
        attempt(lambda name=reader: read_usage(file, OPTIONS, reader=name)[0])


@settings(max_examples=150, deadline=None)
@given(data=st.binary(max_size=400))
def test_any_bytes(file: Path, data: bytes) -> None:
    file.write_bytes(data)
    attempt(lambda: read_usage(file, OPTIONS)[0])
    assert all(0.0 <= r.recognises(data, "x.csv") <= 1.0 for r in built_in_readers())


@settings(max_examples=200, deadline=None)
@given(text=st.text(max_size=80))
def test_any_text_as_a_bill(text: str) -> None:
    attempt(lambda: parse_bills(text))


@settings(max_examples=100, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_any_numbers_come_back(file: Path, seed: int) -> None:
    """What a table holds is what the series holds, whatever the numbers."""
    rng = random.Random(seed)
    values = [round(rng.uniform(0.0, 12.0), rng.randint(0, 6)) for _ in range(48)]
    rows = [f"2023-06-{1 + at // 24:02d} {at % 24:02d}:00,{v}" for at, v in enumerate(values)]
    file.write_text("time,kWh\n" + "\n".join(rows))
    series = read_usage(file, ReadOptions(timezone="Etc/UTC", unit="kWh"))[0].series[0]
    if "dial readings" not in "".join(series.notes):
        assert series.mean_w == pytest.approx([value * 1000.0 for value in values])
