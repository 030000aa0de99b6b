"""Logs that come and go a stretch at a time: one import, all or nothing, read back in slices."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from loadlib.core.household import House
from loadlib.core.series import ReadResult, Series
from loadlib.errors import DataError, NotFound
from loadlib.store import houses, imports, series
from loadlib.store.database import Database
from loadlib.store.evidence import load_evidence
from loadlib.store.samples import stored_logs

NAME = "Cabin"
START_S = 1_767_225_600  # 2026-01-01 00:00 UTC


@pytest.fixture(autouse=True)
def _house(db: Database) -> None:
    houses.create(House(NAME), db)


def part(first: int, values: list[float], *notes: str) -> ReadResult:
    one = Series("leg A", "leg A", "load", START_S + first, 1, np.array(values), "Etc/UTC")
    return ReadResult((one,), notes=notes)


PARTS = (part(0, [1, 2, 3]), part(3, [4, 5]), part(8, [9, 10], "late"), ReadResult(notes=("end",)))


def test_parts_are_one_import(db: Database) -> None:
    report = imports.store_parts(NAME, PARTS, reader="clamp_log", db=db)
    assert (report.added, report.notes) == (7, ("late", "end"))
    (record,) = imports.list_imports(NAME, db)
    assert (record.slots, record.notes) == (7, ("late", "end"))
    (one,) = load_evidence(NAME, db).series
    np.testing.assert_array_equal(one.mean_w, [1, 2, 3, 4, 5, np.nan, np.nan, np.nan, 9, 10])
    imports.delete_import(NAME, record.import_id, db)
    assert stored_logs(NAME, db) == []


def test_the_same_parts_again_add_nothing(db: Database) -> None:
    imports.store_parts(NAME, PARTS, db=db)
    again = imports.store_parts(NAME, PARTS, db=db)
    assert (again.import_id, again.added, again.same) == (None, 0, 7)


def test_a_fault_on_the_way_leaves_nothing(db: Database) -> None:
    def broken() -> Iterator[ReadResult]:
        yield PARTS[0]
        raise DataError("a dead channel")

    with pytest.raises(DataError, match="dead channel"):
        imports.store_parts(NAME, broken(), db=db)
    assert imports.list_imports(NAME, db) == []
    assert load_evidence(NAME, db).series == ()


def test_a_contradiction_in_any_part_leaves_nothing(db: Database) -> None:
    imports.store_parts(NAME, PARTS[:1], db=db)
    with pytest.raises(DataError, match="1 values contradict"):
        imports.store_parts(NAME, (part(5, [8]), part(1, [7])), db=db)
    (one,) = load_evidence(NAME, db).series
    np.testing.assert_array_equal(one.mean_w, [1, 2, 3])


def test_slices_of_a_stored_log_are_those_of_the_series(db: Database) -> None:
    imports.store_parts(NAME, PARTS, db=db)
    imports.store_parts(NAME, (part(6, [7, 8]),), db=db)
    (log,) = stored_logs(NAME, db)
    (one,) = load_evidence(NAME, db).series
    assert (log.place, log.timezone) == ("leg A", "Etc/UTC")
    assert (log.values.start_s, log.values.step_s) == (one.start_s, one.step_s)
    assert log.values.size == one.mean_w.size
    for cut in (slice(0, 4), slice(3, 9), slice(7, 99), slice(5, 5), slice(-3, None)):
        np.testing.assert_array_equal(log.values[cut], one.mean_w[cut])


def test_only_logs_and_only_of_a_known_house(db: Database) -> None:
    bill = Series("meter", "whole", "import", START_S, 3600, np.ones(3))
    imports.store_result(NAME, ReadResult((bill,)), db=db)
    assert stored_logs(NAME, db) == []
    with pytest.raises(NotFound):
        stored_logs("nowhere", db)


def day(
    step_s: int,
    watts: float,
    *,
    late_s: int = 0,
    channel: str = "leg A",
    place: str = "leg A",
    flow: str = "load",
) -> ReadResult:
    """A day of the same watts all the time."""
    values = np.full(86_400 // step_s, watts)
    return ReadResult((Series(channel, place, flow, START_S + late_s, step_s, values),))


def test_another_step_that_says_something_else_is_remarked(db: Database) -> None:
    imports.store_result(NAME, day(5, 500.0), db=db)
    report = imports.store_result(NAME, day(60, 615.0, late_s=12 * 3600), db=db)
    assert report.notes == (
        "leg A: 12 h of it are stored at 5 s too, but there the mean is 500 W, here 615 W: "
        "is it the same place?",
    )
    assert imports.list_imports(NAME, db)[-1].notes == report.notes


@pytest.mark.parametrize(
    ("other", "remarks"),
    [
        (day(5, 615.0, late_s=2), 1),
        (day(5, 615.0, channel="clamp 2"), 1),
        (day(900, 400.0), 1),
        (day(60, 540.0), 0),
        (day(60, 615.0, late_s=86_400), 0),
        (day(60, 615.0, place="leg B"), 0),
        (day(60, 615.0, flow="import"), 0),
        (day(7200, 615.0), 0),
    ],
)
def test_what_is_compared(db: Database, other: ReadResult, remarks: int) -> None:
    imports.store_result(NAME, day(5, 500.0), db=db)
    assert len(imports.store_result(NAME, other, db=db).notes) == remarks


def test_few_watts_apart_are_no_remark(db: Database) -> None:
    imports.store_result(NAME, day(5, 20.0), db=db)
    assert imports.store_result(NAME, day(60, 45.0), db=db).notes == ()


def test_channels_of_one_file_are_not_held_against_each_other(db: Database) -> None:
    both = day(5, 500.0).series + day(60, 900.0).series
    assert imports.store_result(NAME, ReadResult(both), db=db).notes == ()


def test_hours_that_both_have_are_compared_over_weeks(db: Database) -> None:
    """20 days by the minute that rise by 1 W an hour; quarter hours of some of them, 100 W more."""
    minutes = np.repeat(np.arange(480.0), 60)
    quarters = np.repeat(np.arange(480.0), 4) + 100.0
    quarters[: 4 * 100] = np.nan
    quarters[4 * 300 : 4 * 400] = np.nan
    for step_s, values in ((60, minutes), (900, quarters)):
        one = Series("leg A", "leg A", "load", START_S, step_s, values)
        report = imports.store_parts(NAME, (ReadResult((one,)),), db=db)
    stored_w = np.r_[100:300, 400:480].mean()
    (note,) = report.notes
    assert f"280 h of it are stored at 60 s too, but there the mean is {stored_w:.0f} W" in note
    assert f"here {stored_w + 100:.0f} W" in note


def test_values_are_read_only_where_there_is_another_channel(
    db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    imports.store_result(NAME, day(5, 500.0), db=db)

    def read(*_: object) -> None:
        raise AssertionError("nothing to compare with")

    monkeypatch.setattr(series, "values_between", read)
    imports.store_result(NAME, day(5, 500.0, late_s=86_400), db=db)
    with pytest.raises(AssertionError):
        imports.store_result(NAME, day(60, 500.0), db=db)
