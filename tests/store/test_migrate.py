"""Migrations: from nothing and from every revision to the head; nothing lost on the way."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import textwrap
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Boolean, Float, Integer, LargeBinary, MetaData

from loadlib.errors import CatalogError
from loadlib.store import files, migrate, search_index
from loadlib.store.database import Database, open_database
from loadlib.store.engine import engine_for, transaction
from loadlib.store.tables import metadata

SCRIPTS = ScriptDirectory.from_config(migrate.alembic_config())
REVISIONS = [script.revision for script in reversed(list(SCRIPTS.walk_revisions()))]


def test_one_head_and_unbroken_numbers() -> None:
    assert SCRIPTS.get_heads() == [files.HEAD]
    assert [f"{number:04d}" for number in range(1, len(REVISIONS) + 1)] == REVISIONS
    for revision in REVISIONS:
        script = SCRIPTS.get_revision(revision)
        assert script is not None
        assert Path(script.path).name.startswith(f"{revision}_")


def test_the_template_ships_beside_the_migrations() -> None:
    assert (Path(SCRIPTS.dir) / "script.py.mako").is_file()


def names(path: Path, kind: str) -> set[str]:
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT name FROM sqlite_master WHERE type = ?", (kind,))
        return {name for (name,) in rows}


def test_empty_to_head(tmp_path: Path) -> None:
    path = tmp_path / "new.db"
    assert not migrate.at_head(path)
    migrate.upgrade(path)
    assert migrate.at_head(path)
    assert set(metadata.tables) <= names(path, "table")
    assert set(search_index.TRIGGERS) <= names(path, "trigger")
    wanted = {str(index.name) for table in metadata.tables.values() for index in table.indexes}
    assert wanted <= names(path, "index")
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA application_id").fetchone()[0] == files.APPLICATION_ID
    assert not list(tmp_path.glob("*.before-*"))


def test_the_schema_at_head_is_the_models(tmp_path: Path) -> None:
    path = tmp_path / "new.db"
    migrate.upgrade(path)

    def include_name(name: str | None, kind: str, _: Any) -> bool:
        return not (kind == "table" and name is not None and search_index.is_search_table(name))

    with transaction(engine_for(path, write=False), path) as connection:
        context = MigrationContext.configure(connection, opts={"include_name": include_name})
        assert compare_metadata(context, metadata) == []


def fill(path: Path) -> dict[str, int]:
    """One row in every table, parents first, by the schema that the file has; counts."""
    with transaction(engine_for(path, write=True), path) as connection:
        found = MetaData()
        found.reflect(
            connection,
            only=lambda name, _: (
                name != "alembic_version" and not search_index.is_search_table(name)
            ),
        )
        for table in found.sorted_tables:
            row: dict[str, Any] = {}
            for column in table.columns:
                if column.nullable or column.server_default is not None:
                    continue
                kind = column.type
                if isinstance(kind, Integer | Float | Boolean):
                    row[column.name] = 1
                else:
                    row[column.name] = b"1" if isinstance(kind, LargeBinary) else "1"
            if table.name == "bill":
                row |= {"first_day": "2026-01-01", "day_after": "2026-02-01"}
            connection.execute(table.insert().values(row))
        return count(path, connection)


def count(path: Path, connection: Any = None) -> dict[str, int]:
    with closing(sqlite3.connect(path)) as bare:
        run = connection.exec_driver_sql if connection is not None else bare.execute
        tables = [
            row[0]
            for row in run(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
            )
            if not search_index.is_search_table(row[0])
        ]
        return {name: run(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in tables}


@pytest.mark.parametrize("revision", REVISIONS)
def test_every_revision_to_head_with_rows(tmp_path: Path, revision: str) -> None:
    path = tmp_path / "old.db"
    engine = engine_for(path, write=True, create=True, foreign_keys=False)
    with transaction(engine, path) as connection:
        command.upgrade(migrate.alembic_config(connection), revision)
    before = fill(path)
    assert min(before.values()) == 1
    migrate.upgrade(path)
    after = count(path)
    assert {name: after.get(name) for name in before} == before


@pytest.fixture
def next_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A made-up next revision that rebuilds a table which has children and triggers."""
    scripts = tmp_path / "migrations"
    shutil.copytree(SCRIPTS.dir, scripts, ignore=shutil.ignore_patterns("__pycache__"))
    new = f"{len(REVISIONS) + 1:04d}"
    (scripts / "versions" / f"{new}_made_up.py").write_text(
        textwrap.dedent(f"""
            import sqlalchemy as sa
            from alembic import op

            revision, down_revision = "{new}", "{files.HEAD}"


            def upgrade() -> None:
                with op.batch_alter_table("category", recreate="always") as batch:
                    batch.add_column(sa.Column("colour", sa.String))
        """),
        encoding="utf-8",
    )
    monkeypatch.setattr(migrate, "SCRIPTS", str(scripts))
    monkeypatch.setattr(files, "HEAD", new)
    return scripts


