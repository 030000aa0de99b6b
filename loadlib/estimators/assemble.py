"""From settled loads to the profile document: demand, peaks, energy, what is missing."""

from __future__ import annotations

from collections.abc import Sequence

from loadlib.core.cautions import CLAMP, ESTIMATE, SOURCE, SURVEY
from loadlib.core.demand import distribution, processes
from loadlib.core.evidence import Evidence
from loadlib.core.load import UNLISTED, Load, grid
from loadlib.core.profile import Demand, EvidenceRecord, LoadProfile, Suggestion
from loadlib.core.ranges import Range
from loadlib.estimators.clamp import left_out
from loadlib.estimators.evidence_peaks import evidence_peaks
from loadlib.estimators.next_measurement import suggestions
from loadlib.estimators.peaks import model_peaks, peak_method
from loadlib.estimators.rated import label_remark
from loadlib.estimators.settle import Settlement, fit_method

__all__ = ["build_profile", "demand_of"]

STEP_W = 25.0
"""Grid of the demand law: finer than any belief about a household load. [W]"""

_FAR_FACTOR = 2.0
"""Beyond twice the catalog's 95 % point, or half its 5 % point, a slip is likelier than the
label: a judgement, no source."""

_MOST_UNLISTED = 0.5
"""Share of the mean above which the list is rather short than right: a judgement."""

_SHARES = (0.05, 0.5, 0.95, 0.99)


def build_profile(evidence: Evidence, settlement: Settlement) -> LoadProfile:
    """The profile document of a house.

    Parameters
    ----------
    evidence : Evidence
        house, and what was used to know it.
    settlement : Settlement
        loads and the record of claims.

    Returns
    -------
    LoadProfile
        demand by 12 × 24 month-hours, whole and per leg, at typical values; peaks as beliefs
        from the model; energy by month; what is missing; method and cautions.
    """
    from loadlib import __version__

    house, loads = evidence.house, settlement.loads
    legs = house.supply.legs
    demand, error_w = demand_of(loads, legs)
    draws_wh = settlement.month_draws_wh
    next_best = suggestions(evidence, settlement.posterior, loads)
    by_month = tuple(Range.of_samples(draws_wh[:, month]) for month in range(12))
    by_year = Range.of_samples(draws_wh.sum(axis=1))
    return LoadProfile(
        house=house.name,
        system=house.system,
        legs=legs,
        service_a=house.service_a,
        area_ft2=house.area_ft2,
        timezone=house.timezone,
        circuits=house.circuits,
        loads=loads,
        demand=demand,
        peaks=(
            *evidence_peaks(evidence, by_month),
            *model_peaks(loads, legs, demand[0], evidence.seed),
        ),
        energy_wh_by_month=by_month,
        energy_wh_per_year=by_year,
        evidence=_evidence_used(evidence),
        claims=settlement.records,
        disagreements=settlement.disagreements,
        missing=_missing(evidence, loads) + settlement.notes + left_out(evidence),
        method=(*_method(error_w), *fit_method(settlement.posterior), *peak_method()),
        suggestions=next_best,
        cautions=_cautions(next_best),
        loadlib_version=__version__,
        seed=evidence.seed,
    )


def _cautions(suggested: Sequence[Suggestion]) -> tuple[str, ...]:
    """The usual ones, and those of a source, breakers or clamps where a suggestion leads there."""
    source = SOURCE if any(one.instrument == "source display" for one in suggested) else ()
    clamp = CLAMP if any(one.qualified_person for one in suggested) else ()
    survey = SURVEY if any("breaker" in one.text for one in suggested) else ()
    return tuple(dict.fromkeys((*source, *survey, *clamp, *ESTIMATE)))


def demand_of(loads: Sequence[Load], legs: Sequence[str]) -> tuple[tuple[Demand, ...], float]:
    """Demand of the whole house and of each leg, and the largest grid error. [W]

    A house on a single leg has only ``"whole"`` and that leg, which are the same.
    """
    places: list[Demand] = []
    error_w = 0.0
    for place, leg in _places(legs):
        switching = processes(loads, leg)
        law = distribution(switching, STEP_W)
        p05, p50, p95, p99 = (q.reshape(12, 24) for q in law.quantiles_w(_SHARES))
        mean = switching.mean_w.reshape(12, 24)  # the law keeps it exactly
        places.append(Demand(place, grid(mean), grid(p05), grid(p50), grid(p95), grid(p99)))
        error_w = max(error_w, float(law.grid_error_w.max(initial=0.0)))
    return tuple(places), error_w


def _places(legs: Sequence[str]) -> list[tuple[str, int | None]]:
    return [("whole", None), *((f"leg {leg}", index) for index, leg in enumerate(legs))]


