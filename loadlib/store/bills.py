"""Billing periods in the store; the same again is a no-op, a contradiction is shown."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from sqlalchemy import Connection, select, update

from loadlib.core.series import BillPeriod
from loadlib.errors import DataError, InputError
from loadlib.store.series import Tally
from loadlib.store.tables import bill

__all__ = ["read_bills", "store_bills"]

MOST_WH = 1e9
"""A thousand MWh in one billing period: no house."""


def read_bills(connection: Connection, house_id: int) -> list[BillPeriod]:
    """The bills of a house that count, by first day."""
    return [_bill(row) for row in _rows(connection, house_id)]


def _rows(connection: Connection, house_id: int) -> list[Any]:
    rows = select(bill).where(bill.c.house_id == house_id, bill.c.replaced_by.is_(None))
    return list(connection.execute(rows.order_by(bill.c.first_day, bill.c.id)))


def _bill(row: Any) -> BillPeriod:
    return BillPeriod(
        first_day=date.fromisoformat(row.first_day),
        day_after=date.fromisoformat(row.day_after),
        energy_wh=row.energy_wh,
        cost=row.cost,
        estimated=row.estimated,
        source=row.source,
    )


def store_bills(
    connection: Connection,
    house_id: int,
    import_id: int,
    periods: tuple[BillPeriod, ...],
    *,
    replace: bool,
) -> Tally:
    """Add the bills that are new; with ``replace`` also those that contradict stored ones.

    A replaced bill stays in the file and counts again when the import that replaced it is
    deleted.
    """
    added = same = contradicted = 0
    example = ""
    for period in periods:
        _check(period)
        clashing = [row for row in _rows(connection, house_id) if _overlap(row, period)]
        if any(_alike(_bill(row), period) for row in clashing):
            same += 1
            continue
        if clashing:
            contradicted += 1
            example = example or f"{_words(_bill(clashing[0]))} is stored, now {_words(period)}"
            if not replace:
                continue
            gone = bill.c.id.in_([row.id for row in clashing])
            connection.execute(update(bill).where(gone).values(replaced_by=import_id))
        _insert(connection, house_id, import_id, period)
        added += 1
    return Tally(added, same, contradicted, example)


def _insert(connection: Connection, house_id: int, import_id: int, period: BillPeriod) -> None:
    connection.execute(
        bill.insert().values(
            house_id=house_id,
            import_id=import_id,
            first_day=period.first_day.isoformat(),
            day_after=period.day_after.isoformat(),
            energy_wh=period.energy_wh,
            cost=period.cost,
            estimated=period.estimated,
            source=period.source,
        )
    )


def _check(period: BillPeriod) -> None:
    if period.first_day >= period.day_after:
        raise InputError(
            f"bill from {period.first_day} to {period.day_after}: no day in between",
            hint="Give the first day of the period and the day after its last.",
        )
    if not math.isfinite(period.energy_wh) or abs(period.energy_wh) > MOST_WH:
        raise DataError(f"bill from {period.first_day}: {period.energy_wh / 1000:g} kWh")


def _overlap(row: Any, period: BillPeriod) -> bool:
    return bool(
        row.first_day < period.day_after.isoformat()
        and period.first_day.isoformat() < row.day_after
    )


def _alike(one: BillPeriod, other: BillPeriod) -> bool:
    return (one.first_day, one.day_after) == (other.first_day, other.day_after) and math.isclose(
        one.energy_wh, other.energy_wh, rel_tol=1e-6, abs_tol=0.5
    )


def _words(period: BillPeriod) -> str:
    return f"{period.first_day} to {period.day_after} with {period.energy_wh / 1000:g} kWh"
