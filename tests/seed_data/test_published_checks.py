"""Catalog values against something published: code tables, federal maxima, measured data.

Sources stand beside each check; derived numbers of two open data sets lie in this folder.
"""

from __future__ import annotations

import numpy as np
import pytest
from catalog_tables import HERE, by_key, rows_of, table, value

# NFPA 70 (NEC) Table 430.248, single-phase full-load currents [A] at 115 V and 230 V; two
# reproductions of the table agree on every figure.
FULL_LOAD_A = {
    "1/3": (7.2, 3.6),
    "1/2": (9.8, 4.9),
    "3/4": (13.8, 6.9),
    "1": (16.0, 8.0),
    "1 1/2": (20.0, 10.0),
    "2": (24.0, 12.0),
}
HORSEPOWER = {
    "well_pump_submersible_1_2_hp": "1/2",
    "well_pump_submersible_3_4_hp": "3/4",
    "well_pump_submersible_1_hp": "1",
    "well_pump_submersible_1_1_2_hp": "1 1/2",
    "well_pump_submersible_2_hp": "2",
    "sump_pump_1_3_hp": "1/3",
    "sump_pump_1_2_hp": "1/2",
    "air_compressor_1_hp": "1",
    "air_compressor_2_hp": "2",
}
VOLTAGE = {row["category"]: float(row["voltage_v"]) for row in table("categories")}


@pytest.mark.parametrize(("category", "horsepower"), HORSEPOWER.items())
def test_running_power_stays_below_the_motor_table(category: str, horsepower: str) -> None:
    """NEC Table 430.248: full-load current times voltage bounds the running watts.

    A submersible pump at its service-factor load takes up to a third more VA (from memory).
    """
    at_115, at_230 = FULL_LOAD_A[horsepower]
    full_load_va = at_230 * 230 if VOLTAGE[category] >= 200 else at_115 * 115
    assert value(category, "running_w", "high") <= full_load_va * 1.001
    assert value(category, "running_w") / value(category, "power_factor") <= full_load_va * 1.35


@pytest.mark.parametrize(("category", "horsepower"), HORSEPOWER.items())
def test_input_is_more_than_shaft_power(category: str, horsepower: str) -> None:
    """746 W a horsepower leaves the shaft; what goes in is more (NEMA MG 1 definitions)."""
    whole, _, rest = horsepower.partition(" ")
    fractions = [part for part in (whole, rest) if part]
    shaft_w = 746 * sum(
        float(part.partition("/")[0]) / float(part.partition("/")[2] or 1) for part in fractions
    )
    assert value(category, "running_w", "high") > shaft_w


@pytest.mark.parametrize(
    "category", [slug for slug in HORSEPOWER if slug.startswith(("well", "sump"))]
)
def test_motor_start_range_holds_the_locked_rotor_table(category: str) -> None:
    """NEC Table 430.251(A) is 6.0 times Table 430.248 at every size: inside the range."""
    row = by_key()[category, "start_multiplier"]
    assert row["basis"] == "full_load_a"
    assert float(row["low"]) <= 6.0 <= float(row["high"])


# 10 CFR 430.32, maximum energy of a year [kWh] of new appliances (text as of 2024).
@pytest.mark.parametrize(
    ("category", "maximum_kwh"),
    [
        ("refrigerator_freezer_top_mount", 8.07 * 20 + 233.7),
        ("refrigerator_freezer_bottom_mount", 8.85 * 25 + 317.0),
        ("refrigerator_freezer_side_by_side", 8.54 * 29 + 432.8),
        ("refrigerator_freezer_french_door", 9.25 * 30 + 475.4),
        ("refrigerator_only", 7.07 * 17 + 201.6),
        ("refrigerator_compact", 9.03 * 3.5 + 252.3),
        ("freezer_chest", 7.29 * 26 + 107.8),
        ("freezer_chest_compact", 9.25 * 9 + 136.8),
        ("freezer_upright", 8.62 * 27 + 228.3),
        ("freezer_upright_manual_defrost", 5.57 * 27 + 193.7),
        ("beverage_cooler", 7.88 * 3 + 155.8),
        ("dishwasher", 307),
        ("dishwasher_compact", 222),
        ("cell_phone_charger", 0.1440 * 15 + 2.95),
        ("electric_bicycle_charger", 0.0778 * 500 + 2.4),
        ("golf_cart_charger", 0.0502 * 5000 + 4.53),
    ],
)
def test_typical_energy_is_within_the_federal_maximum(category: str, maximum_kwh: float) -> None:
    assert value(category, "annual_kwh") <= maximum_kwh + 1


