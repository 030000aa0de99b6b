"""Reading of usage files: ratios to a floor in the same run, and peak memory.

    python tests/bench/read_speed.py

Hold: one year of 15-min ESPI XML (35,040 readings) into the store at most 1.5 times a bare
XMLParser target that only collects the values, with a peak at most 60 MiB above the
interpreter and flat for ten times the file; one million rows of delimited text at most 4
times polars reading the same file with its dates parsed (without them, its text column is
left as text: printed for information). Warm, imports excluded; medians of alternating runs.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path

import polars as pl

from loadlib.core.household import House
from loadlib.core.series import ReadOptions
from loadlib.readers import read_usage
from loadlib.store import houses
from loadlib.store.database import open_database
from loadlib.store.imports import store_result

ATOM = "http://www.w3.org/2005/Atom"
ESPI = "http://naesb.org/espi"
VALUE = f"{{{ESPI}}}value"
DAYS = 365
ROWS = 1_000_000
START_S = 1_672_531_200
ROUNDS = 9
INTO_STORE = (
    "from loadlib.readers import read_usage\nfrom loadlib.store.database import open_database\n"
    "from loadlib.store.imports import store_result\n"
)


class Values:
    """The floor: a parser target that collects the values and nothing else."""

    def __init__(self) -> None:
        self.values: list[int] = []
        self._parts: list[str] | None = None

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self._parts = [] if tag == VALUE else None

    def data(self, text: str) -> None:
        if self._parts is not None:
            self._parts.append(text)

    def end(self, tag: str) -> None:
        if self._parts is not None:
            self.values.append(int("".join(self._parts)))
            self._parts = None

    def close(self) -> list[int]:
        return self.values


def floor_xml(path: Path) -> int:
    """Readings found by the bare target."""
    parser = ET.XMLParser(target=Values())
    with path.open("rb") as stream:
        while chunk := stream.read(1 << 16):
            parser.feed(chunk)
    return len(parser.close())


def write_xml(path: Path, days: int, pad: str = "\n          ") -> None:
    """A feed with one block a day, ``pad`` before each element of a reading."""
    with path.open("w", encoding="utf-8") as out:
        out.write(
            f'<?xml version="1.0" encoding="UTF-8"?><feed xmlns="{ATOM}"><entry>'
            '<link rel="self" href="ReadingType/1"/><content>'
            f'<ReadingType xmlns="{ESPI}"><commodity>1</commodity><flowDirection>1</flowDirection>'
            "<powerOfTenMultiplier>0</powerOfTenMultiplier><uom>72</uom></ReadingType>"
            "</content></entry>"
        )
        for day in range(days):
            begin = START_S + day * 86_400
            out.write(
                '\n<entry><link rel="self" '
                f'href="UsagePoint/1/MeterReading/1/IntervalBlock/{day}"/><content>'
                f'<IntervalBlock xmlns="{ESPI}"><interval><duration>86400</duration>'
                f"<start>{begin}</start></interval>"
            )
            for slot in range(96):
                out.write(
                    f"{pad}<IntervalReading>{pad}<timePeriod>{pad}<duration>900</duration>{pad}"
                    f"<start>{begin + slot * 900}</start>{pad}</timePeriod>{pad}"
                    f"<value>{(day * 96 + slot) * 7919 % 1500}</value>{pad}</IntervalReading>"
                )
            out.write("</IntervalBlock></content></entry>")
        out.write("</feed>")


def write_table(path: Path) -> None:
    """One reading a minute."""
    first = datetime(2022, 1, 1)
    with path.open("w", encoding="utf-8") as out:
        out.write("timestamp,kW\n")
        for at in range(ROWS):
            out.write(f"{first + timedelta(minutes=at)},{at * 7919 % 3000 / 1000:.3f}\n")


def alternate(works: Sequence[Callable[[], object]]) -> list[float]:
    """Median seconds of each piece of work, taken in turn after one warm-up. [s]"""
    times: list[list[float]] = [[] for _ in works]
    for turn in range(ROUNDS + 1):
        for work, taken in zip(works, times, strict=True):
            begin = time.perf_counter()
            work()
            if turn:
                taken.append(time.perf_counter() - begin)
    return [statistics.median(taken) for taken in times]


def bench_xml(folder: Path) -> None:
    """A year of quarter hours into the store, against the bare target."""
    path = folder / "year.xml"
    database = open_database(folder / "store.db")
    for layout, pad in (("indented", "\n          "), ("without white space", "")):
        write_xml(path, DAYS, pad)
        fresh = iter([f"House {layout} {number}" for number in range(ROUNDS + 1)])

        took: list[float] = []

        def into_store(names: Iterator[str] = fresh, took: list[float] = took) -> None:
            name = next(names)
            houses.create(House(name), database)
            begin = time.perf_counter()
            result, reader = read_usage(path)
            report = store_result(name, result, reader=reader, db=database)
            took.append(time.perf_counter() - begin)
            if report.added != DAYS * 96:
                raise RuntimeError(f"{report.added} readings stored")

        bare, read, _ = alternate([lambda: floor_xml(path), lambda: read_usage(path), into_store])
        stored = statistics.median(took[1:])
        print(f"ESPI XML, {DAYS * 96} readings, {layout}, {path.stat().st_size / 2**20:.1f} MiB")
        print(f"  bare target           {bare * 1000:7.1f} ms")
        print(f"  read                  {read * 1000:7.1f} ms   {read / bare:.2f} x")
        print(
            f"  read and stored       {stored * 1000:7.1f} ms   {stored / bare:.2f} x   (hold 1.5)"
        )


def bench_table(folder: Path) -> None:
    """A million rows against polars."""
    path = folder / "rows.csv"
    write_table(path)
    options = ReadOptions(timezone="America/New_York")
    dates, plain, ours = alternate(
        [
            lambda: pl.read_csv(path, try_parse_dates=True),
            lambda: pl.read_csv(path),
            lambda: read_usage(path, options),
        ]
    )
    print(f"delimited text, {ROWS} rows, {path.stat().st_size / 2**20:.1f} MiB")
    print(f"  polars, dates parsed  {dates * 1000:7.1f} ms")
    print(f"  polars, text as text  {plain * 1000:7.1f} ms   {ours / plain:.2f} x of it")
    print(f"  read to a series      {ours * 1000:7.1f} ms   {ours / dates:.2f} x   (hold 4)")


def bench_memory(folder: Path) -> None:
    """Peak of a process that reads one year and ten, above a bare interpreter."""
    if not Path("/proc/self/status").exists():
        print("peak memory: left out, needs /proc")
        return
    year, decade = folder / "year.xml", folder / "decade.xml"
    write_xml(year, DAYS)
    write_xml(decade, DAYS * 10)
    bare = _peak_mib("pass")
    reading = "from loadlib.readers import read_usage, espi\n"
    imports = _peak_mib(reading)
    one = _peak_mib(f"{reading}read_usage({str(year)!r})")
    ten = _peak_mib(f"{reading}read_usage({str(decade)!r})")
    database = folder / "memory.db"
    houses.create(House("h"), open_database(database))
    opened = _peak_mib(f"{INTO_STORE}db = open_database({str(database)!r})")
    stored = _peak_mib(
        f"{INTO_STORE}db = open_database({str(database)!r})\n"
        f"store_result('h', read_usage({str(year)!r})[0], db=db)"
    )
    print("peak memory above a bare interpreter")
    print(f"  reader imported       {imports - bare:7.1f} MiB (numpy among it)")
    print(f"  one year read         {one - bare:7.1f} MiB   (hold 60)")
    print(
        f"  ten years read        {ten - bare:7.1f} MiB   +{ten - one:.1f}: three numbers a reading"
    )
    print(f"  store opened          {opened - bare:7.1f} MiB")
    print(f"  one year, into it     {stored - bare:7.1f} MiB   (hold 60)")


def _peak_mib(code: str) -> float:
    """Peak resident memory of a child process. [MiB]"""
    # Not getrusage: a child starts with the peak of the process that made it.
    tell = "print(next(l for l in open('/proc/self/status') if l.startswith('VmHWM')).split()[1])"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{tell}"], capture_output=True, text=True, check=True
    )
    return int(done.stdout) / 1024


def main() -> None:
    """Print everything."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bench_xml(folder)
        bench_table(folder)
        bench_memory(folder)


if __name__ == "__main__":
    main()
