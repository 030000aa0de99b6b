"""Everyday questions about standby power, asked of the product.

``standby_questions.json`` was written before any function was looked at: question, inputs and
the arithmetic of the answer. Here each is answered by public functions; a question that takes
more than a line or two of them shows a gap. Numbers are invented, the arithmetic is not.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loadlib import (
    Processes,
    Series,
    bridged_neutral_a,
    catch_up_s,
    crossings,
    distribution,
    neutral_a,
    open_neutral_v,
    read_label,
    system,
)
from loadlib.core.diversity import load_factor
from loadlib.labels.bounds import running_a_bounds
from loadlib.labels.checks import expected_mca
from loadlib_service.added import AddedLoad
from loadlib_service.cooking import cooking_demand
from loadlib_service.demand import DAY_S, MaximumDemand, maximum_demand
from loadlib_service.dwelling import item
from loadlib_service.measured import measured
from loadlib_service.nonus import diversity_230
from loadlib_service.supply import parse_supply
from loadlib_standby import battery, chain, derate, energy, fuel, legs, meter, motors, wire
from loadlib_standby.overload import none_by_chance
from loadlib_standby.source import Cord

QUESTIONS: dict[str, dict[str, Any]] = {
    row["id"]: row
    for row in json.loads(
        (Path(__file__).parent / "standby_questions.json").read_text(encoding="utf-8")
    )["questions"]
}

Inputs = dict[str, Any]
Answers = dict[str, float]
ANSWERS: dict[str, Callable[[Inputs], Answers]] = {}


def answers(key: str) -> Callable[[Callable[[Inputs], Answers]], Callable[[Inputs], Answers]]:
    def keep(answer: Callable[[Inputs], Answers]) -> Callable[[Inputs], Answers]:
        ANSWERS[key] = answer
        return answer

    return keep


def two(i: Inputs, powers: tuple[float, float]) -> Processes:
    """Two independent loads of the question as on/off processes."""
    starts = [[i.get("starts_a", 1.0)], [i.get("starts_b", 1.0)]]
    return Processes(
        names=("a", "b"),
        base_w=0.0,
        rise_w=np.array(powers),
        surge_w=np.array(powers),
        duty=np.array([[i["a"]], [i["b"]]]),
        starts_per_h=np.array(starts),
        count=np.array([1, 1]),
    )


@answers("W-01")
def _(i: Inputs) -> Answers:
    amps = legs.current_a(i["watts"], i["volts"])
    return {"amps": amps, "seen": i["clamp_a"] / amps}


@answers("W-02")
def _(i: Inputs) -> Answers:
    found = legs.leg_sums([(i["a"], "A"), (i["b"], "B")])
    return {"va": found.total_va, "neutral_a": found.neutral_a}


@answers("W-03")
def _(i: Inputs) -> Answers:
    return {
        "split_a": meter.conductor_a(i["shown_split"], i["splitter"]),
        "turns_a": meter.conductor_a(i["shown_turns"], i["turns"]),
    }


@answers("W-04")
def _(i: Inputs) -> Answers:
    return {
        "va": legs.apparent_va(i["amps"], i["volts"]),
        "pf": legs.power_factor(i["watts"], i["amps"], i["volts"]),
    }


@answers("W-05")
def _(i: Inputs) -> Answers:
    return {"va": legs.line_to_line_va(i["amps"], (i["leg_v"], i["other_v"]))}


@answers("W-06")
def _(i: Inputs) -> Answers:
    low, high = meter.instrument_band(i["amps"], i["percent"] / 100, i["digits"], i["digit_a"])
    return {"low": low, "high": high}


@answers("W-07")
def _(i: Inputs) -> Answers:
    return {"watts": meter.dropped_w(i["before_kw"] * 1000, i["after_kw"] * 1000).typical}


@answers("W-08")
def _(i: Inputs) -> Answers:
    return {
        "disc_w": meter.pulse_w(i["kh"], i["turns"], i["disc_s"]),
        "lamp_w": meter.pulse_w(1000 / i["flashes_per_kwh"], i["flashes"], i["lamp_s"]),
    }


@answers("W-09")
def _(i: Inputs) -> Answers:
    duty = energy.cycle_duty(i["on_min"] * 60, i["cycle_min"] * 60)
    return {
        "duty": duty,
        "mean_w": duty * i["watts"],
        "starts_day": 24 * 60 / i["cycle_min"],
        "kwh_year": energy.per_year_kwh(energy.energy_kwh(duty * i["watts"], 24)),
    }


@answers("W-10")
def _(i: Inputs) -> Answers:
    mean_w = energy.mean_w(i["kwh"], i["days"] * 24)
    return {
        "mean_w": mean_w,
        "load_factor": load_factor(i["kwh"] * 1000, i["peak_kw"] * 1000, i["days"] * 24),
    }


@answers("W-11")
def _(i: Inputs) -> Answers:
    series = Series(
        "meter", "whole", "import", 0, 900, np.array([i["first_kw"], i["second_kw"]]) * 1000.0
    )
    return {"most_kw": (maximum_demand(series).bound_w or 0.0) / 1000}


@answers("W-12")
def _(i: Inputs) -> Answers:
    charger = AddedLoad("charger", item("car charger", amps=i["evse_a"], volts=i["volts"]))
    record = MaximumDemand(power_w=i["max_kw"] * 1000, window_s=900, record_s=365 * DAY_S)
    sheet = measured(
        record, "2023", supply=parse_supply("120/240"), service_a=i["service_a"], added=[charger]
    )
    return {"total_a": sheet.result("total_a"), "share": sheet.result("total_a") / i["service_a"]}


@answers("W-13")
def _(i: Inputs) -> Answers:
    return {
        "running_va": motors.running_va(motors.full_load_a(i["hp"], i["volts"]), i["volts"]),
        "start_va": motors.start_va(motors.table_locked_rotor_a(i["hp"], i["volts"]), i["volts"]),
    }


@answers("W-14")
def _(i: Inputs) -> Answers:
    low, high = motors.code_letter(i["letter"]).start_va(i["hp"])
    return {"low_va": low, "high_va": high, "high_a": motors.locked_rotor_a(high, i["volts"])}


@answers("W-15")
def _(i: Inputs) -> Answers:
    full_va = motors.start_va(i["lra"], i["volts"])
    soft_va = motors.start_va(i["lra"], i["volts"], 1 - i["reduction"])
    return {
        "full_va": full_va,
        "soft_va": soft_va,
        "soft_a": motors.locked_rotor_a(soft_va, i["volts"]),
    }


@answers("W-16")
def _(i: Inputs) -> Answers:
    running_va = motors.running_va(i["amps"], i["volts"])
    found = motors.can_start(running_va, (i["three"], i["two"]), i["surge_w"])
    assert found.verdict == "only if"
    return {
        "running_va": running_va,
        "two_va": found.high_va,
        "three_va": found.low_va,
        "short_va": found.shortfall_va,
    }


@answers("W-17")
def _(i: Inputs) -> Answers:
    running_va = motors.running_va(i["amps"], i["volts"])
    found = motors.can_start(running_va, i["factor"], i["surge_w"], i["already_w"])
    return {"peak_va": i["already_w"] + found.high_va, "short_va": found.shortfall_va}


@answers("W-18")
def _(i: Inputs) -> Answers:
    found = motors.can_start(i["watts"], (i["low"], i["high"]), i["surge_w"])
    return {"low_va": found.low_va, "high_va": found.high_va, "break_even": found.break_even}


@answers("W-19")
def _(i: Inputs) -> Answers:
    low, high = (
        motors.locked_rotor_a(x, i["volts"], phases=3)
        for x in motors.code_letter(i["letter"]).start_va(i["hp"])
    )
    return {"low_a": low, "high_a": high}


@answers("W-20")
def _(i: Inputs) -> Answers:
    return {"dip": motors.voltage_dip_share(i["source_kva"], i["start_kva"], i["x"])}


@answers("W-21")
def _(i: Inputs) -> Answers:
    return {"running_va": motors.largest_startable_va(i["factor"], i["surge_w"], i["already_w"])}


@answers("W-22")
def _(i: Inputs) -> Answers:
    running_w, peak_w, all_w = legs.sums([tuple(x) for x in i["loads"]])
    return {"running_w": running_w, "peak_w": peak_w, "all_w": all_w}


@answers("W-23")
def _(i: Inputs) -> Answers:
    _, peak_w, added_w = legs.sums([tuple(x) for x in i["loads"]])
    return {"added_w": added_w, "peak_w": peak_w}


@answers("W-24")
def _(i: Inputs) -> Answers:
    loads = [tuple(x) for x in i["loads"]]
    ordered = [loads[k] for k in legs.order_by_excess(loads)]
    return {
        "highest_w": max(legs.peaks_in_order(ordered)),
        "other_way_w": max(legs.peaks_in_order(ordered[::-1])),
    }


@answers("W-25")
def _(i: Inputs) -> Answers:
    _, one_w, both_w = legs.sums([(i["running_w"], i["start_w"])] * 2)
    return {"one_w": one_w, "both_w": both_w}


@answers("W-26")
def _(i: Inputs) -> Answers:
    found = legs.leg_sums([(i["pump_a"], "AB"), (i["sump_a"], "B"), (i["furnace_a"], "A")])
    return {
        "a": found.legs_a[0],
        "b": found.legs_a[1],
        "va": found.total_va,
        "neutral_a": found.neutral_a,
    }


@answers("W-27")
def _(i: Inputs) -> Answers:
    found = legs.leg_sums([(i["a"], "A"), (i["b"], "B")])
    return {"neutral_a": found.neutral_a, "worst_a": found.neutral_worst_a, "va": found.total_va}


@answers("W-28")
def _(i: Inputs) -> Answers:
    return {"neutral_a": neutral_a(system("120/208"), (i["a"], i["b"]))}


@answers("W-29")
def _(i: Inputs) -> Answers:
    return {"neutral_a": neutral_a(system("230/400"), (i["a"], i["b"], i["c"]))}


@answers("W-30")
def _(i: Inputs) -> Answers:
    return {"neutral_a": bridged_neutral_a((i["a"], i["b"]))}


@answers("W-31")
def _(i: Inputs) -> Answers:
    after = legs.after_move_a((i["a"], i["b"]), i["moved_a"], 1, 0)
    before_a = max(i["a"], i["b"])
    return {"before_a": before_a, "after_a": max(after), "gain_a": before_a - max(after)}


@answers("W-32")
def _(i: Inputs) -> Answers:
    a_v, b_v = open_neutral_v(i["line_v"], i["ohm_a"], i["ohm_b"])
    return {"a_v": a_v, "b_v": b_v}


@answers("W-33")
def _(i: Inputs) -> Answers:
    found = legs.leg_use(i["running_w"], (i["load_a"] * 120.0, 0.0))
    return {"leg_a": found.leg_limit_a, "share": found.leg_shares[0]}


@answers("W-34")
def _(i: Inputs) -> Answers:
    found = legs.leg_sums(
        [(legs.current_a(i["heater_w"], 240), "AB"), (legs.current_a(i["room_w"], 120), "A")]
    )
    return {"a": found.legs_a[0], "b": found.legs_a[1]}


@answers("W-35")
def _(i: Inputs) -> Answers:
    return {
        "amps": legs.current_a(i["va"], i["volts"], phases=3),
        "per_phase_va": legs.leg_power_w(i["va"], 3),
    }


@answers("W-36")
def _(i: Inputs) -> Answers:
    return {f"a{v}": legs.current_a(i["watts"], v) for v in (120, 240, 100)}


@answers("W-37")
def _(i: Inputs) -> Answers:
    return {"both_a": legs.current_a(i["running_w"], i["volts"])}


@answers("W-38")
def _(i: Inputs) -> Answers:
    return {
        "needed_w": legs.rating_w(i["load_w"], i["share"]),
        "carried_w": i["rating_w"] * i["share"],
    }


@answers("W-39")
def _(i: Inputs) -> Answers:
    va = i["kva"] * 1000
    return {"watts": legs.real_w(va, i["pf"]), "amps": legs.current_a(va, i["volts"])}


@answers("W-40")
def _(i: Inputs) -> Answers:
    input_w = energy.drawn_w(i["cooking_w"], i["efficiency"])
    return {"input_w": input_w, "amps": legs.current_a(input_w, i["volts"])}


@answers("W-41")
def _(i: Inputs) -> Answers:
    running_a, peak_a, _ = legs.sums([(i["microwave_a"], 0.0), (i["fridge_a"], i["start_a"])])
    return {"running_share": running_a / i["breaker_a"], "peak_a": peak_a}


@answers("W-42")
def _(i: Inputs) -> Answers:
    watts = motors.input_w(i["hp"], i["efficiency"])
    return {"watts": watts, "va": legs.va_of(watts, i["pf"])}


@answers("W-43")
def _(i: Inputs) -> Answers:
    shaft_w, plug_va = motors.shaft_w(i["hp"]), legs.capacity_va(i["amps"], i["volts"])
    return {"shaft_w": shaft_w, "plug_va": plug_va, "ratio": shaft_w / plug_va}


@answers("W-44")
def _(i: Inputs) -> Answers:
    watts = energy.drawn_w(i["shaft_kw"] * 1000, i["efficiency"])
    return {"amps": legs.current_a(watts, i["volts"], i["pf"], phases=3)}


@answers("W-45")
def _(i: Inputs) -> Answers:
    found = running_a_bounds(read_label(f"MCA {i['mca']} MOCP {i['mocp']}"))
    assert found is not None
    return {"low_a": found.low_a, "high_a": found.high_a}


@answers("W-46")
def _(i: Inputs) -> Answers:
    found = expected_mca(read_label(f"RLA {i['rla']} FLA {i['fla']} MCA 18.3"))
    assert found is not None
    return {"mca_a": found[0]}


@answers("W-47")
def _(i: Inputs) -> Answers:
    plate_va = legs.apparent_va(i["amps"], i["volts"])
    return {"plate_va": plate_va, "share": i["metered_w"] / plate_va}


@answers("W-48")
def _(i: Inputs) -> Answers:
    return {f"w{v}": energy.heater_on_other_voltage_w(i["watts"], 240, v) for v in (208, 230)}


@answers("W-49")
def _(i: Inputs) -> Answers:
    return {"hours": fuel.run_time_h(i["gal"], i["gph"])}


@answers("W-50")
def _(i: Inputs) -> Answers:
    line = fuel.FuelLine.through([(i["low_w"], i["low"]), (i["high_w"], i["high"])])
    return {
        "idle": line.idle_per_h,
        "per_kwh": line.per_kwh,
        "rate": line.rate_per_h(i["at_w"]),
        "per_delivered": line.per_delivered_kwh(i["at_w"]),
    }


@answers("W-51")
def _(i: Inputs) -> Answers:
    gal = fuel.volume_of_mass_gal("propane", i["lb"], i["lb_per_gal"])
    return {
        "gal": gal,
        "btu": fuel.heat_btu("propane", gal),
        "hours": fuel.run_time_h(gal, i["gph"]),
    }


@answers("W-52")
def _(i: Inputs) -> Answers:
    btu_h, ft3_h = fuel.fuel_rate_per_h(i["kw"] * 1000, "natural gas", i["efficiency"])
    return {"btu_h": btu_h, "ft3_h": ft3_h}


@answers("W-53")
def _(i: Inputs) -> Answers:
    hours, gal = fuel.fuel_for_blocks(i["hours_day"], i["days"], i["gph"])
    return {"hours": hours, "gal": gal, "cans": fuel.cans(gal, i["can"])}


@answers("W-54")
def _(i: Inputs) -> Answers:
    return {
        "running_h": fuel.run_time_h(i["gal"], i["gph"]),
        "days": fuel.days_of_fuel(i["gal"], i["gph"], i["hours_day"]),
    }


@answers("W-55")
def _(i: Inputs) -> Answers:
    return {"hours": fuel.run_time_h(i["litres"], i["lph"]), "gph": i["lph"] / fuel.L_PER_GAL}


@answers("W-56")
def _(i: Inputs) -> Answers:
    gph = fuel.rate_from_run_time(i["gal"], i["hours"])
    return {"gph": gph, "per_kwh": gph / energy.energy_kwh(i["load_w"], 1)}


@answers("W-57")
def _(i: Inputs) -> Answers:
    return {"efficiency": fuel.set_efficiency(i["kw"], "gasoline", i["gph"])}


@answers("W-58")
def _(i: Inputs) -> Answers:
    price = fuel.cost_per_kwh(i["price"], i["per_kwh"])
    return {"kwh_price": price, "night": energy.cost(i["kwh"], price)}


@answers("W-59")
def _(i: Inputs) -> Answers:
    _, gal = fuel.fuel_for_blocks(24, i["hours"] / 24, i["gph"])
    return {"gal": gal, "cans": fuel.cans(gal, i["can"])}


@answers("W-60")
def _(i: Inputs) -> Answers:
    share = derate.slope_share(i["ft"], 60, share_per_1000_ft=i["per_1000"])
    return {
        "left_w": derate.derated_w(i["rated_w"], share),
        "gas_w": derate.derated_w(i["rated_w"], share, i["gas"]),
    }


@answers("W-61")
def _(i: Inputs) -> Answers:
    line = fuel.FuelLine(i["idle"], i["per_kwh"], 0.0, 7200.0)
    return {"gal_day": 24 * (line.rate_per_h(i["before_w"]) - line.rate_per_h(i["after_w"]))}


@answers("W-62")
def _(i: Inputs) -> Answers:
    usable = battery.usable_kwh(i["kwh"], i["usable"], i["efficiency"])
    return {"usable_kwh": usable, "hours": battery.autonomy_h(usable, i["load_w"], i["idle_w"])}


@answers("W-63")
def _(i: Inputs) -> Answers:
    kwh = battery.capacity_kwh(i["ah"], i["volts"], i["count"])
    return {
        "kwh": kwh,
        "hours": battery.autonomy_h(battery.usable_kwh(kwh, 1.0, i["efficiency"]), i["load_w"]),
    }


@answers("W-64")
def _(i: Inputs) -> Answers:
    return {"amps": legs.current_a(energy.drawn_w(i["watts"], i["efficiency"]), i["volts"])}


@answers("W-65")
def _(i: Inputs) -> Answers:
    return {"hours": battery.recharge_h(i["kwh"], i["charge_w"], i["efficiency"])}


@answers("W-66")
def _(i: Inputs) -> Answers:
    kwh = energy.energy_kwh(i["watts"], i["hours"])
    return {"kwh": kwh, "ah": battery.amp_hours(kwh, i["volts"], i["efficiency"])}


@answers("W-67")
def _(i: Inputs) -> Answers:
    return {"share": battery.charging_share(i["mean_w"], i["charge_w"], i["efficiency"])}


@answers("W-68")
def _(i: Inputs) -> Answers:
    cord = Cord(i["awg"], i["feet"])
    start = chain.cord_drop(cord, i["start_a"], i["volts"])
    return {
        "running_v": chain.cord_drop(cord, i["running_a"], i["volts"]).drop_v,
        "start_v": start.drop_v,
        "start_pct": 100 * start.share,
    }


@answers("W-69")
def _(i: Inputs) -> Answers:
    drop = chain.cord_drop(Cord(i["awg"], i["feet"]), i["amps"], i["volts"])
    return {"drop_v": drop.drop_v, "end_v": drop.end_v}


@answers("W-70")
def _(i: Inputs) -> Answers:
    return {
        f"ft{g}": wire.longest_run_ft(wire.ohm_per_kft(g), i["amps"], i["volts"], i["share"])
        for g in ("12", "10")
    }


@answers("W-71")
def _(i: Inputs) -> Answers:
    return {"awg": float(wire.smallest_for_drop(i["feet"], i["amps"], i["volts"], i["share"]))}


@answers("W-72")
def _(i: Inputs) -> Answers:
    running = wire.voltage_drop(i["ohm"], i["feet"], i["running_a"], i["volts"])
    start = wire.voltage_drop(i["ohm"], i["feet"], i["start_a"], i["volts"])
    return {"running_pct": 100 * running.share, "start_v": start.end_v}


@answers("W-73")
def _(i: Inputs) -> Answers:
    drop = wire.voltage_drop(i["ohm_per_km"], i["metres"], i["amps"], i["volts"])
    return {"drop_v": drop.drop_v, "pct": 100 * drop.share}


@answers("W-74")
def _(i: Inputs) -> Answers:
    found = chain.smallest(
        [chain.Link(name, i[f"{name}_a"], 120.0, 2) for name in ("outlet", "cord", "inlet")]
    )
    assert found.name == "cord"
    return {"limit_va": found.limit_va, "continuous_va": found.continuous_va}


@answers("W-75")
def _(i: Inputs) -> Answers:
    amps = legs.current_a(i["watts"], i["volts"])
    return {"share": amps / i["rating_a"], "of_80": amps / legs.continuous_a(i["rating_a"])}


@answers("W-76")
def _(i: Inputs) -> Answers:
    return {
        "va120": legs.capacity_va(i["amps"], 120),
        "va240": legs.capacity_va(i["amps"], 240),
        "va240_80": legs.capacity_va(i["amps"], 240, share=legs.CONTINUOUS_SHARE),
    }


@answers("W-77")
def _(i: Inputs) -> Answers:
    kwh = energy.water_heating_kwh(i["gal"], i["rise_f"])
    return {"kwh": kwh, "hours": battery.recharge_h(kwh, i["watts"])}


@answers("W-78")
def _(i: Inputs) -> Answers:
    watts = energy.cooling_w(energy.cooling_btu_per_h(i["tons"]), i["eer"])
    return {"watts": watts, "amps": legs.current_a(watts, i["volts"], i["pf"])}


@answers("W-79")
def _(i: Inputs) -> Answers:
    return {
        "heat_kw": fuel.heat_kwh(i["btu_h"]),
        "kwh_day": energy.energy_kwh(i["blower_w"] * i["duty"], 24),
    }


@answers("W-80")
def _(i: Inputs) -> Answers:
    mean_w = i["watts"] * i["duty"]
    return {
        "mean_w": mean_w,
        "kwh_day": energy.energy_kwh(mean_w, 24),
        "run_s": energy.mean_on_s(i["duty"], i["starts_h"]),
    }


@answers("W-81")
def _(i: Inputs) -> Answers:
    kwh = energy.energy_kwh(i["watts"], 8760)
    return {"kwh": kwh, "cost": energy.cost(kwh, i["price"])}


@answers("W-82")
def _(i: Inputs) -> Answers:
    return {"hours": catch_up_s(i["duty"], i["off_h"] * 3600, i["tau_h"] * 3600) / 3600}


@answers("W-83")
def _(i: Inputs) -> Answers:
    share = float(distribution(two(i, (4500.0, 5500.0))).above(7200.0)[0])
    return {"share": share, "hours_day": 24 * share}


@answers("W-84")
def _(i: Inputs) -> Answers:
    return {"per_day": 24 * float(crossings(two(i, (4500.0, 5500.0)), 7200.0).rate_per_h[0])}


@answers("W-85")
def _(i: Inputs) -> Answers:
    return {"none": none_by_chance(i["per_day"], i["hours"])}


@answers("W-86")
def _(i: Inputs) -> Answers:
    return {f"d{kw}": cooking_demand([i[f"kw{kw}"] * 1000.0], "2023").va for kw in (12, 14)}


@answers("W-87")
def _(i: Inputs) -> Answers:
    amps = legs.continuous_a(i["breaker_a"])
    return {"amps": amps, "watts": legs.capacity_va(amps, i["volts"])}


@answers("W-88")
def _(i: Inputs) -> Answers:
    return {"amps": wire.generator_conductor_a(i["watts"], i["volts"])}


@answers("W-89")
def _(i: Inputs) -> Answers:
    amps = legs.current_a(i["kw"] * 1000, i["volts"])
    return {"amps": diversity_230([("cooking", [amps])], cooker_sockets=1).assumed_a}


def test_every_question_is_answered() -> None:
    assert set(ANSWERS) == set(QUESTIONS)


@pytest.mark.parametrize("key", sorted(QUESTIONS))
def test_question(key: str) -> None:
    row = QUESTIONS[key]
    found = ANSWERS[key](row["inputs"])
    assert set(found) == set(row["expect"])
    for name, expected in row["expect"].items():
        assert found[name] == pytest.approx(expected["value"], abs=expected["tol"]), name
