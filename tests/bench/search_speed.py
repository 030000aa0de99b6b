"""Warm search in a catalog of 100,000 made-up categories against the bare FTS5 query.

Names are put together from some 12,000 made-up words, used as unevenly as words are (the
n-th most common about 1/n as often), so that common words have tens of thousands of hits
and rare ones a few.

    python tests/bench/search_speed.py

Hold: at most 3 times the bare query (median over words of every frequency); a word with a
slip at most 20 ms (median; the slowest is printed too).
"""

from __future__ import annotations

import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable, Sequence
from itertools import accumulate
from pathlib import Path

from loadlib.store import search_index
from loadlib.store.database import Database, open_database
from loadlib.store.search import search

CATEGORIES = 100_000
WORDS = 12_000
PROBES = 60
BARE = "SELECT rowid FROM category_fts WHERE category_fts MATCH ? ORDER BY rank LIMIT 10"


def made_up_words(rng: random.Random) -> list[str]:
    """Words of two to five syllables, each once."""
    syllables = [a + b + c for a in "bdfglmnprstvw" for b in "aeiou" for c in ("", "n", "r", "l")]
    found: dict[str, None] = {}
    while len(found) < WORDS:
        found["".join(rng.choices(syllables, k=rng.randint(2, 5)))] = None
    return list(found)


def fill(database: Database, words: Sequence[str], rng: random.Random) -> None:
    """Replace the catalog by ``CATEGORIES`` made-up ones, each with two aliases."""
    weights = list(accumulate(1.0 / (rank + 1) for rank in range(len(words))))

    def text() -> str:
        return " ".join(rng.choices(words, cum_weights=weights, k=rng.randint(2, 4)))

    rows = [(f"made_up_{i}", text(), f"{text()}\n{text()}") for i in range(CATEGORIES)]
    with database.bare(write=True) as connection:
        connection.execute("BEGIN IMMEDIATE")
        search_index.drop(connection.execute)
        connection.execute("DELETE FROM category")
        connection.executemany(
            "INSERT INTO category(category, name, alias_text, voltage_v) VALUES (?, ?, ?, 120)",
            rows,
        )
        aliases = [
            (key, alias, alias)
            for key, text in connection.execute("SELECT id, alias_text FROM category").fetchall()
            for alias in text.split("\n")
        ]
        connection.executemany(
            "INSERT OR IGNORE INTO category_alias(category_id, alias, folded) VALUES (?, ?, ?)",
            aliases,
        )
        search_index.create(connection.execute)
        connection.execute("COMMIT")


def milliseconds(run: Callable[[], object], repeat: int = 5) -> float:
    """Least time of ``repeat`` runs."""
    times = []
    for _ in range(repeat):
        started = time.perf_counter()
        run()
        times.append(time.perf_counter() - started)
    return 1e3 * min(times)


def slip(word: str, rng: random.Random) -> str:
    """The word with one letter left out, doubled, changed or swapped with its neighbour."""
    at = rng.randrange(1, len(word) - 1)
    return rng.choice(
        (
            word[:at] + word[at + 1 :],
            word[:at] + word[at] + word[at:],
            word[:at] + "x" + word[at + 1 :],
            word[:at] + word[at + 1] + word[at] + word[at + 2 :],
        )
    )


def compare_whole_words(connection: sqlite3.Connection, words: Sequence[str]) -> None:
    """Our search against the bare query for words of every frequency."""
    ratios, ours, floors = [], [], []
    for word in words:
        query = f'"{word}"*'
        floors.append(milliseconds(lambda q=query: connection.execute(BARE, (q,)).fetchall()))
        ours.append(milliseconds(lambda w=word: search(connection, w, 10)))
        ratios.append(ours[-1] / floors[-1])
    print(
        f"search: {statistics.median(ratios):.2f} x the bare query in the median (hold 3), "
        f"{sum(ours) / sum(floors):.2f} x in all; "
        f"{statistics.median(ours):.2f} ms, bare {statistics.median(floors):.2f} ms, "
        f"{len(words)} words"
    )


def time_slips(connection: sqlite3.Connection, words: Sequence[str], rng: random.Random) -> None:
    """How long a mistyped word takes, and how often the right one is found."""
    times, found = [], 0
    for word in words:
        typed = slip(word, rng)
        times.append(milliseconds(lambda t=typed: search(connection, t, 10)))
        found += word in search(connection, typed, 10).taken_as.values()
    print(
        f"with a slip: {statistics.median(times):.1f} ms in the median (hold 20), "
        f"slowest {max(times):.1f} ms; {found} of {len(words)} read as the word meant"
    )


def main() -> None:
    """Build the catalog and run both."""
    rng = random.Random(1)
    words = made_up_words(rng)
    with tempfile.TemporaryDirectory() as folder:
        database = open_database(Path(folder) / "bench.db")
        fill(database, words, rng)
        spread = [words[int(len(words) ** (i / PROBES))] for i in range(PROBES)]
        with database.bare() as connection:
            compare_whole_words(connection, spread)
            time_slips(connection, [word for word in spread if len(word) >= 5], rng)


if __name__ == "__main__":
    main()
