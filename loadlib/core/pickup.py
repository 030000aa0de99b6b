"""Cold-load pickup: what runs, and for how long, when power returns after an outage.

After an outage thermostats call together and diversity is gone until each load has made up
its deficit. A load that follows a first-order temperature with time constant τ and duty d in
steady state is on at once and stays on for

    t = τ · ln[(1 − d·e^(−T/τ)) / (1 − d)]

after T without power: d·T/(1 − d) for T ≪ τ (also its upper bound), τ·ln[1/(1 − d)] at most.
With d ≥ 1 it never recovers. Derivation: the first-order balance τ·x' = u − d for the lack x,
u = 0 off and 1 on; the lack grows to d·(1 − e^(−T/τ)) and is driven back to zero. Hot water
that was drawn and water that ran into a sump are deficits of their own: an amount, made up
at the rate that is left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loadlib.errors import InputError

__all__ = ["Pickup", "catch_up_s", "demand_after", "energy_deficit_s", "inflow_deficit_s"]


def catch_up_s(duty: float, off_s: float, time_constant_s: float | None = None) -> float:
    """How long a thermostatic load stays on after an outage.

    Parameters
    ----------
    duty : float
        share of time on in steady state, at the temperature of the outage. [share]
    off_s : float
        length of the outage. [s]
    time_constant_s : float or None
        of the room or tank; None gives the upper bound d·T/(1 − d). [s]

    Returns
    -------
    float
        seconds on without a pause; infinite for ``duty`` ≥ 1. [s]

    Raises
    ------
    InputError
        for a negative duty or time, or a time constant that is not positive.
    """
    if duty < 0.0 or off_s < 0.0:
        raise InputError(f"pickup: duty {duty:g} or outage {off_s:g} s is negative")
    if time_constant_s is not None and not time_constant_s > 0.0:
        raise InputError(f"pickup: time constant {time_constant_s:g} s is not positive")
    if duty >= 1.0:
        return math.inf
    if time_constant_s is None or math.isinf(time_constant_s):
        return duty * off_s / (1.0 - duty)
    # log1p and expm1 keep the digits where the outage is short against the time constant.
    lack = -duty * math.expm1(-off_s / time_constant_s)
    return time_constant_s * math.log1p(lack / (1.0 - duty))


def energy_deficit_s(deficit_wh: float, running_w: float, duty: float) -> float:
    """Time on to put back energy that was drawn, such as hot water, while losses go on.

    ``duty`` is what the load needs anyway (standing loss); infinite for ``duty`` ≥ 1.
    ``deficit_wh`` [Wh], ``running_w`` [W]; returns [s].
    """
    if deficit_wh < 0.0 or running_w <= 0.0 or duty < 0.0:
        raise InputError(
            f"pickup: deficit {deficit_wh:g} Wh, running {running_w:g} W, duty {duty:g}"
        )
    if duty >= 1.0:
        return math.inf
    return 3600.0 * deficit_wh / (running_w * (1.0 - duty))


def inflow_deficit_s(inflow_per_s: float, pump_per_s: float, off_s: float, room: float) -> float:
    """Time a pump runs to empty what flowed in during an outage, while more flows in.

    Parameters
    ----------
    inflow_per_s, pump_per_s : float
        water in and out, in any one unit per second.
    off_s : float
        length of the outage. [s]
    room : float
        what the pit holds before water leaves it some other way (the floor); infinite if all
        of it waits for the pump. Same unit.

    Returns
    -------
    float
        seconds on; infinite if the pump can't keep up. [s]
    """
    if inflow_per_s < 0.0 or pump_per_s <= 0.0 or off_s < 0.0 or room < 0.0:
        raise InputError(
            f"pickup: inflow {inflow_per_s:g}, pump {pump_per_s:g}, off {off_s:g} s, room {room:g}"
        )
    if inflow_per_s >= pump_per_s:
        return math.inf
    return min(inflow_per_s * off_s, room) / (pump_per_s - inflow_per_s)


@dataclass(frozen=True, slots=True)
class Pickup:
    """One load after power returns: waits ``delay_s``, runs ``on_s``, then as usual.

    ``rise_w`` is running less standby, ``mean_w`` its usual mean above standby. A compressor's
    restart delay is ``delay_s``. [W], [s]
    """

    name: str
    rise_w: float
    mean_w: float
    on_s: float
    delay_s: float = 0.0


def demand_after(
    loads: list[Pickup], base_w: float, at_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Expected demand at times after power returns, all loads switched on at zero.

    Parameters
    ----------
    loads : list of Pickup
        the loads that power returns to.
    base_w : float
        what is drawn always. [W]
    at_s : NDArray
        times since power returned, shape (n,). [s]

    Returns
    -------
    NDArray
        shape (n,). Each load draws nothing above standby during its delay, its full power
        while it catches up and its usual mean after that. [W]
    """
    total = np.full(at_s.shape, float(base_w))
    for load in loads:
        waiting = at_s < load.delay_s
        catching_up = ~waiting & (at_s < load.delay_s + load.on_s)
        usual = ~waiting & ~catching_up
        total += load.rise_w * catching_up + load.mean_w * usual
    return total
