"""From claims to loads: precedence, evidence, contradictions, what nobody entered."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

import numpy as np
import pytest

from loadlib.core.category import Category
from loadlib.core.claims import Claim, DemandClaim, LoadClaim, When
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.load import UNLISTED
from loadlib.core.ranges import Range
from loadlib.estimators.loads import spread_duty
from loadlib.estimators.nameplate import NameplateEstimator
from loadlib.estimators.settle import Settlement, settle

Catalog = Mapping[str, Category]


def evidence_of(catalog: Catalog, *appliances: Appliance, timezone: str = "") -> Evidence:
    circuits = (Circuit("cellar", (1, 3), "AB", 20.0), Circuit("kitchen", (2,), "B", 15.0))
    house = House("h", timezone=timezone, circuits=circuits, appliances=appliances)
    return Evidence(house, catalog)


def settled(evidence: Evidence, *more: Claim, who: str = "clamp") -> Settlement:
    claims: list[tuple[str, Claim]] = [
        ("nameplate", claim) for claim in NameplateEstimator().claims(evidence)
    ]
    return settle(evidence, [*claims, *((who, claim) for claim in more)], seed=1)


def fridge(**more: object) -> Appliance:
    return Appliance("fridge", "refrigerator", "refrigerator", circuit="kitchen", **more)  # type: ignore[arg-type]


def test_nameplate_alone(catalog: Catalog) -> None:
    found = settled(evidence_of(catalog, fridge(may_be_off_s=14_400.0, if_off="food warms")))
    (load,) = found.loads
    assert load.running_w == Range(80, 120, 200)
    assert load.leg_share == (0.0, 1.0)
    assert load.duty[0][0] == pytest.approx(0.4)
    assert load.starts_per_h[0][0] == pytest.approx(0.4 * 3600 / 900)
    assert load.duty_belief == Range(0.5, 1.0, 1.5)
    assert (load.may_be_off_s, load.if_off, load.known) == (14_400.0, "food warms", "catalog")
    assert load.restart_delay_s == 300.0
    assert found.disagreements == ()
    assert all(record.sigmas == 0.0 for record in found.records)


def test_known_says_where_running_watts_come_from(catalog: Catalog) -> None:
    def known(**more: object) -> str:
        return settled(evidence_of(catalog, fridge(**more))).loads[0].known

    assert known() == "catalog"
    assert known(label="115 V 6.5 A") == "label"
    assert known(running_w=Range(100, 110, 120)) == "label"
    unknown = Appliance("x", "thing", "no_such_thing")
    assert settled(evidence_of(catalog, unknown)).loads[0].known == "guess"


def test_evidence_narrows_and_counts_as_measured(catalog: Catalog) -> None:
    claim = LoadClaim("fridge", "running_w", Range(125, 130, 135), "plug meter, 20 readings")
    found = settled(evidence_of(catalog, fridge()), claim)
    load = found.loads[0]
    assert load.known == "measured"
    assert load.running_w.typical == pytest.approx(130, rel=0.01)
    assert load.running_w.factor < 135 / 125 * 1.01
    assert any("plug meter" in source for source in load.sources)


def test_a_contradicted_label_is_named(catalog: Catalog) -> None:
    claim = LoadClaim("fridge", "running_w", Range(880, 900, 920), "plug meter")
    found = settled(evidence_of(catalog, fridge()), claim)
    assert found.loads[0].running_w == Range(880, 900, 920)
    assert len(found.disagreements) == 1
    assert "fridge" in found.disagreements[0]
    record = next(r for r in found.records if r.quantity == "running_w" and r.weight == 0.0)
    assert record.standing == "prior"
    assert record.sigmas < -5


def test_contradicting_evidence_is_named_and_widens(catalog: Catalog) -> None:
    first = LoadClaim("fridge", "running_w", Range(95, 100, 105), "clamp")
    second = LoadClaim("fridge", "running_w", Range(190, 200, 210), "plug meter")
    found = settled(evidence_of(catalog, fridge()), first, second)
    assert found.loads[0].running_w.factor > 1.8
    assert len(found.disagreements) == 2


def test_another_estimators_prior_does_not_move_the_first(catalog: Catalog) -> None:
    claim = LoadClaim("fridge", "running_w", Range(1, 2, 3), "a rule", standing="prior")
    found = settled(evidence_of(catalog, fridge()), claim)
    assert found.loads[0].running_w == Range(80, 120, 200)
    assert found.records[-1].weight == 0.0


def test_months_and_hours_of_a_duty_claim_go_to_their_hours(catalog: Catalog) -> None:
    claim = LoadClaim(
        "fridge", "duty_share", Range(0.5, 0.6, 0.7), "log", when=When(months=(7,), hours=(14, 15))
    )
    duty = settled(evidence_of(catalog, fridge()), claim).loads[0].duty_array()
    assert duty[6, 14:16] == pytest.approx([0.6, 0.6])
    assert duty[6, 13] != pytest.approx(0.6)


def test_running_watts_against_outdoor_temperature(catalog: Catalog) -> None:
    claims = [
        LoadClaim("fridge", "running_w", Range(w - 5, w, w + 5), "log", when=When(outdoor_c=span))
        for w, span in ((140.0, (20.0, 30.0)), (100.0, (0.0, 10.0)))
    ]
    load = settled(evidence_of(catalog, fridge()), *claims).loads[0]
    assert load.outdoor_w == ((5.0, 100.0), (25.0, 140.0))
    assert load.running_w.low <= 100 <= load.running_w.high


def test_a_part_becomes_a_load_beside_its_appliance(catalog: Catalog) -> None:
    pump = Appliance("hp", "heat pump", "air_conditioner", circuit="cellar", priority="off")
    claim = LoadClaim(
        "hp",
        "running_w",
        Range(4800, 5000, 5200),
        "log",
        part="strip",
        category="heater",
        priority="off",
    )
    found = settled(evidence_of(catalog, pump), claim, who="heat_pump_log")
    assert [load.id for load in found.loads] == ["hp", "hp/strip"]
    strip = found.loads[1]
    assert (strip.circuit, strip.kind, strip.priority) == ("cellar", "heater", "off")
    assert strip.running_w.typical == pytest.approx(5000, rel=0.01)
    assert strip.duty_array().max() > 0.0


def test_a_load_that_nobody_entered_stands_alone(catalog: Catalog) -> None:
    claim = LoadClaim("sump", "running_w", Range(780, 800, 820), "clamp", category="pump")
    found = settled(evidence_of(catalog, fridge()), claim)
    assert found.loads[1].id == "sump"
    assert found.loads[1].start_va is not None
    assert found.loads[1].priority == "wanted"


def test_measured_starts_set_the_time_on(catalog: Catalog) -> None:
    claim = LoadClaim("fridge", "starts_per_h", Range(2.9, 3.0, 3.1), "log")
    load = settled(evidence_of(catalog, fridge()), claim).loads[0]
    assert load.starts_array().mean() == pytest.approx(3.0, rel=0.01)


def test_energy_of_a_cycle_gives_time_on_and_duty(catalog: Catalog) -> None:
    claims = [
        LoadClaim("fridge", "energy_per_cycle_wh", Range(58, 60, 62), "plug meter"),
        LoadClaim("fridge", "running_w", Range(119, 120, 121), "plug meter"),
        LoadClaim("fridge", "starts_per_h", Range(0.99, 1.0, 1.01), "plug meter"),
    ]
    load = settled(evidence_of(catalog, fridge()), *claims).loads[0]
    assert load.duty_array().mean() == pytest.approx(0.5, rel=0.01)
    assert load.starts_array().mean() == pytest.approx(1.0, rel=0.01)


def test_without_the_nameplate_estimator_label_and_catalog_fill_in(catalog: Catalog) -> None:
    evidence = evidence_of(catalog, fridge(label="115 V 6.5 A"))
    claim = LoadClaim("fridge", "duty_share", Range(0.3, 0.32, 0.34), "log")
    found = settle(evidence, [("log", claim)], seed=1)
    assert found.loads[0].running_w.typical == pytest.approx(130, rel=0.1)
    assert len(found.records) == 1


def energy(value: Range, days: int = 30) -> DemandClaim:
    start = int(datetime(2026, 1, 1, tzinfo=UTC).timestamp())
    return DemandClaim("energy_wh", value, "bill", start_s=start, end_s=start + days * 86_400)


def test_energy_over_the_listed_loads_is_an_unlisted_one(catalog: Catalog) -> None:
    """The refrigerator takes about 49 W; 300 W on average were measured."""
    claim = energy(Range.around(300.0 * 720, 1.01))
    found = settled(evidence_of(catalog, fridge()), claim, who="bill")
    rest = found.loads[-1]
    assert rest.id == UNLISTED
    mean_w = rest.count * rest.running_w.typical * rest.duty_array()[0].mean()
    assert mean_w == pytest.approx(240, rel=0.1)
    record = found.records[-1]
    assert record.result.typical == pytest.approx(300.0 * 720, rel=0.02)
    assert abs(record.sigmas) < 2.5


def test_energy_below_the_listed_loads_is_a_finding(catalog: Catalog) -> None:
    """5 W were measured: the meter is believed, and what the catalog said is named."""
    claim = energy(Range.around(5.0 * 720, 1.01))
    found = settled(evidence_of(catalog, fridge()), claim, who="bill")
    assert found.records[-1].result.typical == pytest.approx(5.0 * 720, rel=0.05)
    (finding,) = found.disagreements
    assert finding.startswith("fridge, duty_share 0.4")
    assert "catalog" in finding


def test_a_claim_about_a_place_nobody_knows_is_counted_as_unused(catalog: Catalog) -> None:
    claim = DemandClaim("at_w", Range(400, 410, 420), "display", place="circuit attic")
    found = settled(evidence_of(catalog, fridge()), claim)
    assert "1 statements about demand were heard but not used" in found.notes[-1]
    assert "circuit attic" in found.notes[-1]


@pytest.mark.parametrize(
    ("claim", "why"),
    [
        (energy(Range(1e15, 2e15, 3e15)), "more than a household draws"),
        (energy(Range.exact(0.0)), "draws nothing at all"),
        (energy(Range(-3e5, -2e5, -1e5)), "demand is not negative"),
        (
            DemandClaim("energy_wh", Range(1, 2, 3), "x", start_s=-2 * 10**9, end_s=3 * 10**9),
            "more than a hundred years",
        ),
        (
            DemandClaim("at_w", Range(900, 1000, 1100), "x", when=When(on=("sauna",))),
            "heard but not used: whole at_w",
        ),
    ],
)
def test_what_cannot_be_changes_nothing_and_is_said(
    catalog: Catalog, claim: DemandClaim, why: str
) -> None:
    evidence = evidence_of(catalog, fridge())
    alone, found = settled(evidence), settled(evidence, claim)
    assert np.array_equal(found.month_draws_wh, alone.month_draws_wh)
    assert any("heard but not used" in note and why in note for note in found.notes)


def test_same_answer_each_time(catalog: Catalog) -> None:
    evidence = evidence_of(catalog, fridge())
    claim = energy(Range.around(300.0 * 720, 1.01))
    once, again = settled(evidence, claim), settled(evidence, claim)
    assert once.loads == again.loads
    assert once.records == again.records
    assert np.array_equal(once.month_draws_wh, again.month_draws_wh)


@pytest.mark.parametrize("mean", [0.0, 0.2, 0.5, 0.9])
def test_spreading_duty_keeps_its_mean(mean: float) -> None:
    shape = np.ones((12, 24))
    shape[:6] *= 3.0
    shape[6:, 12:] *= 0.1
    shape /= shape.mean()
    duty = spread_duty(mean, shape)
    assert duty.mean() == pytest.approx(mean, abs=1e-6)
    assert 0.0 <= duty.min() <= duty.max() <= 1.0


def test_duty_that_cannot_be_spread_is_full_in_its_hours() -> None:
    shape = np.zeros((12, 24))
    shape[0] = 12.0
    duty = spread_duty(0.5, shape)
    assert duty[0].min() == 1.0
    assert duty[1:].max() == 0.0


def test_empty_house_gives_no_loads(catalog: Catalog) -> None:
    found = settle(evidence_of(catalog), [], seed=1)
    assert (found.loads, found.records, found.disagreements) == ((), (), ())
