"""A small invented house for tests of estimators: nothing in it was measured anywhere."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime

from loadlib.core.category import Category
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.core.readings import Reading
from loadlib.core.series import BillPeriod

__all__ = ["empty_evidence", "sample_evidence"]


def _category(
    slug: str, kind: str, running_w: Range, *, multiplier: float, duty: float
) -> Category:
    return Category(
        category=slug,
        name=slug.replace("_", " "),
        group="test",
        kind=kind,
        thermostatic=True,
        medical=False,
        voltage_v=120.0,
        poles=1,
        running_w=running_w,
        power_factor=Range(0.7, 0.85, 1.0),
        start_multiplier=Range(max(1.0, multiplier / 2), multiplier, multiplier * 2),
        start_basis="running_w_metered",
        start_s=Range(0.2, 0.5, 1.0),
        duty_share=Range(duty / 2, duty, min(1.0, duty * 2)),
        on_s=Range(300, 900, 1800),
        cycles_per_day=Range(4, 20, 40),
        standby_w=Range(0, 1, 3),
        annual_wh=Range.around(running_w.typical * duty * 8760, 2.0),
        label_share=Range(0.2, 0.4, 0.8),
        label_rule="amps_upper",
        use_by_hour=(1.0,) * 24,
        use_by_month=(1.0,) * 12,
        note="invented for tests",
    )


def sample_evidence(files: Mapping[str, tuple[str, ...]] | None = None) -> Evidence:
    """Three appliances on two legs, twelve bills and one reading, all invented.

    ``files`` are what a user would hand to a plugin (paths by plugin name).
    """
    house = House(
        name="test house",
        circuits=(Circuit("kitchen", (1,), "A", 20.0), Circuit("cellar", (2,), "B", 15.0)),
        appliances=(
            Appliance("refrigerator", "refrigerator", "test_cold", circuit="kitchen"),
            Appliance("pump", "sump pump", "test_pump", circuit="cellar", label="115V 7.6A 1/3HP"),
            Appliance("lamp", "lamp", "test_lamp", count=4, circuit="kitchen", label="9W"),
        ),
    )
    categories = (
        _category("test_cold", "compressor", Range(90, 130, 200), multiplier=8.0, duty=0.35),
        _category("test_pump", "motor", Range(400, 600, 900), multiplier=4.0, duty=0.05),
        _category("test_lamp", "lighting", Range(6, 9, 12), multiplier=1.0, duty=0.2),
    )
    bills = tuple(
        BillPeriod(date(2025, m, 1), date(2025 + m // 12, m % 12 + 1, 1), 60_000.0 + 1000.0 * m)
        for m in range(1, 13)
    )
    reading = Reading(
        place="appliance pump",
        instrument="clamp",
        amps=6.8,
        legs=("B",),
        at=datetime(2025, 11, 8, 15, 30, tzinfo=UTC),
    )
    return Evidence(
        house=house,
        categories={category.category: category for category in categories},
        bills=bills,
        readings=(reading,),
        files=files or {},
    )


def empty_evidence() -> Evidence:
    """A house in which nobody has entered anything."""
    return Evidence(house=House("empty house"))
