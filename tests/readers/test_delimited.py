"""Delimited text as utilities, meters and loggers write it: every layout gives the same load.

The layouts are common practice, no source; the numbers are made up, and each check is against
the plain arithmetic of what was written.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError, InputError
from loadlib.readers import read_usage
from loadlib.readers.unsure import Unsure

Write = Callable[..., Path]
Row = Callable[[datetime, float], str]

FIRST = datetime(2023, 3, 1)
LONDON = ReadOptions(timezone="Europe/London")


def kwh(at: int) -> float:
    return round(0.20 + (at % 7) * 0.05, 3)


def lines(row: Row, *, count: int = 480, step_min: int = 30, first: datetime = FIRST) -> str:
    """Rows of half-hourly energy, ten days of them."""
    moments = [first + timedelta(minutes=step_min * at) for at in range(count)]
    return "\n".join(row(moment, kwh(at)) for at, moment in enumerate(moments)) + "\n"


TOTAL_WH = 1000.0 * sum(kwh(at) for at in range(480))


def only(result: ReadResult) -> Any:
    assert len(result.series) == 1
    return result.series[0]


def notes_of(series: Any) -> str:
    return "; ".join(series.notes)


def comma(value: float) -> str:
    return f"{value:.3f}".replace(".", ",")


LAYOUTS: dict[str, str] = {
    "iso": "time,kWh\n" + lines(lambda t, v: f"{t},{v:.3f}"),
    "iso_minutes": "time,kWh\n" + lines(lambda t, v: f"{t:%Y-%m-%dT%H:%M},{v:.3f}"),
    "iso_zulu": "time,kWh\n" + lines(lambda t, v: f"{t:%Y-%m-%dT%H:%M:%SZ},{v:.3f}"),
    "iso_offset": "time,kWh\n" + lines(
        lambda t, v: f"{t + timedelta(hours=2):%Y-%m-%dT%H:%M:%S+02:00},{v:.3f}"
    ),
    "slashes": "time,kWh\n" + lines(lambda t, v: f"{t:%Y/%m/%d %H:%M},{v:.3f}"),
    "day_first": "Date,Time,kWh\n" + lines(lambda t, v: f"{t:%d/%m/%Y},{t:%H:%M},{v:.3f}"),
    "month_first": "Date,Time,kWh\n" + lines(lambda t, v: f"{t:%m/%d/%Y},{t:%H:%M},{v:.3f}"),
    "two_digit_year": "Date,Time,kWh\n" + lines(lambda t, v: f"{t:%m/%d/%y},{t:%H:%M},{v:.3f}"),
    "month_name": "Date,Time,kWh\n" + lines(lambda t, v: f"{t:%d-%b-%Y},{t:%H:%M},{v:.3f}"),
    "words": "When\tkWh\n" + lines(lambda t, v: f"{t:%b %d, %Y %I:%M %p}\t{v:.3f}"),
    "packed": "Date,Time,kWh\n" + lines(lambda t, v: f"{t:%Y%m%d},{t:%H:%M},{v:.3f}"),
    "twelve_hours": "DATE,START TIME,END TIME,USAGE (kWh),COST\n" + lines(
        lambda t, v: f"{t:%m/%d/%Y},{t:%I:%M %p},{t + timedelta(minutes=29):%I:%M %p},{v:.3f},$0.10"
    ),
    "semicolon_decimal_comma": "Datum;Uhrzeit;Verbrauch (kWh)\n" + lines(
        lambda t, v: f"{t:%d.%m.%Y};{t:%H:%M};{comma(v)}"
    ),
    "two_columns_decimal_comma": "Zeitstempel;Verbrauch kWh\n" + lines(
        lambda t, v: f"{t:%Y-%m-%d %H:%M};{comma(v)}"
    ),
    "two_columns_decimal_comma_iso": "Zeitstempel;Verbrauch kWh\n" + lines(
        lambda t, v: f"{t:%Y-%m-%dT%H:%M:%S};{comma(v)}"
    ),
    "tab": "time\tkWh\n" + lines(lambda t, v: f"{t}\t{v:.3f}"),
    "quoted": '"time","kWh"\n' + lines(lambda t, v: f'"{t}","{v:.3f}"'),
    "decimal_comma_in_quotes": '"time","kWh"\n' + lines(lambda t, v: f'"{t}","{comma(v)}"'),
    "no_headings": lines(lambda t, v: f"{t},{v:.3f}"),
    "scientific": "time,kWh\n" + lines(lambda t, v: f"{t},{v:.6e}"),
    "many_digits": "time,kWh\n" + lines(lambda t, v: f"{t},{v:.14f}"),
    "watt_hours": "time,Wh\n" + lines(lambda t, v: f"{t},{v * 1000:.0f}"),
    "kilowatts": "time,Power (kW)\n" + lines(lambda t, v: f"{t},{v * 2:.3f}"),
    "epoch": "ts,kWh\n" + lines(lambda t, v: f"{t.replace(tzinfo=UTC).timestamp():.0f},{v}"),
    "epoch_ms": "ts,kWh\n" + lines(lambda t, v: f"{t.replace(tzinfo=UTC).timestamp():.0f}000,{v}"),
    "end_by_heading": "Interval End,kWh\n" + lines(
        lambda t, v: f"{t + timedelta(minutes=30)},{v:.3f}"
    ),
    "end_by_days": "time,kWh\n" + lines(lambda t, v: f"{t + timedelta(minutes=30)},{v:.3f}"),
    "preamble": "Name,Somebody\nAccount,123\n\nUsage of 10 days\n\ntime,kWh\n" + lines(
        lambda t, v: f"{t},{v:.3f}"
    ),
    "totals_and_footer": "time,kWh\n" + lines(lambda t, v: f"{t},{v:.3f}")
    + "Total,168.0\n\nFor information only\n",
    "unit_row": "time,usage\n,(kWh)\n" + lines(lambda t, v: f"{t},{v:.3f}"),
    "energy_and_power": "time,kW,kWh\n" + lines(lambda t, v: f"{t},{v * 2:.3f},{v:.3f}"),
    "money_beside": "time,Cost ($),kWh\n" + lines(lambda t, v: f"{t},{v * 0.3:.2f},{v:.3f}"),
    "reactive_beside": "time,kvarh,kWh\n" + lines(lambda t, v: f"{t},{v * 0.3:.2f},{v:.3f}"),
    "newest_first": "time,kWh\n"
    + "\n".join(reversed(lines(lambda t, v: f"{t},{v:.3f}").splitlines())),
    "blank_lines": "time,kWh\n" + lines(lambda t, v: f"{t},{v:.3f}").replace("\n", "\n\n"),
    "from_and_to_in_german": "Zähler;1\nDatum;von;bis;Bezug [kWh]\n" + lines(
        lambda t, v: f"{t:%d.%m.%Y};{t:%H:%M};{t + timedelta(minutes=30):%H:%M};{comma(v)}"
    ),
    "hour_ending_clock": "Date,Hour Ending,kWh\n" + lines(
        lambda t, v: f"{t:%m/%d/%Y},{t + timedelta(minutes=30):%H:%M},{v:.3f}"
        if t.hour * 60 + t.minute < 1410 else f"{t:%m/%d/%Y},24:00,{v:.3f}"
    ),
    "half_hours_counted": "Settlement Date,Settlement Period,kWh\n" + lines(
        lambda t, v: f"{t:%d/%m/%Y},{t.hour * 2 + t.minute // 30 + 1},{v:.3f}"
    ),
    "packed_clock": "Date,Time,kWh\n" + lines(
        lambda t, v: f"{t:%Y%m%d},{t.hour * 100 + t.minute},{v:.3f}"
    ),
    "year_month_day_hour_minute": "Year;Month;Day;Hour;Minute;Usage (kWh)\n" + lines(
        lambda t, v: f"{t.year};{t.month};{t.day};{t.hour};{t.minute};{comma(v)}"
    ),
    "from_to_in_one_cell": "Interval,kWh\n" + lines(
        lambda t, v: f"{t:%m/%d/%Y %H:%M} - {t + timedelta(minutes=30):%H:%M},{v:.3f}"
    ),
    "unit_in_a_column": "Interval Start,Usage,Unit\n" + lines(
        lambda t, v: f"{t},{v * 1000:.0f},WH"
    ) + "2023-03-12 00:00:00,3,therms\n",
    "letters_of_the_zone": "time,kWh\n" + lines(lambda t, v: f"{t} GMT,{v:.3f}"),
    "hourly_in_the_heading": "Date Time,Half-hourly usage (kWh)\n" + lines(
        lambda t, v: f"{t},{v:.3f}"
    ),
    "windows_ends": ("time,kWh\n" + lines(lambda t, v: f"{t},{v:.3f}")).replace("\n", "\r\n"),
    "headings_again": ("time,kWh\n" + lines(lambda t, v: f"{t},{v:.3f}")) .replace(
        "\n2023-03-05", "\ntime,kWh\n2023-03-05", 1
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", LAYOUTS)
def test_layouts_give_the_same_load(write: Write, name: str) -> None:
    options = ReadOptions(timezone="Europe/London", unit="kWh" if name == "no_headings" else "")
    result, reader = read_usage(write(LAYOUTS[name]), options)
    series = only(result)
    assert reader == "delimited"
    assert datetime.fromtimestamp(series.start_s, UTC) == FIRST.replace(tzinfo=UTC)
    assert (series.step_s, series.mean_w.size, series.missing) == (1800, 480, 0)
    assert series.energy_wh == pytest.approx(TOTAL_WH, rel=1e-6)
    assert series.mean_w[:3] == pytest.approx([400.0, 500.0, 600.0])
    assert (series.flow, series.place) == ("import", "whole")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_encodings(write: Write, encoding: str) -> None:
    text = "Straße;x\n\n" + LAYOUTS["semicolon_decimal_comma"]
    series = only(read_usage(write(text.encode(encoding)), LONDON)[0])
    assert series.energy_wh == pytest.approx(TOTAL_WH, rel=1e-6)


def wide(per_day: int, days: int = 40, first: date = date(2023, 3, 1), total: str = "") -> str:
    names = [f"{m // 60:02d}:{m % 60:02d}" for m in range(0, 1440, 1440 // per_day)]
    head = ",".join(["Meter", "Date", *names, *([total] if total else [])])
    rows = [
        ",".join(
            [
                "123",
                (first + timedelta(days=day)).isoformat(),
                *(f"{kwh(at) * 24 / per_day:.4f}" for at in range(per_day)),
                *(["9.9"] if total else []),
            ]
        )
        for day in range(days)
    ]
    return "\n".join([head, *rows]) + "\n"


@pytest.mark.parametrize("per_day", [24, 48, 96])
def test_one_row_a_day(write: Write, per_day: int) -> None:
    text = wide(per_day, days=10, total="Total")
    series = only(read_usage(write(text), ReadOptions(timezone="Europe/London", unit="kWh"))[0])
    assert series.channel == "123"
    assert series.step_s == 86_400 // per_day
    assert series.mean_w.size == 10 * per_day
    assert series.mean_w[:2] == pytest.approx([200.0, 250.0])


def test_one_row_a_day_by_hour_ending(write: Write) -> None:
    head = "Date," + ",".join(f"HE{hour}" for hour in range(1, 25))
    day = ",".join(["0.5", *["1.0"] * 23])
    text = f"{head}\n03/14/2023,{day}\n03/15/2023,{day}\n"
    series = only(read_usage(write(text), ReadOptions(timezone="America/Denver", unit="kWh"))[0])
    assert datetime.fromtimestamp(series.start_s, UTC).hour == 6
    assert series.mean_w[[0, 1, 24]] == pytest.approx([500.0, 1000.0, 500.0])


def test_one_row_a_day_with_a_25th_hour(write: Write) -> None:
    """On 2023-11-05 New York has 25 hours; on other days the last column is blank."""
    names = ",".join(f"{hour}" for hour in range(1, 26))
    plain = ",".join(["1.0"] * 24 + [""])
    long = ",".join([f"{hour}" for hour in range(1, 26)])
    text = f"Date,{names}\n2023-11-04,{plain}\n2023-11-05,{long}\n2023-11-06,{plain}\n"
    series = only(read_usage(write(text), ReadOptions(timezone="America/New_York", unit="kWh"))[0])
    assert series.mean_w.size == 73
    assert series.missing == 0
    assert series.mean_w[24:49] == pytest.approx([1000.0 * hour for hour in range(1, 26)])
    with pytest.raises(DataError, match="time zone is not known"):
        read_usage(write(text), ReadOptions(unit="kWh"))


def test_48_half_hours_every_day_of_the_year(write: Write) -> None:
    text = wide(48, days=365, first=date(2023, 1, 1))
    series = only(read_usage(write(text), ReadOptions(timezone="Europe/London", unit="kWh"))[0])
    assert "2 stamps in the hour that clocks skipped (2023-03-26 01:00" in notes_of(series)
    assert "taken as the first pass" in notes_of(series)
    assert "clock probably never changes" in notes_of(series)
    assert series.missing == 2
    fixed = only(read_usage(write(text), ReadOptions(timezone="Etc/GMT+0", unit="kWh"))[0])
    assert (fixed.mean_w.size, fixed.missing) == (365 * 48, 0)


def test_one_row_a_day_between_records_of_other_kinds(write: Write) -> None:
    """Kinds of records told apart by their first cell, no headings."""
    day = ",".join(f"{kwh(at):.3f}" for at in range(48))
    text = "100,X,202303010000\n200,M1,E1,1,kWh,30\n"
    text += f"300,20230301,{day},A,,,20230401000000,\n300,20230302,{day},A,,,20230401000000,\n900\n"
    series = only(read_usage(write(text), ReadOptions(timezone="Europe/London", unit="kWh"))[0])
    assert (series.step_s, series.mean_w.size) == (1800, 96)
    assert series.mean_w[:2] == pytest.approx([400.0, 500.0])


# -- clocks that change


def counted_hours(days: dict[str, list[int]]) -> str:
    rows = [f"{day},{hour},{hour}" for day, hours in days.items() for hour in hours]
    return "Date,Hour,kWh\n" + "\n".join(rows) + "\n"


def test_hours_counted_through_a_change_of_the_clock(write: Write) -> None:
    """New York: 23 hours on 2023-03-12 and 25 on 2023-11-05; numbers count time that passes."""
    new_york = ReadOptions(timezone="America/New_York")
    for short, hours in (("2023-03-12", 23), ("2023-11-05", 25)):
        text = counted_hours(
            {
                short: list(range(1, hours + 1)),
                f"{short[:-2]}{int(short[-2:]) + 1:02d}": list(range(1, 25)),
            }
        )
        series = only(read_usage(write(text), new_york)[0])
        assert (series.mean_w.size, series.missing) == (hours + 24, 0)
        assert series.mean_w[[0, hours - 1, hours]] == pytest.approx([1e3, hours * 1e3, 1e3])
        assert "counted from midnight" in notes_of(series)
    with pytest.raises(DataError, match="counted through a change of the clock"):
        read_usage(write(text), ReadOptions())


def test_hours_that_leave_out_the_skipped_one_are_times_on_the_clock(write: Write) -> None:
    text = counted_hours({"2023-03-12": [1, 2, *range(4, 25)], "2023-03-13": list(range(1, 25))})
    series = only(read_usage(write(text), ReadOptions(timezone="America/New_York"))[0])
    assert (series.mean_w.size, series.missing) == (47, 0)
    assert series.mean_w[:4] == pytest.approx([1e3, 2e3, 4e3, 5e3])


def test_letters_of_the_zone_fold_the_doubled_hour(write: Write) -> None:
    stamps = ["2023-11-05 01:00 EST", "2023-11-05 01:00 EDT", "2023-11-05 02:00 EST"]
    text = hours_of(stamps, [2.0, 1.0, 3.0])
    series = only(read_usage(write(text))[0])
    assert series.mean_w == pytest.approx([1000.0, 2000.0, 3000.0])
    assert series.start_s == int(datetime(2023, 11, 5, 5, tzinfo=UTC).timestamp())


def test_a_place_s_own_letters_go_first(write: Write) -> None:
    """China's CST is eight hours east of UTC, that of America six west."""
    text = hours_of(["2023-07-01 08:00 CST", "2023-07-01 09:00 CST"], [1.0, 2.0])
    for name, hour in (("Asia/Shanghai", 0), ("America/Chicago", 14)):
        series = only(read_usage(write(text), ReadOptions(timezone=name))[0])
        assert datetime.fromtimestamp(series.start_s, UTC).hour == hour


