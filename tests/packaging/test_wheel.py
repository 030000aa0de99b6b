"""The built wheel works where the repository is not: catalog, plugins, demo, heat-pump log."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.slow


def call(*words: str | Path, cwd: Path, **more: str) -> str:
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"} | more
    done = subprocess.run(
        [str(word) for word in words], cwd=cwd, env=environment, capture_output=True, text=True,
        timeout=900, check=False,
    )  # fmt: skip
    assert done.returncode == 0, f"{words}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def wheels(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The wheel of loadlib, built by way of the source archive, and the plugin's."""
    out = tmp_path_factory.mktemp("dist")
    call(sys.executable, "-m", "build", "--outdir", out, ROOT, cwd=out)
    call(
        sys.executable, "-m", "build", "--wheel", "--outdir", out, ROOT / "plugins/heat_pump_log",
        cwd=out,
    )  # fmt: skip
    return sorted(out.glob("*.whl"))


@pytest.fixture(scope="module")
def installed(wheels: list[Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh environment with both wheels and nothing of the repository."""
    home = tmp_path_factory.mktemp("fresh")
    venv.create(home / "venv", with_pip=True)
    scripts = home / "venv" / "bin"
    call(scripts / "python", "-m", "pip", "install", "-q", *wheels, "pytest", cwd=home)
    return home


def test_the_wheel_holds_what_it_needs(wheels: list[Path]) -> None:
    (wheel,) = [w for w in wheels if w.name.startswith("loadlib-0")]
    names = zipfile.ZipFile(wheel).namelist()
    assert len(names) == len(set(names)), "no file stands in it twice"
    for name in (
        "loadlib/seed_data/values.csv",
        "loadlib/seed_data/demo/farmhouse.toml",
        "loadlib/store/migrations/env.py",
        "loadlib/store/migrations/script.py.mako",
        "loadlib/store/migrations/versions/0001_first_schema.py",
        "loadlib/exchange/loadlib-profile-v1.schema.json",
        "loadlib/testing/scaffold/estimator.py.txt",
        "loadlib/py.typed",
        "loadlib_standby/hooks.py",
        "loadlib_service/hooks.py",
        "loadlib_report/hooks.py",
    ):
        assert name in names
    assert not [name for name in names if "/tests/" in name]


def test_it_runs_from_elsewhere(installed: Path) -> None:
    program = installed / "venv" / "bin" / "loadlib"
    own = {"LOADLIB_DB": str(installed / "own.db"), "LOADLIB_PLUGINS_STRICT": "1"}
    found = json.loads(call(program, "lookup", "frige", "--json", cwd=installed, **own))
    assert found[0]["category"] == "refrigerator_freezer"
    everything = json.loads(call(program, "lookup", "--all", "--json", cwd=installed, **own))
    assert len(everything) >= 220
    records = json.loads(call(program, "plugins", "list", "--load", "--json", cwd=installed, **own))
    assert {r["name"]: r["state"] for r in records if r["name"] == "heat_pump_log"} == {
        "heat_pump_log": "ready"
    }
    assert {r["state"] for r in records} == {"ready"}
    assert "CAUTION" in call(program, "demo", cwd=installed, **own)
    assert (installed / "farmhouse-profile.json").stat().st_size > 10_000


def test_the_plugin_of_its_own_passes_against_the_wheel(installed: Path) -> None:
    tests = ROOT / "plugins" / "heat_pump_log" / "tests"
    copied = installed / "tests"
    call("cp", "-r", tests, copied, cwd=installed)
    python = installed / "venv" / "bin" / "python"
    told = call(python, "-m", "pytest", "-q", "-p", "no:cacheprovider", copied, cwd=installed)
    assert " passed" in told


def test_the_run_time_needs_no_developer_tool(installed: Path) -> None:
    python = installed / "venv" / "bin" / "python"
    code = "import sys, loadlib.cli.app; print({'pytest', 'hypothesis'} & set(sys.modules))"
    assert call(python, "-c", code, cwd=installed).strip() == "set()"
