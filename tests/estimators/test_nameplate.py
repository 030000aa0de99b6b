"""The nameplate estimator: which source wins, and what a label means."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

import pytest

from loadlib.core.category import Category, SourcedValue
from loadlib.core.claims import LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, House
from loadlib.core.ranges import Range
from loadlib.estimators.nameplate import NameplateEstimator
from loadlib.hooks import Estimator
from loadlib.testing import EstimatorContract

Catalog = Mapping[str, Category]


def about(
    catalog: Catalog,
    kind: str,
    label: str = "",
    running_w: Range | None = None,
    system: str = "120/240",
) -> dict[str, LoadClaim]:
    """Claims about one appliance by quantity."""
    appliance = Appliance("x", "the one", kind, label=label, running_w=running_w)
    house = House("h", system=system, appliances=(appliance,))
    claims = NameplateEstimator().claims(Evidence(house, catalog))
    return {claim.quantity: claim for claim in claims}


class TestContract(EstimatorContract):
    """What every estimator must hold."""

    plausible: ClassVar[Mapping[str, tuple[float, float]]] = {
        "running_w": (0.1, 20_000),
        "duty_share": (0, 1),
        "start_va": (1, 60_000),
    }

    def make(self) -> Estimator:
        return NameplateEstimator()


def test_own_figure_then_label_then_catalog_then_guess(catalog: Catalog) -> None:
    own = about(catalog, "refrigerator", "115 V 6.5 A", Range(100, 130, 150))["running_w"]
    label = about(catalog, "refrigerator", "115 V 6.5 A")["running_w"]
    kind = about(catalog, "refrigerator")["running_w"]
    guess = about(catalog, "no_such_thing")["running_w"]
    assert own.value == Range(100, 130, 150)
    assert own.source == "your figure"
    assert label.source.startswith("label: 6.5 A × 115 V")
    assert (kind.value, kind.source) == (Range(80, 120, 200), "catalog: refrigerator")
    assert guess.source.startswith("guess")
    assert guess.value.factor > 100
    assert {c.standing for c in (own, label, kind, guess)} == {"prior"}


def test_citation_of_the_catalog_row_is_carried(catalog: Catalog) -> None:
    row = SourcedValue(
        "running_w", Range(80, 120, 200), "W", "", "", "s", "Some handbook, p. 3", "read_in_source"
    )
    memory = SourcedValue(
        "power_factor", Range(0.8, 0.9, 1), "1", "", "", "s", "notes", "from_memory"
    )
    entry = catalog["refrigerator"]
    known = {"refrigerator": _with(entry, values=(row, memory))}
    claims = about(known, "refrigerator")
    assert claims["running_w"].source == "catalog: refrigerator, Some handbook, p. 3"
    assert claims["power_factor"].source == "catalog: refrigerator, from memory"


def _with(entry: Category, **changes: object) -> Category:
    from dataclasses import replace

    return replace(entry, **changes)  # type: ignore[arg-type]  # names checked at run time


def test_label_is_an_upper_bound_and_its_share_the_prior(catalog: Catalog) -> None:
    """A refrigerator labelled 6.5 A draws about 130 W, not 747 W (public question)."""
    value = about(catalog, "refrigerator", "115 V 6.5 A")["running_w"].value
    assert value.typical == pytest.approx(130, rel=0.1)
    assert 60 < value.low < value.high < 300
    # Alone, without what its kind draws, the label's share of 10 to 60 % stands.
    far = _with(catalog["refrigerator"], running_w=Range(2000, 2100, 2200))
    alone = about({"refrigerator": far}, "refrigerator", "115 V 6.5 A")["running_w"]
    assert alone.value.typical == pytest.approx(0.2 * 747.5)
    assert alone.value.low == pytest.approx(0.1 * 747.5)
    assert alone.value.high == pytest.approx(0.6 * 747.5)
    assert "; with catalog" not in alone.source
    full = _with(catalog["refrigerator"], label_share=Range(0.8, 1.0, 1.4))
    bounded = about({"refrigerator": full}, "refrigerator", "115 V 6.5 A")["running_w"].value
    assert bounded.high == pytest.approx(747.5)


def test_condenser_plate_of_21_and_35_amps(catalog: Catalog) -> None:
    """MCA 21 and MOCP 35 bound the rated current to 0.8 × 21 = 16.8 A and
    21 − 0.25 × (35 − 21) = 17.5 A; running lies below."""
    claims = about(catalog, "air_conditioner", "MCA 21 A MOCP 35 A 208/230 V")
    running, start = claims["running_w"].value, claims["start_va"].value
    assert running.typical == pytest.approx(0.7 * 17.15 * 230, rel=1e-6)
    assert running.high <= 17.5 * 230
    assert "16.8–17.5 A" in claims["running_w"].source
    assert start.typical == pytest.approx(5.5 * 17.15 * 230, rel=1e-6)


def test_condenser_adds_its_fan_to_the_rated_load(catalog: Catalog) -> None:
    claims = about(catalog, "air_conditioner", "230 V RLA 17.9 LRA 96 FLA 1.2")
    assert claims["running_w"].value.typical == pytest.approx(0.7 * 19.1 * 230)


def test_locked_rotor_amps_are_va_and_come_first(catalog: Catalog) -> None:
    claim = about(catalog, "air_conditioner", "230 V RLA 17.9 LRA 96")["start_va"]
    assert claim.unit == "VA"
    assert claim.value.typical == pytest.approx(96 * 230)
    assert "locked rotor 96 A" in claim.source


def test_code_letter_before_the_catalog(catalog: Catalog) -> None:
    """Letter J: 7.1 to 7.99 kVA per hp, NFPA 70 Table 430.7(B)."""
    claim = about(catalog, "pump", "1/2 HP 230 V 4.9 A CODE J")["start_va"]
    assert (claim.value.low, claim.value.high) == pytest.approx((3550.0, 3995.0))


def test_full_load_multiplier_never_multiplies_metered_watts(catalog: Catalog) -> None:
    """A person's metered 900 W does not change the start of a pump labelled 1 hp: 6 times
    the table's 8 A × 230 V."""
    labelled = about(catalog, "pump", "1 HP 230 V")["start_va"]
    metered = about(catalog, "pump", "1 HP 230 V", Range(880, 900, 920))["start_va"]
    assert labelled.value == metered.value
    assert metered.value.typical == pytest.approx(6 * 8 * 230)
    bare = about(catalog, "pump", "", Range(880, 900, 920))["start_va"]
    assert bare.value.typical == pytest.approx(6 * 900 / 0.9)