def hours_of(stamps: list[str], values: list[float]) -> str:
    rows = [f"{stamp},{value}" for stamp, value in zip(stamps, values, strict=True)]
    return "time,kWh\n" + "\n".join(rows) + "\n"


def test_doubled_hour_is_folded_in_order(write: Write) -> None:
    stamps = ["2023-11-05 00:00", "2023-11-05 01:00", "2023-11-05 01:00", "2023-11-05 02:00"]
    text = hours_of(stamps, [1.0, 2.0, 3.0, 4.0])
    series = only(read_usage(write(text), ReadOptions(timezone="America/New_York"))[0])
    assert series.mean_w == pytest.approx([1000.0, 2000.0, 3000.0, 4000.0])
    assert "2 stamps in the hour that clocks ran through twice" in notes_of(series)
    assert "stood once" not in notes_of(series)


def test_doubled_hour_in_a_file_that_runs_backwards(write: Write) -> None:
    stamps = ["2023-11-05 02:00", "2023-11-05 01:00", "2023-11-05 01:00", "2023-11-05 00:00"]
    text = hours_of(stamps, [4.0, 3.0, 2.0, 1.0])
    series = only(read_usage(write(text), ReadOptions(timezone="America/New_York"))[0])
    assert series.mean_w == pytest.approx([1000.0, 2000.0, 3000.0, 4000.0])


