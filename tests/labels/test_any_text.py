"""Whatever is typed, the reader answers: the same each time, never with an exception."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.labels import (
    RatingLabel,
    contradictions,
    explain,
    plate_is_consistent,
    read_label,
    running_a_bounds,
    start_va,
    upper_bound_va,
)
from loadlib.labels.reader import MOST_NUMBERS
from loadlib.labels.text import LONGEST

PIECES = st.sampled_from(
    [
        "115",
        "230",
        "1/2",
        "1.5",
        ".5",
        "1,5",
        "1.000",
        "12OV",
        "208/230",
        "100-240",
        "60",
        "1",
        "0",
        "-5",
        "9e9",
        "V",
        "A",
        "W",
        "kW",
        "VA",
        "kVA",
        "HP",
        "Hz",
        "PH",
        "BTU",
        "kWh",
        "kWh/year",
        "kWh/100",
        "RLA",
        "FLA",
        "LRA",
        "SFA",
        "MCA",
        "MOCP",
        "MAX",
        "MIN",
        "TOTAL",
        "INPUT",
        "OUTPUT",
        "HEATER",
        "FAN",
        "DEFROST",
        "COOL",
        "HEAT",
        "RUN",
        "GRILL",
        "CODE",
        "L",
        "/",
        "-",
        ",",
        ";",
        ":",
        "(",
        ")",
        "@",
        "~",
        "⎓",
        "x",
        "<",
        "%",
        "φ",
        "η",
        "cosφ",
        "½",
        "amps",
        "volts",
        "and",
        "to",
        "less",
        "than",
        "CKT",
        "A",
        "B",
        "generator",
        "fuse",
        "AWG",
        "EER",
        "SEER",
        "soft",
        "starter",
        "without",
        "P1",
        "P2",
        "TWO",
        "EACH",
        "3~",
        "3N~",
        "T10A",
    ]
)


def everything_works(text: str) -> RatingLabel:
    label = read_label(text)
    assert label.text == text
    assert all(0 < len(line) <= 45 for line in explain(label))
    contradictions(label)
    plate_is_consistent(label)
    running_a_bounds(label)
    start_va(label)
    upper_bound_va(label, 120.0)
    return label


@given(st.text(max_size=300))
@settings(max_examples=150, deadline=None)
def test_any_text(text: str) -> None:
    everything_works(text)


@given(st.lists(PIECES, max_size=25), st.sampled_from(["", " ", "  "]))
@settings(max_examples=200, deadline=None)
def test_any_heap_of_label_words(pieces: list[str], gap: str) -> None:
    label = everything_works(gap.join(pieces))
    assert label == read_label(label.text)


@given(st.lists(PIECES, min_size=1, max_size=12))
@settings(max_examples=100, deadline=None)
def test_figures_are_finite_and_not_negative(pieces: list[str]) -> None:
    label = read_label(" ".join(pieces))
    if label.refused is not None:
        return
    for field in dataclasses.fields(RatingLabel):
        value = getattr(label, field.name)
        if isinstance(value, float):
            assert 0.0 <= value < 1e15
    assert list(label.volts_printed) == sorted(set(label.volts_printed))


@pytest.mark.parametrize("volts", [115, 120, 230, 240])
@given(amps=st.integers(2, 149))
@settings(max_examples=30, deadline=None)
def test_spelling_does_not_change_the_reading(volts: int, amps: int) -> None:
    current = amps / 10
    texts = [
        f"{volts}V {current}A",
        f"{volts} volts, {current} amps",
        f"V {volts} A {current}",
        f"{current} A. {volts} V.",
        f"VOLTS: {volts} AMPS: {current}",
        f"{volts} V / {current} A".replace(".", ","),
        f"{current}A@{volts}V",
    ]
    for text in texts:
        label = read_label(text)
        assert (label.volts, label.amps) == (float(volts), pytest.approx(current)), text


@pytest.mark.parametrize(
    "text",
    [
        "\x00",
        "115V\x006.5A",
        "🧊 115V 🔌 6.5A",
        "٣ A",
        "ﷺ" * 4000,
        "½" * 4000,
        "1" * 4000,
        "1A" * 2000,
        "1/" * 2000,
        "(" * 4000,
        "I." * 2000,
        "\ud800",
    ],
)
def test_odd_texts(text: str) -> None:
    everything_works(text)


def test_too_long_or_too_many_numbers_is_refused() -> None:
    assert "too long" in (read_label("115V 6.5A " * 10_000).refused or "")
    assert read_label("x" * LONGEST).refused == "nothing electrical to read in this text"
    assert "too many" in (read_label("1A " * (MOST_NUMBERS + 1)).refused or "")


def test_reading_is_frozen() -> None:
    label = read_label("115V 6.5A")
    with pytest.raises(dataclasses.FrozenInstanceError):
        label.volts = 120.0  # type: ignore[misc]  # the point of the test
