"""A house refuses what can't be, and names it."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.errors import InputError, LoadlibError, NotFound


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: House("x", "110"), "no voltage system '110'"),
        (lambda: House("x", service_a=-5.0), "service_a is -5 A"),
        (lambda: House("x", service_a=0.0), "service_a is 0 A"),
        (lambda: House("x", service_a=math.nan), "service_a is nan A"),
        (lambda: House("x", service_a=1e7), "at most 4,000 A"),
        (lambda: House("x", area_ft2=-3.0), "area_ft2 is -3"),
        (lambda: Circuit("c", breaker_a=-20.0), "circuit c: breaker_a is -20 A"),
        (lambda: Circuit("c", slots=(0,)), "circuit c: slots 0"),
        (lambda: Circuit("c", slots=(3, 3)), "Each slot once"),
        (lambda: Appliance("a", "lamp", "lamp", count=0), "lamp: count 0"),
        (lambda: Appliance("a", "lamp", "lamp", priority="vital"), "priority 'vital'"),
        (lambda: Appliance("a", "lamp", "lamp", may_be_off_s=-1.0), "no length of time"),
        (lambda: Appliance("a", "lamp", "lamp", may_be_off_s=math.nan), "no length of time"),
        (lambda: Appliance("a", "lamp", "lamp", running_w=Range(-9, 9, 9)), "is impossible"),
        (lambda: Appliance("a", "lamp", "lamp", running_w=Range(0, 9, 1e7)), "is impossible"),
        (lambda: House("x", circuits=(Circuit("sump", legs="C"),)), "circuit sump: leg 'C'"),
        (lambda: House("x", "230", circuits=(Circuit("sump", legs="AB"),)), "It has: A."),
        (lambda: House("x", circuits=(Circuit("k"), Circuit("K"))), "two circuits have the name"),
        (lambda: House("x", appliances=(Appliance("a", "lamp", "l", legs="D"),)), "lamp: leg 'D'"),
        (lambda: House("x", appliances=(Appliance("a", "l", "l", circuit="k"),)), "no circuit 'k'"),
        (lambda: House("x", circuits=(Circuit("k", depends_on=("z",)),)), "no circuit 'z'"),
        (lambda: House("x", circuits=(Circuit("k", depends_on=("k",)),)), "depends on itself"),
    ],
)
def test_what_can_not_be_is_refused_by_name(make: Callable[[], object], words: str) -> None:
    with pytest.raises(LoadlibError) as caught:
        make()
    assert words in str(caught.value)


def test_an_appliance_is_found_by_id_or_by_a_name_that_only_one_has() -> None:
    house = House(
        "x",
        appliances=(
            Appliance("a", "Lamp", "lamp"),
            Appliance("b", "lamp", "lamp"),
            Appliance("c", "Fan", "fan"),
        ),
    )
    assert house.appliance("b").id == "b"
    assert house.appliance("fan").id == "c"
    with pytest.raises(NotFound) as caught:
        house.appliance("lamp")
    assert caught.value.near == ("a", "b")


def test_a_change_is_checked_again() -> None:
    house = House("x", circuits=(Circuit("sump", (11,), "B"),))
    assert house.with_(service_a=100.0).service_a == 100.0
    with pytest.raises(InputError, match="circuit sump"):
        house.with_(system="230")
