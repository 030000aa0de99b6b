"""The hours that a claim at an outdoor temperature speaks of, and how cold they are."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from numpy.typing import NDArray

from loadlib.core.claims import DemandClaim, When
from loadlib.core.degree_hours import HEATING_BALANCE_C, heating_k
from loadlib.core.ranges import Range
from loadlib.core.series import Temperatures
from loadlib.estimators.bonds import Bond
from loadlib.estimators.clockhours import cells_of, hours_by_cell
from loadlib.estimators.outdoor import BLUR_K, Outdoor, Spell

START_S = int(datetime(2025, 1, 1, tzinfo=UTC).timestamp())
JANUARY_S = 31 * 86_400
HOUR_S, DAY_S = 3600, 86_400


def stored(values: NDArray[np.float64], step_s: int = HOUR_S, start_s: int = START_S) -> Outdoor:
    return Outdoor(Temperatures(start_s, step_s, values), "")


def january(seed: int = 1) -> NDArray[np.float64]:
    """Hours of January: days from −12 to 8 °C, nights 6 K colder than noon."""
    rng = np.random.default_rng(seed)
    days = rng.uniform(-12.0, 8.0, 31)
    return np.repeat(days, 24) + 3.0 * np.sin(np.arange(744) * 2 * np.pi / 24)


def mean(
    span: tuple[float, float],
    start_s: int = START_S,
    length_s: int = JANUARY_S,
    hours: tuple[int, ...] = (),
) -> DemandClaim:
    return DemandClaim(
        "mean_w",
        Range(90, 100, 110),
        "meter",
        start_s=start_s,
        end_s=start_s + length_s,
        when=When(outdoor_c=span, hours=hours),
    )


def at(span: tuple[float, float], moment: datetime | None = None) -> DemandClaim:
    return DemandClaim("at_w", Range(90, 100, 110), "display", at=moment, when=When(outdoor_c=span))


def spell(outdoor: Outdoor, claim: DemandClaim) -> Spell:
    found = outdoor.spell(claim)
    assert isinstance(found, Spell)
    return found


def reason(outdoor: Outdoor, claim: DemandClaim) -> str:
    found = outdoor.spell(claim)
    assert isinstance(found, str)
    return found


def test_hours_are_those_of_the_period_in_the_span() -> None:
    values = january()
    found = spell(stored(values), mean((-5.0, 0.0)))
    inside = (values >= -5.0) & (values <= 0.0)
    assert found.hours.sum() == inside.sum()
    assert found.hours[24:].sum() == 0.0
    assert found.days[0] == np.unique(np.flatnonzero(inside) // 24).size
    assert found.hours[:24] == pytest.approx(np.bincount(np.flatnonzero(inside) % 24))
    there = found.hours > 0.0
    assert (found.outdoor_c[there] >= -5.0).all()
    assert (found.outdoor_c[there] <= 0.0).all()


def test_months_and_hours_of_the_condition_count_too() -> None:
    values = january()
    found = spell(stored(values), mean((-5.0, 0.0), hours=(3, 4)))
    assert found.hours[[3, 4]].sum() == found.hours.sum() > 0.0


def test_parts_of_an_hour_count_as_parts() -> None:
    values = np.full(744, 5.0)
    values[10] = -5.0
    claim = mean((-6.0, 0.0), START_S + 10 * HOUR_S + 1800, 2 * DAY_S)
    assert spell(stored(values), claim).hours[10] == 0.5


def test_energy_goes_with_degree_hours_of_the_same_hour_of_the_day() -> None:
    """Worked by hand from the definition, hour 7 of January."""
    values = january()
    found = spell(stored(values), mean((-12.0, -2.0)))
    need = heating_k(values, HEATING_BALANCE_C.typical).reshape(31, 24)[:, 7]
    inside = ((values >= -12.0) & (values <= -2.0)).reshape(31, 24)[:, 7]
    expected = (need[inside].mean() + BLUR_K) / (need.mean() + BLUR_K)
    assert expected > 1.15
    assert found.relative[Bond.HEATING, 7] == pytest.approx(expected)
    assert found.relative[Bond.BOTH, 7] == pytest.approx(expected)
    assert found.relative[Bond.COOLING, 7] == pytest.approx(1.0)
    assert (found.relative[[Bond.NONE, Bond.UNSURE]] == 1.0).all()


def test_all_spells_of_a_month_together_are_the_month() -> None:
    """Weighted by their hours, the ratios of adjoining spans average to one."""
    outdoor = stored(january())
    spells = [spell(outdoor, mean((low + 1e-9, low + 5.0))) for low in range(-15, 15, 5)]
    hours = sum(one.hours for one in spells)
    total = sum(one.hours * one.relative[Bond.HEATING] for one in spells)
    assert hours[:24] == pytest.approx(31.0)
    assert total[:24] / hours[:24] == pytest.approx(np.ones(24))


def test_doubt_grows_with_the_distance_from_the_usual() -> None:
    outdoor = stored(january())
    near, far = spell(outdoor, mean((-3.0, 0.0))), spell(outdoor, mean((-15.0, -9.0)))
    usual = far.hours > 0.0
    assert far.sigma[Bond.HEATING][usual].mean() > near.sigma[Bond.HEATING][usual].mean()
    assert (far.sigma[Bond.NONE] == 0.0).all()
    extra = np.abs(far.relative[Bond.BOTH] - 1.0)
    assert far.sigma[Bond.UNSURE] == pytest.approx(0.5 * extra)


def test_the_month_itself_is_the_reference_not_the_same_month_of_another_year() -> None:
    hours = np.arange(730 * 24)
    mild_first_year = np.where(hours < 365 * 24, 6.0, -4.0) + 3.0 * (hours // 24 % 2)
    outdoor = stored(mild_first_year)
    second = mean((-4.0, -4.0), START_S + 365 * DAY_S)
    ratio = spell(outdoor, second).relative[Bond.HEATING, 0]
    warm, cold = HEATING_BALANCE_C.typical + 1.0, HEATING_BALANCE_C.typical + 4.0
    assert ratio == pytest.approx((cold + BLUR_K) / ((cold * 15 + warm * 16) / 31 + BLUR_K), 0.01)


def test_a_span_that_leaves_nothing_out_is_no_condition() -> None:
    outdoor = stored(january())
    assert outdoor.spell(mean((-60.0, 50.0))) is None
    assert outdoor.spell(mean((-60.0, 50.0), length_s=5 * DAY_S)) is None
    assert outdoor.spell(at((-60.0, 50.0))) is None
    plain = DemandClaim("at_w", Range(90, 100, 110), "display")
    assert outdoor.spell(plain) is None


def test_without_temperatures_it_says_what_to_do() -> None:
    for outdoor in (Outdoor(None, ""), stored(np.full(744, np.nan))):
        text = reason(outdoor, mean((-5.0, 0.0)))
        assert "no outdoor temperatures are stored for this house" in text
        assert "loadlib usage add FILE" in text


def test_temperatures_of_another_time_are_named() -> None:
    outdoor = stored(january())
    text = reason(outdoor, mean((-5.0, 0.0), START_S + 60 * DAY_S))
    assert "no outdoor temperatures are stored for its hours" in text
    assert "loadlib usage add FILE" in text
    half = reason(outdoor, mean((-5.0, 0.0), START_S, 2 * JANUARY_S))
    assert "stored for only 50% of its hours" in half


def test_a_span_that_never_was_is_named_with_what_was() -> None:
    text = reason(stored(np.linspace(-3.0, 4.0, 744)), mean((-30.0, -20.0)))
    assert "never -30 to -20 °C outdoors" in text
    assert "-3.0 to 4.0 °C" in text
    assert "never" in reason(stored(np.full(744, 4.0)), at((-30.0, -20.0)))
    november = When(outdoor_c=(0.0, 5.0), months=(11,))
    claim = DemandClaim("at_w", Range(90, 100, 110), "display", when=november)
    assert "months and hours" in reason(stored(np.full(744, 4.0)), claim)


def test_an_instant_with_a_time_is_that_hour() -> None:
    values = january()
    moment = datetime(2025, 1, 10, 18, 40, tzinfo=UTC)
    place = 9 * 24 + 18
    span = (float(values[place]) - 1.0, float(values[place]) + 1.0)
    found = spell(stored(values), at(span, moment))
    assert np.flatnonzero(found.hours).tolist() == [18]
    assert found.outdoor_c[18] == pytest.approx(values[place])
    wrong = reason(stored(values), at((span[0] + 20.0, span[1] + 20.0), moment))
    assert "at that hour" in wrong
    assert f"{values[place]:.1f} °C" in wrong


def test_an_instant_whose_hour_is_not_stored_takes_its_months_hours_in_the_span() -> None:
    values = january()
    later = datetime(2026, 1, 10, 18, 40, tzinfo=UTC)
    found = spell(stored(values), at((-30.0, -8.0), later))
    assert np.flatnonzero(found.hours).tolist() == [18]
    assert found.outdoor_c[18] == pytest.approx(values[values <= -8.0].mean())
    known = spell(stored(values), mean((-30.0, -8.0)))
    assert found.sigma[Bond.HEATING, 18] > 0.0
    assert found.relative[Bond.HEATING, 18] == pytest.approx(
        known.relative[Bond.HEATING, :24].mean(), rel=0.15
    )
    text = reason(stored(values), at((-5.0, 0.0), datetime(2026, 6, 1, tzinfo=UTC)))
    assert "its hour or its month" in text


def test_an_instant_without_a_time_is_all_such_hours() -> None:
    values = january()
    found = spell(stored(values), at((-30.0, -8.0)))
    inside = values <= -8.0
    assert found.hours.sum() == inside.sum()


def test_daily_values_stand_for_their_local_day_and_are_less_sure() -> None:
    """A value of 10 January is that day's by the house's clock, not by UTC's."""
    days = np.full(31, 5.0)
    days[9] = -10.0
    zone = "America/New_York"
    daily = Outdoor(Temperatures(START_S, DAY_S, days), zone)
    midnight_s = int(datetime(2025, 1, 2, 5, tzinfo=UTC).timestamp())
    found = spell(daily, mean((-15.0, -5.0), midnight_s, 29 * DAY_S))
    assert found.hours.sum() == 24.0
    assert found.days.sum() == 1.0
    first_s = int(datetime(2025, 1, 10, 5, tzinfo=UTC).timestamp())
    assert found.hours == pytest.approx(hours_by_cell(first_s, first_s + DAY_S, zone))
    hourly = Outdoor(Temperatures(START_S + 5 * HOUR_S, HOUR_S, np.repeat(days, 24)), zone)
    same = spell(hourly, mean((-15.0, -5.0), midnight_s, 29 * DAY_S))
    assert same.hours == pytest.approx(found.hours)
    there = found.hours > 0.0
    assert (found.sigma[Bond.HEATING][there] > same.sigma[Bond.HEATING][there]).all()


