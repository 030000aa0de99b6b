"""Series and temperatures: stored once, laid over one another, never overwritten in silence."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from loadlib.core.household import House
from loadlib.core.series import ReadResult, Series, Temperatures
from loadlib.errors import DataError
from loadlib.store import houses, imports
from loadlib.store import series as store_series
from loadlib.store.database import Database, open_database
from loadlib.store.evidence import load_evidence

NAME = "Cabin"
START_S = 1_767_225_600  # 2026-01-01 00:00 UTC
NAN = float("nan")


@pytest.fixture
def house(db: Database) -> str:
    houses.create(House(NAME), db)
    return NAME


def hourly(values: list[float], *, start_h: int = 0, **other: Any) -> Series:
    base = Series("meter", "whole", "import", START_S + 3600 * start_h, 3600, np.array(values))
    return replace(base, **other)


def give(db: Database, *measured: Series, **options: Any) -> imports.ImportReport:
    return imports.store_result(NAME, ReadResult(series=measured), db=db, **options)


def stored(db: Database) -> tuple[Series, ...]:
    return load_evidence(NAME, db).series


def check(values_w: NDArray[np.float64], wanted: list[float]) -> None:
    np.testing.assert_array_equal(values_w, np.array(wanted))


def test_a_series_comes_back_with_all_it_said(db: Database, house: str) -> None:
    given_ = hourly(
        [100, NAN, 300], timezone="America/New_York", source="january.xml", notes=("1 gap",)
    )
    report = give(db, given_)
    assert (report.added, report.same, report.contradicted) == (2, 0, 0)
    (back,) = stored(db)
    for name in ("channel", "place", "flow", "start_s", "step_s", "timezone", "source", "notes"):
        assert getattr(back, name) == getattr(given_, name)
    check(back.mean_w, [100, NAN, 300])


@given(
    start_h=st.integers(-20_000, 20_000),
    step_s=st.sampled_from([60, 900, 1800, 3600, 86_400, 2_678_400]),
    values=st.lists(st.floats(-1e6, 1e6, width=32) | st.just(NAN), min_size=1, max_size=100),
)
@settings(max_examples=60, deadline=None)
def test_any_series_round_trips(
    tmp_path_factory: pytest.TempPathFactory, start_h: int, step_s: int, values: list[float]
) -> None:
    db = open_database(tmp_path_factory.getbasetemp() / "series.db")
    houses.save(House(NAME), db=db)
    report = give(db, hourly(values, start_h=start_h, step_s=step_s))
    there = np.flatnonzero(~np.isnan(values))
    if report.import_id is None:
        assert there.size == 0
        return
    (back,) = stored(db)
    check(back.mean_w, values[there[0] : there[-1] + 1])
    assert back.start_s == START_S + 3600 * start_h + step_s * int(there[0])
    imports.delete_import(NAME, report.import_id, db)
    assert stored(db) == ()


def test_the_same_again_is_a_no_op(db: Database, house: str) -> None:
    give(db, hourly([100, 200, 300]))
    again = give(db, hourly([100, 200.0001, 300]))
    assert again == imports.ImportReport(None, 0, 3, 0, ())
    assert len(imports.list_imports(NAME, db)) == 1


def test_what_overlaps_is_joined(db: Database, house: str) -> None:
    give(db, hourly([100, 200, 300], source="a"))
    report = give(db, hourly([300, 400, 500], start_h=2, source="b"))
    assert (report.added, report.same) == (2, 1)
    (back,) = stored(db)
    check(back.mean_w, [100, 200, 300, 400, 500])
    assert back.source == "a; b"


def test_a_gap_is_filled_by_a_measurement_only(db: Database, house: str) -> None:
    give(db, hourly([100, NAN, 300]))
    give(db, hourly([NAN, 200, NAN]))
    check(stored(db)[0].mean_w, [100, 200, 300])
    give(db, hourly([900], start_h=5))
    check(stored(db)[0].mean_w, [100, 200, 300, NAN, NAN, 900])


def test_a_contradiction_is_shown_and_nothing_is_stored(db: Database, house: str) -> None:
    first = give(db, hourly([100, 200, 300]))
    with pytest.raises(DataError) as caught:
        give(db, hourly([100, 250, 300, 400]), file_name="new.csv")
    text = str(caught.value)
    assert "1 values contradict" in text
    assert "meter at 2026-01-01 01:00 UTC: stored 200 W, now 250 W" in text
    assert caught.value.path == "new.csv"
    check(stored(db)[0].mean_w, [100, 200, 300])
    assert [r.import_id for r in imports.list_imports(NAME, db)] == [first.import_id]


def test_what_is_stored_can_be_kept(db: Database, house: str) -> None:
    give(db, hourly([100, 200, 300]))
    report = give(db, hourly([100, 250, 300, 400]), contradictions="keep")
    assert (report.added, report.same, report.contradicted) == (1, 2, 1)
    check(stored(db)[0].mean_w, [100, 200, 300, 400])


def test_what_is_stored_can_be_replaced_and_comes_back(db: Database, house: str) -> None:
    give(db, hourly([100, 200, 300]))
    report = give(db, hourly([100, 250, 300, 400]), contradictions="replace")
    assert (report.added, report.same, report.contradicted) == (2, 2, 1)
    check(stored(db)[0].mean_w, [100, 250, 300, 400])
    assert report.import_id is not None
    imports.delete_import(NAME, report.import_id, db)
    check(stored(db)[0].mean_w, [100, 200, 300])


def test_import_and_export_and_places_and_grids_are_kept_apart(db: Database, house: str) -> None:
    give(
        db,
        hourly([100, 200]),
        hourly([10, 20], flow="export"),
        hourly([1, 2], place="leg A"),
        hourly([7, 8], step_s=900),
        hourly([5, 6], start_s=START_S + 60),
    )
    found = {(s.flow, s.place, s.step_s, s.start_s % s.step_s): s for s in stored(db)}
    assert len(found) == 5
    check(found["export", "whole", 3600, 0].mean_w, [10, 20])
    check(found["import", "whole", 3600, 60].mean_w, [5, 6])


def test_a_zone_that_is_learnt_later_is_noted(db: Database, house: str) -> None:
    give(db, hourly([100]))
    give(db, hourly([200], start_h=1, timezone="Europe/Oslo"))
    give(db, hourly([300], start_h=2))
    assert stored(db)[0].timezone == "Europe/Oslo"


def test_nothing_measured_leaves_nothing(db: Database, house: str) -> None:
    assert give(db, hourly([NAN, NAN]), hourly([])).import_id is None
    assert stored(db) == ()
    with db.bare() as connection:
        assert connection.execute("SELECT count(*) FROM channel").fetchone() == (0,)


@pytest.mark.parametrize("value", [float("inf"), -float("inf"), 1e12])
def test_a_value_out_of_all_bounds(db: Database, house: str, value: float) -> None:
    with pytest.raises(DataError, match="out of all bounds"):
        give(db, hourly([100, value]))
    assert imports.list_imports(NAME, db) == []


def test_a_wrong_date_does_not_fill_the_memory(
    db: Database, house: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_series, "MOST_SLOTS", 1000)
    give(db, hourly([100]))
    with pytest.raises(DataError, match="Is a date wrong"):
        give(db, hourly([100], start_h=2000))
    give(db, hourly([100], start_h=900))


def test_one_row_a_month_and_well_under_a_megabyte_a_year(db: Database, house: str) -> None:
    rng = np.random.default_rng(5)
    year = hourly(list(rng.gamma(2, 400, 35_040).round()), step_s=900)
    give(db, year)
    with db.bare() as connection:
        rows, size = connection.execute(
            "SELECT count(*), sum(length(packed)) FROM series_block"
        ).fetchone()
    assert rows == 12
    assert size < 200_000


def test_a_damaged_block_is_named(db: Database, house: str) -> None:
    give(db, hourly([100, 200]))
    with db.bare(write=True) as connection:
        connection.execute("UPDATE series_block SET packed = x'0102'")
    with pytest.raises(DataError, match="damaged"):
        stored(db)


def test_temperatures(db: Database, house: str) -> None:
    def outdoor(step_s: int, values: list[float]) -> ReadResult:
        return ReadResult(temperatures=Temperatures(START_S, step_s, np.array(values), "station"))

    assert load_evidence(NAME, db).temperatures is None
    imports.store_result(NAME, outdoor(86_400, [-5.0]), db=db)
    imports.store_result(NAME, outdoor(3600, [-5.0, NAN, 1.5]), db=db)
    found = load_evidence(NAME, db)
    assert found.series == ()
    assert found.temperatures is not None
    assert (found.temperatures.step_s, found.temperatures.source) == (3600, "station")
    check(found.temperatures.outdoor_c, [-5.0, NAN, 1.5])
    with pytest.raises(DataError, match=r"stored -5 °C, now 8 °C"):
        imports.store_result(NAME, outdoor(3600, [8.0]), db=db)


def test_a_channel_without_values_is_no_series(db: Database, house: str) -> None:
    with db.bare(write=True) as connection:
        connection.execute(
            "INSERT INTO channel(house_id, channel, flow, step_s, phase_s) "
            "VALUES ((SELECT id FROM house), 'meter', 'import', 3600, 0)"
        )
    assert stored(db) == ()
