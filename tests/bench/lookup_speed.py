"""Cold look-up and ``--help`` against the least program that could do the job.

Floor: a one-command Typer program that opens sqlite3 and runs one FTS5 query on the same
file. Both are started as fresh processes, in turn, so that noise falls on both alike.

    python tests/bench/lookup_speed.py

Hold: look-up at most 1.4 times the floor, ``--help`` at most 1.2 times the floor's.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

RUNS = 21

FLOOR = '''
import sqlite3

import typer

app = typer.Typer(add_completion=False, rich_markup_mode=None)


@app.command()
def main(words: str) -> None:
    """Find one thing."""
    connection = sqlite3.connect({path!r})
    query = "SELECT name FROM category_fts WHERE category_fts MATCH ? ORDER BY rank LIMIT 8"
    for row in connection.execute(query, (words,)):
        print(*row)


app()
'''

LOADLIB = [sys.executable, "-c", "from loadlib.cli import main; main()"]


def seconds(command: Sequence[str], environment: dict[str, str]) -> float:
    """Wall time of one fresh process."""
    started = time.perf_counter()
    subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - started


def compare(
    name: str, ours: Sequence[str], floor: Sequence[str], environment: dict[str, str], hold: float
) -> float:
    """Print the ratio of medians of ``RUNS`` alternating runs each."""
    for command in (ours, floor):
        seconds(command, environment)
    times = [(seconds(ours, environment), seconds(floor, environment)) for _ in range(RUNS)]
    our_s, floor_s = (statistics.median(column) for column in zip(*times, strict=True))
    ratio = our_s / floor_s
    print(
        f"{name}: {ratio:.2f} x the floor (hold {hold}); "
        f"{1e3 * our_s:.0f} ms, floor {1e3 * floor_s:.0f} ms, median of {RUNS}"
    )
    return ratio


def main() -> None:
    """Run both comparisons in a folder of their own."""
    from loadlib.store.database import open_database

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.db"
        open_database(path)
        floor = Path(folder) / "floor.py"
        floor.write_text(FLOOR.format(path=str(path)), encoding="utf-8")
        environment = os.environ | {"LOADLIB_DB": str(path), "XDG_CACHE_HOME": folder}
        least = [sys.executable, str(floor)]
        compare("cold lookup", [*LOADLIB, "lookup", "fridge"], [*least, "fridge"], environment, 1.4)
        compare("--help", [*LOADLIB, "--help"], [*least, "--help"], environment, 1.2)


if __name__ == "__main__":
    main()
