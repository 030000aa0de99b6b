"""The mistakes people make, each caught in words, and what is normal left alone.

The list follows public questions of people who measured (common practice, no one source).
"""

from __future__ import annotations

import pytest

from loadlib.clamp.mistakes import Doubt, check_reading, target_of
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.readings import Reading
from loadlib.errors import NotFound

HOUSE = House(
    "h",
    service_a=100.0,
    circuits=(
        Circuit("dryer", (1, 3), "AB", 30.0),
        Circuit("kitchen", (2,), "A", 20.0),
        Circuit("pump", (5, 7), "AB", 20.0),
    ),
    appliances=(
        Appliance("kettle", "kettle", "electric_kettle", circuit="kitchen"),
        Appliance("oven", "oven", "electric_oven"),
    ),
)


def doubts(
    place: str, expected_w: float | None = None, exports: bool = False, **fields: object
) -> tuple[Doubt, ...]:
    instrument = str(fields.pop("instrument", "clamp"))
    reading = Reading(place, instrument, **fields)  # type: ignore[arg-type]
    target = target_of(place, HOUSE, expected_w=expected_w)
    return check_reading(reading, HOUSE, target, exports=exports)


@pytest.mark.parametrize(
    ("weight", "words", "place", "fields"),
    [
        ("stop", "around a whole cable", "circuit kitchen", {"amps": 0.03}),
        ("ask", "how many legs did you clamp", "circuit dryer", {"amps": 22.0}),
        ("note", "the current stays 22 A", "circuit dryer", {"amps": 22.0, "legs": ("A",)}),
        ("ask", "both added", "circuit dryer", {"amps": 22.0, "legs": ("A", "B")}),
        ("note", "The neutral is no load", "neutral", {"amps": 4.0}),
        ("stop", "Negative amps", "leg A", {"amps": -4.0}),
        ("stop", "Negative watts", "leg A", {"watts": -400.0}),
        ("stop", "went up", "whole", {"watts": 900.0, "watts_after": 1200.0}),
        ("stop", "more than a 20 A breaker", "circuit kitchen", {"amps": 47.0}),
        ("stop", "is it 9200 mA", "circuit kitchen", {"amps": 9200.0}),
        ("stop", "reversed", "leg A", {"amps": 18.0, "watts": 80.0, "volts": 120.0}),
        ("ask", "is more than", "circuit kitchen", {"amps": 5.0, "watts": 1200.0}),
        ("ask", "open neutral", "leg A", {"amps": 5.0, "volts": 155.0}),
        ("stop", "Nothing was read", "leg A", {}),
    ],
)
def test_mistakes(weight: str, words: str, place: str, fields: dict[str, object]) -> None:
    found = doubts(place, **fields)
    assert any(d.weight == weight and words in d.words for d in found), found
    assert found[0].weight == weight


def test_both_legs_added_for_a_balanced_load() -> None:
    """A pump of 2,000 W draws 8.3 A in each leg; 16.7 A is the sum."""
    (found,) = doubts("circuit pump", expected_w=2000.0, amps=16.7, legs=("A", "B"))
    assert found.weight == "stop"
    assert "the currents of both legs were added" in found.words


def test_one_legs_watts_over_two_legs_volt_amperes() -> None:
    found = doubts("circuit dryer", amps=20.0, watts=2400.0, legs=("A",))
    assert found[0].weight == "stop"
    assert "power factor of 0.50" in found[0].words


@pytest.mark.parametrize(
    ("place", "fields"),
    [
        ("circuit dryer", {"legs": ("A", "B"), "leg_amps": (21.9, 25.6)}),
        ("circuit kitchen", {"amps": 12.4, "volts": 118.0, "watts": 1440.0}),
        ("circuit kitchen", {"amps": 95.0, "kind": "inrush"}),
        ("circuit kitchen", {"amps": 124.0, "turns": 10}),
        ("circuit kitchen", {"amps": 0.05, "kind": "cycling"}),
        ("whole", {"watts": 2840.0, "watts_after": 1910.0, "instrument": "utility meter"}),
        ("leg A", {"amps": 60.0, "volts": 125.0}),
    ],
)
def test_what_is_normal_raises_no_doubt(place: str, fields: dict[str, object]) -> None:
    """Unequal legs, 110 to 130 V, an inrush over the breaker, ten turns."""
    assert doubts(place, **fields) == ()


def test_solar_is_asked_about() -> None:
    (found,) = doubts("leg A", exports=True, amps=5.0)
    assert "was the solar off" in found.words


def test_places_resolve_to_legs_and_breakers() -> None:
    assert target_of("circuit dryer", HOUSE).legs == ("A", "B")
    assert target_of("appliance kettle", HOUSE).breaker_a == 20.0
    assert target_of("appliance oven", HOUSE, volts=240.0).legs == ("A", "B")
    assert target_of("appliance oven", HOUSE).legs == ("A",)
    assert target_of("leg B", HOUSE).legs == ("B",)
    assert target_of("whole", HOUSE).breaker_a == 100.0


@pytest.mark.parametrize("place", ["appliance sauna", "circuit attic", "shed"])
def test_what_the_house_does_not_list_is_named(place: str) -> None:
    with pytest.raises(NotFound, match=place.rpartition(" ")[2]):
        target_of(place, HOUSE)