def _method(error_w: float) -> tuple[str, ...]:
    return (
        f"Demand: sum of independent on/off loads at typical values, on a {STEP_W:g} W grid "
        f"(rounding adds at most {error_w:.0f} W of standard deviation and none to the mean). "
        "The percentiles are shares of time within that month and hour, not doubt.",
        "Independence ignores that people at home and cold or hot weather switch several loads "
        "together, so that real peaks tend to be higher. On one house with 19 metered circuits "
        "(AMPds, Makonin S. et al. 2013, CC BY 4.0) independence given month and hour set the "
        "95 % point of hourly demand 2 % too low and the highest hour of a month 3 %.",
    )


def _evidence_used(evidence: Evidence) -> tuple[EvidenceRecord, ...]:
    house = evidence.house
    labels = sum(bool(appliance.label.strip()) for appliance in house.appliances)
    units = sum(appliance.count for appliance in house.appliances)
    lines = len(house.appliances)
    records = [EvidenceRecord("walk", f"{lines} entries, {units} units, {labels} with a label")]
    records += [
        EvidenceRecord(
            "bill",
            f"{bill.first_day.isoformat()} to {bill.day_after.isoformat()}: "
            f"{bill.energy_wh / 1000.0:.0f} kWh",
            bill.source,
        )
        for bill in evidence.bills
    ]
    records += [
        EvidenceRecord(
            "series",
            f"{series.channel}, {series.place}: {series.mean_w.size} slots of {series.step_s} s, "
            f"{series.missing} missing",
            series.source,
        )
        for series in evidence.series
    ]
    records += [
        EvidenceRecord("reading", f"{reading.place}, {reading.instrument}, {reading.kind}")
        for reading in evidence.readings
    ]
    return tuple(records)


def _missing(evidence: Evidence, loads: Sequence[Load]) -> tuple[str, ...]:
    """What is guessed or not known at all, in words, the largest doubt first."""
    house = evidence.house
    missing = [
        f"no catalog entry for {appliance.category!r} ({appliance.name})"
        for appliance in house.appliances
        if appliance.category not in evidence.categories
    ]
    missing += [remark for remark in map(label_remark, house.appliances) if remark]
    missing += _unlikely_labels(evidence, loads)
    guessed = sorted(
        (load for load in loads if load.known == "guess"),
        key=lambda load: -(load.running_w.high - load.running_w.low) * load.count,
    )
    missing += [
        f"{load.name}: running watts only guessed, {_spoken(load.running_w)} W" for load in guessed
    ]
    unplaced = [appliance.name for appliance in house.appliances if not appliance.circuit]
    if unplaced:
        missing.append(f"no circuit for: {', '.join(unplaced)}")
    if not (evidence.bills or evidence.series or evidence.readings):
        missing.append("nothing measured: no bill, usage file or reading")
    return (*missing, *_mostly_unlisted(loads))


def _mostly_unlisted(loads: Sequence[Load]) -> list[str]:
    """A remark where what nobody listed takes more than what was listed."""
    mean_w = {load.id: _mean_w(load) for load in loads}
    total_w = sum(mean_w.values())
    rest_w = mean_w.get(UNLISTED, 0.0)
    if rest_w <= _MOST_UNLISTED * total_w:
        return []
    return [
        f"what is not listed takes {rest_w / total_w:.0%} of the house's mean {_plain(total_w)} W: "
        "appliances are missing from the list, or a bill or log is in another unit or of "
        "another house"
    ]


def _mean_w(load: Load) -> float:
    duty = float(load.duty_array().mean()) * load.duty_belief.typical
    rise_w = load.running_w.typical - load.standby_w.typical
    return load.count * (load.standby_w.typical + duty * rise_w)


def _unlikely_labels(evidence: Evidence, loads: Sequence[Load]) -> list[str]:
    """Loads whose running watts lie far outside what the catalog knows of their kind."""
    found = []
    for load in loads:
        category = evidence.categories.get(load.category)
        if category is None or category.running_w.low <= 0.0 or load.known == "measured":
            continue
        usual, own = category.running_w, load.running_w.typical
        if own > _FAR_FACTOR * usual.high or own < usual.low / _FAR_FACTOR:
            found.append(
                f"{load.name}: {_plain(own)} W is far from the {_spoken(usual)} W of a "
                f"{category.name.lower()}; check label, category and count"
            )
    return found


def _spoken(value: Range) -> str:
    return f"{_plain(value.low)}–{_plain(value.high)}"


def _plain(power_w: float) -> str:
    """Three digits, never with an exponent. [W]"""
    return f"{float(f'{power_w:.3g}'):,.10g}"
