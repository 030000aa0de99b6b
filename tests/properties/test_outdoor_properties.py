"""What claims at an outdoor temperature must hold whatever the house and its weather."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from loadlib.core.category import Category
from loadlib.core.claims import Claim, DemandClaim, LoadClaim, When
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, House
from loadlib.core.ranges import Range
from loadlib.core.series import Temperatures
from loadlib.estimators.bonds import Bond
from loadlib.estimators.outdoor import Outdoor, Spell
from loadlib.estimators.settle import Settlement, settle

HOUR_S, YEAR_S = 3600, 365 * 86_400
FEW = settings(max_examples=15, deadline=None)
SPREADS = settings(max_examples=60, deadline=None)
NOTHING, ONE = Range.exact(0.0), Range.exact(1.0)
WINTER = (2.4, 2.1, 1.6, 0.9, 0.3, 0.05, 0.0, 0.0, 0.1, 0.7, 1.5, 2.35)
seeds = st.integers(0, 10_000)
powers = st.floats(500.0, 4000.0)
shares = st.floats(0.02, 0.3)
heated = st.tuples(powers, shares)
others = st.lists(st.tuples(powers, shares), max_size=3)
cuts = st.floats(0.1, 0.9)


def weather(seed: int, days: int = 365) -> NDArray[np.float64]:
    rng = np.random.default_rng(seed)
    hour = np.arange(24 * days)
    season = -rng.uniform(2.0, 15.0) * np.cos(2 * np.pi * hour / (24 * 365))
    spells = np.repeat(rng.normal(0.0, rng.uniform(1.0, 6.0), days), 24)
    return rng.uniform(-5.0, 20.0) + season + spells - 4.0 * np.cos(2 * np.pi * hour / 24)


def heating() -> Category:
    return Category(
        category="heating",
        name="heating",
        group="heating",
        kind="heater",
        thermostatic=True,
        medical=False,
        voltage_v=240.0,
        poles=2,
        running_w=Range(1000, 2000, 4000),
        power_factor=ONE,
        start_multiplier=ONE,
        start_basis="none",
        start_s=NOTHING,
        duty_share=Range(0.05, 0.1, 0.3),
        on_s=Range(300, 900, 1800),
        cycles_per_day=Range(5, 10, 20),
        standby_w=NOTHING,
        annual_wh=Range(1e6, 2e6, 4e6),
        label_share=ONE,
        label_rule="watts_input",
        use_by_hour=(1.0,) * 24,
        use_by_month=WINTER,
    )


def priors(rows: list[tuple[float, float]]) -> list[Claim]:
    """The first load heats, the others are on alike all year."""
    shape = tuple((month,) * 24 for month in np.array(WINTER) / np.mean(WINTER))
    claims: list[Claim] = []
    for k, (power, share) in enumerate(rows):
        running, use = Range.around(power, 1.6), Range.around(share, 1.6).clipped(0.0, 1.0)
        season = shape if k == 0 else None
        claims += [
            LoadClaim(f"a{k}", "running_w", running, "list", standing="prior"),
            LoadClaim(f"a{k}", "duty_share", use, "list", standing="prior", shape=season),
            LoadClaim(f"a{k}", "standby_w", NOTHING, "list", standing="prior"),
        ]
    return claims


def settled(
    claims: list[Claim], count: int, outdoor_c: NDArray[np.float64] | None = None
) -> Settlement:
    kinds = ["heating", *[""] * (count - 1)]
    house = House(
        "h", appliances=tuple(Appliance(f"a{k}", f"a{k}", kind) for k, kind in enumerate(kinds))
    )
    stored = Temperatures(0, HOUR_S, outdoor_c) if outdoor_c is not None else None
    evidence = Evidence(house, {"heating": heating()}, temperatures=stored)
    return settle(evidence, [("test", claim) for claim in claims], 1)


def mean(watts: float, span: tuple[float, float] | None, share: float = 0.02) -> DemandClaim:
    value = Range(watts * (1.0 - share), watts, watts * (1.0 + share))
    return DemandClaim("mean_w", value, "log", "whole", 0, YEAR_S, when=When(outdoor_c=span))


def split(outdoor_c: NDArray[np.float64], share: float) -> tuple[tuple[float, float], ...]:
    """The cold and the warm part of the year."""
    middle = float(np.quantile(outdoor_c, share))
    return (-99.0, middle), (float(np.nextafter(middle, 99.0)), 99.0)


def spell_of(outdoor: Outdoor, claim: DemandClaim) -> Spell:
    found = outdoor.spell(claim)
    assert isinstance(found, Spell)
    return found


@SPREADS
@given(seed=seeds, share=cuts)
def test_parts_of_a_year_make_up_the_year(seed: int, share: float) -> None:
    """Hours and energy of the cold and the warm part are those of all hours, cell by cell."""
    outdoor_c = weather(seed)
    outdoor = Outdoor(Temperatures(0, HOUR_S, outdoor_c), "")
    parts = [spell_of(outdoor, mean(100.0, span)) for span in split(outdoor_c, share)]
    assert sum(part.hours.sum() for part in parts) == pytest.approx(8760.0)
    touched = [part.hours > 0.0 for part in parts]
    both = touched[0] & touched[1]
    for bond in (Bond.HEATING, Bond.COOLING, Bond.BOTH):
        energy = sum(part.hours * part.relative[bond] for part in parts)
        hours = sum(part.hours for part in parts)
        assert np.allclose(energy[both], hours[both])


@SPREADS
@given(seed=seeds, share=cuts)
def test_colder_hours_never_heat_less_nor_cool_more(seed: int, share: float) -> None:
    outdoor_c = weather(seed)
    outdoor = Outdoor(Temperatures(0, HOUR_S, outdoor_c), "")
    cold, warm = (spell_of(outdoor, mean(100.0, span)) for span in split(outdoor_c, share))
    both = (cold.hours > 0.0) & (warm.hours > 0.0)
    assert (cold.relative[Bond.HEATING][both] >= warm.relative[Bond.HEATING][both] - 1e-9).all()
    assert (cold.relative[Bond.COOLING][both] <= warm.relative[Bond.COOLING][both] + 1e-9).all()
    for part in (cold, warm):
        assert np.isfinite(part.relative).all()
        assert (part.relative > 0.0).all()
        assert np.isfinite(part.sigma).all()
        assert (part.sigma >= 0.0).all()


@FEW
@given(first=heated, rest=others, seed=seeds, share=cuts)
def test_an_agreeing_claim_at_a_temperature_narrows(
    first: tuple[float, float], rest: list[tuple[float, float]], seed: int, share: float
) -> None:
    """What the typical loads would draw in the cold: no belief about a load gets wider."""
    rows, outdoor_c = [first, *rest], weather(seed)
    span = split(outdoor_c, share)[0]
    probe = settled([*priors(rows), mean(1.0, span, 0.9)], len(rows), outdoor_c).posterior
    start = probe.unknowns.state(np.zeros(probe.unknowns.size))
    expected = float(probe.rows.predict(start)[0])
    if expected < 1.0:
        return
    before = settled(priors(rows), len(rows), outdoor_c).posterior
    after = settled([*priors(rows), mean(expected, span)], len(rows), outdoor_c).posterior
    u = after.unknowns
    assert np.abs(after.z[u.run]).max() < 0.3
    for part, old in ((u.run, before.unknowns.run), (u.use, before.unknowns.use)):
        assert (after.score_sigma[part] <= before.score_sigma[old] + 1e-9).all()
    assert after.score_sigma[u.use].min() < 1.0


@FEW
@given(first=heated, rest=others, seed=seeds, share=cuts, times=st.floats(0.7, 1.5))
def test_the_order_of_claims_does_not_matter(
    first: tuple[float, float],
    rest: list[tuple[float, float]],
    seed: int,
    share: float,
    times: float,
) -> None:
    rows, outdoor_c = [first, *rest], weather(seed)
    level = times * sum(power * use for power, use in rows)
    cold, warm = split(outdoor_c, share)
    claims = [*priors(rows), mean(level, None), mean(1.3 * level, cold), mean(0.8 * level, warm)]
    mixed = list(claims)
    random.Random(seed).shuffle(mixed)
    once, again = (settled(order, len(rows), outdoor_c) for order in (claims, mixed))
    for a, b in zip(once.loads, again.loads, strict=True):
        assert a.id == b.id
        assert a.running_w.typical == pytest.approx(b.running_w.typical, rel=1e-6)
        assert np.array(a.duty) == pytest.approx(np.array(b.duty), rel=1e-6, abs=1e-12)


@FEW
@given(first=heated, rest=others, seed=seeds, times=st.floats(0.3, 3.0))
def test_a_span_of_all_hours_equals_none(
    first: tuple[float, float], rest: list[tuple[float, float]], seed: int, times: float
) -> None:
    rows, outdoor_c = [first, *rest], weather(seed)
    level = times * sum(power * use for power, use in rows)
    plain = settled([*priors(rows), mean(level, None)], len(rows), outdoor_c)
    spanned = settled([*priors(rows), mean(level, (-99.0, 99.0))], len(rows), outdoor_c)
    assert plain.loads == spanned.loads
    assert np.array_equal(plain.month_draws_wh, spanned.month_draws_wh)


@FEW
@given(first=heated, rest=others, level=st.floats(10.0, 10_000.0))
def test_without_temperatures_nothing_changes(
    first: tuple[float, float], rest: list[tuple[float, float]], level: float
) -> None:
    rows = [first, *rest]
    free = settled(priors(rows), len(rows))
    found = settled([*priors(rows), mean(level, (-5.0, 0.0))], len(rows))
    assert found.loads == free.loads
    assert any("no outdoor temperatures are stored" in note for note in found.notes)
