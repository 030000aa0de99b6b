"""Products, quotients and agreement of beliefs; the numbers are arithmetic."""

from __future__ import annotations

import pytest

from loadlib.core.ranges import Range
from loadlib.estimators.products import agreed, divided, times


def test_exact_numbers_multiply_and_divide() -> None:
    assert times(Range.exact(3), Range.exact(4)) == Range.exact(12)
    assert divided(Range.exact(12), Range.exact(4)) == Range.exact(3)


def test_bands_add_in_quadrature_of_logs() -> None:
    # ln 2 and ln 2 give √2 · ln 2: a factor of 2.665 on either side.
    found = times(Range.around(100, 2), Range.around(10, 2))
    assert found.typical == pytest.approx(1000)
    assert found.high / found.typical == pytest.approx(2**2**0.5)
    assert times(Range(0, 1, 2), Range(1, 2, 3)).low == 0.0


def test_two_beliefs_of_one_kind_agree_without_confirming_each_other() -> None:
    # Equal widths meet in the middle (geometric mean of 100 and 121 is 110), no narrower.
    found = agreed(Range(50, 100, 200), Range(60.5, 121, 242))
    assert found is not None
    assert found.typical == pytest.approx(110)
    assert found.high / found.low == pytest.approx(4.0)


def test_the_surer_belief_weighs_more_and_keeps_its_width() -> None:
    found = agreed(Range(50, 100, 200), Range(108, 120, 133))
    assert found is not None
    assert 115 < found.typical < 120
    assert found.high / found.low == pytest.approx(133 / 108)


def test_beliefs_far_apart_or_reaching_zero_do_not_agree() -> None:
    assert agreed(Range(50, 100, 200), Range(900, 1000, 1100)) is None
    assert agreed(Range(0, 100, 200), Range(90, 100, 110)) is None
