"""One voice for one place over the same time: series made so that the answer is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.series import Series
from loadlib.estimators.overlap import one_voice

HOUR_S, DAY_S = 3600, 86_400
START_S = 1_767_571_200  # 2026-01-05 00:00 UTC


def log(
    step_s: int, hours: float, from_h: float = 0.0, place: str = "leg A", shift_s: int = 0
) -> Series:
    size = int(hours * HOUR_S) // step_s
    start_s = START_S + int(from_h * HOUR_S) + shift_s
    return Series("log", place, "load", start_s, step_s, np.full(size, 300.0), source="a file")


def test_the_same_day_three_times_is_one_series() -> None:
    fine, coarse, shifted = log(5, 24), log(60, 24), log(5, 24, shift_s=2)
    (one,) = one_voice((coarse, shifted, fine))
    assert one.step_s == 5
    assert one.mean_w.size == fine.mean_w.size
    assert one.source == "a file, counted in place of what is there at 5 s, " + (
        "counted in place of what is there at 60 s"
    )


@pytest.mark.parametrize(
    "other",
    [
        log(60, 24, place="leg B"),
        replace(log(60, 24), flow="import"),
        log(60, 24, from_h=18),
    ],
)
def test_other_places_flows_and_times_speak_as_they_are(other: Series) -> None:
    fine = log(5, 12, from_h=6)
    assert set(map(id, one_voice((fine, other)))) == {id(fine), id(other)}


def test_a_finer_log_without_values_silences_nothing() -> None:
    fine, coarse = log(5, 24), log(60, 24)
    fine.mean_w[:] = np.nan
    assert any(one is coarse for one in one_voice((fine, coarse)))


def test_what_only_the_coarser_has_is_left_and_said() -> None:
    fine, coarse = log(5, 24), log(60, 72)
    same, rest = one_voice((coarse, fine))
    assert same is fine
    assert (rest.start_s, rest.mean_w.size) == (START_S + DAY_S, 48 * 60)
    assert not rest.missing
    assert rest.source == "a file, without the time that is there at 5 s"
    assert coarse.missing == 0


def test_time_in_the_middle_is_missing() -> None:
    _, rest = one_voice((log(1, 24, from_h=24), log(60, 72)))
    assert (rest.start_s, rest.mean_w.size) == (START_S, 72 * 60)
    np.testing.assert_array_equal(np.flatnonzero(np.isnan(rest.mean_w)), np.arange(1440, 2880))


def test_stretches_of_less_than_some_hours_do_not_speak() -> None:
    """Seconds that the finer log lost are not a second log of the house."""
    fine = log(5, 24)
    fine.mean_w[::50] = np.nan
    fine.mean_w[720:1440] = np.nan  # an hour
    assert [one.step_s for one in one_voice((fine, log(5, 24, shift_s=2), log(60, 26)))] == [5]


def test_hours_that_the_finer_log_lost_speak() -> None:
    fine = log(5, 24)
    fine.mean_w[6 * 720 : 12 * 720] = np.nan
    _, rest = one_voice((fine, log(60, 24)))
    assert (rest.start_s, rest.mean_w.size) == (START_S + 6 * HOUR_S, 6 * 60)


def test_a_rest_without_values_does_not_speak() -> None:
    coarse = log(60, 48)
    coarse.mean_w[25 * 60 :] = np.nan
    assert len(one_voice((log(5, 24), coarse))) == 1


def test_legs_of_one_log_are_cut_alike() -> None:
    fine = log(5, 24, shift_s=3), log(5, 24.1, place="leg B", shift_s=3)
    coarse = log(60, 72), log(60, 72, place="leg B")
    found = one_voice((*coarse, *fine))
    rests = [one for one in found if one.step_s == 60]
    assert [one.place for one in rests] == ["leg A", "leg B"]
    assert len({(one.start_s, one.mean_w.size) for one in rests}) == 1


def test_a_leg_that_was_not_logged_more_finely_stays_whole() -> None:
    leg_b = log(60, 72, place="leg B")
    found = one_voice((log(60, 72), leg_b, log(5, 24)))
    assert any(one is leg_b for one in found)
    assert [one.mean_w.size for one in found if one.place == "leg A"] == [24 * 720, 48 * 60]


def test_of_one_step_the_one_with_more_values_speaks() -> None:
    short, long = log(60, 24, from_h=5), log(60, 48, shift_s=7)
    (one,) = one_voice((short, long))
    assert one.start_s == long.start_s


spans = st.tuples(
    st.sampled_from([300, 900, 3600]), st.integers(1, 60), st.integers(0, 60), st.integers(0, 299)
)


@settings(max_examples=100, deadline=None)
@given(st.lists(spans, min_size=1, max_size=4))
def test_no_time_is_counted_twice_and_none_is_new(given_spans: list[tuple[int, ...]]) -> None:
    """Counted by the second: a slot may be half covered, so twice is at most half a slot an end."""
    series = [log(step, hours, at, shift_s=shift) for step, hours, at, shift in given_spans]
    told, there = np.zeros(130 * HOUR_S), np.zeros(130 * HOUR_S, bool)
    for one in series:
        first = one.start_s - START_S
        there[first : first + one.mean_w.size * one.step_s] = True
    for one in one_voice(series):
        known = np.repeat(~np.isnan(one.mean_w), one.step_s)
        told[one.start_s - START_S :][: known.size] += known
    ends = 2 * sum(one.step_s for one in series)
    assert not told[~there].any()
    assert (told > 1).sum() <= ends
    lost = there & (told == 0)
    assert lost.sum() <= ends + 3 * HOUR_S * 2 * len(series)
