"""Files that are no database, or can't be used: one clear error, and the file left as it was."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from loadlib.errors import CatalogError
from loadlib.store import files
from loadlib.store.database import Database, open_database


def text_file(path: Path) -> None:
    path.write_text("refrigerator,120\n" * 400, encoding="utf-8")


def other_program(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE songs (title)")


def newer_loadlib(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9041'")
        connection.commit()


def no_version(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DELETE FROM alembic_version")
        connection.commit()


def torn(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[4096 : 4096 * 12] = os.urandom(4096 * 11)
    path.write_bytes(data)


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:5000])


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (text_file, "not a database"),
        (other_program, "another program"),
        (newer_loadlib, "newer loadlib"),
        (no_version, "no schema version"),
        (torn, "damaged"),
        (cut_short, "damaged"),
    ],
)
def test_an_unusable_file_is_named_and_left_alone(
    db: Database, spoil: Callable[[Path], None], says: str
) -> None:
    if spoil in (text_file, other_program):
        db.path.unlink()
    spoil(db.path)
    before = db.path.read_bytes()
    with pytest.raises(CatalogError, match=says) as caught:
        open_database(db.path)
    assert str(db.path) in str(caught.value)
    assert caught.value.hint
    assert db.path.read_bytes() == before


def test_a_file_that_another_program_is_writing(db: Database) -> None:
    with closing(sqlite3.connect(db.path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(CatalogError, match="locked"):
            open_database(db.path)
        other.execute("ROLLBACK")
    assert open_database(db.path).path == db.path


def test_a_folder_is_no_database(tmp_path: Path) -> None:
    with pytest.raises(CatalogError, match="can't be opened"):
        open_database(tmp_path)


def test_a_file_in_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("in the way", encoding="utf-8")
    with pytest.raises(CatalogError, match="folder can't be made"):
        open_database(tmp_path / "data" / "loadlib.db")


def test_an_empty_file_is_a_new_database(tmp_path: Path) -> None:
    path = tmp_path / "touched.db"
    path.touch()
    with open_database(path).bare() as connection:
        assert connection.execute("SELECT count(*) FROM category").fetchone()[0] > 0


def test_signs_with_a_meaning_in_uris_are_allowed_in_names(tmp_path: Path) -> None:
    path = tmp_path / "what? 100% #1.db"
    open_database(path)
    assert path.stat().st_size > 0


def test_a_file_that_can_only_be_read_is_read(
    db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "is_writable", lambda path: False)
    database = open_database(db.path)
    with database.bare() as connection:
        assert connection.execute("SELECT count(*) FROM category").fetchone()[0] > 0
        with pytest.raises(CatalogError, match="only be read"), files.faults_named(db.path):
            connection.execute("DELETE FROM house")


def test_a_reader_can_not_write(db: Database) -> None:
    with pytest.raises(CatalogError, match="only be read"), db.bare() as connection:
        connection.execute("DELETE FROM category")


def test_a_full_disk_changes_nothing(db: Database) -> None:
    with db.bare(write=True) as connection:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(CatalogError, match="disk is full"), files.faults_named(db.path):
            connection.execute("INSERT INTO state(key, value) VALUES ('x', hex(zeroblob(4000000)))")
    with db.bare() as connection:
        assert connection.execute("SELECT count(*) FROM state WHERE key = 'x'").fetchone()[0] == 0


def test_an_unforeseen_error_is_passed_on_with_its_words() -> None:
    error = files.catalog_error(sqlite3.OperationalError("no such table: x"), Path("a.db"))
    assert "no such table: x" in str(error)
