"""Categories as core objects; a user's own values above the shipped ones."""

from __future__ import annotations

import pytest

from loadlib.core.ranges import Range
from loadlib.errors import InputError, NotFound
from loadlib.store import catalog, seed
from loadlib.store.catalog_rows import rows_for
from loadlib.store.database import Database


def test_a_category_in_core_units(db: Database) -> None:
    fridge = catalog.get("refrigerator", db)
    assert fridge.name == "Refrigerator"
    assert fridge.aliases == ("fridge", "icebox", "fridge-freezer")
    assert fridge.thermostatic is True
    assert fridge.medical is False
    assert fridge.start_basis == "running_w"
    assert fridge.on_s == Range(30.0, 36.0, 54.0)  # 0.5, 0.6, 0.9 min
    assert fridge.annual_wh == Range(500.0, 600.0, 900.0)  # kWh
    assert {value.quantity for value in fridge.values} == set(seed.QUANTITIES)
    running = fridge.value("running_w")
    assert running is not None
    assert (running.source, running.citation) == ("bench", "A bench")


def test_an_unknown_category_has_near_names(db: Database) -> None:
    with pytest.raises(NotFound) as caught:
        catalog.get("fridge", db)
    assert "refrigerator" in caught.value.near
    with pytest.raises(NotFound) as caught:
        catalog.get("incubation box", db)
    assert caught.value.near[0] == "egg_incubator"


def test_many_leaves_out_what_is_not_there(db: Database) -> None:
    found = catalog.many(["sump_pump", "sleigh", "refrigerator"], db)
    assert list(found) == ["sump_pump", "refrigerator"]


def test_more_names_than_one_statement_takes(db: Database) -> None:
    names = [f"no_such_{i}" for i in range(1200)] + ["refrigerator"]
    with db.bare() as connection:
        assert list(rows_for(connection, names)) == ["refrigerator"]


def test_the_default_database_is_used(db: Database) -> None:
    assert catalog.get("refrigerator").category == "refrigerator"
    assert len(catalog.names()) == 8


def test_a_users_value_stands_above_the_shipped_one(db: Database) -> None:
    catalog.set_value("refrigerator", "running_w", Range(80, 90, 120), source="plug meter", db=db)
    row = catalog.get("refrigerator", db).value("running_w")
    assert row is not None
    assert (row.value, row.source, row.obtained) == (
        Range(80, 90, 120),
        "plug meter",
        "entered_by_user",
    )
    with db.bare() as connection:
        shown = rows_for(connection, ["refrigerator"])["refrigerator"]
    assert shown.shipped["running_w"].typical == 0.6
    catalog.set_value("refrigerator", "running_w", Range.exact(85.0), db=db)
    assert catalog.get("refrigerator", db).running_w == Range.exact(85.0)
    assert catalog.reset_value("refrigerator", "running_w", db)
    assert catalog.get("refrigerator", db).running_w.typical == 0.6
    assert not catalog.reset_value("refrigerator", "running_w", db)


def test_a_multiplier_never_parts_from_its_basis(db: Database) -> None:
    catalog.set_value("well_pump", "start_multiplier", Range(3, 4, 5), db=db)
    assert catalog.get("well_pump", db).start_basis == "running_w"
    catalog.set_value("well_pump", "start_multiplier", Range(3, 4, 5), basis="full_load_a", db=db)
    assert catalog.get("well_pump", db).start_basis == "full_load_a"


@pytest.mark.parametrize(
    ("quantity", "value", "says"),
    [
        ("running_w", Range(-1, 5, 9), "negative"),
        ("running_w", Range.exact(10e6), "no household"),
        ("power_factor", Range(0.5, 0.9, 1.2), "above 1"),
        ("annual_kwh", Range.exact(1e9), "no household"),
    ],
)
def test_an_impossible_value_is_refused(
    db: Database, quantity: str, value: Range, says: str
) -> None:
    with pytest.raises(InputError, match=says):
        catalog.set_value("refrigerator", quantity, value, db=db)


def test_values_of_unknown_things_are_refused(db: Database) -> None:
    with pytest.raises(NotFound, match="quantity"):
        catalog.set_value("refrigerator", "watts", Range.exact(1), db=db)
    with pytest.raises(NotFound, match="category"):
        catalog.set_value("sleigh", "running_w", Range.exact(1), db=db)
    with pytest.raises(NotFound, match="category"):
        catalog.add_alias("sleigh", "sledge", db)
    with pytest.raises(InputError, match="empty"):
        catalog.add_alias("refrigerator", "  ", db)
    assert not catalog.remove_alias("refrigerator", "fridge", db)  # shipped, not the user's


def test_own_aliases_are_listed_apart_from_shipped_ones(db: Database) -> None:
    assert catalog.own_aliases(db) == []
    catalog.add_alias("refrigerator", "Cold Box", db)
    catalog.add_alias("refrigerator", "  arctic   box ", db)
    assert catalog.own_aliases(db) == [
        ("arctic box", "refrigerator"),
        ("Cold Box", "refrigerator"),
    ]
    assert catalog.remove_alias("refrigerator", "cold box", db)
    assert catalog.own_aliases(db) == [("arctic box", "refrigerator")]