def test_hour_that_stands_once_leaves_the_second_pass_missing(write: Write) -> None:
    stamps = [f"2023-11-05 {hour:02d}:00" for hour in range(5)]
    text = hours_of(stamps, [1.0] * 5)
    series = only(read_usage(write(text), ReadOptions(timezone="America/New_York"))[0])
    assert np.isnan(series.mean_w).tolist() == [False, False, True, False, False, False]
    assert "1 of them stood once" in notes_of(series)


def test_skipped_hour_is_left_out_and_listed(write: Write) -> None:
    stamps = [f"2023-03-12 {hour:02d}:00" for hour in range(5)]
    text = hours_of(stamps, [1.0] * 5)
    series = only(read_usage(write(text), ReadOptions(timezone="America/New_York"))[0])
    assert (series.mean_w.size, series.missing) == (4, 0)
    assert "2023-03-12 02:00" in notes_of(series)


def test_local_stamps_need_a_time_zone(write: Write) -> None:
    with pytest.raises(DataError, match="time zone is not known") as caught:
        read_usage(write(LAYOUTS["iso"]))
    assert "America/New_York" in (caught.value.hint or "")


# -- units


def test_rows_in_another_unit_are_left_out(write: Write) -> None:
    result = read_usage(write(LAYOUTS["unit_in_a_column"]), LONDON)[0]
    assert "1 row in therms: left out" in result.notes


