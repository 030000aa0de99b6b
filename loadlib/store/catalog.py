"""The catalog: categories as core objects, search, and a user's own values."""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Iterable
from datetime import date

from loadlib.core.category import Category, SourcedValue
from loadlib.core.ranges import Range
from loadlib.errors import InputError, NotFound
from loadlib.store.catalog_rows import CategoryRow, ValueRow, all_names, rows_for
from loadlib.store.database import Database, open_database
from loadlib.store.search import Found, fold, near_names
from loadlib.store.search import search as search_rows
from loadlib.store.seed import QUANTITIES

__all__ = [
    "add_alias",
    "categories_of",
    "get",
    "many",
    "names",
    "own_aliases",
    "remove_alias",
    "reset_value",
    "search",
    "set_value",
]

_SHARES = ("power_factor", "duty_share", "label_share")
_MOST = {"running_w": 100_000.0, "standby_w": 10_000.0, "annual_kwh": 200_000.0}


def get(category: str, db: Database | None = None) -> Category:
    """The category of that key.

    Raises
    ------
    NotFound
        with near names.
    """
    database = db or open_database()
    with database.bare() as connection:
        row = rows_for(connection, [category]).get(category)
        if row is None:
            near = [hit.category for hit in search_rows(connection, category, 5).hits]
            near = near or near_names(connection, category)
            raise NotFound("category", category, near=tuple(near))
    return _category(row)


def many(categories: Iterable[str], db: Database | None = None) -> dict[str, Category]:
    """Those of ``categories`` that the catalog has, by key."""
    with (db or open_database()).bare() as connection:
        return categories_of(connection, categories)


def categories_of(connection: sqlite3.Connection, categories: Iterable[str]) -> dict[str, Category]:
    """As ``many``, on an open connection."""
    return {name: _category(row) for name, row in rows_for(connection, categories).items()}


def names(db: Database | None = None) -> list[str]:
    """Every category's key, in alphabetical order."""
    with (db or open_database()).bare() as connection:
        return all_names(connection)


def search(words: str, limit: int = 10, db: Database | None = None) -> Found:
    """Categories for the words that a person uses; see ``loadlib.store.search``."""
    with (db or open_database()).bare() as connection:
        return search_rows(connection, words, limit)


def set_value(
    category: str,
    quantity: str,
    value: Range,
    *,
    source: str = "",
    basis: str | None = None,
    conditions: str = "",
    note: str = "",
    db: Database | None = None,
) -> None:
    """Put the user's own value above the shipped one; new shipped tables never touch it.

    ``quantity`` is one of ``seed.QUANTITIES``, ``value`` in the unit stated there.
    ``basis`` is what a start multiplier is a multiple of; empty keeps the shipped one.

    Raises
    ------
    NotFound
        no such category or quantity.
    InputError
        a value that is impossible for the quantity.
    """
    database = db or open_database()
    _check(quantity, value)
    shipped = get(category, database).value(quantity)
    row = {
        "quantity": quantity,
        "low": value.low,
        "typical": value.typical,
        "high": value.high,
        "unit": QUANTITIES[quantity],
        "basis": basis if basis is not None else shipped.basis if shipped else "",
        "conditions": conditions,
        "source": source or f"entered by hand on {date.today().isoformat()}",
        "obtained": "entered_by_user",
        "note": note,
        "origin": "user",
    }
    _upsert_value(database, category, row)


def _upsert_value(database: Database, category: str, row: dict[str, object]) -> None:
    from sqlalchemy import select
    from sqlalchemy.dialects.sqlite import insert

    from loadlib.store import tables

    with database.writing() as connection:
        key = connection.scalar(
            select(tables.category.c.id).where(tables.category.c.category == category)
        )
        connection.execute(
            insert(tables.category_value)
            .values(category_id=key, **row)
            .on_conflict_do_update(
                index_elements=["category_id", "quantity", "origin"], set_=dict(row)
            )
        )


def _check(quantity: str, value: Range) -> None:
    if quantity not in QUANTITIES:
        raise NotFound("quantity", quantity, near=tuple(QUANTITIES))
    if value.low < 0.0:
        raise InputError(f"{quantity} {value.low:g} is negative")
    most = 1.0 if quantity in _SHARES else _MOST.get(quantity, math.inf)
    if value.high > most:
        raise InputError(f"{quantity} {value.high:g} is above {most:g}, which no household has")


