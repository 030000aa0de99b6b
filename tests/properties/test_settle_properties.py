"""What settling must hold whatever the house: narrowing, order, prior, outliers, no negative.

Houses are drawn at random from simple categories; truths are drawn from the prior, so that
statements "on average" are about the right truths.
"""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.claims import Claim, DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, House
from loadlib.core.load import UNLISTED
from loadlib.core.ranges import Range
from loadlib.estimators.settle import Settlement, settle

YEAR_S = 365 * 86_400
FEW = settings(max_examples=20, deadline=None)
powers = st.floats(20.0, 3000.0)
shares = st.floats(0.02, 0.9)
loads = st.lists(st.tuples(powers, shares), min_size=1, max_size=6)


def house(count: int) -> House:
    return House("h", appliances=tuple(Appliance(f"a{k}", f"a{k}", "") for k in range(count)))


def priors(rows: list[tuple[float, float]], factor: float = 1.6) -> list[Claim]:
    claims: list[Claim] = []
    for k, (power, share) in enumerate(rows):
        running, use = Range.around(power, factor), Range.around(share, factor).clipped(0.0, 1.0)
        claims.append(LoadClaim(f"a{k}", "running_w", running, "list", standing="prior"))
        claims.append(LoadClaim(f"a{k}", "duty_share", use, "list", standing="prior"))
        claims.append(LoadClaim(f"a{k}", "standby_w", Range.exact(0.0), "list", standing="prior"))
    return claims


def whole(watts: float, share: float = 0.02, start_s: int = 0, end_s: int = YEAR_S) -> DemandClaim:
    value = Range(watts * (1.0 - share), watts, watts * (1.0 + share))
    return DemandClaim("mean_w", value, f"meter {start_s}", "whole", start_s, end_s)


def settled(claims: list[Claim], count: int, seed: int = 1) -> Settlement:
    evidence = Evidence(house(count))
    return settle(evidence, [("test", claim) for claim in claims], seed)


def mean_w(rows: list[tuple[float, float]]) -> float:
    return sum(power * share for power, share in rows)


@FEW
@given(rows=loads)
def test_no_claims_about_demand_give_the_prior(rows: list[tuple[float, float]]) -> None:
    claims = priors(rows)
    found = settled(claims, len(rows))
    for k, load in enumerate(found.loads):
        said = claims[3 * k]
        assert isinstance(said, LoadClaim)
        assert load.running_w == said.value
    assert np.array_equal(found.posterior.z, np.zeros(found.posterior.unknowns.size))


@FEW
@given(power=powers, first=st.floats(1.02, 1.5), second=st.floats(1.02, 1.5))
def test_an_agreeing_claim_narrows_where_all_is_linear_and_normal(
    power: float, first: float, second: float
) -> None:
    """Claims about one number, normal on a log scale: precision only adds."""
    prior = LoadClaim("a0", "running_w", Range.around(power, first), "list", standing="prior")
    more = LoadClaim("a0", "running_w", Range.around(power, second), "clamp")
    before = settled([prior], 1).loads[0].running_w
    after = settled([prior, more], 1).loads[0].running_w
    assert after.factor < min(before.factor, more.value.factor)
    assert after.typical == pytest.approx(power, rel=1e-6)


@FEW
@given(rows=loads, share=st.floats(0.01, 0.2))
def test_an_agreeing_claim_about_demand_narrows_the_year(
    rows: list[tuple[float, float]], share: float
) -> None:
    claims = priors(rows)
    wide = Range.of_samples(settled(claims, len(rows)).month_draws_wh.sum(axis=1))
    typical = wide.typical / 8760.0
    found = settled([*claims, whole(typical, share)], len(rows))
    narrow = Range.of_samples(found.month_draws_wh.sum(axis=1))
    assert narrow.factor < wide.factor