def test_unit_is_asked_for_when_two_are_believable(write: Write) -> None:
    with pytest.raises(DataError, match="believable: kWh or kW") as caught:
        read_usage(write(LAYOUTS["no_headings"]), LONDON)
    assert "State the unit" in (caught.value.hint or "")


def test_unit_is_taken_when_only_one_fits_a_house(write: Write) -> None:
    text = "time,value\n" + lines(lambda t, v: f"{t},{v * 1000:.0f}", step_min=60)
    series = only(read_usage(write(text), LONDON)[0])
    assert "Wh is the only one that fits" in notes_of(series)
    assert series.mean_w[0] == pytest.approx(200.0)


def test_kilowatts_show_what_kilowatt_hours_would_mean(write: Write) -> None:
    text = "time,kW\n" + lines(lambda t, v: f"{t},{v:.3f}", step_min=15)
    series = only(read_usage(write(text), LONDON)[0])
    assert series.mean_w[0] == pytest.approx(200.0)
    assert "were the numbers kWh an interval" in notes_of(series)


def test_heading_that_no_house_draws_is_asked_about(write: Write) -> None:
    text = "time,kW\n" + lines(lambda t, v: f"{t},{v * 1000:.0f}", step_min=15)
    with pytest.raises(DataError, match="file says kW, which no house draws"):
        read_usage(write(text), LONDON)
    stated = ReadOptions(timezone="Europe/London", unit="W")
    assert only(read_usage(write(text), stated)[0]).mean_w[0] == pytest.approx(200.0)


