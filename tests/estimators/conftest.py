"""Catalog entries for the tests: round numbers, invented, of the shapes that matter."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from loadlib.core.category import Category
from loadlib.core.ranges import Range

NOTHING = Range.exact(0.0)


def category(slug: str, **changes: object) -> Category:
    fields: dict[str, object] = {
        "category": slug,
        "name": slug.replace("_", " "),
        "group": "kitchen",
        "kind": "electronic",
        "thermostatic": False,
        "medical": False,
        "voltage_v": 120.0,
        "poles": 1,
        "running_w": Range(80, 120, 200),
        "power_factor": Range(0.8, 0.9, 1.0),
        "start_multiplier": Range(1, 1, 1),
        "start_basis": "none",
        "start_s": NOTHING,
        "duty_share": Range(0.2, 0.4, 0.6),
        "on_s": Range(300, 900, 1800),
        "cycles_per_day": Range(20, 38.4, 60),
        "standby_w": Range(0, 1, 2),
        "annual_wh": Range(300e3, 420e3, 600e3),
        "label_share": Range(0.1, 0.2, 0.6),
        "label_rule": "amps_upper",
        "use_by_hour": (1.0,) * 24,
        "use_by_month": (1.0,) * 12,
    }
    return Category(**(fields | changes))  # type: ignore[arg-type]  # invented at run time


@pytest.fixture
def catalog() -> Mapping[str, Category]:
    """A refrigerator, a heater, two pumps, an air conditioner, a microwave oven, a lamp."""
    entries = (
        category(
            "refrigerator",
            kind="compressor",
            group="refrigeration",
            thermostatic=True,
            start_multiplier=Range(4.1, 8.0, 11.8),
            start_basis="running_w_metered",
            start_s=Range(0.2, 0.4, 0.7),
        ),
        category(
            "heater",
            kind="heater",
            group="heating",
            voltage_v=240.0,
            poles=2,
            running_w=Range(1900, 2000, 2100),
            power_factor=Range(0.99, 1, 1),
            label_share=Range(0.9, 0.97, 1.0),
            label_rule="watts_input",
            thermostatic=True,
            use_by_month=(3.0, 3.0, 3.0, 1.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.5),
        ),
        category(
            "pump",
            kind="motor",
            group="water",
            thermostatic=True,
            running_w=Range(700, 1000, 1130),
            voltage_v=230.0,
            poles=2,
            start_multiplier=Range(4, 6, 7.5),
            start_basis="full_load_a",
            start_s=Range(0.1, 0.3, 0.5),
            label_share=Range(0.7, 0.9, 1.1),
            label_rule="motor_hp",
        ),
        category(
            "blower",
            kind="motor",
            group="heating",
            start_multiplier=Range(2, 3, 5),
            start_basis="running_a",
            start_s=Range(1, 2, 3),
        ),
        category(
            "air_conditioner",
            kind="compressor",
            group="cooling",
            thermostatic=True,
            voltage_v=240.0,
            poles=2,
            running_w=Range(2200, 2800, 3600),
            start_multiplier=Range(4, 5.5, 6.5),
            start_basis="rated_load_a",
            start_s=Range(0.1, 0.3, 0.5),
            label_share=Range(0.5, 0.7, 0.9),
        ),
        category(
            "microwave_oven",
            running_w=Range(1000, 1388, 1700),
            label_share=Range(0.9, 1.0, 1.05),
            label_rule="watts_output",
        ),
        category("lamp", kind="lighting", label_share=Range(1, 1, 1), label_rule="watts_input"),
    )
    return {entry.category: entry for entry in entries}
