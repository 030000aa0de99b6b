"""The shipped CSV tables: where they lie, whether they changed, and into the catalog.

Six tables make the catalog: categories, aliases, values, use_profiles, seasons, sources.
A load replaces every row of origin ``seed`` and touches none of origin ``user``; it is one
transaction, so a reader sees the old catalog or the new one and never half.
"""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from loadlib.errors import DataError

if TYPE_CHECKING:
    from sqlalchemy import Connection

__all__ = ["QUANTITIES", "SeedTables", "content_hash", "load", "read_tables", "seed_root", "stamp"]

TABLES = ("categories", "aliases", "values", "use_profiles", "seasons", "sources")

QUANTITIES: dict[str, str] = {
    "running_w": "W",
    "power_factor": "1",
    "start_multiplier": "1",
    "start_s": "s",
    "duty_share": "1",
    "on_min": "min",
    "cycles_per_day": "1/day",
    "standby_w": "W",
    "annual_kwh": "kWh/year",
    "label_share": "1",
}
"""What the catalog knows of every category, with the unit that its row must state."""

_FORMAT = "1"  # counts up when the way rows are loaded changes, so that old loads are redone


def seed_root() -> Path:
    """The folder of the shipped tables: inside the installed package, else beside it.

    An editable install has them only in the repository.

    Raises
    ------
    DataError
        when neither is there: a broken installation.
    """
    package = Path(__file__).parent.parent
    for folder in (package / "seed_data", package.parent / "seed_data"):
        if (folder / "categories.csv").is_file():
            return folder
    raise DataError(
        "the tables shipped with loadlib are missing",
        path=str(package / "seed_data"),
        hint="Install loadlib again.",
    )


def stamp(root: Path) -> str:
    """A cheap mark of the tables' state (sizes and times), to skip hashing them each time."""
    parts = [_FORMAT, str(root)]
    for name in TABLES:
        info = _path(root, name).stat()
        parts.append(f"{info.st_size}:{info.st_mtime_ns}")
    return " ".join(parts)


def content_hash(root: Path) -> str:
    """SHA-256 over the six tables."""
    digest = hashlib.sha256(_FORMAT.encode())
    for name in TABLES:
        digest.update(_path(root, name).read_bytes())
    return digest.hexdigest()


def _path(root: Path, name: str) -> Path:
    return root / f"{name}.csv"


class SeedTables(NamedTuple):
    """Checked rows, ready to be inserted; keys are column names."""

    categories: list[dict[str, object]]
    aliases: list[dict[str, object]]
    values: list[dict[str, object]]
    use_profiles: list[dict[str, object]]
    seasons: list[dict[str, object]]
    sources: list[dict[str, object]]


class _Row:
    """One row of a table that knows where it stands, for errors that say so."""

    def __init__(self, path: Path, line: int, cells: dict[str, str]) -> None:
        self.path, self.line, self.cells = path, line, cells

    def fault(self, message: str) -> DataError:
        return DataError(message, path=self.path.name, line=self.line)

    def text(self, column: str) -> str:
        try:
            return (self.cells[column] or "").strip()
        except KeyError:
            raise self.fault(f"there is no column {column!r}") from None

    def name(self, column: str) -> str:
        if not (value := self.text(column)):
            raise self.fault(f"{column} is empty")
        return value

    def number(self, column: str) -> float:
        try:
            value = float(self.text(column))
        except ValueError:
            raise self.fault(f"{column} is {self.text(column)!r}, not a number") from None
        if not 0.0 <= value < 1e9:
            raise self.fault(f"{column} is {value:g}, out of all bounds")
        return value

    def flag(self, column: str) -> bool:
        if self.text(column) not in ("0", "1"):
            raise self.fault(f"{column} is {self.text(column)!r}, expected 0 or 1")
        return self.text(column) == "1"

    def one_of(self, column: str, known: set[str]) -> str:
        if self.text(column) not in known:
            raise self.fault(f"{column} {self.text(column)!r} is in no table")
        return self.text(column)

    def shape(self, prefix: str, first: int, count: int) -> str:
        """Relative numbers in columns such as h00 … h23, brought to mean 1, as JSON."""
        values = [self.number(f"{prefix}{first + i:02d}") for i in range(count)]
        mean = sum(values) / count
        if mean <= 0.0:
            raise self.fault(f"{prefix}{first:02d} … are all zero")
        return json.dumps([round(value / mean, 6) for value in values])


