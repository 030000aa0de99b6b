"""Claims, loads, series and readings refuse what can't be meant, with a mend."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import numpy as np
import pytest

from loadlib.core.claims import DEMAND_QUANTITIES, LOAD_QUANTITIES, DemandClaim, LoadClaim, When
from loadlib.core.household import MOST_RUNNING_W
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


EVEN = ((1.0,) * 24,) * 12


def use_claim(first: float, second: float) -> LoadClaim:
    """A claim about use that is even but in the first two hours of the year."""
    month = (first, second, *(1.0,) * 22)
    return load_claim(quantity="duty_share", value=ONE, shape=(month, *EVEN[1:]))


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
        (lambda: load_claim(shape=((1.0,) * 24,) * 11 + ((1.0,),)), "not 12 months of 24 hours"),
        (lambda: load_claim(shape=(("often",) * 24,) * 12), "not 12 months of 24 hours"),
        (lambda: load_claim(shape=EVEN), "running_w has a shape"),
        (lambda: use_claim(2.0, 1.0), "shape has the mean 1.00347, expected 1"),
        (lambda: use_claim(math.nan, 1.0), "shape holds nan"),
        (lambda: use_claim(math.inf, 1.0), "shape holds inf"),
        (lambda: use_claim(-1.0, 3.0), "shape holds -1"),
        (lambda: load_claim(quantity="duty_share", value=ONE, shape=((0.0,) * 24,) * 12), "mean 0"),
        (lambda: load_claim(priority="high"), "priority 'high'"),
        (lambda: load_claim(about=" "), "about is empty"),
        (lambda: load_claim(about=7), "about is 7"),
        (lambda: load_claim(part=None), "part is None"),
        (lambda: load_claim(source=None), "source is None"),
        (lambda: load_claim(when="cold"), "when is 'cold'"),
        (lambda: demand_claim(place=None), "place is None"),
        (lambda: demand_claim(window_s=math.inf), "window_s inf"),
        (
            lambda: demand_claim(quantity="mean_w", start_s=1_700_000_000_000, end_s=None),
            "start_s 1700000000000 is not between the years 1900 and 2200",
        ),
        (lambda: demand_claim(quantity="mean_w", start_s=0, end_s=math.nan), "end_s nan"),
        (lambda: When(outdoor_c=(math.nan, 5.0)), "outdoor_c"),
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


@pytest.mark.parametrize(
    ("quantity", "most", "beyond"),
    [
        ("running_w", 96e3, 2e8),
        ("power_factor", 1.0, 1.01),
        ("start_va", 12 * 96e3, 1e9),
        ("start_s", 30.0, 300.0),
        ("duty_share", 1.0, 1.01),
        ("starts_per_h", 60.0, 1e6),
        ("on_s", 86_400.0, 1e9),
        ("standby_w", 1_000.0, 30e3),
        ("energy_per_cycle_wh", 100e3, 1e9),
    ],
)
def test_a_claim_is_held_to_what_a_household_load_can_have(
    quantity: str, most: float, beyond: float
) -> None:
    """Taken: a whole service of 400 A at 240 V, a start at twelve times that, a start a minute
    and the like (common practice, no source). Refused: what is a slip of unit."""
    assert load_claim(quantity=quantity, value=Range(0, 0, most)).value.high == most
    with pytest.raises(InputError, match=f"{quantity} goes up to") as fault:
        load_claim(quantity=quantity, value=Range(0, 0, beyond))
    assert "(a clamp)" in fault.value.message
    assert fault.value.hint


def test_every_quantity_of_a_load_has_a_bound() -> None:
    for quantity in LOAD_QUANTITIES:
        with pytest.raises(InputError, match="goes up to"):
            load_claim(quantity=quantity, value=Range(0, 1, 1e12))


def test_a_person_may_enter_nothing_that_a_claim_refuses() -> None:
    assert load_claim(value=Range.exact(MOST_RUNNING_W)).value.is_exact


def test_a_shape_may_be_rounded() -> None:
    assert use_claim(1.0 + 1e-7, 1.0).shape is not None
    assert use_claim(0.0, 2.0).shape is not None
