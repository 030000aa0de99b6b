"""The skeleton of a plugin is complete, passes its own test, and that test can fail."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from loadlib.errors import InputError
from loadlib.testing.scaffold import write_plugin


def run_tests(root: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"],
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_the_skeleton_passes_and_fails_for_each_common_slip(tmp_path: Path) -> None:
    write_plugin("ridge_log", tmp_path)
    root = tmp_path / "loadlib-ridge-log"
    estimator = root / "loadlib_ridge_log" / "estimator.py"
    text = estimator.read_text()
    first = run_tests(root)
    assert first.returncode == 0, first.stdout

    slips = {
        "kW given as W": ("0.98 * low, mid, 1.02 * high", "low / 1e3, mid / 1e3, high / 1e3"),
        "wrong unit in the name": ('"running_w", value', '"running_kw", value'),
        "no zone": ('fromisoformat(rows[-1]["time"])', 'fromisoformat(rows[-1]["time"][:19])'),
        "no source": ('f"log {path}, {len(watts)} rows"', '""'),
    }
    for slip, (old, new) in slips.items():
        assert old in text, slip
        estimator.write_text(text.replace(old, new))
        assert run_tests(root).returncode == 1, slip


def test_an_estimator_is_about_thirty_lines(tmp_path: Path) -> None:
    write_plugin("ridge_log", tmp_path)
    text = (tmp_path / "loadlib-ridge-log" / "loadlib_ridge_log" / "estimator.py").read_text()
    assert len([line for line in text.splitlines() if line.strip()]) <= 40


@pytest.mark.parametrize("name", ["", "1abc", "Ridge", "a-b", "class", "../up", "a b"])
def test_a_wrong_name_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError):
        write_plugin(name, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    write_plugin("ridge_log", tmp_path)
    with pytest.raises(InputError, match="exists already"):
        write_plugin("ridge_log", tmp_path)
