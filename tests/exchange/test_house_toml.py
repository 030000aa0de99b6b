"""The house file: exact round trip, and refusals that name line and key."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib.core.electrical import SYSTEMS
from loadlib.core.household import PRIORITIES, Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.errors import DataError
from loadlib.exchange.house_toml import house_from_toml, house_to_toml

FARMHOUSE = House(
    name="farmhouse on the ridge",
    service_a=200.0,
    area_ft2=2400.0,
    timezone="America/New_York",
    rooms=("kitchen", "cellar"),
    circuits=(Circuit("well pump", (2, 4), "AB", 20.0), Circuit("sump", (11,), "B", 15.0)),
    appliances=(
        Appliance("refrigerator", "refrigerator", "refrigerator_freezer", label="115V 60Hz 6.5A"),
        Appliance(
            "incubator",
            'egg "incubator" [left]',
            "incubator_egg",
            room="kitchen",
            label="180W HEATER\n250W TOTAL",
            priority="must",
            may_be_off_s=1800.0,
            if_off="the eggs go cold",
            running_w=Range(100, 180, 250),
        ),
    ),
)

text_ = st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=30)
names = text_.filter(lambda text: text.strip())
numbers = st.floats(0, 1e6, allow_nan=False)
amps = st.floats(0.1, 4000)


@st.composite
def houses(draw: st.DrawFn) -> House:
    supply = SYSTEMS[draw(st.sampled_from(sorted(SYSTEMS)))]
    circuits = [
        Circuit(
            name,
            tuple(draw(st.lists(st.integers(1, 42), max_size=2, unique=True))),
            draw(st.sampled_from(supply.legs)),
            draw(st.none() | amps),
            draw(st.booleans()),
        )
        for name in draw(st.lists(names, unique_by=str.casefold, max_size=3))
    ]
    appliances = [
        Appliance(
            id=key,
            name=draw(text_),
            category=draw(text_),
            count=draw(st.integers(1, 9)),
            label=draw(text_),
            circuit=draw(st.sampled_from(["", *(c.name for c in circuits)])),
            priority=draw(st.sampled_from(PRIORITIES)),
            medical=draw(st.booleans()),
            may_be_off_s=draw(st.none() | numbers),
            running_w=draw(
                st.none()
                | st.lists(numbers, min_size=3, max_size=3).map(lambda v: Range(*sorted(v)))
            ),
        )
        for key in draw(st.lists(names, unique=True, max_size=3))
    ]
    return House(
        draw(names),
        supply.name,
        draw(st.none() | amps),
        circuits=tuple(circuits),
        appliances=tuple(appliances),
        rooms=tuple(draw(st.lists(text_, max_size=2))),
    )


@settings(max_examples=100, deadline=None)
@given(houses())
def test_any_house_comes_back_equal(house: House) -> None:
    assert house_from_toml(house_to_toml(house)) == house


@settings(max_examples=150, deadline=None)
@given(st.text())
def test_any_text_is_a_house_or_a_data_error(text: str) -> None:
    with pytest.raises(DataError):
        house_from_toml(text)


@pytest.mark.parametrize(
    ("old", "new", "words", "at"),
    [
        ("breaker_a = 20.0", 'breaker_a = "20"', "breaker_a", 'breaker_a = "20"'),
        ("breaker_a = 20.0", "braeker_a = 20", "meant breaker_a?", "braeker_a"),
        ('legs = "AB"', 'legs = "C"', "not in a 120/240", 'legs = "C"'),
        ('id = "incubator"\n', "", "id: is missing", "[[appliance]]"),
        ("service_a = 200.0", "service_a = nan", "not a finite number", "service_a"),
        ("service_a = 200.0", "service_a = 2020-01-01", "no place here", "service_a"),
        ('priority = "must"', 'priority = "vital"', "must, wanted, off", "priority"),
        ("service_a = 200.0", "service_a = -5.0", "service_a is -5 A", "service_a"),
        ("breaker_a = 15.0", "breaker_a = 0", "breaker_a is 0 A", "breaker_a"),
        ("America/New_York", "Moon/Base", "no IANA time zone", "timezone"),
        ("version = 1", "version = 2", "update it", "version"),
        ('format = "loadlib-house"', 'format = "other"', "not a house file", None),
        ('id = "incubator"', 'id = "refrigerator"', "two appliances", None),
    ],
)
def test_what_is_wrong_is_named_with_its_line(
    old: str, new: str, words: str, at: str | None
) -> None:
    text = house_to_toml(FARMHOUSE)
    assert old in text
    broken = text.replace(old, new)
    with pytest.raises(DataError) as caught:
        house_from_toml(broken, path="ridge.toml")
    assert words in str(caught.value)
    assert "ridge.toml" in str(caught.value)
    if at is not None:
        # The fault lies in the last table that holds the text.
        lines = [n for n, line in enumerate(broken.splitlines(), 1) if line.startswith(at)]
        assert caught.value.line == lines[-1]


def test_a_value_that_is_the_default_is_left_out() -> None:
    text = house_to_toml(House("empty"))
    assert text == 'format = "loadlib-house"\nversion = 1\nname = "empty"\n'
