"""Changes to a house, as pure functions."""

from __future__ import annotations

import pytest

from loadlib.core.household import Appliance, Circuit, House
from loadlib.errors import InputError, NotFound
from loadlib.store import edits


def test_ids_are_made_from_names(farmhouse: House) -> None:
    assert edits.new_id(farmhouse, "Fridge") == "fridge_2"
    assert edits.new_id(farmhouse, "Egg incubator, 2nd!") == "egg_incubator_2nd"
    assert edits.new_id(farmhouse, "冷蔵庫") == "appliance"
    assert len(edits.new_id(farmhouse, "x" * 200)) == 40


def test_an_added_appliance_brings_its_room(farmhouse: House) -> None:
    house = edits.add_appliance(farmhouse, Appliance("", "Fridge", "refrigerator", room="barn"))
    assert house.appliances[-1].id == "fridge_2"
    assert house.rooms == ("cellar", "kitchen", "barn")
    with pytest.raises(InputError, match="two appliances"):
        edits.add_appliance(house, Appliance("pump", "Other pump", "well_pump"))


def test_an_appliance_is_changed_and_moved_in_its_place(farmhouse: House) -> None:
    house = edits.change_appliance(farmhouse, "Well pump", room="barn", circuit="cellar", count=2)
    moved = house.appliances[0]
    assert (moved.id, moved.room, moved.circuit, moved.count) == ("pump", "barn", "cellar", 2)
    assert "barn" in house.rooms
    with pytest.raises(InputError, match="id can't be changed"):
        edits.change_appliance(farmhouse, "pump", id="other")
    with pytest.raises(InputError, match="count 0"):
        edits.change_appliance(farmhouse, "pump", count=0)


def test_an_appliance_is_removed(farmhouse: House) -> None:
    assert [a.id for a in edits.remove_appliance(farmhouse, "sump").appliances] == [
        "pump",
        "fridge",
    ]
    with pytest.raises(NotFound):
        edits.remove_appliance(farmhouse, "sleigh")


def test_circuits(farmhouse: House) -> None:
    house = edits.add_circuit(farmhouse, Circuit("barn", (6,), "A"))
    assert house.circuits[-1].name == "barn"
    with pytest.raises(InputError, match="already"):
        edits.add_circuit(house, Circuit("BARN"))
    with pytest.raises(InputError, match="no name"):
        edits.add_circuit(house, Circuit(" "))
    changed = edits.change_circuit(house, "Barn", breaker_a=20.0, leg_guessed=False)
    assert changed.circuit("barn").breaker_a == 20.0
    with pytest.raises(InputError, match="rename_circuit"):
        edits.change_circuit(house, "barn", name="stable")


def test_a_renamed_circuit_is_renamed_wherever_it_is_named(farmhouse: House) -> None:
    house = edits.rename_circuit(farmhouse, "well", "deep well")
    assert house.circuit("cellar").depends_on == ("deep well",)
    assert house.appliance("pump").circuit == "deep well"
    with pytest.raises(InputError, match="already"):
        edits.rename_circuit(farmhouse, "well", "Cellar")
    assert edits.rename_circuit(farmhouse, "well", "WELL").appliance("pump").circuit == "WELL"


def test_a_removed_circuit_leaves_its_appliances(farmhouse: House) -> None:
    house = edits.remove_circuit(farmhouse, "well")
    assert house.appliance("pump").circuit == ""
    assert house.circuit("cellar").depends_on == ()


def test_rooms(farmhouse: House) -> None:
    assert edits.add_room(farmhouse, "kitchen") == farmhouse
    renamed = edits.rename_room(farmhouse, "cellar", "basement")
    assert renamed.rooms == ("basement", "kitchen")
    assert renamed.appliance("pump").room == "basement"
    gone = edits.remove_room(farmhouse, "cellar")
    assert gone.rooms == ("kitchen",)
    assert gone.appliance("pump").room == ""
    for change in (edits.remove_room, lambda h, n: edits.rename_room(h, n, "x")):
        with pytest.raises(NotFound, match="room"):
            change(farmhouse, "attic")
    with pytest.raises(InputError, match="already"):
        edits.rename_room(farmhouse, "cellar", "Kitchen")