def _rows(root: Path, name: str) -> Iterator[_Row]:
    path = _path(root, name)
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        for cells in reader:
            yield _Row(path, reader.line_num, cells)


def read_tables(root: Path) -> SeedTables:
    """Read and check the six tables.

    Raises
    ------
    DataError
        naming file and line: a column or number missing, a name in no table, a quantity
        missing or given twice, a range upside down.
    """
    sources = [
        _plain(row, ("source",), "citation locator licence note") for row in _rows(root, "sources")
    ]
    known = {str(row["source"]) for row in sources}
    profiles = [
        {"by_hour": row.shape("h", 0, 24), **_plain(row, ("use_profile",), "source obtained note")}
        for row in _rows(root, "use_profiles")
    ]
    seasons = [
        {"by_month": row.shape("m", 1, 12), **_plain(row, ("season",), "source obtained note")}
        for row in _rows(root, "seasons")
    ]
    categories = _categories(
        root,
        {str(row["use_profile"]) for row in profiles},
        {str(row["season"]) for row in seasons},
    )
    names = {str(row["category"]) for row in categories}
    aliases = _aliases(root, names)
    values = _values(root, names, known)
    by_category: dict[str, list[str]] = {}
    for row in aliases:
        by_category.setdefault(str(row["category"]), []).append(str(row["alias"]))
    for row in categories:
        row["alias_text"] = "\n".join(by_category.get(str(row["category"]), ()))
    return SeedTables(categories, aliases, values, profiles, seasons, sources)


def _plain(row: _Row, names: tuple[str, ...], texts: str) -> dict[str, object]:
    named: dict[str, object] = {column: row.name(column) for column in names}
    return named | {column: row.text(column) for column in texts.split()}


def _categories(root: Path, profiles: set[str], seasons: set[str]) -> list[dict[str, object]]:
    found: dict[str, dict[str, object]] = {}
    for row in _rows(root, "categories"):
        key = row.name("category")
        if key in found:
            raise row.fault(f"category {key!r} stands twice")
        found[key] = {
            "category": key,
            "name": row.name("name"),
            "group_name": row.name("group"),
            "kind": row.name("kind"),
            "thermostatic": row.flag("thermostatic"),
            "medical": row.flag("medical"),
            "voltage_v": row.number("voltage_v"),
            "poles": int(row.number("poles")),
            "use_profile": row.one_of("use_profile", profiles),
            "season": row.one_of("season", seasons),
            "label_rule": row.name("label_rule"),
            "note": row.text("note"),
        }
    return list(found.values())


def _aliases(root: Path, names: set[str]) -> list[dict[str, object]]:
    seen: set[tuple[str, str]] = set()
    found: list[dict[str, object]] = []
    for row in _rows(root, "aliases"):
        key, alias = row.one_of("category", names), row.name("alias")
        if (key, alias.casefold()) in seen:
            raise row.fault(f"alias {alias!r} of {key} stands twice")
        seen.add((key, alias.casefold()))
        found.append({"category": key, "alias": alias, "folded": alias.casefold()})
    return found


def _values(root: Path, names: set[str], sources: set[str]) -> list[dict[str, object]]:
    seen: set[tuple[str, str]] = set()
    found: list[dict[str, object]] = []
    for row in _rows(root, "values"):
        key = (row.one_of("category", names), row.one_of("quantity", set(QUANTITIES)))
        if key in seen:
            raise row.fault(f"{key[1]} of {key[0]} stands twice")
        seen.add(key)
        found.append(_value(row, *key, sources))
    missing = [(name, q) for name in sorted(names) for q in QUANTITIES if (name, q) not in seen]
    if missing:
        raise DataError(f"{missing[0][0]} has no {missing[0][1]}", path="values.csv")
    return found


