"""The profile document: demand, peaks, energy, what is missing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from itertools import pairwise

import numpy as np
import pytest

from loadlib.core.category import Category
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.load import Load, flat
from loadlib.core.profile import LoadProfile
from loadlib.core.ranges import Range
from loadlib.core.readings import Reading
from loadlib.core.series import BillPeriod, Series
from loadlib.estimators.assemble import build_profile, demand_of
from loadlib.estimators.nameplate import NameplateEstimator
from loadlib.estimators.peaks import WINDOWS_S, model_peaks
from loadlib.estimators.settle import settle

Catalog = Mapping[str, Category]


@pytest.fixture
def evidence(catalog: Catalog) -> Evidence:
    circuits = (Circuit("cellar", (1, 3), "AB", 20.0), Circuit("kitchen", (2,), "B", 15.0))
    house = House(
        "farm",
        service_a=200.0,
        timezone="America/New_York",
        circuits=circuits,
        appliances=(
            Appliance("fridge", "refrigerator", "refrigerator", circuit="kitchen"),
            Appliance("pump", "well pump", "pump", circuit="cellar", label="1 HP 230 V"),
            Appliance("heat", "heater", "heater", count=2),
            Appliance("lamp", "lamps", "lamp", count=6, label="9 W"),
            Appliance("odd", "odd thing", "no_such_thing"),
        ),
    )
    return Evidence(house, catalog, seed=3)


def profile_of(evidence: Evidence) -> LoadProfile:
    claims = [("nameplate", claim) for claim in NameplateEstimator().claims(evidence)]
    return build_profile(evidence, settle(evidence, claims, evidence.seed))


def always(key: str, watts: float, duty: float = 1.0, **changes: object) -> Load:
    plain = Load(
        id=key,
        name=key,
        category="",
        kind="heater",
        leg_share=(1.0, 0.0),
        line_to_line=False,
        running_w=Range.exact(watts),
        power_factor=Range.exact(1.0),
        start_va=None,
        start_s=Range.exact(0.0),
        standby_w=Range.exact(0.0),
        duty=flat(duty),
        duty_belief=Range.exact(1.0),
        starts_per_h=flat(0.0 if duty == 1.0 else 2.0),
    )
    return plain.with_(**changes)


def test_profile_of_a_house(evidence: Evidence) -> None:
    found = profile_of(evidence)
    assert (found.house, found.legs, found.service_a) == ("farm", ("A", "B"), 200.0)
    assert [d.place for d in found.demand] == ["whole", "leg A", "leg B"]
    assert [load.id for load in found.loads] == ["fridge", "pump", "heat", "lamp", "odd"]
    assert found.hardest_start() is found.load("pump")
    assert len(found.energy_wh_by_month) == 12
    assert found.seed == 3


def test_demand_has_the_mean_of_the_loads_and_rising_percentiles(evidence: Evidence) -> None:
    found = profile_of(evidence)
    for place, leg in (("whole", None), ("leg A", 0), ("leg B", 1)):
        demand = found.demand_at(place)
        expected = sum(
            (1.0 if leg is None else load.leg_share[leg])
            * load.count
            * (
                load.standby_w.typical
                + load.duty_array() * (load.running_w.typical - load.standby_w.typical)
            )
            for load in found.loads
        )
        assert np.array(demand.mean_w) == pytest.approx(expected, rel=1e-9)
        points = [np.array(getattr(demand, n)) for n in ("p05_w", "p50_w", "p95_w", "p99_w")]
        assert all((b >= a).all() for a, b in pairwise(points))


def test_heating_shows_in_its_months(evidence: Evidence) -> None:
    found = profile_of(evidence)
    winter, summer = found.energy_wh_by_month[0], found.energy_wh_by_month[6]
    assert winter.typical > 2.0 * summer.typical
    peak_months = {p.period for p in found.peaks} - {"year"}
    assert peak_months <= {"month 1", "month 2", "month 3"}


def test_peaks_cover_windows_places_and_periods_and_are_ordered(evidence: Evidence) -> None:
    found = profile_of(evidence)
    assert len(found.peaks) == 3 * len(WINDOWS_S) * 2
    assert {p.basis for p in found.peaks} == {"model, uncalibrated"}
    for place in ("whole", "leg A", "leg B"):
        year = [p.power_w for p in found.peaks if (p.place, p.period) == (place, "year")]
        typical = [r.typical for r in year]
        assert typical == sorted(typical, reverse=True)
        for peak in (p for p in found.peaks if p.place == place and p.period != "year"):
            whole_year = next(
                p
                for p in found.peaks
                if (p.place, p.window_s, p.period) == (place, peak.window_s, "year")
            )
            assert peak.power_w.typical <= whole_year.power_w.typical
    highest_mean = np.array(found.demand_at().mean_w).max()
    assert year[-1].typical > 0
    assert max(p.power_w.typical for p in found.peaks) > highest_mean


def test_peak_of_loads_that_are_always_on_is_their_sum() -> None:
    loads = [always("a", 700.0), always("b", 300.0, leg_share=(0.0, 1.0))]
    demand, _ = demand_of(loads, ("A", "B"))
    peaks = model_peaks(loads, ("A", "B"), demand[0], seed=1)
    whole = {p.power_w for p in peaks if p.place == "whole"}
    assert whole == {Range.exact(1000.0)}
    assert {p.power_w for p in peaks if p.place == "leg B"} == {Range.exact(300.0)}


def test_one_cycling_load_peaks_at_its_own_power_over_a_minute() -> None:
    """Some start of 365 days × 48 lasts a whole clock minute: the 1-min peak is the power,
    the 60-min peak lies between mean and power."""
    loads = [always("a", 1000.0, duty=0.25)]
    demand, _ = demand_of(loads, ("A", "B"))
    peaks = {
        p.window_s: p.power_w
        for p in model_peaks(loads, ("A", "B"), demand[0], seed=1)
        if (p.place, p.period) == ("whole", "year")
    }
    assert peaks[60].typical == pytest.approx(1000.0)
    assert 600.0 < peaks[3600].typical <= 1000.0


def test_many_alike_are_taken_at_their_mean() -> None:
    loads = [always("lamps", 10.0, duty=0.5, count=5000)]
    demand, _ = demand_of(loads, ("A", "B"))
    peaks = model_peaks(loads, ("A", "B"), demand[0], seed=1)
    assert peaks[0].power_w.typical == pytest.approx(25_000.0)


def test_same_seed_same_profile(evidence: Evidence) -> None:
    assert profile_of(evidence) == profile_of(evidence)
    assert profile_of(evidence) != profile_of(replace(evidence, seed=4))


def test_missing_and_guessed_are_named(evidence: Evidence, catalog: Catalog) -> None:
    text = "\n".join(profile_of(evidence).missing)
    assert "no catalog entry for 'no_such_thing' (odd thing)" in text
    assert "odd thing: running watts only guessed" in text
    assert "no circuit for: heater, lamps, odd thing" in text
    assert "nothing measured" in text
    assert "lamps: leg not known" in text


def test_a_slip_on_a_label_is_named(evidence: Evidence) -> None:
    pump = Appliance("pump", "well pump", "pump", label="230 V 200 A")
    tv = Appliance("tv", "television", "lamp", label="SEER 14")
    house = evidence.house.with_(appliances=(pump, tv))
    text = "\n".join(profile_of(replace(evidence, house=house)).missing)
    assert "well pump: 41,400 W is far from the 700–1,130 W of a pump" in text
    assert "television: label not used" in text


def test_evidence_used_is_listed(evidence: Evidence) -> None:
    more = replace(
        evidence,
        bills=(BillPeriod(date(2026, 1, 1), date(2026, 2, 1), 640_000.0, source="bill.csv"),),
        series=(Series("m", "whole", "import", 0, 3600, np.array([1.0, np.nan])),),
        readings=(Reading("leg A", "clamp", amps=20.0),),
    )
    found = profile_of(more)
    assert [record.kind for record in found.evidence] == ["walk", "bill", "series", "reading"]
    assert found.evidence[0].text == "5 entries, 11 units, 2 with a label"
    assert found.evidence[1].text == "2026-01-01 to 2026-02-01: 640 kWh"
    assert "1 missing" in found.evidence[2].text


def test_method_and_cautions_say_what_must_be_said(evidence: Evidence) -> None:
    found = profile_of(evidence)
    method = " ".join(found.method)
    for word in ("independent", "25 W grid", "weather", "gamma", "Not calibrated"):
        assert word in method
    assert any("electrician" in caution for caution in found.cautions)


def test_empty_house() -> None:
    evidence = Evidence(House("empty"))
    found = build_profile(evidence, settle(evidence, [], 1))
    assert found.loads == ()
    assert found.peaks == ()
    assert np.array(found.demand_at().p99_w).max() == 0.0
    assert found.energy_wh_per_year == Range.exact(0.0)


def test_single_phase_house_has_one_leg(catalog: Catalog) -> None:
    house = House("flat", system="230", appliances=(Appliance("f", "f", "refrigerator"),))
    found = profile_of(Evidence(house, catalog))
    assert [d.place for d in found.demand] == ["whole", "leg A"]
    assert found.demand_at("leg A").mean_w == found.demand_at().mean_w
