"""Imports: whole or not at all, found again by their hash, deletable; bills among them."""

from __future__ import annotations

from datetime import date

import pytest

from loadlib.core.household import House
from loadlib.core.series import BillPeriod, ReadResult
from loadlib.errors import DataError, InputError, NotFound
from loadlib.store import houses, imports
from loadlib.store.database import Database
from loadlib.store.evidence import load_evidence

NAME = "Cabin"


@pytest.fixture(autouse=True)
def _house(db: Database) -> None:
    houses.create(House(NAME), db)


def bill(first: str, after: str, kwh: float, **other: object) -> BillPeriod:
    return BillPeriod(date.fromisoformat(first), date.fromisoformat(after), kwh * 1000.0, **other)  # type: ignore[arg-type]  # test shorthand


JANUARY = bill("2026-01-01", "2026-02-01", 900, cost=131.5, estimated=True, source="paper")
FEBRUARY = bill("2026-02-01", "2026-03-01", 760)


def give(db: Database, *bills: BillPeriod, contradictions: str = "refuse") -> imports.ImportReport:
    return imports.store_result(NAME, ReadResult(bills=bills), contradictions=contradictions, db=db)


def stored(db: Database) -> tuple[BillPeriod, ...]:
    return load_evidence(NAME, db).bills


def test_bills_come_back_in_order(db: Database) -> None:
    report = give(db, FEBRUARY, JANUARY)
    assert report.added == 2
    assert stored(db) == (JANUARY, FEBRUARY)


def test_the_same_bill_again_is_a_no_op(db: Database) -> None:
    give(db, JANUARY)
    assert give(db, JANUARY) == imports.ImportReport(None, 0, 1, 0, ())
    assert give(db, JANUARY, FEBRUARY).added == 1


def test_one_file_that_says_two_things(db: Database) -> None:
    with pytest.raises(DataError, match="1 values contradict"):
        give(db, JANUARY, bill("2026-01-01", "2026-02-01", 950))
    assert stored(db) == ()


@pytest.mark.parametrize(
    "other",
    [
        bill("2026-01-01", "2026-02-01", 950),
        bill("2026-01-15", "2026-02-14", 900),
        bill("2025-01-01", "2027-01-01", 9000),
    ],
)
def test_an_overlapping_bill_is_shown(db: Database, other: BillPeriod) -> None:
    give(db, JANUARY)
    with pytest.raises(DataError, match="2026-01-01 to 2026-02-01 with 900 kWh is stored"):
        give(db, other)
    assert stored(db) == (JANUARY,)
    assert give(db, other, contradictions="keep").import_id is None
    report = give(db, other, contradictions="replace")
    assert stored(db) == (other,)
    assert report.import_id is not None
    imports.delete_import(NAME, report.import_id, db)
    assert stored(db) == (JANUARY,)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (bill("2026-02-01", "2026-01-01", 900), "no day in between"),
        (bill("2026-01-01", "2026-01-01", 900), "no day in between"),
        (bill("2026-01-01", "2026-02-01", float("nan")), "nan kWh"),
        (bill("2026-01-01", "2026-02-01", 1e9), "1e\\+09 kWh"),
    ],
)
def test_an_impossible_bill(db: Database, wrong: BillPeriod, says: str) -> None:
    with pytest.raises((InputError, DataError), match=says):
        give(db, FEBRUARY, wrong)
    assert stored(db) == ()
    assert imports.list_imports(NAME, db) == []


def test_the_log_of_imports(db: Database) -> None:
    result = ReadResult(bills=(JANUARY,), notes=("1 estimated read",))
    report = imports.store_result(
        NAME, result, file_name="bills.csv", sha256="ab12", reader="delimited", db=db
    )
    assert report.notes == ("1 estimated read",)
    (record,) = imports.list_imports(NAME, db)
    assert (record.file_name, record.reader, record.notes) == (
        "bills.csv",
        "delimited",
        ("1 estimated read",),
    )
    assert (record.slots, record.bills) == (0, 1)
    assert imports.find_import(NAME, "ab12", db) == record
    assert imports.find_import(NAME, "cd34", db) is None
    assert imports.find_import(NAME, "", db) is None


def test_what_can_not_be_done(db: Database) -> None:
    with pytest.raises(NotFound, match="import '7'"):
        imports.delete_import(NAME, 7, db)
    with pytest.raises(NotFound, match="house"):
        imports.store_result("Castle", ReadResult(bills=(JANUARY,)), db=db)
    with pytest.raises(InputError, match="contradictions 'perhaps'"):
        give(db, JANUARY, contradictions="perhaps")


def test_an_import_of_another_house_is_out_of_reach(db: Database) -> None:
    report = give(db, JANUARY)
    houses.create(House("Barn"), db)
    assert report.import_id is not None
    with pytest.raises(NotFound):
        imports.delete_import("Barn", report.import_id, db)
    assert load_evidence("Barn", db).bills == ()
