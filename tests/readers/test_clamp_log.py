"""Clamp logs: channels by their headings, and every way in which one can be wrong."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from loadlib.core.readings import APPARENT
from loadlib.core.series import ReadOptions, ReadResult
from loadlib.errors import DataError, LoadlibError
from loadlib.readers import read_usage
from loadlib.readers.clamp_log import ClampLogReader, slots
from loadlib.readers.delimited import text as pieces

UTC = ReadOptions(timezone="Etc/UTC")
NEW_YORK = ReadOptions(timezone="America/New_York")
Write = Callable[[str], Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def make(text: str) -> Path:
        path = tmp_path / "log.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return make


def rows(heading: str, *values: str, step_s: int = 1, start: str = "2026-01-05T00:00:00") -> str:
    first = np.datetime64(start)
    lines = [heading]
    for k, value in enumerate(values):
        stamp = str(first + np.timedelta64(k * step_s, "s")).replace("T", " ")
        lines.append(f"{stamp},{value}")
    return "\n".join(lines) + "\n"


def read(path: Path, options: ReadOptions = UTC, **about: object) -> ReadResult:
    return ClampLogReader(**about).read(path, options)  # type: ignore[arg-type]  # fields of the reader


def test_two_legs_of_amps_become_volt_amperes(write: Write) -> None:
    path = write(rows("time,leg A (A),leg B (A)", *["10.0,5.0"] * 20))
    found = read(path)
    assert [one.place for one in found.series] == ["leg A", "leg B"]
    first = found.series[0]
    assert (first.step_s, first.flow, first.mean_w[0]) == (1, "load", 1200.0)
    assert APPARENT in first.notes
    assert any("nominal 120 V" in note for note in found.notes)


def test_it_is_recognised_among_all_readers(write: Write) -> None:
    path = write(rows("time,leg A (A),leg B (A)", *["10.0,5.0"] * 20))
    result, name = read_usage(path, UTC)
    assert name == "clamp_log"
    assert len(result.series) == 2
    plain = write("time,kWh\n2023-03-01 00:00,1\n2023-03-01 01:00,2\n")
    assert read_usage(plain, UTC)[1] == "delimited"


def test_volts_of_the_same_leg_are_used(write: Write) -> None:
    path = write(rows("time,L1 current (A),L1 voltage (V)", *["10.0,118.5"] * 20))
    (one,) = read(path).series
    assert one.place == "leg A"
    assert one.mean_w[0] == pytest.approx(1185.0)


def test_watts_go_before_amps_and_are_real(write: Write) -> None:
    path = write(rows("time,leg A (A),leg A (V),leg A (W)", *["10.0,120,1100"] * 20))
    (one,) = read(path).series
    assert one.mean_w[0] == 1100.0
    assert APPARENT not in one.notes


def test_circuits_and_appliances_by_name_and_their_volts(write: Write) -> None:
    path = write(rows("time,dryer (A),well pump power (W)", *["20.0,1900"] * 20, step_s=60))
    found = read(path, volts={"circuit dryer": 240.0})
    by_place = {one.place: one for one in found.series}
    assert by_place["circuit dryer"].mean_w[0] == 4800.0
    assert by_place["circuit well pump"].mean_w[0] == 1900.0


def test_a_person_says_what_a_channel_is(write: Write) -> None:
    path = write(rows("time,CH1 (A),CH2 (A)", *["10.0,0.0"] * 20))
    options = ReadOptions(
        timezone="Etc/UTC", columns=(("circuit heat", "CH1 (A)"), ("ignore", "CH2 (A)"))
    )
    (one,) = read(path, options).series
    assert one.place == "circuit heat"


def test_a_neutral_is_left_out_and_said(write: Write) -> None:
    found = read(write(rows("time,leg A (A),neutral (A)", *["10.0,4.0"] * 20)))
    assert [one.place for one in found.series] == ["leg A"]
    assert any("neutral is no load" in note for note in found.notes)


def test_milliamperes_in_the_heading_are_scaled(write: Write) -> None:
    (one,) = read(write(rows("time,leg A (mA)", *["9400"] * 20))).series
    assert one.mean_w[0] == pytest.approx(9.4 * 120.0)


def test_missing_and_repeated_seconds_are_counted(write: Write) -> None:
    lines = rows("time,leg A (A)", *[f"{k}.0" for k in range(1, 21)]).splitlines()
    lines[5:7] = [lines[5].replace(",5.0", ",7.5")]  # one second missing
    lines.insert(9, lines[8])  # one repeated
    found = read(write("\n".join(lines) + "\n"))
    (one,) = found.series
    assert one.missing == 1
    assert any("stood twice" in note for note in found.notes)


@pytest.mark.parametrize(
    ("heading", "values", "words", "line"),
    [
        ("time,leg A (A)", ["9400"] * 19 + ["9500"], "look like mA", 21),
        ("time,leg A (mA)", ["9.4"] * 20, "look like A", 2),
        ("time,whole (W)", ["2.4"] * 20, "look like kW", 2),
        ("time,whole (kW)", ["2400"] * 20, "look like W", 2),
        ("time,leg A (A)", ["5.0"] * 9 + ["-5.0"] + ["5.0"] * 10, "negative value", 11),
        ("time,whole (W)", ["-900"] * 20, "reversed", 2),
        ("time,leg A (A),leg A (V)", ["5.0,5"] * 20, "up to 5 V", 2),
        ("time,leg A (A),leg B (A)", ["5.0,0.0"] * 20, "dead channel", None),
        ("time,leg A (A),leg B (A)", ["5.0,0.00", "5.0,0.02"] * 10, "never above 0.02 A", None),
        ("time,leg A (A)", ["5.0"] * 9 + ["1e300"] + ["5.0"] * 10, "a value of 1e+300 A", 11),
        ("time,leg A (A),leg A (V),leg A (W)", ["18,120,40"] * 20, "another leg", None),
        ("time,leg A (A),leg B (A)", ["5.0,"] * 20, "is empty", None),
        ("time,neutral (A)", ["5.0"] * 20, "nothing but a neutral", None),
        ("time,colour", ["5.0"] * 20, "no column of amps or watts", 1),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(
    write: Write, heading: str, values: list[str], words: str, line: int | None
) -> None:
    with pytest.raises(DataError) as caught:
        read(write(rows(heading, *values)))
    text = f"{caught.value.message} {caught.value.hint or ''}"
    assert words in text
    assert caught.value.line == line


def test_a_clock_that_jumps_back_is_refused_with_its_line(write: Write) -> None:
    first = rows("time,leg A (A)", *["5.0"] * 100).splitlines()
    second = rows("x", *["5.0"] * 50, start="2026-01-04T23:00:00").splitlines()[1:]
    with pytest.raises(DataError, match="the clock jumps back by") as caught:
        read(write("\n".join([*first, *second]) + "\n"))
    assert caught.value.line == 102


def test_local_times_need_a_zone_and_must_exist(write: Write) -> None:
    path = write(rows("time,leg A (A)", *["5.0"] * 20))
    with pytest.raises(DataError, match="zone is not known"):
        read(path, ReadOptions())
    path = write(rows("time,leg A (A)", *["5.0"] * 20, start="2026-03-08T02:30:00"))
    with pytest.raises(DataError, match="does not exist") as caught:
        read(path, ReadOptions(timezone="America/New_York"))
    assert caught.value.line == 2


def test_an_hour_that_runs_twice_is_no_jump(write: Write) -> None:
    """Seconds through 2026-11-01 01:59:59 local, twice: the log goes on."""
    before = rows("time,leg A (A)", *["5.0"] * 7200, start="2026-11-01T00:00:00").splitlines()
    after = rows("x", *["6.0"] * 3600, start="2026-11-01T01:00:00").splitlines()[1:]
    path = write("\n".join([*before, *after]) + "\n")
    (one,) = read(path, ReadOptions(timezone="America/New_York")).series
    assert one.mean_w.size == 10_800
    assert one.missing == 0


def test_a_clock_that_never_goes_back_is_remarked(write: Write) -> None:
    """01:00 to 02:00 on 2 November 2025 ran twice in New York; this logger shows it once."""
    path = write(rows("time,leg A (A)", *["5.0"] * 300, step_s=60, start="2025-11-02T00:00:00"))
    notes = read(path, NEW_YORK).notes
    assert any("2025-11-02 01:00:00 runs twice in America/New_York" in note for note in notes)
    ends = write(rows("time,leg A (A)", *["5.0"] * 90, step_s=60, start="2025-11-02T00:00:00"))
    assert not any("runs twice" in note for note in read(ends, NEW_YORK).notes)


def test_a_stuck_channel_is_remarked(write: Write) -> None:
    values = ["5.0"] * 1500 + ["6.0"] * 10
    found = read(write(rows("time,leg A (A)", *values, step_s=60)))
    assert any("stuck" in note for note in found.notes)


def test_a_leg_that_goes_dead_is_remarked_and_an_appliance_that_is_off_is_not(
    write: Write,
) -> None:
    values = [f"{5 + k % 3}.0,0.0,{k % 2}.0" for k in range(60)] + ["6.0,0.0,0.0"]
    values += [f"{5 + k % 3}.0,0.0,0.0" for k in range(2000)] + ["5.0,9.0,2.0"]
    notes = read(write(rows("time,leg A (A),pump (A),leg B (A)", *values, step_s=60))).notes
    assert [note for note in notes if "stuck" in note] == [
        "leg B: the same value for 33 h: stuck, or clamped on nothing?"
    ]


def test_long_steps_are_for_another_reader(write: Write) -> None:
    with pytest.raises(DataError, match="up to 15 minutes"):
        read(write(rows("time,leg A (A)", *["5.0"] * 20, step_s=3600)))


@pytest.mark.parametrize("text", ["", "nothing here\n", "<feed/>", "time,leg A (A)\n"])
def test_what_is_no_log_is_an_error_not_a_crash(write: Write, text: str) -> None:
    path = write(text)
    assert ClampLogReader().recognises(text.encode(), "log.csv") == 0.0
    with pytest.raises(LoadlibError):
        read(path)


def test_a_heading_that_does_not_exist_is_named(write: Write) -> None:
    path = write(rows("time,leg A (A)", *["5.0"] * 20))
    with pytest.raises(LoadlibError, match="'ch9'"):
        read(path, ReadOptions(timezone="Etc/UTC", columns=(("leg B", "CH9"),)))


def test_the_memory_of_a_long_log_is_that_of_a_stretch(
    write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pieces, "_CHUNK", 1 << 15)
    monkeypatch.setattr(slots, "_SETTLE_ROWS", 500)
    peaks = []
    for n in (10_000, 60_000):
        path = write(rows("time,leg A (A),leg B (A)", *["10.0,5.0"] * n))
        tracemalloc.start()
        taken = sum(
            part.series[0].mean_w.size
            for part in ClampLogReader().read_parts(path, UTC)
            if part.series
        )
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert taken == n
    assert peaks[1] < 1.2 * peaks[0]


def test_gaps_are_told_once_for_all_channels(write: Write) -> None:
    lines = rows("time,leg A (A),leg B (A)", *["10.0,5.0"] * 100).splitlines()
    del lines[41:61]
    lines[70] = lines[70].removesuffix("5.0")  # and one value of leg B alone
    notes = read(write("\n".join(lines) + "\n")).notes
    assert any(note.startswith("leg A: 20 of 100 slots missing in 1 gap") for note in notes)
    assert any(note.startswith("leg B: 21 of 100 slots missing in 2 gaps") for note in notes)
    del lines[70]
    notes = read(write("\n".join(lines) + "\n")).notes
    assert any(note.startswith("leg A, leg B: 21 of 100 slots missing") for note in notes)


def test_a_step_that_changes_is_refused_with_its_line(
    write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pieces, "_CHUNK", 4000)
    monkeypatch.setattr(slots, "_SETTLE_ROWS", 50)
    slow = rows("time,leg A (A)", *["5.0"] * 200, step_s=60).splitlines()
    quick = rows("x", *["5.0"] * 400, start="2026-01-06T00:00:01").splitlines()[1:]
    with pytest.raises(
        DataError, match="rows are 1 s apart from about here on; most others 60 s"
    ) as at:
        read(write("\n".join([*slow, *quick]) + "\n"))
    assert at.value.line is not None
    assert 202 <= at.value.line <= 400


@pytest.mark.parametrize("chunk", [1 << 20, 700])
def test_a_step_that_grows_is_no_row_of_gaps(
    write: Write, monkeypatch: pytest.MonkeyPatch, chunk: int
) -> None:
    """From 5 s to 60 s, each row on the grid of the other: told by the line, not as gaps."""
    monkeypatch.setattr(pieces, "_CHUNK", chunk)
    monkeypatch.setattr(slots, "_SETTLE_ROWS", 50)
    quick = rows("time,leg A (A)", *["5.0"] * 200, step_s=5).splitlines()
    slow = rows("x", *["5.0"] * 100, step_s=60, start="2026-01-05T00:17:00").splitlines()[1:]
    with pytest.raises(DataError, match="rows are 60 s apart from about here on") as at:
        read(write("\n".join([*quick, *slow]) + "\n"))
    assert at.value.line is not None
    assert 202 <= at.value.line <= 262
    few = read(write("\n".join([*quick, *slow[:50]]) + "\n"))
    assert any("missing in 50 gaps" in note for note in few.notes)


def test_rows_between_two_slots_are_counted(write: Write) -> None:
    lines = rows("time,leg A (A)", *["5.0"] * 50, step_s=60).splitlines()
    lines[30] = "2026-01-05 00:29:07,9.0"
    found = read(write("\n".join(lines) + "\n"))
    assert found.series[0].missing == 1
    assert any("1 row between two slots of 60 s" in note for note in found.notes)


def test_two_columns_of_the_same_thing_are_asked_about(write: Write) -> None:
    path = write(rows("time,leg A (A),L1 current (A)", *["10.0,5.0"] * 20))
    with pytest.raises(DataError, match="are both A of leg A"):
        read(path)


def test_a_slip_in_a_stamp_is_no_long_log(write: Write) -> None:
    lines = rows("time,leg A (A)", *["5.0"] * 100, step_s=900).splitlines()
    lines[-1] = lines[-1].replace("2026", "2036")
    with pytest.raises(DataError, match="slots from the first to the last"):
        read(write("\n".join(lines) + "\n"))


def test_the_order_of_day_and_month_may_show_late(
    write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first stretch holds one day only, 03/04; the next day decides."""
    monkeypatch.setattr(pieces, "_CHUNK", 600)
    texts = [f"03/04/2026 23:{m:02d}:00" for m in range(60)]
    texts += [f"04/04/2026 00:{m:02d}:00" for m in range(60)]
    path = write("time,leg A (A)\n" + "".join(f"{text},5.0\n" for text in texts))
    (one,) = read(path).series
    assert one.start_s == int(
        np.datetime64("2026-04-03T23:00:00").astype("datetime64[s]").astype(int)
    )
    assert (one.step_s, one.missing, one.mean_w.size) == (60, 0, 120)
    path = write("time,leg A (A)\n" + "".join(f"{text},5.0\n" for text in texts[:60]))
    with pytest.raises(LoadlibError, match="first"):
        read(path)


@pytest.mark.parametrize("offset", ["-05:00", "Z", ""])
def test_times_with_an_offset_or_of_the_epoch_need_no_zone(write: Write, offset: str) -> None:
    begin = np.datetime64("2026-01-05T00:00:00")
    moments = [begin + np.timedelta64(k, "s") for k in range(50)]
    texts = [f"{m}{offset}" if offset else str(m.astype(int)) for m in moments]
    path = write("time,leg A (A)\n" + "".join(f"{text},5.0\n" for text in texts))
    (one,) = read(path, ReadOptions()).series
    assert one.start_s == int(begin.astype(int)) + (18_000 if offset == "-05:00" else 0)
    mixed = write("time,leg A (A)\n" + f"{texts[0]},5.0\n{moments[1]},5.0\n{texts[2]},5.0\n")
    with pytest.raises(LoadlibError):
        read(mixed, UTC)
