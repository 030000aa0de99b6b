"""Run the command line in this process, on a database of its own."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from loadlib.cli import main


class Done(NamedTuple):
    """What a command left: exit code, stdout and stderr."""

    code: int
    out: str
    err: str


@pytest.fixture
def run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Done]:
    """``run("house", "list", stdin="…")``."""
    monkeypatch.setenv("LOADLIB_DB", str(tmp_path / "own.db"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("LOADLIB_DEBUG", raising=False)
    monkeypatch.chdir(tmp_path)

    def call(*words: str, stdin: str = "") -> Done:
        monkeypatch.setattr(sys, "argv", ["loadlib", *words])
        monkeypatch.setattr(sys, "stdin", io.StringIO(stdin))
        try:
            main()
            code: object = 0
        except SystemExit as stop:
            code = stop.code
        streams = capsys.readouterr()
        return Done(int(code or 0), streams.out, streams.err)  # type: ignore[call-overload]

    return call