# -- flows, meters, registers


def test_import_and_export_columns(write: Write) -> None:
    text = "time,Delivered kWh,Received kWh\n" + lines(lambda t, v: f"{t},{v:.3f},{v / 2:.4f}")
    flows = {s.flow: s.energy_wh for s in read_usage(write(text), LONDON)[0].series}
    assert flows["import"] == pytest.approx(TOTAL_WH)
    assert flows["export"] == pytest.approx(TOTAL_WH / 2)


def test_flow_named_in_a_column(write: Write) -> None:
    text = "USAGE_DATE,START TIME,kWh,CONSUMPTION_GENERATION\n" + lines(
        lambda t, v: (
            f"{t:%m/%d/%Y},{t:%H:%M},{v:.3f},Consumption\n"
            f"{t:%m/%d/%Y},{t:%H:%M},{v / 2:.4f},Surplus Generation"
        )
    )
    flows = {s.flow: s.energy_wh for s in read_usage(write(text), LONDON)[0].series}
    assert flows["export"] == pytest.approx(TOTAL_WH / 2, rel=1e-3)
    assert flows["import"] == pytest.approx(TOTAL_WH)


def test_negative_numbers_are_net(write: Write) -> None:
    text = "time,kWh\n" + lines(lambda t, v: f"{t},{v - 0.3:.14f}")
    series = only(read_usage(write(text), LONDON)[0])
    assert series.flow == "net"
    assert series.mean_w[0] == pytest.approx(-200.0)


