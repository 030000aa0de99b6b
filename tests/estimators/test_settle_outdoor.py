"""Claims about demand at an outdoor temperature, settled: who is moved by them, and how far.

The simulated truth is a heater that follows the degree-hours of a made-up year (cold spells of
some days, colder nights) from a balance temperature of its own, beside a steady load.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray

from loadlib.core.category import Category
from loadlib.core.claims import Claim, DemandClaim, LoadClaim, When
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.load import UNLISTED
from loadlib.core.ranges import Range
from loadlib.core.series import Temperatures
from loadlib.estimators.assemble import build_profile
from loadlib.estimators.nameplate import NameplateEstimator
from loadlib.estimators.settle import Settlement, settle

Catalog = Mapping[str, Category]
Floats = NDArray[np.float64]
Span = tuple[float, float]
START = datetime(2025, 1, 1, tzinfo=UTC)
START_S, YEAR_S, HOURS = int(START.timestamp()), 365 * 86_400, 8760
WINTER = (2.4, 2.1, 1.6, 0.9, 0.3, 0.05, 0.0, 0.0, 0.1, 0.7, 1.5, 2.35)
COLD, EVER = (-40.0, -4.0), (-60.0, 60.0)


@pytest.fixture
def kinds(catalog: Catalog) -> Catalog:
    heater = replace(
        catalog["heater"],
        running_w=Range(3800, 4000, 4200),
        duty_share=Range(0.05, 0.12, 0.3),
        standby_w=Range.exact(0.0),
        use_by_month=WINTER,
    )
    steady = replace(
        catalog["refrigerator"],
        category="steady",
        running_w=Range(900, 1000, 1100),
        duty_share=Range(0.1, 0.4, 0.9),
        standby_w=Range.exact(0.0),
    )
    return {**catalog, "heater": heater, "steady": steady}


def temperatures(seed: int = 1) -> Floats:
    """Hours of a year: 8 °C on average, ±12 K by season, ±5 K from week to week, ±4 K by day."""
    rng, weeks = np.random.default_rng(seed), np.zeros(366)
    for day in range(1, 366):
        weeks[day] = 0.75 * weeks[day - 1] + 0.66 * rng.normal()
    hour = np.arange(HOURS)
    season = -12.0 * np.cos(2 * np.pi * (hour / 24 - 15) / 365)
    return 8.0 + season + 5.0 * weeks[hour // 24] - 4.0 * np.cos(2 * np.pi * (hour - 4) / 24)


def evidence(kinds: Catalog, outdoor_c: Floats | None = None) -> Evidence:
    house = House(
        "h",
        circuits=(Circuit("heat", (1, 3), "AB", 30.0), Circuit("cellar", (2,), "A", 15.0)),
        appliances=(
            Appliance("heater", "heater", "heater", circuit="heat"),
            Appliance("steady", "steady", "steady", circuit="cellar"),
        ),
    )
    stored = Temperatures(START_S, 3600, outdoor_c) if outdoor_c is not None else None
    return Evidence(house, kinds, temperatures=stored)


def settled(given: Evidence, *more: Claim, seed: int = 1) -> Settlement:
    claims: list[tuple[str, Claim]] = [("n", one) for one in NameplateEstimator().claims(given)]
    return settle(given, [*claims, *(("meter", claim) for claim in more)], seed)


def mean(watts: float, span: Span | None = None, place: str = "whole", **more: object) -> Claim:
    fields: dict[str, object] = {"start_s": START_S, "end_s": START_S + YEAR_S}
    value = Range(0.98 * watts, watts, 1.02 * watts)
    when = When(outdoor_c=span)
    return DemandClaim("mean_w", value, f"{place} log", place, when=when, **(fields | more))  # type: ignore[arg-type]


def heater_w(found: Settlement) -> Range:
    """Mean power of the heater over the year. [W]"""
    return Range.of_samples(found.posterior.load_draws_wh()[:, 0] / 8760.0)


def truth(seed: int, outdoor_c: Floats) -> tuple[Floats, float]:
    """Demand hour by hour, and the heater's mean. [W]"""
    rng = np.random.default_rng(seed)
    need = np.maximum(rng.uniform(14.0, 20.0) - outdoor_c, 0.0)
    heater = np.minimum(480.0 * np.exp(0.4 * rng.normal()) * need / need.mean(), 4000.0)
    return heater + rng.uniform(100.0, 900.0), float(heater.mean())


