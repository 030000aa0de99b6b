"""Clock rules and local time against the time zone database (IANA, through zoneinfo)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from loadlib.errors import DataError, InputError
from loadlib.readers.dst import DstRule, LocalTime, decode_rule
from loadlib.readers.grid import common_step, place, register_to_power
from loadlib.readers.local import clock_for, to_utc, zone

US = (decode_rule("360E2000"), decode_rule("B40E2000"))
# Last Sunday of March and October at 1:00 and 2:00 local, the rule of the European Union.
BRITISH = (
    DstRule(0, 1, 7, 0, 7, 3),
    DstRule(0, 2, 7, 0, 7, 10),
)
# First Sunday of October and of April at 2:00 and 3:00 local, New South Wales.
SYDNEY = (DstRule(0, 2, 7, 0, 2, 10), DstRule(0, 3, 7, 0, 2, 4))
RULES = {
    "America/New_York": LocalTime(-5 * 3600, 3600, *US),
    "America/Los_Angeles": LocalTime(-8 * 3600, 3600, *US),
    "Europe/London": LocalTime(0, 3600, *BRITISH),
    "Australia/Sydney": LocalTime(10 * 3600, 3600, *SYDNEY),
}
MOMENTS = st.integers(
    int(datetime(2009, 1, 1, tzinfo=UTC).timestamp()),
    int(datetime(2030, 1, 1, tzinfo=UTC).timestamp()),
)


@pytest.mark.parametrize("name", RULES)
@settings(max_examples=200, deadline=None)
@given(moment=MOMENTS)
def test_decoded_rules_agree_with_the_zone(name: str, moment: int) -> None:
    expected = datetime.fromtimestamp(moment, ZoneInfo(name)).utcoffset()
    assert expected is not None
    assert RULES[name].offset_at(moment) == expected.total_seconds()


@pytest.mark.parametrize("name", RULES)
def test_rules_are_recognised_as_a_zone(name: str) -> None:
    first = int(datetime(2012, 1, 1, tzinfo=UTC).timestamp())
    assert RULES[name].zone_name(first, first + 2 * 366 * 86_400) == name


def test_years_before_a_change_of_rules_fit_no_zone() -> None:
    """Until 2006 the United States changed clocks in April and October."""
    first = int(datetime(2004, 1, 1, tzinfo=UTC).timestamp())
    assert RULES["America/New_York"].zone_name(first, first + 86_400) == ""


@pytest.mark.parametrize(
    ("offset_s", "name"), [(-18000, "Etc/GMT+5"), (3600, "Etc/GMT-1"), (-12600, "")]
)
def test_clocks_that_never_change(offset_s: int, name: str) -> None:
    local = LocalTime(offset_s, 0, decode_rule("FFFFFFFF"), decode_rule("FFFFFFFF"))
    assert local.zone_name(0, 86_400) == name
    assert local.offset_at(1e9) == offset_s


RULE_FIELDS = st.builds(
    DstRule,
    second_of_hour=st.integers(0, 3599),
    hour=st.integers(0, 23),
    day_of_week=st.integers(1, 7),
    day_of_month=st.integers(1, 31),
    operator=st.integers(0, 7),
    month=st.integers(1, 12),
)


@settings(max_examples=200, deadline=None)
@given(rule=RULE_FIELDS, year=st.integers(1980, 2100))
def test_rules_round_trip_and_name_a_day_of_their_month(rule: DstRule, year: int) -> None:
    assert decode_rule(rule.encode()) == rule
    change = rule.local_change(year)
    assert change.year == year or rule.operator == 1
    if rule.operator >= 2:
        assert (change.month, change.isoweekday()) == (rule.month, rule.day_of_week)
    if rule.operator == 7:
        assert (change + timedelta(days=7)).month != rule.month


@pytest.mark.parametrize("text", ["", "XYZ", "1FFFFFFFF", "D60E2000", "06000000", "3600E000"])
def test_broken_rules_are_refused(text: str) -> None:
    with pytest.raises(InputError):
        decode_rule(text)


@pytest.mark.parametrize("name", [*RULES, "Asia/Kolkata", "Australia/Lord_Howe"])
@settings(max_examples=100, deadline=None)
@given(moment=MOMENTS)
def test_local_stamps_come_back_to_their_moment(name: str, moment: int) -> None:
    """In order of the file every moment is found again, unless it begins in a second pass."""
    where = zone(name)
    moments = moment // 1800 * 1800 + 1800 * np.arange(-100, 101)
    assume(datetime.fromtimestamp(int(moments[0]), where).fold == 0)
    offsets = [datetime.fromtimestamp(m, where).utcoffset() for m in moments.tolist()]
    local = moments + np.array([int(o.total_seconds()) for o in offsets if o is not None])
    folded = to_utc(local, where)
    assert not folded.skipped.any()
    assert np.array_equal(folded.utc_s, moments)


def test_a_step_back_begins_the_second_pass() -> None:
    """New York, 2010-11-07: a file that begins at 1:30 daylight time, then 1:00 standard time."""
    stamps = [datetime(2010, 11, 7, *clock) for clock in ((1, 30), (1, 0), (1, 30), (2, 0))]
    local = np.array([int(stamp.replace(tzinfo=UTC).timestamp()) for stamp in stamps])
    folded = to_utc(local, zone("America/New_York"))
    assert np.diff(folded.utc_s).tolist() == [1800, 1800, 1800]
    assert folded.second.tolist() == [False, True, True, False]


def test_copies_side_by_side_are_first_and_second_pass() -> None:
    stamps = [datetime(2010, 11, 7, 1, minute) for minute in (0, 0, 30, 30)]
    local = np.array([int(stamp.replace(tzinfo=UTC).timestamp()) for stamp in stamps])
    assert to_utc(local, zone("America/New_York")).second.tolist() == [False, True, False, True]


def test_no_stamps() -> None:
    assert to_utc(np.empty(0, np.int64), zone("Europe/London")).utc_s.size == 0


def test_a_zone_must_be_known() -> None:
    with pytest.raises(InputError, match="no time zone 'Europe/Londn'") as caught:
        zone("Europe/Londn")
    assert "Europe/London" in (caught.value.hint or "")
    with pytest.raises(DataError, match="days need a time zone"):
        clock_for("", None, "file", "days")


# -- the grid


def test_place_leaves_out_what_does_not_fit() -> None:
    start = np.array([0, 3600, 7200, 8000, 10_800]) + 1_700_000_000 // 3600 * 3600
    length = np.array([3600, 3600, 1800, 3600, 3600])
    grid = place(start, length, np.array([1.0, 2.0, 3.0, 4.0, 5.0]))
    assert grid.step_s == 3600
    assert np.isnan(grid.mean_w).tolist() == [False, False, True, False]
    assert "1 reading of 1800 s instead of 3600 s" in grid.notes[0]
    assert "1 reading between two slots" in grid.notes[1]


@settings(max_examples=100, deadline=None)
@given(data=st.data())
def test_place_keeps_energy_in_any_order(data: st.DataObject) -> None:
    slots = data.draw(st.lists(st.integers(0, 200), min_size=1, max_size=60, unique=True))
    values = np.arange(1.0, len(slots) + 1.0)
    start = 1_699_999_200 + 900 * np.array(slots, dtype=np.int64)
    grid = place(start, np.full(start.size, 900), values)
    assert float(np.nansum(grid.mean_w)) == pytest.approx(values.sum())
    assert int(np.isnan(grid.mean_w).sum()) == max(slots) - min(slots) + 1 - len(slots)


def test_place_of_nothing() -> None:
    with pytest.raises(DataError, match="no readings"):
        place(np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0))


def test_dial_readings_at_odd_times() -> None:
    end = np.array([0, 7200, 3600, 3600, 10_800])
    dial = np.array([0.0, 30.0, 9.0, 10.0, 5.0])
    start, duration, mean_w, notes = register_to_power(end, dial)
    assert start.tolist() == [0, 3600, 7200]
    assert duration.tolist() == [3600, 3600, 3600]
    assert mean_w[:2] == pytest.approx([10.0, 20.0])
    assert np.isnan(mean_w[2])
    assert len(notes) == 2


def test_most_common_step() -> None:
    assert common_step(np.array([5, 5, 9, 9, 9, 1])) == 9
    assert common_step(np.array([7])) == 7