def test_metered_multiplier_goes_with_running_watts(catalog: Catalog) -> None:
    """8.0 times metered watts (PLAID), over the power factor at start: not of the label."""
    labelled = about(catalog, "refrigerator", "115 V 6.5 A", Range.exact(120))["start_va"]
    assert labelled.value.typical == pytest.approx(8.0 * 120 / 0.9)
    assert labelled.value.high < 8 * 747.5


def test_running_amps_multiplier_goes_with_running_va(catalog: Catalog) -> None:
    claim = about(catalog, "blower", "", Range.exact(450))["start_va"]
    assert claim.value.typical == pytest.approx(3 * 450 / 0.9)


def test_no_start_where_there_is_no_kick(catalog: Catalog) -> None:
    assert "start_va" not in about(catalog, "heater")
    assert "start_va" not in about(catalog, "no_such_thing")


def test_horsepower_is_not_input_power(catalog: Catalog) -> None:
    """1 hp: full-load current 8 A at 230 V in NFPA 70 Table 430.248, not 746 W."""
    value = about(catalog, "pump", "1 HP")["running_w"].value
    assert value.typical == pytest.approx(0.9 * 1840)


@pytest.mark.parametrize(
    ("label", "low", "high"),
    [
        ("1000 W", 1300, 1850),  # cooking output
        ("INPUT 1500 W OUTPUT 1000 W 120 V", 1300, 1600),
        ("OUTPUT 1000 W", 1300, 1850),
    ],
)
def test_microwave_oven_output_is_not_input(
    catalog: Catalog, label: str, low: float, high: float
) -> None:
    """A 1000 W oven takes about 1,450 to 1,700 W from the wall (public question)."""
    value = about(catalog, "microwave_oven", label)["running_w"].value
    assert low < value.low < value.typical <= value.high < high


def test_cooling_capacity_over_eer(catalog: Catalog) -> None:
    printed = about(catalog, "air_conditioner", "24000 BTU/h EER 10")["running_w"]
    assumed = about(catalog, "air_conditioner", "24000 BTU/h")["running_w"]
    assert printed.value.typical == pytest.approx(0.7 * 2400)
    assert "assumed" in assumed.source
    assert assumed.value.factor > printed.value.factor


def test_fuel_heat_is_never_electrical(catalog: Catalog) -> None:
    assert about(catalog, "blower", "80000 BTU/h")["running_w"].source == "catalog: blower"


def test_volts_follow_the_supply_where_the_label_has_none(catalog: Catalog) -> None:
    # 20 A is far from what a refrigerator draws, so that the label stands alone.
    on_120 = about(catalog, "refrigerator", "20 A")["running_w"].value
    on_230 = about(catalog, "refrigerator", "20 A", system="230")["running_w"].value
    assert on_230.typical / on_120.typical == pytest.approx(230 / 120)


def test_a_240_volt_heater_gives_three_quarters_on_208(catalog: Catalog) -> None:
    at_home = about(catalog, "heater", "240 V 2000 W")["running_w"]
    in_flat = about(catalog, "heater", "240 V 2000 W", system="120/208")["running_w"]
    assert in_flat.value.typical / at_home.value.typical == pytest.approx(0.75, abs=0.002)
    assert "on 208 V" in in_flat.source


def test_energy_label_gives_the_duty(catalog: Catalog) -> None:
    claims = about(catalog, "refrigerator", "115 V 6.5 A 438 kWh/year", Range.exact(125))
    assert claims["duty_share"].value.typical == pytest.approx(438_000 / 8760 / 125)
    assert "438 kWh" in claims["duty_share"].source


def test_a_stronger_unit_of_a_thermostatic_load_runs_shorter(catalog: Catalog) -> None:
    """Energy of the job is kept: 420 kWh a year less standby."""
    claims = about(catalog, "refrigerator", "", Range.exact(240))
    assert claims["duty_share"].value.typical == pytest.approx((420e3 / 8760 - 1) / 240)
    heating = about(catalog, "heater", "240 V 4000 W")["duty_share"]
    assert heating.value == about(catalog, "heater")["duty_share"].value


def test_catalog_duty_holds_in_the_busiest_month(catalog: Catalog) -> None:
    claim = about(catalog, "heater")["duty_share"]
    assert claim.value.typical == pytest.approx(0.4 / 3.0)
    assert claim.shape is not None
    assert claim.value.typical * claim.shape[0][0] == pytest.approx(0.4)
    assert claim.shape[6][0] == 0.0


def test_refused_and_empty_labels_fall_back_to_the_catalog(catalog: Catalog) -> None:
    for label in ("SEER 14", "garbage", "   "):
        assert about(catalog, "pump", label)["running_w"].source == "catalog: pump"


def test_needs_an_appliance() -> None:
    assert NameplateEstimator().needs(Evidence(House("empty"))) == ["no appliance has been entered"]
