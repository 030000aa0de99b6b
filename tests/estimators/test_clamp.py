"""The clamp estimator: readings and logs to claims."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import ClassVar

import numpy as np
import pytest

from loadlib.core.category import Category
from loadlib.core.claims import Claim, DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.core.readings import APPARENT, Reading
from loadlib.core.series import Series
from loadlib.estimators.clamp import ClampEstimator, left_out
from loadlib.estimators.clamp_logs import proposals
from loadlib.testing import EstimatorContract, sample_evidence

Catalog = Mapping[str, Category]
AT = datetime(2026, 1, 10, 23, 40, tzinfo=UTC)
HOUSE = House(
    "h",
    timezone="Etc/UTC",
    circuits=(
        Circuit("cellar", (1, 3), "AB", 20.0),
        Circuit("kitchen", (2,), "B", 20.0),
        Circuit("heat", (4, 6), "AB", 30.0),
    ),
    appliances=(
        Appliance("pump", "well pump", "pump", circuit="cellar"),
        Appliance("fridge", "refrigerator", "refrigerator", circuit="kitchen"),
        Appliance("oven", "microwave oven", "microwave_oven", circuit="kitchen"),
        Appliance("heater", "heater", "heater", circuit="heat", legs="AB"),
    ),
)


def claims(catalog: Catalog, *readings: Reading) -> list[Claim]:
    return list(ClampEstimator().claims(Evidence(HOUSE, catalog, readings=readings)))


def only(catalog: Catalog, reading: Reading) -> Claim:
    (claim,) = claims(catalog, reading)
    return claim


class TestClamp(EstimatorContract):
    plausible: ClassVar[Mapping[str, tuple[float, float]]] = {
        "at_w": (1, 50_000),
        "running_w": (1, 20_000),
    }

    def make(self) -> ClampEstimator:
        return ClampEstimator()

    def evidence(self) -> Evidence:
        return sample_evidence()


def test_a_single_load_on_a_circuit_is_that_load(catalog: Catalog) -> None:
    """8.9 A × 240 V: volts double, amps do not, and power factor widens downwards."""
    claim = only(catalog, Reading("circuit cellar", "clamp", amps=8.9, legs=("A",), at=AT))
    assert isinstance(claim, LoadClaim)
    assert (claim.about, claim.quantity) == ("pump", "running_w")
    assert claim.value.high <= 8.9 * 240 * 1.2
    assert claim.value.typical == pytest.approx(8.9 * 240 * 0.9, rel=0.01)


def test_several_loads_on_a_circuit_are_an_instant(catalog: Catalog) -> None:
    claim = only(catalog, Reading("circuit kitchen", "clamp", amps=12.0, on=("oven",), at=AT))
    assert isinstance(claim, DemandClaim)
    assert (claim.quantity, claim.place, claim.when.on) == ("at_w", "circuit kitchen", ("oven",))


def test_legs_read_apart_are_added_as_powers(catalog: Catalog) -> None:
    reading = Reading("circuit heat", "clamp", legs=("A", "B"), leg_amps=(8.0, 9.0), at=AT)
    claim = only(catalog, reading)
    assert isinstance(claim, LoadClaim)
    assert claim.value.typical == pytest.approx(17.0 * 120.0, rel=0.02)


def test_a_leg_counts_against_neutral(catalog: Catalog) -> None:
    claim = only(catalog, Reading("leg A", "clamp", amps=23.4, legs=("A",), at=AT))
    assert isinstance(claim, DemandClaim)
    assert claim.value.typical == pytest.approx(23.4 * 120 * 0.93, rel=0.01)


def test_watts_beside_amps_give_a_power_factor(catalog: Catalog) -> None:
    reading = Reading(
        "appliance fridge", "plug meter", amps=1.3, watts=125.0, volts=119.0, digit=0.01, at=AT
    )
    found = {c.quantity: c for c in claims(catalog, reading)}
    assert found["running_w"].value.typical == 125.0
    assert found["power_factor"].value.typical == pytest.approx(125 / (1.3 * 119), rel=0.01)


def test_amps_that_may_be_none_give_no_power_factor(catalog: Catalog) -> None:
    """With 5 digits of 0.1 A, 0.3 A may be nothing: its watts stand, no factor follows."""
    reading = Reading("appliance fridge", "clamp", amps=0.3, watts=20.0, digit=0.1)
    claim = only(catalog, reading)
    assert isinstance(claim, LoadClaim)
    assert claim.quantity == "running_w"


def test_an_inrush_is_a_start_and_says_nothing_of_running(catalog: Catalog) -> None:
    claim = only(catalog, Reading("circuit cellar", "clamp", "inrush", amps=50.0, legs=("A",)))
    assert claim.quantity == "start_va"
    assert claim.value.low < 12_000 < claim.value.high
    held = only(catalog, Reading("circuit cellar", "clamp", "peak hold", amps=50.0, legs=("A",)))
    assert held.value.high > claim.value.high


def test_displays_before_and_after_a_breaker(catalog: Catalog) -> None:
    reading = Reading(
        "whole", "utility meter", watts=2840.0, watts_after=1910.0, off=("kitchen",), digit=10.0
    )
    claim = only(catalog, reading)
    assert isinstance(claim, DemandClaim)
    assert (claim.quantity, claim.when.off) == ("change_w", ("kitchen",))
    assert claim.value.typical == pytest.approx(930.0)


def test_energy_of_a_plug_meter_has_its_period(catalog: Catalog) -> None:
    reading = Reading("appliance fridge", "plug meter", energy_wh=9200.0, period_s=604_800.0, at=AT)
    claim = only(catalog, reading)
    assert isinstance(claim, DemandClaim)
    assert claim.end_s == int(AT.timestamp())
    assert claim.start_s == int(AT.timestamp()) - 604_800


def test_outdoor_temperature_makes_it_a_condition(catalog: Catalog) -> None:
    claim = only(catalog, Reading("appliance fridge", "plug meter", watts=125.0, outdoor_c=-5.0))
    assert claim.when.outdoor_c == (-7.0, -3.0)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (Reading("circuit attic", "clamp", amps=3.0), "no circuit 'attic'"),
        (Reading("appliance sauna", "clamp", amps=3.0), "no appliance 'sauna'"),
        (Reading("circuit kitchen", "clamp", amps=0.02), "around a whole cable"),
        (Reading("neutral", "clamp", amps=3.0), "a neutral is a check"),
        (
            Reading("appliance fridge", "plug meter", energy_wh=100.0, period_s=60.0),
            "needs the time",
        ),
    ],
)
def test_what_is_not_used_is_said(catalog: Catalog, reading: Reading, words: str) -> None:
    evidence = Evidence(HOUSE, catalog, readings=(reading,))
    assert list(ClampEstimator().claims(evidence)) == []
    (text,) = left_out(evidence)
    assert words in text


def test_a_reading_beyond_all_bounds_silences_no_other(catalog: Catalog) -> None:
    loose = replace(HOUSE.appliances[0], circuit="")
    house = replace(HOUSE, appliances=(loose, *HOUSE.appliances[1:]))
    absurd = Reading("appliance pump", "plug meter", watts=5e6, at=AT)
    good = Reading("appliance oven", "plug meter", watts=1100.0, at=AT)
    evidence = Evidence(house, catalog, readings=(absurd, good))
    heard = list(ClampEstimator().claims(evidence))
    assert [claim.about for claim in heard if isinstance(claim, LoadClaim)] == ["oven"]
    (said,) = left_out(evidence)
    assert said.startswith("reading of appliance pump not used: ")


def log(place: str, values: np.ndarray, step_s: int = 1, notes: tuple[str, ...] = ()) -> Series:
    start = int(datetime(2026, 1, 5, tzinfo=UTC).timestamp())
    return Series(place, place, "load", start, step_s, values, "Etc/UTC", "log.csv", notes)


def cycling(n: int, watts: float, on: int, every: int, surge: float = 0.0) -> np.ndarray:
    values = np.zeros(n)
    for begin in range(300, n - on, every):
        values[begin : begin + on] += watts
        values[begin : begin + 1] += surge
    return values


def test_a_log_of_one_appliance(catalog: Catalog) -> None:
    """130 W for 800 s of every 2,400 s, with a start of 900 W on top."""
    values = cycling(86_400, 130.0, 800, 2400, 900.0)
    evidence = Evidence(HOUSE, catalog, series=(log("appliance fridge", values),))
    found = {c.quantity: c for c in ClampEstimator().claims(evidence)}
    assert found["running_w"].value.typical == pytest.approx(131.0, rel=0.02)
    assert found["on_s"].value.typical == pytest.approx(800.0, rel=0.01)
    assert found["starts_per_h"].value.typical == pytest.approx(1.5, rel=0.05)
    assert found["mean_w"].value.typical == pytest.approx(43.4, rel=0.03)
    start = found["start_va"].value
    assert start.low < 1030.0 < start.high
    assert start.high > 1.5 * 1000.0  # a mean over a second sees part of an inrush


def test_a_slow_log_shows_no_start(catalog: Catalog) -> None:
    values = cycling(1440, 130.0, 13, 40)
    evidence = Evidence(HOUSE, catalog, series=(log("appliance fridge", values, 60),))
    assert "start_va" not in {c.quantity for c in ClampEstimator().claims(evidence)}


def test_steps_on_both_legs_are_the_load_across_them(catalog: Catalog) -> None:
    """A 2 kW heater on both legs, a microwave oven of 1.4 kW on leg B only."""
    heat = cycling(86_400, 1000.0, 900, 5400)
    oven = cycling(86_400, 1400.0, 150, 4000)
    base = 60.0 + np.random.default_rng(1).normal(0.0, 2.0, 86_400)
    legs = (log("leg A", base + heat), log("leg B", base + heat + oven))
    evidence = Evidence(HOUSE, catalog, series=legs)
    found = {one.appliance.id: one for one in proposals(evidence)}
    assert np.median(found["heater"].cycles.size_w) == pytest.approx(2000.0, rel=0.03)
    assert np.median(found["oven"].cycles.size_w) == pytest.approx(1400.0, rel=0.03)
    said = [c for c in ClampEstimator().claims(evidence) if "chance" in c.source]
    assert said
    energy = [c for c in said if c.quantity == "energy_wh"]
    assert all(c.value.factor > 1.5 for c in energy)


def test_amps_alone_are_volt_amperes(catalog: Catalog) -> None:
    values = np.full(40 * 1440, 1000.0)
    one = log("leg A", values, 60, (APPARENT,))
    plain = [
        c
        for c in ClampEstimator().claims(Evidence(HOUSE, catalog, series=(one,)))
        if c.quantity == "mean_w" and not c.when.hours
    ]
    assert plain[0].value.typical == pytest.approx(930.0)
    real = replace(one, notes=())
    sure = [
        c
        for c in ClampEstimator().claims(Evidence(HOUSE, catalog, series=(real,)))
        if c.quantity == "mean_w" and not c.when.hours
    ]
    assert plain[0].value.factor > sure[0].value.factor


def test_a_log_of_a_circuit_nobody_knows_proposes_nothing(catalog: Catalog) -> None:
    one = log("circuit attic", cycling(86_400, 500.0, 100, 3000))
    assert list(proposals(Evidence(HOUSE, catalog, series=(one,)))) == []


def test_nothing_to_say_is_said(catalog: Catalog) -> None:
    assert ClampEstimator().needs(Evidence(HOUSE, catalog)) == ["no reading and no log"]
    assert Range(0, 1, 2).typical == 1.0
