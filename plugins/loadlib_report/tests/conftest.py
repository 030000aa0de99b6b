"""Profiles for the tests of the page: the farmhouse on the ridge, invented figures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from loadlib import Circuit, Load, LoadProfile, Range, distribution, processes
from loadlib.core.load import flat, grid
from loadlib.core.profile import ClaimRecord, Demand, EvidenceRecord, Peak, Suggestion

HOSTILE = (
    "<script>alert(1)</script>",
    "</title></style><img src=x onerror=alert(2)>",
    "مضخة البئر \u202egnp.exe",
    "incubator 🐣👩\u200d🌾",
    "n" * 500,
    "{{ 7 * 7 }} {% raw %}",
    "bell \x07 and \x1b[31m red",
)


def load(key: str, running_w: float, on_share: float, per_h: float, **more: object) -> Load:
    """A load that is on the same share of every hour."""
    facts: dict[str, object] = {
        "id": key,
        "name": key.replace("-", " "),
        "category": "invented",
        "kind": "heater",
        "leg_share": (0.5, 0.5),
        "line_to_line": True,
        "running_w": Range.around(running_w, 1.2),
        "power_factor": Range.exact(1.0),
        "start_va": None,
        "start_s": Range.exact(0.0),
        "standby_w": Range.exact(0.0),
        "duty": flat(on_share),
        "duty_belief": Range(0.8, 1.0, 1.3),
        "starts_per_h": flat(per_h),
        "known": "label",
        "sources": (f"running_w: label, {running_w:g} W",),
    }
    return Load(**(facts | more))  # type: ignore[arg-type]  # names checked by Load


def farmhouse_loads() -> tuple[Load, ...]:
    """Pump, sump pump, incubator, water heater, refrigerator, lamps."""
    motor = {"kind": "motor", "power_factor": Range(0.7, 0.85, 0.95)}
    left, right = {"leg_share": (1.0, 0.0)}, {"leg_share": (0.0, 1.0)}
    single = {"line_to_line": False}
    evening = np.tile(np.where(np.arange(24) >= 17, 0.5, 0.05), (12, 1))
    return (
        load(
            "well-pump", 2000, 0.03, 1.2, start_va=Range(10e3, 12.6e3, 15e3),
            start_s=Range(0.1, 0.3, 0.5), priority="must", may_be_off_s=14400.0,
            name="deep-well pump", circuit="well pump", **motor,
        ),
        load(
            "sump-pump", 650, 0.03, 5.5, start_va=Range(2.2e3, 3.5e3, 5.7e3),
            start_s=Range(0.1, 0.3, 0.6), priority="must", if_off="the cellar floods",
            **motor, **right, **single,
        ),
        load("incubator", 240, 0.3, 9.0, name="egg incubator", known="measured", **left, **single),
        load("water-heater", 4400, 0.07, 0.4),
        load(
            "refrigerator", 150, 0.35, 1.0, start_va=Range(500, 1300, 4300),
            start_s=Range.exact(0.2), **motor, **left, **single,
        ),
        load(
            "lamps", 9, 0.2, 0.3, count=14, duty=grid(evening), known="catalog",
            standby_w=Range(0.0, 0.2, 0.5), **left, **single,
        ),
        load("breathing-aid", 48, 0.3, 0.1, medical=True, known="guess", **right, **single),
    )  # fmt: skip


def demand_of(loads: tuple[Load, ...]) -> tuple[Demand, ...]:
    """Demand of the whole and of two legs."""
    found = []
    for place, leg in (("whole", None), ("leg A", 0), ("leg B", 1)):
        law = distribution(processes(loads, leg))
        rows = [law.mean_w, *law.quantiles_w((0.05, 0.5, 0.95, 0.99))]
        found.append(Demand(place, *(grid(row.reshape(12, 24)) for row in rows)))
    return tuple(found)


def farmhouse(loads: tuple[Load, ...] | None = None) -> LoadProfile:
    """A whole document with something in every part of it."""
    loads = farmhouse_loads() if loads is None else loads
    winter = [1.0 + 0.3 * np.cos(2 * np.pi * m / 12.0) for m in range(12)]
    heard = Range(900, 1000, 1100)
    return LoadProfile(
        house="farmhouse on the ridge",
        system="120/240",
        legs=("A", "B"),
        service_a=100.0,
        area_ft2=2200.0,
        timezone="America/New_York",
        circuits=(Circuit("well pump", (2, 4), "AB", 20.0),),
        loads=loads,
        demand=demand_of(loads) if loads else (),
        peaks=(
            Peak("whole", 3600, "year", Range(3.9e3, 4.6e3, 5.8e3), "calibrated"),
            Peak("whole", 900, "year", Range(4.4e3, 5.6e3, 7.9e3), "model, uncalibrated"),
            Peak("leg A", 3600, "year", Range(2.2e3, 2.6e3, 3.1e3), "model, uncalibrated"),
            Peak("whole", 3600, "month 1", Range(3e3, 4e3, 5e3), "calibrated"),
        ),
        energy_wh_by_month=tuple(Range(4e5 * w, 5e5 * w, 7e5 * w) for w in winter),
        energy_wh_per_year=Range(5.1e6, 6.0e6, 8.1e6),
        evidence=(
            EvidenceRecord("walk", "7 entries, 20 units", "typed in"),
            EvidenceRecord("bills", "12 bills"),
        ),
        claims=(
            ClaimRecord(
                "nameplate", "well-pump: running_w 2000 W", "well-pump", "running_w", "W",
                Range(1600, 2000, 2300), Range(1700, 1950, 2200), 0.2, 1.0, "prior",
                "label: 9.8 A × 230 V, an upper bound",
            ),
            ClaimRecord(
                "clamp", "refrigerator: running_w 1000 W", "refrigerator", "running_w", "W",
                heard, Range(120, 150, 190), 8.2, 0.05, "evidence", "plug meter, 2026-01-04",
            ),
            ClaimRecord(
                "bill", "whole: energy_wh 640 kWh", "whole", "energy_wh", "Wh",
                Range(630e3, 640e3, 650e3), Range(610e3, 638e3, 670e3), 0.3, 1.0, "evidence",
                "bill of January 2026",
            ),
            ClaimRecord(
                "nameplate", "well-pump: duty_share 0.03", "well-pump", "duty_share", "share",
                Range(0.02, 0.03, 0.07), Range(0.02, 0.03, 0.06), 0.1, 0.6, "prior", "catalog",
            ),
        ),
        disagreements=("refrigerator: the plug meter says 1,000 W, the label at most 750 W",),
        missing=("water heater: no start rate known",),
        suggestions=(
            Suggestion("Run the refrigerator on a plug-in meter for a day.", "plug meter",
                       "the energy of a year", 0.18),
            Suggestion("Read the pump's current while it starts.", "clamp",
                       "the hardest start", 0.4, True),
        ),
        method=("Demand: sum of independent on/off loads at typical values.",),
        cautions=("All results are estimates with ranges, not assurances. A licensed electrician, "
                  "the permit and your local code decide.",),
        loadlib_version="0.1.0",
    )  # fmt: skip


@pytest.fixture(scope="session")
def profile() -> LoadProfile:
    """The farmhouse."""
    return farmhouse()


@pytest.fixture(scope="session")
def hostile_profile() -> LoadProfile:
    """The farmhouse with names that want to be markup, and with such texts all over."""
    loads = farmhouse_loads()
    named = tuple(
        replace(one, name=name, notes=(name,), sources=(name,), circuit="", room=name)
        for one, name in zip(loads, HOSTILE, strict=True)
    )
    plain = farmhouse(named)
    bad = HOSTILE[0]
    return replace(
        plain,
        house=HOSTILE[1],
        claims=tuple(replace(c, source=bad, quantity=bad, estimator=bad) for c in plain.claims),
        peaks=tuple(replace(p, basis=bad, note=HOSTILE[2]) for p in plain.peaks),
        evidence=(EvidenceRecord(bad, bad, bad),),
        disagreements=HOSTILE,
        missing=HOSTILE,
        method=HOSTILE,
        cautions=(bad,),
        suggestions=(Suggestion(bad, bad, bad, 0.1),),
        loadlib_version=bad,
    )


@pytest.fixture(scope="session")
def large_profile() -> LoadProfile:
    """Three hundred loads, and a document that no link can hold."""
    few = farmhouse_loads()
    many = tuple(
        replace(few[i % len(few)], id=f"load-{i}", name=f"appliance {i}") for i in range(300)
    )
    return farmhouse(many)


@pytest.fixture
def variant(profile: LoadProfile) -> Callable[..., LoadProfile]:
    """The farmhouse with some fields changed."""
    return lambda **changes: replace(profile, **changes)