@pytest.mark.parametrize("step_s", [600, 1800, 3 * HOUR_S])
def test_steps_shorter_and_longer_than_an_hour(step_s: int) -> None:
    slots = np.arange(JANUARY_S // step_s)
    values = np.where(slots * step_s // DAY_S % 2 == 0, -5.0, 5.0)
    found = spell(stored(values, step_s), mean((-6.0, -4.0)))
    assert found.hours[:24] == pytest.approx(16.0)  # odd days of 31
    assert found.days[0] == 16.0


def test_part_of_a_month_leaves_the_reference_in_doubt() -> None:
    values = january()
    whole = spell(stored(values), mean((-8.0, -4.0), length_s=10 * DAY_S))
    part = spell(stored(values[:240]), mean((-8.0, -4.0), length_s=10 * DAY_S))
    there = part.hours > 0.0
    assert part.hours == pytest.approx(whole.hours)
    a = part.sigma[Bond.HEATING][there] / part.relative[Bond.HEATING][there]
    b = whole.sigma[Bond.HEATING][there] / whole.relative[Bond.HEATING][there]
    assert a.mean() > b.mean()


def test_a_month_without_degree_hours_says_nothing_about_heating() -> None:
    values = np.full(744, 25.0)
    values[:24] = 24.0
    found = spell(stored(values), mean((23.0, 24.5)))
    assert (found.relative[Bond.HEATING] == 1.0).all()
    assert found.relative[Bond.COOLING, 0] < 1.0


def test_cells_follow_the_houses_clock() -> None:
    values = january()
    zone = "America/Denver"
    outdoor = Outdoor(Temperatures(START_S, HOUR_S, values), zone)
    inside = np.flatnonzero((values >= -5.0) & (values <= 0.0))
    counted = np.bincount(cells_of(START_S + inside * HOUR_S, zone), minlength=288)
    assert spell(outdoor, mean((-5.0, 0.0))).hours == pytest.approx(counted)


def test_hours_without_a_temperature_count_in_proportion() -> None:
    values = january()
    values[600:720] = np.nan
    found = spell(stored(values), mean((-5.0, 0.0)))
    assert found.known == pytest.approx(624 / 744)
    assert found.hours.sum() == ((values >= -5.0) & (values <= 0.0)).sum()
    assert found.length_h == pytest.approx(found.hours.sum() * 744 / 624)
    assert spell(stored(january()), mean((-5.0, 0.0))).known == 1.0


def test_months_outside_the_period_are_named() -> None:
    claim = DemandClaim(
        "mean_w",
        Range(90, 100, 110),
        "meter",
        start_s=START_S,
        end_s=START_S + JANUARY_S,
        when=When(outdoor_c=(-5.0, 0.0), months=(6,)),
    )
    assert "no hour of its period is in its months and hours" in reason(stored(january()), claim)
