"""Profiles on the command line: made from a house file, shown, exported, compared."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loadlib import LoadProfile
from loadlib.cli.plugins import _verdict

Run = Callable[..., Any]

HOUSE = """format = "loadlib-house"
version = 1
name = "ridge"

[[appliance]]
id = "well-pump"
name = "deep-well pump"
category = "well_pump_submersible_1_hp"
label = "1HP 230V SFA 9.8 LRA 55"

[[appliance]]
id = "refrigerator"
name = "refrigerator"
category = "refrigerator_freezer"
label = "115V 60Hz 6.5A"
"""


@pytest.fixture
def ridge(run: Run) -> Run:
    Path("ridge.toml").write_text(HOUSE)
    assert run("profile", "make", "ridge.toml", "--out", "ridge.json").code == 0
    return run


def test_the_answer_has_all_its_parts_and_its_cautions(ridge: Run) -> None:
    done = ridge("profile", "make", "ridge.toml")
    for words in (
        "Energy of a year",
        "Mean demand",
        "Highest hour",
        "Leg A",
        "Leg B",
        "Hardest start     deep-well pump",
        "Known, from the label: deep-well pump, refrigerator",
        "CAUTION",
        "licensed electrician",
    ):
        assert words in done.out


def test_the_same_seed_gives_the_same_bytes(ridge: Run) -> None:
    first = Path("ridge.json").read_bytes()
    assert ridge("profile", "make", "ridge.toml", "--out", "again.json").code == 0
    assert Path("again.json").read_bytes() == first


@pytest.mark.parametrize("columns", ["45", "120"])
def test_pictures_fit_the_terminal(
    columns: str, ridge: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    done = ridge("profile", "show", "ridge.json", "--month", "7")
    assert done.code == 0
    assert max(map(len, done.out.splitlines())) <= int(columns)
    assert "\x1b" not in done.out
    assert len([line for line in done.out.splitlines() if line[:2].isdigit()]) >= 24


def test_export_and_read_back(ridge: Run) -> None:
    profile = LoadProfile.from_json(Path("ridge.json").read_text())
    assert ridge("profile", "export", "ridge.json", "-o", "p.csv", "--as", "csv").code == 0
    shown = ridge("profile", "show", "p.csv", "--json")
    assert LoadProfile.from_json(shown.out) == profile
    assert ridge("profile", "export", "ridge.json", "-o", "p.arrow", "--as", "arrow").code == 0
    assert Path("p.arrow").stat().st_size > 1000
    done = ridge("profile", "export", "ridge.json", "-o", "x", "--as", "odd")
    assert done.code == 3
    assert not Path("x").exists()


def test_compare_says_what_changed(ridge: Run) -> None:
    Path("two.toml").write_text(HOUSE.replace("LRA 55", "LRA 35"))
    ridge("profile", "make", "two.toml", "--out", "two.json")
    done = ridge("profile", "compare", "ridge.json", "two.json")
    assert "deep-well pump, at a start" in done.out
    assert ridge("profile", "compare", "ridge.json", "ridge.json").out.startswith(
        "The two profiles agree"
    )
    rows = json.loads(ridge("profile", "compare", "ridge.json", "two.json", "--json").out)
    assert any(row["what"] == "deep-well pump, at a start" for row in rows)


def test_plugins_say_what_was_believed(ridge: Run) -> None:
    done = ridge("plugins", "heard", "ridge.json", "--from", "nameplate")
    assert "nameplate:" in done.out
    assert "believed" in done.out
    assert "standard deviations" in done.out


@pytest.mark.parametrize(
    ("weight", "sigmas", "words"),
    [
        (1.0, -0.4, "believed; 0.4 of its own"),
        (1.0, 4.1, "contradicted: it counts, but is 4.1 of its own"),
        (0.9, -4.1, "contradicted: it counts, but is 4.1 of its own"),
        (0.5, 3.0, "believed in part (50%); 3.0 of its own"),
        (0.1, 9.0, "hardly believed (10%); 9.0 of its own"),
    ],
)
def test_what_is_far_from_the_result_is_not_called_believed(
    weight: float, sigmas: float, words: str
) -> None:
    assert _verdict(weight, sigmas).startswith(words)


def test_plugins_are_listed_without_being_imported(run: Run) -> None:
    records = json.loads(run("plugins", "list", "--json").out)
    assert {"standby", "service", "report"} <= {record["name"] for record in records}


def test_schema_is_printed(run: Run) -> None:
    assert json.loads(run("profile", "schema").out)["$id"] == "urn:loadlib:profile:1"


def test_an_estimator_that_nobody_brings_is_refused(ridge: Run) -> None:
    done = ridge("profile", "make", "ridge.toml", "--from", "ghost")
    assert done.code == 3
    assert "nameplate" in done.err


def test_a_file_for_a_plugin_must_be_there(ridge: Run) -> None:
    assert ridge("profile", "make", "ridge.toml", "--file", "x=ghost.csv").code == 2
    assert ridge("profile", "make", "ridge.toml", "--file", "nonsense").code == 2


def test_a_place_that_can_not_be_written_leaves_nothing(ridge: Run) -> None:
    done = ridge("profile", "make", "ridge.toml", "--out", "no/such/folder/p.json")
    assert done.code == 1
    assert "can't be written" in done.err


def test_the_demo_runs_and_writes_the_document(run: Run) -> None:
    done = run("demo")
    assert done.code == 0
    profile = LoadProfile.from_json(Path("farmhouse-profile.json").read_text())
    assert profile.house == "farmhouse on the ridge"
    assert profile.hardest_start() is not None
    assert "read as" in done.out
