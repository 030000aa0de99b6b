"""Label texts with known readings.

cases.json: figures from public sources (seen) or composed from knowledge of the trade.
composed.json: composed by the project (common practice, no source).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from loadlib.labels import LabelPart, RatingLabel, read_label, running_a_bounds, start_va
from loadlib.labels import upper_bound_va as upper_va

HERE = Path(__file__).parent
CASES: list[dict[str, Any]] = json.loads((HERE / "cases.json").read_text("utf-8"))["cases"]
COMPOSED: list[dict[str, Any]] = json.loads((HERE / "composed.json").read_text("utf-8"))["cases"]
ATTRIBUTE = {"pf": "power_factor", "sf": "service_factor"}


def by_id(case: dict[str, Any]) -> str:
    return str(case["id"])


def value_of(label: RatingLabel, key: str) -> Any:
    return getattr(label, ATTRIBUTE.get(key, key))


def part_values(part: LabelPart) -> list[float]:
    values = (getattr(part, name) for name in LabelPart.__slots__)
    return [value for value in values if isinstance(value, float)]


def check_stated(case: dict[str, Any]) -> RatingLabel:
    label = read_label(case["raw"])
    if case.get("refuse"):
        assert label.refused
        return label
    assert label.refused is None
    for key, wanted in case["expect"].items():
        got = value_of(label, key)
        if isinstance(wanted, list):
            assert list(got) == pytest.approx(wanted), key
        elif isinstance(wanted, str):
            assert got == wanted, key
        else:
            assert got == pytest.approx(wanted, rel=2e-3), key
    for key in case["unstated"]:
        if key != "volts_printed":
            assert value_of(label, key) is None, key
    return label


@pytest.mark.parametrize("case", CASES, ids=by_id)
def test_reads_what_the_label_states(case: dict[str, Any]) -> None:
    label = check_stated(case)
    if case.get("confidence") == "ask" and not case.get("refuse"):
        assert label.ask


@pytest.mark.parametrize("case", COMPOSED, ids=by_id)
def test_reads_composed_labels(case: dict[str, Any]) -> None:
    label = check_stated(case)
    if "ask" in case:
        assert label.ask is case["ask"]


@pytest.mark.parametrize(
    "case", [c for c in CASES if "alt" in c and not c.get("refuse")], ids=by_id
)
def test_further_ratings_are_parts(case: dict[str, Any]) -> None:
    got = [value for part in read_label(case["raw"]).parts for value in part_values(part)]
    for further in case["alt"]:
        for wanted in further.values():
            if not isinstance(wanted, str):
                assert any(value == pytest.approx(wanted) for value in got), further


@pytest.mark.parametrize(
    "case", [c for c in CASES if "derived" in c and not c.get("refuse")], ids=by_id
)
def test_derived_figures(case: dict[str, Any]) -> None:
    label = read_label(case["raw"])
    running = running_a_bounds(label)
    start = start_va(label)
    for key, wanted in case["derived"].items():
        if key in {"va", "va_max"}:
            got = upper_va(label)
        elif key == "start_va":
            got = start.typical if start is not None else None
        elif key in {"lra_min", "lra_max"}:
            got = locked_rotor_a(label, key)
        else:
            assert running is not None
            got = running.low_a if key == "running_a_low" else running.high_a
        assert got == pytest.approx(wanted, rel=2e-3), key


def locked_rotor_a(label: RatingLabel, key: str) -> float:
    """Amps from the code letter's band, at the plate's voltage."""
    start = start_va(label)
    assert start is not None
    assert label.volts is not None
    root = 3.0**0.5 if label.phases == 3 else 1.0
    return (start.low if key == "lra_min" else start.high) / (label.volts * root)


@pytest.mark.parametrize("case", [*CASES, *COMPOSED], ids=by_id)
def test_volts_times_amps_never_becomes_watts(case: dict[str, Any]) -> None:
    label = read_label(case["raw"])
    if label.refused is None and "W" not in case["raw"].upper():
        assert label.watts is None
