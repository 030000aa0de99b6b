"""What was imported into a house: files and bills, whole or not at all, each deletable."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from loadlib.core.series import ReadResult
from loadlib.errors import DataError, InputError, NotFound
from loadlib.store.database import Database, open_database
from loadlib.store.houses import house_key, now
from loadlib.store.samples import disagreements

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from loadlib.store.series import Tally

__all__ = [
    "CONTRADICTIONS",
    "ImportRecord",
    "ImportReport",
    "delete_import",
    "find_import",
    "list_imports",
    "store_parts",
    "store_result",
]

CONTRADICTIONS = ("refuse", "keep", "replace")
"""What happens to a value that differs from a stored one: refuse the import, keep what is
stored, or let the new one count (the old one returns when the import is deleted)."""


class ImportRecord(NamedTuple):
    """One import: ``at`` is UTC, ISO 8601; ``slots`` and ``bills`` are what it holds."""

    import_id: int
    at: str
    file_name: str
    sha256: str
    reader: str
    notes: tuple[str, ...]
    slots: int
    bills: int


class ImportReport(NamedTuple):
    """What became of an import; ``import_id`` is None when nothing was new."""

    import_id: int | None
    added: int
    same: int
    contradicted: int
    notes: tuple[str, ...]


def store_result(
    house: str,
    result: ReadResult,
    *,
    file_name: str = "",
    sha256: str = "",
    reader: str = "",
    contradictions: str = "refuse",
    db: Database | None = None,
) -> ImportReport:
    """Store what a reader found, in one transaction; counts are slots and bills.

    The same again adds nothing and leaves no trace.

    Raises
    ------
    DataError
        values that contradict stored ones, unless ``contradictions`` says which count.
    InputError
        ``contradictions`` is not one of ``CONTRADICTIONS``.
    NotFound
        no such house.
    """
    return store_parts(
        house,
        (result,),
        file_name=file_name,
        sha256=sha256,
        reader=reader,
        contradictions=contradictions,
        db=db,
    )


def store_parts(
    house: str,
    parts: Iterable[ReadResult],
    *,
    file_name: str = "",
    sha256: str = "",
    reader: str = "",
    contradictions: str = "refuse",
    db: Database | None = None,
) -> ImportReport:
    """``store_result`` for what a reader gives a stretch at a time: one import, all or nothing.

    Each part is stored as it comes, so a long log takes no more memory than a short one. What
    ``parts`` raises on the way undoes the whole import; the rest is as for ``store_result``.
    Where another channel of the same place says something else, the notes say so.
    """
    if contradictions not in CONTRADICTIONS:
        raise InputError(
            f"contradictions {contradictions!r}", hint="One of: " + ", ".join(CONTRADICTIONS)
        )
    with (db or open_database()).writing() as connection:
        key = house_key(connection, house)
        about = {"file_name": file_name, "sha256": sha256, "reader": reader}
        import_id = _log(connection, key, about)
        total, notes = _store_all(connection, key, import_id, parts, contradictions == "replace")
        if total.contradicted and contradictions == "refuse":
            raise _contradiction(total, file_name)
        report = ImportReport(import_id, total.added, total.same, total.contradicted, notes)
        if not report.added:
            _drop(connection, import_id)
            return report._replace(import_id=None)
        report = report._replace(notes=(*notes, *disagreements(connection, import_id)))
        _note(connection, import_id, report.notes)
    return report


def _log(connection: Connection, house_id: int, about: dict[str, str]) -> int:
    from loadlib.store.tables import import_

    row = {"house_id": house_id, "at": now(), "notes": "[]", **about}
    statement = import_.insert().values(row).returning(import_.c.id)
    return int(connection.execute(statement).scalar_one())


def _note(connection: Connection, import_id: int, notes: tuple[str, ...]) -> None:
    from loadlib.store.tables import import_

    told = import_.update().where(import_.c.id == import_id)
    connection.execute(told.values(notes=json.dumps(notes)))


def _store_all(
    connection: Connection,
    house_id: int,
    import_id: int,
    parts: Iterable[ReadResult],
    replace: bool,
) -> tuple[Tally, tuple[str, ...]]:
    from loadlib.store.series import Tally

    total = Tally(0, 0, 0)
    notes: dict[str, None] = {}
    for part in parts:
        for tally in _store(connection, house_id, import_id, part, replace):
            total = total.plus(tally)
        notes |= dict.fromkeys(part.notes)
    return total, tuple(notes)


def _store(
    connection: Connection, house_id: int, import_id: int, result: ReadResult, replace: bool
) -> list[Tally]:
    from loadlib.store.bills import store_bills
    from loadlib.store.series import grid_of, store_grid

    grids = [grid_of(one) for one in result.series]
    if result.temperatures is not None:
        grids.append(grid_of(result.temperatures))
    tallies = [store_grid(connection, house_id, import_id, grid, replace=replace) for grid in grids]
    tallies.append(store_bills(connection, house_id, import_id, result.bills, replace=replace))
    return tallies


def _contradiction(total: Tally, file_name: str) -> DataError:
    return DataError(
        f"{total.contradicted} values contradict what is stored, e.g. {total.example}. "
        "Nothing was stored.",
        path=file_name or None,
        hint="Say which count: --contradictions keep (what is stored) or replace (it); or take the "
        "earlier import out: loadlib usage remove NUMBER.",
    )


def _drop(connection: Connection, import_id: int) -> None:
    """Delete an import with all it gave, and channels that are empty then."""
    from sqlalchemy import delete, select

    from loadlib.store.tables import channel, import_, series_part

    connection.execute(delete(import_).where(import_.c.id == import_id))
    used = select(series_part.c.channel_id)
    connection.execute(delete(channel).where(channel.c.id.not_in(used)))


def delete_import(house: str, import_id: int, db: Database | None = None) -> None:
    """Delete what one import gave; bills and slots that it had replaced count again.

    Raises
    ------
    NotFound
        the house has no import of that number.
    """
    database = db or open_database()
    known = [record.import_id for record in list_imports(house, database)]
    if import_id not in known:
        raise NotFound("import", str(import_id), near=tuple(map(str, known[-5:])))
    with database.writing() as connection:
        _drop(connection, import_id)


def list_imports(house: str, db: Database | None = None) -> list[ImportRecord]:
    """The imports of a house, oldest first."""
    from sqlalchemy import func, select

    from loadlib.store.tables import bill, import_, series_block, series_part

    slots = (
        select(func.coalesce(func.sum(series_block.c.slots), 0))
        .select_from(series_block.join(series_part))
        .where(series_part.c.import_id == import_.c.id)
        .scalar_subquery()
    )
    bills = select(func.count()).where(bill.c.import_id == import_.c.id).scalar_subquery()
    head = (import_.c.id, import_.c.at, import_.c.file_name, import_.c.sha256, import_.c.reader)
    with (db or open_database()).reading() as connection:
        key = house_key(connection, house)
        rows = select(*head, import_.c.notes, slots, bills).where(import_.c.house_id == key)
        return [_record(*row) for row in connection.execute(rows.order_by(import_.c.id))]


def _record(
    key: int, at: str, file_name: str, sha256: str, reader: str, notes: str, slots: int, bills: int
) -> ImportRecord:
    told = tuple(json.loads(notes))
    return ImportRecord(key, at, file_name, sha256, reader, told, slots, bills)


def find_import(house: str, sha256: str, db: Database | None = None) -> ImportRecord | None:
    """The import of a file with that hash, if the house has it: ask before reading it again."""
    return next((r for r in list_imports(house, db) if sha256 and r.sha256 == sha256), None)