def test_demand_by_temperature_tells_heating_from_the_rest(kinds: Catalog) -> None:
    """The year's mean alone leaves the split open; means by temperature close it."""
    spans = ((-40.0, -4.0), (-4.0, 2.0), (2.0, 8.0), (8.0, 14.0), (18.0, 40.0))
    hits, widths, misses = [], [], []
    for seed in range(8):
        outdoor_c = temperatures(seed)
        demand, heating = truth(seed, outdoor_c)
        given = evidence(kinds, outdoor_c)
        by_span = [
            mean(float(demand[(outdoor_c >= low) & (outdoor_c <= high)].mean()), (low, high))
            for low, high in spans
        ]
        year = mean(float(demand.mean()))
        before, after = heater_w(settled(given, year)), heater_w(settled(given, *by_span))
        hits.append(after.low <= heating <= after.high)
        widths.append((before.factor, after.factor))
        misses.append([abs(np.log(one.typical / heating)) for one in (before, after)])
    assert sum(hits) >= 7
    wide, narrow = np.median(widths, axis=0)
    assert narrow < 0.5 * wide
    alone, by_temperature = np.mean(misses, axis=0)
    assert by_temperature < 0.7 * alone


def test_more_in_the_cold_is_heating_and_less_is_something_else(kinds: Catalog) -> None:
    outdoor_c = temperatures()
    given = evidence(kinds, outdoor_c)
    year = mean(880.0)
    much, little = (
        settled(given, year, mean(3000.0, COLD)),
        settled(given, year, mean(1000.0, COLD)),
    )
    assert heater_w(much).typical > 1.5 * heater_w(little).typical
    for found in (much, little):
        total = np.median(found.month_draws_wh.sum(axis=1)) / 8760.0
        assert total == pytest.approx(880.0, rel=0.03)


def test_a_span_of_all_hours_is_the_claim_without_it(kinds: Catalog) -> None:
    given = evidence(kinds, temperatures())
    week_s = START_S + 7 * 86_400
    for plain, at in (
        (mean(700.0), mean(700.0, EVER)),
        (mean(2500.0, place="leg A", end_s=week_s), mean(2500.0, EVER, "leg A", end_s=week_s)),
        (highest(6000.0), highest(6000.0, EVER)),
        (instant(4100.0, on=("heater",)), instant(4100.0, EVER, on=("heater",))),
    ):
        once, again = settled(given, plain), settled(given, at)
        assert once.loads == again.loads
        assert np.array_equal(once.month_draws_wh, again.month_draws_wh)


def highest(watts: float, span: Span | None = None) -> DemandClaim:
    value = Range(0.98 * watts, watts, 1.02 * watts)
    return DemandClaim(
        "max_w",
        value,
        "meter",
        start_s=START_S,
        end_s=START_S + YEAR_S,
        when=When(outdoor_c=span),
    )


def instant(
    watts: float,
    span: Span | None = None,
    *,
    quantity: str = "at_w",
    place: str = "whole",
    on: tuple[str, ...] = (),
    off: tuple[str, ...] = (),
    at: datetime | None = None,
) -> DemandClaim:
    value = Range(0.99 * watts, watts, 1.01 * watts)
    when = When(outdoor_c=span, on=on, off=off)
    return DemandClaim(quantity, value, "display", place, when=when, at=at)


def test_without_temperatures_it_stays_unused_and_says_why(kinds: Catalog) -> None:
    given = evidence(kinds)
    free = settled(given)
    for claim in (
        mean(2500.0, COLD),
        highest(6000.0, COLD),
        instant(4100.0, COLD),
        instant(4000.0, COLD, quantity="change_w", off=("heater",)),
    ):
        found = settled(given, claim)
        assert found.loads == free.loads
        note = found.notes[-1]
        assert f"whole {claim.quantity} at -40 to -4 °C outdoors" in note  # type: ignore[union-attr]
        assert "no outdoor temperatures are stored for this house" in note
        assert "'loadlib usage add FILE'" in note
        assert note in build_profile(given, found).missing


