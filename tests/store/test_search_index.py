"""The full-text tables follow every change, and drift is found and mended."""

from __future__ import annotations

import pytest

from loadlib.store import catalog, search_index
from loadlib.store.database import Database


def hits(db: Database, text: str) -> list[str]:
    return [hit.category for hit in catalog.search(text, db=db).hits]


def test_a_new_database_has_no_troubles(db: Database) -> None:
    with db.bare(write=True) as connection:
        assert search_index.has_fts5(connection)
        assert search_index.exists(connection)
        assert search_index.troubles(connection) == []


def test_the_index_follows_insert_update_and_delete(db: Database) -> None:
    with db.bare(write=True) as connection:
        connection.execute(
            "INSERT INTO category(category, name, voltage_v) VALUES ('sled', 'Snow sled', 12)"
        )
        assert hits(db, "snow") == ["sled"]
        connection.execute("UPDATE category SET name = 'Ice sled' WHERE category = 'sled'")
        assert hits(db, "snow sled") == ["sled"]  # any of the words
        assert hits(db, "ice sled") == ["sled"]
        connection.execute("DELETE FROM category WHERE category = 'sled'")
        assert "sled" not in hits(db, "ice sled")
        assert search_index.troubles(connection) == []


def test_aliases_reach_the_index(db: Database) -> None:
    catalog.add_alias("sump_pump", "Crock Pump", db)
    assert hits(db, "crock")[0] == "sump_pump"
    assert hits(db, "crok")[0] == "sump_pump"  # its words are known to the typo search too
    assert catalog.remove_alias("sump_pump", "crock pump", db)
    assert hits(db, "crock") == []
    assert "sump_pump" in hits(db, "basement")


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        ("DROP TRIGGER category_fts_update", "trigger category_fts_update is missing"),
        ("INSERT INTO category_fts(category_fts) VALUES ('delete-all')", "does not agree"),
        ("INSERT INTO word_fts(word_fts) VALUES ('delete-all')", "does not agree"),
        ("DROP TABLE category_fts", "index is missing"),
    ],
)
def test_drift_is_found_and_mended(db: Database, spoil: str, says: str) -> None:
    with db.bare(write=True) as connection:
        if spoil.startswith("DROP TABLE"):
            connection.execute("DROP TABLE category_terms")
        connection.execute(spoil)
        assert says in " ".join(search_index.troubles(connection))
        search_index.create(connection.execute)
        assert search_index.troubles(connection) == []
    assert hits(db, "fridge") == ["refrigerator"]


def test_without_fts5_the_alias_text_is_still_kept(db: Database) -> None:
    with db.bare(write=True) as connection:
        search_index.create(connection.execute, fts5=False)
        assert search_index.exists(connection)
        search_index.drop(connection.execute)
        search_index.create(connection.execute, fts5=False)
        assert not search_index.exists(connection)
        assert search_index.troubles(connection) == ["the search index is missing"]
    catalog.add_alias("sump_pump", "crock", db)
    assert hits(db, "crock") == ["sump_pump"]


@pytest.mark.parametrize("name", ["category_fts", "category_fts_data", "word_fts_idx"])
def test_search_tables_are_told_apart(name: str) -> None:
    assert search_index.is_search_table(name)
    assert not search_index.is_search_table("category")


def test_a_sqlite_without_fts5_is_told(db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search_index, "has_fts5", lambda connection: False)
    with db.bare(write=True) as connection:
        assert "no full-text search" in search_index.troubles(connection)[0]
    assert hits(db, "fridge") == ["refrigerator"]
