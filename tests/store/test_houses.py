"""Houses: kept at once, changed one transaction at a time, undone and done again."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.household import PRIORITIES, Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.core.readings import Reading
from loadlib.errors import CatalogError, InputError, NotFound
from loadlib.store import edits, houses, readings
from loadlib.store.database import Database
from loadlib.store.house_rows import head_row, pack, unpack

NAME = "Ridge farmhouse"


@pytest.fixture
def stored(db: Database, farmhouse: House) -> House:
    houses.create(farmhouse, db)
    return farmhouse


def test_a_house_comes_back_as_it_was(db: Database, stored: House) -> None:
    assert houses.load(NAME, db) == stored
    assert houses.load("RIDGE FARMHOUSE", db) == stored


def test_every_field_of_a_house_has_a_column() -> None:
    house = House("x")
    parts = {"rooms", "circuits", "appliances"}
    assert {f.name for f in fields(House) if f.init} == set(head_row(house)) | parts


names = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)
numbers = st.none() | st.floats(0, 1e6)
amps = st.none() | st.floats(0.1, 4000)
circuits = st.builds(
    Circuit,
    name=names,
    slots=st.lists(st.integers(1, 60), max_size=3, unique=True).map(tuple),
    legs=st.sampled_from(["A", "B", "AB"]),
    breaker_a=amps,
    leg_guessed=st.booleans(),
    note=names,
)
appliances = st.builds(
    Appliance,
    id=names,
    name=names,
    category=names,
    count=st.integers(1, 99),
    room=names,
    label=names,
    legs=st.sampled_from(["", "A", "AB"]),
    priority=st.sampled_from(PRIORITIES),
    medical=st.booleans(),
    may_be_off_s=numbers,
    if_off=names,
    running_w=st.none()
    | st.lists(st.floats(0, 1e6), min_size=3, max_size=3).map(lambda x: Range(*sorted(x))),
    note=names,
)
any_house = st.builds(
    House,
    name=st.just(NAME),
    system=st.just("120/240"),
    service_a=amps,
    area_ft2=amps,
    timezone=names,
    rooms=st.lists(names, max_size=3).map(tuple),
    circuits=st.lists(circuits, max_size=4, unique_by=lambda c: c.name.casefold()).map(tuple),
    appliances=st.lists(appliances, max_size=4, unique_by=lambda a: a.id).map(tuple),
    note=names,
)


@given(any_house)
@settings(max_examples=100, deadline=None)
def test_the_journals_document_round_trips(house: House) -> None:
    assert unpack(pack(house)) == house


@given(before=any_house, after=any_house)
@settings(max_examples=40, deadline=None)
def test_any_house_can_become_any_other(
    tmp_path_factory: pytest.TempPathFactory, before: House, after: House
) -> None:
    from loadlib.store.database import open_database

    db = open_database(tmp_path_factory.getbasetemp() / "any.db")
    houses.save(before, db=db)
    houses.save(after, "swapped", db)
    assert houses.load(NAME, db) == after
    if before != after:
        assert houses.undo(NAME, db) == "swapped"
        assert houses.load(NAME, db) == before


def test_two_houses_of_one_name_are_refused(db: Database, stored: House) -> None:
    with pytest.raises(InputError, match="already"):
        houses.create(House("ridge FARMHOUSE"), db)
    houses.create(House("Cabin"), db)
    with pytest.raises(InputError, match="already"):
        houses.rename("Cabin", NAME, db)
    assert houses.load(NAME, db) == stored


@pytest.mark.parametrize("name", ["", "  ", " x", "a\nb", "x" * 81])
def test_a_name_that_is_none(db: Database, name: str) -> None:
    with pytest.raises(InputError, match="house name"):
        houses.create(House(name), db)
    assert houses.list_houses(db) == []


def test_an_unknown_house_has_near_names(db: Database, stored: House) -> None:
    with pytest.raises(NotFound) as caught:
        houses.load("Rigde farmhouse", db)
    assert caught.value.near == (NAME,)


def test_the_house_that_is_meant(db: Database, farmhouse: House) -> None:
    with pytest.raises(NotFound, match=r"^no house yet") as told:
        houses.pick("", db)
    assert "loadlib house new" in str(told.value.hint)
    with pytest.raises(NotFound, match="no house 'Castle'"):
        houses.pick("Castle", db)
    houses.create(farmhouse, db)
    assert houses.pick("", db) == NAME
    assert houses.pick("ridge farmhouse", db) == NAME
    houses.create(House("Cabin"), db)
    with pytest.raises(InputError, match="2 houses"):
        houses.pick("", db)
    with pytest.raises(NotFound):
        houses.pick("Castle", db)


def test_the_list_counts_and_puts_the_last_changed_first(db: Database, stored: House) -> None:
    houses.create(House("Cabin"), db)
    houses.edit(NAME, lambda h: edits.add_room(h, "attic"), "added attic", db)
    first, second = houses.list_houses(db)
    assert (first.name, first.circuits, first.appliances) == (NAME, 2, 3)
    assert second.name == "Cabin"


def add(name: str) -> Callable[[House], House]:
    return lambda house: edits.add_appliance(house, Appliance("", name, "sump_pump", room="barn"))


def test_undo_and_redo_walk_the_journal(db: Database, stored: House) -> None:
    one = houses.edit(NAME, add("Fan"), "added Fan", db)
    two = houses.edit(NAME, add("Lamp"), "added Lamp", db)
    assert houses.undo(NAME, db) == "added Lamp"
    assert houses.load(NAME, db) == one
    assert houses.undo(NAME, db) == "added Fan"
    assert houses.load(NAME, db) == stored
    with pytest.raises(NotFound, match="change to undo"):
        houses.undo(NAME, db)
    assert houses.redo(NAME, db) == "added Fan"
    assert houses.redo(NAME, db) == "added Lamp"
    assert houses.load(NAME, db) == two
    with pytest.raises(NotFound, match="change to redo"):
        houses.redo(NAME, db)


def test_a_new_change_ends_what_could_be_done_again(db: Database, stored: House) -> None:
    houses.edit(NAME, add("Fan"), "added Fan", db)
    houses.undo(NAME, db)
    houses.edit(NAME, add("Lamp"), "added Lamp", db)
    with pytest.raises(NotFound):
        houses.redo(NAME, db)
    assert [(c.what, c.undone) for c in houses.journal(NAME, db)] == [("added Lamp", False)]


def test_a_change_that_changes_nothing_is_not_written_down(db: Database, stored: House) -> None:
    houses.edit(NAME, lambda h: h, "nothing", db)
    assert houses.journal(NAME, db) == []


def test_the_journal_forgets_the_oldest(
    db: Database, stored: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(houses, "KEPT_CHANGES", 3)
    for number in range(5):
        houses.edit(NAME, add(f"Fan {number}"), f"added Fan {number}", db)
    assert [c.what for c in houses.journal(NAME, db)] == [f"added Fan {n}" for n in (2, 3, 4)]


def test_an_error_in_a_change_leaves_the_house(db: Database, stored: House) -> None:
    with pytest.raises(NotFound, match="circuit"):
        houses.edit(NAME, lambda h: edits.change_appliance(h, "pump", circuit="attic"), "moved", db)
    with pytest.raises(InputError, match="rename"):
        houses.edit(NAME, lambda h: h.with_(name="Cabin"), "renamed", db)
    assert houses.load(NAME, db) == stored
    assert houses.journal(NAME, db) == []


def test_a_circuit_on_a_leg_that_the_system_lacks(db: Database, stored: House) -> None:
    with pytest.raises(InputError, match="leg 'C'"):
        houses.edit(
            NAME, lambda h: edits.add_circuit(h, Circuit("shed", legs="C")), "added shed", db
        )


def test_save_replaces_the_house_of_that_name(db: Database, stored: House) -> None:
    houses.save(stored.with_(name=NAME.upper(), note="new roof"), "noted", db)
    assert houses.load(NAME, db) == stored.with_(note="new roof")
    houses.undo(NAME, db)
    assert houses.load(NAME, db) == stored


def test_renaming_keeps_the_journal(db: Database, stored: House) -> None:
    houses.edit(NAME, add("Fan"), "added Fan", db)
    houses.rename(NAME, "Stone farm", db)
    houses.undo("Stone farm", db)
    assert houses.load("Stone farm", db) == replace(stored, name="Stone farm")
    houses.rename("Stone farm", "STONE farm", db)
    assert houses.pick("", db) == "STONE farm"


def test_a_removed_house_can_be_brought_back(db: Database, stored: House) -> None:
    houses.remove(NAME, db)
    assert houses.list_houses(db) == []
    with pytest.raises(NotFound):
        houses.load(NAME, db)
    houses.create(House(NAME), db)
    with pytest.raises(InputError, match="already"):
        houses.restore(NAME, db)
    houses.rename(NAME, "Other", db)
    houses.restore(NAME, db)
    assert houses.load(NAME, db) == stored
    with pytest.raises(NotFound, match="removed house"):
        houses.restore(NAME, db)


def test_a_renamed_circuit_takes_its_readings_along(db: Database, stored: House) -> None:
    readings.add_reading(NAME, Reading("circuit well", "clamp", amps=9.8), db)
    house = houses.rename_circuit(NAME, "WELL", "deep well", db)
    assert house.circuit("cellar").depends_on == ("deep well",)
    assert house.appliance("pump").circuit == "deep well"
    assert [r.place for r in readings.list_readings(NAME, db).values()] == ["circuit deep well"]
    houses.undo(NAME, db)
    assert [r.place for r in readings.list_readings(NAME, db).values()] == ["circuit well"]
    houses.redo(NAME, db)
    assert [r.place for r in readings.list_readings(NAME, db).values()] == ["circuit deep well"]


def test_two_terminals_lose_nothing(db: Database, stored: House) -> None:
    houses.load(NAME, db)  # the first terminal looks, the second changes, the first changes
    houses.edit(NAME, add("Fan"), "added Fan", Database(db.path))
    houses.edit(NAME, add("Lamp"), "added Lamp", db)
    assert {a.name for a in houses.load(NAME, db).appliances} >= {"Fan", "Lamp"}


DIES = """
import os, sys
from pathlib import Path
from loadlib.core.household import Appliance
from loadlib.store import edits, houses
from loadlib.store.database import Database