# 10 CFR 430.32: capacity over the least efficiency is the most power at the rating point.
@pytest.mark.parametrize(
    ("category", "maximum_w"),
    [
        ("room_air_conditioner_5000_btuh", 5000 / 11.0),
        ("room_air_conditioner_8000_btuh", 8000 / 10.9),
        ("room_air_conditioner_12000_btuh", 12000 / 10.9),
        ("room_air_conditioner_24000_btuh", 24000 / 9.4),
        ("central_air_conditioner_2_ton", 24000 / 11.7),
        ("central_air_conditioner_3_ton", 36000 / 11.7),
        ("central_air_conditioner_5_ton", 60000 / 11.2),
        ("dehumidifier_50_pint", 50 * 0.4732 / 24 / 1.6 * 1000),
    ],
)
def test_running_power_is_near_the_federal_bound(category: str, maximum_w: float) -> None:
    typical = value(category, "running_w")
    assert 0.8 * maximum_w <= typical <= maximum_w + 1
    assert value(category, "running_w", "high") >= maximum_w


# 10 CFR 430.32 standby maxima [W].
@pytest.mark.parametrize(
    ("category", "maximum_w"),
    [
        ("furnace_gas", 10),
        ("furnace_oil", 11),
        ("furnace_electric", 10),
        ("boiler_gas_hot_water", 9),
        ("microwave_oven_over_range", 2.2),
        ("central_air_conditioner", 30),
        ("heat_pump_air_source", 33),
        ("cell_phone_charger", 0.5),
    ],
)
def test_standby_is_within_the_federal_maximum(category: str, maximum_w: float) -> None:
    assert value(category, "standby_w") <= maximum_w


# tracebase (Reinhardt et al. 2012, ODbL 1.0): numbers derived by
# seed_data/make/measure_plug_traces.py lie in tracebase_devices.csv.
@pytest.mark.parametrize(
    ("kind", "category"),
    [
        ("refrigerator", "fridge_freezer_230v"),
        ("refrigerator", "refrigerator_freezer"),
        ("freezer", "freezer_upright"),
        ("freezer", "freezer_chest_230v"),
        ("electric_kettle", "electric_kettle_230v"),
        ("clothes_washer_heating", "clothes_washer_heating_230v"),
        ("clothes_dryer", "tumble_dryer_230v"),
        ("dishwasher", "dishwasher_230v"),
        ("microwave_oven", "microwave_oven"),
        ("clothes_iron", "clothes_iron"),
        ("vacuum_cleaner", "vacuum_cleaner"),
        ("toaster", "toaster"),
        ("coffee_maker", "espresso_machine"),
        ("television_lcd", "television"),
        ("television_crt", "television_crt"),
        ("computer_monitor", "computer_monitor"),
        ("desktop_computer", "desktop_computer"),
        ("laptop_computer", "laptop_computer"),
        ("network_router", "network_router"),
        ("electric_cooktop", "electric_cooktop"),
    ],
)
def test_measured_devices_run_within_the_range(kind: str, category: str) -> None:
    devices = [row for row in rows_of(HERE / "tracebase_devices.csv") if row["type"] == kind]
    assert devices
    for device in devices:
        measured_w = float(device["running_w"])
        assert value(category, "running_w", "low") * 0.97 <= measured_w, device
        assert measured_w <= value(category, "running_w", "high") * 1.03, device


