"""Houses on the command line: stored at once, undone, exported and taken in."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]


@pytest.fixture
def ridge(run: Run) -> Run:
    """A house with two circuits and two appliances."""
    assert run("house", "new", "ridge", "--service-a", "100").code == 0
    assert run("house", "circuit", "well pump", "--slots", "2-4", "--legs", "AB").code == 0
    assert run("house", "circuit", "kitchen", "--slots", "9", "--breaker-a", "20").code == 0
    assert run("house", "add", "kitchen: refrigerator 115V 6.5A @9 !must !4h").code == 0
    assert run("house", "add", "cellar: sump pump 1/3HP 115V").code == 0
    return run


def shown(run: Run) -> dict[str, Any]:
    tree: dict[str, Any] = json.loads(run("house", "show", "--json").out)
    return tree


def test_what_is_said_is_stored(ridge: Run) -> None:
    tree = shown(ridge)
    assert [c["name"] for c in tree["circuits"]] == ["well pump", "kitchen"]
    first = tree["appliances"][0]
    assert (first["category"], first["circuit"], first["priority"]) == (
        "refrigerator_freezer",
        "kitchen",
        "must",
    )
    assert first["may_be_off_s"] == 14_400
    assert first["label"] == "115V 6.5A"
    assert tree["rooms"] == ["kitchen", "cellar"]


def test_edit_move_rename_remove_and_undo(ridge: Run) -> None:
    assert ridge("house", "change", "sump_pump", "--label", "115V 7.6A", "--count", "2").code == 0
    assert ridge("house", "move", "sump_pump", "--room", "hall", "--circuit", "kitchen").code == 0
    sump = shown(ridge)["appliances"][1]
    assert (sump["label"], sump["count"], sump["room"], sump["circuit"]) == (
        "115V 7.6A",
        2,
        "hall",
        "kitchen",
    )
    assert ridge("house", "rename", "kitchen", "galley", "--what", "circuit").code == 0
    assert shown(ridge)["appliances"][1]["circuit"] == "galley"
    assert ridge("house", "remove", "sump_pump").code == 0
    assert len(shown(ridge)["appliances"]) == 1
    assert "removed sump_pump" in ridge("house", "undo").out
    assert len(shown(ridge)["appliances"]) == 2
    assert ridge("house", "redo").code == 0
    assert len(shown(ridge)["appliances"]) == 1
    assert "removed sump_pump" in ridge("house", "history").out


def test_a_house_is_exported_and_taken_in_equal(ridge: Run) -> None:
    assert ridge("house", "export", "--out", "ridge.toml").code == 0
    before = shown(ridge)
    done = ridge("house", "import", "ridge.toml")
    assert done.code == 2, "two houses of one name are refused"
    assert ridge("house", "remove", "ridge", "--what", "house").code == 0
    assert ridge("house", "import", "ridge.toml").code == 0
    assert shown(ridge) == before


def test_a_broken_house_file_stores_nothing(ridge: Run) -> None:
    Path("bad.toml").write_text('format = "loadlib-house"\nversion = 1\nname = "x"\nrooom = 1\n')
    done = ridge("house", "import", "bad.toml")
    assert done.code == 4
    assert "bad.toml, line 4" in done.err
    assert "meant rooms?" in done.err
    assert len(json.loads(ridge("house", "list", "--json").out)) == 1


def test_an_appliance_list_is_taken_in_whole_or_not_at_all(ridge: Run) -> None:
    Path("list.csv").write_text(
        "name,count,room,label,medical,may_be_off_h\n"
        "chest freezer,1,cellar,115V 1.5A,,24\n"
        "cpap,1,bedroom,,yes,\n"
    )
    assert ridge("house", "take", "list.csv").code == 0
    added = shown(ridge)["appliances"][2:]
    assert [(a["category"], a["medical"], a["may_be_off_s"]) for a in added] == [
        ("freezer_chest", False, 86_400.0),
        ("cpap", True, None),
    ]
    Path("bad.csv").write_text("name,count\nkettle,1\ntoaster,many\n")
    done = ridge("house", "take", "bad.csv")
    assert done.code == 4
    assert "bad.csv, line 3: count 'many'" in done.err
    assert len(shown(ridge)["appliances"]) == 4


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no column is headed name"),
        ("name,colour\nx,red\n", "heading 'colour' is not known"),
        ("name,medical\nkettle,perhaps\n", "write yes or no"),
        ("name,may_be_off_h\nkettle,soon\n", "not a number of hours"),
        ("name\nkettle,1,2\n", "more cells than headings"),
        ("name,circuit\nkettle,barn\n", "no circuit 'barn'"),
        ("name,priority\nkettle,vital\n", "must, wanted, off"),
        ("name\n\x00qqqqqqq\n", ""),
    ],
)
def test_a_row_that_can_not_be_taken_is_named(text: str, words: str, ridge: Run) -> None:
    Path("list.csv").write_text(text)
    done = ridge("house", "take", "list.csv")
    assert done.code == 4
    assert words in done.err
    assert len(shown(ridge)["appliances"]) == 2


def test_a_walk_is_stored_line_by_line_and_goes_on(run: Run) -> None:
    lines = "cellar:\nsump pump 1/3HP 115V !must\nfreezer 115V 1.5A\n"
    done = run("walk", "ridge", stdin=lines)
    assert done.code == 0
    assert "All is stored." in done.out
    again = run("walk", stdin="?\nstop\n")
    assert "ridge: 2 appliances" in again.out
    assert [a["room"] for a in shown(run)["appliances"]] == ["cellar", "cellar"]


@pytest.mark.parametrize(
    "words",
    [
        ["house", "change", "ghost", "--count", "2"],
        ["house", "move", "ghost", "--room", "x"],
        ["house", "remove", "ghost"],
        ["house", "circuit", "c", "--legs", "C"],
        ["house", "circuit", "c", "--slots", "eleven"],
        ["house", "change", "refrigerator", "--priority", "vital"],
        ["house", "change", "refrigerator", "--off-for", "soon"],
        ["house", "rename", "a", "b", "--what", "planet"],
        ["house", "restore", "ghost"],
    ],
)
def test_a_mistake_changes_nothing(words: list[str], ridge: Run) -> None:
    before = shown(ridge)
    done = ridge(*words)
    assert done.code in (2, 3)
    assert done.err.startswith("loadlib: ")
    assert shown(ridge) == before
