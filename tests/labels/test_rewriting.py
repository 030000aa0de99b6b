"""The same facts, however the label is typed: spaces, colons, spelled units, model numbers.

Each rewriting leaves the meaning of a label as it is, so the reading must not change.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from loadlib.labels import read_label

HERE = Path(__file__).parent
TEXTS = [
    case["raw"]
    for name in ("cases.json", "composed.json")
    for case in json.loads((HERE / name).read_text("utf-8"))["cases"]
]
STATED = (
    "volts", "volts_printed", "amps", "watts", "va", "hp", "rla", "lra", "fla", "sfa", "mca",
    "mocp", "btu_h", "eer", "hz", "phases", "power_factor", "service_factor", "code_letter",
    "kwh_per_year",
)  # fmt: skip
_NAMES = r"\b(RLA|LRA|FLA|SFA|MCA|MOCP|VOLTS|AMPS|HP|HZ|EER)"


def _put(pattern: str, into: str) -> Callable[[str], str]:
    return lambda text: re.sub(pattern, into, text)


REWRITINGS: dict[str, Callable[[str], str]] = {
    "two blanks for one": lambda text: text.replace(" ", "  "),
    "blank before the unit": _put(r"(?<=\d)(?=(?:V|W|kW|Hz|HZ|HP|hp|VA)\b)", " "),
    "colon behind the name": _put(_NAMES + r" (?=[\d.])", r"\1: "),
    "equals sign behind the name": _put(r"\b(RLA|LRA|FLA|SFA|MCA|MOCP) (?=[\d.])", r"\1="),
    "VAC for V": _put(r"(?<=\d)V(?= )(?! ?DC)", "VAC"),
    "VOLTS for V": _put(r"(?<=\d)V\b", " VOLTS"),
    "WATTS for W": _put(r"(?<=[05])W\b", " WATTS"),
    "abbreviations with a point": _put(r"(?<=\d)(V|A|W)\b(?=\s|$)", r"\1."),
    "model and serial number before": lambda text: "MODEL XK-4410B SER. NO. 00912-A " + text,
    "a sentence behind": lambda text: text + " MADE FOR HOUSEHOLD USE",
}


def stated(text: str) -> dict[str, object]:
    label = read_label(text)
    return {"refused": True} if label.refused else {n: getattr(label, n) for n in STATED}


@pytest.fixture(scope="module")
def readings() -> dict[str, dict[str, object]]:
    return {text: stated(text) for text in TEXTS}


@pytest.mark.parametrize("name", REWRITINGS)
def test_rewriting_keeps_the_reading(name: str, readings: dict[str, dict[str, object]]) -> None:
    rewritten = {text: REWRITINGS[name](text) for text in readings}
    touched = {text: new for text, new in rewritten.items() if new != text}
    assert len(touched) > 50
    assert [new for text, new in touched.items() if stated(new) != readings[text]] == []
