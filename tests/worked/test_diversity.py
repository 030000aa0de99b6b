"""Diversity and loss examples of Gönen, Electric Power Distribution Engineering, chapter 2.

Read in the public solutions of the examples (Scilab textbook companion, chapter 2).
"""

from __future__ import annotations

import pytest

from loadlib.core.diversity import (
    coincidence_factor,
    diversified_demand_w,
    diversity_factor,
    load_diversity_w,
    load_factor,
    loss_factor,
)
from loadlib.errors import InputError

KW = 1000.0


def test_two_classes_example_2_5_page_48() -> None:
    peaks = [2000 * KW, 2000 * KW]
    assert diversity_factor(peaks, 3000 * KW) == pytest.approx(1.333, abs=0.001)
    assert load_diversity_w(peaks, 3000 * KW) == 1000 * KW
    assert coincidence_factor(peaks, 3000 * KW) == pytest.approx(0.75, abs=0.001)


def test_annual_loss_example_2_9_page_58() -> None:
    share = load_factor(5_610_000 * KW, 2000 * KW, 8760.0)
    assert share == pytest.approx(0.3202, abs=0.0005)
    assert loss_factor(share) == pytest.approx(0.1678, abs=0.0005)
    assert loss_factor(share) * 100 * 8760 == pytest.approx(147_022, abs=20)


def test_appliances_of_six_and_900_houses_example_2_11_page_62() -> None:
    """Dryer, range, refrigerator, lighting and miscellaneous, 30-minute demands."""
    at_6 = [kw * KW for kw in (1.6, 0.8, 0.066, 0.61)]
    at_900 = [kw * KW for kw in (1.2, 0.53, 0.044, 0.52)]
    assert diversified_demand_w(at_6, 6) / KW == pytest.approx(18.456, abs=0.01)
    assert diversified_demand_w(at_900, 900) / KW == pytest.approx(2064.6, abs=0.5)


def test_impossible_numbers_are_refused() -> None:
    with pytest.raises(InputError, match="group_peak_w"):
        diversity_factor([1.0], 0.0)
    with pytest.raises(InputError, match="peaks_w"):
        coincidence_factor([0.0], 1.0)
    with pytest.raises(InputError, match="not between"):
        loss_factor(1.2)
    with pytest.raises(InputError, match="hours"):
        load_factor(1.0, 1.0, 0.0)
    with pytest.raises(InputError, match="houses"):
        diversified_demand_w([1.0], 0)
