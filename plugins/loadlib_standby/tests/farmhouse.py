"""An invented farmhouse on a ridge, for tests only: values are for the story, not facts."""

from __future__ import annotations

from pathlib import Path

from loadlib import Circuit, Load, LoadProfile, Range, seed_root
from loadlib_standby.case_file import read_case
from loadlib_standby.setting import Setting, setting_of
from loadlib_standby.source import Cord, Generator, Outlet, Source
from loadlib_standby.source_file import read_source

EXAMPLES = seed_root() / "examples"

Grid = tuple[tuple[float, ...], ...]


def flat(value: float) -> Grid:
    """The same in every month and hour."""
    return ((value,) * 24,) * 12


def example(name: str) -> Path:
    """An example file."""
    return EXAMPLES / f"{name}.toml"


def cords_source() -> Source:
    """A small set with two cords, for some of the farmhouse's loads."""
    cord = Cord("14", 50.0, 3)
    return Source(
        name="cords",
        connection="cords",
        generator=Generator(running_w=2000, starting_w=2400, supply="120"),
        outlets=(
            Outlet("one", 20.0, cord=cord, loads=("refrigerator",)),
            Outlet("two", 20.0, cord=cord, loads=("router", "incubator")),
        ),
    )


def setting(source: str = "source_generator_7200", case: str = "case_ice_storm") -> Setting:
    """The farmhouse on an example source."""
    return setting_of(
        profile(), read_source(example(source)), read_case(example(case)) if case else None
    )


def a_load(name: str, running_w: float, **more: object) -> Load:
    """A load with plain defaults: 120 V on leg A, no start, on a tenth of the time."""
    duty = float(more.pop("duty", 0.1))  # type: ignore[arg-type]
    starts = float(more.pop("starts", 0.5))  # type: ignore[arg-type]
    spread = float(more.pop("spread", 1.1))  # type: ignore[arg-type]
    legs = str(more.pop("legs", "A"))
    start_va = more.pop("start_va", None)
    shares = {"A": (1.0, 0.0), "B": (0.0, 1.0), "AB": (0.5, 0.5)}
    fields: dict[str, object] = {
        "id": name.replace(" ", "-"),
        "name": name,
        "category": name,
        "kind": "mixed",
        "leg_share": shares[legs],
        "line_to_line": legs == "AB",
        "running_w": Range.around(running_w, spread),
        "power_factor": Range.exact(1.0),
        "start_va": start_va,
        "start_s": Range(0.5, 1.0, 2.0),
        "standby_w": Range.exact(0.0),
        "duty": flat(duty),
        "duty_belief": Range(0.7, 1.0, 1.4),
        "starts_per_h": flat(starts),
        "circuit": name,
    }
    fields.update(more)
    return Load(**fields)  # type: ignore[arg-type]


def loads() -> tuple[Load, ...]:
    """The loads of the farmhouse."""
    auto = {"thermostatic": True}
    return (
        a_load("well pump", 1900, legs="AB", start_va=Range(5000, 6200, 7800), duty=0.05,
               starts=1.5, priority="must", may_be_off_s=4 * 3600.0, kind="motor",
               power_factor=Range.exact(0.85), **auto),
        a_load("sump pump", 800, legs="B", start_va=Range(1800, 2400, 3200), duty=0.1, starts=4,
               priority="must", may_be_off_s=3600.0, if_off="the cellar floods", kind="motor",
               power_factor=Range.exact(0.8), **auto),
        a_load("furnace", 500, start_va=Range(900, 1300, 1900), duty=0.5, starts=3,
               priority="must", time_constant_s=Range(2e4, 4e4, 8e4), kind="motor", **auto),
        a_load("refrigerator", 130, legs="B", start_va=Range(600, 1000, 1500), duty=0.4,
               starts=1.5, priority="must", may_be_off_s=4 * 3600.0, kind="compressor",
               restart_delay_s=180.0, time_constant_s=Range(1e4, 2e4, 4e4), **auto),
        a_load("incubator", 250, duty=0.6, starts=6, priority="must", may_be_off_s=1800.0,
               if_off="the eggs chill", time_constant_s=Range(2e3, 4e3, 8e3), **auto),
        a_load("oxygen concentrator", 350, legs="B", duty=1.0, starts=0.0, medical=True,
               priority="must", kind="motor"),
        a_load("lights", 60, count=10, duty=0.3, starts=1.0, circuit="lights"),
        a_load("router", 20, legs="B", duty=1.0, starts=0.0, kind="electronic"),
        a_load("microwave", 1500, legs="A", duty=0.03, starts=0.8, circuit="kitchen"),
        a_load("water heater", 4500, legs="AB", duty=0.1, starts=0.5, kind="heater",
               time_constant_s=Range(5e4, 1e5, 2e5), **auto),
        a_load("range", 3000, legs="AB", duty=0.05, starts=0.5, kind="heater"),
        a_load("dryer", 5000, legs="AB", duty=0.03, starts=0.1, priority="off"),
    )  # fmt: skip


def profile(system: str = "120/240", extra: tuple[Load, ...] = ()) -> LoadProfile:
    """The farmhouse as a profile document, with more loads if wanted."""
    slots = {"well pump": (2, 4), "water heater": (6, 8), "range": (10, 12), "dryer": (14, 16)}
    all_loads = (*loads(), *extra)
    names = list(dict.fromkeys(load.circuit for load in all_loads))
    circuits = []
    for k, name in enumerate(names):
        first = next(load for load in all_loads if load.circuit == name)
        legs = "AB" if first.line_to_line else ("A" if first.leg_share[0] else "B")
        circuits.append(Circuit(name, slots.get(name, (2 * k + 1,)), legs, 20.0))
    return LoadProfile(
        house="farmhouse on the ridge",
        system=system,
        legs=("A", "B"),
        circuits=tuple(circuits),
        loads=all_loads,
        energy_wh_by_month=tuple(Range.exact(x) for x in (9e5, *([7e5] * 11))),
        energy_wh_per_year=Range.exact(8.6e6),
    )
