"""Joining claims about one number."""

from __future__ import annotations

import math

import pytest

from loadlib.core.claims import LOAD_QUANTITIES, LoadClaim, When
from loadlib.core.ranges import Z95, Range
from loadlib.estimators.combine import combine, sigmas_apart
from loadlib.estimators.products import divided, times


def claim(low: float, typical: float, high: float, **more: object) -> LoadClaim:
    return LoadClaim("x", "running_w", Range(low, typical, high), "test", **more)  # type: ignore[arg-type]


def prior(low: float, typical: float, high: float) -> LoadClaim:
    return claim(low, typical, high, standing="prior")


def test_a_prior_alone_stands_as_it_is() -> None:
    first, second = prior(80, 120, 200), prior(1, 2, 3)
    found = combine([first, second])
    assert found.value == Range(80, 120, 200)
    assert found.used == (first,)


def test_two_equal_claims_halve_the_variance() -> None:
    found = combine([claim(80, 100, 125), claim(80, 100, 125)]).value
    sigma = math.log(found.high / found.low) / (2 * Z95)
    assert found.typical == pytest.approx(100)
    assert sigma == pytest.approx(math.log(1.25) / Z95 / math.sqrt(2))


def test_the_surer_claim_weighs_by_its_precision() -> None:
    found = combine([claim(99, 100, 101), claim(50, 120, 288)]).value
    assert found.typical == pytest.approx(100, rel=1e-3)


def test_contradicting_evidence_widens_by_the_birge_ratio() -> None:
    """Two claims 100 and 200, each ± 5 %: nine sigmas apart."""
    claims = [claim(95, 100, 105), claim(190, 200, 210)]
    found = combine(claims).value
    assert found.typical == pytest.approx(math.sqrt(100 * 200), rel=0.01)
    assert found.high / found.low > 2.5
    assert abs(sigmas_apart(claims[0].value, found, "W")) > 5


def test_a_contradicted_prior_is_left_out() -> None:
    found = combine([prior(80, 120, 200), claim(950, 1000, 1050)])
    assert found.value == Range(950, 1000, 1050)
    assert [c.standing for c in found.used] == ["evidence"]


def test_a_fitting_prior_joins_in() -> None:
    found = combine([prior(80, 120, 200), claim(130, 150, 173)])
    assert len(found.used) == 2
    assert 120 < found.value.typical < 150


def test_conditions_are_pooled_and_not_contradictions() -> None:
    """A heat pump draws 2,000 W in the cold and 1,200 W in the mild."""
    cold = claim(1950, 2000, 2050, when=When(outdoor_c=(-10, -5)))
    mild = claim(1150, 1200, 1250, when=When(outdoor_c=(5, 10)))
    assert combine([cold, mild]).value == Range(1150, 1200, 2050)


def test_zero_and_exact_claims() -> None:
    zero = combine([claim(0, 0, 0)])
    assert zero.value == Range.exact(0)
    both = combine([claim(0, 1, 2), claim(1, 1, 1)]).value
    assert both.typical == pytest.approx(1.0)
    exact = combine([claim(100, 100, 100), claim(80, 120, 200)]).value
    assert exact.typical == pytest.approx(100, rel=1e-3)


def test_an_exact_zero_does_not_win_against_a_reading() -> None:
    """One meter reads 120 W and another nothing: the result covers both and neither is near."""
    claims = [claim(114, 120, 126), claim(0, 0, 0)]
    found = combine(claims).value
    assert found.low == 0.0
    assert 30 < found.typical < 90
    assert found.high > 120
    for one in claims:
        assert abs(sigmas_apart(one.value, found, "W")) > 5


def test_two_zeros_are_zero_and_no_prior_lifts_them() -> None:
    found = combine([prior(0, 1, 2), claim(0, 0, 0), claim(0, 0, 0)])
    assert found.value == Range.exact(0)
    assert all(c.standing == "evidence" for c in found.used)


@pytest.mark.parametrize(("quantity", "unit"), LOAD_QUANTITIES.items())
def test_a_zero_of_any_quantity_can_be_joined_and_is_told_from_much_more(
    quantity: str, unit: str
) -> None:
    both = [
        LoadClaim("x", quantity, value, "test")
        for value in (Range.exact(0), Range(0.45, 0.5, 0.55))
    ]
    assert 0.0 < combine(both).value.typical <= 0.5
    assert abs(sigmas_apart(Range.exact(0), Range.exact(100), unit)) > 5
    assert abs(sigmas_apart(Range.exact(0), Range.exact(0.005), unit)) < 1


def test_shares_stay_shares() -> None:
    high = LoadClaim("x", "duty_share", Range(0.8, 0.95, 1.0), "a")
    higher = LoadClaim("x", "duty_share", Range(0.97, 0.99, 1.0), "b")
    assert combine([high, higher]).value.high <= 1.0


def test_sigmas_are_those_of_the_side_towards_the_result() -> None:
    lopsided = Range(90, 100, 400)
    assert sigmas_apart(lopsided, Range.exact(400), "W") == pytest.approx(-Z95)
    assert sigmas_apart(lopsided, Range.exact(90), "W") == pytest.approx(Z95)
    assert sigmas_apart(Range.exact(5), Range.exact(5), "W") == 0.0
    assert sigmas_apart(Range(0, 10, 20), Range.exact(20), "W") == pytest.approx(-Z95)


def test_products_agree_with_draws() -> None:
    import numpy as np

    rng = np.random.default_rng(1)
    a, b = Range(80, 120, 200), Range(4.1, 8.0, 11.8)
    for found, drawn in (
        (times(a, b), a.sample(rng, 200_000) * b.sample(rng, 200_000)),
        (divided(a, b), a.sample(rng, 200_000) / b.sample(rng, 200_000)),
    ):
        points = np.quantile(drawn, (0.05, 0.5, 0.95))
        # The median of a product of lopsided laws is not the product of medians.
        assert (found.low, found.typical, found.high) == pytest.approx(points, rel=0.08)


def test_products_with_zero() -> None:
    assert times(Range(0, 1, 2), Range(1, 2, 3)).low == 0.0
    assert times(Range.exact(0), Range(1, 2, 3)) == Range(0, 0, 0)
