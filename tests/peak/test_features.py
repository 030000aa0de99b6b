"""What the model looks at: logarithms that scale with the home."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.peak import features

PEAKS = np.array([2.0, 3.0, 2.5, 4.0, 1.0, 2.0, 3.5, 1.5, 2.5, 2.0, 2.0, 3.0, 1.0, 2.0])
MEANS = np.array([0.3, 0.4, 0.3, 0.5, 0.2, 0.3, 0.4, 0.3, 0.3, 0.3, 0.3, 0.4, 0.2, 0.3])


def test_energy_of_a_month() -> None:
    found = features.energy(0.5, 365.0 / 12.0)
    assert found["span_mean"] == pytest.approx(np.log(0.5))
    assert found["span_len"] == pytest.approx(0.0)
    assert found["small"] == pytest.approx(-0.3 - np.log(0.5))
    assert features.energy(2.0, 30.0)["small"] == 0.0


def test_year_from_bills_weighs_by_days() -> None:
    found = features.year(0.6, [0.4, 0.8], [10.0, 30.0])
    assert found["year_mean"] == pytest.approx(np.log(0.7))
    assert found["rel"] == pytest.approx(np.log(0.6 / 0.7))
    assert found["least"] == pytest.approx(np.log(0.4 / 0.7))
    assert found["swing"] == pytest.approx(0.8 * np.log(2.0))


def test_week_peak_does_not_grow_with_the_stretch() -> None:
    week = features.stretch(PEAKS[:7], MEANS[:7], anchor=None, span_mean=0.0)
    twice = features.stretch(
        np.tile(PEAKS[:7], 2), np.tile(MEANS[:7], 2), anchor=None, span_mean=0.0
    )
    assert week["week_peak"] == pytest.approx(np.log(4.0)) == pytest.approx(twice["week_peak"])
    assert twice["stretch_len"] == pytest.approx(np.log(0.5))


@given(st.floats(0.2, 20.0))
@settings(max_examples=50, deadline=None)
def test_a_home_twice_as_large_moves_only_what_has_a_size(factor: float) -> None:
    def all_of(scale: float) -> dict[str, float]:
        found = features.energy(0.4 * scale, 30.0)
        found |= features.year(0.4 * scale, [0.3 * scale, 0.6 * scale], [30.0, 30.0])
        found |= features.daily(MEANS * scale)
        return found | features.stretch(
            PEAKS * scale, MEANS * scale, anchor=found["year_mean"], span_mean=found["span_mean"]
        )

    one, other = all_of(1.0), all_of(factor)
    sized = {"span_mean", "year_mean", "week_peak", "stretch_mean"}
    for name, value in one.items():
        if name in sized:
            assert other[name] == pytest.approx(value + np.log(factor), abs=1e-9)
        elif not name.startswith("small"):
            assert other[name] == pytest.approx(value, abs=1e-9)


def test_what_tells_nothing() -> None:
    assert features.telling(PEAKS)
    assert not features.telling(PEAKS[:6])
    assert not features.telling(np.full(14, 0.05))


def test_every_level_watches_what_it_has() -> None:
    found = features.energy(0.4, 30.0) | features.year(0.4, [0.3, 0.6], [30.0, 30.0])
    found |= features.daily(MEANS)
    found |= features.stretch(PEAKS, MEANS, anchor=found["year_mean"], span_mean=0.0)
    for level in features.LEVELS.values():
        for term in (*level.centre, *level.spread, *level.watch, *level.remark):
            assert set(term.split("*")) <= set(found)
