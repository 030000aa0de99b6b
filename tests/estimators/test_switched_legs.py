"""A load whose leg was guessed, and a leg whose demand fell when it was switched off."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import permutations

import pytest

from loadlib.core.category import Category
from loadlib.core.claims import Claim, DemandClaim, When
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, Circuit, House
from loadlib.core.ranges import Range
from loadlib.estimators.nameplate import NameplateEstimator
from loadlib.estimators.settle import Settlement, settle

Catalog = Mapping[str, Category]
NOTE = "leg not known"


def settled(catalog: Catalog, *claims: Claim) -> Settlement:
    """A microwave oven of 1,000 to 1,700 W and a lamp, neither on a circuit."""
    house = House(
        "h",
        circuits=(Circuit("cold", (2,), "B", 15.0),),
        appliances=(
            Appliance("oven", "oven", "microwave_oven"),
            Appliance("lamp", "lamp", "lamp"),
            Appliance("fridge", "refrigerator", "refrigerator", circuit="cold"),
        ),
    )
    evidence = Evidence(house, catalog)
    said: list[tuple[str, Claim]] = [("n", one) for one in NameplateEstimator().claims(evidence)]
    return settle(evidence, [*said, *(("display", claim) for claim in claims)], seed=1)


def fell(watts: float, leg: str, *off: str, source: str = "display") -> DemandClaim:
    value = Range(watts - 30.0, watts, watts + 30.0)
    return DemandClaim("change_w", value, source, f"leg {leg}", when=When(off=off or ("oven",)))


def guessed(found: Settlement) -> list[str]:
    return [note for note in found.notes if NOTE in note]


def test_without_changes_it_is_a_guess(catalog: Catalog) -> None:
    found = settled(catalog)
    assert found.loads[0].leg_share == (1.0, 0.0)
    assert guessed(found) == ["oven: leg not known, taken as A", "lamp: leg not known, taken as B"]


def test_the_leg_that_fell_is_its_leg(catalog: Catalog) -> None:
    found = settled(catalog, fell(1400.0, "B"))
    oven = found.loads[0]
    assert oven.leg_share == (0.0, 1.0)
    assert oven.sources[-1] == "leg B: display"
    assert guessed(found) == ["lamp: leg not known, taken as B"]
    assert oven.running_w.typical == pytest.approx(1400.0, rel=0.02)
    assert found.disagreements == ()


def test_a_leg_that_did_not_fall_is_not_its_leg(catalog: Catalog) -> None:
    found = settled(catalog, fell(0.0, "A"))
    assert found.loads[0].leg_share == (0.0, 1.0)
    assert found.loads[0].running_w.typical == pytest.approx(1388.0, rel=0.05)
    assert found.disagreements == ()


def test_a_confirmed_guess_is_no_guess_any_more(catalog: Catalog) -> None:
    found = settled(catalog, fell(1400.0, "A"))
    assert found.loads[0].leg_share == (1.0, 0.0)
    assert guessed(found) == ["lamp: leg not known, taken as B"]


def test_changes_that_contradict_each_other_leave_the_guess(catalog: Catalog) -> None:
    found = settled(catalog, fell(1400.0, "A", source="one"), fell(1400.0, "B", source="two"))
    assert found.loads[0].leg_share == (1.0, 0.0)
    assert "oven: leg not known, taken as A" in guessed(found)
    assert len(found.disagreements) == 1


def test_most_of_several_changes_decide_in_any_order(catalog: Catalog) -> None:
    claims = [
        fell(1400.0, "A", source="slip"),
        fell(1380.0, "B", source="two"),
        fell(1420.0, "B", source="three"),
    ]
    for order in permutations(claims):
        assert settled(catalog, *order).loads[0].leg_share == (0.0, 1.0)


@pytest.mark.parametrize(
    "claim",
    [
        fell(1400.0, "B", "oven", "lamp"),
        fell(120.0, "A", "fridge"),
        DemandClaim("change_w", Range(1370, 1400, 1430), "display", when=When(off=("oven",))),
        DemandClaim("at_w", Range(1370, 1400, 1430), "display", "leg B", when=When(on=("oven",))),
    ],
    ids=["two switched", "another load", "whole house", "an instant"],
)
def test_what_does_not_tell_the_leg_changes_none(catalog: Catalog, claim: DemandClaim) -> None:
    found, before = settled(catalog, claim), settled(catalog)
    shares = [[load.leg_share for load in one.loads[:3]] for one in (found, before)]
    assert shares[0] == shares[1]
    assert guessed(found) == guessed(before)


def test_a_load_whose_leg_is_known_stays_there(catalog: Catalog) -> None:
    """The refrigerator's circuit is on leg B: a fall of leg A is a finding, not a move."""
    found = settled(catalog, fell(120.0, "A", "fridge"))
    assert found.loads[2].leg_share == (0.0, 1.0)
