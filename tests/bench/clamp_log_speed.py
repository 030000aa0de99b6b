"""A 30-day log of two legs at one second (2.6 million rows): read, stored and stepped.

Floor: polars reading the same file into columns, times parsed. Printed: seconds, the ratio to
the floor, and the peak memory of a process of its own over an idle one for 10, 30 and 90 days,
for a log without a fault and for one with seconds missing.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

DAYS = 30
ROWS = DAYS * 86_400


def write_log(path: Path, rows: int, lost_share: float = 0.0) -> None:
    """A made-up log: refrigerator cycles on one leg, a heater on both, noise, rows lost."""
    rng = np.random.default_rng(1)
    begin = np.datetime64("2026-01-01T00:00:00")
    with path.open("w", encoding="utf-8") as out:
        out.write("time,leg A (A),leg B (A)\n")
        for first in range(0, rows, 86_400):
            at = np.arange(first, min(first + 86_400, rows))
            cycling = ((at % 2400) < 700) * 1.1 + ((at % 2400) < 2) * 7.0
            heater = ((at % 21_600) < 900) * 18.5
            leg_a = 1.5 + cycling + heater + rng.normal(0.0, 0.02, at.size)
            leg_b = 0.8 + heater + rng.normal(0.0, 0.02, at.size)
            stamps = np.datetime_as_string(begin + at.astype("timedelta64[s]"))
            lines = [
                f"{stamp.replace('T', ' ')},{a:.2f},{b:.2f}\n"
                for stamp, a, b in zip(stamps, leg_a, leg_b, strict=True)
            ]
            out.writelines(
                line
                for line, lost in zip(lines, rng.random(at.size) < lost_share, strict=True)
                if not lost
            )


def floor(path: Path) -> float:
    import polars as pl

    started = time.perf_counter()
    pl.read_csv(path, try_parse_dates=True)
    return time.perf_counter() - started


def whole(path: Path, folder: Path) -> tuple[float, float, int]:
    """Seconds to read and store, and to step; and the number of edges found."""
    from loadlib.clamp.cycles import pair_edges
    from loadlib.clamp.steps import find_steps
    from loadlib.core.household import House
    from loadlib.core.series import ReadOptions
    from loadlib.readers.clamp_log import ClampLogReader
    from loadlib.store.database import open_database
    from loadlib.store.houses import create
    from loadlib.store.imports import store_parts
    from loadlib.store.samples import stored_logs

    db = open_database(folder / "bench.sqlite")
    create(House("bench"), db)
    options = ReadOptions(timezone="Etc/GMT+5")
    started = time.perf_counter()
    store_parts("bench", ClampLogReader().read_parts(path, options), db=db)
    stored = time.perf_counter()
    edges = 0
    for log in stored_logs("bench", db):
        steps = find_steps(log.values, float(log.values.step_s))
        pair_edges(steps, log.values, float(log.values.step_s))
        edges += steps.at.size
    done = time.perf_counter()
    return stored - started, done - stored, edges


def peak_mib() -> float:
    """Highest resident memory of this process since it began; what a parent used is not in it."""
    status = Path("/proc/self/status").read_text("ascii")
    line = next(line for line in status.splitlines() if line.startswith("VmHWM"))
    return float(line.split()[1]) / 1024.0


def child(path: str) -> None:
    """Read and step in a process of its own; prints its peak memory over an idle one."""
    idle = peak_mib()
    with tempfile.TemporaryDirectory() as folder:
        whole(Path(path), Path(folder))
    print(peak_mib() - idle)


def timed(log: Path, folder: Path) -> None:
    """Write the best of some runs beside the floor's."""
    base = min(floor(log) for _ in range(3))
    runs = [whole(log, Path(tempfile.mkdtemp(dir=folder))) for _ in range(3)]
    read, stepped, edges = min(runs, key=lambda run: run[0] + run[1])
    total = read + stepped
    print(f"{ROWS:,} rows, {log.stat().st_size / 2**20:.0f} MiB, {edges} edges")
    print(f"floor (polars reads it)  {base:6.2f} s")
    print(f"read and stored          {read:6.2f} s")
    print(f"stepped                  {stepped:6.2f} s")
    print(f"together                 {total:6.2f} s   {total / base:.1f} x floor")


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        log = folder / "log.csv"
        write_log(log, ROWS)
        timed(log, folder)
        for word, lost_share in (("whole", 0.0), ("with gaps", 1e-4)):
            for rows in (ROWS // 3, ROWS, 3 * ROWS):
                write_log(log, rows, lost_share)
                command = [sys.executable, __file__, "--child", str(log)]
                out = subprocess.run(command, capture_output=True, check=True, text=True)
                peak = float(out.stdout)
                print(f"peak memory over idle, {word:<9} {rows:>9,} rows: {peak:.0f} MiB")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--child"]:
        child(sys.argv[2])
    else:
        main()
