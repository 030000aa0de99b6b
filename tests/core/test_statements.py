"""Claims, loads, series and readings refuse what can't be meant, with a mend."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import numpy as np
import pytest

from loadlib.core.claims import DEMAND_QUANTITIES, LOAD_QUANTITIES, DemandClaim, LoadClaim, When
from loadlib.core.load import Load, flat, grid
from loadlib.core.ranges import Range
from loadlib.core.readings import Reading
from loadlib.core.series import BillPeriod, Series
from loadlib.errors import InputError

ONE = Range(0.2, 0.5, 0.9)
PUMP = Load(
    id="pump",
    name="sump pump",
    category="sump_pump",
    kind="motor",
    leg_share=(1.0, 0.0),
    line_to_line=False,
    running_w=Range(400, 600, 900),
    power_factor=Range(0.6, 0.75, 0.9),
    start_va=None,
    start_s=Range(0.2, 0.3, 0.5),
    standby_w=Range.exact(0),
    duty=flat(0.05),
    duty_belief=Range(0.5, 1, 2),
    starts_per_h=flat(3),
)


def load_claim(**changes: Any) -> LoadClaim:
    given: dict[str, Any] = {"about": "pump", "quantity": "running_w", "value": Range(1, 2, 3)}
    return LoadClaim(**{**given, "source": "a clamp", **changes})


def demand_claim(**changes: Any) -> DemandClaim:
    given: dict[str, Any] = {"quantity": "at_w", "value": Range(1, 2, 3), "source": "a display"}
    return DemandClaim(**{**given, **changes})


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (
            lambda: load_claim(quantity="running"),
            r"unknown quantity 'running'[\s\S]*running_w \[W\]",
        ),
        (lambda: load_claim(value=2100.0), "expected a Range of plain numbers"),
        (lambda: load_claim(source=" "), "has no source"),
        (lambda: load_claim(at=datetime(2026, 1, 1)), "has no zone"),
        (lambda: load_claim(value=Range(-1, 2, 3)), "running_w is negative"),
        (lambda: load_claim(standing="truth"), "expected prior or evidence"),
        (lambda: load_claim(quantity="duty_share", value=Range(0, 1, 2)), "goes up to 2"),
        (lambda: load_claim(shape=((1.0,) * 24,)), "not 12 months of 24 hours"),
        (lambda: When(months=(13,)), "months"),
        (lambda: When(hours=(24,)), "hours"),
        (lambda: When(outdoor_c=(5, -5)), "upside down"),
        (lambda: demand_claim(quantity="max_w"), "needs start_s before end_s"),
        (lambda: demand_claim(quantity="energy_wh", start_s=5, end_s=5), "needs start_s"),
        (lambda: demand_claim(window_s=0), "window_s 0"),
        (lambda: demand_claim(share=1.5), "share 1.5"),
        (lambda: replace(PUMP, leg_share=(0.5, 0.4)), "add to 0.9"),
        (lambda: replace(PUMP, running_w=Range(-1, 2, 3)), "running_w is negative"),
        (lambda: grid(np.zeros((24, 12))), r"shape \(24, 12\)"),
        (lambda: Series("m", "whole", "import", 0, 0, np.zeros(2)), "step 0 s"),
        (lambda: Series("m", "whole", "sideways", 0, 60, np.zeros(2)), "flow 'sideways'"),
        (lambda: Reading("whole", "nose"), "One of: clamp"),
        (lambda: Reading("whole", "clamp", "guessing"), "Say which"),
        (lambda: Reading("whole", "clamp", at=datetime(2026, 1, 1)), "no zone"),
    ],
)
def test_what_can_not_be_meant_is_refused(make: Callable[[], object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        make()


def test_units_follow_from_the_quantity() -> None:
    assert load_claim().unit == "W"
    assert load_claim(quantity="start_va").unit == "VA"
    assert demand_claim().unit == "W"
    assert set(LOAD_QUANTITIES.values()) == {"W", "VA", "s", "share", "1/h", "Wh"}
    assert set(DEMAND_QUANTITIES.values()) == {"W", "Wh"}
    assert (load_claim().load_id, load_claim(part="strip heat").load_id) == (
        "pump",
        "pump/strip heat",
    )


def test_running_va_needs_a_power_factor_and_absent_differs_from_zero() -> None:
    assert PUMP.running_va == Range(400, 600, 900).scaled(1 / 0.75)
    assert PUMP.largest_va == PUMP.running_va
    inverter = PUMP.with_(start_va=Range.exact(0.0))
    assert inverter.largest_va == Range.exact(0.0)
    assert PUMP.duty_array().shape == PUMP.starts_array().shape == (12, 24)


def test_energy_leaves_missing_slots_out() -> None:
    """Mean power × time: 2 × 500 W for a quarter hour each are 250 Wh."""
    series = Series("m", "whole", "import", 0, 900, np.array([500.0, np.nan, 500.0]))
    assert (series.energy_wh, series.missing) == (250.0, 1)
    assert series.times_s().tolist() == [0, 900, 1800]
    bill = BillPeriod(date(2024, 2, 1), date(2024, 3, 1), 1.0)
    assert bill.duration_s == 29 * 86_400  # a leap year
    assert Reading("whole", "clamp", at=datetime(2026, 1, 1, tzinfo=UTC)).turns == 1
