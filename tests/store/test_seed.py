"""The shipped tables into the catalog: checked, atomic, and never over a user's value."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from loadlib.core.ranges import Range
from loadlib.errors import DataError
from loadlib.store import catalog, seed
from loadlib.store.database import Database, open_database

CATEGORIES = {
    "refrigerator": ("Refrigerator, renamed", "refrigeration", ("fridge", "cold box")),
    "kettle": ("Kettle", "kitchen", ("tea kettle",)),
}


NO_USE = {f"h{hour:02d}": "0" for hour in range(24)}


def reseed(monkeypatch: pytest.MonkeyPatch, root: Path, db: Database) -> None:
    monkeypatch.setattr(seed, "seed_root", lambda: root)
    open_database(db.path)


def test_the_tables_are_found_in_the_repository(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    assert (seed.seed_root() / "values.csv").is_file()


def test_missing_tables_are_a_broken_installation(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.undo()
    monkeypatch.setattr(seed, "__file__", str(tmp_path / "a" / "b" / "seed.py"))
    with pytest.raises(DataError, match="missing") as caught:
        seed.seed_root()
    assert caught.value.hint == "Install loadlib again."


def test_shapes_are_brought_to_mean_one(db: Database) -> None:
    category = catalog.get("refrigerator", db)
    assert category.use_by_hour == (1.0,) * 24
    assert category.use_by_month == (1.0,) * 12


def test_new_tables_replace_the_old_ones(
    db: Database, tables_with: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    reseed(monkeypatch, tables_with(CATEGORIES), db)
    assert catalog.names(db) == ["kettle", "refrigerator"]
    assert catalog.get("refrigerator", db).name == "Refrigerator, renamed"
    assert catalog.search("kettle", db=db).hits[0].category == "kettle"
    assert catalog.search("cold box", db=db).hits[0].category == "refrigerator"
    assert catalog.search("icebox", db=db).hits == []
    with db.bare(write=True) as connection:
        from loadlib.store import search_index

        assert search_index.troubles(connection) == []


def test_new_tables_never_touch_what_a_user_entered(
    db: Database, tables_with: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    mine = Range(80.0, 95.0, 140.0)
    catalog.set_value("refrigerator", "running_w", mine, db=db)
    catalog.add_alias("refrigerator", "the cold one", db)
    catalog.set_value("well_pump", "running_w", Range.exact(1000.0), db=db)
    reseed(monkeypatch, tables_with(CATEGORIES), db)
    assert catalog.get("refrigerator", db).running_w == mine
    assert catalog.search("cold one", db=db).hits[0].category == "refrigerator"
    assert catalog.search("fridge", db=db).hits[0].exact
    # No longer shipped, but a user's value hangs on it: kept whole.
    assert catalog.get("well_pump", db).running_w == Range.exact(1000.0)
    assert catalog.get("well_pump", db).standby_w == Range(0.5, 0.6, 0.9)
    assert "sump_pump" not in catalog.names(db)


def test_an_alias_that_ships_later_does_not_clash_with_the_users(
    db: Database, tables_with: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    catalog.add_alias("refrigerator", "Cold Box", db)
    reseed(monkeypatch, tables_with(CATEGORIES), db)
    aliases = [alias.casefold() for alias in catalog.get("refrigerator", db).aliases]
    assert aliases.count("cold box") == 1


def test_the_same_tables_are_not_loaded_again(
    db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise AssertionError("loaded again")

    monkeypatch.setattr(seed, "load", fail)
    monkeypatch.setattr(seed, "stamp", lambda root: "touched, but the same bytes")
    open_database(db.path)
    with db.bare() as connection:
        state = dict(connection.execute("SELECT key, value FROM state"))
    assert state["seed_stamp"] == "touched, but the same bytes"


def edited(root: Path, table: str, change: Callable[[list[dict[str, str]]], object]) -> None:
    path = root / f"{table}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    change(rows)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def put(column: str, value: str) -> Callable[[list[dict[str, str]]], object]:
    def change(rows: list[dict[str, str]]) -> None:
        rows[0][column] = value

    return change


@pytest.mark.parametrize(
    ("table", "change", "says"),
    [
        ("values", put("low", "a lot"), "line 2: low is 'a lot', not a number"),
        ("values", put("low", "-3"), "out of all bounds"),
        ("values", put("high", "nan"), "out of all bounds"),
        ("values", put("low", "0.7"), "do not rise"),
        ("values", put("unit", "kW"), "running_w in 'kW', expected 'W'"),
        ("values", put("quantity", "horse_power"), "is in no table"),
        ("values", put("source", "hearsay"), "source 'hearsay' is in no table"),
        ("values", put("category", "sleigh"), "category 'sleigh' is in no table"),
        ("values", lambda rows: rows.append(rows[0]), "stands twice"),
        ("values", lambda rows: rows.pop(), "egg_incubator has no label_share"),
        ("categories", put("name", " "), "name is empty"),
        ("categories", put("medical", "maybe"), "expected 0 or 1"),
        ("categories", put("season", "monsoon"), "season 'monsoon' is in no table"),
        ("categories", lambda rows: rows.append(rows[0]), "stands twice"),
        ("aliases", lambda rows: rows.append(rows[0]), "stands twice"),
        (
            "use_profiles",
            lambda rows: rows[0].update({f"h{h:02d}": "0" for h in range(24)}),
            "zero",
        ),
    ],
)
def test_a_broken_table_is_named_with_its_line_and_changes_nothing(
    db: Database,
    tables_with: Callable[..., Path],
    monkeypatch: pytest.MonkeyPatch,
    table: str,
    change: Callable[[list[dict[str, str]]], object],
    says: str,
) -> None:
    root = tables_with()
    edited(root, table, change)
    before = catalog.names(db)
    monkeypatch.setattr(seed, "seed_root", lambda: root)
    with pytest.raises(DataError, match=says) as caught:
        open_database(db.path)
    assert f"{table}.csv" in str(caught.value)
    monkeypatch.undo()
    with db.bare() as connection:
        from loadlib.store.catalog_rows import all_names

        assert all_names(connection) == before


def test_a_table_without_a_column(tables_with: Callable[..., Path]) -> None:
    root = tables_with(CATEGORIES)
    (root / "aliases.csv").write_text("category,name\nkettle,tea kettle\n", encoding="utf-8")
    with pytest.raises(DataError, match=r"aliases.csv, line 2: there is no column 'alias'"):
        seed.read_tables(root)
