"""The mapping file: what a person stated about a layout, kept for next month's file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.series import ReadOptions
from loadlib.errors import DataError, NotFound
from loadlib.readers import read_usage
from loadlib.readers.delimited.roles import MEANINGS
from loadlib.readers.mapping import load_mapping, mapping_text, save_mapping

Write = Callable[..., Path]

NAMES = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=20)
OPTIONS = st.builds(
    ReadOptions,
    timezone=st.sampled_from(["", "America/New_York", "Etc/GMT+5"]),
    unit=st.sampled_from(["", "kWh", "W", "°F"]),
    stamp=st.sampled_from(["", "start", "end"]),
    day_first=st.sampled_from([None, True, False]),
    channel=st.text(st.characters(exclude_categories=("Cs",)), max_size=10),
    columns=st.dictionaries(st.sampled_from(MEANINGS), NAMES, max_size=4).map(
        lambda columns: tuple(columns.items())
    ),
)


@settings(max_examples=100, deadline=None)
@given(options=OPTIONS)
def test_round_trip(tmp_path_factory: pytest.TempPathFactory, options: ReadOptions) -> None:
    path = tmp_path_factory.mktemp("mapping") / "meter.toml"
    save_mapping(path, options)
    assert load_mapping(path) == options
    assert [child.name for child in path.parent.iterdir()] == ["meter.toml"]


def test_a_mapping_reads_a_layout_that_sniffing_does_not(write: Write) -> None:
    text = "a;b;c;d\n" + "".join(
        f"x;{d:02d}/{m:02d}/2023;7;{d}\n" for m in (1, 2) for d in (1, 2, 3)
    )
    usage = write(text)
    mapping = write(
        'version = 1\nunit = "kWh"\nday_first = true\n[columns]\ndate = "b"\nimport = "d"\n',
        "mine.toml",
    )
    result, _ = read_usage(usage, load_mapping(mapping), reader="delimited")
    assert [bill.energy_wh for bill in result.bills] == [1e3, 2e3, 3e3, 1e3, 2e3, 3e3]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("colums = 1", "key 'colums'"),
        ("version = 2", "version 2, not 1"),
        ('unit = "hp"', "unit 'hp'"),
        ("unit = 3", "unit 3 is not a text"),
        ('stamp = "middle"', "stamp 'middle'"),
        ('day_first = "yes"', "day_first 'yes'"),
        ('timezone = "America/New_Yrok"', "no time zone"),
        ("columns = 3", "columns is not a table"),
        ('[columns]\nvolts = "V"', "columns.volts"),
        ("[columns]\nimport = 3", "columns.import 3"),
        ("version = ", "Invalid value"),
    ],
)
def test_wrong_keys_are_named(write: Write, text: str, message: str) -> None:
    path = write(text, "wrong.toml")
    with pytest.raises(DataError, match=message) as caught:
        load_mapping(path)
    assert caught.value.path == str(path)


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no mapping file"):
        load_mapping(tmp_path / "none.toml")


def test_empty_options_are_a_plain_file() -> None:
    assert mapping_text(ReadOptions()) == "version = 1\n"