def test_a_few_negative_numbers_are_faults_and_left_blank(write: Write) -> None:
    text = LAYOUTS["iso"].replace(",0.300\n", ",-0.300\n", 2)
    series = only(read_usage(write(text), LONDON)[0])
    assert (series.flow, series.missing) == ("import", 2)
    assert "2 negative values in import, which no meter counts: left blank" in notes_of(series)


def test_several_meters(write: Write) -> None:
    text = "Meter,time,kWh\n" + lines(lambda t, v: f"A1,{t},{v:.3f}\nB2,{t},{v * 2:.3f}")
    result, _ = read_usage(write(text), LONDON)
    assert {s.channel: s.energy_wh for s in result.series} == {
        "A1": pytest.approx(TOTAL_WH),
        "B2": pytest.approx(2 * TOTAL_WH),
    }
    one = ReadOptions(timezone="Europe/London", channel="B2")
    assert only(read_usage(write(text), one)[0]).channel == "B2"
    with pytest.raises(DataError, match="no channel 'C3'") as caught:
        read_usage(write(text), ReadOptions(timezone="Europe/London", channel="C3"))
    assert "A1, B2" in (caught.value.hint or "")


def test_a_file_without_a_meter_has_the_same_channel_every_month(write: Write) -> None:
    for name in ("january.csv", "february.csv"):
        assert only(read_usage(write(LAYOUTS["iso"], name), LONDON)[0]).channel == "meter"
    named = ReadOptions(timezone="Europe/London", channel="barn")
    assert only(read_usage(write(LAYOUTS["iso"]), named)[0]).channel == "barn"


def test_days_of_several_meters_are_refused(write: Write) -> None:
    text = "Meter,Date,kWh\nA,2023-03-01,9\nA,2023-03-02,8\nB,2023-03-01,1\nB,2023-03-02,2\n"
    with pytest.raises(DataError, match="several meters, 'B' among them"):
        read_usage(write(text))
    one = read_usage(write(text), ReadOptions(channel="B"))[0]
    assert [bill.energy_wh for bill in one.bills] == [1000.0, 2000.0]


def test_meters_that_nothing_tells_apart_are_refused(write: Write) -> None:
    text = "x,time,kWh\n" + lines(lambda t, v: f"A1,{t},{v:.3f}\nB2,{t},{v * 2:.3f}")
    with pytest.raises(DataError, match="contradict") as caught:
        read_usage(write(text), LONDON)
    assert "meter" in (caught.value.hint or "")
    named = ReadOptions(timezone="Europe/London", columns=(("meter", "x"),))
    assert len(read_usage(write(text), named)[0].series) == 2


def test_gas_rows_are_left_out(write: Write) -> None:
    text = "TYPE,DATE,START TIME,USAGE (kWh)\n" + lines(
        lambda t, v: (
            f"Electric usage,{t:%m/%d/%Y},{t:%H:%M},{v:.3f}\n"
            f"Natural gas usage,{t:%m/%d/%Y},{t:%H:%M},9.9"
        )
    )
    result, _ = read_usage(write(text), LONDON)
    assert only(result).energy_wh == pytest.approx(TOTAL_WH)
    assert any("480 rows of Natural gas usage: left out" in note for note in result.notes)


@pytest.mark.parametrize("heading", ["Meter reading (kWh)", "1.8.0 kWh", "kWh"])
def test_dial_readings_with_a_reset(write: Write, heading: str) -> None:
    text = f"time,{heading}\n" + "".join(
        f"{FIRST + timedelta(minutes=30 * at)},{1000 + at * 0.25 if at < 300 else at * 0.25:.2f}\n"
        for at in range(480)
    )
    series = only(read_usage(write(text), LONDON)[0])
    assert "numbers are dial readings in kWh" in notes_of(series)
    assert "register went back 1 time" in notes_of(series)
    assert (series.mean_w.size, series.missing) == (479, 1)
    assert series.energy_wh == pytest.approx(478 * 250.0)


