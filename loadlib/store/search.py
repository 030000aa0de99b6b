"""Words to categories: full-text search with ranking, aliases, beginnings and typos.

A text is tried in this order, and the first that finds something answers:

1. all its words, each whole or as the beginning of a word;
2. the same with words that the catalog lacks replaced by near ones ("frige" -> "fridge"),
   joined ("dish washer") or split ("waterheater");
3. any of the words.

Exact names and aliases come first, then FTS5's bm25 with the name weighing most. Near words
come from the trigram index; only those few are compared one by one.
"""

from __future__ import annotations

import re
import sqlite3
from abc import ABC, abstractmethod
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

from loadlib.store import files, search_index

__all__ = ["Found", "Hit", "begins_with", "fold", "near_names", "search"]

MOST_WORDS = 12
MOST_LETTERS = 200
_WORDS = re.compile(r"[^\W_]+")
_SHORTEST = 3  # where not every word has to be found, "a" must not find all that begins with it


Readings = list[list[str]]
"""For each word the readings that it may have; one is enough."""


class Hit(NamedTuple):
    """One category that was found; ``exact`` when the text is its name or an alias."""

    category: str
    name: str
    exact: bool


class Found(NamedTuple):
    """What a search found, and how the text had to be read.

    ``taken_as`` maps words that the catalog lacks to those put in their place; ``left_out``
    are words that were not understood at all.
    """

    hits: list[Hit]
    taken_as: dict[str, str]
    left_out: list[str]


def fold(text: str) -> str:
    """``text`` as names are compared: case folded, single spaces, nothing unprintable."""
    clean = text[:MOST_LETTERS].encode("utf-8", "ignore").decode().replace("\0", " ")
    return " ".join(clean.casefold().split())


def search(connection: sqlite3.Connection, text: str, limit: int = 10) -> Found:
    """Categories for ``text``, best first, at most ``limit``; any text is allowed."""
    folded = fold(text)
    words = _WORDS.findall(folded)[:MOST_WORDS]
    if not words:
        return Found([], {}, [])
    index = _index_of(connection)
    hits = index.match(" AND ", [[word] for word in words], folded, limit)
    if hits:
        return Found(hits, {}, [])
    readings, taken_as, left_out = _reread(index, words)
    folded = " ".join(nearest for nearest, *_ in readings)
    shortest = _SHORTEST if left_out else 1
    hits = index.match(" AND ", readings, folded, limit, shortest) or index.match(
        " OR ", readings, folded, limit, _SHORTEST
    )
    return Found(hits, taken_as, left_out)


def begins_with(path: Path, beginning: str, limit: int = 30) -> list[str]:
    """Keys of the categories in the file that begin so: what a shell's Tab asks for."""
    with closing(files.connect(path)) as connection:
        rows = connection.execute(
            "SELECT category FROM category WHERE category >= ? AND category < ? "
            "ORDER BY category LIMIT ?",
            (fold(beginning), fold(beginning) + "\U0010ffff", limit),
        )
        return [category for (category,) in rows]


def near_names(connection: sqlite3.Connection, text: str, limit: int = 5) -> list[str]:
    """Names of categories that look most like ``text``, for "did you mean"."""
    from rapidfuzz import fuzz, process

    folded = fold(text)
    rows = connection.execute(
        "SELECT name, id FROM category UNION ALL SELECT alias, category_id FROM category_alias "
        "LIMIT 20000"  # some 15 ms; beyond that a suggestion is not worth the wait
    )
    aliases: dict[str, int] = dict(rows)
    best = process.extract(
        folded, list(aliases), scorer=fuzz.WRatio, score_cutoff=65, limit=4 * limit
    )
    keys = list(dict.fromkeys(aliases[alias] for alias, _, _ in best))[:limit]
    names = {
        key: connection.execute("SELECT category FROM category WHERE id = ?", (key,)).fetchone()[0]
        for key in keys
    }
    return list(names.values())


