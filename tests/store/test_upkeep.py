"""Where, check, mend, backup, restore, tune."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from loadlib.core.household import House
from loadlib.errors import CatalogError, InputError, NotFound
from loadlib.store import catalog, files, houses, upkeep
from loadlib.store.database import Database


@pytest.fixture(autouse=True)
def _house(db: Database) -> None:
    houses.create(House("Cabin"), db)


def names(db: Database) -> list[str]:
    return [house.name for house in houses.list_houses(db)]


def test_where(db: Database, tmp_path: Path) -> None:
    state = upkeep.where()
    assert state.path == str(db.path)
    assert (state.exists, state.revision, state.categories, state.houses) == (
        True,
        files.HEAD,
        8,
        1,
    )
    away = upkeep.where(tmp_path / "not" / "yet.db")
    assert (away.exists, away.size_bytes) == (False, 0)
    assert not (tmp_path / "not").exists()


def test_a_sound_file_has_no_faults(db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    assert upkeep.check() == []
    monkeypatch.setattr(files, "is_writable", lambda path: False)
    assert upkeep.check() == ["the file can only be read, so the search index was not checked"]


def test_faults_are_named(db: Database) -> None:
    with closing(sqlite3.connect(db.path)) as connection:
        connection.execute("INSERT INTO room(house_id, name) VALUES (4711, 'attic')")
        connection.execute("INSERT INTO category_fts(category_fts) VALUES ('delete-all')")
        connection.commit()
    found = " ".join(upkeep.check())
    assert "room, row 1: points to a missing row of house" in found
    assert "search index category_fts does not agree" in found
    assert len(upkeep.mend()) == 1  # the index is built anew; the orphan is not guessed at
    assert catalog.search("fridge", db=db).hits[0].category == "refrigerator"


def test_no_file_to_check(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="database"):
        upkeep.check(tmp_path / "none.db")


def test_backup_and_restore(db: Database, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    assert upkeep.backup(copy) == copy.stat().st_size
    houses.create(House("Barn"), db)
    kept = upkeep.restore(copy)
    assert names(db) == ["Cabin"]
    assert kept is not None
    assert sorted(names(Database(kept))) == ["Barn", "Cabin"]
    assert upkeep.restore(copy) != kept
    assert list(tmp_path.glob("*.part")) == []


def test_restore_where_there_was_nothing(db: Database, tmp_path: Path) -> None:
    target = tmp_path / "new" / "loadlib.db"
    assert upkeep.restore(db.path, target) is None
    assert names(Database(target)) == ["Cabin"]


def test_restore_over_a_damaged_file_with_a_stale_journal(db: Database, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    upkeep.backup(copy)
    db.path.write_bytes(b"rubbish" * 1000)
    journal = Path(f"{db.path}-journal")
    journal.write_bytes(b"rubbish")
    kept = upkeep.restore(copy)
    assert names(db) == ["Cabin"]
    assert not journal.exists()
    assert kept is not None
    assert kept.read_bytes().startswith(b"rubbish")


def test_a_copy_that_is_no_good_changes_nothing(db: Database, tmp_path: Path) -> None:
    rubbish, empty, torn = (tmp_path / name for name in ("rubbish", "empty", "torn"))
    rubbish.write_bytes(b"rubbish" * 1000)
    empty.touch()
    data = bytearray(db.path.read_bytes())
    data[len(data) // 2 :] = bytes(len(data) - len(data) // 2)
    torn.write_bytes(data)
    for copy in (rubbish, empty, torn):
        with pytest.raises(CatalogError) as caught:
            upkeep.restore(copy)
        assert caught.value.path == str(copy)
    with pytest.raises(NotFound, match="file"):
        upkeep.restore(tmp_path / "none.db")
    assert names(db) == ["Cabin"]
    assert list(tmp_path.glob("*.before-restore-*")) == []


def test_a_backup_never_overwrites(db: Database, tmp_path: Path) -> None:
    (tmp_path / "copy.db").write_text("precious", encoding="utf-8")
    with pytest.raises(InputError, match="there already"):
        upkeep.backup(tmp_path / "copy.db")
    assert (tmp_path / "copy.db").read_text(encoding="utf-8") == "precious"
    with pytest.raises(InputError, match="no such folder"):
        upkeep.backup(tmp_path / "no" / "such" / "folder.db")


def test_a_backup_that_can_not_be_put_in_place(
    db: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(InputError, match="Permission denied"):
        upkeep.backup(tmp_path / "copy.db")
    with pytest.raises(CatalogError, match="Permission denied"):
        upkeep.restore(db.path)
    assert list(tmp_path.glob("*.part")) == []
    assert names(db) == ["Cabin"]


def test_restore_where_no_folder_can_be(db: Database, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(CatalogError, match="can't be written"):
        upkeep.restore(db.path, tmp_path / "file" / "loadlib.db")


def test_an_index_that_does_not_fit_its_table_is_found_and_mended(db: Database) -> None:
    with closing(sqlite3.connect(db.path, isolation_level=None)) as connection:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute(
            "UPDATE sqlite_master SET sql = replace(sql, '(folded)', '(origin)') "
            "WHERE name = 'ix_category_alias_folded'"
        )
    assert any(text.startswith("SQLite: ") for text in upkeep.check())
    assert upkeep.mend() == []


def test_an_older_file_is_told(db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "HEAD", "9000")
    assert any("older than 9000" in text for text in upkeep.check())


def test_mending_another_programs_file_is_refused(tmp_path: Path) -> None:
    other = tmp_path / "songs.db"
    with closing(sqlite3.connect(other)) as connection:
        connection.execute("CREATE TABLE songs (title)")
    before = other.read_bytes()
    with pytest.raises(CatalogError, match="another program"):
        upkeep.mend(other)
    assert other.read_bytes() == before


def test_tune(db: Database) -> None:
    before, after = upkeep.tune(wal=True)
    assert min(before, after) > 0
    assert upkeep.where().journal_mode == "wal"
    houses.create(House("Barn"), db)
    assert len(names(db)) == 2
    upkeep.tune(wal=False)
    assert upkeep.where().journal_mode == "delete"
    assert upkeep.check() == []