def test_estimated_readings_are_counted(write: Write) -> None:
    text = "time,kWh,Status\n" + lines(lambda t, v: f"{t},{v:.3f},{'E' if t.hour == 3 else 'A'}")
    result, _ = read_usage(write(text), LONDON)
    assert any("20 readings estimated" in note for note in result.notes)


def test_blank_numbers_stay_missing(write: Write) -> None:
    text = "time,kWh\n" + lines(
        lambda t, v: f"{t},{['', 'N/A', 'null', '-'][t.minute // 30] if t.hour == 3 else v}"
    )
    series = only(read_usage(write(text), LONDON)[0])
    assert series.missing == 20
    assert "20 of 480 slots missing in 10 gaps" in notes_of(series)


def test_several_columns_of_energy_are_asked_about(write: Write) -> None:
    text = "time,kitchen,well,house\n" + lines(lambda t, v: f"{t},{v},{v / 2},{v * 3}")
    with pytest.raises(DataError, match="several columns could be the energy"):
        read_usage(write(text), LONDON)
    stated = ReadOptions(
        timezone="Europe/London",
        unit="kWh",
        columns=(("import", "house"), ("circuit well", "well")),
    )
    places = {s.place: s for s in read_usage(write(text), stated)[0].series}
    assert places["whole"].energy_wh == pytest.approx(3 * TOTAL_WH)
    assert places["circuit well"].flow == "load"


def test_days_with_many_numbers_are_not_daily(write: Write) -> None:
    """The clock stands where nobody looks for it: no day may be made of its last reading."""
    text = "Date,Slot name,kWh\n" + lines(lambda t, v: f"{t:%Y-%m-%d},s{t:%H%M},{v:.3f}")
    with pytest.raises(DataError, match="10 of 10 days hold several numbers") as caught:
        read_usage(write(text), LONDON)
    assert "clock" in (caught.value.hint or "")


def test_a_revised_day_is_told(write: Write) -> None:
    rows = [f"2023-03-{day:02d},{day}" for day in range(1, 21)]
    result = read_usage(write("\n".join(["Date,kWh", *rows, rows[3], "2023-03-07,9.5"])))[0]
    assert "2 days stood twice: counted once; 1 of them with two numbers" in " ".join(result.notes)
    assert result.bills[6].energy_wh == 9500.0


def test_daily_net_and_export_are_no_bills(write: Write) -> None:
    rows = "\n".join(f"2023-03-{day:02d},{day - 5}" for day in range(1, 11))
    with pytest.raises(DataError, match="4 negative days: import less export"):
        read_usage(write(f"Date,Net kWh\n{rows}\n"))
    both = "\n".join(
        f"2023-03-{day:02d},{way},{day}" for day in (1, 2) for way in ("Delivered", "Received")
    )
    result = read_usage(write(f"Date,Direction,kWh\n{both}\n"))[0]
    assert [bill.energy_wh for bill in result.bills] == [1000.0, 2000.0]


def test_daily_numbers_are_days(write: Write) -> None:
    rows = [f"{date(2023, 3, 1) + timedelta(days=day)},{day + 10}" for day in range(60)]
    bills = read_usage(write("Date,kWh\n" + "\n".join(rows)))[0].bills
    assert len(bills) == 60
    assert (bills[0].first_day, bills[0].day_after) == (date(2023, 3, 1), date(2023, 3, 2))
    assert bills[1].energy_wh == 11_000.0


