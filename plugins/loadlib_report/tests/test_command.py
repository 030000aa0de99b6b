"""The command: files and pipes in and out, and errors without a traceback."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from loadlib import LoadProfile
from loadlib.cli import main


class Done(NamedTuple):
    code: int
    out: str
    err: str


@pytest.fixture
def run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Done]:
    monkeypatch.setenv("LOADLIB_DB", str(tmp_path / "own.db"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.delenv("LOADLIB_DEBUG", raising=False)
    monkeypatch.chdir(tmp_path)

    def call(*words: str, stdin: str | bytes = "") -> Done:
        data = stdin.encode() if isinstance(stdin, str) else stdin
        monkeypatch.setattr(sys, "argv", ["loadlib", "report", *words])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), encoding="ascii"))
        try:
            main()
            code: object = 0
        except SystemExit as stop:
            code = stop.code
        streams = capsys.readouterr()
        return Done(int(code or 0), streams.out, streams.err)  # type: ignore[call-overload]

    return call


def test_a_file_in_and_a_file_out(run: Callable[..., Done], profile: LoadProfile) -> None:
    Path("p.json").write_text(profile.to_json(), encoding="utf-8")
    done = run("page", "p.json", "--out", "page.html", "--month", "7")
    assert (done.code, done.out) == (0, "")
    assert "wrote page.html" in done.err
    assert "in July" in Path("page.html").read_text("utf-8")
    assert sorted(p.name for p in Path().iterdir() if p.suffix != ".db") == [
        "cache", "p.json", "page.html",
    ]  # fmt: skip


def test_a_pipe_in_and_out(run: Callable[..., Done], profile: LoadProfile) -> None:
    done = run("page", "-", "--out", "-", stdin=profile.to_json())
    assert done.code == 0
    assert done.out.startswith("<!DOCTYPE html>")
    assert done.err == ""


def test_a_pipe_in_a_terminal_without_unicode(profile: LoadProfile, tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from loadlib.cli import main; main()",
         "report", "page", "-", "--out", "-"],
        input=profile.to_json().encode(), capture_output=True, timeout=300, check=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "LOADLIB_DB": str(tmp_path / "own.db")},
    )  # fmt: skip
    assert "2,200 ft²" in done.stdout.decode("utf-8")


def test_mistakes_are_said_and_nothing_is_written(run: Callable[..., Done]) -> None:
    assert run("page", "ghost.json").code == 3
    Path("broken.json").write_text('{"schema": "loadlib-profile", "version": 1')
    done = run("page", "broken.json")
    assert done.code == 4
    assert "broken.json" in done.err
    assert "Traceback" not in done.err
    Path("binary.json").write_bytes(b"\xff\xfe\x00")
    assert run("page", "binary.json").code == 4
    assert run("page", "-", stdin="{}").code == 4
    assert run("page", "-", stdin=b"\xff\xfe\x00").code == 4
    assert not Path("house-page.html").exists()


def test_a_folder_that_is_not_there(run: Callable[..., Done], profile: LoadProfile) -> None:
    done = run("page", "-", "--out", "no/such/page.html", stdin=profile.to_json())
    assert done.code == 1
    assert "can't be written" in done.err


def test_the_command_comes_through_the_door() -> None:
    from loadlib_report.hooks import loadlib_commands

    (entry,) = loadlib_commands()
    assert (entry.name, entry.target) == ("report", "loadlib_report.cli:app")
