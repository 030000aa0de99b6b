"""Output as a person sees it at 45 columns, kept as text: a change shows in the diff.

Write them anew with ``LOADLIB_GOLDEN=write pytest tests/cli/test_golden.py`` and read the
difference before it is committed. The profile shown is an invented one, put together here, so
that no estimate moves these files.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from loadlib.core.household import Circuit
from loadlib.core.load import Load, flat
from loadlib.core.profile import ClaimRecord, Demand, EvidenceRecord, LoadProfile, Peak, Suggestion
from loadlib.core.ranges import Range

Run = Callable[..., Any]
FOLDER = Path(__file__).with_name("golden")

WALK = """kitchen: refrigerator 115V 60Hz 6.5A !must !4h
microwave 1000W
d
cellar: sump pump I15V 60HZ 7.6 FLA 1/3HP !must
y
well house: well pump 1HP 230V !must
3
kitchen: egg incubator 180W HEATER 250W TOTAL !must !30min
heater 10MW
survey
y
11
sump pump

?
doubt
stop
"""


def load(key: str, name: str, running: Range, start: Range | None, **more: Any) -> Load:
    return Load(
        **{
            "id": key,
            "name": name,
            "category": key,
            "kind": "motor",
            "leg_share": (1.0, 0.0),
            "line_to_line": False,
            "running_w": running,
            "power_factor": Range(0.7, 0.8, 0.9),
            "start_va": start,
            "start_s": Range(0.2, 0.5, 1.0),
            "standby_w": Range(0, 1, 3),
            "duty": flat(0.25),
            "duty_belief": Range(0.5, 1.0, 2.0),
            "starts_per_h": flat(1.5),
            **more,
        }
    )


def profile(scale: float = 1.0) -> LoadProfile:
    pump = load("pump", "deep-well pump", Range(900, 1000, 1100).scaled(scale),
                Range(4000, 6000, 9000), leg_share=(0.5, 0.5), line_to_line=True,
                known="label", circuit="pump", sources=("label: 9.8 A",))  # fmt: skip
    fridge = load("fridge", "refrigerator", Range(64, 105, 200), Range(500, 900, 1600),
                  known="catalog", circuit="kitchen",
                  sources=("catalog: refrigerator",))  # fmt: skip
    grids = [flat(watts * scale) for watts in (280.0, 30.0, 110.0, 1100.0, 1300.0)]
    halves = [flat(watts * scale) for watts in (150.0, 20.0, 60.0, 600.0, 700.0)]
    return LoadProfile(
        house="ridge",
        system="120/240",
        legs=("A", "B"),
        service_a=100.0,
        circuits=(Circuit("pump", (2, 4), "AB", 20.0), Circuit("kitchen", (9,), "A", 20.0)),
        loads=(pump, fridge),
        demand=(
            Demand("whole", *grids),
            Demand("leg A", *halves),
            Demand("leg B", *halves),
        ),
        peaks=(
            Peak("whole", 3600, "year", Range(1500, 2100, 3000).scaled(scale), "measured",
                 "2026-01-14 07:00"),
            Peak("whole", 900, "year", Range(2000, 2900, 4100).scaled(scale), "simulated"),
        ),
        energy_wh_by_month=(Range(150e3, 200e3, 260e3).scaled(scale),) * 12,
        energy_wh_per_year=Range(1900e3, 2450e3, 3100e3).scaled(scale),
        evidence=(EvidenceRecord("bill", "12 bills of 2025"),),
        claims=(
            ClaimRecord("nameplate", "running of deep-well pump 900 to 1,100 W", "pump",
                        "running_w", "W", Range(900, 1000, 1100), Range(920, 1010, 1090),
                        0.2, 1.0, "prior", "label"),
            ClaimRecord("bill", "January 310 kWh", "whole", "energy_wh", "Wh",
                        Range.exact(310e3), Range(180e3, 200e3, 230e3), 4.1, 0.12, "evidence",
                        "bill"),
        ),
        disagreements=("bill: January is far above what the loads explain",),
        missing=("pump: two-wire or three-wire",),
        suggestions=(Suggestion("Read the meter with slot 2-4 off", "utility meter", "peak", 0.4),),
        cautions=("Results are estimates.",),
    )  # fmt: skip


CASES: dict[str, tuple[list[str], int]] = {
    "lookup": (["lookup", "frige"], 0),
    "lookup_details": (["lookup", "sump pump 1/3 hp", "--details"], 0),
    "label": (["label", "I15V 60HZ 7.6 FLA 1/3HP"], 0),
    "label_condenser": (["label", "208/230/1 LRA 73 RLA 14.1 FLA 0.7 MCA 18.3 MOCP 30"], 0),
    "label_source": (["label", "GENERATOR 7500W"], 10),
    "profile": (["profile", "show", "ridge.json", "--month", "1"], 0),
    "compare": (["profile", "compare", "ridge.json", "later.json"], 0),
    "heard": (["plugins", "heard", "ridge.json"], 0),
    "logged": (["reading", "logged"], 0),
    "walk": (["walk", "ridge"], 0),
}

BEFORE: dict[str, list[list[str]]] = {
    "logged": [
        ["house", "new", "ridge", "--timezone", "America/New_York"],
        ["reading", "log", "log.csv"],
    ],
}
"""Commands that a case needs first."""


def two_legs() -> str:
    """A day by the minute: the evening on A, a start of the pump every third hour on both."""
    rows = ["time,leg A (A),leg B (A)"]
    for minute in range(1440):
        pump = 8.5 if minute % 180 < 7 else 0.0
        evening = 14.0 if 1020 <= minute < 1260 else 0.0
        stamp = f"2026-01-05 {minute // 60:02d}:{minute % 60:02d}:00"
        rows.append(f"{stamp},{2.5 + pump + evening:.1f},{1.5 + pump:.1f}")
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize("name", sorted(CASES))
def test_output_is_as_kept(name: str, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("ridge.json").write_text(profile().to_json(), "utf-8")
    Path("later.json").write_text(profile(1.2).to_json(), "utf-8")
    Path("log.csv").write_text(two_legs(), "utf-8")
    monkeypatch.setenv("COLUMNS", "45")
    for first in BEFORE.get(name, []):
        assert run(*first).code == 0
    words, code = CASES[name]
    done = run(*words, stdin=WALK if name == "walk" else "")
    assert done.code == code, done.err
    kept = FOLDER / f"{name}.txt"
    if os.environ.get("LOADLIB_GOLDEN") == "write":
        kept.parent.mkdir(exist_ok=True)
        kept.write_text(done.out, "utf-8")
    assert done.out == kept.read_text("utf-8")


def test_nothing_is_wider_than_a_phone() -> None:
    """Tables are tab-separated when piped, and prompts stand before what follows them."""
    for name in sorted(set(CASES) - {"walk"}):
        for line in (FOLDER / f"{name}.txt").read_text("utf-8").splitlines():
            assert len(line) <= 45 or "\t" in line, (name, line)
