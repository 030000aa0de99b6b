"""The fit of all claims about demand together: agreement, attribution, outliers, places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest

from loadlib.core.category import Category
from loadlib.core.claims import Claim, DemandClaim, LoadClaim, When
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.load import UNLISTED
from loadlib.core.ranges import Range
from loadlib.core.series import BillPeriod, Series
from loadlib.estimators.assemble import build_profile
from loadlib.estimators.bill import BillEstimator
from loadlib.estimators.nameplate import NameplateEstimator
from loadlib.estimators.settle import Settlement, settle

Catalog = Mapping[str, Category]
START = datetime(2025, 1, 1, tzinfo=UTC)
START_S = int(START.timestamp())
YEAR_S = 365 * 86_400


def house(*more: Appliance) -> House:
    return House(
        "h",
        circuits=(Circuit("kitchen", (1,), "A", 20.0), Circuit("heat", (2, 4), "AB", 30.0)),
        appliances=(
            Appliance("fridge", "refrigerator", "refrigerator", circuit="kitchen"),
            Appliance("oven", "microwave oven", "microwave_oven", circuit="kitchen"),
            Appliance("heater", "heater", "heater", circuit="heat"),
            Appliance("lamps", "lamps", "lamp", count=4, label="9W", circuit="kitchen"),
            *more,
        ),
    )


def settled(evidence: Evidence, *more: Claim, seed: int = 1) -> Settlement:
    claims: list[tuple[str, Claim]] = [
        ("nameplate", claim) for claim in NameplateEstimator().claims(evidence)
    ]
    bill = BillEstimator()
    if not bill.needs(evidence):
        claims += [("bill", claim) for claim in bill.claims(evidence)]
    return settle(evidence, [*claims, *(("clamp", claim) for claim in more)], seed)


def year_of(found: Settlement) -> Range:
    return Range.of_samples(found.month_draws_wh.sum(axis=1))


def mean_claim(watts: float, place: str = "whole", share: float = 0.02, **more: object) -> Claim:
    value = Range(watts * (1 - share), watts, watts * (1 + share))
    return DemandClaim(
        "mean_w",
        value,
        f"{place} meter",
        place,
        START_S,
        START_S + YEAR_S,
        **more,  # type: ignore[arg-type]
    )


def monthly_bills(watts: Sequence[float]) -> tuple[BillPeriod, ...]:
    firsts = [date(2025, month, 1) for month in range(1, 13)] + [date(2026, 1, 1)]
    return tuple(
        BillPeriod(a, b, w * (b - a).days * 24.0)
        for (a, b), w in zip(pairwise(firsts), watts, strict=True)
    )


def test_without_claims_about_demand_the_ranges_stay(catalog: Catalog) -> None:
    found = settled(Evidence(house(), catalog))
    assert found.loads[0].running_w == Range(80, 120, 200)
    assert found.loads[0].duty_belief == Range(0.5, 1.0, 1.5)
    assert UNLISTED not in [load.id for load in found.loads]
    assert found.posterior.predicted.size == 0


@pytest.mark.parametrize("watts", [250.0, 500.0, 900.0])
def test_energy_of_months_agrees_with_the_bills(catalog: Catalog, watts: float) -> None:
    """In every month, whatever the list would have said, and in the profile as a whole."""
    season = watts * (1.0 + 0.2 * np.cos(np.arange(12) * 2 * np.pi / 12))
    evidence = Evidence(house(), catalog, bills=monthly_bills(season))
    found = settled(evidence)
    typical = np.median(found.month_draws_wh, axis=0)
    billed = np.array([bill.energy_wh for bill in evidence.bills])
    assert typical == pytest.approx(billed, rel=0.03)
    year = year_of(found)
    assert year.low < billed.sum() < year.high
    assert year.factor < 1.06
    profile = build_profile(evidence, found)
    demand = np.array(profile.demand_at("whole").mean_w)
    assert demand.mean(axis=1) == pytest.approx(season, rel=0.06)


def test_interval_data_give_the_hours(catalog: Catalog) -> None:
    """Demand by month and hour follows a year of hourly data, and nothing turns negative."""
    hours = np.arange(8760)
    mean_w = 500.0 + 300.0 * ((hours % 24) >= 18) + 0.0 * hours
    series = Series("meter", "whole", "import", START_S, 3600, mean_w, "Etc/UTC", "made up")
    evidence = Evidence(replace_zone(house()), catalog, series=(series,))
    found = settled(evidence)
    profile = build_profile(evidence, found)
    demand = np.array(profile.demand_at("whole").mean_w)
    assert demand[:, 18:].mean() == pytest.approx(800.0, rel=0.05)
    assert demand[:, :18].mean() == pytest.approx(500.0, rel=0.05)
    rest = next(load for load in found.loads if load.id == UNLISTED)
    assert rest.duty_array().min() >= 0.0
    assert all(load.duty_array().min() >= 0.0 for load in found.loads)
    assert all(load.duty_array().max() <= 1.0 for load in found.loads)
    assert profile.energy_wh_per_year.typical == pytest.approx(mean_w.sum(), rel=0.02)


def replace_zone(home: House) -> House:
    return home.with_(timezone="Etc/UTC")


def test_months_that_were_not_measured_are_named(catalog: Catalog) -> None:
    evidence = Evidence(house(), catalog, bills=monthly_bills([500.0] * 12)[:3])
    (note,) = [text for text in settled(evidence).notes if text.startswith("not measured")]
    assert "March" not in note
    assert "April, May" in note


def test_unmeasured_months_stay_wider(catalog: Catalog) -> None:
    evidence = Evidence(house(), catalog, bills=monthly_bills([500.0] * 12)[:3])
    months = settled(evidence).month_draws_wh
    width = np.quantile(months, 0.95, axis=0) / np.quantile(months, 0.05, axis=0)
    assert width[:3].max() < 1.1
    assert width[3:].min() > 1.2


def test_two_years_that_differ_are_no_contradiction(catalog: Catalog) -> None:
    """The same month of another year is another winter: 10 % apart is not a mistake."""
    first = monthly_bills([500.0] * 12)
    second = tuple(
        replace(
            bill,
            first_day=bill.first_day.replace(year=2024),
            day_after=bill.day_after.replace(year=bill.day_after.year - 1),
            energy_wh=bill.energy_wh * 1.1,
        )
        for bill in first
    )
    found = settled(Evidence(house(), catalog, bills=(*second, *first)))
    assert min(r.weight for r in found.records if r.estimator == "bill") > 0.9
    assert year_of(found).typical == pytest.approx(525.0 * 8760, rel=0.04)


def test_a_gross_outlier_is_named_and_spoils_nothing(catalog: Catalog) -> None:
    """One bill ten times too high among twelve."""
    bills = list(monthly_bills([500.0] * 12))
    bills[6] = replace(bills[6], energy_wh=bills[6].energy_wh * 10.0)
    found = settled(Evidence(house(), catalog, bills=tuple(bills)))
    (finding,) = found.disagreements
    assert "2025-07-01" in finding
    records = [r for r in found.records if r.estimator == "bill"]
    assert records[6].weight < 0.05
    assert min(r.weight for k, r in enumerate(records) if k != 6) > 0.9
    without = settled(Evidence(house(), catalog, bills=tuple(b for b in bills if b != bills[6])))
    others = [k for k in range(12) if k != 6]
    assert np.median(found.month_draws_wh, axis=0)[others] == pytest.approx(
        np.median(without.month_draws_wh, axis=0)[others], rel=0.03
    )


@pytest.mark.parametrize("factor", [1e-3, 1e3])
def test_a_bill_in_another_unit_spoils_nothing(catalog: Catalog, factor: float) -> None:
    """July in Wh for kWh, or the other way round: the eleven other months stand."""
    watts = [700.0] * 12
    right = settled(Evidence(house(), catalog, bills=monthly_bills(watts)))
    watts[6] *= factor
    found = settled(Evidence(house(), catalog, bills=monthly_bills(watts)))
    assert year_of(found).typical == pytest.approx(year_of(right).typical, rel=0.03)
    (named,) = found.disagreements
    assert "2025-07-01 to 2025-08-01" in named


@pytest.mark.parametrize(
    "more",
    [
        DemandClaim("energy_wh", Range(1.9, 2.0, 2.1), "a second", start_s=0, end_s=1),
        DemandClaim(
            "energy_wh",
            Range(1e6, 1.1e6, 1.2e6),
            "July hours of a January",
            start_s=START_S,
            end_s=START_S + 31 * 86_400,
            when=When(months=(7,)),
        ),
    ],
)
def test_what_is_not_listed_listens_to_whole_periods(catalog: Catalog, more: Claim) -> None:
    evidence = Evidence(house(), catalog, bills=monthly_bills([700.0] * 12)[:3])
    found, right = settled(evidence, more), settled(evidence)
    assert year_of(found).typical == pytest.approx(year_of(right).typical, rel=0.02)


def test_a_house_that_is_mostly_unlisted_is_remarked(catalog: Catalog) -> None:
    bills = monthly_bills([4000.0] * 12)
    evidence = Evidence(house(), catalog, bills=bills)
    remarks = build_profile(evidence, settled(evidence)).missing
    assert any(one.startswith("what is not listed takes") for one in remarks)
    little = Evidence(house(), catalog, bills=monthly_bills([300.0] * 12))
    remarks = build_profile(little, settled(little)).missing
    assert not any(one.startswith("what is not listed takes") for one in remarks)


def test_measurements_of_a_load_that_the_meter_rules_out_are_named(catalog: Catalog) -> None:
    """1,900 W for 40 % of the time, measured, in a house of 300 W: one of the two is wrong."""
    evidence = Evidence(house(), catalog, bills=monthly_bills([300.0] * 12))
    watts = LoadClaim("fridge", "running_w", Range(1850, 1900, 1950), "plug meter")
    share = LoadClaim("fridge", "duty_share", Range(0.38, 0.4, 0.42), "log")
    found = settled(evidence, watts, share)
    assert year_of(found).typical == pytest.approx(300.0 * 8760, rel=0.03)
    records = {r.source: r for r in found.records if r.source in ("plug meter", "log")}
    assert min(r.weight for r in records.values()) < 0.05
    assert any("plug meter" in text or "log" in text for text in found.disagreements)


def test_energy_of_one_appliance_settles_it_and_leaves_the_rest(catalog: Catalog) -> None:
    bills = Evidence(house(), catalog, bills=monthly_bills([500.0] * 12))
    before = settled(bills)
    claim = mean_claim(60.0, "appliance fridge")
    after = settled(bills, claim)
    energy = after.posterior.load_draws_wh()[:, 0]
    assert np.median(energy) == pytest.approx(60.0 * 8760, rel=0.03)
    old = before.posterior.load_draws_wh()[:, 0]
    assert np.quantile(energy, 0.95) / np.quantile(energy, 0.05) < 1.2
    assert np.quantile(old, 0.95) / np.quantile(old, 0.05) > 2.0
    assert year_of(after).typical == pytest.approx(500.0 * 8760, rel=0.02)


def test_a_circuit_and_a_leg_are_sums_of_what_hangs_on_them(catalog: Catalog) -> None:
    found = settled(
        Evidence(house(), catalog),
        mean_claim(150.0, "circuit heat"),
        mean_claim(400.0, "leg A"),
        mean_claim(500.0),
    )
    by_place = {r.about: r for r in found.records if r.estimator == "clamp"}
    assert by_place["circuit heat"].result.typical == pytest.approx(150.0, rel=0.15)
    assert by_place["leg A"].result.typical == pytest.approx(400.0, rel=0.1)
    assert by_place["whole"].result.typical == pytest.approx(500.0, rel=0.03)
    assert max(abs(r.sigmas) for r in by_place.values()) < 2.0


def test_an_instant_with_known_states(catalog: Catalog) -> None:
    """The heater alone was on: the reading is about its running power."""
    when = When(on=("heater",), off=("fridge", "oven", "lamps"))
    claim = DemandClaim("at_w", Range(2070, 2100, 2130), "display", when=when, at=START)
    found = settled(Evidence(house(), catalog), claim)
    heater = next(load for load in found.loads if load.id == "heater")
    assert heater.running_w.typical == pytest.approx(2080.0, abs=15.0)


def test_an_instant_without_known_states_says_little(catalog: Catalog) -> None:
    claim = DemandClaim("at_w", Range(2250, 2300, 2350), "display", at=START)
    found = settled(Evidence(house(), catalog), claim)
    (record,) = [r for r in found.records if r.estimator == "clamp"]
    assert abs(record.sigmas) < 2.5
    assert found.loads[0].running_w.factor == pytest.approx(2.5, rel=0.1)


def test_a_difference_of_displays_is_what_was_switched_off(catalog: Catalog) -> None:
    claim = DemandClaim("change_w", Range(140, 150, 160), "display", when=When(off=("fridge",)))
    found = settled(Evidence(house(), catalog), claim)
    assert found.loads[0].running_w.typical == pytest.approx(150.0, rel=0.03)
    assert found.loads[0].running_w.factor < 1.2


def test_a_difference_of_a_whole_circuit_finds_what_was_on(catalog: Catalog) -> None:
    """1,540 W on the kitchen circuit: refrigerator and microwave oven, not the lamps alone."""
    when = When(off=("kitchen",))
    claim = DemandClaim("change_w", Range(1500, 1540, 1580), "display", when=when)
    found = settled(Evidence(house(), catalog), claim)
    (record,) = [r for r in found.records if r.estimator == "clamp"]
    assert abs(record.sigmas) < 1.5
    oven = next(load for load in found.loads if load.id == "oven")
    assert 1250.0 < oven.running_w.typical < 1600.0


def test_a_maximum_holds_the_loads_down(catalog: Catalog) -> None:
    """A house whose highest hour was 1.2 kW can't run a 2 kW heater for hours on end."""
    bills = Evidence(house(), catalog, bills=monthly_bills([500.0] * 12))
    value = Range(1180, 1200, 1220)
    claim = DemandClaim("max_w", value, "meter", "whole", START_S, START_S + YEAR_S, 3600)
    free, held = settled(bills), settled(bills, claim)
    peaks = [
        next(t.predict(f.posterior.unknowns, f.posterior.state) for t in held.posterior.tails)
        for f in (free, held)
    ]
    assert peaks[1] < peaks[0]


