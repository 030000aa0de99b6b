"""Paths and LOADLIB_* variables."""

from __future__ import annotations

from pathlib import Path

import pytest

from loadlib import settings
from loadlib.errors import InputError


def test_the_database_named_by_the_variable_comes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOADLIB_DB", "~/houses.db")
    assert settings.database_path() == Path.home() / "houses.db"


def test_without_it_the_platform_says_where(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("LOADLIB_DB", " ")
    monkeypatch.setattr(settings, "data_folder", lambda: tmp_path)
    assert settings.database_path() == tmp_path / "loadlib.db"
    monkeypatch.undo()
    assert settings.data_folder().name == "loadlib"


@pytest.mark.parametrize(("text", "wait_s"), [("", 5.0), ("0", 0.0), ("2.5", 2.5)])
def test_wait(monkeypatch: pytest.MonkeyPatch, text: str, wait_s: float) -> None:
    monkeypatch.setenv("LOADLIB_WAIT_S", text)
    assert settings.wait_s() == wait_s


@pytest.mark.parametrize("text", ["soon", "-1", "nan", "1e9"])
def test_a_wait_that_is_no_time_is_refused(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setenv("LOADLIB_WAIT_S", text)
    with pytest.raises(InputError, match="LOADLIB_WAIT_S"):
        settings.wait_s()