def test_each_reason_is_said_once_for_all_claims_that_it_concerns(kinds: Catalog) -> None:
    given = evidence(kinds, temperatures())
    unknown = instant(400.0, place="circuit attic")
    never = [mean(2500.0, (-90.0, -80.0)), highest(6000.0, (-90.0, -80.0))]
    found = settled(given, unknown, *never, mean(2500.0, COLD))
    notes = [text for text in found.notes if "heard but not used" in text]
    assert notes[0].endswith("circuit attic at_w")
    assert notes[1].startswith("2 statements about demand")
    assert "it was never -90 to -80 °C outdoors in its period" in notes[1]
    assert len(notes) == 2


def test_the_profile_shows_what_it_contributed(kinds: Catalog) -> None:
    given = evidence(kinds, temperatures())
    profile = build_profile(given, settled(given, mean(700.0), mean(2500.0, COLD, "leg A")))
    (record,) = [one for one in profile.claims if one.about == "leg A"]
    assert record.text.startswith("leg A: mean_w, outdoors -40 to -4 °C, 2025-01-01 to 2026-01-01")
    assert record.result.low < record.result.typical < record.result.high
    assert (record.unit, record.standing) == ("W", "evidence")
    assert 0.0 < record.weight <= 1.0
    assert record.sigmas != 0.0
    assert [text for text in profile.method if "degree-hours" in text and "18.3 °C" in text]


def test_the_method_names_the_weather_only_where_it_was_used(kinds: Catalog) -> None:
    given = evidence(kinds, temperatures())
    for claim, used in ((mean(700.0), False), (highest(5000.0, COLD), True)):
        method = build_profile(given, settled(given, claim)).method
        assert any("degree-hours" in text for text in method) == used


def test_energy_is_that_of_the_hours_that_count(kinds: Catalog) -> None:
    outdoor_c = temperatures()
    given = evidence(kinds, outdoor_c)
    cold_h = float((outdoor_c <= COLD[1]).sum())
    claim = mean(2500.0, COLD)
    assert isinstance(claim, DemandClaim)
    energy = replace(claim, quantity="energy_wh", value=claim.value.scaled(cold_h))
    by_mean, by_energy = settled(given, claim), settled(given, energy)
    assert heater_w(by_energy).typical == pytest.approx(heater_w(by_mean).typical, rel=1e-6)
    record = by_energy.records[-1]
    assert record.result.typical == pytest.approx(
        by_mean.records[-1].result.typical * cold_h, rel=1e-6
    )


def test_energy_at_hours_of_the_day_is_that_of_these_hours(kinds: Catalog) -> None:
    given = evidence(kinds)
    night = When(hours=(0, 1, 2, 3, 4, 5))
    claim = mean(600.0)
    assert isinstance(claim, DemandClaim)
    by_mean = settled(given, replace(claim, when=night))
    energy = replace(claim, when=night, quantity="energy_wh", value=claim.value.scaled(365 * 6.0))
    assert heater_w(settled(given, energy)).typical == pytest.approx(
        heater_w(by_mean).typical, rel=1e-6
    )
    never = replace(claim, when=When(months=(8,)), end_s=START_S + 86_400)
    assert "heard but not used: whole mean_w" in settled(given, never).notes[-1]


def test_places_are_their_loads_at_that_temperature(kinds: Catalog) -> None:
    """The heater's circuit is the heater; the other circuit does not follow the weather."""
    given = evidence(kinds, temperatures())
    usual = settled(given)
    for place in ("circuit heat", "appliance heater"):
        found = settled(given, mean(2000.0, COLD, place))
        assert heater_w(found).typical > 1.15 * heater_w(usual).typical
        assert heater_w(found).factor < heater_w(usual).factor
    cellar = settled(given, mean(600.0, COLD, "circuit cellar"))
    assert cellar.records[-1].result.typical == pytest.approx(600.0, rel=0.1)
    steady = cellar.loads[1].duty_array()[0].mean() * cellar.loads[1].running_w.typical
    assert 500.0 < steady < 620.0
    assert heater_w(cellar).typical == pytest.approx(heater_w(usual).typical, rel=0.05)
    legs = settled(given, mean(1000.0 + 400.0, COLD, "leg A"), mean(1000.0, COLD, "leg B"))
    assert max(abs(one.sigmas) for one in legs.records if one.estimator == "meter") < 2.0
    assert heater_w(legs).typical > heater_w(usual).typical