# -- broken files


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (LAYOUTS["iso"].replace("0.350", "0.3x0", 1), r"line \d+: '0.3x0' is not a number"),
        (LAYOUTS["iso"].replace("0.350", "0.3,50", 1), r"line \d+: 3 cells, not 2"),
        (LAYOUTS["iso"].replace("03-05 00:00", "03-05 25:00", 1), r"line \d+: '25:00:00'"),
        (
            LAYOUTS["iso"].replace("2023-03-05", "2023-02-30", 1),
            r"line \d+: there is no day '2023-02-30'",
        ),
        (LAYOUTS["iso"].replace("2023-03-05", "1969-12-31", 1), "1969.*between 1980 and 2100"),
        (LAYOUTS["iso"].replace("0.350", "0.3\x0050", 1), r"line \d+: a NUL byte"),
        (LAYOUTS["iso"].replace("0.350", "999999.0", 1), "more than any house draws"),
        (LAYOUTS["iso"] + "2093-01-01 00:00,0.2\n", "481 readings from .* would be"),
        (LAYOUTS["iso"] + "2023-03-11 00:00,0.", "line 482: the last line ends within a number"),
        (LAYOUTS["iso"] + "2023-03-11 00:00,-", "line 482: the last line ends within a number"),
        ("time,kWh\n2023-03-01 00:00,1\n", "a single reading"),
        (f"time,kWh\n2023-03-01 00:00,{'9' * 400}\n", "line 2: '9+' is too large a number"),
        ("Date,kWh\n2023-03-01,9\n2023-03-02,99999\n", "kWh in a day is no house"),
        ("Type,time,kWh\nGas,2023-03-01,1\nGas,2023-03-02,1\n", "no electricity.*2 rows of Gas"),
        ("time,note\n2023-03-01 00:00,cold\n", "no reader knows this file"),
        ("Date,Time,kWh\n03/04/2023,00:00,1\n03/04/2023,01:00,1\n", "day first or month first"),
        ("Date,Time,kWh\n13/04/2023,00:00,1\n04/13/2023,01:00,1\n", "neither day first nor"),
    ],
)
def test_broken_files_name_the_line(write: Write, text: str, message: str) -> None:
    with pytest.raises((DataError, InputError), match=message):
        read_usage(write(text), LONDON)


def test_what_one_word_would_mend_says_which(write: Write) -> None:
    """The command line asks for it where a person sits at it."""
    cases = {
        LAYOUTS["no_headings"]: ("unit", ("kWh", "kW"), LONDON),
        LAYOUTS["iso"]: ("timezone", (), ReadOptions()),
        "Date,Time,kWh\n03/04/2023,00:00,1\n03/04/2023,01:00,1\n": (
            "day_first",
            ("day", "month"),
            LONDON,
        ),
        "Date,Usage\n2023-03-01,9\n2023-03-02,8\n": ("unit", ("kWh", "Wh"), LONDON),
    }
    for text, (option, choices, options) in cases.items():
        with pytest.raises(Unsure) as caught:
            read_usage(write(text), options)
        assert (caught.value.option, caught.value.choices) == (option, choices)
        assert "--" in (caught.value.hint or "")


def test_mixed_encodings_are_refused(write: Write) -> None:
    data = b"time,kWh\n" + b"2023-03-01 00:00,1\n" * 5000
    data += "2023-03-01 00:30,\xe9\n".encode("cp1252") + "2023-03-01 01:00,é\n".encode()
    with pytest.raises(DataError, match="byte 0xe9 is not utf-8: mixed encodings"):
        read_usage(write(data), LONDON)


def test_endless_line_is_refused(write: Write) -> None:
    text = "time,kWh\n2023-03-01 00:00,1\n2023-03-01 01:00,1\n" + "9" * 8_000_000
    with pytest.raises(DataError, match="a line without end"):
        read_usage(write(text), LONDON)


def test_stated_order_settles_dates(write: Write) -> None:
    text = "Date,Time,kWh\n03/04/2023,00:00,1\n03/04/2023,01:00,1\n"
    day = ReadOptions(timezone="Etc/UTC", day_first=True)
    month = ReadOptions(timezone="Etc/UTC", day_first=False)
    for options, expected in ((day, (4, 3)), (month, (3, 4))):
        series = only(read_usage(write(text), options)[0])
        moment = datetime.fromtimestamp(series.start_s, UTC)
        assert (moment.month, moment.day) == expected


def test_quick_and_row_by_row_reading_agree(write: Write) -> None:
    """One blank cell sends the whole piece the other way."""
    plain = "time,kWh\n" + lines(lambda t, v: f"{t},{v:.3f}", count=2000)
    odd = plain + f"{FIRST + timedelta(minutes=30 * 2000)},\n"
    first, second = (only(read_usage(write(text), LONDON)[0]) for text in (plain, odd))
    assert np.array_equal(first.mean_w, second.mean_w[: first.mean_w.size])


def test_progress_ends_at_one(write: Write) -> None:
    shares: list[float] = []
    read_usage(write(LAYOUTS["iso"]), LONDON, progress=shares.append)
    assert shares[-1] == 1.0


def test_a_stated_unit_that_is_none_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "usage.csv"
    path.write_text("time,use\n2024-01-01 00:00,1\n2024-01-01 01:00,2\n", encoding="utf-8")
    with pytest.raises(DataError, match="unit 'joule'"):
        read_usage(path, ReadOptions(timezone="Etc/UTC", unit="joule"))
