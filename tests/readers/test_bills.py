"""Bills in tables and as typed: periods, months, money kept apart, estimated reads."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError, InputError
from loadlib.readers import read_usage
from loadlib.readers.bills import parse_bills

Write = Callable[..., Path]
JANUARY = (date(2023, 1, 1), date(2023, 2, 1))


def periods(result: ReadResult) -> list[tuple[date, date]]:
    return [(bill.first_day, bill.day_after) for bill in result.bills]


def test_table_of_periods(write: Write) -> None:
    text = (
        "Start,End,kWh,Cost,Estimated\n"
        "2023-01-03,2023-02-02,612,$84.12,\n"
        "2023-02-02,2023-03-03,580,$80.00,yes\n"
    )
    result, reader = read_usage(write(text))
    assert reader == "bills"
    assert periods(result) == [
        (date(2023, 1, 3), date(2023, 2, 2)),
        (date(2023, 2, 2), date(2023, 3, 3)),
    ]
    assert [bill.energy_wh for bill in result.bills] == [612_000.0, 580_000.0]
    assert [bill.cost for bill in result.bills] == [84.12, 80.0]
    assert [bill.estimated for bill in result.bills] == [False, True]


def test_last_day_counts_where_the_next_period_starts_a_day_later(write: Write) -> None:
    text = (
        "Billing period start,Billing period end,Usage (kWh)\n"
        "01/03/2023,02/01/2023,612\n02/02/2023,03/03/2023,580\n"
    )
    result, _ = read_usage(write(text))
    assert periods(result) == [
        (date(2023, 1, 3), date(2023, 2, 2)),
        (date(2023, 2, 2), date(2023, 3, 4)),
    ]
    assert any("last day of a period counts" in note for note in result.notes)
    assert any("month first" in note for note in result.notes)


def test_decimal_comma_and_semicolons(write: Write) -> None:
    text = "Start date;End date;kWh\n03.01.2023;02.02.2023;612,5\n02.02.2023;03.03.2023;1.580,25\n"
    result, _ = read_usage(write(text))
    assert [bill.energy_wh for bill in result.bills] == [612_500.0, 1_580_250.0]


@pytest.mark.parametrize("month", ["2023-01", "Jan 2023", "January 2023", "01/2023", "Jan-23"])
def test_table_of_months(write: Write, month: str) -> None:
    text = f"Month,kWh\n{month},612\nFeb 2023,\n"
    result, _ = read_usage(write(text), reader="bills")
    assert periods(result) == [JANUARY]
    assert any("1 line without energy left out: line 3" in note for note in result.notes)


def test_overlaps_and_gaps_are_said(write: Write) -> None:
    text = (
        "Start,End,kWh\n2023-01-01,2023-02-01,600\n2023-01-15,2023-03-01,700\n"
        "2023-05-01,2023-06-01,500\n"
    )
    notes = read_usage(write(text))[0].notes
    assert any("1 period overlapping" in note for note in notes)
    assert any("1 gap between periods, before 2023-05-01" in note for note in notes)


@pytest.mark.parametrize(
    ("line", "period", "energy_wh", "cost", "estimated"),
    [
        ("Jan 2023 900", JANUARY, 900e3, None, False),
        ("january 2023 900 kWh", JANUARY, 900e3, None, False),
        ("2023-01 900kWh $84.12", JANUARY, 900e3, 84.12, False),
        ("2023-01-01 to 2023-02-01 612 kWh €70,50 est", JANUARY, 612e3, 70.5, True),
        ("1 Jan 2023 - 1 Feb 2023: 612.5 kWh estimated", JANUARY, 612.5e3, None, True),
        ("01.01.2023 - 01.02.2023 1.612,5 kWh", JANUARY, 1612.5e3, None, False),
        ("13/01/2023 13/02/2023 0.6 MWh", (date(2023, 1, 13), date(2023, 2, 13)), 6e5, None, False),
        ("$120.00 for Jan 2023, 640", JANUARY, 640e3, 120.0, False),
    ],
)
def test_typed_lines(
    line: str, period: tuple[date, date], energy_wh: float, cost: float | None, estimated: bool
) -> None:
    bill = parse_bills(line).bills[0]
    assert (bill.first_day, bill.day_after) == period
    assert bill.energy_wh == pytest.approx(energy_wh)
    assert (bill.cost, bill.estimated) == (cost, estimated)


def test_typed_file_with_comments(write: Write) -> None:
    text = "# the ridge\nJan 2023 900\n\nFeb 2023 800 est\n"
    result, reader = read_usage(write(text, "bills.txt"))
    assert reader == "bills"
    assert [bill.energy_wh for bill in result.bills] == [900e3, 800e3]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("", "no bills"),
        ("$84.12", "line 1: no period"),
        ("Jan 2023 $84.12", "line 1: which number is the energy"),
        ("2023-01-01 612", "one date, where a period needs two"),
        ("2023-02-01 to 2023-01-01 612", "ends before it starts"),
        ("2023-13 612 kWh", "no month"),
        ("2023-01-32 to 2023-02-01 612 kWh", "no day"),
        ("03/04/2023 to 05/06/2023 612 kWh\n03/04/2023 to 05/06/2023 612 kWh", "day first"),
        ("Jan 2023 900000000 kWh", "is no house"),
        ("Jan 2023 -20 kWh", "negative energy"),
    ],
)
def test_lines_that_are_no_bill(line: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_bills(line)


def test_money_is_never_energy(write: Write) -> None:
    with pytest.raises(DataError, match="no column of energy"):
        read_usage(write("Start,End,Amount ($)\n2023-01-01,2023-02-01,84.12\n"), reader="bills")


def test_stated_columns_settle_a_table(write: Write) -> None:
    text = "A,B,C\n2023-01-01,2023-02-01,612\n2023-02-01,2023-03-01,580\n"
    columns = (("first day", "A"), ("last day", "B"), ("import", "C"))
    result, _ = read_usage(write(text), ReadOptions(columns=columns), reader="bills")
    assert periods(result)[0] == JANUARY


MONTHS = "Jan,Feb,Mar,Apr,May,Jun,Jul,Aug,Sep,Oct,Nov,Dec"
MONATE = "Januar;Februar;März;April;Mai;Juni;Juli;August;September;Oktober;November;Dezember"


@pytest.mark.parametrize(
    "text",
    [
        f"Year,{MONTHS}\n2023,{','.join(str(600 + m) for m in range(12))}\n",
        f"Usage in kWh\n\nJahr;{MONATE};Summe\n"
        f"2023;{';'.join(f'{600 + m},0' for m in range(12))};7266\n",
        "kWh,2023\n" + "".join(f"{m},{600 + n}\n" for n, m in enumerate(MONTHS.split(","))),
        "Year,Month,kWh\n" + "".join(f"2023,{n + 1},{600 + n}\n" for n in range(12)),
    ],
    ids=["months across", "German with a sum", "months down", "year and month columns"],
)
def test_a_grid_of_months(write: Write, text: str) -> None:
    result, reader = read_usage(write(text))
    assert reader == "bills"
    assert [bill.energy_wh for bill in result.bills] == [1000.0 * (600 + n) for n in range(12)]
    assert periods(result)[0] == JANUARY
    assert periods(result)[11] == (date(2023, 12, 1), date(2024, 1, 1))


def test_blanks_and_slips_in_a_grid(write: Write) -> None:
    cells = ["600", "", *["500"] * 10]
    result, _ = read_usage(write(f"Year,{MONTHS}\n2023,{','.join(cells)}\n"))
    assert len(result.bills) == 11
    assert "1 month blank: left out" in result.notes
    for slip, message in (("$84", "is not a number"), ("-5", "what was drawn")):
        with pytest.raises(DataError, match=f"line 2: .*{message}"):
            read_usage(write(f"Year,{MONTHS}\n2023,{slip},{','.join(cells[1:])}\n"))
    with pytest.raises(DataError, match="in kW, not in energy"):
        read_usage(write(f"Demand in kW\nYear,{MONTHS}\n2023,{','.join(cells)}\n"))


def test_days_before_a_read_date(write: Write) -> None:
    text = "Bill Date,Days,Usage (kWh),Amount\n01/18/2023,31,912,$140.11\n02/16/2023,29,850,$130\n"
    result, reader = read_usage(write(text))
    assert reader == "bills"
    assert periods(result) == [
        (date(2022, 12, 18), date(2023, 1, 18)),
        (date(2023, 1, 18), date(2023, 2, 16)),
    ]
    assert result.bills[0].cost == 140.11
    with pytest.raises(DataError, match="line 3: a bill of 0 days"):
        read_usage(write(text.replace(",29,", ",0,")))


def test_gas_and_other_units_are_left_out(write: Write) -> None:
    text = (
        "Type,Start Date,End Date,Usage,Units\nElectric,2023-01-01,2023-02-01,900,kWh\n"
        "Gas,2023-01-01,2023-02-01,55,therms\nOther,2023-02-01,2023-03-01,7,ccf\n"
    )
    result, _ = read_usage(write(text))
    assert [bill.energy_wh for bill in result.bills] == [900e3]
    assert any("of another service left out: line 3: Gas" in note for note in result.notes)
    assert any("in another unit left out: line 4: Other" in note for note in result.notes)


def test_bills_of_two_meters_need_a_name(write: Write) -> None:
    text = "Meter,Start,End,kWh\nA,2023-01-01,2023-02-01,900\nB,2023-01-01,2023-02-01,100\n"
    with pytest.raises(DataError, match="bills of 2 meters: A, B"):
        read_usage(write(text))
    result, _ = read_usage(write(text), ReadOptions(channel="B"))
    assert [bill.energy_wh for bill in result.bills] == [100e3]
    with pytest.raises(DataError, match="no bills of channel 'C'"):
        read_usage(write(text), ReadOptions(channel="C"))


def test_bills_hold_what_was_drawn_not_what_was_fed_in(write: Write) -> None:
    text = "Start,End,Export (kWh),Import (kWh)\n2023-01-01,2023-02-01,300,900\n"
    assert read_usage(write(text))[0].bills[0].energy_wh == 900e3
    with pytest.raises(DataError, match="no column of energy drawn"):
        read_usage(write(text.replace(",Import (kWh)", "").replace(",900", "")))
    with pytest.raises(DataError, match="line 2: -120 in a bill"):
        read_usage(write("Start,End,kWh\n2023-01-01,2023-02-01,-120\n"))
    rows = "2023-01-01,2023-02-01,Generation,300\n2023-01-01,2023-02-01,Consumption,900\n"
    result = read_usage(write(f"Start,End,Direction,kWh\n{rows}"))[0]
    assert [bill.energy_wh for bill in result.bills] == [900e3]