db = Database(Path(sys.argv[1]))
for number in range(3):
    houses.edit("Ridge farmhouse",
                lambda h: edits.add_appliance(h, Appliance("", f"Fan {number}", "sump_pump")),
                "added", db)
with db.writing() as connection:
    connection.exec_driver_sql("DELETE FROM appliance")
    os._exit(9)  # the terminal dies in the middle of a change
"""


def test_nothing_is_lost_when_the_terminal_dies(db: Database, stored: House) -> None:
    command_line = [sys.executable, "-c", DIES, str(db.path)]
    assert subprocess.run(command_line, check=False).returncode == 9
    assert len(houses.load(NAME, db).appliances) == len(stored.appliances) + 3


def test_a_database_that_is_being_written_is_told_and_nothing_is_half_done(
    db: Database, stored: House
) -> None:
    with db.bare(write=True) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(CatalogError, match="locked"):
            houses.edit(NAME, add("Fan"), "added Fan", db)
        other.execute("ROLLBACK")
    assert houses.load(NAME, db) == stored


def test_a_writer_waits_for_another_and_then_goes_on(
    db: Database, stored: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A deferred transaction would fail at once here, whatever the time to wait."""
    monkeypatch.setenv("LOADLIB_WAIT_S", "10")
    held = threading.Event()

    def hold() -> None:
        with db.bare(write=True) as other:
            other.execute("BEGIN IMMEDIATE")
            other.execute("UPDATE house SET note = 'theirs'")
            held.set()
            time.sleep(0.3)
            other.execute("COMMIT")

    thread = threading.Thread(target=hold)
    thread.start()
    held.wait(5)
    house = houses.edit(NAME, add("Fan"), "added Fan", db)
    thread.join()
    assert house.note == "theirs"


def test_a_broken_rule_of_the_schema_is_not_taken_for_a_fault_of_the_file(db: Database) -> None:
    with pytest.raises(sqlite3.IntegrityError), db.writing() as connection:
        connection.exec_driver_sql("INSERT INTO room(house_id, name) VALUES (4711, 'attic')")
