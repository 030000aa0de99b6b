"""Bills and usage files on the command line, and the peak that they imply."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loadlib import seed_root

Run = Callable[..., Any]
USAGE = str(Path(str(seed_root())) / "demo" / "usage_hourly.xml")


@pytest.fixture
def ridge(run: Run) -> Run:
    assert run("house", "new", "ridge", "--timezone", "America/Los_Angeles").code == 0
    return run


def test_a_file_is_taken_in_once_and_can_be_deleted(ridge: Run) -> None:
    first = json.loads(ridge("usage", "add", USAGE, "--json").out)
    assert first["reader"] == "espi"
    assert first["added"] > 2000
    again = json.loads(ridge("usage", "add", USAGE, "--json").out)
    assert (again["added"], again["import_id"]) == (0, None)
    (kept,) = json.loads(ridge("usage", "list", "--json").out)
    assert kept["file_name"] == "usage_hourly.xml"
    assert ridge("usage", "remove", str(kept["import_id"])).code == 0
    assert json.loads(ridge("usage", "list", "--json").out) == []
    assert ridge("usage", "remove", "99").code == 3


def test_looking_at_a_file_stores_nothing(ridge: Run) -> None:
    seen = json.loads(ridge("usage", "look", USAGE, "--json").out)
    assert seen["series"][0]["step_s"] == 3600
    assert json.loads(ridge("usage", "list", "--json").out) == []


def test_a_contradiction_is_shown_and_nothing_is_stored(ridge: Run) -> None:
    assert ridge("usage", "bill", "2025-12-01", "2026-01-01", "900").code == 0
    assert "was stored already" in ridge("usage", "bill", "2025-12-01", "2026-01-01", "900").out
    done = ridge("usage", "bill", "2025-12-01", "2026-01-01", "950")
    assert done.code == 4
    assert "contradict" in done.err


@pytest.mark.parametrize(
    "words",
    [
        ["2026-01-01", "2025-12-01", "900"],
        ["2025-12-01", "2026-01-01", "-5"],
        ["2025-12-32", "2026-01-01", "5"],
    ],
)
def test_a_bill_that_is_none_is_refused(words: list[str], ridge: Run) -> None:
    done = ridge("usage", "bill", *words[:2], "--", words[2])
    assert done.code == 2
    assert json.loads(ridge("usage", "list", "--json").out) == []


def test_the_commonest_question_gets_a_range_and_its_basis(run: Run) -> None:
    # 900 kWh in 30 days is a mean of 1.25 kW: arithmetic.
    done = run("usage", "peak", "--kwh", "900", "--days", "30")
    assert "On average the house draws 1.25 kW." in done.out
    assert "nine homes in ten lie" in done.out
    assert "What would narrow it most" in done.out
    assert "licensed electrician" in done.out
    tree = json.loads(run("usage", "peak", "--kwh", "900", "--json").out)
    overall = tree["estimate"]["overall"]
    assert overall["low"] < overall["typical"] < overall["high"]
    assert overall["low"] >= 1250.0
    assert {f["obtained"] for f in tree["formulas"]} <= {"from_memory", "read_in_source"}


def test_measured_data_are_reported_as_measured(ridge: Run) -> None:
    ridge("usage", "add", USAGE)
    done = ridge("usage", "peak", "ridge", "--season", "2,3")
    assert "Measured: 4.19 kW over 60 min" in done.out
    assert "220.87" in done.out
    assert "lacks: 15-minute means" in done.out


@pytest.mark.parametrize(
    ("words", "code", "text"),
    [
        (["usage", "peak", "ridge"], 2, "has no bills and no usage file"),
        (["usage", "peak", "--kwh", "900", "--season", "13"], 2, "are no months"),
        (["usage", "peak", "--kwh", "900", "--window-min", "1"], 2, "load model"),
        (["usage", "peak", "--kwh", "-1"], 2, ""),
        (["usage", "add", "ghost.xml"], 3, "ghost.xml"),
        (["usage", "add", USAGE, "--reader", "ghost"], 3, "ghost"),
    ],
)
def test_a_mistake_is_told(words: list[str], code: int, text: str, ridge: Run) -> None:
    done = ridge(*words)
    assert done.code == code
    assert text in done.err