# NREL, recorded cycles at 240 V (public Python package, version 0.9.2, BSD-3): numbers derived by
# seed_data/make/measure_lab_cycles.py lie in lab_cycles.csv.
@pytest.mark.parametrize(
    ("appliance", "beginning", "category"),
    [
        ("range", "Oven", "electric_oven"),
        ("range", "SmallBurner", "electric_range"),
        ("range", "LargeBurner", "electric_range"),
        ("range", "LargeBurner", "electric_range_burner_large"),
        ("range", "AllBurners", "electric_range"),
        ("induction_range", "Oven", "electric_oven"),
        ("induction_range", "Induction", "induction_cooktop"),
        ("dryer", "Dryer_high_heat", "clothes_dryer_electric"),
    ],
)
def test_recorded_cycles_run_within_the_range(
    appliance: str, beginning: str, category: str
) -> None:
    cycles = [
        row
        for row in rows_of(HERE / "lab_cycles.csv")
        if row["appliance"] == appliance and row["cycle"].startswith(beginning)
    ]
    assert cycles
    for cycle in cycles:
        recorded_w = float(cycle["running_w"])
        assert value(category, "running_w", "low") <= recorded_w, cycle
        assert recorded_w <= value(category, "running_w", "high") * 1.02, cycle


def test_typical_cooking_powers_are_the_recorded_ones() -> None:
    """The oven of the recorded range; the median of four induction zones and settings."""
    cycles = rows_of(HERE / "lab_cycles.csv")
    watts = {row["cycle"]: float(row["running_w"]) for row in cycles}
    zones = [power for name, power in watts.items() if name.startswith("Induction")]
    assert value("electric_oven", "running_w") == watts["Oven_325F_1"]
    assert value("electric_range", "running_w") == watts["LargeBurner_Low_2"]
    assert value("induction_cooktop", "running_w") == pytest.approx(np.median(zones), abs=1)


# US EIA, NEMS residential inputs, RSUEC of 23 December 2025 (public domain): unit energy
# consumption from RECS 2020, MMBtu a year in single-family homes, by census division.
KWH_PER_MMBTU = 293.07
EIA_ROWS = rows_of(HERE / "eia_unit_energy.csv")


@pytest.mark.parametrize("row", [row for row in EIA_ROWS if row["category"]])
def test_annual_energy_is_the_median_division_of_the_survey(row: dict[str, str]) -> None:
    divisions = [KWH_PER_MMBTU * float(row[f"d{place}"]) for place in range(1, 10)]
    category = row["category"]
    assert value(category, "annual_kwh") == pytest.approx(np.median(divisions), rel=0.02)
    assert value(category, "annual_kwh", "low") <= min(divisions) + 1
    assert max(divisions) - 1 <= value(category, "annual_kwh", "high")


def test_ground_source_heat_pump_heats_and_cools() -> None:
    parts = {row["use"]: row for row in EIA_ROWS}
    sums = [
        KWH_PER_MMBTU
        * sum(
            float(parts[f"ground_source_heat_pumps_{use}"][f"d{place}"])
            for use in ("heating", "cooling")
        )
        for place in range(1, 10)
    ]
    row = by_key()["heat_pump_geothermal", "annual_kwh"]
    expected = [min(sums), np.median(sums), max(sums)]
    assert [float(row[end]) for end in ("low", "typical", "high")] == pytest.approx(expected, abs=1)


# AMPds (Makonin et al. 2013, CC BY 4.0): numbers derived by seed_data/make/measure_circuits.py.
@pytest.mark.parametrize(
    ("circuit", "use_profile", "least_correlation"),
    [
        ("clothes_dryer", "laundry_dry", 0.6),
        ("clothes_washer", "laundry_wash", 0.7),
        ("dishwasher", "dishwashing", 0.8),
        ("wall_oven", "cooking", 0.8),
        ("refrigerator", "fridge", 0.6),
    ],
)
def test_use_by_hour_is_like_that_of_a_measured_house(
    circuit: str, use_profile: str, least_correlation: float
) -> None:
    """The published profile and one house in British Columbia rise and fall together."""
    hours = [f"h{hour:02d}" for hour in range(24)]
    measured = next(r for r in rows_of(HERE / "ampds_circuits.csv") if r["circuit"] == circuit)
    chosen = next(r for r in table("use_profiles") if r["use_profile"] == use_profile)
    pairs = np.array([[float(measured[h]), float(chosen[h])] for h in hours])
    assert np.corrcoef(pairs.T)[0, 1] >= least_correlation


