"""Readings, plugin files, and all that is known about a house in one object."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from loadlib.core.household import House
from loadlib.core.readings import Reading
from loadlib.core.series import ReadResult, Series
from loadlib.errors import InputError, NotFound
from loadlib.store import edits, houses, imports, readings
from loadlib.store.database import Database
from loadlib.store.evidence import load_evidence

NAME = "Ridge farmhouse"
CLAMP = Reading(
    "circuit well",
    "clamp",
    kind="peak hold",
    amps=9.8,
    volts=238.0,
    legs=("A", "B"),
    turns=2,
    at=datetime(2026, 1, 14, 18, 40, tzinfo=UTC),
    on=("pump",),
    note="through the jaw twice",
)


@pytest.fixture(autouse=True)
def _house(db: Database, farmhouse: House) -> None:
    houses.create(farmhouse, db)


def test_readings_come_back_as_they_were_read(db: Database) -> None:
    first = readings.add_reading(NAME, CLAMP, db)
    second = readings.add_reading(NAME, Reading("whole", "utility meter", watts=2840.0), db)
    assert list(readings.list_readings(NAME, db)) == [first, second]
    assert readings.list_readings(NAME, db)[first] == CLAMP
    readings.remove_reading(NAME, first, db)
    assert list(readings.list_readings(NAME, db)) == [second]
    with pytest.raises(NotFound, match="reading"):
        readings.remove_reading(NAME, first, db)


def test_plugin_files(db: Database, tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    with pytest.raises(InputError, match="no file"):
        readings.add_file(NAME, "heat_pump_log", log, db)
    log.write_text("x", encoding="utf-8")
    for _ in range(2):
        readings.add_file(NAME, "heat_pump_log", log, db)
    assert dict(load_evidence(NAME, db).files) == {"heat_pump_log": (str(log),)}
    readings.remove_file(NAME, "heat_pump_log", log, db)
    assert dict(load_evidence(NAME, db).files) == {}
    with pytest.raises(NotFound, match="file of heat_pump_log"):
        readings.remove_file(NAME, "heat_pump_log", log, db)


def test_evidence_is_all_that_is_stored(db: Database, farmhouse: House) -> None:
    readings.add_reading(NAME, CLAMP, db)
    evidence = load_evidence(NAME, db, seed=7)
    assert evidence.house == farmhouse
    assert set(evidence.categories) == {"well_pump", "sump_pump", "refrigerator"}
    assert evidence.categories["well_pump"].aliases == ("deep well pump", "pump")
    assert evidence.readings == (CLAMP,)
    assert (evidence.bills, evidence.series, evidence.temperatures) == ((), (), None)
    assert evidence.seed == 7


def test_a_category_that_the_catalog_lacks_is_absent(db: Database) -> None:
    houses.edit(NAME, lambda h: edits.change_appliance(h, "sump", category="sleigh"), "x", db)
    assert set(load_evidence(NAME, db).categories) == {"well_pump", "refrigerator"}


def test_what_was_measured_on_something_that_is_gone_is_left_out(db: Database) -> None:
    readings.add_reading(NAME, CLAMP, db)
    series = Series("plug", "appliance sump", "load", 0, 60, np.array([500.0]))
    imports.store_result(NAME, ReadResult(series=(series,)), db=db)
    houses.edit(NAME, lambda h: edits.remove_circuit(h, "well"), "removed well", db)
    houses.edit(NAME, lambda h: edits.remove_appliance(h, "sump"), "removed sump", db)
    evidence = load_evidence(NAME, db)
    assert (evidence.readings, evidence.series) == ((), ())
    houses.undo(NAME, db)
    houses.undo(NAME, db)
    evidence = load_evidence(NAME, db)
    assert (len(evidence.readings), len(evidence.series)) == (1, 1)


def test_an_unknown_house(db: Database) -> None:
    with pytest.raises(NotFound, match="house"):
        load_evidence("Castle", db)


def test_the_default_database_is_used(db: Database) -> None:
    assert load_evidence(NAME).house.name == NAME
