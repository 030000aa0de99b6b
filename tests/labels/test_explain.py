"""Sentences for a phone terminal."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from loadlib.labels import explain, read_label, upper_bound_va
from loadlib.labels.explain import COLUMNS

HERE = Path(__file__).parent
TEXTS: list[str] = [
    case["raw"]
    for name in ("cases.json", "composed.json")
    for case in json.loads((HERE / name).read_text("utf-8"))["cases"]
]


def sentences(text: str) -> str:
    return " ".join(line.strip() for line in explain(read_label(text)))


@pytest.mark.parametrize("text", TEXTS)
def test_every_line_fits_a_phone(text: str) -> None:
    lines = explain(read_label(text))
    assert lines
    assert all(0 < len(line) <= COLUMNS for line in lines)


def test_volts_times_amps_is_called_va_and_a_bound() -> None:
    text = sentences("115V 6.5A")
    assert "at most 748 VA" in text
    assert " W" not in text


def test_refusal_says_why() -> None:
    assert sentences("15A 125V") == "Not a load: a plug, receptacle or connector rating."


@pytest.mark.parametrize("text", TEXTS)
def test_volts_times_amps_is_never_said_in_watts(text: str) -> None:
    label = read_label(text)
    most = upper_bound_va(label)
    if label.watts is None and label.amps is not None and most is not None:
        assert f"{most:,.0f} W" not in sentences(text)
        assert f"at most {most:,.0f} VA" in sentences(text) or label.va is not None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("208/230/1 RLA 30.8 FAN FLA 1.5 LRA 141 MCA 40 MAX FUSE 60", "Start: 32,430 VA"),
        ("208/230/1 RLA 30.8 FAN FLA 1.5 LRA 141 MCA 40 MAX FUSE 60", "neither is what it draws"),
        ("230V MCA 39 MAX FUSE 50", "Runs at 31.2 to 36.2 A"),
        ("411 kWh/year", "47 W on average"),
        ("49 kWh/100 cycles", "0.49 kWh a cycle"),
        ("12,000 BTU EER 9", "not electric power"),
        ("1/2 HP 115V CODE L", "4,500 to 4,995 VA"),
        ("120V 2.1A DEFROST 3.6A", "Defrost: 3.6 A."),
        ("CKT A MCA 58 MAX 60 / CKT B MCA 26 MAX 30", "Circuit B: wire for at least 26 A, breaker"),
        ("750VA 115V", "Label says 750 VA"),
        ("100-240V~ 50/60Hz 1.5A", "Please check this one."),
        ("100-240V~ 50/60Hz 1.5A", "Supply: 100 to 240 V, 50/60 Hz. Label says 1.5 A, at most 150"),
        ("115V 230V 10A", "which voltage is it connected for? Please check"),
        ("RLA 20 FAN FLA 1.5 230V", "Compressor 20 A, fan 1.5 A."),
        ("W 1230 V 230 PF .82", "Label says 1,230 W, at most 1,500 VA. Power factor 0.82."),
        ("12,000 BTU EER 9", "EER 9."),
    ],
)
def test_what_is_said(text: str, said: str) -> None:
    assert said in sentences(text)


def test_sentences_are_data_free_of_state() -> None:
    label: Any = read_label("115V 6.5A")
    assert explain(label) == explain(label)