@settings(max_examples=5, deadline=None)
@given(rows=st.lists(st.tuples(powers, st.floats(0.05, 0.6)), min_size=3, max_size=5))
def test_true_claims_narrow_loads_on_average(rows: list[tuple[float, float]]) -> None:
    """Truths drawn from the prior, each with a meter reading of its own: on average narrower."""
    claims, rng = priors(rows, factor=2.0), np.random.default_rng(7)
    before = settled(claims, len(rows)).posterior.score_sigma
    cuts = []
    for _ in range(6):
        truth = sum(
            min(float(r.sample(rng, 1)[0]) * float(u.sample(rng, 1)[0]), 1e6)
            for r, u in (
                (Range.around(power, 2.0), Range.around(share, 2.0)) for power, share in rows
            )
        )
        after = settled([*claims, whole(truth)], len(rows)).posterior
        use = after.unknowns.use
        width = after.score_sigma[after.unknowns.run].sum() + after.score_sigma[use].sum()
        cuts.append(width / (2.0 * len(rows)))
    assert np.mean(cuts) < 1.0
    assert before[: len(rows)].max() == pytest.approx(1.0)


@FEW
@given(rows=loads, seed=st.integers(0, 1000))
def test_the_order_of_claims_does_not_matter(rows: list[tuple[float, float]], seed: int) -> None:
    month = YEAR_S // 12
    claims = priors(rows)
    claims += [
        whole(1.2 * mean_w(rows), start_s=k * month, end_s=(k + 1) * month) for k in range(6)
    ]
    claims.append(LoadClaim("a0", "running_w", Range.around(rows[0][0] * 1.1, 1.1), "clamp"))
    mixed = list(claims)
    random.Random(seed).shuffle(mixed)
    once, again = settled(claims, len(rows)), settled(mixed, len(rows))
    # Which load comes first follows the house; sums in another order differ by rounding.
    for a, b in zip(once.loads, again.loads, strict=True):
        assert a.id == b.id
        assert a.running_w.typical == pytest.approx(b.running_w.typical, rel=1e-6)
        assert np.array(a.duty) == pytest.approx(np.array(b.duty), rel=1e-6, abs=1e-12)


@FEW
@given(rows=loads, times=st.sampled_from([8.0, 20.0, 100.0]), which=st.integers(0, 11))
def test_a_gross_outlier_is_named_and_spoils_nothing(
    rows: list[tuple[float, float]], times: float, which: int
) -> None:
    """One of twelve months wrong by a large factor; the year of the others stands."""
    month, level = YEAR_S // 12, 1.1 * mean_w(rows)
    meters = [whole(level, start_s=k * month, end_s=(k + 1) * month) for k in range(12)]
    wrong = list(meters)
    wrong[which] = whole(level * times, start_s=which * month, end_s=(which + 1) * month)
    clean = settled([*priors(rows), *(m for k, m in enumerate(meters) if k != which)], len(rows))
    found = settled([*priors(rows), *wrong], len(rows))
    assert any(f"meter {which * month}" in text for text in found.disagreements)
    records = [r for r in found.records if r.quantity == "mean_w"]
    assert records[which].weight < 0.1
    year = [np.median(f.month_draws_wh.sum(axis=1)) for f in (clean, found)]
    assert year[1] == pytest.approx(year[0], rel=0.05)


@FEW
@given(rows=loads, times=st.floats(0.2, 5.0))
def test_nothing_is_negative_and_nothing_is_on_for_more_than_all_the_time(
    rows: list[tuple[float, float]], times: float
) -> None:
    found = settled([*priors(rows), whole(times * mean_w(rows))], len(rows))
    for load in found.loads:
        assert load.running_w.low >= 0.0
        assert 0.0 <= load.duty_array().min() <= load.duty_array().max() <= 1.0 + 1e-12
        assert load.duty_belief.low >= 0.0
    assert (found.month_draws_wh >= 0.0).all()
    rest = [load for load in found.loads if load.id == UNLISTED]
    assert all(load.starts_array().min() >= 0.0 for load in rest)


@FEW
@given(rows=loads, times=st.floats(0.5, 2.0))
def test_the_year_agrees_with_the_meter(rows: list[tuple[float, float]], times: float) -> None:
    watts = times * mean_w(rows)
    found = settled([*priors(rows), whole(watts)], len(rows))
    year = Range.of_samples(found.month_draws_wh.sum(axis=1))
    assert year.typical == pytest.approx(watts * 8760.0, rel=0.04)
