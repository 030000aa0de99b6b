"""loadlib database: the commands say what the library did, and end with its codes."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from loadlib.cli.database import app
from loadlib.errors import CatalogError, InputError
from loadlib.store.database import open_database


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("LOADLIB_DB", str(tmp_path / "loadlib.db"))
    return tmp_path / "loadlib.db"


def run(*args: str) -> str:
    result: Any = CliRunner().invoke(app, args)
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return str(result.stdout)


def test_where_before_and_after_it_is_made(path: Path) -> None:
    assert "not made yet" in run("where")
    assert not path.exists()
    open_database(path)
    assert f"{path}\n" in run("where")
    assert json.loads(run("where", "--json"))["categories"] >= 220


def test_check_and_mend(path: Path) -> None:
    open_database(path)
    assert run("check") == "no fault found\n"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER category_fts_update")
    with pytest.raises(CatalogError, match="1 faults") as caught:
        run("check")
    assert caught.value.exit_code == 5
    assert "--mend" in str(caught.value.hint)
    assert json.loads(run("check", "--mend", "--json"))["troubles"] == []


def test_backup_restore_and_tune(path: Path, tmp_path: Path) -> None:
    open_database(path)
    copy = tmp_path / "copy.db"
    assert f"copied to {copy}" in run("backup", str(copy))
    with pytest.raises(InputError, match="there already"):
        run("backup", str(copy))
    assert "is in place" in run("restore", str(copy))
    assert json.loads(run("restore", str(copy), "--json"))["kept"].endswith("before-restore-2")
    assert json.loads(run("tune", "--json"))["bytes_after"] > 0
    assert "bytes before" in run("tune", "--no-wal")