def test_a_rebuilt_table_keeps_its_children_and_its_search(
    db: Database, next_version: Path
) -> None:
    before = count(db.path)
    migrate.upgrade(db.path)
    assert count(db.path) == before
    assert before["category_value"] > 0
    assert set(search_index.TRIGGERS) <= names(db.path, "trigger")
    with db.bare(write=True) as connection:
        assert search_index.troubles(connection) == []
        connection.execute("UPDATE category SET name = 'Snow melter' WHERE category = 'sump_pump'")
        found = connection.execute("SELECT count(*) FROM category_fts('melter')").fetchone()[0]
        assert found == 1


def test_the_old_file_is_copied_before_an_upgrade(db: Database, next_version: Path) -> None:
    old = REVISIONS[-1]
    migrate.upgrade(db.path)
    copy = migrate.backup_path(db.path, old)
    with closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == (old,)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    migrate.upgrade(db.path)  # at head: neither upgraded nor copied again
    assert list(db.path.parent.glob("*.new")) == []


def test_a_failed_upgrade_leaves_the_old_file(
    db: Database, next_version: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(run: object, **_: object) -> None:
        raise RuntimeError("the lamp went out")

    before = count(db.path)
    with monkeypatch.context() as patch:
        patch.setattr(search_index, "create", fail)
        with pytest.raises(RuntimeError, match="lamp"):
            migrate.upgrade(db.path)
    assert count(db.path) == before
    with db.bare() as connection:
        assert files.revision_of(connection, db.path) == REVISIONS[-1]
    migrate.upgrade(db.path)
    assert migrate.at_head(db.path)


def test_an_upgrade_that_leaves_orphans_is_refused(db: Database, next_version: Path) -> None:
    with closing(sqlite3.connect(db.path)) as connection:
        connection.execute("INSERT INTO room(house_id, name) VALUES (4711, 'attic')")
        connection.commit()
    with pytest.raises(CatalogError, match=r"1 rows pointing nowhere \(room\)"):
        migrate.upgrade(db.path)
    with db.bare() as connection:
        assert files.revision_of(connection, db.path) == REVISIONS[-1]


KILLED = """
import os, sys
from pathlib import Path
from loadlib.store import migrate, search_index

search_index.create = lambda run, **_: os._exit(9)  # dies with the transaction open
migrate.SCRIPTS, migrate.files.HEAD = sys.argv[2], sys.argv[3]
migrate.upgrade(Path(sys.argv[1]))
"""


def test_a_killed_upgrade_is_rolled_back_by_the_next_one(db: Database, next_version: Path) -> None:
    before = count(db.path)
    command_line = [sys.executable, "-c", KILLED, str(db.path), str(next_version), files.HEAD]
    assert subprocess.run(command_line, check=False).returncode == 9
    with db.bare() as connection:
        assert files.revision_of(connection, db.path) == REVISIONS[-1]
    assert count(db.path) == before
    migrate.upgrade(db.path)
    assert migrate.at_head(db.path)


def test_a_file_that_can_only_be_read_is_not_upgraded(
    db: Database, next_version: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "is_writable", lambda path: False)
    with pytest.raises(CatalogError, match="older loadlib and can only be read"):
        open_database(db.path)


def test_threads_that_open_a_new_file_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LOADLIB_WAIT_S", "20")
    path = tmp_path / "new.db"
    with ThreadPoolExecutor(4) as pool:
        for database in pool.map(open_database, [path] * 4):
            with database.bare() as connection:
                assert connection.execute("SELECT count(*) FROM category").fetchone()[0] == 8


def test_processes_that_open_a_new_file_at_once(tmp_path: Path, small_tables: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from loadlib.store import seed, database;"
        "seed.seed_root = lambda: Path(sys.argv[2]); database.open_database(sys.argv[1])"
    )
    command_line = [sys.executable, "-c", script, str(tmp_path / "new.db"), str(small_tables)]
    environment = {"LOADLIB_WAIT_S": "20"}
    both = [subprocess.Popen(command_line, env=environment) for _ in range(2)]
    assert [process.wait(60) for process in both] == [0, 0]
    assert migrate.at_head(tmp_path / "new.db")
