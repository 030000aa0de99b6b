"""Files that plugins read: kept with a house, listed, forgotten; a vanished one is told."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loadlib.cli import houses
from loadlib.store.seed import seed_root

Run = Callable[..., Any]


@pytest.fixture
def ridge(run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """A house, a file, and a plugin by name: nothing of it needs to be installed."""
    monkeypatch.setattr(houses, "_file_takers", lambda: ("pump_log",))
    assert run("house", "new", "ridge").code == 0
    (tmp_path / "log.csv").write_text("x", encoding="utf-8")
    return run


def kept(run: Run) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(run("house", "file", "--json").out)["files"]
    return found


def test_a_file_is_kept_listed_and_forgotten(ridge: Run, tmp_path: Path) -> None:
    path = str(tmp_path / "log.csv")
    assert "keeps no file" in ridge("house", "file").out
    done = ridge("house", "file", "pump_log=log.csv")
    assert done.code == 0
    assert done.out.splitlines()[1] == f"pump_log\t{path}\tyes"
    assert kept(ridge) == [{"plugin": "pump_log", "path": path, "there": True}]
    assert f"keeps {path} for pump_log" in ridge("house", "show").out
    assert ridge("house", "file", "pump_log=log.csv").code == 0
    assert len(kept(ridge)) == 1
    done = ridge("house", "file", "--forget", "pump_log=log.csv")
    assert "keeps no file" in done.out
    assert Path(path).is_file()


def test_a_file_that_vanished_is_told_and_can_be_forgotten(ridge: Run, tmp_path: Path) -> None:
    ridge("house", "add", "kitchen: refrigerator")
    ridge("house", "file", "pump_log=log.csv")
    (tmp_path / "log.csv").unlink()
    assert "\tGONE" in ridge("house", "file").out
    done = ridge("profile", "make", "ridge")
    assert done.code == 3
    assert "no file of pump_log" in done.err
    path = done.err.split("--forget ")[1].strip()
    assert ridge("house", "file", "--forget", path).code == 0
    assert kept(ridge) == []


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("nonsense",), 2, "Write PLUGIN=PATH"),
        (("=log.csv",), 2, "Write PLUGIN=PATH"),
        (("pump_log=ghost.csv",), 2, "no such file"),
        (("pump_log=.",), 2, "no such file"),
        (("bill=log.csv",), 3, "Those that do: pump_log"),
        (("pump_log=log.csv", "bill=log.csv"), 3, "usage add"),
        (("--forget", "pump_log=log.csv"), 3, "no file of pump_log"),
        (("--forget", "log.csv"), 2, "--forget log.csv"),
    ],
)
def test_mistakes_are_told_and_nothing_is_kept(
    ridge: Run, words: tuple[str, ...], code: int, told: str
) -> None:
    done = ridge("house", "file", *words)
    assert done.code == code
    assert told in " ".join(done.err.split())
    assert "Traceback" not in done.err
    assert kept(ridge) == []


def test_a_file_given_stands_in_place_of_those_kept(
    ridge: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(houses, "_file_takers", lambda: ("pump_log", "other"))
    for name in ("new.csv", "other.csv"):
        (tmp_path / name).write_text("x", encoding="utf-8")
    ridge("house", "file", "pump_log=log.csv", "other=other.csv")
    assert houses.evidence_for("ridge").files == {
        "pump_log": (str(tmp_path / "log.csv"),),
        "other": (str(tmp_path / "other.csv"),),
    }
    found = houses.evidence_for("ridge", files=["pump_log=new.csv"]).files
    assert found == {"pump_log": ("new.csv",), "other": (str(tmp_path / "other.csv"),)}


def test_loadlib_itself_takes_no_files() -> None:
    """What it reads comes by usage add and reading log; plugins that are installed may."""
    assert {"bill", "clamp", "nameplate"}.isdisjoint(houses._file_takers())


def test_a_house_file_alone_keeps_nothing(ridge: Run) -> None:
    path = seed_root() / "demo" / "farmhouse.toml"
    assert dict(houses.evidence_for(str(path)).files) == {}
