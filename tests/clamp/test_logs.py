"""A log as a whole: where its highest mean begins, clock hours, and the neutral at every moment."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.clamp.logs import balance, highest_window
from loadlib.core.electrical import SYSTEMS, neutral_a, system
from loadlib.errors import InputError


def test_the_highest_mean_and_where_it_begins() -> None:
    power = np.full(3600, 200.0)
    power[1000:1900] = 2200.0
    assert highest_window(power, 1, 900) == (pytest.approx(2200.0), 1000)
    power[1200] = np.nan
    value, at = highest_window(power, 1, 60)
    assert (value, at) == (pytest.approx(2200.0), 1000)
    assert highest_window(power, 1, 7200)[1] == -1
    assert highest_window(np.full(100, np.nan), 1, 60)[1] == -1


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.one_of(st.floats(0.0, 1e4), st.just(float("nan"))), min_size=1, max_size=40),
    st.integers(1, 8),
)
def test_the_highest_mean_is_that_of_all_windows_looked_at(rows: list[float], slots: int) -> None:
    power = np.array(rows)
    means = [float(np.mean(power[k : k + slots])) for k in range(len(rows) - slots + 1)]
    whole = [value for value in means if not np.isnan(value)]
    value, at = highest_window(power, 10, slots * 10)
    if not whole:
        assert np.isnan(value)
        assert at == -1
    else:
        assert value == pytest.approx(max(whole), abs=1e-6)
        assert means[at] == pytest.approx(value, abs=1e-6)


@pytest.mark.parametrize("name", ["120/240", "120/208", "230/400", "100/200"])
def test_the_neutral_is_the_phasor_sum_at_every_moment(name: str) -> None:
    supply = SYSTEMS[name]
    legs = np.random.default_rng(3).uniform(0.0, 60.0, (len(supply.legs), 20_000))
    found = balance(legs, supply)
    each = [neutral_a(supply, column) for column in legs.T]
    assert found.neutral_a == pytest.approx(float(np.mean(each)))
    assert found.highest_neutral_a == pytest.approx(max(each))


def test_one_moment_among_many_is_the_highest() -> None:
    legs = np.full((2, 50_000), 5.0)
    legs[0, 12_345] = 80.0
    assert balance(legs, system("120/240")).highest_neutral_a == pytest.approx(75.0)


def test_legs_that_cannot_be_set_against_each_other() -> None:
    apart = np.array([[1.0, np.nan], [np.nan, 1.0]])
    with pytest.raises(InputError, match="same time"):
        balance(apart, system("120/240"))
    with pytest.raises(InputError, match="1 currents"):
        balance(apart[:1], system("120/240"))
