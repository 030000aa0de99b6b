"""Cold-load pickup against the differential equation it comes from and its known limits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loadlib.core.pickup import (
    Pickup,
    catch_up_s,
    demand_after,
    energy_deficit_s,
    inflow_deficit_s,
)
from loadlib.errors import InputError

HOUR = 3600.0


def by_small_steps(duty: float, off_s: float, tau_s: float) -> float:
    """Integrate τ x' = u − d with u = 0 and then 1 in steps of a tenth of a second."""
    step = 0.1
    lack = 0.0
    for _ in range(round(off_s / step)):
        lack += step * (duty - lack) / tau_s
    time = 0.0
    while lack > 0.0:
        lack += step * (duty - 1.0 - lack) / tau_s
        time += step
    return time


@pytest.mark.parametrize(
    ("duty", "off_s", "tau_s"), [(0.3, 2 * HOUR, 4 * HOUR), (0.7, HOUR, HOUR), (0.9, 900.0, 900.0)]
)
def test_agrees_with_integration(duty: float, off_s: float, tau_s: float) -> None:
    expected = by_small_steps(duty, off_s, tau_s)
    assert catch_up_s(duty, off_s, tau_s) == pytest.approx(expected, rel=1e-3)


def test_limits() -> None:
    """dT/(1 − d) for a short outage, τ ln[1/(1 − d)] for an endless one."""
    assert catch_up_s(0.4, 60.0, 1e9) == pytest.approx(0.4 * 60 / 0.6, rel=1e-6)
    assert catch_up_s(0.4, 1e9, 7200.0) == pytest.approx(7200 * math.log(1 / 0.6), rel=1e-12)
    assert catch_up_s(0.4, 7200.0) == pytest.approx(4800.0)
    assert catch_up_s(0.0, 7200.0, 3600.0) == 0.0
    assert catch_up_s(0.5, 0.0, 3600.0) == 0.0


def test_no_time_constant_is_an_upper_bound() -> None:
    for tau_s in (600.0, 7200.0, 1e5):
        assert catch_up_s(0.4, 7200.0, tau_s) <= catch_up_s(0.4, 7200.0)


@pytest.mark.parametrize("duty", [1.0, 1.3])
def test_never_recovers_at_full_duty(duty: float) -> None:
    assert math.isinf(catch_up_s(duty, 60.0, 3600.0))
    assert math.isinf(energy_deficit_s(100.0, 1000.0, duty))


def test_hot_water_is_a_deficit_of_its_own() -> None:
    """Forty US gallons by 77 °F are 7.5 kWh (8.34 lb/gal, 1 Btu/lb °F, 3,412 Btu/kWh): with
    4,500 W and no loss 1.67 h."""
    heat_wh = 40 * 8.34 * 77 / 3412 * 1000
    assert energy_deficit_s(heat_wh, 4500.0, 0.0) / HOUR == pytest.approx(1.673, abs=0.005)
    assert energy_deficit_s(heat_wh, 4500.0, 0.1) > energy_deficit_s(heat_wh, 4500.0, 0.0)


def test_sump_catches_up_while_more_flows_in() -> None:
    assert inflow_deficit_s(5.0, 30.0, HOUR, math.inf) == pytest.approx(5 * HOUR / 25)
    assert inflow_deficit_s(5.0, 30.0, HOUR, 1000.0) == pytest.approx(40.0)
    assert math.isinf(inflow_deficit_s(30.0, 30.0, HOUR, 1000.0))


def test_demand_after_waits_catches_up_and_settles() -> None:
    loads = [Pickup("freezer", 150.0, 60.0, 1800.0, 300.0), Pickup("heater", 4500.0, 450.0, 600.0)]
    found = demand_after(loads, 20.0, np.array([0.0, 299.0, 300.0, 599.0, 600.0, 2099.0, 2100.0]))
    assert found.tolist() == [4520, 4520, 4670, 4670, 620, 620, 530]


def test_impossible_numbers_are_refused() -> None:
    with pytest.raises(InputError, match="negative"):
        catch_up_s(-0.1, 60.0)
    with pytest.raises(InputError, match="time constant"):
        catch_up_s(0.1, 60.0, 0.0)
    with pytest.raises(InputError, match="deficit"):
        energy_deficit_s(100.0, 0.0, 0.1)
    with pytest.raises(InputError, match="inflow"):
        inflow_deficit_s(1.0, 0.0, 60.0, 1.0)