def watts_by_temperature() -> list[Claim]:
    """4,800 W at −10 °C and 3,200 W at 10 °C, as a log by temperature would say."""
    return [
        LoadClaim(
            "heater",
            "running_w",
            Range(0.99 * watts, watts, 1.01 * watts),
            "log by temperature",
            when=When(outdoor_c=(middle_c - 1.0, middle_c + 1.0)),
        )
        for watts, middle_c in ((4800.0, -10.0), (3200.0, 10.0))
    ]


@pytest.mark.parametrize("quantity", ["at_w", "change_w"])
def test_watts_while_on_follow_what_was_claimed_against_temperature(
    kinds: Catalog, quantity: str
) -> None:
    """What is drawn in the cold agrees with the claimed line; without it, it would not."""
    given = evidence(kinds, temperatures())
    base = settled(given, *watts_by_temperature()).loads[0]
    assert base.outdoor_w == ((-10.0, 4800.0), (10.0, 3200.0))
    cold_w = 4800.0
    states = {"on": ("heater",), "off": ("steady",)} if quantity == "at_w" else {"off": ("heater",)}
    cold = settled(
        given,
        *watts_by_temperature(),
        instant(cold_w, (-10.5, -9.5), quantity=quantity, **states),  # type: ignore[arg-type]
    )
    assert cold.loads[0].running_w.typical == pytest.approx(base.running_w.typical, rel=0.02)
    assert abs(cold.records[-1].sigmas) < 1.0
    plain = settled(
        given,
        *watts_by_temperature(),
        instant(cold_w, quantity=quantity, **states),  # type: ignore[arg-type]
    )
    assert plain.loads[0].running_w.typical > 1.05 * base.running_w.typical


def test_in_the_cold_a_heater_is_likelier_on(kinds: Catalog) -> None:
    """Nobody knows what was on; on a circuit of two loads of one size it is decided by chance."""
    twin = replace(kinds["steady"], category="twin", duty_share=Range(0.01, 0.05, 0.3))
    wide = Range(2000, 4000, 8000)
    pair = {**kinds, "twin": replace(twin, running_w=wide)}
    pair["heater"] = replace(kinds["heater"], running_w=wide)
    outdoor_c = temperatures()
    given = evidence(pair, outdoor_c)
    house = given.house.with_(
        appliances=(
            Appliance("heater", "heater", "heater", circuit="heat"),
            Appliance("twin", "twin", "twin", circuit="heat"),
        )
    )
    given = replace(given, house=house)
    april = np.arange(90 * 24, 120 * 24)
    coldest = int(april[np.argmin(outdoor_c[april])])
    mildest = int(april[np.argmax(outdoor_c[april])])
    widths = []
    for hour in (coldest, mildest):
        span = (float(outdoor_c[hour]) - 0.5, float(outdoor_c[hour]) + 0.5)
        moment = START + timedelta(hours=hour)
        claim = instant(4000.0, span, place="circuit heat", at=moment)
        heater, other = settled(given, claim).loads
        widths.append((heater.running_w.factor, other.running_w.factor))
    assert widths[0][0] < widths[0][1]  # it was the heater
    assert widths[1][0] > widths[1][1]


def test_the_highest_hour_in_the_warm_is_not_the_highest_in_the_cold(kinds: Catalog) -> None:
    """The same maximum is expected of cold hours and a surprise in warm ones."""
    given = evidence(kinds, temperatures())
    spans = ((-40.0, 0.0), (20.0, 60.0))
    cold, warm = (settled(given, highest(5000.0, span)).records[-1] for span in spans)
    assert abs(cold.sigmas) < 1.0
    assert warm.sigmas > 2.5
    value = Range(380, 400, 420)
    base = DemandClaim(
        "quantile_w",
        value,
        "meter",
        start_s=START_S,
        end_s=START_S + YEAR_S,
        when=When(outdoor_c=spans[1]),
    )
    assert abs(settled(given, base).records[-1].sigmas) < 1.0