@pytest.mark.parametrize(
    ("circuit", "category"),
    [
        ("clothes_dryer", "clothes_dryer_electric"),
        ("clothes_washer", "clothes_washer"),
        ("dishwasher", "dishwasher"),
        ("refrigerator", "refrigerator_freezer"),
        ("furnace_fan", "furnace_gas"),
        ("heat_pump", "heat_pump_air_source"),
        ("instant_hot_water", "instant_hot_water_dispenser"),
        ("wall_oven", "electric_oven"),
    ],
)
def test_a_measured_house_lies_within_the_annual_range(circuit: str, category: str) -> None:
    """AMPds, one house, two years."""
    measured = next(r for r in rows_of(HERE / "ampds_circuits.csv") if r["circuit"] == circuit)
    energy_kwh = float(measured["annual_kwh"])
    assert value(category, "annual_kwh", "low") <= energy_kwh
    assert energy_kwh <= value(category, "annual_kwh", "high")


def test_refrigerator_start_is_the_measured_one() -> None:
    """Gao et al. 2014 (PLAID): eight compressor starts, 4.8 / 8.0 / 10.8 at 10 / 50 / 90 %."""
    row = by_key()["refrigerator_freezer", "start_multiplier"]
    assert row["basis"] == "running_w_metered"
    assert float(row["low"]) < 4.76
    assert float(row["typical"]) == pytest.approx(7.97, rel=0.01)
    assert float(row["high"]) > 10.79


def test_water_heater_element_and_recovery() -> None:
    """A 4,500 W element heats 20.7 gal an hour by 90 F (8.33 lb a gallon, 3412 Btu a kWh)."""
    recovery = value("water_heater_electric_storage", "running_w") / 1000 * 3412 / (8.33 * 90)
    assert recovery == pytest.approx(20.7, rel=0.02)


# Water at 70 F: 8.2938 lb a gallon, 1.0007 Btu/lb F; a tank holds 0.9 of its rated volume. Test
# conditions of 10 CFR 430 subpart B appendix E as Maguire and Roberts 2020 state them: 55 gal
# a day from 58 F to 125 F in a room of 67.5 F (medium draw); 64.3 gal to 135 F for the energy
# factor that came before the uniform one.
BTU_PER_GAL_F = 8.2938 * 1.0007


def tank_loss_btu_h_f(factor: float, *, uniform: bool) -> float:
    """Loss coefficient of an electric tank from its (uniform) energy factor."""
    hot_f, drawn_gal = (125.0, 55.0) if uniform else (135.0, 64.3)
    rise_f, above_room_f = hot_f - 58.0, hot_f - 67.5
    day_btu = drawn_gal * BTU_PER_GAL_F * rise_f
    layers = 0.8 + 0.2 * (58.0 - 67.5) / above_room_f if uniform else 1.0
    return day_btu * (1.0 / factor - 1.0) / (24.0 * above_room_f * layers)


@pytest.mark.parametrize(
    ("category", "ends"),
    [
        (
            "water_heater_electric_storage",
            [
                (50, tank_loss_btu_h_f(0.88, uniform=False)),
                (50, tank_loss_btu_h_f(0.9307 - 0.0002 * 50, uniform=True)),  # 10 CFR 430.32(d)
                (50, tank_loss_btu_h_f(0.95, uniform=True)),
            ],
        ),
        ("water_heater_heat_pump", [(40, 3.6), (50, 3.6), (80, 4.7)]),
    ],
)
def test_time_constant_of_a_tank_is_its_heat_over_its_loss(
    category: str, ends: list[tuple[float, float]]
) -> None:
    row = next(
        row
        for row in table("published_values")
        if (row["category"], row["quantity"]) == (category, "time_constant_s")
    )
    for end, (rated_gal, loss) in zip(("low", "typical", "high"), ends, strict=True):
        hours = 0.9 * rated_gal * BTU_PER_GAL_F / loss
        assert float(row[end]) == pytest.approx(3600 * hours, rel=0.02), end


def test_microwave_input_exceeds_its_cooking_output() -> None:
    """IEC 60705 ovens turn 55 to 65 % of their input into cooking output (from memory)."""
    assert 0.5 <= 800 / value("microwave_oven", "running_w") <= 0.68


def test_published_values_carry_every_fact_with_its_source() -> None:
    assert len(table("published_values")) == 1015
    memory = [row for row in table("published_values") if row["obtained"] == "from_memory"]
    assert len(memory) == 352
    assert all(row["source"].startswith("memory_") for row in memory)
