"""Searches that people make, on the shipped tables."""

from __future__ import annotations

from pathlib import Path

import pytest

from loadlib.store import seed
from loadlib.store.database import Database, open_database
from loadlib.store.search import search

SHIPPED = seed.seed_root


@pytest.fixture(scope="module")
def shipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(seed, "seed_root", SHIPPED)
        return open_database(tmp_path_factory.mktemp("shipped") / "loadlib.db").path


@pytest.mark.parametrize(
    ("text", "begins"),
    [
        ("fridge", "refrigerator"),
        ("frige", "refrigerator"),
        ("refridgerator", "refrigerator"),
        ("freezer", "freezer"),
        ("dehumidifer", "dehumidifier"),
        ("well pump", "well_pump"),
        ("wel pmup", "well_pump"),
        ("sump", "sump_pump"),
        ("dish washer", "dishwasher"),
        ("tv", "television"),
        ("telivision", "television"),
        ("microwve", "microwave"),
        ("incubator", "incubator"),
        ("cpap", "cpap"),
        ("waterheater", "water_heater"),
    ],
)
def test_found_first(shipped: Path, text: str, begins: str) -> None:
    with Database(shipped).bare() as connection:
        hits = search(connection, text).hits
    assert hits[0].category.startswith(begins), hits


def test_every_category_is_found_by_its_name_and_each_alias(shipped: Path) -> None:
    with Database(shipped).bare() as connection:
        rows = connection.execute(
            "SELECT c.category, c.name FROM category c UNION ALL "
            "SELECT c.category, a.alias FROM category c "
            "JOIN category_alias a ON a.category_id = c.id"
        ).fetchall()
        lost = [
            (category, text)
            for category, text in rows
            if category not in {hit.category for hit in search(connection, text, 30).hits}
        ]
    assert lost == []


def test_the_catalog_is_wide_enough(shipped: Path) -> None:
    with Database(shipped).bare() as connection:
        assert connection.execute("SELECT count(*) FROM category").fetchone()[0] >= 220
