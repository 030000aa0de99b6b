"""What must hold for any dwelling."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadlib_service.added import AddedLoad, with_added
from loadlib_service.cooking import cooking_demand, dryer_demand
from loadlib_service.dwelling import Cooking, Dryer, Dwelling, Heating, Item, combine, item
from loadlib_service.existing import existing
from loadlib_service.multifamily import multifamily
from loadlib_service.optional import optional
from loadlib_service.parts import lighting_net_va
from loadlib_service.standard import standard
from loadlib_service.supply import parse_supply
from loadlib_service.worksheet import Worksheet

watts = st.integers(500, 9000).map(float)
counts = st.integers(1, 3)


@st.composite
def items(draw: st.DrawFn, name: str) -> Item:
    return item(
        name,
        va=draw(watts),
        volts=draw(st.sampled_from([120.0, 240.0])),
        count=draw(counts),
        motor=draw(st.booleans()),
    )


@st.composite
def dwellings(draw: st.DrawFn) -> Dwelling:
    def some(kind: str, most: int) -> tuple[Item, ...]:
        return tuple(draw(items(f"{kind} {n}")) for n in range(draw(st.integers(0, most))))

    heaters = some("heater", 2)
    heating = (Heating(kind="separate", items=heaters, units=len(heaters)),) if heaters else ()
    return Dwelling(
        area_ft2=draw(st.integers(200, 6000)),
        small_appliance_circuits=draw(st.integers(2, 4)),
        appliances=some("appliance", 5),
        motors=some("motor", 2),
        cooling=some("cooler", 2),
        heating=heating,
        cooking=tuple(Cooking(draw(st.floats(1800, 27_000))) for _ in range(draw(counts))),
        dryers=tuple(Dryer(draw(st.floats(3000, 9000))) for _ in range(draw(counts))),
    )


@settings(max_examples=80, deadline=None)
@given(dwellings())
def test_the_arithmetic_is_the_same_in_all_editions(house: Dwelling) -> None:
    # Without chargers and with every appliance above 500 W nothing changed 2017 to 2023.
    for method in (standard, optional, existing):
        totals = {round(method(house, e).total_va, 6) for e in ("2017", "2020", "2023")}
        assert len(totals) == 1


@settings(max_examples=80, deadline=None)
@given(dwellings(), st.randoms(use_true_random=False))
def test_order_does_not_matter(house: Dwelling, random: object) -> None:
    shuffled = list(house.appliances)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    other = house.with_(
        appliances=tuple(shuffled), cooking=house.cooking[::-1], dryers=house.dryers[::-1]
    )
    for method in (standard, optional, existing):
        assert method(other, "2020").total_va == pytest.approx(method(house, "2020").total_va)


@settings(max_examples=80, deadline=None)
@given(dwellings())
def test_the_neutral_never_exceeds_the_line(house: Dwelling) -> None:
    sheet = standard(house, "2023")
    assert sheet.neutral_va is not None
    assert sheet.neutral_va <= sheet.total_va + 1e-6
    assert sheet.neutral_a is not None
    assert sheet.neutral_a <= sheet.line_a + 1e-6


@settings(max_examples=60, deadline=None)
@given(dwellings())
def test_a_lower_voltage_draws_more_amperes(house: Dwelling) -> None:
    wye = house.with_(supply=parse_supply("120/208"))
    for method in (standard, optional, existing):
        split, legs = method(house, "2023"), method(wye, "2023")
        assert legs.total_va == pytest.approx(split.total_va)
        assert split.line_a - 1e-9 <= legs.line_a <= split.line_a * 240 / 208 + 1e-9


@settings(max_examples=60, deadline=None)
@given(dwellings(), st.integers(2, 12))
def test_units_together_need_no_more_than_apart(house: Dwelling, n: int) -> None:
    one = standard(house, "2017")
    many = standard(combine([(n, house)]), "2017")
    extra = one.va("largest_motor") if any(x.key == "largest_motor" for x in one.lines) else 0.0
    assert many.total_va <= n * one.total_va + extra + 1e-6


@settings(max_examples=60, deadline=None)
@given(dwellings(), st.integers(3, 12))
def test_the_multifamily_factor_falls_with_the_number(house: Dwelling, n: int) -> None:
    unit = house.with_(cooling=(item("air conditioner", kw=3),))
    few, more = multifamily([(n, unit)], "2017"), multifamily([(n + 1, unit)], "2017")
    assert more.result("share") <= few.result("share")
    assert 0.23 <= few.result("share") <= 0.45
    assert few.total_va == pytest.approx(few.result("connected") * few.result("share"))


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 400_000), st.floats(0, 50_000))
def test_lighting_demand_rises_and_never_above_the_load(total: float, more: float) -> None:
    first, second = lighting_net_va(total, "2023"), lighting_net_va(total + more, "2023")
    assert first <= total + 1e-9
    assert first <= second + 1e-9
    assert second - first <= more + 1e-6


@settings(max_examples=80, deadline=None)
@given(st.integers(1, 80), st.floats(1800, 27_000))
def test_one_more_range_never_lowers_column_c(n: int, rating_w: float) -> None:
    few = cooking_demand([rating_w] * n, "2017", rule="column C").va
    many = cooking_demand([rating_w] * (n + 1), "2017", rule="column C").va
    assert many > few


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 80), st.floats(1000, 12_000))
def test_one_more_dryer_never_lowers_the_demand(n: int, rating_w: float) -> None:
    assert dryer_demand([rating_w] * (n + 1), "2017").va > dryer_demand([rating_w] * n, "2017").va


@settings(max_examples=60, deadline=None)
@given(dwellings())
def test_nominal_volts_change_amperes_only_where_a_plate_gave_them(house: Dwelling) -> None:
    assert standard(house, "2017", nominal=True).total_va == standard(house, "2017").total_va
    plated = house.with_(motors=(item("fan", amps=5, volts=115),))
    grown = standard(plated, "2017", nominal=True).total_va - standard(plated, "2017").total_va
    assert grown >= 5 * 5 - 1e-9  # 5 A at 5 V more


@settings(max_examples=40, deadline=None)
@given(dwellings())
def test_a_leg_that_is_said_changes_no_total(house: Dwelling) -> None:
    said = house.with_(
        appliances=tuple(replace(a, legs="A" if a.neutral else "AB") for a in house.appliances)
    )
    for method in (standard, optional):
        assert method(said, "2017").total_va == pytest.approx(method(house, "2017").total_va)


systems = st.lists(
    st.tuples(st.integers(5, 40), st.sampled_from([0, 5, 10, 15])), min_size=1, max_size=4
)


@settings(max_examples=60, deadline=None)
@given(systems, st.sampled_from([optional, existing, standard]))
def test_heating_in_one_entry_or_in_several_counts_the_same(
    pumps: list[tuple[int, int]], method: Callable[[Dwelling, str], Worksheet]
) -> None:
    # NEC 220.82(C) and 220.83(B) speak of a kind of heating, not of a cabinet.
    compressors = [item(f"pump {n}", amps=amps, motor=True) for n, (amps, _) in enumerate(pumps)]
    strips = [item(f"strips {n}", kw=kw) if kw else None for n, (_, kw) in enumerate(pumps)]
    apart = tuple(
        Heating(kind="heat pump", items=(one,), supplementary=(extra,) if extra else ())
        for one, extra in zip(compressors, strips, strict=True)
    )
    joined = Heating(
        kind="heat pump",
        items=tuple(compressors),
        supplementary=tuple(extra for extra in strips if extra),
    )
    house = Dwelling(area_ft2=1500)
    several = method(house.with_(heating=apart), "2023")
    assert several.total_va == pytest.approx(
        method(house.with_(heating=(joined,)), "2023").total_va
    )


@settings(max_examples=40, deadline=None)
@given(systems)
def test_another_heat_pump_never_lowers_the_optional_load(pumps: list[tuple[int, int]]) -> None:
    house, before = Dwelling(area_ft2=1500), 0.0
    for n, (amps, kw) in enumerate(pumps):
        extra = (item(f"strips {n}", kw=kw),) if kw else ()
        added = AddedLoad("heat pump", item(f"pump {n}", amps=amps, motor=True), extra)
        house = with_added(house, [added])
        after = optional(house, "2023").total_va
        assert after >= before + amps * 240 - 1e-6 or n == 0
        before = after
