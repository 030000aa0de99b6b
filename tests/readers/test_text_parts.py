"""Dates, clock times, numbers, units and headings, one by one."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.errors import DataError, InputError
from loadlib.readers.delimited.dates import (
    AmbiguousOrder,
    clock_seconds,
    day_number,
    decide_order,
    is_date,
    split_stamp,
)
from loadlib.readers.delimited.numbers import decimal_mark, is_number, parse_number
from loadlib.readers.delimited.roles import find_roles, unit_in
from loadlib.readers.delimited.table import find_table
from loadlib.readers.delimited.text import encoding_of
from loadlib.readers.delimited.units import power_in, power_of

EPOCH = date(1970, 1, 1)


@pytest.mark.parametrize(
    "text",
    [
        "2023-04-03", "2023/4/3", "2023.04.03", "20230403", "3-Apr-2023", "03 April 2023",
        "Apr 3, 2023", "April 3rd, 2023", "Mon, 3 Apr 2023", "3. Apr. 2023", "03-APR-23",
    ],
)  # fmt: skip
@pytest.mark.parametrize("day_first", [True, False])
def test_dates_that_need_no_order(text: str, day_first: bool) -> None:
    assert is_date(text)
    assert EPOCH + timedelta(days=day_number(text, day_first=day_first)) == date(2023, 4, 3)


@pytest.mark.parametrize("text", ["03/04/2023", "3-4-2023", "03.04.23"])
def test_dates_that_need_an_order(text: str) -> None:
    assert EPOCH + timedelta(days=day_number(text, day_first=True)) == date(2023, 4, 3)
    assert EPOCH + timedelta(days=day_number(text, day_first=False)) == date(2023, 3, 4)


@pytest.mark.parametrize("text", ["", "soon", "2023", "2023-4/3", "1/2", "12.5", "Foo 3, 2023"])
def test_what_is_no_date(text: str) -> None:
    assert not is_date(text)
    with pytest.raises(InputError, match="is not a date"):
        day_number(text, day_first=True)


@pytest.mark.parametrize("text", ["2023-02-29", "2023-13-01", "31/04/2023"])
def test_days_that_do_not_exist(text: str) -> None:
    with pytest.raises(InputError, match="there is no day"):
        day_number(text, day_first=True)


@settings(max_examples=200, deadline=None)
@given(day=st.dates(date(1980, 1, 1), date(2099, 12, 31)), form=st.sampled_from(
    ["%Y-%m-%d", "%Y/%m/%d", "%Y%m%d", "%d %b %Y", "%B %d, %Y", "%d/%m/%Y", "%d.%m.%Y"]
))  # fmt: skip
def test_written_days_are_read_back(day: date, form: str) -> None:
    text = day.strftime(form)
    assert EPOCH + timedelta(days=day_number(text, day_first=True)) == day


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("00:00", 0), ("0:15", 900), ("23:59:59", 86_399), ("24:00", 86_400), ("12:00 AM", 0),
        ("12:30 pm", 45_000), ("1:05 p.m.", 47_100), ("7", 25_200), ("7 pm", 68_400),
        ("07.30", 27_000), ("07h30", 27_000), ("01:02:03.500", 3723),
    ],
)  # fmt: skip
def test_clock_times(text: str, seconds: int) -> None:
    assert clock_seconds(text) == seconds


@pytest.mark.parametrize("text", ["", "25:00", "24:01", "12:60", "13:00 PM", "0:30 am", "noon"])
def test_what_is_no_clock_time(text: str) -> None:
    with pytest.raises(InputError, match="is not a time of day"):
        clock_seconds(text)


@pytest.mark.parametrize(
    ("stamp", "parts"),
    [
        ("2023-04-03 07:30", ("2023-04-03", "07:30", "")),
        ("2023-04-03T07:30:00Z", ("2023-04-03", "07:30:00", "Z")),
        ("2023-04-03T07:30:00-05:00", ("2023-04-03", "07:30:00", "-05:00")),
        ("4/3/2023 7:30 AM", ("4/3/2023", "7:30 AM", "")),
        ("Apr 3, 2023 7:30 PM", ("Apr 3, 2023", "7:30 PM", "")),
        ("2023-04-03", ("2023-04-03", "", "")),
        ("3 Apr 2023", ("3 Apr 2023", "", "")),
    ],
)
def test_stamps_are_split(stamp: str, parts: tuple[str, str, str]) -> None:
    assert split_stamp(stamp) == parts


def test_order_by_the_only_possible_one() -> None:
    assert decide_order(["03/04/2023", "13/04/2023"], None)[0] is True
    assert decide_order(["03/04/2023", "04/13/2023"], None)[0] is False


def test_order_in_which_day_follows_day() -> None:
    assert decide_order(["01/02/2023", "02/02/2023", "03/02/2023"], None)[0] is True
    assert decide_order(["02/01/2023", "02/02/2023", "02/03/2023"], None)[0] is False
    with pytest.raises(AmbiguousOrder, match="03/04/2023"):
        decide_order(["03/04/2023", "05/06/2023"], None)
    assert decide_order(["03.04.2023", "05.06.2023"], None)[0] is True


def test_stated_order_must_fit() -> None:
    assert decide_order(["03/04/2023"], False)[0] is False
    with pytest.raises(InputError, match="can't be month first"):
        decide_order(["13/04/2023"], False)
    with pytest.raises(InputError, match="neither"):
        decide_order(["13/04/2023", "04/13/2023"], None)


@pytest.mark.parametrize(
    ("text", "decimal", "number", "flag"),
    [
        ("0.25", ".", 0.25, ""), ("-0.22100000000000", ".", -0.221, ""), ("−3", ".", -3.0, ""),
        ("1,234.5", ".", 1234.5, ""), ("1.234,5", ",", 1234.5, ""), ("1 234,5", ",", 1234.5, ""),
        ("1'234.5", ".", 1234.5, ""), ("1.5e-3", ".", 0.0015, ""), (".5", ".", 0.5, ""),
        ("0.45 E", ".", 0.45, "e"), ("0.45*", ".", 0.45, "*"), ("12 kWh", ".", 12.0, ""),
        ('"7"', ".", 7.0, ""),
    ],
)  # fmt: skip
def test_numbers(text: str, decimal: str, number: float, flag: str) -> None:
    assert is_number(text.strip('"'))
    assert parse_number(text, decimal) == (pytest.approx(number), flag)


@pytest.mark.parametrize("text", ["", " ", "-", "N/A", "null", "NaN", "--"])
def test_blanks_are_missing(text: str) -> None:
    assert np.isnan(parse_number(text, ".")[0])


@pytest.mark.parametrize("text", ["abc", "1.2.3.4x", "12:30", "1;2", "inf", "$5"])
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(InputError, match="is not a number"):
        parse_number(text, ".")


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["1.5", "2.25"], "."), (["1,5", "2,25"], ","), (["1.234,5"], ","), (["1,234.5"], "."),
        (["0,125"], ","), (["0.125"], "."), (["12", "7"], "."), ([], "."),
    ],
)  # fmt: skip
def test_decimal_mark(cells: list[str], mark: str) -> None:
    assert decimal_mark(cells) == mark


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Usage (kWh)", "kWh"), ("USAGE_KWH", "kWh"), ("Wh", "Wh"), ("Power [kW]", "kW"),
        ("P in W", "W"), ("where", ""), ("MWh", "MWh"), ("WHE", ""), ("kW demand", "kW"),
    ],
)  # fmt: skip
def test_units_in_headings(heading: str, unit: str) -> None:
    assert unit_in(heading) == unit


def test_power_of_energy_and_of_power() -> None:
    """1 kWh in a quarter hour is 4 kW; 1 kW stays 1 kW."""
    one = np.array([1.0])
    assert power_of(one, 900, "kWh") == pytest.approx([4000.0])
    assert power_of(one, 900, "kW") == pytest.approx([1000.0])
    assert power_of(one, 3600, "MWh") == pytest.approx([1e6])


def test_circuits_are_not_judged_by_size() -> None:
    small = np.array([0.001, 0.002])
    told = {"stated": "", "path": "f"}
    mean_w, _ = power_in(small, 3600, heading="kWh", whole=False, **told)  # type: ignore[arg-type]  # a dict of keywords
    assert mean_w == pytest.approx([1.0, 2.0])
    with pytest.raises(DataError, match="no unit"):
        power_in(small, 3600, heading="", whole=False, **told)  # type: ignore[arg-type]  # as above


@pytest.mark.parametrize(
    ("headings", "expected"),
    [
        ("Timestamp,Import kWh,Export kWh", {"import", "export"}),
        ("Timestamp,Delivered (kWh),Received (kWh)", {"import", "export"}),
        ("Timestamp,1.8.0 kWh,2.8.0 kWh", {"import", "export"}),
        ("Timestamp,Consumption,Generation", {"import", "export"}),
        ("Timestamp,Bezug kWh,Einspeisung kWh", {"import", "export"}),
        ("Timestamp,Net kWh,Temp °C", {"net"}),
        ("Timestamp,Usage kWh,Cost", {"import"}),
    ],
)
def test_flows_by_heading(headings: str, expected: set[str]) -> None:
    table = find_table(f"{headings}\n2023-03-01 00:00,1.5,2.5\n2023-03-01 01:00,1.5,2.5\n")
    assert table is not None
    assert {column.flow for column in find_roles(table, (), "f").values} == expected


def test_stated_columns_must_exist() -> None:
    table = find_table("time,kWh\n2023-03-01 00:00,1\n2023-03-01 01:00,2\n")
    assert table is not None
    with pytest.raises(InputError, match="no column 'Qty'"):
        find_roles(table, (("import", "Qty"),), "f")
    with pytest.raises(InputError, match="column meaning 'volts'"):
        find_roles(table, (("volts", "kWh"),), "f")


@pytest.mark.parametrize("text", ["", "one line", "a,b\nc,d\n", "1,2\n3,4\n", '"open\n' * 9])
def test_no_table(text: str) -> None:
    assert find_table(text) is None


@pytest.mark.parametrize("name", ["utf-8", "utf-16-le", "utf-16-be", "utf-8-sig", "cp1252"])
def test_encodings_are_recognised(name: str) -> None:
    text = "Verbrauch für März, kWh\n2023-03-01 00:00,1\n"
    assert text.encode(name).decode(encoding_of(text.encode(name))) == text
