"""loadlib lookup: compact on a phone, whole for programs, clear when nothing is found."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from loadlib.cli.lookup import app, complete
from loadlib.errors import InputError, NotFound
from loadlib.store.database import open_database


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return open_database(tmp_path_factory.mktemp("lookup") / "loadlib.db").path


@pytest.fixture(autouse=True)
def _database(database: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOADLIB_DB", str(database))


def run(*args: str) -> Any:
    result = CliRunner().invoke(app, args, catch_exceptions=True)
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


@pytest.mark.parametrize("words", ["fridge", "frige", "dehumidifer", "well pump", "tv", "heater"])
def test_the_compact_answer_fits_a_phone(words: str) -> None:
    lines = run(*words.split()).stdout.splitlines()
    assert max(map(len, lines)) <= 45
    assert any(line.startswith("running ") and " W (" in line for line in lines)
    assert any(line.startswith("start   ") for line in lines)


def test_every_category_fits_a_phone() -> None:
    from loadlib.cli.lookup_text import compact_lines
    from loadlib.store.catalog_rows import all_names, rows_for

    with open_database().bare() as connection:
        for row in rows_for(connection, all_names(connection)).values():
            assert max(len(line) for line in compact_lines([row])) <= 45, row.category


def test_how_a_mistyped_word_was_taken_goes_to_stderr() -> None:
    result = run("frige")
    assert '"frige" taken as "fridge"' in result.stderr
    assert "taken as" not in result.stdout


def test_a_word_that_was_left_out_is_told() -> None:
    assert '"zzyzx" is not known here and was left out' in run("zzyzx", "fridge").stderr


def test_json_is_a_list_best_first() -> None:
    found = json.loads(run("fridge", "--json").stdout)
    assert found[0]["category"].startswith("refrigerator")
    assert len(found) > 1
    assert "values" not in found[0]


def test_every_category_as_json() -> None:
    found = json.loads(run("--all", "--json").stdout)
    assert len(found) >= 220
    for row in found:
        for key in ("running_w", "start_multiplier", "duty_cycle", "power_factor"):
            spread = row[key]
            assert 0 <= spread["low"] <= spread["typical"] <= spread["high"], (row["category"], key)
        assert isinstance(row["start_basis"], str)
        assert row["sources"]
        assert row["voltage_v"] > 0
    names = [row["category"] for row in found]
    assert names == sorted(set(names))


def test_every_category_as_a_table() -> None:
    lines = run("--all").stdout.splitlines()
    assert lines[0].startswith("category\tname")
    assert len(lines) > 220


def test_details_give_every_value_with_its_source() -> None:
    text = run("fridge", "--details").stdout
    for quantity in ("running_w", "start_multiplier", "duty_share", "label_share"):
        assert f"\n{quantity}: " in text
    values = json.loads(run("fridge", "--details", "--json").stdout)[0]["values"]
    assert len(values) == 10
    assert all(value["citation"] and value["obtained"] for value in values)


def test_unknown_words_end_with_code_3_and_near_names() -> None:
    with pytest.raises(NotFound, match="frdgxx") as caught:
        run("frdgxx")
    assert caught.value.exit_code == 3
    assert any("fridge" in name or "refrigerator" in name for name in caught.value.near)
    with pytest.raises(NotFound) as caught:
        run("xqxqxq")
    assert "--all" in str(caught.value.hint)


def test_no_words_at_all() -> None:
    with pytest.raises(InputError, match="no words"):
        run()


def test_a_value_of_ones_own() -> None:
    text = run("cpap", "--own", "running_w=31,32,33").stdout
    assert "running 31 - 32 - 33 W (your own)" in text
    assert "shipped: " in run("cpap", "--details").stdout
    text = run("cpap", "--shipped", "running_w").stdout
    assert "your own" not in text
    with pytest.raises(NotFound, match="value of your own"):
        run("cpap", "--shipped", "running_w")


@pytest.mark.parametrize(
    ("words", "own", "says"),
    [
        ("cpap", "running_w", "own value 'running_w'"),
        ("cpap", "running_w=1,2", "own value"),
        ("cpap", "running_w=3,2,1", "upside down"),
        ("cpap", "running_w=-3,2,4", "negative"),
        ("something unknown", "running_w=1,2,3", "not one category"),
    ],
)
def test_a_value_that_is_none(words: str, own: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        run(*words.split(), "--own", own)


def test_a_name_of_ones_own() -> None:
    done = run("sump_pump_1_3_hp", "--name", "Crock  Pump")
    assert '"Crock  Pump" finds sump_pump_1_3_hp from now on' in done.stderr
    assert run("crock", "pump").stdout.splitlines()[1].startswith("sump_pump_1_3_hp")
    assert "Crock Pump" in json.loads(run("crock pump", "--json").stdout)[0]["aliases"]
    assert run("--names").stdout.splitlines()[1] == "Crock Pump\tsump_pump_1_3_hp"
    assert json.loads(run("--names", "--json").stdout) == [
        {"name": "Crock Pump", "category": "sump_pump_1_3_hp"}
    ]
    assert "already" in run("sump_pump_1_3_hp", "--name", "crock pump").stderr
    done = run("--unname", "CROCK pump")
    assert "no name of your own any more" in done.stderr
    assert "No names of your own" in done.stdout
    assert not run("crock", "pump").stdout.startswith("Sump")


@pytest.mark.parametrize(
    ("words", "name", "says"),
    [
        ("sump_pump_1_3_hp", "fridge", "'fridge' is a name of refrigerator_freezer already"),
        ("sump_pump_1_3_hp", "?!", "no name"),
        ("pump", "crock", "not one category"),
        ("", "crock", "which category"),
    ],
)
def test_a_name_that_is_none(words: str, name: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as told:
        run(*words.split(), "--name", name)
    assert told.value.hint
    assert json.loads(run("--names", "--json").stdout) == []


def test_nothing_is_added_when_something_is_wrong() -> None:
    with pytest.raises(InputError, match="fridge"):
        run("sump_pump_1_3_hp", "--name", "crock", "--name", "fridge")
    with pytest.raises(NotFound, match="no name of your own 'fridge'"):
        run("sump_pump_1_3_hp", "--name", "crock", "--unname", "fridge")
    assert json.loads(run("--names", "--json").stdout) == []


def test_near_categories_are_named_where_words_fit_several() -> None:
    with pytest.raises(InputError) as told:
        run("pump", "--own", "running_w=1,2,3")
    assert "_pump" in str(told.value.hint)


def test_a_look_up_loads_nothing_heavy() -> None:
    script = (
        "import sys; from loadlib.cli import main; sys.argv = ['loadlib', 'lookup', 'fridge']\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "print(*sys.modules, file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert run.stdout.startswith("Refrigerator")
    heavy = {"sqlalchemy", "alembic", "numpy", "rapidfuzz", "pint", "rich", "scipy", "pluggy"}
    assert heavy & set(run.stderr.split()) == set()


def test_the_shells_tab_knows_the_categories(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    found = complete("sump")
    assert found
    assert all(name.startswith("sump") for name in found)
    assert complete("zzyzx") == []
    monkeypatch.setenv("LOADLIB_DB", str(tmp_path / "none.db"))
    assert complete("sump") == []
    assert not (tmp_path / "none.db").exists()
    (tmp_path / "none.db").write_text("no database" * 100, encoding="utf-8")
    assert complete("sump") == []
