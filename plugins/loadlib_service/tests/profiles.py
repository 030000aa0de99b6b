"""A small load profile for tests: the farmhouse on the ridge, invented figures."""

from __future__ import annotations

from loadlib import Load, LoadProfile, Range


def load(key: str, category: str, high_w: float, **more: object) -> Load:
    """One load with a plain belief about its running power."""
    duty = ((0.1,) * 24,) * 12
    facts: dict[str, object] = {
        "id": key,
        "name": key.replace("-", " "),
        "category": category,
        "kind": "heater",
        "leg_share": (0.5, 0.5),
        "line_to_line": True,
        "running_w": Range(high_w * 0.8, high_w * 0.9, high_w),
        "power_factor": Range.exact(1.0),
        "start_va": None,
        "start_s": Range.exact(0.0),
        "standby_w": Range.exact(0.0),
        "duty": duty,
        "duty_belief": Range.exact(1.0),
        "starts_per_h": duty,
    }
    return Load(**(facts | more))  # type: ignore[arg-type]


def small_profile(*, measured: bool = True, area_ft2: float | None = 1800.0) -> LoadProfile:
    """Range, dryer, water heater, well pump, charger, heat pump with strips, a lamp."""
    from loadlib.core.profile import Peak

    motor = {"kind": "motor", "power_factor": Range.exact(0.8)}
    loads = (
        load("range", "electric_range", 9600),
        load("dryer", "clothes_dryer_electric", 5500),
        load("water-heater", "water_heater_electric_storage", 4500),
        load("well-pump", "well_pump_submersible_1_hp", 1600, **motor),
        load(
            "sump-pump",
            "sump_pump_1_3_hp",
            400,
            **motor,
            leg_share=(0.0, 1.0),
            line_to_line=False,
        ),
        load("heat-pump", "heat_pump_air_source", 3600, kind="compressor"),
        load("strips", "heat_pump_aux_strip_heat", 9600),
        load("baseboard", "baseboard_heater", 1500, count=2),
        load("car", "ev_charger_level2", 7200),
        load("lamp", "led_lamp", 10, leg_share=(1.0, 0.0), line_to_line=False),
    )
    basis = "measured" if measured else "model, uncalibrated"
    return LoadProfile(
        house="Farmhouse on the ridge",
        system="120/240",
        legs=("A", "B"),
        service_a=200.0,
        area_ft2=area_ft2,
        loads=loads,
        peaks=(
            Peak("whole", 3600, "year", Range.exact(4000.0), basis, "2024-01-14T07:00-05:00"),
            Peak("whole", 900, "year", Range.exact(4700.0), basis, "2024-01-14T07:15-05:00"),
        ),
        energy_wh_per_year=Range.exact(9e6),
    )
