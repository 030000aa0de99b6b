"""The full-text tables: derived from ``category`` and ``word``, always safe to build again.

``category_fts`` finds whole words and their beginnings; ``word_fts`` finds words by the
three-letter pieces they share, for mistyped ones. Both are external-content tables, kept
current by symmetrical triggers. Migrations do not know them: they are dropped before each
upgrade and built anew after it, so no batch operation can leave a trigger lost or an index
stale.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import Any

__all__ = [
    "TRIGGERS",
    "create",
    "drop",
    "exists",
    "has_fts5",
    "is_search_table",
    "sync_words",
    "troubles",
]

Run = Callable[[str], Any]
"""Something that executes one SQL statement: a sqlite3 or SQLAlchemy connection's."""

_TABLES = ("category_fts", "word_fts", "category_terms")

TRIGGERS = (
    "category_fts_insert",
    "category_fts_delete",
    "category_fts_update",
    "word_fts_insert",
    "word_fts_delete",
    "word_fts_update",
    "category_alias_insert",
    "category_alias_delete",
)

_CREATE = (
    """CREATE VIRTUAL TABLE category_fts USING fts5(
        name, alias_text, group_name, content='category', content_rowid='id',
        tokenize="unicode61 remove_diacritics 2", prefix='2 3')""",
    "CREATE VIRTUAL TABLE category_terms USING fts5vocab(category_fts, row)",
    """CREATE VIRTUAL TABLE word_fts USING fts5(
        word, content='word', content_rowid='id', tokenize='trigram', detail=none)""",
)

_TRIGGERS = (
    """CREATE TRIGGER category_fts_insert AFTER INSERT ON category BEGIN
        INSERT INTO category_fts(rowid, name, alias_text, group_name)
        VALUES (new.id, new.name, new.alias_text, new.group_name); END""",
    """CREATE TRIGGER category_fts_delete AFTER DELETE ON category BEGIN
        INSERT INTO category_fts(category_fts, rowid, name, alias_text, group_name)
        VALUES ('delete', old.id, old.name, old.alias_text, old.group_name); END""",
    """CREATE TRIGGER category_fts_update AFTER UPDATE ON category BEGIN
        INSERT INTO category_fts(category_fts, rowid, name, alias_text, group_name)
        VALUES ('delete', old.id, old.name, old.alias_text, old.group_name);
        INSERT INTO category_fts(rowid, name, alias_text, group_name)
        VALUES (new.id, new.name, new.alias_text, new.group_name); END""",
    """CREATE TRIGGER word_fts_insert AFTER INSERT ON word BEGIN
        INSERT INTO word_fts(rowid, word) VALUES (new.id, new.word); END""",
    """CREATE TRIGGER word_fts_delete AFTER DELETE ON word BEGIN
        INSERT INTO word_fts(word_fts, rowid, word)
        VALUES ('delete', old.id, old.word); END""",
    """CREATE TRIGGER word_fts_update AFTER UPDATE ON word BEGIN
        INSERT INTO word_fts(word_fts, rowid, word)
        VALUES ('delete', old.id, old.word);
        INSERT INTO word_fts(rowid, word) VALUES (new.id, new.word); END""",
)

# These two keep category.alias_text, which the index reads, equal to the alias rows. A bulk
# load writes alias_text with the category, so the first then finds nothing to do.
_ALIAS_TRIGGERS = (
    """CREATE TRIGGER category_alias_insert AFTER INSERT ON category_alias
        WHEN NOT EXISTS (SELECT 1 FROM category WHERE id = new.category_id
            AND instr(char(10) || alias_text || char(10), char(10) || new.alias || char(10)))
        BEGIN UPDATE category SET alias_text = ltrim(alias_text || char(10) || new.alias, char(10))
        WHERE id = new.category_id; END""",
    """CREATE TRIGGER category_alias_delete AFTER DELETE ON category_alias BEGIN
        UPDATE category SET alias_text = coalesce((SELECT group_concat(alias, char(10))
            FROM category_alias WHERE category_id = old.category_id), '')
        WHERE id = old.category_id; END""",
)

_SYNC_WORDS = (
    "DELETE FROM word WHERE word NOT IN (SELECT term FROM category_terms)",
    "INSERT OR IGNORE INTO word(word) SELECT term FROM category_terms WHERE length(term) >= 3",
)


def is_search_table(name: str) -> bool:
    """True for the full-text tables and their shadow tables."""
    return name in _TABLES or name.startswith(("category_fts_", "word_fts_"))


def has_fts5(connection: sqlite3.Connection) -> bool:
    """Whether this SQLite was built with FTS5 (nearly all are)."""
    options = {row[0] for row in connection.execute("PRAGMA compile_options")}
    return "ENABLE_FTS5" in options


def exists(connection: sqlite3.Connection) -> bool:
    """Whether the full-text tables are there."""
    row = connection.execute("SELECT count(*) FROM sqlite_master WHERE name = 'category_fts'")
    return bool(row.fetchone()[0])


def drop(run: Run, *, fts5: bool = True) -> None:
    """Take triggers and tables away; a table that they name can't be rebuilt beneath them."""
    for name in TRIGGERS:
        run(f"DROP TRIGGER IF EXISTS {name}")
    for name in ("category_terms", "category_fts", "word_fts") if fts5 else ():
        run(f"DROP TABLE IF EXISTS {name}")


def create(run: Run, *, fts5: bool = True) -> None:
    """Build tables, triggers and contents anew, inside the caller's transaction."""
    drop(run, fts5=fts5)
    for statement in _ALIAS_TRIGGERS:
        run(statement)
    if not fts5:
        return
    for statement in (*_CREATE, *_TRIGGERS):
        run(statement)
    run("INSERT INTO category_fts(category_fts) VALUES ('rebuild')")
    run("INSERT INTO word_fts(word_fts) VALUES ('rebuild')")
    sync_words(run)


def sync_words(run: Run) -> None:
    """Make ``word`` hold the words of the index, those of three letters and more."""
    for statement in _SYNC_WORDS:
        run(statement)


def troubles(connection: sqlite3.Connection) -> list[str]:
    """What is wrong with the index, in words; empty when it agrees with the catalog.

    FTS5's own check is a write statement, so ``connection`` must be a writing one.
    """
    if not has_fts5(connection):
        return ["this SQLite has no full-text search (FTS5); look-ups go a slower way"]
    if not exists(connection):
        return ["the search index is missing"]
    found = []
    names = {
        row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type='trigger'")
    }
    found += [f"trigger {name} is missing" for name in TRIGGERS if name not in names]
    for table in ("category_fts", "word_fts"):
        try:
            connection.execute(f"INSERT INTO {table}({table}, rank) VALUES ('integrity-check', 1)")
        except sqlite3.DatabaseError as error:
            found.append(f"the search index {table} does not agree with its table ({error})")
    return found
