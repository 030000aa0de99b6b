"""Houses on the command line: stored at once, undone, exported and taken in."""

from __future__ import annotations

import json
import subprocess
import sys
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


def test_the_house_itself_is_changed_with_units_as_typed(ridge: Run) -> None:
    words = ("--area", "170 m2", "--service-a", "150 A", "--timezone", "america/new_york")
    assert ridge("house", "set", *words, "--note", "on the ridge").code == 0
    tree = shown(ridge)
    assert tree["area_ft2"] == pytest.approx(1829.86, abs=0.01)  # 1 ft² = 0.09290304 m² exactly
    assert (tree["service_a"], tree["timezone"], tree["note"]) == (
        150,
        "America/New_York",
        "on the ridge",
    )
    assert ridge("house", "undo").code == 0
    assert (shown(ridge)["service_a"], shown(ridge)["area_ft2"]) == (100, None)
    assert ridge("house", "set", "--area", "1,800 square feet").code == 0
    assert shown(ridge)["area_ft2"] == 1800
    done = ridge("house", "set", "--system", "230")
    assert done.code == 2
    assert "circuit well pump: leg 'AB' is not in a 230 system" in done.err
    head = ridge("house", "show").out.splitlines()[0]
    assert head == "ridge: split phase, 120/240 V, 100 A service, 1,800 ft²"


def test_own_figures_of_an_appliance_are_set_and_taken_away(ridge: Run) -> None:
    change = ("house", "change", "refrigerator")
    assert ridge(*change, "--running", "0.12 kW", "--off-for", "90 min").code == 0
    first = shown(ridge)["appliances"][0]
    assert first["running_w"] == {"low": 120, "typical": 120, "high": 120}
    assert first["may_be_off_s"] == 5400
    assert ridge(*change, "--running", "90 120 180", "--category", "compact refrigerator").code == 0
    first = shown(ridge)["appliances"][0]
    assert first["running_w"] == {"low": 90, "typical": 120, "high": 180}
    assert first["category"] == "refrigerator_compact"
    assert ridge(*change, "--running", "", "--off-for", "").code == 0
    first = shown(ridge)["appliances"][0]
    assert (first["running_w"], first["may_be_off_s"]) == (None, None)


def test_what_would_have_been_asked_is_printed_as_open(ridge: Run) -> None:
    assert "open: microwave: is 1000 W on the door" in ridge("house", "add", "microwave 1000W").out
    assert "is 1000 W on the door" in ridge("walk", stdin="stop\n").out


def test_every_change_answers_as_json(ridge: Run) -> None:
    Path("list.csv").write_text("name\nkettle\n")
    ridge("house", "export", "--out", "ridge.toml")
    for words, name in (
        (["new", "barn"], "barn"),
        (["set", "ridge", "--service-a", "60"], "ridge"),
        (["add", "hall: lamp 9W", "--house", "ridge"], "ridge"),
        (["change", "lamp", "--count", "2", "--house", "ridge"], "ridge"),
        (["move", "lamp", "--room", "attic", "--house", "ridge"], "ridge"),
        (["circuit", "attic", "--slots", "11", "--house", "ridge"], "ridge"),
        (["rename", "attic", "loft", "--what", "room", "--house", "ridge"], "ridge"),
        (["rename", "attic", "loft", "--what", "circuit", "--house", "ridge"], "ridge"),
        (["take", "list.csv", "--house", "ridge"], "ridge"),
        (["remove", "kettle", "--house", "ridge"], "ridge"),
        (["undo", "ridge"], "ridge"),
        (["redo", "ridge"], "ridge"),
        (["remove", "barn", "--what", "house"], "barn"),
        (["restore", "barn"], "barn"),
        (["rename", "barn", "shed"], "shed"),
        (["import", "ridge.toml", "--replace"], "ridge"),
    ):
        done = ridge("house", *words, "--json")
        assert done.code == 0, done.err
        tree = json.loads(done.out)
        assert tree["done"]
        assert tree["house"] == name
    newest = json.loads(ridge("house", "history", "ridge", "--json").out)[0]
    assert newest["what"] == "imported ridge.toml"


def test_a_leg_that_was_not_said_is_guessed_from_the_slot_and_marked(ridge: Run) -> None:
    kitchen = shown(ridge)["circuits"][1]
    assert (kitchen["legs"], kitchen["leg_guessed"]) == ("A", True)
    assert "missing: leg of: kitchen" in ridge("house", "show").out
    ridge("house", "circuit", "kitchen", "--legs", "b")
    assert [c["leg_guessed"] for c in shown(ridge)["circuits"]] == [False, False]


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
        ("name,label\nkettle,120V 10A\nheater,10MW\n", "list.csv, line 3: heater: '10MW'"),
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


def test_a_walk_that_is_killed_has_lost_nothing(run: Run) -> None:
    code = "import sys; from loadlib.cli import main; sys.argv[1:] = ['walk', 'ridge']; main()"
    walk = subprocess.Popen(
        [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert walk.stdin is not None
    assert walk.stdout is not None
    walk.stdin.write("cellar: sump pump 1/3HP 115V !must\nmicrowave 1000W\n")
    walk.stdin.flush()
    seen = ""
    # It now waits for the key: door or back.
    while not seen.endswith("Enter: later] "):
        letter = walk.stdout.read(1)
        assert letter, f"it ended: {seen}"
        seen += letter
    walk.kill()
    walk.wait(timeout=60)
    walk.stdin.close()
    walk.stdout.close()
    assert [a["label"] for a in shown(run)["appliances"]] == ["1/3HP 115V", "1000W"]
    again = run("walk", stdin="ask\nd\nstop\n")
    assert "ridge: 2 appliances" in again.out
    assert shown(run)["appliances"][1]["label"] == "OUTPUT 1000W"


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
        ["house", "change", "refrigerator"],
        ["house", "change", "refrigerator", "--category", "moon lamp"],
        ["house", "change", "refrigerator", "--label", "10MW"],
        ["house", "change", "refrigerator", "--running", "2 kVA"],
        ["house", "change", "refrigerator", "--running", "-5 W"],
        ["house", "add", "heater 0V 5A"],
        ["house", "add", "heater 10MW"],
        ["house", "add", "generator 7500W"],
        ["house", "add", "lamp", "--category", "moon lamp"],
        ["house", "set"],
        ["house", "set", "--service-a", "-5"],
        ["house", "set", "--service-a", "0"],
        ["house", "set", "--area", "1800"],
        ["house", "set", "--area", "20 ft"],
        ["house", "set", "--timezone", "Moon/Base"],
        ["house", "set", "--system", "230"],
        ["house", "circuit", "c", "--breaker-a", "-20"],
        ["house", "circuit", "c", "--breaker-a", "nan"],
        ["house", "circuit", "c", "--slots", "0"],
        ["house", "circuit", "c", "--depends-on", "ghost"],
    ],
)
def test_a_mistake_changes_nothing(words: list[str], ridge: Run) -> None:
    before = shown(ridge)
    done = ridge(*words)
    assert done.code in (2, 3)
    assert done.err.startswith("loadlib: ")
    assert shown(ridge) == before
