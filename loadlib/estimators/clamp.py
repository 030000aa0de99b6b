"""The clamp estimator: readings by hand and logs, turned into claims with their doubt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loadlib.clamp.mistakes import Target, check_reading, target_of
from loadlib.clamp.spot import energy_of, power_of, product, watts_of
from loadlib.core.claims import Claim, DemandClaim, LoadClaim, When
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance
from loadlib.core.ranges import Range
from loadlib.core.readings import Reading
from loadlib.errors import InputError, NotFound
from loadlib.estimators.clamp_logs import log_claims
from loadlib.estimators.rated import label_of, volts_of

__all__ = ["ClampEstimator", "left_out"]

_HOUSE_POWER_FACTOR = Range(0.8, 0.93, 1.0)
"""Of a whole house or a leg: from memory; a house of motors lies low, one of heaters high."""

_ANY_POWER_FACTOR = Range(0.6, 0.9, 1.0)
_INRUSH_BAND = Range(0.85, 1.0, 1.3)
_PEAK_HOLD_BAND = Range(0.95, 1.1, 1.7)
"""The start over what was caught: an inrush clamp triggers on it; a peak hold averages over a
tenth of a second and misses part of a short start. Judgements, no source."""


class ClampEstimator:
    """Claims from spot readings, display differences, plug-in meters and logs."""

    name = "clamp"
    summary = "clamp, plug-in meter and display readings, and logs with their steps"

    def needs(self, evidence: Evidence) -> list[str]:
        """What is missing, in words."""
        if not evidence.readings and not any(one.flow == "load" for one in evidence.series):
            return ["no reading and no log"]
        return []

    def claims(self, evidence: Evidence) -> Iterator[Claim]:
        """Claims about loads and about demand; readings with a grave doubt say nothing."""
        for reading in evidence.readings:
            heard = _heard(reading, evidence)
            if not isinstance(heard, str):
                yield from heard
        yield from log_claims(evidence)


def left_out(evidence: Evidence) -> tuple[str, ...]:
    """Readings that are not used, and why, in words."""
    heard = [(reading, _heard(reading, evidence)) for reading in evidence.readings]
    return tuple(
        f"reading of {reading.place} not used: {why}"
        for reading, why in heard
        if isinstance(why, str)
    )


def _heard(reading: Reading, evidence: Evidence) -> tuple[Claim, ...] | str:
    """Claims of a reading, or why it makes none: a single one never silences the others."""
    why = _why_left_out(reading, evidence)
    if why is not None:
        return why
    try:
        return tuple(_of_reading(reading, evidence))
    except InputError as beyond:
        return beyond.message


def _why_left_out(reading: Reading, evidence: Evidence) -> str | None:
    try:
        target = _target(reading, evidence)
    except (NotFound, InputError) as fault:
        return fault.message
    grave = [d for d in check_reading(reading, evidence.house, target) if d.weight == "stop"]
    if grave:
        return grave[0].words
    if reading.place == "neutral":
        return "a neutral is a check on the legs, not a load"
    if reading.energy_wh is not None and reading.at is None and reading.watts is None:
        return "energy over a period needs the time at which it ended"
    return None


def _target(reading: Reading, evidence: Evidence) -> Target:
    volts = None
    if reading.place.startswith("appliance "):
        appliance = evidence.house.appliance(reading.place.removeprefix("appliance "))
        category = evidence.categories.get(appliance.category)
        volts = volts_of(label_of(appliance), category, evidence.house.supply)
    legs = () if reading.place.startswith(("whole", "leg ")) else _own_legs(reading)
    return target_of(reading.place, evidence.house, legs, volts=volts)


def _own_legs(reading: Reading) -> tuple[str, ...]:
    """Legs that the load certainly lies on: those that were read apart."""
    return reading.legs if reading.leg_amps else ()


@dataclass(frozen=True, slots=True)
class _Place:
    """One reading with what it was taken of."""

    reading: Reading
    target: Target
    appliance: Appliance | None
    power_factor: Range
    source: str


def _of_reading(reading: Reading, evidence: Evidence) -> Iterator[Claim]:
    place = _place(reading, evidence)
    if reading.energy_wh is not None and reading.period_s and reading.at is not None:
        yield _energy(place)
    if reading.watts is not None and reading.watts_after is not None:
        yield _change(place)
        return
    if reading.watts is None and reading.amps is None and not reading.leg_amps:
        return
    if reading.kind in ("inrush", "peak hold"):
        yield from _start(place, evidence)
        return
    power = _watts(place, evidence)
    if place.appliance is not None and reading.kind == "running":
        yield from _running(place, power, evidence)
    else:
        yield DemandClaim(
            "at_w",
            power,
            place.source,
            reading.place,
            when=When(on=reading.on, off=reading.off),
            at=reading.at,
        )


def _place(reading: Reading, evidence: Evidence) -> _Place:
    target = _target(reading, evidence)
    appliance = _single(reading, evidence)
    factor = _HOUSE_POWER_FACTOR
    if appliance is not None:
        category = evidence.categories.get(appliance.category)
        known = category is not None and category.power_factor.high > 0.0
        factor = category.power_factor if category is not None and known else _ANY_POWER_FACTOR
    when = f", {reading.at.isoformat(' ', 'minutes')}" if reading.at is not None else ""
    note = f", {reading.note}" if reading.note else ""
    source = f"{reading.instrument}, {reading.kind}, {reading.place}{when}{note}"
    return _Place(reading, target, appliance, factor, source)


def _single(reading: Reading, evidence: Evidence) -> Appliance | None:
    """The one appliance that a reading is about: named, or alone on its circuit."""
    kind, _, name = reading.place.partition(" ")
    if kind == "appliance":
        return evidence.house.appliance(name)
    if kind != "circuit":
        return None
    circuit = evidence.house.circuit(name).name
    on_it = [one for one in evidence.house.appliances if one.circuit == circuit]
    return on_it[0] if len(on_it) == 1 and on_it[0].count == 1 else None


def _watts(place: _Place, evidence: Evidence) -> Range:
    """Real power with instrument, voltage and power factor in its doubt. [W]"""
    reading = place.reading
    if reading.amps is None and not reading.leg_amps:
        return watts_of(reading)
    supply = evidence.house.supply
    return power_of(reading, supply, _legs_of(place), place.power_factor).real_w


def _legs_of(place: _Place) -> tuple[str, ...]:
    # The current of a leg is against neutral, whatever hangs on it.
    if place.reading.place.startswith("leg "):
        return place.target.legs[:1]
    return place.target.legs


def _running(place: _Place, power: Range, evidence: Evidence) -> Iterator[Claim]:
    appliance, reading = place.appliance, place.reading
    if appliance is None or power.typical <= 0.0:
        return
    when = When()
    if reading.outdoor_c is not None:
        when = When(outdoor_c=(reading.outdoor_c - 2.0, reading.outdoor_c + 2.0))
    yield LoadClaim(
        appliance.id, "running_w", power, place.source, when=when, at=reading.at, note=reading.note
    )
    if reading.watts is not None and (reading.amps is not None or reading.leg_amps):
        apparent = power_of(reading, evidence.house.supply, _legs_of(place), place.power_factor)
        factor = _factor(watts_of(reading), apparent.apparent_va)
        if factor is not None and factor.typical <= 1.0:
            yield LoadClaim(
                appliance.id,
                "power_factor",
                factor.clipped(0.0, 1.0),
                place.source,
                at=reading.at,
            )


def _factor(real_w: Range, apparent_va: Range) -> Range | None:
    """Watts over volt-amperes; None where the amps may as well have been none."""
    if apparent_va.low <= 0.0:
        return None
    over = (1.0 / one for one in (apparent_va.high, apparent_va.typical, apparent_va.low))
    return product(real_w, Range(*over))


def _start(place: _Place, evidence: Evidence) -> Iterator[Claim]:
    """Start of a single appliance from an inrush or peak-hold reading. [VA]"""
    reading, supply = place.reading, evidence.house.supply
    if place.appliance is None or (reading.amps is None and not reading.leg_amps):
        return
    seen = power_of(reading, supply, _legs_of(place), Range.exact(1.0)).apparent_va
    band = _INRUSH_BAND if reading.kind == "inrush" else _PEAK_HOLD_BAND
    yield LoadClaim(
        place.appliance.id, "start_va", product(seen, band), place.source, at=reading.at
    )


def _change(place: _Place) -> DemandClaim:
    reading = place.reading
    target = reading.off or _named(reading.place)
    return DemandClaim(
        "change_w",
        watts_of(reading),
        place.source,
        "whole",
        when=When(off=target, on=reading.on),
        at=reading.at,
    )


def _named(place: str) -> tuple[str, ...]:
    """What a display difference was taken of, where the place says it."""
    kind, _, name = place.partition(" ")
    return (name,) if kind in ("circuit", "appliance") else ()


def _energy(place: _Place) -> DemandClaim:
    reading = place.reading
    end_s = int(reading.at.timestamp()) if reading.at is not None else 0
    count = place.appliance.count if place.appliance is not None else 1
    value = energy_of(reading).scaled(float(count))
    return DemandClaim(
        "energy_wh",
        value,
        place.source,
        reading.place,
        start_s=end_s - int(reading.period_s or 0),
        end_s=end_s,
    )
