"""Public questions about standby power, and the recomputed answers, asked of the product.

``scenarios.json`` holds question, inputs, what was answered there and what is right; the
answers below come from the functions of ``loadlib_standby``, never from a formula here.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loadlib_standby import battery, energy, fuel, legs, motors, wire

SCENARIOS: dict[str, dict[str, Any]] = {
    row["id"]: row
    for row in json.loads((Path(__file__).parent / "scenarios.json").read_text(encoding="utf-8"))[
        "scenarios"
    ]
}


def s01(i: dict[str, Any]) -> dict[str, float]:
    return {"w": legs.line_to_line_va(i["clamp_a"], (i["volts_leg"],) * 2), "a": i["clamp_a"]}


def s03(i: dict[str, Any]) -> dict[str, float]:
    load = i["loads"][0]
    running_va = legs.apparent_va(load["amps_measured"], load["volts"])
    btu_h = energy.cooling_btu_per_h(load["tons"])
    return {
        "running_va": running_va,
        "btu_h": btu_h,
        "btu_per_va": energy.btu_per_va(btu_h, running_va),
    }


def s04(i: dict[str, Any]) -> dict[str, float]:
    hours_h, gallons = fuel.fuel_for_blocks(i["h_day"], i["days"], i["gph"])
    return {"h": hours_h, "gal": gallons, "cans": fuel.cans(gallons, i["can_gal"])}


def s05(i: dict[str, Any]) -> dict[str, float]:
    return {"capacity_va": legs.capacity_va(i["service_a"], i["volts"])}


def s06(i: dict[str, Any]) -> dict[str, float]:
    source = i["source"]
    each = legs.capacity_va(source["amps_per_leg"], source["volts"])
    total = legs.capacity_va(source["amps_per_leg"], source["volts"], legs=source["legs"])
    return {"total_va": total, "per_leg_va": each}


def s07(i: dict[str, Any]) -> dict[str, float]:
    watts = energy.cooling_w(i["btu_h"], i["eer"])
    return {"watts": watts, "cents": 100 * energy.cost(energy.energy_kwh(watts, 1.0), i["price"])}


def s08(i: dict[str, Any]) -> dict[str, float]:
    per_day = energy.per_day_kwh(i["kwh"], i["hours"])
    return {
        "kwh_day": per_day,
        "avg_w": energy.mean_w(i["kwh"], i["hours"]),
        "ratio": energy.share_of_label(per_day, i["label_kwh_per_day"]),
        "label_kwh_year": energy.per_year_kwh(i["label_kwh_per_day"]),
    }


def s09(i: dict[str, Any]) -> dict[str, float]:
    source = i["source"]
    return {
        "amps_220": legs.current_a(source["running_w"], source["volts"]),
        "amps_240": legs.current_a(source["running_w"], i["panel_volts"]),
        "per_leg_w": legs.leg_power_w(source["running_w"]),
    }


def s10(i: dict[str, Any]) -> dict[str, float]:
    return {"limit_va": legs.capacity_va(i["service_a"], i["volts"])}


def s11(i: dict[str, Any]) -> dict[str, float]:
    running_a, locked_a, volts_v = 17.0, 68.0, 230.0
    assert f"RLA {running_a:.0f}A LRA {locked_a:.0f}A {volts_v:.0f}V" in i["raw"]
    full_va = motors.start_va(locked_a, volts_v)
    return {
        "running_va": motors.running_va(running_a, volts_v),
        "start_va": full_va,
        "start_va_at_70pct_volts": motors.sagged_start_va(full_va, i["sag"]),
        "lra_over_rla": motors.start_over_running(locked_a, running_a),
    }


def s12(i: dict[str, Any]) -> dict[str, float]:
    watts = energy.units_that_take_turns_w((5500.0, 5500.0))
    return {
        "w240": watts,
        "w208": energy.heater_on_other_voltage_w(watts, 240.0, i["supply_v"]),
        "a240": legs.current_a(watts, 240.0),
    }


def s13(i: dict[str, Any]) -> dict[str, float]:
    """91,500 BTU a gallon is the page's figure; the table's is checked to be within 0.3 %."""
    btu = fuel.heat_btu("propane", i["gal"]) * i["btu_per_gal"] / fuel.heat_btu("propane", 1)
    assert fuel.heat_btu("propane", 1) == pytest.approx(i["btu_per_gal"], rel=0.003)
    return {"btu": btu, "kwh": fuel.heat_kwh(btu)}


def s14(i: dict[str, Any]) -> dict[str, float]:
    watts = energy.cooling_w(i["btu_h"], i["eer"])
    return {"w": watts, "cost": energy.cost(energy.energy_kwh(watts, 1.0), i["price"])}


def s15(i: dict[str, Any]) -> dict[str, float]:
    found = {}
    for awg in i["awg"]:
        drop = wire.voltage_drop(i["ohm_per_kft_20c"][str(awg)], i["feet"], i["amps"], i["volts"])
        found |= {f"d{awg}": drop.drop_v, f"p{awg}": drop.share * 100}
    return found


def s16(i: dict[str, Any]) -> dict[str, float]:
    power_w = i["kw"] * 1000
    return {
        "kwh": battery.size_kwh(power_w, i["hours"]),
        "kwh_90": battery.size_kwh(power_w, i["hours"], efficiency=i["efficiency"]),
    }


def s17(i: dict[str, Any]) -> dict[str, float]:
    volts = (i["leg_v"], i["other_leg_v"])
    return {
        "va_both": legs.line_to_line_va(i["clamp_a"], volts),
        "pf_one_leg": legs.power_factor(i["real_w_one_leg"], i["clamp_a"], i["leg_v"]),
        "w_both": legs.one_leg_to_both_w(i["real_w_one_leg"], volts),
    }


def s18(i: dict[str, Any]) -> dict[str, float]:
    load = i["loads"][0]
    running_va = motors.running_va(load["amps"], load["volts"])
    found = motors.can_start(running_va, tuple(load["start_factor"]), 6500.0)
    assert found.verdict == "only if"
    return {
        "running_va": running_va,
        "start_low_va": found.low_va,
        "start_high_va": found.high_va,
    }


def s20(i: dict[str, Any]) -> dict[str, float]:
    pairs = [(load["watts"], load.get("start_w", 0.0)) for load in i["loads"]]
    running_w, peak_w, _ = legs.sums(pairs)
    return {"running_w": running_w, "peak_w": peak_w}


def s21(i: dict[str, Any]) -> dict[str, float]:
    limit_a, volts_v = i["breaker_a"], i["volts"]
    return {
        "breaker_va": legs.capacity_va(limit_a, volts_v),
        "load_va_80": legs.capacity_va(limit_a, volts_v, share=i["continuous_share"]),
    }


def s22(i: dict[str, Any]) -> dict[str, float]:
    pairs = [(load["watts"] * load.get("qty", 1), 0.0) for load in i["loads"]]
    running_w, peak_w, _ = legs.sums(pairs)
    assert peak_w == running_w  # heaters and lamps have no start
    return {"running_w": running_w, "with_margin_w": legs.with_margin_w(running_w, i["margin"])}


def s23(i: dict[str, Any]) -> dict[str, float]:
    use = legs.leg_use(i["source"]["running_w"], (i["legs"]["A_w"], i["legs"]["B_w"]))
    assert use.fits
    assert use.total_share == pytest.approx(0.52, abs=0.01)
    return {
        "per_leg_w": use.leg_limit_w,
        "leg_a_a": use.legs_a[0],
        "leg_b_a": use.legs_a[1],
        "neutral_a": use.neutral_a,
        "leg_limit_a": use.leg_limit_a,
        "leg_a_share": use.leg_shares[0],
    }


def s25(i: dict[str, Any]) -> dict[str, float]:
    load = i["loads"][0]
    total_a = load["qty"] * load["amps"]
    return {"one_leg_a": legs.spread_a(total_a, 1), "spread_a": legs.spread_a(total_a, 3)}


def s26(i: dict[str, Any]) -> dict[str, float]:
    load = i["loads"][0]
    running_va = motors.running_va(load["amps"], load["volts"])
    found = motors.can_start(running_va, load["start_factor"], i["source"]["running_w"])
    assert found.verdict == "no"
    assert found.break_even == pytest.approx(2.38, abs=0.005)
    assert motors.can_start(running_va, (2.0, 4.0), 2000.0).verdict == "only if"
    return {
        "running_va": running_va,
        "start_va": found.high_va,
        "shortfall_va": found.shortfall_va,
    }


ANSWERS: dict[str, Callable[[dict[str, Any]], dict[str, float]]] = {
    name.replace("s", "S-"): answer
    for name, answer in sorted(globals().items())
    if name[:1] == "s" and name[1:].isdigit()
}


def test_every_question_of_the_file_is_answered() -> None:
    assert set(ANSWERS) == set(SCENARIOS)


@pytest.mark.parametrize("key", sorted(SCENARIOS))
def test_scenario(key: str) -> None:
    row = SCENARIOS[key]
    found = ANSWERS[key](row["inputs"])
    assert set(found) == set(row["expect"])
    for name, expected in row["expect"].items():
        assert found[name] == pytest.approx(expected["value"], abs=expected["tol"]), name
