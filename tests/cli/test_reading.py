"""loadlib reading: noted in plain words, wrong ones refused, nothing half-stored."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loadlib.core.cautions import CLAMP
from loadlib.store.seed import seed_root

Run = Callable[..., Any]


@pytest.fixture
def home(run: Run) -> Run:
    assert run("house", "import", str(seed_root() / "demo" / "farmhouse.toml")).code == 0
    return run


def add(home: Run, *words: str) -> Any:
    return home("reading", "add", *words)


def stored(home: Run) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(home("reading", "list", "--json").out)
    return found


def squashed(text: str) -> str:
    return " ".join(text.split())


def test_a_leg_is_noted_with_what_it_is_taken_as(home: Run) -> None:
    done = add(home, "leg A 23.4 A running")
    assert done.code == 0
    assert "stored as reading 1: leg A, 23.4 A, clamp, running" in done.out
    assert "taken as: leg A, at 2.2 to 2.9 kW" in done.out
    assert CLAMP[0] in squashed(done.out)
    assert stored(home)[0]["place"] == "leg A"


def test_ways_without_an_open_panel(home: Run) -> None:
    done = add(home, "2.84 kW then 1.91 kW off kitchen left", "--by", "meter")
    assert "change 907 to 953 W" in done.out
    assert CLAMP[0] not in squashed(done.out)
    done = add(home, "refrigerator 9.2 kWh over 7 days", "--by", "plug")
    assert "energy 8.9 to 9.5 kWh" in done.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("well pump 8.9 A running",), "How many did you clamp?"),
        (("well pump 17.8 A running", "--legs", "AB"), "currents of both legs were added"),
        (("dryer 0.02 A running", "--legs", "A"), "around a whole cable"),
        (("leg B -3 A running",), "Negative amps"),
        (("cellar pump 3 A running",), "no circuit or appliance 'cellar pump'"),
        (("range 20 A",), "what did the clamp catch?"),
        (("refrigerator 122 W",), "which instrument"),
        (("refrigerator 122 W", "--by", "nose"), "clamp, plug, meter"),
        (("leg A 3 A running", "--at", "noon"), "'noon' is no time"),
        (("leg A 3 A running", "--at", "2026-01-01T10:00"), "no offset"),
        (("leg A 3 A running", "--accuracy", "good"), "2% + 3"),
        (("leg A 3 A running", "--outdoor", "cold"), "'cold'"),
        (("leg A 3 A 150 V running",), "open neutral"),
        (("leg A 3 A running", "--accuracy", "2.5.5%"), "2% + 3"),
        (("leg A 3 A running", "--outdoor", "1.2.3 C"), "'1.2.3 C'"),
        (("leg A 3 A running", "--outdoor", "-300 C"), "no outdoor temperature"),
        (("leg A 3 A running", "--at", "1026-01-01T10:00Z"), "before 1990"),
        (("leg A 3 A running", "--legs", "B"), "leg B was clamped, but leg A lies on A"),
        (("2.84 kW then 1.91 kW", "--by", "meter"), "What was switched off in between?"),
        (("whole 2,840 W", "--by", "meter"), "may be 2840 or 2.84"),
    ],
)
def test_what_is_wrong_is_told_and_not_stored(home: Run, words: tuple[str, ...], told: str) -> None:
    done = add(home, *words)
    assert done.code != 0
    assert told in squashed(done.err)
    assert stored(home) == []


def test_a_question_can_be_answered_beforehand(home: Run) -> None:
    assert add(home, "leg A 3 A 150 V running", "--sure").code == 0
    assert len(stored(home)) == 1


def test_options_are_kept(home: Run) -> None:
    done = add(
        home,
        "well pump 8.9 A running",
        *("--legs", "A", "--accuracy", "2% + 3", "--outdoor", "23 F"),
        *("--at", "2026-01-10T18:40-05:00", "--note", "windy", "--json"),
    )
    assert json.loads(done.out)["reading"] == 1
    assert CLAMP[0] in done.err
    assert stored(home)[0]["at"] == "2026-01-10T18:40:00-05:00"


def test_readings_are_removed_by_number(home: Run) -> None:
    add(home, "leg A 3 A running")
    assert "deleted reading 1" in home("reading", "remove", "1").out
    gone = home("reading", "remove", "1")
    assert gone.code == 3
    assert stored(home) == []


def test_next_ranks_and_warns(home: Run) -> None:
    done = home("reading", "next")
    assert done.code == 0
    assert done.out.startswith("1. Enter twelve months of bills")
    assert "(qualified person only)" in done.out
    assert CLAMP[0] in squashed(done.out)
    told = json.loads(home("reading", "next", "--json").out)
    assert told["suggestions"][0]["instrument"] == "utility meter"
    assert told["cautions"]


def test_next_reads_a_document(home: Run, tmp_path: Path) -> None:
    path = tmp_path / "p.json"
    assert home("profile", "make", "farmhouse on the ridge", "-o", str(path)).code == 0
    assert home("reading", "next", str(path)).out == home("reading", "next").out


def log_file(tmp_path: Path, heading: str, row: str) -> Path:
    begin = np.datetime64("2026-01-05T00:00:00")
    lines = [f"{begin + np.timedelta64(k, 's')},{row}".replace("T", " ") for k in range(60)]
    path = tmp_path / "log.csv"
    path.write_text("\n".join([heading, *lines]) + "\n", encoding="utf-8")
    return path


def test_a_log_is_stored_once(home: Run, tmp_path: Path) -> None:
    path = log_file(tmp_path, "time,leg A (A),leg B (A)", "10,5")
    done = home("reading", "log", str(path))
    assert done.code == 0
    assert "leg A: 60 values of 1 s" in done.out
    assert CLAMP[0] in squashed(done.out)
    again = home("reading", "log", str(path), "--json")
    assert json.loads(again.out)["added"] == 0


def test_a_circuit_of_240_volts_counts_its_volts(home: Run, tmp_path: Path) -> None:
    path = log_file(tmp_path, "time,CH1 (A)", "10")
    done = home("reading", "log", str(path), "--column", "circuit dryer=CH1 (A)")
    assert "amps at nominal 240 V" in done.out


@pytest.mark.parametrize(
    ("heading", "words", "told"),
    [
        ("time,Dryer (A)", (), "circuit dryer: 60 values"),
        ("time,Water Heater current [A]", (), "circuit water heater: amps at nominal 240 V"),
        ("time,refrigerator (A)", (), "appliance refrigerator: 60 values"),
        ("time,egg incubator (W)", (), "appliance incubator: 60 values"),
        ("time,CH1", ("--column", "Furnace=CH1", "--unit", "a"), "circuit furnace: 60 values"),
        ("time,CH1 (A)", ("--column", "appliance Refrigerator=CH1 (A)"), "appliance refrigerator"),
    ],
)
def test_places_of_a_log_are_those_of_the_house(
    home: Run, tmp_path: Path, heading: str, words: tuple[str, ...], told: str
) -> None:
    """As the house spells them: a log of any other place would be heard by nobody."""
    done = home("reading", "log", str(log_file(tmp_path, heading, "1")), *words)
    assert done.code == 0
    assert told in squashed(done.out)
    place = told.partition(":")[0]
    assert f"{place}: " in home("reading", "logged").out


def test_an_appliance_without_a_circuit_has_the_volts_of_its_kind(run: Run, tmp_path: Path) -> None:
    assert run("house", "new", "shed", "--timezone", "Etc/UTC").code == 0
    assert run("house", "add", "water heater").code == 0
    done = run("reading", "log", str(log_file(tmp_path, "time,water heater (A)", "10")))
    assert "amps at nominal 240 V" in done.out
    assert "highest" in run("reading", "logged").out
    assert "2.4 kVA" in run("reading", "logged").out


def test_one_place_is_in_one_column(home: Run, tmp_path: Path) -> None:
    path = log_file(tmp_path, "time,refrigerator (A),appliance refrigerator (A)", "1,1")
    done = home("reading", "log", str(path))
    assert "two columns are appliance refrigerator" in done.err


def test_more_than_a_breaker_carries_is_remarked_or_refused(home: Run, tmp_path: Path) -> None:
    """15 A: 300 A is no start; 60 A for a minute neither, for a second it may be."""
    path = log_file(tmp_path, "time,refrigerator (A)", "350")
    done = home("reading", "log", str(path), "--column", "kitchen left=refrigerator (A)")
    assert done.code == 4
    assert "log.csv: circuit kitchen left: up to 350 A, behind a breaker of 20 A" in done.err
    assert home("usage", "list", "--json").out.strip() == "[]"
    begin = np.datetime64("2026-01-05T00:00:00")
    lines = [f"{begin + np.timedelta64(k, 'm')},60".replace("T", " ") for k in range(60)]
    path.write_text("\n".join(["time,kitchen left (A)", *lines]) + "\n", encoding="utf-8")
    done = home("reading", "log", str(path))
    assert "up to 60 A, behind a breaker of 20 A: are unit, turns and place" in squashed(done.out)


def test_what_was_there_already_is_counted(home: Run, tmp_path: Path) -> None:
    home("reading", "log", str(log_file(tmp_path, "time,leg A (A)", "10")))
    more = home("reading", "log", str(log_file(tmp_path, "time,leg A (A),leg B (A)", "10,5"))).out
    assert "60 values were there already" in more
    assert "stored 60 values" in more


def test_values_that_differ_are_counted(home: Run, tmp_path: Path) -> None:
    home("reading", "log", str(log_file(tmp_path, "time,leg A (A)", "10")))
    other = log_file(tmp_path, "time,leg A (A)", "12")
    assert home("reading", "log", str(other)).code == 4
    kept = home("reading", "log", str(other), "--contradictions", "keep").out
    assert "60 values differ from what was stored: what was stored stays" in kept
    new = home("reading", "log", str(other), "--contradictions", "replace").out
    assert "60 values differ from what was stored: these count now" in new


@pytest.mark.parametrize(
    ("heading", "words", "told"),
    [
        ("time,sauna (A)", (), "no circuit or appliance 'sauna'"),
        ("time,CH1 (A)", ("--column", "sauna=CH1 (A)"), '--column "appliance ID=HEADING"'),
        ("time,CH1 (A)", ("--column", "leg C=CH1 (A)"), "leg 'C' is not in a 120/240 system"),
        ("time,CH1 (A)", ("--column", "leg AB=CH1 (A)"), "each leg's own column"),
        ("time,current (A)", (), "one current of a house of 2 legs"),
        ("time,CH1", ("--column", "leg A=CH1"), "--unit A"),
        ("time,CH1", ("--column", "leg A=CH1", "--unit", "kWh"), "--unit 'kWh'"),
        ("time,leg A (A)", ("--unit", "A"), "--unit without --column"),
        ("time,leg A (A)", ("--column", "leg A"), "leg A=HEADING"),
        ("time,leg A (A)", ("--column", "leg B=CH9"), "no column 'ch9'"),
    ],
)
def test_logs_of_places_nobody_knows_are_not_stored(
    home: Run, tmp_path: Path, heading: str, words: tuple[str, ...], told: str
) -> None:
    done = home("reading", "log", str(log_file(tmp_path, heading, "10")), *words)
    assert done.code != 0
    assert told in squashed(done.err)
    assert home("usage", "list", "--json").out.strip() == "[]"


def test_dates_of_a_log_may_have_to_be_told_apart(home: Run, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    lines = [f"03/04/2026 10:00:{s:02d},5" for s in range(60)]
    path.write_text("\n".join(["time,leg A (A)", *lines]) + "\n", encoding="utf-8")
    unsure = home("reading", "log", str(path))
    assert unsure.code != 0
    assert "day" in unsure.err
    assert home("reading", "log", str(path), "--day-first").code == 0
    told = home("reading", "logged").out
    assert "2026-04-03" in told


def test_a_log_that_is_not_there(home: Run) -> None:
    assert home("reading", "log", "nowhere.csv").code == 3


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("refrigerator 9000 W", "--by", "plug"), "9,000 W; its label or the catalog say about"),
        (("refrigerator 900 kWh over 7 days", "--by", "plug"), "a mean of 5,357 W"),
        (("refrigerator 0 W", "--by", "plug"), "Was it off or idle?"),
        (("refrigerator 14 A running",), "14 A; its label or the catalog say about"),
        (("dryer 0.3 A running", "--legs", "A"), "0.3 A while it was running?"),
    ],
)
def test_watts_far_from_what_is_usual_are_asked_about(
    home: Run, words: tuple[str, ...], told: str
) -> None:
    done = add(home, *words)
    assert done.code == 2
    assert told in squashed(done.err)
    assert stored(home) == []
    assert add(home, *words, "--sure").code == 0
    assert len(stored(home)) == 1


@pytest.mark.parametrize(
    "words",
    [
        "refrigerator 150 W",
        "refrigerator 9.2 kWh over 7 days",
        "range 9 W cycling",
        "2.84 kW then 1.91 kW off kitchen left",
    ],
)
def test_what_an_appliance_may_well_draw_is_not_asked_about(home: Run, words: str) -> None:
    assert add(home, words, "--by", "plug").code == 0


def test_amps_and_watts_together_are_used(home: Run) -> None:
    """Five digits of 0.1 A are no ampere: the reading once stopped every estimator."""
    done = add(home, "refrigerator 1.4 A 122 W running")
    assert done.code == 0
    assert "taken as: refrigerator, running 113 to 131 W" in done.out
    made = home("profile", "make", "farmhouse on the ridge")
    assert "Left out: plugin" not in made.out


def test_a_slot_that_was_switched_off_is_its_circuit(home: Run) -> None:
    done = add(home, "2.84 kW, 1.91 with slot 5 off", "--by", "meter")
    assert done.code == 0
    assert "change 907 to 953 W" in done.out


def test_one_clamp_reads_no_whole_house_of_two_legs(home: Run) -> None:
    done = add(home, "whole 12 A running")
    assert done.code == 2
    assert 'Say which: "leg A 12 A". With all of them read: "whole A 12 B 12"' in done.err
    assert stored(home) == []
    assert add(home, "whole A 12 B 9 running").code == 0
    assert add(home, "whole 2.8 kW", "--by", "meter").code == 0


def test_a_reading_that_is_still_to_come(home: Run) -> None:
    done = add(home, "leg A 12 A running", "--at", "2190-01-01T10:00-05:00")
    assert done.code == 2
    assert "still to come" in done.err


def test_what_is_kept_and_not_used_is_said(home: Run) -> None:
    assert "kept; no estimate is taken from it" in add(home, "leg A 12 A inrush").out


def test_how_to_begin_and_which_numbers_there_are(home: Run) -> None:
    done = home("reading", "list")
    assert "reading next" in done.err
    assert "has no reading" in home("reading", "remove", "7").err
    add(home, "leg A 3 A running")
    assert "Near: 1" in home("reading", "remove", "7").err


def test_near_names_are_said_once(home: Run) -> None:
    near = add(home, "fridge 120 W", "--by", "plug").err.partition("Near: ")[2].split(", ")
    assert len(near) == len(set(near))
    assert "refrigerator" in near[0]
