"""Lines of the walk: forgiving, but never silently wrong. Cases are common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.household import Circuit, House
from loadlib.errors import InputError, LoadlibError, NotFound
from loadlib.walk.grammar import Entry, find_circuit, parse_entry, parse_span


@pytest.mark.parametrize(
    ("line", "entry"),
    [
        ("kitchen:", Entry(room="kitchen")),
        ("Upper Hall:  ", Entry(room="upper hall")),
        ("refrigerator 115V 60Hz 6.5A", Entry(words="refrigerator", label="115V 60Hz 6.5A")),
        (
            "kitchen: refrigerator 115V 6.5A @9",
            Entry(room="kitchen", words="refrigerator", label="115V 6.5A", circuit="9"),
        ),
        ("3 lamp 9W", Entry(words="lamp", count=3, label="9W")),
        ("3x lamp 9W", Entry(words="lamp", count=3, label="9W")),
        ("3 x lamp 9W", Entry(words="lamp", count=3, label="9W")),
        ("12 × led lamp", Entry(words="led lamp", count=12)),
        ("sump pump 1/3HP 115V !must !2h", Entry(
            words="sump pump", label="1/3HP 115V", priority="must", may_be_off_s=7200.0)),
        ("1/3 hp sump pump 115V", Entry(words="sump pump", label="1/3 hp 115V")),
        ("sump pump I15V 60HZ 7.6 FLA 1/3HP", Entry(
            words="sump pump", label="I15V 60HZ 7.6 FLA 1/3HP")),
        ("well pump 1HP 230V SFA 9.8 LRA 55 @ well pump", Entry(
            words="well pump", label="1HP 230V SFA 9.8 LRA 55", circuit="well pump")),
        ("incubator 180W HEATER 250W TOTAL !30min", Entry(
            words="incubator", label="180W HEATER 250W TOTAL", may_be_off_s=1800.0)),
        ("cpap !medical", Entry(words="cpap", medical=True)),
        ("furnace", Entry(words="furnace")),
        ("1500 W heater", Entry(words="heater", label="1500 W")),
        ("microwave 1000W", Entry(words="microwave", label="1000W")),
    ],
)  # fmt: skip
def test_a_line_is_taken_apart(line: str, entry: Entry) -> None:
    assert parse_entry(line) == entry


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("115V 6.5A", "no appliance is named"),
        ("", "no appliance is named"),
        ("refrigerator !vital", "!vital is not known"),
        ("refrigerator @", "nothing stands behind @"),
        ("kitchen: @9", "no appliance is named"),
    ],
)
def test_what_can_not_be_read_says_how_to_mend_it(line: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_entry(line)
    assert words in str(caught.value)
    assert caught.value.hint


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=700))
def test_any_line_is_an_entry_or_an_input_error(line: str) -> None:
    try:
        entry = parse_entry(line)
    except InputError:
        return
    assert entry.count >= 1


@pytest.mark.parametrize(
    ("text", "seconds"), [("30min", 1800), ("4h", 14_400), ("2 d", 172_800), ("1,5h", 5400)]
)
def test_lengths_of_time(text: str, seconds: float) -> None:
    assert parse_span(text) == seconds


@pytest.mark.parametrize("text", ["", "soon", "4", "-1h", "h"])
def test_what_is_no_length_of_time(text: str) -> None:
    with pytest.raises(InputError):
        parse_span(text)


HOUSE = House(
    "ridge",
    circuits=(Circuit("well pump", (2, 4), "AB"), Circuit("sump", (11,), "B"), Circuit("9", ())),
)


@pytest.mark.parametrize(
    ("text", "name"),
    [("11", "sump"), ("4", "well pump"), ("well", "well pump"), ("SUMP", "sump"), ("9", "9")],
)
def test_a_circuit_is_found_by_name_start_or_slot(text: str, name: str) -> None:
    assert find_circuit(HOUSE, text) == name


@pytest.mark.parametrize("text", ["13", "barn", ""])
def test_an_unknown_circuit_is_refused(text: str) -> None:
    with pytest.raises((NotFound, LoadlibError)):
        find_circuit(HOUSE, text)
