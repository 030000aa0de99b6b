"""Worked examples on conductors, motors, engines, backup rules and safety.

``standby_checks.json`` holds inputs, printed answers, tolerances and sources. A value that
its source marks ``from_memory`` is checked as arithmetic only.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from loadlib import InputError, NotFound
from loadlib_standby import chain, derate, fuel, legs, motors, tables, wire
from loadlib_standby.facts import CAUTIONS, CLEARANCE_FT, far_enough, safety_fact
from loadlib_standby.source import SUPPLIES, Cord, refuse_connection

CHECKS: dict[str, dict[str, Any]] = {
    row["id"]: row
    for row in json.loads(
        (Path(__file__).parent / "standby_checks.json").read_text(encoding="utf-8")
    )["checks"]
}


def given(key: str) -> dict[str, Any]:
    inputs: dict[str, Any] = CHECKS[key]["inputs"]
    return inputs


def agree(key: str, **found: object) -> None:
    """Each expected value of a check, by name, against what the product gives."""
    expected = {row["name"]: row for row in CHECKS[key]["expected"]}
    assert {name.replace("_", " ") for name in found} <= {_plain(x) for x in expected}
    by_plain = {_plain(name): row for name, row in expected.items()}
    for name, value in found.items():
        row = by_plain[name.replace("_", " ")]
        if isinstance(row["value"], str | bool) or (
            isinstance(row["value"], list) and isinstance(row["value"][0], bool)
        ):
            assert value == row["value"], name
        else:
            assert value == pytest.approx(row["value"], abs=row["tolerance"] + 1e-9), name


def _plain(name: str) -> str:
    return "".join(c if c.isalnum() or c == " " else "" for c in name).replace("  ", " ").strip()


def test_continuous_limit_of_breakers() -> None:
    found = [legs.continuous_a(a) for a in given("BACK-01")["breakers_A"]]
    agree("BACK-01", max_continuous=found)


def test_generator_output_conductors() -> None:
    i = given("BACK-03")
    needed_a = wire.generator_conductor_a(i["rated_W"], i["volts"], i["pf"])
    agree(
        "BACK-03",
        rated_current=legs.current_a(i["rated_W"], i["volts"], i["pf"]),
        conductor_ampacity_required=needed_a,
        smallest_copper_at_75_C=int(wire.smallest_wire(needed_a)),
    )
    assert wire.wire_ampacity_a("10") == 35.0  # just too small by arithmetic


def test_cord_and_inlet() -> None:
    supply = SUPPLIES["120/240"]
    links = [
        chain.cord_link(Cord("10", 25.0), supply),
        chain.outlet_link("L14-30", supply),
    ]
    now, continuous = chain.within(links, given("BACK-04")["load_per_leg_A"])
    agree(
        "BACK-04",
        cord_ampacity_per_leg=links[0].limit_a,
        inlet_rating_per_leg=links[1].limit_a,
        ok_instantaneous=now,
        ok_continuous_24_A=continuous,
    )
    assert chain.cord_link(Cord("10", 25.0), SUPPLIES["120/208"]).limit_a == 25.0


def test_user_chooses_the_loads() -> None:
    """NEC 702.4: with manual transfer the chosen loads count, not the whole house."""
    i = given("BACK-06")
    running_w, _, _ = legs.sums([(w, 0.0) for w in i["selected_loads_W"]])
    agree("BACK-06", selected_total=running_w)
    assert running_w <= i["generator_W"] < i["all_loads_W"]


def test_small_conductor_caps() -> None:
    i = given("BACK-08")
    agree(
        "BACK-08",
        copper_cap=[wire.overcurrent_cap_a(str(x)) for x in i["copper_awg"]],
        aluminium_cap=[
            wire.overcurrent_cap_a(str(x), material="aluminium") for x in i["aluminium_awg"]
        ],
    )


def test_code_letter_of_a_three_phase_motor() -> None:
    i = given("MOTOR-02")
    letter = motors.code_letter(i["code_letter"])
    middle_va = letter.middle_kva_per_hp * i["hp"] * 1000
    top_va = letter.start_va(i["hp"])[1]
    agree(
        "MOTOR-02",
        midpoint_current=motors.locked_rotor_a(middle_va, i["volts"], i["phases"]),
        maximum_current=motors.locked_rotor_a(top_va, i["volts"], i["phases"]),
    )


def test_code_letter_of_a_half_horsepower_motor() -> None:
    i = given("MOTOR-03")
    band_va = motors.code_letter(i["code_letter"]).start_va(i["hp"])
    agree(
        "MOTOR-03",
        lockedrotor_kVA_band=[x / 1000 for x in band_va],
        lockedrotor_current_band=[motors.locked_rotor_a(x, i["volts"]) for x in band_va],
    )


def test_motor_branch_circuit() -> None:
    i = given("MOTOR-04")
    full_a = motors.full_load_a(i["hp"], i["volts"])
    agree(
        "MOTOR-04",
        table_fullload_current=full_a,
        conductor_ampacity_125=motors.branch_conductor_a(full_a),
        inversetime_breaker_maximum_250=motors.protection_a(full_a),
        dualelement_fuse_175=motors.protection_a(full_a, "dual_element_fuse"),
    )


def test_full_load_currents() -> None:
    rows = given("MOTOR-06")["rows"]
    agree("MOTOR-06", FLC=[motors.full_load_a(hp, volts) for hp, volts in rows])


def test_locked_rotor_table_is_six_times_full_load() -> None:
    """NEC Table 430.251(A) against 430.248, every row of both at 230 V."""
    for row in tables.table("motors"):
        if row["locked_230v_a"]:
            hp = row["hp"]
            ratio = motors.table_locked_rotor_a(hp, 230) / motors.full_load_a(hp, 230)
            assert ratio == pytest.approx(6.0, abs=0.01)


@pytest.mark.parametrize("key", ["COND-01", "COND-05", "COND-08"])
def test_voltage_drop(key: str) -> None:
    i = given(key)
    drop = wire.voltage_drop(i["ohm_per_kft"], i["one_way_ft"], i["amps"], i["volts"])
    agree(key, drop=drop.drop_v, percent=drop.share * 100)


def test_table_resistance_of_the_cord_examples() -> None:
    assert wire.ohm_per_kft("10") == given("COND-08")["ohm_per_kft"]
    assert wire.ohm_per_kft("16") == given("COND-01")["ohm_per_kft"]


@pytest.mark.parametrize("key", ["COND-02", "COND-04"])
def test_voltage_drop_by_k(key: str) -> None:
    i = given(key)
    drop = wire.drop_by_k(i["K"], i["one_way_ft"], i["amps"], i["cmil"], i["volts"])
    agree(key, drop=drop.drop_v, percent=drop.share * 100)
    assert not drop.within(0.03)


def test_effective_impedance() -> None:
    i = given("COND-07")
    agree("COND-07", Ze=wire.effective_impedance(i["R"], i["X"], i["pf"]))


def test_resistance_of_a_length() -> None:
    i = given("COND-10")
    agree("COND-10", R=wire.run_ohm(i["ohm_per_kft"], i["length_ft"]))


def test_resistance_at_another_temperature() -> None:
    i = given("COND-11")
    assert wire.ohm_per_kft("12") == i["ohm_per_kft_75C"]
    agree("COND-11", R_at_20_C=wire.ohm_per_kft("12", temperature_c=i["temp_C"]))


def test_temperature_derating() -> None:
    i = given("GEN-01")
    share = derate.slope_share(
        0.0, i["ambient_F"], reference_f=i["ref_F"], share_per_10_f=i["slope_per_10F"]
    )
    agree("GEN-01", usable=derate.derated_w(i["rated_hp"], share))
    assert derate.remaining_share("textbook spark", 0.0, i["ambient_F"]) == pytest.approx(share)


def test_handbook_factors() -> None:
    i = given("GEN-03")
    high = derate.derated_w(i["rated_hp"], i["altitude_factor"])
    hot = derate.derated_w(i["rated_hp"], i["altitude_factor"], i["temperature_factor"])
    agree("GEN-03", naturally_aspirated_cool=high, naturally_aspirated_110_F=hot)


def test_sae_j1349() -> None:
    i = given("GEN-05")
    site = derate.sae_j1349_factor(i["dry_pressure_mbar"], i["temp_C"])
    agree("GEN-05", correction_factor_at_site=site, fraction_of_rated_power=1 / site)
    assert derate.sae_j1349_factor(990, 25) == pytest.approx(1.0, abs=1e-6)


def test_iso_3046() -> None:
    i = given("GEN-06")
    k, alpha = derate.iso_3046_share(i["px_kPa"], i["Tx_K"], i["eta_m"])
    agree("GEN-06", k=k, alpha=alpha)


def test_portable_set_rule_multiplied_and_added() -> None:
    i = given("GEN-07")
    both = {
        name: i["rated_W"] * derate.remaining_share(rule, i["altitude_ft"], i["ambient_F"])
        for name, rule in (
            ("multiplicative", "portable set"),
            ("additive", "portable set, added"),
        )
    }
    agree("GEN-07", **both)


def test_fuel_from_bsfc() -> None:
    i = given("GEN-08")
    row = tables.find("engines", "engine", "engine", "spark-ignition, 6-25 hp, OHV, phase 1/2")
    assert float(row["bsfc_lb_per_bhp_h"]) == i["bsfc_lb_per_hp_h"]
    horsepower, mass, volume = fuel.bsfc_rate(
        i["electric_kW"] * 1000,
        i["bsfc_lb_per_hp_h"],
        alternator_efficiency=i["alternator_efficiency"],
        density_lb_per_gal=i["gasoline_lb_per_gal"],
    )
    agree("GEN-08", engine_power=horsepower, fuel_mass_rate=mass, fuel_volume_rate=volume)


def test_efficiency_from_bsfc() -> None:
    i = given("GEN-09")
    assert fuel.heat_btu("gasoline", 1) == i["btu_per_gal"]
    share = fuel.efficiency_from_bsfc(i["bsfc_lb_per_hp_h"], i["btu_per_gal"], i["lb_per_gal"])
    agree("GEN-09", efficiency_HHV=share * 100)


def test_run_time() -> None:
    i = given("GEN-10")
    hours_h = fuel.run_time_h(i["tank_gal"], i["rate_gal_per_h"], i["usable_fraction"])
    agree("GEN-10", run_time=hours_h)


def test_voltage_dip() -> None:
    i = given("GEN-12")
    dip = motors.voltage_dip_share(i["generator_kVA"], i["starting_kVA"], i["xd_transient_pu"])
    agree("GEN-12", dip=dip * 100)


def test_class_g2() -> None:
    found = motors.set_class(given("GEN-13")["performance_class"])
    agree(
        "GEN-13",
        steady_voltage=found.steady_voltage_pct,
        voltage_dip_on_load_step=found.dip_pct,
        voltage_rise_on_load_rejection=found.rise_pct,
        voltage_recovery=found.voltage_recovery_s,
        frequency_droop=found.droop_pct,
        frequency_dip=found.frequency_dip_pct,
        frequency_rise=found.frequency_rise_pct,
        frequency_recovery=found.frequency_recovery_s,
    )


def test_distances() -> None:
    found = [far_enough(x) for x in given("SAFE-01")["distances_ft"]]
    agree("SAFE-01", meets_the_20_ft_minimum=found)
    assert any("20 ft" in text for text in CAUTIONS)


def test_refused_connections() -> None:
    words = {"inlet with interlock": "interlock", "transfer switch": "fixed circuits"}
    words["appliance cords"] = "cords"
    refused = {"cord to wall outlet (backfeed)"}
    for name in refused:
        with pytest.raises(InputError, match="Never"):
            refuse_connection(name)
    names = given("SAFE-03")["connections"]
    for name in set(names) - refused:
        refuse_connection(words[name])
    agree("SAFE-03", allowed=[name not in refused for name in names])


def test_figures_quoted_in_cautions_have_their_source_and_year() -> None:
    row = safety_fact("estimated US deaths per year, portable generators")
    expected = {x["name"]: x["value"] for x in CHECKS["SAFE-04"]["expected"]}
    assert f"about {expected['deaths per year']}" in row["fact"]
    assert f"{expected['share at residences']} %" in row["note"]
    assert "2011-2021" in row["fact"]
    assert row["source"]


def test_refuelling_and_clearance_are_said() -> None:
    text = " ".join(CAUTIONS)
    assert "Stop it and let it cool before refuelling" in text
    assert CHECKS["SAFE-06"]["expected"][1]["value"] == (
        f"{CLEARANCE_FT[0]:.0f} to {CLEARANCE_FT[1]:.0f}"
    )
    assert "3 to 4 ft" in text


def test_shut_off_standard() -> None:
    fact = safety_fact("ANSI/PGMA G300-2018 shut-off")["fact"]
    for row in CHECKS["SAFE-07"]["expected"]:
        assert f"{row['value']} {row['unit']}" in fact


def test_every_check_of_the_file_is_used() -> None:
    text = Path(__file__).read_text(encoding="utf-8")
    assert [key for key in CHECKS if f'"{key}"' not in text] == []


def test_fact_of_the_trade() -> None:
    """A 30 A double pole at 240 V: 7,200 VA, 5,760 VA continuous (common practice)."""
    assert legs.capacity_va(30, 240) == 7200.0
    assert legs.capacity_va(30, 240, share=legs.CONTINUOUS_SHARE) == 5760.0


def test_unknown_names_are_refused_with_what_there_is() -> None:
    with pytest.raises(NotFound, match="no gauge '11'"):
        wire.ohm_per_kft("11")
    with pytest.raises(NotFound, match="code letter 'I'"):
        motors.code_letter("I")
    with pytest.raises(NotFound, match="derating rule"):
        derate.remaining_share("grandfather's")
