"""The profile document: exact round trips, the committed schema, refusals."""

from __future__ import annotations

import importlib.util
import json
import sys
from pathlib import Path

import jsonschema
import polars as pl
import pyarrow as pa
import pytest
from hypothesis import given, settings

from loadlib.core.profile import LoadProfile, Peak
from loadlib.core.ranges import Range
from loadlib.errors import DataError, NotFound
from loadlib.exchange.compare import compare, in_words
from loadlib.exchange.json_document import committed_schema, from_json, generated_schema, to_json
from loadlib.exchange.tables import TABLES, from_arrow, from_csv, rows_of, to_csv

# Test modules are imported one by one, so the neighbour is loaded by its path.
_spec = importlib.util.spec_from_file_location(
    "exchange_profiles", Path(__file__).with_name("profiles.py")
)
assert _spec is not None
assert _spec.loader is not None
_module = importlib.util.module_from_spec(_spec)
sys.modules["exchange_profiles"] = _module
_spec.loader.exec_module(_module)
profiles = _module.profiles

SMALL = LoadProfile(
    house="ridge", system="120/240", legs=("A", "B"), energy_wh_per_year=Range(1, 2, 3)
)


@settings(max_examples=60, deadline=None)
@given(profiles())
def test_json_csv_and_arrow_give_back_the_same_profile(profile: LoadProfile) -> None:
    assert from_json(to_json(profile)) == profile
    assert from_csv(to_csv(profile)) == profile
    assert from_arrow(profile) == profile


@settings(max_examples=20, deadline=None)
@given(profiles())
def test_a_document_is_valid_against_the_committed_schema(profile: LoadProfile) -> None:
    # Checked by an independent implementation of JSON Schema 2020-12.
    validator = jsonschema.Draft202012Validator(committed_schema())
    validator.validate(json.loads(to_json(profile)))


def test_the_committed_schema_is_the_one_of_the_code() -> None:
    assert committed_schema() == generated_schema(), (
        "regenerate it: python -m loadlib.exchange.write_schema"
    )
    jsonschema.Draft202012Validator.check_schema(committed_schema())


def test_arrow_stream_is_read_by_another_library() -> None:
    profile = from_json(to_json(SMALL))
    frame = pl.DataFrame(pa.table(profile))
    assert frame.columns == list(TABLES["demand"])


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"version":1', '"version":2', "reads up to 1"),
        ('"schema":"loadlib-profile"', '"schema":"other"', "expected 'loadlib-profile'"),
        ('"low":1.0', '"low":NaN', "energy_wh_per_year"),
        ('"low":1.0', '"low":"1"', "energy_wh_per_year"),
        ('"low":1.0', '"low":9.0', "upside down"),
        ('"house":"ridge",', "", "house"),
    ],
)
def test_a_broken_document_is_refused_with_the_field(old: str, new: str, words: str) -> None:
    text = to_json(SMALL)
    assert old in text
    with pytest.raises(DataError, match=words):
        from_json(text.replace(old, new))


@pytest.mark.parametrize("text", ["", "[]", "{", "null", '{"a": 1}', "\x00"])
def test_what_is_no_document_is_refused(text: str) -> None:
    with pytest.raises(DataError):
        from_json(text)


def test_an_unknown_field_is_ignored() -> None:
    assert from_json(to_json(SMALL).replace('"seed":1', '"seed":1,"later":true')) == SMALL


@pytest.mark.parametrize(
    ("text", "line"),
    [("a,b\n", 1), ("path,value\nx\n", 2), ("path,value\nversion,{\n", 2), ("", 1)],
)
def test_a_broken_csv_document_is_refused_with_its_line(text: str, line: int) -> None:
    with pytest.raises(DataError) as caught:
        from_csv(text)
    assert caught.value.line == line


def test_flat_tables_have_as_many_cells_as_headings() -> None:
    for table, headings in TABLES.items():
        for row in rows_of(SMALL, table):
            assert len(row) == len(headings)
    with pytest.raises(NotFound):
        rows_of(SMALL, "other")


def test_two_profiles_are_compared_in_words() -> None:
    from dataclasses import replace

    before = replace(SMALL, energy_wh_per_year=Range(1e6, 2e6, 3e6))
    after = replace(
        SMALL,
        energy_wh_per_year=Range(2e6, 4e6, 6e6),
        peaks=(Peak("whole", 3600, "year", Range(1000, 2000, 3000), "measured"),),
    )
    assert compare(before, before) == []
    assert in_words([]) == ["The two profiles agree in energy, peaks and loads."]
    assert in_words(compare(before, after)) == [
        "New: highest 60 min, whole, year 2,000 W.",
        "energy of a year: 2,000 became 4,000 kWh, +100%.",
    ]
    assert in_words(compare(after, before))[0] == "Gone: highest 60 min, whole, year 2,000 W."
