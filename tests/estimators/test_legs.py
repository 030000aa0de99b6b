"""Which leg a load is put on, and what is named as a guess."""

from __future__ import annotations

import pytest

from loadlib.core.household import Appliance, Circuit, House
from loadlib.estimators.legs import Placed, place_all


def placed(
    appliances: list[tuple[Appliance, float, float]],
    circuits: tuple[Circuit, ...] = (),
    system: str = "120/240",
) -> dict[str, Placed]:
    house = House(
        "h", system=system, circuits=circuits, appliances=tuple(a for a, _, _ in appliances)
    )
    return place_all(house, appliances)


def thing(key: str, **more: object) -> Appliance:
    return Appliance(key, key, "kind", **more)  # type: ignore[arg-type]  # test helper


def test_as_entered_or_by_the_circuit() -> None:
    circuits = (Circuit("well", (1, 3), "AB"), Circuit("hall", (2,), "B"))
    found = placed(
        [
            (thing("pump", circuit="well"), 230.0, 1000.0),
            (thing("lamp", circuit="hall"), 120.0, 60.0),
            (thing("radio", legs="A", circuit="hall"), 120.0, 20.0),
        ],
        circuits,
    )
    assert found["pump"] == Placed((0.5, 0.5), True)
    assert found["lamp"] == Placed((0.0, 1.0), False)
    assert found["radio"] == Placed((1.0, 0.0), False)


def test_a_240_volt_load_lies_on_both_legs_even_if_nobody_said_so() -> None:
    found = placed([(thing("dryer"), 240.0, 5000.0)])["dryer"]
    assert (found.leg_share, found.line_to_line) == ((0.5, 0.5), True)
    assert "240 V" in found.guess


def test_unknown_legs_go_largest_first_to_the_lighter_one_and_are_named() -> None:
    found = placed(
        [
            (thing("small"), 120.0, 100.0),
            (thing("large"), 120.0, 1500.0),
            (thing("known", legs="A"), 120.0, 1000.0),
        ]
    )
    assert found["large"].leg_share == (0.0, 1.0)
    assert found["small"].leg_share == (1.0, 0.0)
    assert found["large"].guess == "large: leg not known, taken as B"
    assert found["known"].guess == ""


def test_a_120_volt_load_on_a_shared_neutral_circuit_picks_one_of_its_legs() -> None:
    found = placed(
        [(thing("lamp", circuit="kitchen"), 120.0, 60.0)], (Circuit("kitchen", (1, 3), "AB"),)
    )["lamp"]
    assert sorted(found.leg_share) == [0.0, 1.0]
    assert not found.line_to_line
    assert "not known" in found.guess


def test_a_leg_that_only_follows_from_the_slot_is_a_guess() -> None:
    circuit = Circuit("hall", (2,), "B", leg_guessed=True)
    found = placed([(thing("lamp", circuit="hall"), 120.0, 60.0)], (circuit,))["lamp"]
    assert found.leg_share == (0.0, 1.0)
    assert "slot" in found.guess


@pytest.mark.parametrize(
    ("system", "volts", "share", "across"),
    [
        ("230", 230.0, (1.0,), False),
        ("120/208", 208.0, (0.5, 0.5), True),
        ("120/208", 240.0, (0.5, 0.5), True),
        ("100/200", 200.0, (0.5, 0.5), True),
        ("230/400", 400.0, (1 / 3, 1 / 3, 1 / 3), True),
        ("230/400", 230.0, (1.0, 0.0, 0.0), False),
    ],
)
def test_other_systems(system: str, volts: float, share: tuple[float, ...], across: bool) -> None:
    found = placed([(thing("x"), volts, 100.0)], system=system)["x"]
    assert found.leg_share == pytest.approx(share)
    assert found.line_to_line is across