def _reread(index: _Index, words: list[str]) -> tuple[Readings, dict[str, str], list[str]]:
    """Readings of each word that the catalog may know; what was replaced; what was not."""
    readings: Readings = []
    taken_as: dict[str, str] = {}
    left_out: list[str] = []
    position = 0
    while position < len(words):
        word, pair = words[position], "".join(words[position : position + 2])
        position += 1
        if pair != word and index.begins_a_word(pair):
            readings.append([pair])
            taken_as[f"{word} {words[position]}"] = pair
            position += 1
        elif index.begins_a_word(word):
            readings.append([word])
        elif parts := index.parts_of(word):
            readings += [[part] for part in parts]
            taken_as[word] = " ".join(parts)
        elif near := index.near_words(word):
            readings.append(near)
            taken_as[word] = near[0]
        else:
            left_out.append(word)
    return readings, taken_as, left_out


def _index_of(connection: sqlite3.Connection) -> _Index:
    if search_index.exists(connection) and search_index.has_fts5(connection):
        return _FullText(connection)
    return _Plain(connection)


class _Index(ABC):
    """Questions to the catalog that a search is made of."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection

    @abstractmethod
    def match(
        self, joint: str, readings: Readings, folded: str, limit: int, shortest: int = 1
    ) -> list[Hit]:
        """Categories where each word (``joint`` AND) or any (OR) has one of its readings.

        Words of ``shortest`` letters and more also count as beginnings; digits never do.
        """

    @abstractmethod
    def begins_a_word(self, word: str) -> bool:
        """Whether the catalog has a word that begins so."""

    def parts_of(self, word: str) -> list[str]:
        """Two words of the catalog that make up ``word``, or none."""
        splits = [(word[:i], word[i:]) for i in range(3, len(word) - 2)]
        pieces = sorted({piece for split in splits for piece in split})
        known = self._known(pieces)
        return next(([a, b] for a, b in splits if a in known and b in known), [])

    def _known(self, words: list[str]) -> set[str]:
        marks = ",".join("?" * len(words))
        rows = self.connection.execute(f"SELECT word FROM word WHERE word IN ({marks})", words)
        return {word for (word,) in rows}

    def near_words(self, word: str) -> list[str]:
        """Words of the catalog within a few slips of ``word``, nearest first, at most 3."""
        from rapidfuzz.distance import OSA

        if len(word) < 3 or word.isdigit():
            return []
        slips = _slips_allowed(word)
        scored = []
        for candidate in self._candidates(word):
            distance = float(OSA.distance(word, candidate, score_cutoff=slips))
            if len(word) >= 5:  # the beginning of a longer word, mistyped
                start = OSA.distance(word, candidate[: len(word)], score_cutoff=slips) + 0.5
                distance = min(distance, start)
            if distance <= slips:
                # Letters are dropped more often than doubled: the longer word first.
                scored.append((distance, candidate[0] != word[0], -len(candidate), candidate))
        scored.sort()
        nearest = [word for distance, *_, word in scored if distance <= scored[0][0] + 0.5]
        return nearest[:3]

    def _candidates(self, word: str) -> set[str]:
        """Words that share a piece with ``word``; for a short one also those that begin alike."""
        found: set[str] = set()
        if len(word) <= 5:
            rows = self.connection.execute(
                "SELECT word FROM word WHERE word >= ? AND word < ? "
                "AND length(word) BETWEEN ? AND ?",
                (word[0], word[0] + "\U0010ffff", len(word) - 1, len(word) + 1),
            )
            found.update(candidate for (candidate,) in rows)
        return found


def _slips_allowed(word: str) -> int:
    return 1 if len(word) <= 5 else 2 if len(word) <= 8 else 3


class _FullText(_Index):
    """With FTS5."""

    _SQL = """
        SELECT c.category, c.name, c.id FROM (
            SELECT rowid, rank FROM category_fts WHERE category_fts MATCH ?
            AND rank MATCH 'bm25(10.0, 6.0, 2.0)' ORDER BY rank LIMIT ?) AS f
        JOIN category c ON c.id = f.rowid ORDER BY f.rank"""

    def match(
        self, joint: str, readings: Readings, folded: str, limit: int, shortest: int = 1
    ) -> list[Hit]:
        if not readings:
            return []
        query = joint.join(_either(words, shortest) for words in readings)
        rows = self.connection.execute(self._SQL, (query, limit)).fetchall()
        return _exact_first(self.connection, rows, folded)[:limit]

    def begins_a_word(self, word: str) -> bool:
        row = self.connection.execute(
            "SELECT 1 FROM category_fts WHERE category_fts MATCH ? LIMIT 1", (f'"{word}"*',)
        ).fetchone()
        return row is not None

    def _candidates(self, word: str) -> set[str]:
        pieces = " OR ".join(f'"{word[i : i + 3]}"' for i in range(len(word) - 2))
        rows = self.connection.execute(
            "SELECT word FROM word_fts WHERE word_fts MATCH ? ORDER BY rank LIMIT 100", (pieces,)
        )
        return super()._candidates(word) | {candidate for (candidate,) in rows}


def _either(words: list[str], shortest: int) -> str:
    """FTS5 text for "one of these"; a whole word counts on top of a beginning."""
    parts = []
    for word in words:
        parts.append(f'"{word}"')
        if len(word) >= shortest and not word.isdigit():
            parts.append(f'"{word}"*')
    return "(" + " OR ".join(parts) + ")"


class _Plain(_Index):
    """Without FTS5: LIKE over names and aliases, and every word compared for typos."""

    _TEXT = "(' ' || lower(c.name) || ' ' || lower(replace(c.alias_text, char(10), ' ')) || ' ')"

    def match(
        self, joint: str, readings: Readings, folded: str, limit: int, shortest: int = 1
    ) -> list[Hit]:
        if not readings:
            return []
        either = [
            "(" + " OR ".join(f"{self._TEXT} LIKE ?" for _ in words) + ")" for words in readings
        ]
        patterns = [
            f"% {word}%" if len(word) >= shortest and not word.isdigit() else f"% {word} %"
            for words in readings
            for word in words
        ]
        rows = self.connection.execute(
            f"SELECT c.category, c.name, c.id FROM category c WHERE {joint.join(either)} "
            "ORDER BY length(c.name), c.name LIMIT ?",
            [*patterns, limit],
        ).fetchall()
        return _exact_first(self.connection, rows, folded)[:limit]

    def begins_a_word(self, word: str) -> bool:
        return bool(self.match(" AND ", [[word]], "", 1))

    def _candidates(self, word: str) -> set[str]:
        return {candidate for (candidate,) in self.connection.execute("SELECT word FROM word")}


_EXACT = """
    SELECT c.category, c.name, c.id FROM category c WHERE c.category = :key
    UNION SELECT c.category, c.name, c.id FROM category_alias a
        JOIN category c ON c.id = a.category_id WHERE a.folded = :folded"""


def _exact_first(
    connection: sqlite3.Connection, rows: list[tuple[str, str, int]], folded: str
) -> list[Hit]:
    key = folded.replace(" ", "_").replace("-", "_")
    exact = connection.execute(_EXACT, {"key": key, "folded": folded}).fetchall()
    named = {category for category, _, _ in exact}
    named |= {category for category, name, _ in rows if name.casefold() == folded}
    order = {category: place for place, (category, _, _) in enumerate(rows)}
    exact.sort(key=lambda row: order.get(row[0], len(order)))
    merged = {category: Hit(category, name, category in named) for category, name, _ in exact}
    for category, name, _ in rows:
        merged.setdefault(category, Hit(category, name, category in named))
    return sorted(merged.values(), key=lambda hit: not hit.exact)