def test_the_base_load_is_a_quantile(catalog: Catalog) -> None:
    value = Range(95, 100, 105)
    claim = DemandClaim(
        "quantile_w", value, "meter", "whole", START_S, START_S + YEAR_S, 3600, share=0.05
    )
    found = settled(Evidence(house(), catalog, bills=monthly_bills([400.0] * 12)), claim)
    (record,) = [r for r in found.records if r.quantity == "quantile_w"]
    assert abs(record.sigmas) < 2.0


def test_a_house_without_appliances_is_all_unlisted(catalog: Catalog) -> None:
    evidence = Evidence(House("empty"), catalog, bills=monthly_bills([300.0] * 12))
    found = settled(evidence)
    assert [load.id for load in found.loads] == [UNLISTED]
    assert year_of(found).typical == pytest.approx(300.0 * 8760, rel=0.02)


def test_draws_and_fit_are_the_same_for_a_seed(catalog: Catalog) -> None:
    evidence = Evidence(house(), catalog, bills=monthly_bills([500.0] * 12))
    once, again, other = settled(evidence), settled(evidence), settled(evidence, seed=2)
    assert once.loads == again.loads
    assert np.array_equal(once.month_draws_wh, again.month_draws_wh)
    assert not np.array_equal(once.month_draws_wh, other.month_draws_wh)


