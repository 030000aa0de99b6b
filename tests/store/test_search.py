"""Words to categories; any text at all is allowed."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loadlib.store import search_index
from loadlib.store.database import Database
from loadlib.store.search import fold, near_names, search


@pytest.fixture(params=["full text", "plain"])
def either_way(db: Database, request: pytest.FixtureRequest) -> Database:
    """With the full-text index, and without it as on a SQLite that lacks FTS5."""
    if request.param == "plain":
        with db.bare(write=True) as connection:
            search_index.drop(connection.execute)
    return db


def best(db: Database, text: str) -> list[str]:
    with db.bare() as connection:
        return [hit.category for hit in search(connection, text).hits]


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("refrigerator", "refrigerator"),
        ("FRIDGE", "refrigerator"),
        ("  ice   box", "refrigerator"),
        ("fridge-freezer", "refrigerator"),
        ("chest_freezer", "chest_freezer"),
        ("freezer", "chest_freezer"),
        ("deep well", "well_pump"),
        ("pump", "well_pump"),
        ("pump sump", "sump_pump"),
        ("1/3 hp", "sump_pump"),
        ("submers", "well_pump"),
        ("incub", "egg_incubator"),
        ("dish washer", "dishwasher"),
        ("waterheater", "water_heater"),
        ("frige", "refrigerator"),
        ("dehumidifer", "dehumidifier"),
        ("refridgerator", "refrigerator"),
        ("pmup", "well_pump"),
        ("fridge 4711 purple", "refrigerator"),
        ("the incubator", "egg_incubator"),
    ],
)
def test_found_first(either_way: Database, text: str, category: str) -> None:
    assert best(either_way, text)[0] == category


def test_how_the_text_was_read_is_told(db: Database) -> None:
    with db.bare() as connection:
        assert search(connection, "fridge").taken_as == {}
        assert search(connection, "frige").taken_as == {"frige": "fridge"}
        assert search(connection, "dish washer").taken_as == {"dish washer": "dishwasher"}
        assert search(connection, "waterheater").taken_as == {"waterheater": "water heater"}
        assert search(connection, "purple fridge").left_out == ["purple"]


def test_an_exact_name_or_alias_is_marked_and_comes_first(db: Database) -> None:
    with db.bare() as connection:
        hits = search(connection, "pump").hits
        assert [(hit.category, hit.exact) for hit in hits] == [
            ("well_pump", True),
            ("sump_pump", False),
        ]
        assert search(connection, "Well pump, submersible").hits[0].exact
        assert search(connection, "frige").hits[0].exact


@pytest.mark.parametrize("text", ["", "   ", "-", '"', "'", "...", "\0", "\ud800", "()*^:"])
def test_nothing_to_look_for(either_way: Database, text: str) -> None:
    assert best(either_way, text) == []


@pytest.mark.parametrize(
    "text", ["xylophone", "AB-123", 'a" OR "b', "NEAR(a b)", "name:x", "4711", "zz" * 4000]
)
def test_nothing_found(either_way: Database, text: str) -> None:
    assert best(either_way, text) == []


@pytest.mark.parametrize(
    "text", ["AND", "OR", "NOT", "fridge AND NOT pump", "a", "1", "f*", "%", "_"]
)
def test_the_query_language_is_not_the_users(either_way: Database, text: str) -> None:
    best(either_way, text)


def test_the_limit_holds(db: Database) -> None:
    with db.bare() as connection:
        assert len(search(connection, "pump", 1).hits) == 1


@pytest.fixture(scope="module")
def shared(
    tmp_path_factory: pytest.TempPathFactory, small_tables: object
) -> Iterator[tuple[Database, Database]]:
    from loadlib.store import seed
    from loadlib.store.database import open_database

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(seed, "seed_root", lambda: small_tables)
        folder = tmp_path_factory.mktemp("search")
        full, plain = open_database(folder / "full.db"), open_database(folder / "plain.db")
        with plain.bare(write=True) as connection:
            search_index.drop(connection.execute)
        yield full, plain


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(max_size=60) | st.from_regex(r'["*()^:\-\w ]{1,20}', fullmatch=True))
def test_no_text_ever_raises(shared: tuple[Database, Database], text: str) -> None:
    for database in shared:
        with database.bare() as connection:
            found = search(connection, text)
            assert len(found.hits) <= 10
            near_names(connection, text)


@given(st.text(max_size=300))
@settings(max_examples=200, deadline=None)
def test_folding_is_stable(text: str) -> None:
    assert fold(fold(text)) == fold(text)


def test_near_names(db: Database) -> None:
    with db.bare() as connection:
        assert near_names(connection, "incubation box")[0] == "egg_incubator"
        assert near_names(connection, "qqqq") == []
