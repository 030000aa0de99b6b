"""A small catalog of invented values, and databases that hold it.

The shipped tables are other people's to change; only ``test_search_shipped`` and the tests
of the seed tables read them.
"""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from loadlib.core.household import Appliance, Circuit, House
from loadlib.store import seed
from loadlib.store.database import Database, open_database

CATEGORIES = {
    "refrigerator": ("Refrigerator", "refrigeration", ("fridge", "icebox", "fridge-freezer")),
    "chest_freezer": ("Chest freezer", "refrigeration", ("deep freeze", "freezer")),
    "well_pump": ("Well pump, submersible", "water", ("deep well pump", "pump")),
    "sump_pump": ("Sump pump, 1/3 hp", "water", ("sump", "basement pump")),
    "dehumidifier": ("Dehumidifier", "air", ("damp catcher",)),
    "water_heater": ("Water heater, electric", "water", ("hot water tank",)),
    "dishwasher": ("Dishwasher", "kitchen", ()),
    "egg_incubator": ("Egg incubator", "farm", ("incubator", "brooder")),
}
"""Key -> name, group, aliases."""


def write_tables(root: Path, categories: dict[str, tuple[str, str, tuple[str, ...]]]) -> Path:
    """The six seed tables for ``categories``, with one value a quantity."""
    root.mkdir(parents=True, exist_ok=True)
    told, bench = ["source", "obtained", "note"], ["bench", "from_memory", ""]
    _table(
        root, "sources", "source citation locator licence note", [["bench", "A bench", *[""] * 3]]
    )
    hours, months = [f"h{h:02d}" for h in range(24)], [f"m{m:02d}" for m in range(1, 13)]
    _table(root, "use_profiles", ["use_profile", *hours, *told], [["flat", *["2"] * 24, *bench]])
    _table(root, "seasons", ["season", *months, *told], [["all_year", *["1"] * 12, *bench]])
    head = (
        "category name group kind thermostatic voltage_v poles use_profile season label_rule "
        "medical note"
    )
    rows = [
        [key, name, group, "motor", "1", "120", "1", "flat", "all_year", "amps_upper", "0", ""]
        for key, (name, group, _) in categories.items()
    ]
    _table(root, "categories", head, rows)
    aliases = [[key, alias] for key, (_, _, names) in categories.items() for alias in names]
    _table(root, "aliases", "category alias", aliases)
    head = "category quantity low typical high unit basis conditions source obtained note"
    values = [
        [key, quantity, "0.5", "0.6", "0.9", unit, "running_w", "", "bench", "from_memory", ""]
        for key in categories
        for quantity, unit in seed.QUANTITIES.items()
    ]
    _table(root, "values", head, values)
    return root


def _table(root: Path, name: str, head: str | list[str], rows: list[list[str]]) -> None:
    with (root / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(head.split() if isinstance(head, str) else head)
        writer.writerows(rows)


@pytest.fixture(scope="session")
def small_tables(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_tables(tmp_path_factory.mktemp("seed"), CATEGORIES)


@pytest.fixture(scope="session")
def _seeded(small_tables: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(seed, "seed_root", lambda: small_tables)
        return open_database(tmp_path_factory.mktemp("store") / "seeded.db").path


@pytest.fixture(autouse=True)
def _small_seed(small_tables: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(seed, "seed_root", lambda: small_tables)
    monkeypatch.setenv("LOADLIB_WAIT_S", "0.1")


@pytest.fixture
def db(_seeded: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Database:
    """A database of its own for the test, seeded with the small catalog, and the default one."""
    path = tmp_path / "loadlib.db"
    shutil.copy(_seeded, path)
    monkeypatch.setenv("LOADLIB_DB", str(path))
    return open_database(path)


@pytest.fixture
def farmhouse() -> House:
    return House(
        name="Ridge farmhouse",
        service_a=200.0,
        timezone="America/New_York",
        rooms=("cellar", "kitchen"),
        circuits=(
            Circuit("well", (2, 4), "AB", 20.0),
            Circuit("cellar", (11,), "B", 15.0, leg_guessed=True, depends_on=("well",)),
        ),
        appliances=(
            Appliance("pump", "Well pump", "well_pump", room="cellar", circuit="well"),
            Appliance("sump", "Sump pump", "sump_pump", room="cellar", circuit="cellar"),
            Appliance("fridge", "Fridge", "refrigerator", room="kitchen", label="115V 6.5A"),
        ),
    )


@pytest.fixture
def tables_with(tmp_path: Path) -> Callable[..., Path]:
    """Seed tables with other categories, for loading again."""

    def make(categories: dict[str, tuple[str, str, tuple[str, ...]]] = CATEGORIES) -> Path:
        return write_tables(tmp_path / "other", categories)

    return make