def test_weather_widens_the_hold_of_a_tail(kinds: Catalog) -> None:
    given = evidence(kinds, temperatures())
    posterior = settled(given, highest(4500.0, COLD), highest(4500.0)).posterior
    u, state = posterior.unknowns, posterior.state
    cold, ever = sorted(posterior.tails, key=lambda tail: tail.claim.when.outdoor_c is None)
    assert cold.spread(u, state, 1000.0) > ever.spread(u, state, 1000.0)


def test_what_people_switch_in_the_cold_and_what_is_not_listed_widen_the_row(
    kinds: Catalog,
) -> None:
    """A fan heater that people switch may or may not follow: the row is held off by more."""
    outdoor_c = temperatures()
    given = evidence(kinds, outdoor_c)
    by_hand = {**kinds, "heater": replace(kinds["heater"], thermostatic=False)}
    claim = mean(1500.0, COLD)
    follows, unsure = settled(given, claim), settled(evidence(by_hand, outdoor_c), claim)
    plain = settled(given, mean(1500.0))
    spread = [
        float(one.posterior.rows.spread(one.posterior.state)[0]) ** 0.5
        for one in (plain, follows, unsure)
    ]
    assert spread[0] < spread[1] < spread[2]


def test_a_cold_spell_measures_no_month(kinds: Catalog) -> None:
    given = evidence(kinds, temperatures())
    january_s = START_S + 31 * 86_400
    cold = settled(given, mean(2500.0, COLD, end_s=january_s))
    assert not [text for text in cold.notes if text.startswith("not measured")]
    both = settled(given, mean(2500.0, COLD, end_s=january_s), mean(900.0, start_s=january_s))
    (note,) = [text for text in both.notes if text.startswith("not measured")]
    assert note.startswith("not measured: January;")


def test_demand_that_nothing_listed_explains_is_not_listed(kinds: Catalog) -> None:
    """3 kW in summer's warmth, from a log by temperature alone."""
    found = settled(evidence(kinds, temperatures()), mean(3000.0, (18.0, 40.0)))
    assert found.loads[-1].id == UNLISTED
    assert abs(found.records[-1].sigmas) < 2.5


def test_slopes_are_those_of_the_predictions(kinds: Catalog) -> None:
    """Against central differences, at a point away from the prior."""
    found = settled(
        evidence(kinds, temperatures()),
        *watts_by_temperature(),
        mean(2500.0, COLD),
        mean(1200.0, (0.0, 5.0), "leg B"),
        instant(5000.0, (-10.5, -9.5), on=("heater",)),
        instant(5000.0, (-10.5, -9.5)),
    ).posterior
    u, rows = found.unknowns, found.rows
    assert rows.at_temperature.all()
    z = np.random.default_rng(0).normal(0.0, 0.7, u.size)
    step = 1e-5 * np.eye(u.size)
    numeric = (rows.predict(u.state(z + step)) - rows.predict(u.state(z - step))).T / 2e-5
    assert rows.jacobian(u.state(z), z) == pytest.approx(numeric, abs=1e-4)


def test_missing_temperatures_widen_the_row(kinds: Catalog) -> None:
    """A fifth of the year's temperatures is not stored: the mean says less, the energy alike."""
    outdoor_c = temperatures()
    holes = outdoor_c.copy()
    holes[np.random.default_rng(0).random(HOURS) < 0.2] = np.nan
    whole_h = float((outdoor_c <= COLD[1]).sum())
    claim = mean(2500.0, COLD)
    assert isinstance(claim, DemandClaim)
    energy = replace(claim, quantity="energy_wh", value=claim.value.scaled(whole_h))
    full, part = (settled(evidence(kinds, one), energy) for one in (outdoor_c, holes))
    spread = [float(f.posterior.rows.spread(f.posterior.state)[0]) for f in (full, part)]
    assert spread[1] > spread[0]
    assert part.posterior.rows.typical[0] == pytest.approx(full.posterior.rows.typical[0], rel=0.05)
