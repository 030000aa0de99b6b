"""The store: catalog, houses and evidence in one SQLite file.

The only package that knows SQLite, SQLAlchemy and Alembic. Reading the catalog goes
through bare ``sqlite3`` (``search``, ``catalog_rows``), because a look-up must be quick
from a cold start; everything that writes, and all houses, go through SQLAlchemy Core.

    files.py          open the file, tell its state, turn SQLite's errors into CatalogError
    migrate.py        bring the file to the newest schema: lock, backup, upgrade, check
    tables.py         the tables; migrations/ their history
    search_index.py   the full-text tables: derived data, always safe to build again
    seed.py           the shipped CSV tables into the catalog
    database.py       open_database(): the one way in for everything below
    catalog_rows.py   catalog rows by bare sqlite3     search.py   words -> categories
    catalog.py        categories as core objects, a user's own values
    houses.py         houses, their journal and undo
    imports.py        what was imported;  bills.py, series.py, readings.py   evidence by kind
    evidence.py       everything about one house as one Evidence
    upkeep.py         where, check, backup, restore, repair
"""
