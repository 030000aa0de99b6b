"""The README's blocks run as printed, and it names every command."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from loadlib.cli.table import BUILT_IN_COMMANDS
from loadlib.host import Host

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"<!-- run -->\n```(console|python)\n(.*?)```", README, re.DOTALL)


@pytest.mark.slow
def test_the_ten_minutes_run_as_printed(tmp_path: Path) -> None:
    assert len(BLOCKS) >= 6
    scripts = Path(sys.executable).parent
    environment = {
        **os.environ,
        "PATH": f"{scripts}{os.pathsep}{os.environ['PATH']}",
        "LOADLIB_DB": str(tmp_path / "own.db"),
    }
    for language, code in BLOCKS:
        command = ["bash", "-euc", code] if language == "console" else [sys.executable, "-c", code]
        done = subprocess.run(
            command, cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=300,
            check=False,
        )  # fmt: skip
        assert done.returncode == 0, f"{code}\n{done.stdout}\n{done.stderr}"
        assert "Traceback" not in done.stderr


def test_every_command_is_named() -> None:
    plugins = [name for name, _ in Host.load().commands()]
    for name in [*BUILT_IN_COMMANDS, *plugins]:
        assert f"`loadlib {name}`" in README


def test_the_job_stands_first() -> None:
    first = README.split("\n\n")[1]
    assert first.startswith("A homeowner in an outage-prone place")


@pytest.mark.parametrize("words", ["garage", "20 ft", "backfeed", "licensed electrician", "permit"])
def test_the_cautions_stand_in_it(words: str) -> None:
    assert words in README