def _value(row: _Row, category: str, quantity: str, sources: set[str]) -> dict[str, object]:
    if row.text("unit") != QUANTITIES[quantity]:
        raise row.fault(f"{quantity} in {row.text('unit')!r}, expected {QUANTITIES[quantity]!r}")
    low, typical, high = (row.number(column) for column in ("low", "typical", "high"))
    if not low <= typical <= high:
        raise row.fault(f"{quantity}: {low:g}, {typical:g}, {high:g} do not rise")
    return {
        "category": category,
        "quantity": quantity,
        "low": low,
        "typical": typical,
        "high": high,
        "unit": row.text("unit"),
        "source": row.one_of("source", sources),
        "obtained": row.name("obtained"),
    } | _plain(row, (), "basis conditions note")


def load(connection: Connection, tables: SeedTables) -> None:
    """Replace the seed rows of the catalog, inside the caller's transaction.

    Categories keep their row ids. One that no longer ships is dropped, unless a user has
    changed something in it: then it stays whole.
    """
    from sqlalchemy import delete

    from loadlib.store.tables import season, source, use_profile

    ids = _load_categories(connection, tables)
    for table, rows in (
        (source, tables.sources),
        (use_profile, tables.use_profiles),
        (season, tables.seasons),
    ):
        connection.execute(delete(table))
        connection.execute(table.insert(), rows)
    _load_aliases(connection, ids, tables.aliases)
    _load_values(connection, ids, tables.values)


def _load_categories(connection: Connection, tables: SeedTables) -> dict[str, int]:
    from sqlalchemy import delete, select
    from sqlalchemy.dialects.sqlite import insert

    from loadlib.store.tables import category, category_alias, category_value

    names = {row["category"] for row in tables.categories}
    touched = {
        key
        for child in (category_alias, category_value)
        for (key,) in connection.execute(
            select(child.c.category_id).where(child.c.origin == "user")
        )
    }
    for name, key in connection.execute(select(category.c.category, category.c.id)).all():
        if name not in names and key not in touched:
            connection.execute(delete(category).where(category.c.id == key))
    upsert = insert(category)
    # alias_text of a category that is there already is kept current by the alias triggers.
    kept = ("id", "category", "alias_text")
    fresh = {c.name: upsert.excluded[c.name] for c in category.c if c.name not in kept}
    upsert = upsert.on_conflict_do_update(index_elements=["category"], set_=fresh)
    connection.execute(upsert, tables.categories)
    found = connection.execute(select(category.c.category, category.c.id))
    return {name: key for name, key in found if name in names}


def _load_aliases(
    connection: Connection, ids: dict[str, int], rows: list[dict[str, object]]
) -> None:
    from sqlalchemy import delete, select
    from sqlalchemy.dialects.sqlite import insert

    from loadlib.store.tables import category_alias as alias

    ready = [
        {"category_id": ids[str(row["category"])], "alias": row["alias"], "folded": row["folded"]}
        for row in rows
    ]
    shipped = {(row["category_id"], row["folded"]) for row in ready}
    seeded = select(alias.c.id, alias.c.category_id, alias.c.folded).where(alias.c.origin == "seed")
    for key, category_id, folded in connection.execute(seeded).all():
        if category_id in ids.values() and (category_id, folded) not in shipped:
            connection.execute(delete(alias).where(alias.c.id == key))
    # One that is there already, the user's own among them, stays as it is.
    connection.execute(insert(alias).on_conflict_do_nothing(), ready)


def _load_values(
    connection: Connection, ids: dict[str, int], rows: list[dict[str, object]]
) -> None:
    from sqlalchemy import delete

    from loadlib.store.tables import category_value as value

    connection.execute(
        delete(value).where(value.c.origin == "seed", value.c.category_id.in_(ids.values()))
    )
    ready = [{**row, "category_id": ids[str(row["category"])], "origin": "seed"} for row in rows]
    for row in ready:
        del row["category"]
    connection.execute(value.insert(), ready)
