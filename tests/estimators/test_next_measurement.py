"""What to measure next: order, safety, words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from itertools import pairwise

from loadlib.core.category import Category
from loadlib.core.cautions import CLAMP, SOURCE, SURVEY
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, House
from loadlib.core.profile import LoadProfile, Suggestion
from loadlib.core.ranges import Range
from loadlib.core.series import BillPeriod
from loadlib.estimators.assemble import build_profile
from loadlib.estimators.bill import BillEstimator
from loadlib.estimators.nameplate import NameplateEstimator
from loadlib.estimators.next_measurement import suggestions
from loadlib.estimators.settle import settle

Catalog = Mapping[str, Category]
ORDER = ("label", "utility meter", "plug meter", "source display", "clamp")


def evidence(catalog: Catalog, *more: Appliance, bills: bool = False) -> Evidence:
    home = House(
        "h",
        appliances=(
            Appliance("fridge", "refrigerator", "refrigerator"),
            Appliance("heater", "heater", "heater"),
            Appliance("cooler", "air conditioner", "air_conditioner"),
            *more,
        ),
    )
    firsts = [date(2025, month, 1) for month in range(1, 13)] + [date(2026, 1, 1)]
    paid = tuple(BillPeriod(a, b, 400.0 * (b - a).days * 24.0) for a, b in pairwise(firsts))
    return Evidence(home, catalog, bills=paid if bills else ())


def profile_of(given: Evidence) -> LoadProfile:
    claims = [("nameplate", c) for c in NameplateEstimator().claims(given)]
    if given.bills:
        claims += [("bill", c) for c in BillEstimator().claims(given)]  # type: ignore[misc]
    return build_profile(given, settle(given, claims, 1))


def of(given: Evidence) -> tuple[Suggestion, ...]:
    return profile_of(given).suggestions


def test_without_bills_bills_come_first(catalog: Catalog) -> None:
    first = of(evidence(catalog))[0]
    assert first.text.startswith("Enter twelve months of bills")
    assert first.narrows_share > 0.5


def test_with_bills_they_are_not_asked_for_again(catalog: Catalog) -> None:
    assert not any("twelve months" in one.text for one in of(evidence(catalog, bills=True)))


def test_best_first_and_safest_among_equals(catalog: Catalog) -> None:
    found = of(evidence(catalog, bills=True))
    assert found
    coarse = [round(one.narrows_share / 0.05) for one in found]
    assert coarse == sorted(coarse, reverse=True)
    for one, after in pairwise(found):
        if round(one.narrows_share / 0.05) == round(after.narrows_share / 0.05):
            assert ORDER.index(one.instrument) <= ORDER.index(after.instrument)


def test_every_clamp_is_for_a_qualified_person_with_its_caution(catalog: Catalog) -> None:
    profile = profile_of(evidence(catalog))
    clamps = [one for one in profile.suggestions if one.instrument == "clamp"]
    assert clamps
    assert all(one.qualified_person and "qualified person" in one.text for one in clamps)
    assert all(line in profile.cautions for line in CLAMP)
    others = [one for one in profile.suggestions if one.instrument != "clamp"]
    assert not any(one.qualified_person for one in others)


def test_breakers_come_with_their_caution(catalog: Catalog) -> None:
    pump = replace(catalog["pump"], category="well_pump", running_w=Range(500, 2000, 4000))
    wide = {**catalog, "well_pump": pump}
    profile = profile_of(evidence(wide, Appliance("pump", "well pump", "well_pump")))
    if any("breaker" in one.text for one in profile.suggestions):
        assert all(line in profile.cautions for line in SURVEY)
    assert any("well pump" in one.text for one in profile.suggestions)


def test_a_run_of_the_source_comes_with_its_cautions(catalog: Catalog) -> None:
    profile = profile_of(evidence(catalog))
    assert any(one.instrument == "source display" for one in profile.suggestions)
    assert all(line in profile.cautions for line in SOURCE)


def test_nobody_is_asked_to_switch_off_a_medical_load(catalog: Catalog) -> None:
    wide = replace(catalog["refrigerator"], running_w=Range(50, 400, 3000))
    given = evidence(
        {**catalog, "concentrator": wide}, Appliance("o2", "oxygen", "concentrator", medical=True)
    )
    found = of(given)
    assert not any("oxygen" in one.text and "switch it off" in one.text for one in found)


def test_watts_that_are_known_are_not_asked_for(catalog: Catalog) -> None:
    """Running watts known to a percent: reading them again narrows nothing; use still does."""
    sure = Appliance("lamp", "lamp", "lamp", running_w=Range(595, 600, 605))
    found = [one.text for one in of(evidence(catalog, sure)) if " lamp" in one.text]
    assert not any("display" in text or "label" in text for text in found)


def test_a_start_that_no_plate_tells_is_asked_for(catalog: Catalog) -> None:
    found = [one for one in of(evidence(catalog)) if one.answer == "hardest start"]
    assert found == [] or "locked-rotor amps" in found[0].text


def test_an_empty_house_has_nothing_to_measure(catalog: Catalog) -> None:
    empty = Evidence(House("empty"), catalog)
    assert suggestions(empty, settle(empty, [], 1).posterior, ()) == ()


def test_shares_are_shares_and_the_same_each_time(catalog: Catalog) -> None:
    given = evidence(catalog, bills=True)
    assert of(given) == of(given)
    assert all(0.0 < one.narrows_share <= 1.0 for one in of(given))