def reset_value(category: str, quantity: str, db: Database | None = None) -> bool:
    """Drop the user's own value, so that the shipped one counts again; False if there is none."""
    from sqlalchemy import delete, select

    from loadlib.store.tables import category as categories
    from loadlib.store.tables import category_value as values

    database = db or open_database()
    get(category, database)
    key = select(categories.c.id).where(categories.c.category == category).scalar_subquery()
    with database.writing() as connection:
        done = connection.execute(
            delete(values).where(
                values.c.category_id == key,
                values.c.quantity == quantity,
                values.c.origin == "user",
            )
        )
    return done.rowcount > 0


def add_alias(category: str, alias: str, db: Database | None = None) -> None:
    """Let ``alias`` find the category from now on; no-op if it does already."""
    from sqlalchemy import select
    from sqlalchemy.dialects.sqlite import insert

    from loadlib.store import search_index, tables
    from loadlib.store.engine import raw

    database = db or open_database()
    get(category, database)
    folded = fold(alias)
    if not folded:
        raise InputError("the alias is empty")
    key = select(tables.category.c.id).where(tables.category.c.category == category)
    with database.writing() as connection:
        row = {"category_id": connection.scalar(key), "alias": " ".join(alias.split())}
        statement = insert(tables.category_alias).values(**row, folded=folded, origin="user")
        connection.execute(statement.on_conflict_do_nothing())
        if search_index.exists(raw(connection)):
            search_index.sync_words(raw(connection).execute)


def own_aliases(db: Database | None = None) -> list[tuple[str, str]]:
    """Aliases that the user added, each with its category's key, in alphabetical order."""
    from sqlalchemy import select

    from loadlib.store.tables import category as categories
    from loadlib.store.tables import category_alias as aliases

    rows = (
        select(aliases.c.alias, categories.c.category)
        .join(categories, categories.c.id == aliases.c.category_id)
        .where(aliases.c.origin == "user")
        .order_by(aliases.c.folded, categories.c.category)
    )
    with (db or open_database()).reading() as connection:
        return [(alias, category) for alias, category in connection.execute(rows)]


def remove_alias(category: str, alias: str, db: Database | None = None) -> bool:
    """Drop an alias that the user had added; False if there is none of that name."""
    from sqlalchemy import delete, select

    from loadlib.store.tables import category as categories
    from loadlib.store.tables import category_alias as aliases

    database = db or open_database()
    get(category, database)
    key = select(categories.c.id).where(categories.c.category == category).scalar_subquery()
    with database.writing() as connection:
        done = connection.execute(
            delete(aliases).where(
                aliases.c.category_id == key,
                aliases.c.folded == fold(alias),
                aliases.c.origin == "user",
            )
        )
    return done.rowcount > 0


def _category(row: CategoryRow) -> Category:
    values = {quantity: _sourced(value) for quantity, value in row.values.items()}

    def belief(quantity: str, scale: float = 1.0) -> Range:
        return values[quantity].value.scaled(scale)

    return Category(
        category=row.category,
        name=row.name,
        group=row.group,
        kind=row.kind,
        thermostatic=row.thermostatic,
        medical=row.medical,
        voltage_v=row.voltage_v,
        poles=row.poles,
        running_w=belief("running_w"),
        power_factor=belief("power_factor"),
        start_multiplier=belief("start_multiplier"),
        start_basis=values["start_multiplier"].basis,
        start_s=belief("start_s"),
        duty_share=belief("duty_share"),
        on_s=belief("on_min", 60.0),
        cycles_per_day=belief("cycles_per_day"),
        standby_w=belief("standby_w"),
        annual_wh=belief("annual_kwh", 1000.0),
        label_share=belief("label_share"),
        label_rule=row.label_rule,
        use_by_hour=tuple(json.loads(row.by_hour)),
        use_by_month=tuple(json.loads(row.by_month)),
        aliases=row.aliases,
        note=row.note,
        values=tuple(values.values()),
    )


def _sourced(row: ValueRow) -> SourcedValue:
    return SourcedValue(
        quantity=row.quantity,
        value=Range(row.low, row.typical, row.high),
        unit=row.unit,
        basis=row.basis,
        conditions=row.conditions,
        source=row.source,
        citation=row.citation,
        obtained=row.obtained,
        note=row.note,
    )
