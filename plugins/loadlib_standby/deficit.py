"""What loads make up for when power returns: by their duty, or by what the case states.

A thermostat's lack follows from its usual duty and the length of the outage. Hot water that
was drawn and water that ran into a pit are amounts that a person can know better: they are
made up at the rate that is left beside what goes on being needed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from loadlib_standby.branches import ALWAYS_ON, is_automatic
from loadlib_standby.case import HotWater, OutageCase, Pit, matching
from loadlib_standby.energy import water_heating_kwh
from loadlib_standby.engine import (
    InputError,
    Load,
    NotFound,
    catch_up_s,
    energy_deficit_s,
    inflow_deficit_s,
)

__all__ = ["Deficit", "deficits", "pickup_s"]


@dataclass(frozen=True, slots=True)
class Deficit:
    """A load, by id and name, that makes up for what the case states; ``text`` says it.

    ``on_s`` is how long it runs without a pause, infinite if it never catches up, ``energy_wh``
    the hot water's energy, ``full_after_s`` when a pit is full after the power went. [s], [Wh]
    """

    load: str
    name: str
    on_s: float
    text: str
    energy_wh: float | None = None
    full_after_s: float | None = None


def pickup_s(load: Load, case: OutageCase) -> float:
    """How long a load that switches itself stays on after the outage, by its duty. [s]

    0 for what is switched by hand or always on.
    """
    duty = _duty(load, case)
    if not is_automatic(load) or duty >= ALWAYS_ON:
        return 0.0
    tau_s = load.time_constant_s.typical if load.time_constant_s else None
    return catch_up_s(duty, case.off_h * 3600.0, tau_s)


def deficits(loads: Sequence[Load], case: OutageCase) -> Iterator[Deficit]:
    """What the case states, load by load.

    Raises
    ------
    NotFound
        for a load that is not there.
    InputError
        for words that fit several.
    """
    for water in case.hot_water:
        yield _of_hot_water(_only(loads, water.heater), water, case)
    for pit in case.pits:
        yield _of_pit(_only(loads, pit.pump), pit, case)


def _only(loads: Sequence[Load], word: str) -> Load:
    found = matching(loads, word)
    if not found:
        raise NotFound("load", word, near=tuple(load.name for load in loads)[:8])
    if len(found) > 1:
        names = ", ".join(load.name for load in found)
        raise InputError(f"{word!r} fits several loads: {names}", hint="Give the name of one.")
    return found[0]


def _duty(load: Load, case: OutageCase) -> float:
    """Share of time on over the hours of the case, typical."""
    return float(load.duty_array().ravel()[np.unique(case.hours)].mean())


def _of_hot_water(load: Load, water: HotWater, case: OutageCase) -> Deficit:
    """The longer of what the water takes and what the heater's duty says."""
    energy_wh = 1000.0 * water_heating_kwh(water.drawn_gal, water.rise_f) / water.cop
    running_w = load.running_w.typical * load.count
    if running_w <= 0.0:
        raise InputError(f"{load.name} draws nothing: it can't warm water")
    drawn_s = energy_deficit_s(energy_wh, running_w, _duty(load, case))
    on_s = max(drawn_s, pickup_s(load, case))
    said = (
        f"{load.name}: {water.drawn_gal:,.0f} gal were drawn; to warm as much by "
        f"{water.rise_f:.0f} °F takes {energy_wh / 1000.0:.1f} kWh: on for {_time(drawn_s)}"
    )
    longer = f", by its usual duty for {_time(on_s)}, which counts" if on_s > drawn_s else ""
    return Deficit(load.id, load.name, on_s, f"{said}{longer}.", energy_wh=energy_wh)


def _of_pit(load: Load, pit: Pit, case: OutageCase) -> Deficit:
    """What ran in waits for the pump, as far as the pit holds it."""
    off_s = case.off_h * 3600.0
    inflow, pump = pit.inflow_per_h / 3600.0, pit.pump_per_h / 3600.0
    on_s = inflow_deficit_s(inflow, pump, off_s, pit.room)
    full_s = pit.room / inflow if inflow > 0.0 else math.inf
    if math.isinf(on_s):
        said = (
            f"{load.name}: more runs in ({pit.inflow_per_h:g} an hour) than it pumps "
            f"({pit.pump_per_h:g}): it runs without a pause and the water rises"
        )
    else:
        said = f"{load.name}: on for {_time(on_s)} to empty its pit"
    if math.isinf(full_s):
        return Deficit(load.id, load.name, on_s, f"{said}.")
    over = "it runs over before power returns" if full_s < off_s else "power returns before that"
    text = f"{said}. Without power the pit is full after {_time(full_s)}: {over}."
    if load.may_be_off_s is not None and load.may_be_off_s > full_s:
        text += f" The house has it down as one that may be off for {_time(load.may_be_off_s)}."
    return Deficit(load.id, load.name, on_s, text, full_after_s=full_s)


def _time(seconds: float) -> str:
    from loadlib_standby.words import duration

    return "ever" if math.isinf(seconds) else duration(seconds)