def test_a_week_counts_as_a_week(catalog: Catalog) -> None:
    """A week's mean says less about the month than a month's."""

    def january(days: int) -> Range:
        end = START + timedelta(days=days)
        value = Range(490, 500, 510)
        claim = DemandClaim("mean_w", value, "meter", "whole", START_S, int(end.timestamp()))
        return Range.of_samples(settled(Evidence(house(), catalog), claim).month_draws_wh[:, 0])

    assert january(7).factor > 1.15
    assert january(31).factor < 1.06


def test_slopes_are_those_of_the_predictions(catalog: Catalog) -> None:
    """Against central differences, at a point away from the prior."""
    found = settled(
        Evidence(house(), catalog),
        mean_claim(400.0),
        mean_claim(150.0, "circuit heat"),
        mean_claim(210.0, "leg A"),
        DemandClaim("at_w", Range(900, 950, 990), "display", when=When(on=("oven",)), at=START),
    ).posterior
    u, rows = found.unknowns, found.rows
    z = np.random.default_rng(0).normal(0.0, 0.7, u.size)
    step = 1e-5 * np.eye(u.size)
    numeric = (rows.predict(u.state(z + step)) - rows.predict(u.state(z - step))).T / 2e-5
    assert rows.jacobian(u.state(z), z) == pytest.approx(numeric, abs=1e-5)
