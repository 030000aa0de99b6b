"""What places and names mean among the loads of a house."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from loadlib.core.category import Category
from loadlib.core.claims import DemandClaim, LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.estimators.places import any_is, members, named, place_legs
from loadlib.estimators.settle import settle
from loadlib.estimators.unknowns import Unknowns

HOUSE = House(
    "h",
    circuits=(Circuit("Kitchen", (2,), "B", 20.0), Circuit("heat", (1, 3), "AB", 30.0)),
    appliances=(
        Appliance("fridge", "refrigerator", "refrigerator", circuit="Kitchen"),
        Appliance("hp", "heat pump", "heater", circuit="heat"),
    ),
)


@pytest.fixture
def unknowns(catalog: Mapping[str, Category]) -> Unknowns:
    """A refrigerator on leg B and a heat pump across both, with a strip heater beside it."""
    watts = Range.around(5000.0, 1.1)
    strip = LoadClaim("hp", "running_w", watts, "log", part="strip", category="heater")
    return settle(Evidence(HOUSE, catalog), [("log", strip)], seed=1).posterior.unknowns


@pytest.mark.parametrize(
    ("place", "shares"),
    [
        ("whole", [1.0, 1.0, 1.0]),
        ("leg A", [0.0, 0.5, 0.5]),
        ("leg B", [1.0, 0.5, 0.5]),
        ("circuit kitchen", [1.0, 0.0, 0.0]),
        ("circuit heat", [0.0, 1.0, 1.0]),
        ("appliance hp", [0.0, 1.0, 1.0]),
        ("appliance hp/strip", [0.0, 0.0, 1.0]),
    ],
)
def test_shares_at_a_place(unknowns: Unknowns, place: str, shares: list[float]) -> None:
    found = members(place, unknowns, HOUSE)
    assert found is not None
    assert found.tolist() == shares


@pytest.mark.parametrize("place", ["circuit attic", "appliance sauna", "leg C"])
def test_a_place_nobody_knows_has_none(unknowns: Unknowns, place: str) -> None:
    assert members(place, unknowns, HOUSE) is None


def test_names_are_of_appliances_or_circuits(unknowns: Unknowns) -> None:
    assert named(("hp", "kitchen"), unknowns).tolist() == [True, True, True]
    assert named(("hp/strip",), unknowns).tolist() == [False, False, True]
    assert not named((), unknowns).any()
    assert any_is(unknowns.loads[2], ("hp",))
    assert not any_is(unknowns.loads[1], ("hp/strip", "heat"))


@pytest.mark.parametrize(
    ("place", "expected"), [("whole", (-1, 1.0)), ("leg B", (1, 1.0)), ("circuit heat", (-1, 0.0))]
)
def test_what_is_not_listed_counts_on_legs_and_in_the_whole(
    place: str, expected: tuple[int, float]
) -> None:
    claim = DemandClaim("at_w", Range(1, 2, 3), "display", place)
    assert place_legs(claim, HOUSE) == expected
